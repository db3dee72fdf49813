"""Typical-year weather files: EPW, TMY3, TMY2 and PVGIS, put onto the dates of an event.

A typical year is stitched from real months of several years. It says what is usual, and is
never a forecast. Hours are told apart by the start of their interval in the file's own fixed
offset from UTC: EPW prints hour 1 for 00:00 to 01:00, TMY2 and TMY3 print the hour's end,
PVGIS prints instants in UTC. Air values are taken over the same interval as the sun's, though
they are read at one instant of it.
"""

from __future__ import annotations

import csv
import io
import math
import re
import tempfile
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybox.errors import InputError, StoreError
from drybox.inputs.file_text import read_file_text
from drybox.inputs.weather import Site, Weather, series_weather
from drybox.inputs.weather_checks import mask_column
from drybox.units import KELVIN_AT_0_C

Array = NDArray[np.float64]
Hours = NDArray[np.int64]
HOURS = 8760
HOUR_S = 3600.0
EARTH_RADIUS_KM = 6371.0
FAR_KM = 50.0
HIGH_M = 200.0
KIND_NAMES = {"epw": "EPW", "tmy3": "TMY3", "tmy2": "TMY2", "pvgis": "PVGIS"}
_DAYS_BEFORE = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
_TMY2_HEAD = re.compile(r"^ ?\d{5} .{2,40}[NS] +\d+ +\d+ +[EW] +\d+ +\d+ +-?\d+ *$")
_CELSIUS = (1.0, KELVIN_AT_0_C)
_PERCENT = (0.01, 0.0)
_TENTHS = (0.1, 0.0)
_AS_IS = (1.0, 0.0)
_HPA = (100.0, 0.0)

# our name: (the reader's column, (factor, offset) to SI)
_SUN = {"ghi_w_m2": ("ghi", _AS_IS), "dni_w_m2": ("dni", _AS_IS), "dhi_w_m2": ("dhi", _AS_IS)}
_AIR = {
    "air_temp_k": ("temp_air", _CELSIUS),
    "humidity_frac": ("relative_humidity", _PERCENT),
    "wind_10m_m_s": ("wind_speed", _AS_IS),
}
_COLUMNS: dict[str, dict[str, tuple[str, tuple[float, float]]]] = {
    "epw": {
        **_AIR,
        "pressure_pa": ("atmospheric_pressure", _AS_IS),
        "cloud_frac": ("total_sky_cover", _TENTHS),
        **_SUN,
    },
    "tmy3": {
        **_AIR,
        "pressure_pa": ("pressure", _HPA),
        "cloud_frac": ("TotCld (tenths)", _TENTHS),
        **_SUN,
    },
    "tmy2": {
        "air_temp_k": ("DryBulb", (0.1, KELVIN_AT_0_C)),
        "humidity_frac": ("RHum", _PERCENT),
        "wind_10m_m_s": ("Wspd", _TENTHS),
        "pressure_pa": ("Pressure", _HPA),
        "cloud_frac": ("TotCld", _TENTHS),
        **{name: (label.upper(), as_is) for name, (label, as_is) in _SUN.items()},
    },
    "pvgis": {**_AIR, "pressure_pa": ("pressure", _AS_IS), **_SUN},
}


@dataclass(frozen=True)
class TypicalYear:
    """A typical year of 8760 hours, each at the place its date has in a common year.

    Parameters
    ----------
    name : str
        The station, as the file calls it.
    kind : str
        ``epw``, ``tmy3``, ``tmy2`` or ``pvgis``.
    latitude_deg, longitude_deg : float
        Of the station, north and east positive. [deg]
    elevation_m : float
        Of the station. [m]
    utc_offset_h : float
        Fixed offset of the file's clock from UTC. [h]
    month, day, hour : array of int
        Start of each row's interval in the file's clock; row 0 is 1 January, hour 0.
    columns : mapping of str to array
        Columns named as in `Weather`, SI; NaN is a gap.
    start_shift_s : float
        What is added to the whole hour to get the start of the interval. [s]
    understood, doubts : tuple of str
        As in `Weather`.
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


def file_kind(text: str) -> str:
    """Return what kind of weather a text holds, known by its first lines.

    Returns
    -------
    str
        ``epw``, ``tmy3``, ``tmy2``, ``pvgis``, or else ``forecast``.

    Examples
    --------
    >>> file_kind("LOCATION,Nowhere,-,XXX"), file_kind("time,air_temp_c")
    ('epw', 'forecast')
    """
    first, _, rest = text.partition("\n")
    second = rest.partition("\n")[0]
    if first.upper().startswith("LOCATION,"):
        return "epw"
    if "Date (MM/DD/YYYY)" in second:
        return "tmy3"
    if _TMY2_HEAD.match(first) and len(second) > 120:
        return "tmy2"
    if first.startswith("Latitude (decimal degrees)") and "time(UTC)" in text[:2000]:
        return "pvgis"
    return "forecast"


def read_typical_year(path: str | Path) -> TypicalYear:
    """Return the typical year in an EPW, TMY3, TMY2 or PVGIS file.

    Raises
    ------
    InputError
        If it is none of these, or is damaged or incomplete.
    StoreError
        If it cannot be opened.
    """
    text = read_file_text(path)
    return parse_typical_year(text, file_kind(text), Path(path).name)


def parse_typical_year(text: str, kind: str, name: str) -> TypicalYear:
    """Return the typical year in a file's text.

    Parameters
    ----------
    text : str
        The file, as `read_file_text` returns it.
    kind : str
        As `file_kind` returns it.
    name : str
        File name, for error texts.

    Raises
    ------
    InputError
        If it cannot be read as its kind, an hour is missing or comes twice, or a column's
        numbers are impossible.
    """
    if kind not in _COLUMNS:
        raise InputError("this is no EPW, TMY3, TMY2 or PVGIS typical year", name)
    frame, site = _read_frame(text, kind, name)
    start, row_of = _rows_by_hour(frame, kind, name)
    columns: dict[str, Array] = {}
    doubts: list[str] = []
    for ours, (theirs, (factor, offset)) in _COLUMNS[kind].items():
        if theirs not in frame:
            continue
        printed = _numbers(frame[theirs], theirs, name)[row_of]
        column, said = mask_column(ours, printed, printed * factor + offset, name)
        doubts.extend(said)
        if column is not None:
            columns[ours] = column
    month = np.searchsorted(_DAYS_BEFORE, start // 24, side="right")
    label = {"epw": "its start", "pvgis": "an instant in UTC"}.get(kind, "its end")
    return TypicalYear(
        **site,
        kind=kind,
        month=month,
        day=start // 24 - _DAYS_BEFORE[month - 1] + 1,
        hour=start % 24,
        columns=columns,
        understood=(
            f"{KIND_NAMES[kind]} file, the hour marks {label}, "
            f"clock UTC{site['utc_offset_h']:+g} h all year",
            "columns: " + ", ".join(columns),
        ),
        doubts=tuple(doubts),
    )


def _read_frame(text: str, kind: str, name: str) -> tuple[Any, dict[str, Any]]:
    """Return the reader's table and the station, with any fault of the reader as one line."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return {
                "epw": _read_epw,
                "tmy3": _read_tmy3,
                "tmy2": _read_tmy2,
                "pvgis": _read_pvgis,
            }[kind](text)
    except OSError as error:
        raise StoreError(f"no room to unpack the weather file: {error}", name) from None
    except Exception as error:
        why = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise InputError(
            f"this cannot be read as {KIND_NAMES[kind]}: {why}",
            name,
            "it may be cut short or damaged; download it again",
        ) from None


def _site(meta: Mapping[str, Any], name: str) -> dict[str, Any]:
    site: dict[str, Any] = {
        "name": " ".join(name.replace('"', "").split()),
        "latitude_deg": float(meta["latitude"]),
        "longitude_deg": float(meta["longitude"]),
        "elevation_m": float(meta["altitude"]),
        "utc_offset_h": float(meta["TZ"]),
    }
    limits = {"latitude_deg": 90, "longitude_deg": 180, "elevation_m": 9000, "utc_offset_h": 14}
    for key, limit in limits.items():
        if not abs(site[key]) <= limit:
            raise ValueError(f"{key} {site[key]:g} is impossible")
    return site


def _read_epw(text: str) -> tuple[Any, dict[str, Any]]:
    from pvlib.iotools import read_epw

    frame, meta = read_epw(io.StringIO(text))
    return frame, _site(meta, f"{meta['city']}, {meta['state-prov']}, {meta['country']}")


def _read_tmy3(text: str) -> tuple[Any, dict[str, Any]]:
    from pvlib.iotools import read_tmy3

    first, _, rest = text.partition("\n")
    cells = [cell.replace(",", " ") for cell in next(csv.reader([first]))]
    frame, meta = read_tmy3(io.StringIO(",".join(cells) + "\n" + rest))
    return frame, _site(meta, f"{meta['Name']}, {meta['State']}")


def _read_tmy2(text: str) -> tuple[Any, dict[str, Any]]:
    """Read TMY2; the reader takes only a path, and only a city without spaces."""
    from pvlib.iotools import read_tmy2

    first, _, rest = text.partition("\n")
    head = first.split()
    city, tail = " ".join(head[1:-9]), head[-9:]
    plain = " ".join([head[0], re.sub(r"\W+", "-", city, flags=re.ASCII), *tail])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "station.tm2"
        path.write_text(f" {plain}\n{rest}", encoding="ascii")
        frame, meta = read_tmy2(path)
    return frame, _site(meta, f"{city}, {meta['State']}")


def _read_pvgis(text: str) -> tuple[Any, dict[str, Any]]:
    from pvlib.iotools import read_pvgis_tmy

    frame, meta = read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv")
    told = meta["inputs"]
    site = _site({**told, "altitude": told["elevation"], "TZ": 0}, "a PVGIS grid point")
    offset_s = HOUR_S * float(told.get("irradiance time offset", 0.0))
    return frame, {**site, "start_shift_s": offset_s - HOUR_S / 2}


def _numbers(column: Any, label: str, name: str) -> Array:
    """Return a column as numbers, or say in which row it holds something else."""
    import pandas as pd

    numbers = pd.to_numeric(column, errors="coerce")
    lost = numbers.isna() & column.notna()
    if lost.any():
        row = int(np.flatnonzero(lost.to_numpy())[0])
        text = str(column.iloc[row])[:40]
        raise InputError(f"'{text}' in column {label}, hour {row + 1}, is not a number", name)
    return np.asarray(numbers, dtype=float)


def _rows_by_hour(frame: Any, kind: str, name: str) -> tuple[Hours, Hours]:
    """Return each hour of the year and the row that holds it, by the start of the interval."""
    if kind == "tmy3":
        dates = frame["Date (MM/DD/YYYY)"].str.split("/")
        month, day = (_numbers(dates.str[part], "date", name) for part in (0, 1))
        hour = _numbers(frame["Time (HH:MM)"].str.split(":").str[0], "time", name) - 1
    elif kind == "pvgis":
        month, day, hour = (
            np.asarray(getattr(frame.index, part), dtype=float) for part in ("month", "day", "hour")
        )
    else:
        month, day, hour = (_numbers(frame[part], part, name) for part in ("month", "day", "hour"))
        hour = hour - 1
    common = np.flatnonzero(~((month == 2) & (day == 29)))
    impossible = ~((month >= 1) & (month <= 12) & (day >= 1) & (day <= 31))
    if impossible.any() or not np.all((hour >= -1) & (hour <= 23)):
        raise InputError("a row has no possible month, day or hour", name, "download it again")
    day_of_year = _DAYS_BEFORE[month[common].astype(int) - 1] + day[common] - 1
    of_year = (day_of_year * 24 + hour[common]).astype(np.int64) % HOURS
    hours, rows = np.unique(of_year, return_index=True)
    if hours.size != HOURS or of_year.size != HOURS:
        raise InputError(
            f"{of_year.size} rows hold {hours.size} different hours; a typical year has {HOURS}",
            name,
            "it may be cut short or hold rows twice; download it again",
        )
    return hours, common[rows]


def for_date(
    year: TypicalYear,
    day: date,
    days: int = 2,
    said: Mapping[str, float] | None = None,
    doubts: tuple[str, ...] = (),
) -> Weather:
    """Return a typical year's hours on real dates: the day before, the day, and days after.

    Parameters
    ----------
    year : TypicalYear
        As `read_typical_year` returns it.
    day : datetime.date
        The day wanted. 29 February takes the hours of 28 February.
    days : int
        How many days after it.
    said : mapping of str to float, optional
        What the event says itself, in the place of the file's columns.
    doubts : tuple of str, optional
        More doubts to hand on, such as those of `site_doubts`.

    Returns
    -------
    Weather
        Hourly rows over their intervals, kind ``typical_year``.
    """
    picked: list[Hours] = []
    for ahead in range(-1, days + 1):
        wanted = day + timedelta(days=ahead)
        leap = (wanted.month, wanted.day) == (2, 29)
        first = 24 * (int(_DAYS_BEFORE[wanted.month - 1]) + wanted.day - 1 - int(leap))
        picked.append(np.arange(first, first + 24))
    rows = np.concatenate(picked)
    before = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=1)
    start_s = (
        before.timestamp()
        - year.utc_offset_h * HOUR_S
        + year.start_shift_s
        + HOUR_S * np.arange(rows.size, dtype=float)
    )
    return series_weather(
        "typical_year",
        start_s,
        start_s + HOUR_S,
        {name: column[rows] for name, column in year.columns.items()},
        said or {},
        source=f"typical year of {year.name} ({KIND_NAMES[year.kind]}): "
        "what is usual, not a forecast",
        understood=year.understood,
        doubts=(*year.doubts, *doubts),
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
