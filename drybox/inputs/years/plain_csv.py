"""Our plain CSV: what `weather convert` and `weather fetch` write, and every reader takes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

import numpy as np

from drybox.arrays import Array
from drybox.inputs.weather.weather import SERIES, Weather
from drybox.inputs.years.layouts import LAYOUTS, PLAIN_MARK
from drybox.inputs.years.typical import TypicalYear


def plain_year(year: TypicalYear, remark: str = "") -> str:
    """Return a typical year as our plain CSV, one row an hour by its start."""
    head = [
        PLAIN_MARK,
        f"# name: {_line(year.name)}",
        f"# latitude_deg: {year.latitude_deg:g}",
        f"# longitude_deg: {year.longitude_deg:g}",
        f"# elevation_m: {year.elevation_m:g}",
        f"# utc_offset_h: {year.utc_offset_h:g}",
        f"# start_shift_s: {year.start_shift_s:g}",
        *([f"# from: {_line(remark)}"] if remark else []),
    ]
    names, cells = _cells(year.columns)
    clock = zip(year.month, year.day, year.hour, strict=True)
    rows = [
        f"{month},{day},{hour},{','.join(row)}"
        for (month, day, hour), row in zip(clock, cells, strict=True)
    ]
    return "\n".join([*head, ",".join(["month", "day", "hour", *names]), *rows]) + "\n"


def plain_forecast(weather: Weather, timezone: str, remark: str = "") -> str:
    """Return a forecast as our plain CSV, each row with its offset from UTC.

    Its rows are instants, or intervals of one length; times are printed in ``timezone``.
    """
    head = [f"# {_line(remark)}"] if remark else []
    if weather.issued_at is not None:
        head.append(f"# issued {datetime.fromtimestamp(weather.issued_at, UTC):%Y-%m-%dT%H:%M:%SZ}")
    spans = bool(np.all(weather.end_at > weather.start_at))
    columns = {name: column for name in SERIES if (column := getattr(weather, name)) is not None}
    names, cells = _cells(columns)
    times = weather.start_at if spans else weather.mid_at
    zone = ZoneInfo(timezone)
    rows = [f"{_iso(at, zone)},{','.join(row)}" for at, row in zip(times, cells, strict=True)]
    heading = ",".join(["start" if spans else "time", *names])
    return "\n".join([*head, heading, *rows]) + "\n"


def _cells(columns: Mapping[str, Array]) -> tuple[list[str], list[list[str]]]:
    """Return the headings, and each row's cells as text; a gap is an empty cell."""
    layout = LAYOUTS["plain"]
    printed = []
    for name, column in columns.items():
        factor, offset = layout[name][1]
        values = (column - offset) / factor
        printed.append([f"{value:.7g}" if math.isfinite(value) else "" for value in values])
    rows = [list(row) for row in zip(*printed, strict=True)]
    return [layout[name][0] for name in columns], rows


def _iso(time_at: float, zone: tzinfo) -> str:
    return datetime.fromtimestamp(round(time_at), zone).isoformat(timespec="seconds")


def _line(text: str) -> str:
    return " ".join(text.split())
