"""Invented weather that says the same at every hour of a day."""

from __future__ import annotations

import numpy as np

from drybox.inputs.event.event import Event
from drybox.inputs.weather.weather import Weather, series_weather


def hourly(event: Event, lasts_s: float = 3600.0, **columns: float) -> Weather:
    """Return a forecast of the event's day; rows that last no time are instants."""
    start = event.day_start_at + 3600.0 * np.arange(24)
    told = {name: np.full(24, value) for name, value in columns.items()}
    return series_weather(
        "forecast", start, start + lasts_s, columns=told, said={}, source="invented"
    )
