"""What is said of a place's spots, and of how the box stands there: its edges, walls and wind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drybox.inputs.event.box import Box
from drybox.planning.aim.search import Turn
from drybox.planning.aim.sighting import prop_height_m
from drybox.planning.aim.spots import Blocked, PlaceSpots, SpotBreak
from drybox.planning.aim.wall_strip import WallStrip
from drybox.planning.aim.wind import WindOnBox
from drybox.reports.text.answer import Column, Table, fields_of
from drybox.reports.text.phrases import listed, said_below, say, span, the

COLUMNS = (
    Column("spot", "Spot"),
    Column("use", "for"),
    Column("sun_h", "sun", digits=1),
    Column("shade_h", "shade", digits=1),
    Column("sun", "in the sun"),
)

EDGES = (
    *("north", "north-east", "east", "south-east"),
    *("south", "south-west", "west", "north-west"),
)
SIDES = {
    "left": "on the left, seen from the front,",
    "right": "on the right, seen from the front,",
    "upper": "along the raised edge",
    "lower": "along the low edge",
}
LEVEL_DEG = 2.0
"""A plate this little tilted is called level: its bearing does not matter. [deg]"""

AT_THE_EDGE_M = 0.005
"""A prop that bears so near the plate's end bears at the edge. [m]"""


def spot_records(spots: PlaceSpots) -> list[dict[str, Any]]:
    """Return each spot with its hours and stretches of sun and of shade."""
    return [
        {
            "spot": spot.name,
            "use": spot.use,
            "sun_h": spot.sun_s / 3600,
            "shade_h": spot.shade_s / 3600,
            "sun": [{"from_at": a, "until_at": b} for a, b in spot.sun],
            "shade": [{"from_at": a, "until_at": b} for a, b in spot.shade],
        }
        for spot in spots.spots
    ]


def break_records(spots: PlaceSpots) -> list[dict[str, Any]]:
    """Return where the spots break the day."""
    return [
        fields_of(found, "spot", "use", "from_at", "until_at", "cause") for found in spots.breaks
    ]


def spot_table(spots: PlaceSpots, zone: str) -> Table:
    """Return the hours of sun and shade at each spot."""
    rows = [
        row | {"use": row["use"] or "–", "sun": listed(sunny) or "never", "shade": ""}
        for row in spot_records(spots)
        for sunny in [[span(one["from_at"], one["until_at"], zone, to="–") for one in row["sun"]]]
    ]
    return Table("Sun and shade in the open hours", COLUMNS, rows)


def break_said(found: SpotBreak, zone: str) -> str:
    """Return a break of the day as a sentence."""
    hours = f"from {span(found.from_at, found.until_at, zone)}"
    if found.use == "camera":
        return (
            f"The day breaks at the camera ({found.spot}): sun on the sitter {hours}; move it into "
            "open shade, or hang a white cloth."
        )
    cause = f", it is behind {the(found.cause)}" if found.cause else ", it is down"
    return f"The day breaks at the box ({found.spot}): no sun {hours}{cause}."


def behind_said(found: Blocked, zone: str, what: str) -> str:
    """Return when what is named, the sun, is behind an obstacle."""
    through = ""
    if found.passed_frac > 0.0:
        through = f" (it lets {say('passed_frac', found.passed_frac)} through)"
    hours = span(found.from_at, found.until_at, zone)
    return f"From {hours} {what} is behind {the(found.name)}{through}."


def raised_edge(bearing_deg: float) -> str:
    """Return the name of the edge that is raised in a box that faces a bearing.

    >>> raised_edge(180.0), raised_edge(132.0)
    ('north', 'north-west')
    """
    return EDGES[round((bearing_deg + 180.0) / 45.0) % 8]


def raise_said(box: Box, turn: Turn, units: str) -> str:
    """Return which edge is raised and how far, which one stays down."""
    up, down = raised_edge(turn.bearing_deg), raised_edge(turn.bearing_deg + 180.0)
    prop = say("prop_height_mm", prop_height_m(turn.tilt_deg, box.prop_distance_m) * 1e3, units)
    if abs(box.prop_distance_m - box.plate_height_m) <= AT_THE_EDGE_M:
        return f"raise the {up} edge {prop}, the {down} edge stays down"
    along = say("along_mm", box.prop_distance_m * 1e3, units)
    return (
        f"raise the {up} side by a prop {prop} high, {along} up the slope from the {down} edge, "
        "which stays down"
    )


def strips_said(
    strips: Sequence[WallStrip], zone: str, units: str, *, level: bool = False
) -> list[str]:
    """Return where the bin's own walls shade the plate; nothing where they hardly do.

    A box that lies ``level`` has neither front nor raised edge: its walls towards the sun.
    """

    def wide(some: Sequence[WallStrip]) -> str:
        widest = say("strip_mm", max(one.widest_m for one in some) * 1e3, units)
        begin, end = min(one.begin_at for one in some), max(one.end_at for one in some)
        return f"up to {widest} wide ({span(begin, end, zone)})"

    if not strips:
        return []
    where = f"wall shades the plate {listed([f'{SIDES[s.edge]} {wide([s])}' for s in strips])}"
    if level:
        where = f"walls towards the sun shade the plate {wide(strips)}"
    return [f"The bin's {where}: keep prints out of that strip."]


def strip_records(strips: Sequence[WallStrip]) -> list[dict[str, Any]]:
    """Return the strips as the record holds them."""
    return [
        {"edge": strip.edge, "widest_mm": strip.widest_m * 1e3, "widest_at": strip.widest_at}
        | {"from_at": strip.begin_at, "until_at": strip.end_at}
        for strip in strips
    ]


def wind_said(found: WindOnBox | None, units: str) -> list[str]:
    """Return the gust above which the box is laid flat or closed."""
    if found is None or found.flat:
        return []
    both = sorted([(found.slides_m_s, "slides"), (found.tips_m_s, "tips")])
    does = ", ".join(f"{word} at {say('gust_m_s', gust, units, digits=1)}" for gust, word in both)
    told = ""
    if found.gust_m_s is not None:
        most = say("gust_m_s", found.gust_m_s, units, digits=1)
        told = f"; gusts reckoned: {most} at the box"
    least = said_below("gust_m_s", found.lets_go_m_s, units, borne=found.gust_m_s)
    tilt = say("tilt_deg", found.tilt_deg)
    return [
        f"In gusts over {least} lay it flat or close it, and set it back after: tilted {tilt} it "
        f"{does}{told}."
    ]


def wind_warned(found: WindOnBox | None, units: str) -> list[str]:
    """Return what holds the box in gusts that are reckoned and that it does not stand."""
    if found is None or found.gust_m_s is None:
        return []
    if found.steeper_kg > 0.0:
        where = "flat" if found.flat else f"at {say('tilt_deg', found.tilt_deg)}"
        more = say("ballast_kg", found.steeper_kg, units, digits=1)
        return [
            f"Wind: gusts of {say('gust_m_s', found.gust_m_s, units)} at the box keep it {where}; "
            f"with {more} of ballast at its middle it may stand as steep as its prop."
        ]
    if found.stands:
        return []
    return [
        f"Wind: the gusts reckoned, {say('gust_m_s', found.gust_m_s, units)} at the box, take it "
        f"at {say('tilt_deg', found.tilt_deg)}: "
        f"{say('ballast_kg', found.ballast_kg, units, digits=1)} more at its middle hold it, or "
        "lay it flat or close it."
    ]


def wind_record(found: WindOnBox | None) -> dict[str, Any] | None:
    """Return the wind as the record holds it."""
    if found is None:
        return None
    names = ("tilt_deg", "tips_m_s", "slides_m_s", "gust_m_s", "ballast_kg", "steeper_kg")
    return fields_of(found, *names)
