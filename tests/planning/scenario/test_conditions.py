"""The day by the minute keeps what the weather rows say, also where they lack something."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pvlib
import pytest

import drybox
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.weather import Weather
from drybox.physics.air import standard_atmosphere_pressure_pa
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.samples import draw, nominal
from tests.planning.hourly import hourly

GREENSBORO = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def event(**overrides: object) -> Event:
    base = {
        "place.latitude": 36.1,
        "place.longitude": -79.95,
        "place.elevation": "270 m",
        "event.date": "2027-06-21",
    }
    return load_event(None, {**base, **overrides})


def day_of(there: Event, weather: Weather | None = None) -> Conditions:
    told = weather or there.weather
    return conditions(told, there.place, there.day_start_at, end_at=there.day_end_at)


def test_hourly_rows_of_a_typical_year_keep_their_means() -> None:
    there = event(**{"weather.file": str(GREENSBORO)})
    day = day_of(there)
    weather = there.weather
    assert weather.ghi_w_m2 is not None
    checked = 0
    for start, end, ghi in zip(weather.start_at, weather.end_at, weather.ghi_w_m2, strict=True):
        inside = (day.time_at >= start) & (day.time_at < end)
        if inside.sum() == 60 and ghi > 200:
            assert day.ghi_w_m2[inside].mean() == pytest.approx(ghi, rel=0.03)
            checked += 1
    assert checked >= 6


# share of the clear sky's beam between observed sunshine (FAO Irrigation and Drainage Paper 24) and
# one year of minutes at Graz, and of its global light (Graz), by oktas
BEAM = {0: 1.0, 2: 0.69, 4: 0.50, 6: 0.25, 8: 0.01}
GLOBAL = {0: 1.0, 2: 0.88, 4: 0.75, 6: 0.60, 8: 0.30}


@pytest.mark.parametrize("oktas", list(BEAM))
def test_cloud_leaves_of_beam_and_light_what_was_measured(oktas: int) -> None:
    there = event(**{"weather.cloud": f"{oktas} oktas"})
    day = day_of(there)
    lit = day.clear.ghi_w_m2 > 100
    for name, share in (("dni_w_m2", BEAM[oktas]), ("ghi_w_m2", GLOBAL[oktas])):
        ratio = getattr(day, name)[lit] / getattr(day.clear, name)[lit]
        assert ratio == pytest.approx(np.full(ratio.shape, share), abs=0.001)


def test_nothing_is_unknown_by_night_or_day() -> None:
    there = event(**{"weather.cloud": "4 oktas"})
    drawn = draw(day_of(there), "forecast", 20, seed=3)
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "air_temp_k", "humidity_frac", "cloud_frac"):
        assert np.isfinite(getattr(drawn.conditions, name)).all(), name
    assert np.isfinite(drawn.conditions.sky_temp_k).all()
    assert (drawn.conditions.dni_w_m2 >= 0).all()


def test_drawn_sun_and_shade_keep_the_share_of_sun_told() -> None:
    there = event(**{"weather.cloud": "4 oktas"})
    told = day_of(there)
    drawn = draw(told, "steady", 400, seed=5).conditions
    lit = told.clear.dni_w_m2 > 300
    share = told.dni_w_m2[lit] / told.clear.dni_w_m2[lit]
    seen = (drawn.dni_w_m2[:, lit] / told.clear.dni_w_m2[lit]).mean(axis=0)
    assert seen.mean() == pytest.approx(share.mean(), abs=0.04)
    mean_dhi = drawn.dhi_w_m2[:, lit].mean()
    assert mean_dhi == pytest.approx(told.dhi_w_m2[lit].mean(), rel=0.1)


def test_same_seed_same_day_and_other_seed_another() -> None:
    there = event()
    told = day_of(there)
    one, same, other = (draw(told, "assumed", 10, seed=seed) for seed in (4, 4, 5))
    assert np.array_equal(one.conditions.ghi_w_m2, same.conditions.ghi_w_m2)
    assert not np.array_equal(one.conditions.ghi_w_m2, other.conditions.ghi_w_m2)
    assert np.array_equal(nominal(told).conditions.ghi_w_m2[0], told.ghi_w_m2)


def test_air_is_that_of_the_forecast_at_its_hours(tmp_path: Path) -> None:
    rows = ["time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas"]
    rows += [f"2027-06-21T{h:02d}:00,{10 + h},50,2,0" for h in range(24)]
    path = tmp_path / "forecast.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    there = event(**{"weather.forecast": str(path)})
    day = day_of(there)
    hour = ((day.time_at - there.day_start_at) / 3600).round(6)
    for clock in (6.0, 9.5, 15.0):
        at = int(np.flatnonzero(hour == clock)[0])
        assert day.air_temp_k[at] - 273.15 == pytest.approx(10 + clock)


def utc(**more: object) -> Event:
    place = {"place.latitude": 47.0, "place.longitude": 0.0, "place.timezone": "UTC"}
    return event(**place | {"place.elevation": "500 m"} | more)


def at_hour(found: Conditions, values: np.ndarray, hour: float) -> float:
    return float(np.interp(found.time_at[0] + 3600 * hour, found.time_at, values))


@pytest.mark.parametrize("lasts_s", [3600.0, 0.0])
@pytest.mark.parametrize("column", ["ghi_w_m2", "dni_w_m2"])
def test_sun_told_for_the_polar_night_lights_nothing(lasts_s: float, column: str) -> None:
    there = utc(**{"place.latitude": 80.0, "event.date": "2027-12-21"})
    told = {column: 300.0} | ({"dhi_w_m2": 50.0} if column == "dni_w_m2" else {})
    found = day_of(there, hourly(there, lasts_s, **told))
    for values in (found.ghi_w_m2, found.dni_w_m2, found.dhi_w_m2):
        assert (values == 0).all()
    assert np.isfinite(found.cloud_frac).all()


def test_instants_are_met_at_their_times() -> None:
    there = utc()
    found = day_of(there, hourly(there, 0.0, dni_w_m2=600.0, dhi_w_m2=120.0))
    for hour in (8, 12, 15):
        assert at_hour(found, found.dni_w_m2, hour) == pytest.approx(600.0, rel=1e-6)
        assert at_hour(found, found.dhi_w_m2, hour) == pytest.approx(120.0, rel=1e-6)


def test_rows_keep_their_mean_beside_a_gap_that_their_neighbours_bridge() -> None:
    there = utc()
    weather = hourly(there, ghi_w_m2=500.0)
    assert weather.ghi_w_m2 is not None
    weather.ghi_w_m2[12] = np.nan
    found = day_of(there, weather)
    hour = (found.time_at - found.time_at[0]) / 3600
    for start in (9, 10, 14, 15):
        inside = (hour >= start) & (hour < start + 1)
        assert found.ghi_w_m2[inside].mean() == pytest.approx(500.0, rel=0.02)
    assert np.isfinite(found.ghi_w_m2).all()
    assert at_hour(found, found.ghi_w_m2, 12.5) == pytest.approx(500.0, rel=0.1)


def test_cloud_told_beside_the_sun_is_kept_else_it_is_reckoned_from_the_sun() -> None:
    there = utc()
    told = day_of(there, hourly(there, ghi_w_m2=500.0, cloud_frac=0.25))
    assert np.allclose(told.cloud_frac, 0.25)
    dull, bright = (day_of(there, hourly(there, ghi_w_m2=ghi)) for ghi in (100.0, 600.0))
    assert at_hour(dull, dull.cloud_frac, 10) > at_hour(bright, bright.cloud_frac, 10)


@pytest.mark.parametrize(("said_pa", "expected_pa"), [(92_000.0, 92_000.0), (np.nan, None)])
def test_pressure_is_as_told_or_of_the_standard_air_at_that_height(
    said_pa: float, expected_pa: float | None
) -> None:
    there = utc()
    found = day_of(there, hourly(there, pressure_pa=said_pa))
    standard_pa = float(standard_atmosphere_pressure_pa(500.0))
    assert found.pressure_pa == pytest.approx(expected_pa or standard_pa)


def test_a_column_with_nothing_in_it_is_the_same_as_none_at_all() -> None:
    there = utc()
    full = hourly(there, cloud_frac=0.5, air_temp_k=290.0)
    empty = np.full(24, np.nan)
    none = day_of(there, replace(full, wind_10m_m_s=empty, humidity_frac=empty))
    assert np.isfinite(none.wind_10m_m_s).all()
    assert np.isfinite(none.humidity_frac).all()
    assert np.allclose(none.air_temp_k, 290.0)


def test_between_two_hours_there_is_no_more_sun_than_the_brighter_tells(tmp_path: Path) -> None:
    """At 18:00 the row is that of the hour before, as some services write it: the sun is at 1°."""
    told = {15: (767, 99), 16: (765, 73), 17: (642, 47), 18: (359, 9), 19: (0, 0)}
    rows = ["time,air_temp_c,humidity_pct,wind_m_s,dni_w_m2,dhi_w_m2"]
    rows += [f"2027-10-22T{h}:00,25,10,5,{beam},{sky}" for h, (beam, sky) in told.items()]
    path = tmp_path / "forecast.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    west = {"box.bearing": "255 deg", "box.tilt": "70 deg", "weather.forecast": str(path)}
    place = {"place.latitude": 18.644, "place.longitude": -98.896, "event.date": "2027-10-22"}
    there = event(**place, **west, **{"event.opens": "15:30", "event.closes": "17:55"})
    found = drybox.set_out(there, members=20)
    last = found.time_at > there.closes_at - 3300.0
    assert found.plate_irradiance_w_m2[last].max() < 642 + 2 * 47  # the beam and a bright aureole
