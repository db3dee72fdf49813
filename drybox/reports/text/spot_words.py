"""What is said of a place's spots: hours of sun and shade, and where they break the day."""

from __future__ import annotations

from typing import Any

from drybox.planning.aim.spots import PlaceSpots, SpotBreak
from drybox.reports.text.answer import Column, Table
from drybox.reports.text.phrases import clock, listed, the

COLUMNS = (
    Column("spot", "Spot"),
    Column("use", "for"),
    Column("sun_h", "sun", digits=1),
    Column("shade_h", "shade", digits=1),
    Column("sun", "in the sun"),
)


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
        {
            "spot": found.spot,
            "use": found.use,
            "from_at": found.from_s,
            "until_at": found.until_s,
            "cause": found.cause,
        }
        for found in spots.breaks
    ]


def spot_table(spots: PlaceSpots, zone: str) -> Table:
    """Return the hours of sun and shade at each spot."""
    rows = [
        row | {"use": row["use"] or "–", "sun": _spans(row["sun"], zone), "shade": ""}
        for row in spot_records(spots)
    ]
    return Table("Sun and shade in the open hours", COLUMNS, rows)


def _spans(stretches: list[dict[str, float]], zone: str) -> str:
    parts = [
        f"{clock(span['from_at'], zone)}–{clock(span['until_at'], zone)}" for span in stretches
    ]
    return listed(parts) if parts else "never"


def break_said(found: SpotBreak, zone: str) -> str:
    """Return a break of the day as a sentence."""
    span = f"from {clock(found.from_s, zone)} to {clock(found.until_s, zone)}"
    if found.use == "camera":
        return (
            f"The day breaks at the camera ({found.spot}): sun on the sitter {span}; move it into "
            "open shade, or hang a white cloth."
        )
    cause = f", it is behind {the(found.cause)}" if found.cause else ", it is down"
    return f"The day breaks at the box ({found.spot}): no sun {span}{cause}."
