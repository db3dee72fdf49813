"""The weather of a day as field notes tell it, over what an event file says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.notes.note import Note
from drybox.inputs.weather.usual_air import usual_values
from drybox.inputs.weather.weather import Weather, steady_weather
from drybox.inputs.weather.wind import near_ground_share
from drybox.inputs.weather.words import sky_words
from drybox.planning.scenario.samples import weather_spreads
from drybox.tables import load_table

HAND_HEIGHT_M = 1.2
"""Where a noted wind was felt. [m]"""

WEATHER_FIELDS = {
    "air_temp_k": "air_temp",
    "humidity_frac": "humidity",
    "wind_10m_m_s": "wind_log",
    "cloud_frac": "cloud",
}
"""What is noted of the weather → its row of table ``spreads``."""

LIGHT = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")
"""Measured or forecast sun, which goes before cloud."""


def _noted(notes: Sequence[Note], event: Event) -> dict[str, list[tuple[float, float]]]:
    """Return what was noted of each weather field, with its time."""
    found: dict[str, list[tuple[float, float]]] = {}
    for note in notes:
        if note.kind != "sky":
            continue
        said = {"air_temp_k": note.temp_k, "humidity_frac": note.humidity_frac}
        said["cloud_frac"] = note.cloud_frac
        if note.sky:
            row = sky_words()[note.sky]
            if note.cloud_frac is None:
                said["cloud_frac"] = row["cloud"].value / 8
            if "linke_turbidity" in row:
                said["linke_turbidity"] = row["linke_turbidity"].value
        if note.wind_m_s is not None:
            rough = event.place.roughness_length_m
            said["wind_10m_m_s"] = note.wind_m_s / near_ground_share(HAND_HEIGHT_M, rough)
        for name, value in said.items():
            if value is not None:
                found.setdefault(name, []).append((float(note.at_s), value))
    return found


def noted_weather(
    notes: Sequence[Note], event: Event, base: Weather | None
) -> tuple[Weather, dict[str, float], bool]:
    """Return a day's weather with what was noted of it.

    Values of ``sky`` notes are joined by straight lines and held at the ends; what was not noted is
    as ``base`` tells of that very day, or else assumed. With it the standard deviation of each kind
    of shift, that of steady weather where a value was noted, and whether anything is known of the
    day.
    """
    table = load_table("spreads")
    noted = _noted(notes, event)
    fallback = base or steady_weather({}, event.day_start_at, usual_values(event.place, event.date))
    turbidity = noted.pop("linke_turbidity", None)
    midday = np.array([0.5 * (event.day_start_at + event.day_end_at)])
    known = weather_spreads(
        fallback.kind,
        midday,
        fallback.issued_at,
        usual=fallback.usual,
        latitude_deg=event.place.latitude_deg,
    )
    spread = {name: float(np.mean(value)) for name, value in known.items()}
    if not noted and turbidity is None:
        return fallback, spread, base is not None
    times = np.unique(
        np.concatenate(
            [
                np.arange(event.day_start_at, event.day_end_at + 1.0, 3600.0),
                [at for column in noted.values() for at, _ in column],
            ]
        )
    )
    columns: dict[str, Any] = {}
    for name, of_usual in (("humidity_frac", "dew_point"), ("air_temp_k", "dew_air")):
        if name in noted:
            spread.pop(of_usual, None)
    for name, short in WEATHER_FIELDS.items():
        if name in noted:
            at, value = (np.array(part) for part in zip(*noted[name], strict=True))
            order = np.argsort(at, kind="stable")
            columns[name] = np.interp(times, at[order], value[order])
            spread[short] = table["steady"][short].value
        else:
            columns[name] = _carried(fallback, name, times)
    haze = fallback.linke_turbidity
    if turbidity:
        spread["beam_log"] = table["steady"]["beam_log"].value
        haze = float(np.mean([value for _, value in turbidity]))
    light = [name for name in LIGHT if getattr(fallback, name) is not None]
    if light and "cloud_frac" not in noted:
        del columns["cloud_frac"]
        columns |= {name: _carried(fallback, name, times) for name in light}
    weather = Weather(
        kind="steady",
        start_at=times,
        end_at=times,
        source="as noted",
        linke_turbidity=haze,
        **columns,
    )
    return weather, spread, True


def _carried(weather: Weather, name: str, times: Array) -> Array:
    """Return a column of the weather told, at other times."""
    values = getattr(weather, name)
    if values is None or not np.isfinite(values).any():
        return np.zeros(times.shape)
    known = np.isfinite(values)
    return np.asarray(np.interp(times, weather.mid_at[known], values[known]))
