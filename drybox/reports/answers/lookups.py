"""What the two lookups say: pull at, by the clock under each sky, and by the thermometer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.one_print.lay_ons import QUARTER_S
from drybox.planning.one_print.lookups import SKIES, LayOnLookup, SkyColumn, ThermometerLookup
from drybox.planning.scenario.conditions import Conditions
from drybox.reports.text.answer import Answer, Column, Table, place_of
from drybox.units import celsius

TOLD = {
    "forecast": "forecast",
    "steady": "as told",
    "typical_year": "typical day",
    "assumed": "assumed",
}
"""What the first column is called, by the kind of weather."""

SAID = {
    "clear": "clear sun",
    "thin cloud": "thin cloud",
    "broken cloud": "broken cloud",
    "overcast": "overcast",
}


def lookups_answer(
    event: Event, lay_on: LayOnLookup, thermometer: ThermometerLookup, *, day: Conditions
) -> Answer:
    """Return both lookups as an answer of their own, for the sheet.

    The day is as told, for the sun's place and the dampness of the air by the quarter hour.
    """
    names = [TOLD[event.weather.kind], *SAID.values()]
    skies = [
        {"sky": name, "word": word, "loads": _loads(lay_on, column)}
        for name, word, column in zip(names, ("", *SKIES), lay_on.columns, strict=False)
    ]
    return Answer(
        command="lookups",
        place=place_of(event.place),
        result={
            "skies": skies,
            "thermometer": _pairs(thermometer),
            "wet_limit_c": celsius(lay_on.wet_limit_k),
            "air_temp_c": celsius(thermometer.air_temp_k),
            "wind_m_s": thermometer.wind_m_s,
            "quarters": _quarters(event, day),
        },
        lead=[],
        tables=[_pull_table(lay_on, names)],
        assumptions=[
            "Lookups by the clock: the plate faces as the turns say and has been out since the "
            "setting out; under a named sky only the light differs from the weather told. They "
            "are for one print on an otherwise empty plate.",
            "Lookup by the thermometer: steady light that settles the empty plate at the reading, "
            "so read a bare place of the plate before laying on; a reading that falls while the "
            "print lies there takes longer.",
        ],
        timezone=event.place.timezone,
    )


def _quarters(event: Event, day: Conditions) -> list[dict[str, float]]:
    """Return where the sun stands and how damp the air is, each quarter hour of the day."""
    first, last = float(day.time_at[0]), min(float(day.time_at[-1]), event.closes_at + 3600.0)
    return [
        {
            "at": float(at),
            "sun_elevation_deg": float(day.sun.elevation_deg[row]),
            "sun_azimuth_true_deg": float(day.sun.azimuth_deg[row]),
            "humidity_frac": float(day.humidity_frac[row]),
        }
        for at in np.arange(math.ceil(first / QUARTER_S) * QUARTER_S, last + 1.0, QUARTER_S)
        for row in [int(np.searchsorted(day.time_at, at).clip(0, day.time_at.size - 1))]
    ]


def _loads(lay_on: LayOnLookup, column: SkyColumn) -> list[dict[str, Any]]:
    rows = zip(lay_on.starts_s, column.duration_s, column.too_hot, strict=True)
    return [
        {
            "laid_on_at": at,
            "minutes": duration.minutes(math.inf),
            "pull_at": duration.scaled(1.0, at).record(math.inf),
            "too_hot": hot,
        }
        for at, duration, hot in rows
    ]


def _pairs(thermometer: ThermometerLookup) -> list[dict[str, Any]]:
    return [
        {
            "humidity_frac": damp,
            "plate_temp_c": celsius(reading),
            "minutes": duration.minutes(math.inf),
            "too_hot": hot,
        }
        for damp, row in zip(thermometer.dampness_frac, thermometer.duration_s, strict=True)
        for reading, duration, hot in zip(
            thermometer.readings_k, row, thermometer.too_hot, strict=True
        )
    ]


def _pull_table(lay_on: LayOnLookup, names: list[str]) -> Table:
    skies = (Column(f"sky_{n}_pull_at", name) for n, name in enumerate(names))
    rows = [
        {"laid_on_at": at}
        | {
            f"sky_{n}_pull_at": column.duration_s[row].scaled(1.0, at).record(math.inf)
            for n, column in enumerate(lay_on.columns)
        }
        for row, at in enumerate(lay_on.starts_s)
    ]
    return Table("Laid on at, pull at", (Column("laid_on_at", "Laid on"), *skies), rows)
