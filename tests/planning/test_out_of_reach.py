"""Readings no sun can bring about, washes that never end, and a tour that is broken off."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.event.tour import Stop
from drybox.planning.calibration.fit import fit
from drybox.planning.one_print.lookups import thermometer_lookup
from drybox.planning.scenario.conditions import conditions
from drybox.planning.season.tour import tour
from drybox.planning.wet.wash import plan_wash
from tests.planning.calibration.test_fit import Curve
from tests.planning.wet.test_wash import setup


def test_in_a_gale_of_deep_frost_no_reading_of_the_thermometer_is_reached() -> None:
    there = load_event(
        None,
        {
            "place.latitude": 47.2,
            "place.longitude": 12.3,
            "event.date": "2027-01-12",
            "weather.sky": "clear",
            "weather.air_temp": "-40 °C",
            "weather.wind": "40 m/s",
        },
    )
    day = conditions(there.weather, there.place, there.opens_at, end_at=there.closes_at)
    found = thermometer_lookup(there, day, members=20)
    assert found.readings_k == found.too_hot == ()
    assert all(row == () for row in found.duration_s)


def test_a_rewash_that_never_meets_its_aim_ends_at_twice_the_longest_wash() -> None:
    slow = setup(target="0.0002 g/m2", bound_time_constant="20 h", bound_share="40 %")
    plan = plan_wash(slow)
    assert not plan.reached
    assert plan.rewash_soak_s == 2 * slow.rules.home_change_s
    assert plan.rewash_changes * plan.rewash_soak_s == 2 * slow.rules.longest_wash_s


@pytest.mark.slow
def test_a_tour_that_is_broken_off_ends_at_once(tmp_path: Path) -> None:
    nowhere = [Stop(name, None, tmp_path / "no.toml", {}, name) for name in "ab"]

    def broken_off() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        tour(nowhere, tick=broken_off, workers=2)


def test_a_fit_that_leads_ever_further_ends_all_the_same() -> None:
    model = Curve(np.ones(40), 0.0, 0.1, 0.0)
    found = fit(model, np.full(40, 50.0), np.zeros(40, dtype=np.intp), start=np.zeros(1))
    assert 5.0 < found.unknowns[0] < 50.0
    assert np.isfinite(found.draws).all()
