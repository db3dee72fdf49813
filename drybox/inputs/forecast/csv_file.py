"""Forecast tables: read whatever a forecast site or a spreadsheet saved, and say what was read.

The columns may be split by comma, semicolon or tab, with a decimal point or comma; lines may
stand before the heading, and ``#`` starts a remark. Rows out of order are sorted and counted;
a row that comes twice is dropped and counted where it says the same, and refused where not.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.errors import InputError
from drybox.inputs.event.place import Position
from drybox.inputs.forecast.columns import (
    BRIGHTEST_KW_M2,
    PER_ROW,
    Column,
    guess_unit,
    read_heading,
)
from drybox.inputs.forecast.times import read_times
from drybox.inputs.weather.checks import LIMITS, MISSING_CODES, mask_column
from drybox.inputs.weather.time_marks import marked_by_light
from drybox.inputs.weather.usual_air import Usual
from drybox.inputs.weather.weather import SERIES, Weather, series_weather
from drybox.readable import counted

HEADING_WITHIN_LINES = 60
MOST_COLUMNS, LONGEST_HEADING = 300, 10_000
MOST_ROWS = 12_000  # a week of minutes
OLD_DAYS = 3.0
HOUR_S = 3600.0
DAY_S = 86400.0
MARKS = {"time": "instants", "start": "interval starts", "end": "interval ends"}
_EMPTY = {"", "na", "n/a", "nan", "null", "none", "-", "--", "—", "m", "?", "missing"}
_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?$", re.IGNORECASE)
_HIGH_NUMBERS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "pressure_pa")
_COMMAS = "decimal commas need ';' between the columns"
_ISSUED = re.compile(r"issued\D{0,8}(\d{4}-\d{2}-\d{2}\S*( \d{1,2}:\d{2}\S*)?)", re.IGNORECASE)


@dataclass(frozen=True)
class _Table:
    """A table cut into cells, before any of them is understood."""

    name: str
    remark: str
    issued: str
    delimiter: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]

    def cells(self, column: Column) -> list[str]:
        return [row[column.index] for row in self.rows]

    def find(self, quantity: str) -> Column | None:
        return next((column for column in self.columns if column.quantity == quantity), None)


def parse_forecast(
    text: str,
    timezone: str,
    day: date | None,
    *,
    said: Mapping[str, float] | None = None,
    name: str = "forecast",
    usual: Usual | None = None,
    place: Position | None = None,
) -> Weather:
    r"""Return the weather in a forecast table.

    Times without an offset are taken in ``timezone``; without a day it is the fullest. ``said``
    replaces the file's columns, ``usual`` stands in for those that nobody told. Rows are instants,
    or intervals where the heading says that the time is a start or an end, or their light at
    ``place`` does.

    >>> table = "time;Temp (°C);wind km/h\n2027-06-12 06:00;14,5;7,2\n2027-06-12 20:00;18;3,6"
    >>> weather = parse_forecast(table, "Europe/Vienna", date(2027, 6, 12), name="fair.csv")
    >>> weather.air_temp_k.tolist(), weather.wind_10m_m_s.tolist()
    ([287.65, 291.15], [2.0, 1.0])
    """
    table = _cut(text, name)
    times_at, role, (heading, zone) = _read_when(table, timezone)
    order, doubts = _put_in_order(table, times_at)
    times = times_at[order]
    step_s = float(np.median(np.diff(times))) if times.size > 1 else HOUR_S
    columns: dict[str, Array] = {}
    understood: list[str] = []
    used: set[int] = set()
    for quantity in SERIES:
        found = table.find(quantity)
        if found is None:
            continue
        used.add(found.index)
        printed = _read_numbers(table, found)[order]
        column, doubt = _settle_unit(found, printed, name)
        masked, masks = mask_column(
            quantity, printed, printed * column.factor + column.offset, where=name
        )
        doubts += [doubt] * bool(doubt) + list(masks) + _say_dark(column, masked)
        understood.append(f"{LIMITS[quantity].label}: column '{column.heading}' in {column.unit}")
        if masked is not None:
            per_row = quantity == "rain_kg_m2_s" and column.unit in PER_ROW
            columns[quantity] = masked * (HOUR_S / step_s if per_row else 1.0)
    role, mark = _mark_of(role, times, step_s, place=place, ghi_w_m2=columns.get("ghi_w_m2"))
    understood = [f"time: {heading}, {mark}, {zone}", *understood]
    understood += _say_rest(table, used)
    start_at = times - step_s if role == "end" else times
    end_at = times + step_s if role == "start" else times
    doubts += _say_gaps(times, step_s)
    day = day or fullest_day(start_at, timezone)
    _reaches(start_at[0], end_at[-1], timezone, day=day, name=name)
    issued_at, unread = _issued(table, timezone)
    doubts += unread or _say_age(issued_at, float(start_at[0]), timezone, day=day)
    remark = f": {table.remark}" if table.remark else ""
    return series_weather(
        "forecast",
        start_at,
        end_at,
        columns=columns,
        said=said or {},
        source=f"forecast {name}, {counted(times.size, 'row')}{remark}",
        understood=tuple(understood),
        doubts=tuple(doubts),
        issued_at=issued_at,
        usual=usual,
    )


def fullest_day(times_at: Array, timezone: str) -> date:
    """Return the local date with the most rows, the first of such."""
    zone = ZoneInfo(timezone)
    dates = Counter(datetime.fromtimestamp(at, zone).date() for at in times_at)
    return max(dates, key=lambda day: dates[day])


def _cut(text: str, name: str) -> _Table:
    lines = text.split("\n")
    remarks = [line.lstrip("# ").strip() for line in lines if line.startswith("#")]
    issued = next((match[1] for match in map(_ISSUED.search, remarks) if match), "")
    bare = [
        (number, line)
        for number, line in enumerate(lines, start=1)
        if line.strip(" \t;,") and not line.startswith("#")
    ]
    heading, delimiter, columns = _find_heading(bare, name)
    if len(bare) - heading > MOST_ROWS:
        what = f"{len(bare) - heading - 1} rows are more than {MOST_ROWS}"
        raise InputError(what, name, "keep the days you need")
    rows, numbers = [], []
    for number, line in bare[heading + 1 :]:
        cells = tuple(cell.strip() for cell in _split(line, delimiter))
        if len(cells) < len(columns) or any(cells[len(columns) :]):
            what = f"{counted(len(cells), 'cell')} under {counted(len(columns), 'heading')}"
            short = len(cells) < len(columns)
            mend = "the line is cut short" if short else _COMMAS
            raise InputError(what, f"{name}, line {number}", mend)
        rows.append(cells)
        numbers.append(number)
    if not rows:
        raise InputError("there is a heading but no row under it", name, "save it again")
    return _Table(
        name=name,
        remark=remarks[0][:100] if remarks else "",
        issued=issued,
        delimiter=delimiter,
        columns=columns,
        rows=tuple(rows),
        lines=tuple(numbers),
    )


def _split(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter))
    except csv.Error:
        return [line]


def _find_heading(
    lines: Sequence[tuple[int, str]], name: str
) -> tuple[int, str, tuple[Column, ...]]:
    """Return where the heading is, what splits it, and its columns."""
    for position, (number, line) in enumerate(lines[:HEADING_WITHIN_LINES]):
        if len(line) > LONGEST_HEADING:
            continue
        for delimiter in (mark for mark in ";\t," if mark in line):
            cells = _split(line.rstrip(f" {delimiter}"), delimiter)[:MOST_COLUMNS]
            columns = tuple(
                read_heading(index, cell, f"{name}, line {number}")
                for index, cell in enumerate(cells)
            )
            known = {column.quantity for column in columns}
            if known & {"time", "start", "end"} and known & set(SERIES):
                return position, delimiter, columns
    raise InputError(
        "there is no heading with a time and a weather column",
        name,
        "the first line should be like: time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas",
    )


def _read_when(table: _Table, timezone: str) -> tuple[Array, str, tuple[str, str]]:
    """Return the times, whether they mark an instant, a start or an end; heading and zone."""
    role, column = next(
        (role, found) for role in ("time", "start", "end") if (found := table.find(role))
    )
    cells, heading = table.cells(column), f"'{column.heading}'"
    dates = table.find("date")
    if dates is not None:
        cells = [f"{day} {clock}" for day, clock in zip(table.cells(dates), cells, strict=True)]
        heading = f"'{dates.heading}' and {heading}"
    times, zone = read_times(
        cells, table.lines, timezone, heading_zone=column.unit, name=table.name
    )
    return np.array(times), role, (heading, zone)


def _mark_of(
    role: str, times: Array, step_s: float, *, place: Position | None, ghi_w_m2: Array | None
) -> tuple[str, str]:
    """Return whether times mark an instant, a start or an end, by light if need be, and say it."""
    if role != "time" or place is None or ghi_w_m2 is None:
        return role, MARKS[role]
    found = marked_by_light(times, ghi_w_m2, place, step_s=step_s)
    why = "" if found == role else " (as instants some would be brighter than a clear sky)"
    return found, MARKS[found] + why


def _say_dark(column: Column, values: Array | None) -> list[str]:
    """Say it where a whole column of sun is as dim as if it were kW/m² under another heading."""
    if column.unit != "W/m2" or values is None:
        return []
    most = float(np.nanmax(values))
    if not 0.0 < most <= BRIGHTEST_KW_M2:
        return []
    said = f"column '{column.heading}' reaches only {most:.3g} W/m2"
    return [f"{said}: if it is in kW/m2, head it {column.quantity[:3]}_kw_m2"]


def _put_in_order(table: _Table, times_at: Array) -> tuple[NDArray[np.int64], list[str]]:
    """Return the rows to keep, in time order, and what was mended."""
    doubts = []
    late = int(np.count_nonzero(np.diff(times_at) < 0))
    if late:
        doubts.append(f"the rows were not in time order ({counted(late, 'step')} back); sorted")
    order = np.argsort(times_at, kind="stable")
    same = np.flatnonzero(np.diff(times_at[order]) == 0)
    for position in same:
        one, other = int(order[position]), int(order[position + 1])
        if table.rows[one] != table.rows[other]:
            lines = f"lines {table.lines[one]} and {table.lines[other]}"
            what = f"{lines} give different weather for the same time"
            raise InputError(what, table.name, "keep one")
    if same.size:
        doubts.append(f"{counted(same.size, 'row')} came twice and was dropped")
    return np.delete(order, same + 1), doubts


def _read_numbers(table: _Table, column: Column) -> Array:
    numbers = np.full(len(table.rows), np.nan)
    for row, cell in enumerate(table.cells(column)):
        if cell.lower() in _EMPTY:
            continue
        thousands = table.delimiter == "," and re.search(r",\d{3}$", cell)  # it may mean them
        if thousands or _NUMBER.match(cell) is None:
            raise InputError(
                f"'{cell[:40]}' in column '{column.heading}' is not a number",
                f"{table.name}, line {table.lines[row]}",
                "write the figure alone and its unit into the heading, like cloud_oktas or temp_c",
            )
        numbers[row] = float(cell.replace(",", "."))
    return numbers


def _settle_unit(column: Column, printed: Array, name: str) -> tuple[Column, str]:
    if column.unit:
        return column, ""
    real = ~np.isnan(printed)
    if column.quantity not in _HIGH_NUMBERS:
        real &= ~np.isin(printed, MISSING_CODES)
    return guess_unit(column, float(printed[real].max()) if real.any() else 0.0, name)


def _say_rest(table: _Table, used: set[int]) -> list[str]:
    told = {"time", "start", "end", "date"}
    rest = [
        column.heading
        for column in table.columns
        if column.index not in used and column.quantity not in told and column.heading.strip()
    ]
    said = [f"not used: {', '.join(rest)}"] if rest else []
    if table.delimiter != ",":
        said.append(f"columns split by {'a tab' if table.delimiter == chr(9) else repr(';')}")
    return said


def _say_gaps(times_at: Array, step_s: float) -> list[str]:
    steps = np.diff(times_at)
    wide = steps > 1.5 * step_s
    if not wide.any():
        return []
    lost = int(np.sum(np.round(steps[wide] / step_s) - 1))
    longest = float(steps.max()) / HOUR_S
    return [f"{counted(lost, 'row')} missing between others; the longest gap is {longest:.3g} h"]


def _reaches(first_at: float, last_at: float, timezone: str, *, day: date, name: str) -> None:
    """Refuse a forecast that has nothing of the day."""
    zone = ZoneInfo(timezone)
    opens = datetime(day.year, day.month, day.day, tzinfo=zone)
    ends = datetime.combine(day + timedelta(days=1), opens.timetz())
    if last_at < opens.timestamp() or first_at >= ends.timestamp():
        first, last = (
            f"{datetime.fromtimestamp(at, zone):%Y-%m-%d %H:%M}" for at in (first_at, last_at)
        )
        what = f"the forecast runs from {first} to {last} and does not reach {day}"
        raise InputError(what, name, "take one for the day, or leave it out")


def _issued(table: _Table, timezone: str) -> tuple[float | None, list[str]]:
    """Return when the forecast was made, where a remark says it, or that it is not understood."""
    if not table.issued:
        return None, []
    try:
        issued = datetime.fromisoformat(table.issued.rstrip(".,;)"))
    except ValueError:
        return None, [f"when the forecast was issued ('{table.issued}') is not understood"]
    return issued.replace(tzinfo=issued.tzinfo or ZoneInfo(timezone)).timestamp(), []


def _say_age(issued_at: float | None, first_at: float, timezone: str, *, day: date) -> list[str]:
    """Return in words how old the forecast is on the day, where that matters."""
    verb = "starts" if issued_at is None else "was issued"
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=ZoneInfo(timezone))
    days = (noon.timestamp() - (first_at if issued_at is None else issued_at)) / DAY_S
    if days <= OLD_DAYS:
        return []
    return [
        f"the forecast {verb} {days:.0f} days before the day: its cloud is hardly more than usual"
    ]
