"""Read any weather file without an event: what it is, where it is of, and one day of it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from drybox.errors import InputError
from drybox.inputs.event.place import zone_at
from drybox.inputs.forecast.csv_file import fullest_day, parse_forecast
from drybox.inputs.forecast.json_file import table_of
from drybox.inputs.text.file_text import read_file_text
from drybox.inputs.weather.weather import Weather
from drybox.inputs.years.layouts import FORECASTS, KIND_NAMES, file_kind
from drybox.inputs.years.typical import TypicalYear, for_date, parse_typical_year

MIDSUMMER = datetime.date(2027, 6, 21)


@dataclass(frozen=True)
class WeatherFile:
    """A weather file: a typical year or a forecast, with one day of it as weather.

    ``kind`` is what people call it; ``zone_told`` is False where a forecast's times have no
    offset from UTC and no zone was given, so that they were taken as UTC.
    """

    name: str
    kind: str
    day: datetime.date
    timezone: str
    weather: Weather
    year: TypicalYear | None = None
    zone_told: bool = True


def read_weather_file(
    path: str | Path, timezone: str | None = None, day: datetime.date | None = None
) -> WeatherFile:
    """Return what a weather file holds.

    The zone is for a forecast whose times have no offset. Without a day it is midsummer of a
    typical year, the fullest day of a forecast.
    """
    file = Path(path)
    text = read_file_text(path)
    kind = file_kind(text)
    if kind in FORECASTS:
        point, zone = kind == "locationforecast", timezone or "UTC"
        table = table_of(text, file.name) if point else text
        weather = parse_forecast(table, zone, day, name=file.name)
        return WeatherFile(
            name=file.name,
            kind="point forecast" if point else "forecast table",
            day=day or fullest_day(weather.start_at, zone),
            timezone=zone,
            weather=weather,
            zone_told=timezone is not None
            or not any("no offset" in note for note in weather.understood),
        )
    year = parse_typical_year(text, kind, file.name)
    day = day or MIDSUMMER
    return WeatherFile(
        name=file.name,
        kind=KIND_NAMES[kind],
        day=day,
        timezone=timezone or zone_at(year.latitude_deg, year.longitude_deg),
        weather=for_date(year, day),
        year=year,
    )


def needs_zone(found: WeatherFile) -> None:
    """Refuse a forecast whose times could be of any zone."""
    if not found.zone_told:
        raise InputError(
            f"the times of {found.name} have no offset from UTC",
            "option --timezone",
            "give the zone of the place, such as --timezone Europe/Vienna",
        )
