"""One day of a weather file hour by hour, with the sun that reaches the ground."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np

from drybox.inputs.event.place import Place
from drybox.inputs.text.dates import day_bounds_s
from drybox.inputs.weather.weather import Weather
from drybox.planning.scenario.conditions import conditions


def day_hours(weather: Weather, place: Place, day: date) -> list[Mapping[str, float]]:
    """Return means over each hour of a local day.

    ``at`` (the hour's start), ``air_temp_c``, ``humidity_frac``, ``wind_m_s``, ``cloud_frac``,
    ``ghi_w_m2`` and ``clear_ghi_w_m2``; the weather must reach the day.
    """
    from_at, until_at = day_bounds_s(day, ZoneInfo(place.timezone))
    hours = np.arange(from_at, until_at - 1.0, 3600.0)
    table = conditions(weather, place, from_at, end_at=until_at)
    which = np.searchsorted(hours, table.time_at, side="right") - 1
    count = np.bincount(which, minlength=hours.size)

    def mean(values: np.ndarray) -> np.ndarray:
        return np.bincount(which, values, minlength=hours.size) / count

    columns = {
        "at": hours,
        "air_temp_c": mean(table.air_temp_k) - 273.15,
        "humidity_frac": mean(table.humidity_frac),
        "wind_m_s": mean(table.wind_10m_m_s),
        "cloud_frac": mean(table.cloud_frac),
        "ghi_w_m2": mean(table.ghi_w_m2),
        "clear_ghi_w_m2": mean(table.clear.ghi_w_m2),
    }
    return [
        {name: float(column[row]) for name, column in columns.items()} for row in range(hours.size)
    ]
