"""Read each kind of weather-year file into rows: the station, the clock and a table."""

from __future__ import annotations

import csv
import io
import json
import re
import tempfile
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from drybox.arrays import Array
from drybox.errors import DryboxError, InputError, StoreError
from drybox.inputs.years.layouts import KIND_NAMES, LAYOUTS

HOUR_S = 3600.0
LOWEST_SUN_DEG = 3.0


class RowClock(NamedTuple):
    """Start of each row's hour in the file's own fixed offset from UTC."""

    year: Array
    month: Array
    day: Array
    hour: Array


@dataclass(frozen=True)
class YearRows:
    """A file's rows: the reader's table, the station, the clock, and what was done."""

    frame: Any
    site: dict[str, Any]
    clock: RowClock
    notes: tuple[str, ...] = ()


def read_rows(text: str, kind: str, name: str) -> YearRows:
    """Return a file's rows, with any fault of the reader as one line."""
    readers: dict[str, Callable[[str], YearRows]] = {
        "epw": _read_epw,
        "tmy3": _read_tmy3,
        "tmy2": _read_tmy2,
        "pvgis": _read_pvgis,
        "pvgis_hourly": _read_pvgis_hourly,
        "nsrdb": _read_nsrdb,
        "plain": _read_plain,
    }
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return readers[kind](text)
    except DryboxError as error:
        raise type(error)(error.what, name, error.mend) from None
    except OSError as error:
        raise StoreError(f"no room to unpack the weather file: {error}", name) from None
    except Exception as error:
        why = str(error).splitlines()[0] if str(error) else type(error).__name__
        why = why.partition(". You might")[0][:120]
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


def _numbers(column: Any, label: str) -> Array:
    """Return a column as numbers, or say in which row it holds something else."""
    import pandas as pd

    numbers = pd.to_numeric(column, errors="coerce")
    lost = numbers.isna() & column.notna()
    if lost.any():
        row = int(np.flatnonzero(lost.to_numpy())[0])
        text = str(column.iloc[row])[:40]
        raise InputError(f"'{text}' in column {label}, hour {row + 1}, is not a number")
    return np.asarray(numbers, dtype=float)


def printed_numbers(rows: YearRows, label: str, name: str) -> Array:
    """Return one column of a file as numbers."""
    try:
        return _numbers(rows.frame[label], label)
    except InputError as error:
        raise InputError(error.what, name) from None


def _clock(frame: Any) -> RowClock:
    """Return the clock of a table with columns for it, hours from 1 to 24 by their end."""
    clock = RowClock(*(_numbers(frame[part], part) for part in RowClock._fields))
    return clock._replace(hour=clock.hour - 1)


def _read_epw(text: str) -> YearRows:
    from pvlib.iotools import read_epw

    frame, meta = read_epw(io.StringIO(text))
    site = _site(meta, f"{meta['city']}, {meta['state-prov']}, {meta['country']}")
    return YearRows(frame, site, _clock(frame))


def _read_tmy3(text: str) -> YearRows:
    from pvlib.iotools import read_tmy3

    first, _, rest = text.partition("\n")
    cells = [cell.replace(",", " ") for cell in next(csv.reader([first]))]
    frame, meta = read_tmy3(io.StringIO(",".join(cells) + "\n" + rest))
    stamps = "|".join(frame["Date (MM/DD/YYYY)"] + "/" + frame["Time (HH:MM)"])
    marks = re.split(r"[/:|]", stamps)
    if len(marks) != 5 * len(frame):
        raise InputError("a row has no date like 12/31/2001 or no time like 13:00")
    clock = np.array(marks, dtype=float).reshape(-1, 5)
    return YearRows(
        frame,
        _site(meta, f"{meta['Name']}, {meta['State']}"),
        RowClock(clock[:, 2], clock[:, 0], clock[:, 1], clock[:, 3] - 1),
    )


def _read_tmy2(text: str) -> YearRows:
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
    return YearRows(frame, _site(meta, f"{city}, {meta['State']}"), _clock(frame))


def _read_pvgis(text: str) -> YearRows:
    from pvlib.iotools import read_pvgis_tmy

    form = "json" if text.lstrip().startswith("{") else "csv"
    source = io.StringIO(text) if form == "json" else io.BytesIO(text.encode())
    frame, meta = read_pvgis_tmy(source, pvgis_format=form)
    return pvgis_rows(frame, meta)


def pvgis_rows(frame: Any, meta: Mapping[str, Any]) -> YearRows:
    """Return the rows of a typical year as pvlib's PVGIS functions give it, uncoerced.

    The file prints whole hours; the sun is of an instant that many hours later as the file's
    time offset says, the same all year.
    """
    told = meta["inputs"] | meta["inputs"].get("location", {})
    offset_h = told.get("irradiance time offset", told.get("irradiance_time_offset", 0.0))
    return _of_pvgis(frame, told, HOUR_S * float(offset_h or 0.0))


def _of_pvgis(frame: Any, told: Mapping[str, Any], instant_s: float) -> YearRows:
    """Return rows whose sun is of an instant so long after the hour, taken for its middle."""
    site = _site({**told, "altitude": told["elevation"], "TZ": 0}, "a PVGIS grid point")
    site["start_shift_s"] = instant_s - HOUR_S / 2
    parts = (np.asarray(getattr(frame.index, part), dtype=float) for part in RowClock._fields)
    return YearRows(frame, site, RowClock(*parts))


def _read_pvgis_hourly(text: str) -> YearRows:
    from pvlib.iotools import read_pvgis_hourly

    form = "json" if text.lstrip().startswith("{") else "csv"
    if form == "csv" and re.search(r"^Slope:\s*(?!0(\.0*)?\s*deg)\d", text[:3000], re.MULTILINE):
        raise _tilted()
    frame, meta = read_pvgis_hourly(io.StringIO(text), pvgis_format=form)
    if form == "json" and _json_slope(json.loads(text)) != 0:
        raise _tilted()
    level = {"poa_direct", "poa_sky_diffuse"} <= set(frame.columns)
    if not level and "poa_global" not in frame:
        raise InputError("there is no sunlight on a plane in the file", "", "ask for G(i)")
    if level:
        high = frame["solar_elevation"].to_numpy() > LOWEST_SUN_DEG
        up = np.sin(np.deg2rad(np.where(high, frame["solar_elevation"], 90.0)))
        frame["dni"] = np.where(high, frame["poa_direct"] / up, 0.0)
        frame["dhi"] = frame["poa_sky_diffuse"]
        frame["ghi"] = frame["poa_direct"] + frame["poa_sky_diffuse"]
    else:
        frame["ghi"] = frame["poa_global"]
    told = meta["inputs"] | meta["inputs"].get("location", {})
    return _of_pvgis(frame, told, 60.0 * float(frame.index.minute[0]))


def _tilted() -> InputError:
    what = "the sunlight in this file fell on a tilted plane"
    return InputError(what, "", "ask PVGIS for slope 0")


def _json_slope(source: Mapping[str, Any]) -> float:
    mounting = source["inputs"].get("mounting_system", {})
    slopes = [how.get("slope", {}).get("value", 0) for how in mounting.values() if how]
    return float(slopes[0]) if slopes else 0.0


def _read_nsrdb(text: str) -> YearRows:
    """Read one station line, a heading and rows of one or several to the hour."""
    import pandas as pd

    heads = list(csv.reader(text.split("\n", 2)[:2]))
    meta = dict(zip(*heads, strict=False))
    frame = pd.read_csv(io.StringIO(text), skiprows=2, index_col=False)
    frame = frame[[label for label in frame.columns if not label.startswith("Unnamed")]]
    told = {
        "latitude": meta["Latitude"],
        "longitude": meta["Longitude"],
        "altitude": meta["Elevation"],
        "TZ": meta["Time Zone"],
    }
    parts = ("Year", "Month", "Day", "Hour", "Minute")
    clock = {part: _numbers(frame[part], part) for part in parts}
    needed = [label for label, _ in LAYOUTS["nsrdb"].values() if label in frame]
    table = pd.DataFrame({label: _numbers(frame[label], label) for label in needed})
    minutes = np.unique(clock["Minute"])
    hours = table.groupby([clock[part] for part in parts[:4]], sort=True)
    table = hours.mean()
    keys = [np.asarray(table.index.get_level_values(level), dtype=float) for level in range(4)]
    shift_s = 60.0 * float(minutes.mean()) - HOUR_S / 2
    names = [meta.get(key, "") for key in ("City", "State", "Country")]
    named = [name for name in names if name and name not in ("-", "None")]
    site = _site(told, ", ".join(named) or f"NSRDB point {meta.get('Location ID', '')}")
    notes = ["the file does not say how high the wind was measured; 10 m is assumed"]
    if minutes.size > 1:
        notes.append(f"{minutes.size} rows to the hour, averaged")
    site["start_shift_s"] = shift_s
    return YearRows(table.reset_index(drop=True), site, RowClock(*keys), notes=tuple(notes))


def _read_plain(text: str) -> YearRows:
    """Read what `drybox.inputs.years.plain_csv.plain_year` wrote."""
    import pandas as pd

    told: dict[str, str] = {}
    for line in takewhile(lambda line: line.startswith("#"), text.split("\n", 40)):
        key, _, value = line.lstrip("# ").partition(":")
        told[key.strip()] = value.strip()
    frame = pd.read_csv(io.StringIO(text), comment="#")
    meta = {
        "latitude": told["latitude_deg"],
        "longitude": told["longitude_deg"],
        "altitude": told["elevation_m"],
        "TZ": told["utc_offset_h"],
    }
    site = {**_site(meta, told["name"]), "start_shift_s": float(told["start_shift_s"])}
    clock = [_numbers(frame[part], part) for part in ("month", "day", "hour")]
    return YearRows(frame, site, RowClock(np.full(len(frame), 2001.0), *clock))
