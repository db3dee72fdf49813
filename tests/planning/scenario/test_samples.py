from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.samples import draw, weather_spreads
from drybox.tables import load_table

DAY_S = 86400.0
OPENS_S = 1812787200.0  # 2027-06-12 08:00 UTC


def day_of(issued: str) -> Conditions:
    place = load_event(
        None, {"place.latitude": 47.0, "place.longitude": 13.0, "event.date": "2027-06-12"}
    ).place
    head = f"# issued {issued}\n" if issued else ""
    text = (
        head
        + "time,temp_c,cloud_pct,wind_m_s,humidity_pct\n"
        + "".join(f"2027-06-12T{hour:02d}:00Z,20,40,2,50\n" for hour in range(4, 20))
    )
    weather = parse_forecast(text, "UTC", date(2027, 6, 12))
    return conditions(weather, place, OPENS_S, OPENS_S + 4 * 3600.0)


def test_without_an_issue_time_the_spread_is_that_of_one_day_ahead() -> None:
    told = {name: row.value for name, row in load_table("spreads")["forecast"].items()}
    assert weather_spreads("forecast", np.array([OPENS_S])) == told
    a_day_old = weather_spreads("forecast", np.array([OPENS_S]), OPENS_S - DAY_S)
    assert {name: float(np.ravel(value)[0]) for name, value in a_day_old.items()} == told


def test_spreads_grow_with_lead_time_by_the_table_and_no_further() -> None:
    times = OPENS_S + DAY_S * np.array([-1.0, 0.0, 1.0, 2.0, 3.0, 10.0, 30.0])
    told, rows = load_table("spreads")["forecast"], load_table("lead_times")
    found = weather_spreads("forecast", times, OPENS_S)
    for name, factors in rows.items():
        grown = np.asarray(found[name]) / told[name].value
        assert np.all(np.diff(grown) >= 0)
        last = list(factors)[-1]
        assert grown[[0, 1, 2, 4, 5, 6]] == pytest.approx(
            [factors[day].value for day in ("day_0", "day_0", "day_1", "day_3", last, last)]
        )
        assert grown[3] == pytest.approx((factors["day_1"].value + factors["day_3"].value) / 2)
    assert found["beam_log"] == told["beam_log"].value


def test_other_weather_has_no_lead_time() -> None:
    for kind in ("assumed", "steady", "typical_year"):
        told = {name: row.value for name, row in load_table("spreads")[kind].items()}
        assert weather_spreads(kind, np.array([OPENS_S]), OPENS_S - 9 * DAY_S) == told


def test_an_old_forecast_draws_wider_days() -> None:
    fresh, old, plain = (
        draw(day_of(issued), "forecast", 300, 5)
        for issued in ("2027-06-12T05:00Z", "2027-06-04T05:00Z", "")
    )
    spread = [one.conditions.air_temp_k[:, -1].std() for one in (fresh, plain, old)]
    assert spread[0] < spread[1] < spread[2]
    told = load_table("spreads")["forecast"]["air_temp"].value
    assert spread[1] == pytest.approx(told, rel=0.02)
    sun = [one.conditions.dni_w_m2.mean(axis=1).std() for one in (fresh, plain, old)]
    assert sun[0] < sun[1] < sun[2]
