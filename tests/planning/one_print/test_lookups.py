"""The two lookups: ordered as physics orders them, and one with the other commands."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.physics.simulation.run import run_empty
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.lay_ons import lay_ons, quarter_hours
from drybox.planning.one_print.lookups import (
    READINGS_K,
    SKIES,
    LayOnLookup,
    ThermometerLookup,
    _Held,
    lay_on_lookup,
    thermometer_lookup,
)
from drybox.planning.one_print.sheet_day import plan_sheet_day
from drybox.planning.scenario.both_skies import under_sky
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.samples import draw

SAID = {
    "place.latitude": 47.2,
    "place.longitude": 12.3,
    "event.date": "2027-06-12",
    "event.opens": "12:00",
    "event.closes": "14:00",
    "weather.sky": "clear",
    "weather.air_temp": "22 °C",
    "weather.humidity": "50 %",
    "weather.wind": "2 m/s",
}


@pytest.fixture(scope="module")
def event() -> Event:
    return load_event(None, SAID)


@pytest.fixture(scope="module")
def day(event: Event) -> Conditions:
    return conditions(
        event.weather, event.place, event.opens_at - 3600, end_at=event.closes_at + 4 * 3600
    )


@pytest.fixture(scope="module")
def aims(day: Conditions) -> tuple[np.ndarray, np.ndarray]:
    return np.full(day.time_at.shape, 180.0), np.full(day.time_at.shape, 5.0)


@pytest.fixture(scope="module")
def lay_on(event: Event, day: Conditions, aims: tuple[np.ndarray, np.ndarray]) -> LayOnLookup:
    return lay_on_lookup(
        event, day, aim_deg=aims, from_at=event.opens_at, members=20, told_members=20
    )


@pytest.fixture(scope="module")
def thermometer(event: Event, day: Conditions) -> ThermometerLookup:
    return thermometer_lookup(event, day, members=20)


def likely(value: float | None) -> float:
    return math.inf if value is None else value


def test_every_quarter_hour_stands_under_every_sky(event: Event, lay_on: LayOnLookup) -> None:
    assert lay_on.starts_s == tuple(event.opens_at + 900.0 * n for n in range(9))
    assert [column.sky for column in lay_on.columns] == ["told", *SKIES]
    assert all(len(column.duration_s) == 9 for column in lay_on.columns)


def test_more_cloud_never_dries_a_print_sooner(lay_on: LayOnLookup) -> None:
    by_sky = {column.sky: column for column in lay_on.columns}
    for first, second in pairwise(SKIES):
        for bright, dull in zip(by_sky[first].duration_s, by_sky[second].duration_s, strict=True):
            assert likely(dull.p90) >= likely(bright.p90) - 30.0
    for clear, overcast in zip(
        by_sky["clear"].duration_s, by_sky["overcast"].duration_s, strict=True
    ):
        assert likely(overcast.p50) > 2 * likely(clear.p50)


def test_a_clear_day_told_is_the_column_of_clear_sun(lay_on: LayOnLookup) -> None:
    assert lay_on.columns[0].duration_s == lay_on.columns[1].duration_s


def test_the_same_seed_gives_the_same_lookup(
    event: Event, day: Conditions, aims: tuple[np.ndarray, np.ndarray], lay_on: LayOnLookup
) -> None:
    again = lay_on_lookup(
        event, day, aim_deg=aims, from_at=event.opens_at, members=20, told_members=20
    )
    assert again == lay_on


def test_coarse_steps_move_a_time_by_under_a_hundredth(
    event: Event, day: Conditions, aims: tuple[np.ndarray, np.ndarray]
) -> None:
    weather = under_sky(event.weather, "overcast")
    dull = conditions(weather, event.place, float(day.time_at[0]), end_at=float(day.time_at[-1]))
    starts = quarter_hours(event, dull, event.opens_at)[::4]
    drawn = draw(dull, "steady", 20, seed=1)
    fine, coarse = (
        lay_ons(event, dull, [drawn], aim_deg=aims, starts_s=starts, coarse=steps)[0].dry_after_s
        for steps in (False, True)
    )
    both = np.isfinite(fine) & np.isfinite(coarse)
    assert both.mean() > 0.8
    np.testing.assert_allclose(coarse[both], fine[both], rtol=0.01)


def test_another_sky_keeps_air_and_wind(event: Event) -> None:
    dull = under_sky(event.weather, "overcast")
    np.testing.assert_array_equal(dull.air_temp_k, event.weather.air_temp_k)
    np.testing.assert_array_equal(dull.wind_10m_m_s, event.weather.wind_10m_m_s)
    assert dull.cloud_frac is not None
    assert (dull.cloud_frac == 1.0).all()


def test_a_hotter_plate_and_drier_air_dry_sooner(thermometer: ThermometerLookup) -> None:
    times = np.array([[likely(cell.p50) for cell in row] for row in thermometer.duration_s])
    with np.errstate(invalid="ignore"):
        hotter, damper = np.diff(times, axis=1), np.diff(times, axis=0)
    assert (hotter[~np.isnan(hotter)] < 0).all()
    assert (damper[~np.isnan(damper)] > -1.0).all()
    assert list(thermometer.too_hot) == sorted(thermometer.too_hot)


def test_each_light_holds_the_empty_plate_at_its_reading(event: Event) -> None:
    held = _Held(101325.0, 295.15, 0.8, 283.0)
    system = box_system(event.box, event.paper)
    light = held.light_for(system, READINGS_K)
    known = np.isfinite(light)
    assert known.sum() >= 6
    assert (np.diff(light[known]) > 0).all()
    forcing = held.forcing(light[known], np.full(known.sum(), 0.5))
    which = np.arange(known.sum())
    _, temps, _ = run_empty(
        system, forcing, which, start_at=np.zeros(known.sum()), horizon_s=3 * 3600.0, step_s=60.0
    )
    np.testing.assert_allclose(temps[-1], READINGS_K[known], atol=0.2)


def test_the_thermometer_agrees_with_the_day_it_is_read_on(
    event: Event, thermometer: ThermometerLookup
) -> None:
    """Two ways to one number: read the plate of a drawn day, or dry a print on that day."""
    noon = event.opens_at + 3600.0
    result = dry_print(event, noon, members=60, ways=("sun_plate",))
    (way,) = result.ways
    assert result.plate_temp_at_start_k is not None
    reading = result.plate_temp_at_start_k.p50
    assert reading is not None
    row = thermometer.duration_s[thermometer.dampness_frac.index(0.5)]
    read_off = np.interp(reading, thermometer.readings_k, [likely(cell.p50) for cell in row])
    assert way.duration_s.p50 == pytest.approx(read_off, rel=0.2)


def test_readings_out_of_reach_are_left_out(event: Event, day: Conditions) -> None:
    cold = replace(day, air_temp_k=np.full(day.time_at.shape, 248.15))
    windy = replace(cold, wind_10m_m_s=np.full(day.time_at.shape, 15.0))
    found = thermometer_lookup(event, windy, members=5)
    assert len(found.readings_k) < READINGS_K.size
    assert all(len(row) == len(found.readings_k) for row in found.duration_s)


def test_the_sheet_shares_one_aim_and_counts_its_steps(event: Event) -> None:
    ticks: list[int] = []
    day = plan_sheet_day(event, event.opens_at, tick=lambda: ticks.append(1))
    assert len(ticks) == 4
    assert day.set_out.aim == day.aim.plan
    told = day.lay_on.columns[0]
    assert not any(told.too_hot)


def test_sheet_and_dry_say_the_same_minute() -> None:
    """Through the front doors; between quarter hours the sheet reads between its rows."""
    from drybox import api, details

    there = load_event(None, {**SAID, "event.closes": "12:30"})
    rows = details.sheet_day(there, there.opens_at).lay_on
    for minute in (0, 20, 45):
        at = there.opens_at + 60.0 * minute
        (found,) = api.dry(there, at, ways=("sun_plate",)).ways
        for name in ("p10", "p50", "p90"):
            durations = [getattr(row, name) for row in rows.columns[0].duration_s]
            read = float(np.interp(at, rows.starts_s, durations))
            assert read == pytest.approx(getattr(found.duration_s, name), abs=60.0), (minute, name)
