"""What the sheet of a calibration shows: its pictures, each with the table that says the same."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from drybox.errors import NoAnswerError
from drybox.reports.sheet.charts import without_styles
from drybox.reports.sheet.parts import grid
from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import clock, local_day

UNBROKEN = "\u2011"
"""A hyphen at which no line ends."""


def _columns(unit: str, read: str, digits: int) -> tuple[Column, ...]:
    """Return the columns of readings and what is modelled of them, before and after."""
    each = {"measured": read, "before": "before", "after": "after"}
    said = (Column(f"{name}_{unit}", heading, digits) for name, heading in each.items())
    return (Column("day", "Day"), Column("seen", "Seen"), *said, Column("mark", "?"))


def fit_ranges_svg(answer: Answer) -> str:
    """Return the picture of ranges before and after, or nothing where none changed."""
    rows = [
        row
        for table in answer.tables[:1]
        for row in table.rows
        if _whole(row["before"]) and _whole(row["after"])
    ]
    if not answer.result.get("readings") or not rows:
        return ""
    from drybox.reports.pictures.fit import ranges_figure
    from drybox.reports.pictures.plots import inline_svg

    label = "Each range after the fit against that before; the table below says the same."
    return without_styles(inline_svg(ranges_figure(rows), "ranges", label))


def _whole(found: Mapping[str, Any] | None) -> bool:
    return found is not None and None not in found.values()


def fit_pictures(answer: Answer, units: str) -> list[dict[str, Any]]:
    """Return plate, drying times and prints weighed, as measured and as modelled.

    Each is a picture and a table.
    """
    from drybox.reports.pictures.fit import drying_figure, weighed_figure
    from drybox.reports.pictures.plots import inline_svg

    pictures: dict[str, tuple[tuple[Column, ...], str, str, Callable[[Any], Any]]] = {
        "plate": (
            _columns("c", "read", 1),
            "Plate: read, and modelled before and after",
            "The plate of each day as read, and as modelled before and after the fit.",
            lambda _: fit_figure(answer, units),
        ),
        "drying": (
            _columns("minutes", "measured", 0),
            "Minutes to dry: measured, and modelled before and after",
            "Drying times as modelled before and after the fit, over those measured.",
            drying_figure,
        ),
        "run_water": (
            _columns("mass_g", "weighed", 2),
            "Prints weighed while they dried: mass, and modelled before and after",
            "Prints weighed while they dried, and as modelled before and after the fit.",
            lambda rows: weighed_figure(rows, units),
        ),
    }
    found = []
    for kind, (columns, title, label, draw) in pictures.items():
        read = [row for row in answer.result.get("readings", []) if row["kind"] == kind]
        if read:
            svg = inline_svg(draw(read), kind, f"{label} The table below says the same.")
            table = grid(Table(title, columns, _rows(read, answer)), units, answer.timezone)
            found.append({"svg": without_styles(svg), "table": table})
    return found


def fit_figure(answer: Answer, units: str) -> Any:
    """Return the figure of each day's plate."""
    from drybox.reports.pictures.fit import plate_days_figure

    days = answer.result["plate"]
    if not days:
        raise NoAnswerError("there is nothing to draw: no plate reading was fitted")
    plate = [row for row in answer.result["readings"] if row["kind"] == "plate"]
    return plate_days_figure(days, plate, answer.timezone, units=units)


def _rows(readings: Sequence[Mapping[str, Any]], answer: Answer) -> list[dict[str, Any]]:
    zone = answer.timezone
    return [
        {
            **row,
            "day": local_day(row["at"], zone)[5:].replace("-", UNBROKEN),
            "seen": clock(row["at"], zone),
            "mark": "disagrees" if row["disagrees"] else "",
        }
        for row in sorted(readings, key=lambda row: float(row["at"]))
    ]
