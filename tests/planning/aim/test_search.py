"""Aim: found by search on the plate's irradiance, with no rule by latitude."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.event.place import Obstacle
from drybox.physics.simulation.run import run_empty
from drybox.planning.aim.event_aim import plan_event_aim
from drybox.planning.aim.hold import held_search
from drybox.planning.aim.search import (
    AimSearch,
    Turn,
    TurnRule,
    axes_apart_deg,
    plan_aim,
)
from drybox.planning.aim.sighting import peg_shadow, prop_height_m
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.set_out import plan_set_out
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import nominal


def clear_event(latitude: float, date: str = "2027-06-21", **more: object) -> Event:
    overrides = {"place.latitude": latitude, "place.longitude": 0.0, "place.timezone": "UTC"}
    return load_event(None, {**overrides, "event.date": date, "weather.sky": "clear", **more})


def search(event: Event) -> AimSearch:
    day = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
    return AimSearch(day, event.place, event.box)


def around_noon(event: Event, hours: float = 0.5) -> tuple[float, float]:
    noon = event.day_start_at + 12 * 3600.0
    return noon - hours * 3600, noon + hours * 3600


def bearing_gap_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


@pytest.mark.parametrize(
    ("latitude", "date", "bearing"),
    [(50.0, "2027-06-21", 180.0), (-35.0, "2027-06-21", 0.0), (10.0, "2027-06-21", 0.0)],
)
def test_at_noon_the_box_faces_the_sun_in_both_hemispheres_and_the_tropics(
    latitude: float, date: str, bearing: float
) -> None:
    event = clear_event(latitude, date)
    plan = plan_aim(search(event), *around_noon(event, 0.1), rule=TurnRule(0.95))
    assert bearing_gap_deg(plan.single.bearing_deg, bearing) < 10
    noon = search(event).day
    high = float(noon.sun.elevation_deg.max())
    assert plan.single.tilt_deg == pytest.approx(90 - high, abs=6)


def test_turning_keeps_at_least_the_share_asked_with_no_turn_to_spare() -> None:
    event = clear_event(47.0)
    day = search(event)
    hours = around_noon(event, 5.0)
    for share in (0.80, 0.95, 0.985):
        plan = plan_aim(day, *hours, rule=TurnRule(share))
        assert plan.turns_kept_frac >= share - 0.002
        assert plan.kept_frac <= plan.turns_kept_frac + 0.002 <= 1.002
    counts = [
        len(plan_aim(day, *hours, rule=TurnRule(share)).turns) for share in (0.7, 0.95, 0.985)
    ]
    assert counts == sorted(counts)
    assert counts[0] == 1


def test_turns_follow_each_other_through_the_whole_stretch() -> None:
    event = clear_event(47.0)
    first, last = around_noon(event, 4.0)
    turns = plan_aim(search(event), first, last, rule=TurnRule(0.97)).turns
    assert (turns[0].from_at, turns[-1].until_at) == (first, last)
    for turn, following in pairwise(turns):
        assert turn.until_at == following.from_at


def test_a_wall_in_the_west_turns_the_best_single_aim_to_the_east() -> None:
    event = clear_event(47.0)
    wall = Obstacle("wall", 190.0, 300.0, 80.0)
    walled = replace(event, place=replace(event.place, obstacles=(wall,)))
    hours = around_noon(event, 4.0)
    free = plan_aim(search(event), *hours, rule=TurnRule(0.95)).single
    beside = plan_aim(search(walled), *hours, rule=TurnRule(0.95)).single
    assert 60 < beside.bearing_deg < free.bearing_deg - 15
    assert beside.mean_irradiance_w_m2 < free.mean_irradiance_w_m2


def test_polar_night_has_no_aim() -> None:
    event = clear_event(78.0, "2027-12-21")
    with pytest.raises(NoAnswerError, match="no daylight"):
        plan_aim(search(event), *around_noon(event, 3.0), rule=TurnRule(0.95))


def test_southern_mirror_gives_the_mirrored_aim() -> None:
    # equal and opposite declination: the two equinoxes, haze stated so that it is the same
    north = clear_event(40.0, "2027-03-20", **{"weather.haze": "3"})
    south = clear_event(-40.0, "2027-03-20", **{"weather.haze": "3"})
    one, other = (
        plan_aim(search(e), *around_noon(e, 2.0), rule=TurnRule(0.95)).single
        for e in (north, south)
    )
    assert bearing_gap_deg(one.bearing_deg, 180 - other.bearing_deg) < 4
    assert one.tilt_deg == pytest.approx(other.tilt_deg, abs=2)


def test_prop_height_is_the_sine_of_the_tilt() -> None:
    assert prop_height_m(30.0, 0.5) == pytest.approx(0.25)  # by hand


def test_peg_throws_no_shadow_on_axis_and_its_own_length_at_45_degrees() -> None:
    on_axis = peg_shadow(40.0, 200.0, 50.0, bearing_deg=200.0)
    assert on_axis is not None
    assert on_axis[0] == pytest.approx(0.0, abs=1e-9)
    high = peg_shadow(
        85.0, 180.0, 50.0, bearing_deg=180.0
    )  # 45 degrees too high: shadow down the slope
    assert high is not None
    assert high == pytest.approx((1.0, 180.0))
    assert peg_shadow(10.0, 0.0, 80.0, bearing_deg=180.0) is None


def test_peg_shadow_runs_right_when_the_sun_stands_left_of_the_axis() -> None:
    # seen from the front of a box facing south, the afternoon sun in the west is on the left
    shadow = peg_shadow(40.0, 230.0, 50.0, bearing_deg=180.0)
    assert shadow is not None
    assert 0 < shadow[1] < 180


def held(event: Event, limit_k: float) -> tuple[AimSearch, float, float]:
    """The search under a limit, with the energy its turns keep and the hottest plate."""
    noon = event.day_start_at + 12 * 3600.0
    day = conditions(event.weather, event.place, noon - 3 * 3600, end_at=noon + 2 * 3600)
    search = held_search(event, AimSearch(day, event.place, event.box), limit_k)
    plan = plan_aim(search, noon - 3600, noon + 3600, rule=TurnRule(0.95))
    bearing, tilt = plan.schedule(day.time_at, "turns")
    forcing = plate_forcing(nominal(day), event.place, event.box, aim_deg=(bearing, tilt))
    system = box_system(event.box, event.paper)
    one = np.zeros(1, dtype=np.intp)
    _, temps, _ = run_empty(
        system, forcing, one, start_at=np.array([noon - 3600]), horizon_s=7200.0
    )
    energy = sum(t.mean_irradiance_w_m2 for t in plan.turns) / len(plan.turns)
    return search, energy, float(temps.max())


SUNNY = {"weather.air_temp": "24 °C", "weather.wind": "1 m/s"}


def test_the_plate_stays_below_its_limit_and_close_to_it() -> None:
    event = clear_event(45.0, **SUNNY)
    for limit_c in (45.0, 50.0, 60.0):
        _, _, hottest = held(event, 273.15 + limit_c)
        assert 273.15 + limit_c - 6.0 < hottest < 273.15 + limit_c + 0.5


def test_a_looser_limit_never_brings_less_light() -> None:
    event = clear_event(45.0, **SUNNY)
    light = [held(event, 273.15 + limit_c)[1] for limit_c in (45.0, 55.0, 65.0, 200.0)]
    assert light == sorted(light)
    search, _, _ = held(event, 473.15)
    assert not search.holds_back(event.opens_at, event.closes_at)


def test_a_covered_box_is_held_too() -> None:
    event = clear_event(45.0, **SUNNY, **{"box.cover": "window glass"})
    assert held(event, 273.15 + 60.0)[2] < 273.15 + 60.5


def test_a_limit_below_the_air_cannot_be_held() -> None:
    event = clear_event(45.0, **SUNNY)
    noon = event.day_start_at + 12 * 3600.0
    with pytest.raises(NoAnswerError, match="shade the box"):
        plan_event_aim(event, noon, hold_k=290.0)


@pytest.mark.parametrize("latitude_deg", [0.0, 25.0, 47.0])
def test_a_plate_held_off_a_high_sun_stays_below_its_limit(latitude_deg: float) -> None:
    wished = {"weather.air_temp": "28 °C", "drying.hold_below": "50 °C"}
    event = clear_event(latitude_deg, **wished)
    found = plan_set_out(event, members=20)
    is_open = (found.time_at >= event.opens_at) & (found.time_at <= event.closes_at)
    assert float(found.plate_temp_k[is_open].max()) - 323.15 < 0.5


def test_nobody_is_turned_off_the_sun_who_does_not_ask_for_it() -> None:
    event = clear_event(25.0, **{"weather.air_temp": "35 °C", "weather.wind": "0.5 m/s"})
    found = plan_event_aim(event, event.opens_at)
    assert event.limits.hold_below_k is None
    assert found.held_below_k is None
    for turn in found.plan.turns:
        assert incidence_deg(found.day, turn, 0.5 * (turn.from_at + turn.until_at)) < 20.0


def incidence_deg(day: Conditions, aim: Turn, at_s: float) -> float:
    """The angle between the plate's axis and the sun."""
    place = int(np.searchsorted(day.time_at, at_s))
    sun = Turn(
        at_s,
        at_s,
        float(day.sun.azimuth_deg[place]),
        90.0 - float(day.sun.elevation_deg[place]),
        0.0,
    )
    return axes_apart_deg(aim, sun)


def test_a_print_laid_on_at_half_past_twelve_in_june_faces_the_sun_within_20_degrees() -> None:
    there = {"place.latitude": 40.0, "place.longitude": 15.0, "place.timezone": "Etc/GMT-1"}
    event = load_event(None, {**there, "event.date": "2027-06-12", "weather.sky": "clear"})
    at = event.day_start_at + 12.5 * 3600.0
    found = dry_print(event, at, members=20, ways=("sun_plate",))
    assert found.bearing_deg is not None
    assert found.tilt_deg is not None
    assert found.ways[0].held_below_k is None
    aim = Turn(at, at, found.bearing_deg, found.tilt_deg, 0.0)
    assert incidence_deg(found.told, aim, at) < 20.0


USUAL = TurnRule(0.95, most=3, apart_s=3600.0, gain_frac=0.03)


@pytest.mark.parametrize("latitude_deg", [-35.0, 0.0, 15.0, 30.0, 47.0, 65.0])
@pytest.mark.parametrize("date", ["2027-03-20", "2027-06-21", "2027-12-21"])
def test_turns_are_few_far_apart_never_to_the_same_aim_and_never_too_steep(
    latitude_deg: float, date: str
) -> None:
    event = clear_event(latitude_deg, date)
    found = plan_event_aim(event, event.opens_at)
    turns = found.plan.turns
    assert len(turns) - 1 <= 3
    assert all(turn.until_at - turn.from_at >= 3600.0 for turn in turns) or len(turns) == 1
    assert all(axes_apart_deg(one, other) > 5.0 for one, other in pairwise(turns))
    assert all(turn.tilt_deg <= 60.0 for turn in (*turns, found.plan.single))


def test_each_turn_brings_three_hundredths_of_the_day() -> None:
    event = clear_event(30.0)
    day, hours = search(event), around_noon(event, 5.0)
    every = replace(USUAL, share_frac=1.0, most=10)
    plans = [plan_aim(day, *hours, rule=replace(every, most=most)) for most in (0, 1, 2, 10)]
    assert [len(plan.turns) for plan in plans] == [1, 2, 3, 3]  # one more brings too little
    kept = [plan.turns_kept_frac for plan in plans[:3]]
    assert all(more > fewer + 0.03 for fewer, more in pairwise(kept))
    one_more = plan_aim(day, *hours, rule=replace(every, gain_frac=0.001, most=3))
    assert len(one_more.turns) == 4
    assert one_more.turns_kept_frac < kept[-1] + 0.03
    assert len(plan_aim(day, *hours, rule=replace(every, gain_frac=0.5)).turns) == 1
