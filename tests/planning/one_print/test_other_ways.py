"""Warm air, warm plates, batteries and paper that is warmer than it may be."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.inputs.event.box import PoweredDrier
from drybox.inputs.event.event import Event, load_event
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.series import told_series
from drybox.planning.one_print.ways import DryResult, WayResult
from drybox.planning.scenario.outside import warm_air_temp_k
from drybox.reports.answers.dry import why_not_said

SAID = {
    "place.latitude": 47.2,
    "place.longitude": 12.3,
    "place.timezone": "Europe/Vienna",
    "event.date": "2027-06-12",
    "weather.sky": "clear",
    "weather.air_temp": "20 °C",
    "weather.humidity": "60 %",
}
AIR = {"powered.air_power": "900 W", "powered.air_temp": "40 °C"}
PLATE = {"powered.plate_power": "150 W", "powered.plate_temp": "45 °C"}


def event(**told: object) -> Event:
    return load_event(None, SAID | told)


def dried(way: str, **told: object) -> tuple[Event, DryResult, WayResult]:
    there = event(**told)
    found = dry_print(there, there.opens_at + 7200, members=20, ways=(way,))
    return there, found, found.ways[0]


def test_blown_air_is_warmer_by_its_power_and_never_past_its_thermostat() -> None:
    outside = np.array([278.0, 293.0, 320.0])
    slow, fast, held = (
        warm_air_temp_k(outside, PoweredDrier(0.0, None, 300.0, most, speed, None))
        for speed, most in ((1.0, 400.0), (2.0, 400.0), (1.0, 294.0))
    )
    assert (slow > outside).all()
    # the same power in twice the air warms it half as far
    assert slow - outside == pytest.approx(2 * (fast - outside))
    assert (held <= np.maximum(294.0, outside)).all()
    assert (held >= outside).all()


def test_warm_air_dries_sooner_than_the_air_outside_and_takes_its_power() -> None:
    _, _, warm = dried("warm_air", **AIR)
    _, _, shade = dried("screen_shade", **AIR)
    assert warm.duration_s.p50 is not None
    assert shade.duration_s.p50 is not None
    assert warm.duration_s.p50 < shade.duration_s.p50
    assert warm.energy_j == pytest.approx(900.0 * warm.duration_s.p50, rel=0.1)
    assert shade.energy_j == 0.0


@pytest.mark.parametrize(("way", "drier"), [("warm_air", AIR), ("warm_plate", PLATE)])
def test_a_battery_that_is_too_small_rules_a_way_out(way: str, drier: dict[str, str]) -> None:
    _, _, enough = dried(way, **drier, **{"powered.battery": "5 kWh"})
    assert enough.feasible
    _, found, short = dried(way, **drier, **{"powered.battery": "1 Wh"})
    assert not short.feasible
    assert "and the battery holds 1 Wh" in why_not_said(short)
    assert found.choice is None


def test_a_dry_print_over_its_own_limit_is_said_to_be_the_print() -> None:
    limits = {"drying.print_most": "40 °C", "drying.wet_most": "70 °C"}
    _, _, plate = dried("sun_plate", **limits)
    assert plate.too_hot
    assert why_not_said(plate).startswith("the print would be kept at")
    assert "over its limit (70 °C wet, 40 °C dry)" in why_not_said(plate)


@pytest.mark.parametrize(
    ("way", "drier"),
    [("warm_plate", PLATE), ("warm_air", AIR), ("sun_plate", {})],
)
def test_the_curve_of_one_way_has_that_way_s_print_alone(way: str, drier: dict[str, str]) -> None:
    there, found, _ = dried(way, **drier)
    _, columns = told_series(there, found)
    prints = {name for name in columns if name.endswith("_moisture_g_m2")}
    assert prints == {f"{way}_moisture_g_m2"}
    water = columns[f"{way}_moisture_g_m2"]
    water = water[np.isfinite(water)]
    assert water[0] > water[-1] > 0
    assert ("plate_temp_c" in columns) == (way == "sun_plate")


def test_the_way_chosen_is_the_one_drawn_beside_the_plate() -> None:
    damp = event(**AIR, **{"weather.sky": "overcast"})
    found = dry_print(
        damp, damp.opens_at + 3600, members=20, ways=("sun_plate", "screen_shade", "warm_air")
    )
    assert found.choice is not None
    assert found.choice.way == "warm_air"
    _, columns = told_series(damp, found)
    assert "warm_air_moisture_g_m2" in columns
    assert "screen_shade_moisture_g_m2" not in columns
