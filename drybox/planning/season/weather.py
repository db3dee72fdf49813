"""The weather of a whole year for an event: its typical year, else a clear sky."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Place
from drybox.inputs.weather.event_weather import weather_site
from drybox.inputs.weather.usual_air import usual_values
from drybox.inputs.weather.weather import SERIES, Weather, steady_weather
from drybox.inputs.weather.wind import plate_wind_frac
from drybox.inputs.weather.words import read_said, say
from drybox.readable import MetricText

if TYPE_CHECKING:
    from drybox.inputs.years.typical import TypicalYear

CLEAR_NOTE = (
    ": what the sun can do, not what is usual; "
    "'drybox weather fetch --typical' fetches a typical year."
)


def typical_year_of(event: Event) -> TypicalYear | None:
    """Return the typical year that an event's ``[weather]`` names, or None."""
    base = event.path.parent if event.path else Path()
    table = event.tables.get("weather")
    return weather_site(table, base)


def year_weather(event: Event) -> Weather:
    """Return the weather of the calendar year of an event's date, at its place.

    Kind ``typical_year``; or steady weather, under a clear sky where none is told, with an
    assumption that says so. What ``[weather]`` says beside the file goes before the file, all year.
    A forecast is for its own days and is not used.
    """
    table = dict(event.tables.get("weather") or {})
    place, first = event.place, datetime.date(event.date.year, 1, 1)
    reaches = plate_wind_frac(event.box.wind_shelter_frac, place.roughness_length_m)
    said = read_said(table, reaches)
    typical = typical_year_of(event)
    if typical is not None:
        from drybox.inputs.years.typical import for_date, site_doubts

        days = (datetime.date(first.year + 1, 1, 1) - first).days + 1
        return for_date(typical, first, days=days, said=said, doubts=site_doubts(typical, place))
    forecast = "forecast" in table or "file" in table
    why = "A forecast holds for its own days only" if forecast else "No typical year was given"
    return _clear_year(place, said, first, why=why)


def _clear_year(
    place: Place, said: Mapping[str, float], first: datetime.date, *, why: str
) -> Weather:
    """Return what was said, the same all year, under the usual air of each day."""
    days = [first + datetime.timedelta(days=k) for k in range(-1, 367)]
    usual = [usual_values(place, day) for day in days]
    opens = datetime.datetime.combine(first, datetime.time(), ZoneInfo(place.timezone))
    steady = steady_weather({"cloud_frac": 0.0, **said}, opens.timestamp(), usual[0])
    midnights = opens.timestamp() + 86400.0 * np.arange(-1.0, 367.0)
    columns: dict[str, Any] = {
        name: np.full(midnights.size, column[0])
        for name in SERIES
        if (column := getattr(steady, name)) is not None
    }
    columns |= {name: np.array([day.values[name] for day in usual]) for name in steady.usual}
    sky = MetricText(
        say({"cloud_frac": 0.0, **said}), ", in the air that is usual on it" if steady.usual else ""
    )
    return replace(
        steady,
        start_at=midnights,
        end_at=midnights + 86400.0,
        source=MetricText("steady: ", sky),
        assumptions=(MetricText(f"{why}, so every day is taken as ", sky, CLEAR_NOTE),),
        **columns,
    )
