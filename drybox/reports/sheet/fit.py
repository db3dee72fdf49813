"""What the sheet of a calibration shows: its pictures, each with the table that says the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from drybox.errors import NoAnswerError
from drybox.reports.sheet.charts import without_styles
from drybox.reports.sheet.parts import grid
from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import clock, local_day

UNBROKEN = "\u2011"
"""A hyphen at which no line ends."""

SEEN = (Column("day", "Day"), Column("seen", "Seen"))
PLATE_COLUMNS = (
    *SEEN,
    Column("measured_c", "read", 1),
    Column("before_c", "before", 1),
    Column("after_c", "after", 1),
    Column("mark", "?"),
)
DRYING_COLUMNS = (
    *SEEN,
    Column("measured_minutes", "measured"),
    Column("before_minutes", "before"),
    Column("after_minutes", "after"),
    Column("mark", "?"),
)
WEIGHED_COLUMNS = (
    *SEEN,
    Column("measured_mass_g", "weighed", 2),
    Column("before_mass_g", "before", 2),
    Column("after_mass_g", "after", 2),
    Column("mark", "?"),
)


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

    readings = answer.result.get("readings", [])
    plate = [row for row in readings if row["kind"] == "plate"]
    dried = [row for row in readings if row["kind"] == "drying"]
    found = []
    if plate:
        label = "The plate of each day as read, and as modelled before and after the fit."
        svg = without_styles(inline_svg(fit_figure(answer, units), "plates", f"{label} {_SAME}"))
        title = "Plate: read, and modelled before and after"
        found.append(
            _with_table(svg, Table(title, PLATE_COLUMNS, _rows(plate, answer)), answer, units)
        )
    if dried:
        label = "Drying times as modelled before and after the fit, over those measured."
        svg = without_styles(inline_svg(drying_figure(dried), "dryings", f"{label} {_SAME}"))
        title = "Minutes to dry: measured, and modelled before and after"
        found.append(
            _with_table(svg, Table(title, DRYING_COLUMNS, _rows(dried, answer)), answer, units)
        )
    weighed = [row for row in readings if row["kind"] == "run_water"]
    if weighed:
        label = "Prints weighed while they dried, and as modelled before and after the fit."
        svg = without_styles(
            inline_svg(weighed_figure(weighed, units), "weighed", f"{label} {_SAME}")
        )
        title = "Prints weighed while they dried: mass, and modelled before and after"
        rows = _rows(weighed, answer)
        found.append(_with_table(svg, Table(title, WEIGHED_COLUMNS, rows), answer, units))
    return found


_SAME = "The table below says the same."


def fit_figure(answer: Answer, units: str) -> Any:
    """Return the figure of each day's plate."""
    from drybox.reports.pictures.fit import plate_days_figure

    days = answer.result["plate"]
    if not days:
        raise NoAnswerError("there is nothing to draw: no plate reading was fitted")
    plate = [row for row in answer.result["readings"] if row["kind"] == "plate"]
    return plate_days_figure(days, plate, answer.timezone, units)


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


def _with_table(svg: str, table: Table, answer: Answer, units: str) -> dict[str, Any]:
    return {"svg": svg, "table": grid(table, units, answer.timezone)}
