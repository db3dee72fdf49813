"""The weather of an event: its ``[weather]`` table, and the file that it names.

A file is known by what stands in it, not by its key or ending.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from drybox.errors import InputError
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.inputs.forecast.json_file import table_of
from drybox.inputs.text.file_text import read_file_text
from drybox.inputs.weather.odd import odd_weather
from drybox.inputs.weather.usual_air import usual_values
from drybox.inputs.weather.weather import Site, Weather, steady_weather
from drybox.inputs.weather.words import check_keys, read_said
from drybox.inputs.years.layouts import FORECASTS, file_kind
from drybox.inputs.years.typical import TypicalYear, for_date, parse_typical_year, site_doubts


def load_weather(
    table: Mapping[str, object] | None,
    base_dir: str | Path,
    place: Site,
    *,
    day_start_at: float,
    plate_wind_frac: float = 1.0,
) -> Weather:
    """Return the weather of the day that starts at ``day_start_at``.

    Steady weather is one row over the day and its neighbours. The place dates the rows and is
    compared with the file's; ``plate_wind_frac`` is the share of the wind at 10 m that reaches the
    plate, for a wind told there.
    """
    table = dict(table or {})
    check_keys(table)
    said = read_said(table, plate_wind_frac)
    date = datetime.fromtimestamp(day_start_at, ZoneInfo(place.timezone)).date()
    usual = usual_values(place, date)
    name, text, kind = _named(table, base_dir)
    if not kind:
        weather = steady_weather(said, day_start_at, usual)
    elif kind in FORECASTS:
        table_text = table_of(text, name) if kind == "locationforecast" else text
        weather = parse_forecast(
            table_text, place.timezone, date, said=said, name=name, usual=usual, place=place
        )
    else:
        year = parse_typical_year(text, kind, name)
        weather = for_date(year, date, said=said, doubts=site_doubts(year, place), usual=usual)
    odd = odd_weather(weather, place, day_start_at)
    return replace(weather, doubts=(*weather.doubts, *odd))


def weather_site(table: Mapping[str, object] | None, base_dir: str | Path) -> TypicalYear | None:
    """Return the typical year an event names, for its coordinates where the place has none."""
    name, text, kind = _named(table or {}, base_dir)
    return parse_typical_year(text, kind, name) if kind and kind not in FORECASTS else None


def _named(table: Mapping[str, object], base_dir: str | Path) -> tuple[str, str, str]:
    """Return name, text and kind of the file that the table names, empty if it names none."""
    key = "forecast" if "forecast" in table else "file"
    if key not in table:
        return "", "", ""
    value, where = table[key], f"weather.{key}"
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"{value!r} is not a file name", where)
    text = read_file_text(value, base_dir, where)
    return Path(value).name, text, file_kind(text)
