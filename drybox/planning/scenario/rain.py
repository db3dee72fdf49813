"""Rain that was told: hours that dry nothing out of doors, and hours to stay by the box."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.inputs.weather.weather import Weather
from drybox.tables import load_table

HOUR_S = 3600.0
LONGEST_ROW_S = 6 * HOUR_S


@dataclass(frozen=True)
class Spell:
    """A stretch with rain about: ``stops`` where it dries nothing out of doors, else to watch.

    ``chance_frac`` and ``amount_kg_m2`` are the most of any hour in it; None where not told.
    """

    begin_at: float
    end_at: float
    stops: bool
    chance_frac: float | None
    amount_kg_m2: float | None


def rain_spells(weather: Weather, begin_at: float, end_at: float) -> tuple[Spell, ...]:
    """Return the stretches of rain between two times, in order.

    Rain of an instant is that of the time to the next row, at most six hours.

    By the hour: ``stop_amount`` or ``stop_chance`` of table ``limits`` stops what dries out of
    doors, ``watch_amount`` or ``watch_chance`` asks for a cover at hand. What was not told is
    unknown and gives no stretch.
    """
    amount, chance = weather.rain_kg_m2_s, weather.rain_frac
    if amount is None and chance is None:
        return ()
    limit = {name: row.value for name, row in load_table("limits")["rain"].items()}
    unknown = np.full(weather.start_at.shape, np.nan)
    hourly = unknown if amount is None else amount * HOUR_S
    likely = unknown if chance is None else chance
    mm = 1e-3  # of water, in metres: 1 kg/m2
    stops = (hourly >= limit["stop_amount"] / mm - 1e-9) | (likely >= limit["stop_chance"] - 1e-9)
    about = (hourly >= limit["watch_amount"] / mm - 1e-9) | (likely >= limit["watch_chance"] - 1e-9)
    ends = _ends(weather)
    rows = np.flatnonzero((about | stops) & (ends > begin_at) & (weather.start_at < end_at))
    begins, ends = np.maximum(weather.start_at, begin_at), np.minimum(ends, end_at)
    apart = (stops[rows[1:]] != stops[rows[:-1]]) | (begins[rows[1:]] > ends[rows[:-1]] + 1.0)
    return tuple(
        Spell(
            begin_at=float(begins[spell[0]]),
            end_at=float(ends[spell[-1]]),
            stops=bool(stops[spell[0]]),
            chance_frac=_most(likely[spell]),
            amount_kg_m2=_most(hourly[spell]),
        )
        for spell in np.split(rows, np.flatnonzero(apart) + 1)
        if spell.size
    )


def stopping_spells(weather: Weather, begin_at: float, end_at: float) -> tuple[Spell, ...]:
    """Return those of `rain_spells` that stop what dries out of doors."""
    return tuple(spell for spell in rain_spells(weather, begin_at, end_at) if spell.stops)


def chance_of_dry(weather: Weather, begin_at: float, end_at: float) -> float | None:
    """Return how likely it stays dry between two times; None where no chance was told. [-]

    Hours of rain come together, so that it lies between the product of all (1 - p) and the least
    of them: their geometric mean.

    >>> from drybox.inputs.weather.weather import steady_weather
    >>> weather = steady_weather({"rain_frac": 0.2}, 0.0)
    >>> round(chance_of_dry(weather, 0.0, 7200.0), 3)
    0.716
    """
    if weather.rain_frac is None:
        return None
    ends = _ends(weather)
    begins = np.maximum(weather.start_at, begin_at)
    hours = np.clip(np.minimum(ends, end_at) - begins, 0.0, None) / HOUR_S
    known = (hours > 0.0) & np.isfinite(weather.rain_frac)
    if not known.any():
        return None
    dry = 1.0 - weather.rain_frac[known]
    return float(np.sqrt(np.prod(dry ** np.maximum(hours[known], 1.0)) * dry.min()))


def wait_for_dry(times_s: Array, spells: tuple[Spell, ...]) -> Array:
    """Return times moved out of rain, to its end. [s]"""
    moved = np.array(times_s, dtype=float)
    for spell in spells:
        moved = np.where((moved >= spell.begin_at) & (moved < spell.end_at), spell.end_at, moved)
    return moved


def next_rain(times_s: Array, spells: tuple[Spell, ...]) -> Array:
    """Return when rain next begins at or after some times; infinite where it does not. [s]"""
    found = np.full(np.shape(times_s), np.inf)
    for spell in reversed(spells):
        found = np.where(np.asarray(times_s) <= spell.begin_at, spell.begin_at, found)
    return found


def _ends(weather: Weather) -> Array:
    """Return when each row's rain ends. [s]"""
    if bool(np.all(weather.end_at > weather.start_at)):
        return weather.end_at
    ends = np.append(weather.start_at[1:], np.inf)
    usual = float(np.median(np.diff(weather.start_at))) if weather.start_at.size > 1 else HOUR_S
    ends[-1] = weather.start_at[-1] + usual
    return np.asarray(np.minimum(ends, weather.start_at + LONGEST_ROW_S))


def _most(values: Array) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else None
