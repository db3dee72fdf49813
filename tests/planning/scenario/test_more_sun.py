"""More sun told is a hotter plate and a sooner print, above the usual clear sky too."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.ways import DryResult
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.samples import draw
from tests.planning.hourly import hourly

LEVELS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3)
"""Beam told over that of the clear sky."""


def told(share: float, kind: str = "forecast", dni_w_m2: float | None = None) -> Event:
    """Return a day of hourly irradiance with so much of the clear sky's beam, facing the sun."""
    event = load_event(
        None,
        {
            "place.latitude": 40.0,
            "place.longitude": -105.0,
            "place.elevation": "1600 m",
            "event.date": "2027-06-21",
            "weather.cloud": "0 oktas",
            "drying.hold_below": "190 degC",
        },
    )
    clear = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
    hour = (
        clear.time_at[:-1].reshape(24, 60).mean(axis=1),
        clear.clear.dni_w_m2[:-1].reshape(24, 60),
    )
    weather = hourly(event, air_temp_k=293.15, humidity_frac=0.35, wind_10m_m_s=3.0, dhi_w_m2=100.0)
    beam = np.full(24, dni_w_m2) if dni_w_m2 is not None else share * hour[1].mean(axis=1)
    return replace(event, weather=replace(weather, kind=kind, dni_w_m2=beam))


@cache
def answers(kind: str) -> list[DryResult]:
    events = [told(share, kind) for share in LEVELS]
    return [
        dry_print(event, event.day_start_at + 12.5 * 3600.0, members=150, ways=("sun_plate",))
        for event in events
    ]


@pytest.mark.parametrize("kind", ["forecast", "measured"])
def test_more_sun_told_is_a_hotter_plate_and_a_sooner_print_at_every_level(kind: str) -> None:
    warm = [answer.plate_temp_at_start_k.p50 for answer in answers(kind)]
    dry = [answer.ways[0].duration_s.p50 for answer in answers(kind)]
    assert all(np.diff(warm) > 0.0)
    assert all(np.diff(dry) < 0.0)


@pytest.mark.parametrize("dni_w_m2", [808.0, 937.0, 984.0])
def test_the_beam_drawn_is_on_the_average_that_told(dni_w_m2: float) -> None:
    event = told(1.0, dni_w_m2=dni_w_m2)
    noon = event.day_start_at + 12 * 3600.0
    day = conditions(event.weather, event.place, noon - 7200.0, end_at=noon + 7200.0)
    drawn = draw(day, "forecast", 400, seed=1).conditions
    assert drawn.dni_w_m2.mean() == pytest.approx(dni_w_m2, rel=0.02)


def test_no_beam_is_stronger_than_outside_the_air() -> None:
    event = told(1.3)
    day = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
    drawn = draw(day, "forecast", 200, seed=1).conditions
    assert (drawn.dni_w_m2 <= day.clear.dni_extra_w_m2).all()
