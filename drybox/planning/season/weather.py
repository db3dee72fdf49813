"""The weather of a whole year for an event: its typical year, else a clear sky."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from drybox.inputs.event.event import Event
from drybox.inputs.weather.event_weather import weather_site
from drybox.inputs.weather.weather import Weather, steady_weather
from drybox.inputs.weather.words import read_said

if TYPE_CHECKING:
    from drybox.inputs.years.typical import TypicalYear

CLEAR_NOTE = (
    "{why}, so every day is taken as {sky}: what the sun can do, not what is usual; "
    "'drybox weather fetch --typical' fetches a typical year."
)


def typical_year_of(event: Event) -> TypicalYear | None:
    """Return the typical year that an event's ``[weather]`` names, or None."""
    base = event.path.parent if event.path else Path()
    table = event.tables.get("weather")
    return weather_site(table, base, event.path.name if event.path else "")


def year_weather(event: Event, year: int) -> Weather:
    """Return the weather of a calendar year at the event's place.

    Kind ``typical_year``; or steady weather, under a clear sky where none is told, with an
    assumption that says so. What ``[weather]`` says beside the file goes before the file, all year.
    A forecast is for its own days and is not used.
    """
    table = dict(event.tables.get("weather") or {})
    said = read_said(table)
    typical = typical_year_of(event)
    if typical is not None:
        from drybox.inputs.years.typical import for_date, site_doubts

        days = (datetime.date(year + 1, 1, 1) - datetime.date(year, 1, 1)).days + 1
        first = datetime.date(year, 1, 1)
        doubts = site_doubts(typical, event.place)
        return for_date(typical, first, days=days, said=said, doubts=doubts)
    from dataclasses import replace

    weather = steady_weather({"cloud_frac": 0.0, **said}, event.day_start_s)
    forecast = "forecast" in table or "file" in table
    why = "A forecast holds for its own days only" if forecast else "No typical year was given"
    sky = weather.source.removeprefix("steady: ")
    return replace(weather, assumptions=(CLEAR_NOTE.format(why=why, sky=sky),))
