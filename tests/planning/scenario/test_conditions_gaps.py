"""The day by the minute, from weather that lacks something or comes as instants."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.weather import Weather
from drybox.physics.air import standard_atmosphere_pressure_pa
from drybox.planning.scenario.conditions import Conditions, conditions
from tests.planning.hourly import hourly


def event(latitude: float = 47.0, date: str = "2027-06-21") -> Event:
    place = {"place.latitude": latitude, "place.longitude": 0.0, "place.timezone": "UTC"}
    return load_event(None, {**place, "place.elevation": "500 m", "event.date": date})


def day(there: Event, weather: Weather) -> Conditions:
    return conditions(weather, there.place, there.day_start_at, end_at=there.day_end_at)


def at_hour(found: Conditions, values: np.ndarray, hour: float) -> float:
    return float(np.interp(found.time_at[0] + 3600 * hour, found.time_at, values))


@pytest.mark.parametrize("lasts_s", [3600.0, 0.0])
@pytest.mark.parametrize("column", ["ghi_w_m2", "dni_w_m2"])
def test_sun_told_for_the_polar_night_lights_nothing(lasts_s: float, column: str) -> None:
    there = event(80.0, "2027-12-21")
    told = {column: 300.0} | ({"dhi_w_m2": 50.0} if column == "dni_w_m2" else {})
    found = day(there, hourly(there, lasts_s, **told))
    for values in (found.ghi_w_m2, found.dni_w_m2, found.dhi_w_m2):
        assert (values == 0).all()
    assert np.isfinite(found.cloud_frac).all()


def test_instants_are_met_at_their_times() -> None:
    there = event()
    found = day(there, hourly(there, 0.0, dni_w_m2=600.0, dhi_w_m2=120.0))
    for hour in (8, 12, 15):
        assert at_hour(found, found.dni_w_m2, hour) == pytest.approx(600.0, rel=1e-6)
        assert at_hour(found, found.dhi_w_m2, hour) == pytest.approx(120.0, rel=1e-6)


def test_rows_keep_their_mean_beside_a_gap_that_their_neighbours_bridge() -> None:
    there = event()
    weather = hourly(there, ghi_w_m2=500.0)
    assert weather.ghi_w_m2 is not None
    weather.ghi_w_m2[12] = np.nan
    found = day(there, weather)
    hour = (found.time_at - found.time_at[0]) / 3600
    for start in (9, 10, 14, 15):
        inside = (hour >= start) & (hour < start + 1)
        assert found.ghi_w_m2[inside].mean() == pytest.approx(500.0, rel=0.02)
    assert np.isfinite(found.ghi_w_m2).all()
    assert at_hour(found, found.ghi_w_m2, 12.5) == pytest.approx(500.0, rel=0.1)


def test_cloud_told_beside_the_sun_is_kept_else_it_is_reckoned_from_the_sun() -> None:
    there = event()
    told = day(there, hourly(there, ghi_w_m2=500.0, cloud_frac=0.25))
    assert np.allclose(told.cloud_frac, 0.25)
    dull, bright = (day(there, hourly(there, ghi_w_m2=ghi)) for ghi in (100.0, 600.0))
    assert at_hour(dull, dull.cloud_frac, 10) > at_hour(bright, bright.cloud_frac, 10)


@pytest.mark.parametrize(("said_pa", "expected_pa"), [(92_000.0, 92_000.0), (np.nan, None)])
def test_pressure_is_as_told_or_of_the_standard_air_at_that_height(
    said_pa: float, expected_pa: float | None
) -> None:
    there = event()
    found = day(there, hourly(there, pressure_pa=said_pa))
    standard_pa = float(standard_atmosphere_pressure_pa(500.0))
    assert found.pressure_pa == pytest.approx(expected_pa or standard_pa)


def test_a_column_with_nothing_in_it_is_the_same_as_none_at_all() -> None:
    there = event()
    full = hourly(there, cloud_frac=0.5, air_temp_k=290.0)
    empty = np.full(24, np.nan)
    none = day(there, replace(full, wind_10m_m_s=empty, humidity_frac=empty))
    assert np.isfinite(none.wind_10m_m_s).all()
    assert np.isfinite(none.humidity_frac).all()
    assert np.allclose(none.air_temp_k, 290.0)
