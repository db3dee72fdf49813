"""Weather years: EPW, TMY3, TMY2, PVGIS, NSRDB and our own, put onto the dates of an event.

A typical year is stitched from real months of several years. It says what is usual, and is
never a forecast. A file of several real years is stitched to one here: each month is taken
from the year whose sunshine in that month is nearest to the mean of all. Air values are taken
over the same interval as the sun's, though they are read at one instant of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.errors import InputError
from drybox.inputs.weather.checks import LIMITS, mask_column
from drybox.inputs.weather.usual_air import Usual
from drybox.inputs.weather.weather import Site, Weather, series_weather
from drybox.inputs.years.formats import HOUR_S, YearRows, printed_numbers, read_rows
from drybox.inputs.years.layouts import KIND_NAMES, LAYOUTS, MARKS, REAL_YEARS

Hours = NDArray[np.int64]
HOURS = 8760
EARTH_RADIUS_KM = 6371.0
FAR_KM = 50.0
HIGH_M = 200.0
_MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_DAYS_BEFORE = np.cumsum((0, *_MONTH_DAYS[:-1]))


@dataclass(frozen=True)
class TypicalYear:
    """A typical year of 8760 hours, each at the place its date has in a common year.

    ``kind`` is a key of `drybox.inputs.years.formats.LAYOUTS`. Position and name are the station's;
    ``month``, ``day`` and ``hour`` begin each row's interval in the file's clock, which is
    ``utc_offset_h`` from UTC; row 0 is 1 January, hour 0, and ``start_shift_s`` is added to the
    whole hour. Columns are named as in `Weather`, in SI, NaN a gap; ``understood`` and ``doubts``
    are as there.
    """

    name: str
    kind: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float
    month: Hours
    day: Hours
    hour: Hours
    columns: Mapping[str, Array]
    start_shift_s: float = 0.0
    understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@lru_cache(maxsize=2)
def parse_typical_year(text: str, kind: str, name: str) -> TypicalYear:
    """Return the typical year in a file's text.

    Every hour must be there once.
    """
    if kind not in LAYOUTS:
        raise InputError("this is no EPW, TMY3, TMY2, PVGIS or NSRDB year", name)
    rows = read_rows(text, kind, name)
    return year_of_rows(rows, kind, name)


def year_of_rows(rows: YearRows, kind: str, name: str) -> TypicalYear:
    """Return the typical year in a file's rows; as `parse_typical_year`."""
    start, row_of, notes = _rows_by_hour(rows, kind, name)
    columns: dict[str, Array] = {}
    doubts: list[str] = []
    for ours, (theirs, (factor, offset)) in LAYOUTS[kind].items():
        if theirs not in rows.frame:
            continue
        printed = printed_numbers(rows, theirs, name)[row_of]
        column, said = mask_column(ours, printed, printed * factor + offset, where=name)
        doubts.extend(said)
        if column is not None:
            columns[ours] = column
    if not columns:
        raise InputError("there is no weather column in it", name, "download it again")
    month = np.searchsorted(_DAYS_BEFORE, start // 24, side="right")
    marks = MARKS.get(kind, "rows are instants")
    return TypicalYear(
        **rows.site,
        kind=kind,
        month=month,
        day=start // 24 - _DAYS_BEFORE[month - 1] + 1,
        hour=start % 24,
        columns=columns,
        understood=(
            f"{KIND_NAMES[kind]} file, {marks}, clock UTC{rows.site['utc_offset_h']:+g} h all year",
            "columns: " + ", ".join(LIMITS[name].label for name in columns),
            *rows.notes,
            *notes,
        ),
        doubts=tuple(doubts),
    )


def _rows_by_hour(rows: YearRows, kind: str, name: str) -> tuple[Hours, Hours, tuple[str, ...]]:
    """Return each hour of the year, the row that holds it, and what was chosen."""
    _, month, day, hour = rows.clock
    impossible = ~((month >= 1) & (month <= 12) & (day >= 1) & (day <= 31))
    if impossible.any() or not np.all((hour >= -1) & (hour <= 23)):
        raise InputError("a row has no possible month, day or hour", name, "download it again")
    common = np.flatnonzero(~((month == 2) & (day == 29)))
    notes: tuple[str, ...] = ()
    if kind in REAL_YEARS and common.size > HOURS:
        common, notes = _choose_months(rows, common, name)
    day_of_year = _DAYS_BEFORE[month[common].astype(int) - 1] + day[common] - 1
    of_year = (day_of_year * 24 + hour[common]).astype(np.int64) % HOURS
    hours, first = np.unique(of_year, return_index=True)
    if hours.size != HOURS or of_year.size != HOURS:
        raise InputError(
            f"{of_year.size} rows hold {hours.size} different hours; a typical year has {HOURS}",
            name,
            "it may be cut short or hold rows twice; download it again",
        )
    return hours, common[first], notes


def _choose_months(rows: YearRows, common: Hours, name: str) -> tuple[Hours, tuple[str, ...]]:
    """Return the rows of the months nearest to the mean of several years, and which they are."""
    sun = next((label for label in ("ghi", "GHI") if label in rows.frame), None)
    if sun is None:
        raise InputError("several years without global sunlight cannot be made one", name)
    bright = printed_numbers(rows, sun, name)
    picked: list[Hours] = []
    years: list[str] = []
    for month in range(1, 13):
        here = common[rows.clock.month[common] == month]
        whole = 24 * _MONTH_DAYS[month - 1]
        candidates, counts = np.unique(rows.clock.year[here], return_counts=True)
        candidates = candidates[counts == whole]
        if candidates.size == 0:
            raise InputError(f"no year has the whole of month {month}", name, "download it again")
        of_year = [here[rows.clock.year[here] == year] for year in candidates]
        means = np.array([np.nanmean(bright[chosen]) for chosen in of_year])
        best = int(np.argmin(np.abs(means - means.mean())))
        picked.append(of_year[best])
        years.append(f"{candidates[best]:.0f}")
    span = np.unique(rows.clock.year)
    return np.concatenate(picked), (
        f"{span[0]:.0f} to {span[-1]:.0f} made one year, each month from the year nearest to the "
        f"mean sunshine: {', '.join(years)}",
    )


def for_date(
    year: TypicalYear,
    day: date,
    days: int = 2,
    *,
    said: Mapping[str, float] | None = None,
    doubts: tuple[str, ...] = (),
    usual: Usual | None = None,
) -> Weather:
    """Return a typical year's hours on real dates: the day before, the day, and days after.

    29 February takes the hours of 28 February. ``said`` replaces the file's columns, ``usual``
    stands in for those that nobody told, ``doubts`` are handed on.
    """
    picked: list[Hours] = []
    for ahead in range(-1, days + 1):
        wanted = day + timedelta(days=ahead)
        leap = (wanted.month, wanted.day) == (2, 29)
        first = 24 * (int(_DAYS_BEFORE[wanted.month - 1]) + wanted.day - 1 - int(leap))
        picked.append(np.arange(first, first + 24))
    rows = np.concatenate(picked)
    before = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=1)
    start_at = (
        before.timestamp()
        - year.utc_offset_h * HOUR_S
        + year.start_shift_s
        + HOUR_S * np.arange(rows.size, dtype=float)
    )
    return series_weather(
        "typical_year",
        start_at,
        start_at + HOUR_S,
        columns={name: column[rows] for name, column in year.columns.items()},
        said=said or {},
        source=f"typical year of {year.name} ({KIND_NAMES[year.kind]}): "
        "what is usual, not a forecast",
        understood=year.understood,
        doubts=(*year.doubts, *doubts),
        usual=usual,
    )


def site_doubts(year: TypicalYear, place: Site) -> tuple[str, ...]:
    """Return in words how far a file's station is from the place, where that matters."""
    here, there = math.radians(place.latitude_deg), math.radians(year.latitude_deg)
    half_east = math.radians(place.longitude_deg - year.longitude_deg) / 2
    chord = math.sin((here - there) / 2) ** 2 + (
        math.cos(here) * math.cos(there) * math.sin(half_east) ** 2
    )
    km = 2 * EARTH_RADIUS_KM * math.asin(math.sqrt(min(1.0, chord)))
    higher_m = year.elevation_m - place.elevation_m
    doubts = []
    if km > FAR_KM:
        doubts.append(f"the weather station {year.name} is {km:.0f} km from the place")
    if abs(higher_m) > HIGH_M:
        side = "above" if higher_m > 0 else "below"
        doubts.append(f"the weather station {year.name} is {abs(higher_m):.0f} m {side} the place")
    return tuple(doubts)
