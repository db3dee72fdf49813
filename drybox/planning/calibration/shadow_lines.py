"""What noted shadows say of the things that stand around the box.

When a shadow comes or goes, the sun stands on the outline of what casts it. Behind its top that
is a point of its height; beside it, of its side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from drybox.inputs.event.place import Obstacle, Place
from drybox.inputs.notes.note import Note
from drybox.physics.sun_position import sun_position
from drybox.planning.calibration.measured import PassedOver
from drybox.planning.scenario.percentiles import P90_SD, Range
from drybox.tables import load_table

REACH_DEG = 4.0
"""How far outside an obstacle's bearings its shadow may still be its own. [deg]"""

SEEN_DEG = 0.5
"""The sun's own width, and a shadow's soft edge. [deg]"""

EDGES = ("elevation_deg", "bearing_from_deg", "bearing_to_deg")
"""Of an obstacle: its top and its two sides."""


@dataclass(frozen=True)
class Outline:
    """One obstacle's height, before and after, by how many notes; ``before`` None if it is new."""

    obstacle: Obstacle
    before: Range | None
    after: Range
    notes: int


@dataclass(frozen=True)
class _Seen:
    """A noted shadow: where the sun stood, and how well that tells an outline. [deg]"""

    note: Note
    elevation_deg: float
    azimuth_deg: float
    sd_deg: float


@dataclass
class _Believed:
    """An obstacle with how well each of its edges is known. [deg]"""

    obstacle: Obstacle
    sd: dict[str, float] = field(default_factory=dict)
    notes: int = 0

    def learn(self, edge: str, value: float, sd: float) -> None:
        """Bring an edge nearer to where it was seen, by what each is worth."""
        was, was_sd = getattr(self.obstacle, edge), self.sd[edge]
        moved = was + _turn_deg(was, value) * was_sd**2 / (was_sd**2 + sd**2)
        moved = float(np.clip(moved, 0.0, 90.0) if edge == "elevation_deg" else moved % 360.0)
        self.obstacle = replace(self.obstacle, **{edge: moved})  # type: ignore[arg-type]
        self.sd[edge] = float(was_sd * sd / np.hypot(was_sd, sd))
        self.notes += 1


def learn_outlines(notes: Sequence[Note], place: Place) -> tuple[list[Outline], list[PassedOver]]:
    """Return the obstacles that noted shadows changed or added.

    Obstacles to put in place of, or beside, those of the same name; and notes, in the order
    written, that taught nothing, with the reason.

    A shadow near the side of a known obstacle, with the sun well below its top, moves that side;
    else one within its bearings moves its height; both weigh the noted edge against the one given
    (table ``spreads``). A shadow that came and went where nothing is known adds an obstacle
    between the two bearings, a little higher than the sun stood.
    """
    spread = load_table("spreads")["noted"]
    first_sd = float(np.rad2deg(spread["obstacle_elevation"].value))
    believed = [_Believed(obstacle, dict.fromkeys(EDGES, first_sd)) for obstacle in place.obstacles]
    passed: list[PassedOver] = []
    came: list[_Seen] = []
    added: list[Obstacle] = []
    for note in sorted(notes, key=lambda note: note.at_s):
        seen = _seen(note, place, spread["shadow"].value)
        if seen.elevation_deg <= 0.0:
            passed.append((note, "the sun was down"))
            continue
        own = _nearest(believed, seen)
        if own is not None:
            _teach(own, seen)
        elif note.state == "came":
            came.append(seen)
        else:
            new = _between(came, seen, place, number=len(added) + 1)
            if new is None:
                passed.append((note, "where it came is not noted, and nothing known stands there"))
            else:
                added.append(new)
    passed += [(seen.note, "where it went is not noted") for seen in came]
    known = zip(believed, place.obstacles, strict=True)
    outlines = [
        Outline(
            obstacle=new.obstacle,
            before=_range(old, first_sd),
            after=_range(new.obstacle, new.sd["elevation_deg"]),
            notes=new.notes,
        )
        for new, old in known
        if new.notes
    ]
    return [
        *outlines,
        *(Outline(obstacle=new, before=None, after=_range(new, 1.0), notes=2) for new in added),
    ], passed


def _range(obstacle: Obstacle, sd: float) -> Range:
    middle = obstacle.elevation_deg
    return Range(max(middle - P90_SD * sd, 0.0), middle, min(middle + P90_SD * sd, 90.0))


def _turn_deg(from_deg: float, to_deg: float) -> float:
    """Return the turn from one bearing to another by the shorter way, clockwise positive. [deg]"""
    return (to_deg - from_deg + 180.0) % 360.0 - 180.0


def _seen(note: Note, place: Place, sd_s: float) -> _Seen:
    at = note.at_s + np.array([0.0, -sd_s, sd_s])
    sun = sun_position(at, place.latitude_deg, place.longitude_deg, place.elevation_m)
    elevation, azimuth = sun.elevation_deg.tolist(), sun.azimuth_deg.tolist()
    moved = (elevation[2] - elevation[1]) / 2
    turned = _turn_deg(azimuth[1], azimuth[2]) / 2
    sd = float(np.sqrt(moved**2 + turned**2 + SEEN_DEG**2))
    return _Seen(note=note, elevation_deg=elevation[0], azimuth_deg=azimuth[0], sd_deg=sd)


def _inside_by_deg(obstacle: Obstacle, azimuth: float) -> float:
    """Return how far inside an obstacle's bearings a bearing is, negative outside. [deg]"""
    width = (obstacle.bearing_to_deg - obstacle.bearing_from_deg) % 360.0 or 360.0
    past = (azimuth - obstacle.bearing_from_deg + REACH_DEG) % 360.0 - REACH_DEG
    return min(past, width - past)


def _nearest(believed: Sequence[_Believed], seen: _Seen) -> _Believed | None:
    """Return the obstacle whose shadow this is: by name, else by where the sun stands."""
    near = [one for one in believed if _inside_by_deg(one.obstacle, seen.azimuth_deg) > -REACH_DEG]
    named = [one for one in near if one.obstacle.name.lower() in seen.note.remark.lower()]
    names = [one.obstacle.name for one in believed]
    able = [one for one in named or near if names.count(one.obstacle.name) == 1]
    return min(
        able, key=lambda one: abs(one.obstacle.elevation_deg - seen.elevation_deg), default=None
    )


def _teach(own: _Believed, seen: _Seen) -> None:
    obstacle, azimuth = own.obstacle, seen.azimuth_deg
    beside = _inside_by_deg(obstacle, azimuth) < REACH_DEG
    if beside and seen.elevation_deg < obstacle.elevation_deg - REACH_DEG:
        past = abs(_turn_deg(obstacle.bearing_from_deg, azimuth))
        left = abs(_turn_deg(azimuth, obstacle.bearing_to_deg))
        edge = "bearing_from_deg" if past <= left else "bearing_to_deg"
        own.learn(edge, azimuth, seen.sd_deg)
    else:
        own.learn("elevation_deg", seen.elevation_deg, seen.sd_deg)


def _between(came: list[_Seen], went: _Seen, place: Place, *, number: int) -> Obstacle | None:
    """Return a new obstacle between where a shadow came that day and where it went.

    South of the sun's own latitude it goes from right to left.
    """
    day = [one for one in came if 0 < went.note.at_s - one.note.at_s < 43_200]
    if not day or abs(_turn_deg(day[-1].azimuth_deg, went.azimuth_deg)) < 0.1:
        return None
    first = day[-1]
    came.remove(first)
    new = Obstacle(
        name=went.note.remark or first.note.remark or f"shadow noted {number}",
        bearing_from_deg=first.azimuth_deg % 360.0,
        bearing_to_deg=went.azimuth_deg % 360.0,
        elevation_deg=min(max(went.elevation_deg, first.elevation_deg) + SEEN_DEG, 90.0),
    )
    midway = _seen(replace(went.note, at_s=(first.note.at_s + went.note.at_s) // 2), place, 1.0)
    if _inside_by_deg(new, midway.azimuth_deg) >= 0.0:
        return new
    return replace(new, bearing_from_deg=new.bearing_to_deg, bearing_to_deg=new.bearing_from_deg)
