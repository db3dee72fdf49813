"""More sun told is a hotter plate and a sooner print, above the usual clear sky too."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.physics.clear_sky import brightest_w_m2
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.ways import DryResult
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.samples import draw
from tests.planning.hourly import hourly

LEVELS = (0.5, 0.7, 0.9, 1.0, 1.1, 1.3)
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


EQUATOR = {
    "place.coordinates": "0.2, 32.5",
    "event.date": "2027-03-20",
    "weather.cloud": "3 oktas",
}


@cache
def answers(kind: str) -> list[DryResult]:
    events = [told(share, kind) for share in LEVELS]
    return [
        dry_print(event, event.day_start_at + 12.5 * 3600.0, members=150, ways=("sun_plate",))
        for event in events
    ]


@pytest.mark.slow
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


def test_no_light_drawn_is_brighter_than_a_sky_hardly_ever_gives() -> None:
    """Extremely rare limits: Long and Dutton 2002, BSRN recommended QC tests (from memory)."""
    for event in (told(1.3), load_event(None, EQUATOR)):
        day = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
        drawn = draw(day, event.weather.kind, 200, seed=1).conditions
        ghi, dni, dhi = brightest_w_m2(day.clear.dni_extra_w_m2, day.sun.elevation_deg)
        assert (drawn.dni_w_m2 <= dni + 1e-9).all()
        assert (drawn.dhi_w_m2 <= np.maximum(dhi, day.dhi_w_m2) + 1e-9).all()
        beam = drawn.ghi_w_m2 - drawn.dhi_w_m2
        assert (drawn.ghi_w_m2 <= np.maximum(ghi, beam + day.dhi_w_m2) + 1e-9).all()


def test_one_row_with_the_sun_low_says_nothing_of_noon() -> None:
    """Through ten airmasses a little haze, or a clock half an hour off, is half the beam."""
    plain = told(0.95)
    beam = np.array(plain.weather.dni_w_m2)
    day = conditions(plain.weather, plain.place, plain.day_start_at, end_at=plain.day_end_at)
    low = int(np.flatnonzero(day.sun.elevation_deg > 2.0)[0]) // 60  # the hour after sunrise
    beam[low] *= 1.7
    odd = replace(plain, weather=replace(plain.weather, dni_w_m2=beam))
    noon = slice(11 * 60, 14 * 60)
    found = [
        draw(
            conditions(one.weather, one.place, one.day_start_at, end_at=one.day_end_at),
            one.weather.kind,
            200,
            seed=1,
        ).conditions.dni_w_m2[:, noon]
        for one in (plain, odd)
    ]
    np.testing.assert_allclose(found[1], found[0], rtol=1e-6)
