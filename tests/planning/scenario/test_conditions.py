"""The day by the minute keeps what the weather rows say."""

from pathlib import Path

import numpy as np
import pvlib
import pytest

import drybox
from drybox.inputs.event.event import Event, load_event
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.samples import draw, nominal

GREENSBORO = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def event(**overrides: object) -> Event:
    base = {
        "place.latitude": 36.1,
        "place.longitude": -79.95,
        "place.elevation": "270 m",
        "event.date": "2027-06-21",
    }
    return load_event(None, {**base, **overrides})


def test_hourly_rows_of_a_typical_year_keep_their_means() -> None:
    there = event(**{"weather.file": str(GREENSBORO)})
    day = conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at)
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
    day = conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at)
    lit = day.clear.ghi_w_m2 > 100
    for name, share in (("dni_w_m2", BEAM[oktas]), ("ghi_w_m2", GLOBAL[oktas])):
        ratio = getattr(day, name)[lit] / getattr(day.clear, name)[lit]
        assert ratio == pytest.approx(np.full(ratio.shape, share), abs=0.001)


def test_nothing_is_unknown_by_night_or_day() -> None:
    there = event(**{"weather.cloud": "4 oktas"})
    drawn = draw(
        conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at),
        "forecast",
        20,
        seed=3,
    )
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "air_temp_k", "humidity_frac", "cloud_frac"):
        assert np.isfinite(getattr(drawn.conditions, name)).all(), name
    assert np.isfinite(drawn.conditions.sky_temp_k).all()
    assert (drawn.conditions.dni_w_m2 >= 0).all()


def test_drawn_sun_and_shade_keep_the_share_of_sun_told() -> None:
    there = event(**{"weather.cloud": "4 oktas"})
    told = conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at)
    drawn = draw(told, "steady", 400, seed=5).conditions
    lit = told.clear.dni_w_m2 > 300
    share = told.dni_w_m2[lit] / told.clear.dni_w_m2[lit]
    seen = (drawn.dni_w_m2[:, lit] / told.clear.dni_w_m2[lit]).mean(axis=0)
    assert seen.mean() == pytest.approx(share.mean(), abs=0.04)
    mean_dhi = drawn.dhi_w_m2[:, lit].mean()
    assert mean_dhi == pytest.approx(told.dhi_w_m2[lit].mean(), rel=0.1)


def test_same_seed_same_day_and_other_seed_another() -> None:
    there = event()
    told = conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at)
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
    day = conditions(there.weather, there.place, there.day_start_at, end_at=there.day_end_at)
    hour = ((day.time_at - there.day_start_at) / 3600).round(6)
    for clock in (6.0, 9.5, 15.0):
        at = int(np.flatnonzero(hour == clock)[0])
        assert day.air_temp_k[at] - 273.15 == pytest.approx(10 + clock)


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
