"""When each spot of a place is in the sun, and where that breaks the day's plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from drybox.arrays import Flags
from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Obstacle, Place, read_obstacle
from drybox.inputs.event.spots import BOX, CAMERA, chosen_spot, read_spots
from drybox.physics.shading import obstacle_transmittance
from drybox.planning.scenario.conditions import HALF_LIT, Conditions

Use = Literal["camera", "box", ""]
Stretch = tuple[float, float]

SHORTEST_S = 300.0
"""Shorter stretches of sun on a sitter, or of shade on the box, break no plan. [s]"""


@dataclass(frozen=True)
class SpotHours:
    """One spot between the opening and the closing: stretches of sun and of shade.

    They follow from sun and obstacles alone, not from cloud; ``use`` says what stands there.
    """

    name: str
    use: Use
    sun: tuple[Stretch, ...]
    shade: tuple[Stretch, ...]

    @property
    def sun_s(self) -> float:
        """Time in the sun. [s]"""
        return sum(until - begun for begun, until in self.sun)

    @property
    def shade_s(self) -> float:
        """Time in open shade, or with the sun down. [s]"""
        return sum(until - begun for begun, until in self.shade)


@dataclass(frozen=True)
class Blocked:
    """A stretch in which an obstacle stands before the sun."""

    from_at: float
    until_at: float
    name: str
    passed_frac: float


@dataclass(frozen=True)
class SpotBreak:
    """A stretch in which a spot does not serve: sun on the sitter, or none on the box.

    ``cause`` names the obstacles in the sun's way, empty where the sun is down.
    """

    spot: str
    use: Use
    from_at: float
    until_at: float
    cause: str


@dataclass(frozen=True)
class PlaceSpots:
    """All spots of an event's place, and where they break the day.

    ``named`` tells whether the event file names any: else the place is one spot, the box's.
    """

    spots: tuple[SpotHours, ...]
    breaks: tuple[SpotBreak, ...]
    named: bool


def place_spots(event: Event, day: Conditions) -> PlaceSpots:
    """Return the hours of sun and shade at each spot, and where they break the day.

    The day as told must reach from the opening to past the closing. A place without named spots has
    one, the box's. A camera wants open shade: it breaks where the sun is on the sitter and the sky
    as told lets it shine. A box wants sun.
    """
    fresh = event.reread()
    common = [read_obstacle(entry) for entry in fresh.section("place").entries("obstacle")]
    named = read_spots(fresh, common)
    camera, box = (chosen_spot(fresh, named, key) for key in (CAMERA, BOX))
    open_ = (day.time_at >= event.opens_at) & (day.time_at < event.closes_at)
    stands: list[tuple[str, Use, Sequence[Obstacle]]] = []
    for spot in named:
        told: list[Use] = ["camera"] if spot == camera else []
        told += ["box"] if spot == box else []
        obstacles = event.place.obstacles if spot == box else spot.obstacles
        stands += [(spot.name, use, obstacles) for use in told or [""]]
    if box is None:
        stands.append((event.place.name, "box", event.place.obstacles))
    breaks = [gap for one in stands for gap in _breaks(*one, day=day, open_=open_)]
    return PlaceSpots(
        spots=tuple(_hours(*one, day=day, open_=open_) for one in stands),
        breaks=tuple(sorted(breaks, key=lambda found: found.from_at)),
        named=bool(named),
    )


def _hours(
    name: str, use: Use, obstacles: Sequence[Obstacle], *, day: Conditions, open_: Flags
) -> SpotHours:
    lit = day.in_sun(obstacles)
    return SpotHours(
        name=name, use=use, sun=day.stretches(lit & open_), shade=day.stretches(~lit & open_)
    )


def _breaks(
    name: str, use: Use, obstacles: Sequence[Obstacle], *, day: Conditions, open_: Flags
) -> list[SpotBreak]:
    if not use:
        return []
    wrong = day.shone_on(obstacles) if use == "camera" else ~day.in_sun(obstacles)
    return [
        SpotBreak(
            spot=name,
            use=use,
            from_at=first,
            until_at=last,
            cause="" if use == "camera" else hidden_by(obstacles, day, (first, last)),
        )
        for first, last in day.stretches(wrong & open_)
        if last - first >= SHORTEST_S
    ]


def blocked_stretches(place: Place, day: Conditions) -> tuple[Blocked, ...]:
    """Return when each obstacle stands before the sun, while the sun is up."""
    sun = day.sun
    found = [
        Blocked(from_at=first, until_at=last, name=one.name, passed_frac=one.transmittance_frac)
        for one in place.obstacles
        for first, last in day.stretches(
            (sun.elevation_deg > 0.0)
            & (obstacle_transmittance([one], sun.azimuth_deg, sun.elevation_deg) < 1.0)
        )
    ]
    return tuple(sorted(found, key=lambda stretch: stretch.from_at))


def hidden_by(obstacles: Sequence[Obstacle], day: Conditions, stretch: Stretch) -> str:
    """Return the names of the obstacles that hide the sun in a stretch, joined by "and"."""
    inside = (day.time_at >= stretch[0]) & (day.time_at < stretch[1]) & (day.sun.elevation_deg > 0)
    azimuth, height = day.sun.azimuth_deg[inside], day.sun.elevation_deg[inside]
    names = [
        obstacle.name
        for obstacle in obstacles
        if azimuth.size and (obstacle_transmittance([obstacle], azimuth, height) < HALF_LIT).any()
    ]
    return " and ".join(dict.fromkeys(names))
