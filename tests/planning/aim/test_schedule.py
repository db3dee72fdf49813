"""A box that is always turned or never, limits no aim can hold, and stretches without an answer."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

import drybox
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from drybox.planning.aim.event_aim import plan_event_aim
from drybox.planning.aim.hold import check_holds
from drybox.planning.aim.schedule import aim_schedule, plan_day_aim
from drybox.planning.aim.search import BLOCK_S, AimSearch, TurnRule, plan_aim
from drybox.planning.one_print.lookups import lay_on_lookup
from drybox.planning.one_print.set_out import plan_set_out
from drybox.planning.one_print.sheet_day import plan_sheet_day
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.season.times import year_starts
from tests.planning.season.test_season import event_of, station
from tests.planning.short_day import SHORT_DAY

HELD = {"drying.hold_below": "50 degC"}
FIXED = {"box.bearing": "200 deg", "box.tilt": "40 deg"}


def event(**told: object) -> Event:
    return load_event(
        None, SHORT_DAY | {key.replace("__", "."): value for key, value in told.items()}
    )


def day_of(there: Event) -> Conditions:
    return conditions(there.weather, there.place, there.opens_at - 3600, end_at=there.closes_at)


def test_a_box_that_is_always_turned_keeps_nearly_all_by_quarter_hours() -> None:
    turned, few = (event(box__aim=aim) for aim in ("track", "turns"))
    asked = (turned.opens_at, turned.closes_at)
    plan, _ = plan_day_aim(turned, asked)
    assert len(plan.turns) == 12
    assert all(turn.until_at - turn.from_at == BLOCK_S for turn in plan.turns)
    assert all(one.until_at == other.from_at for one, other in pairwise(plan.turns))
    assert plan.turns_kept_frac > plan_day_aim(few, asked)[0].turns_kept_frac
    assert plan.turns_kept_frac > 0.99


def test_a_search_without_a_limit_holds_nothing_back_and_refuses_no_plan() -> None:
    there = event()
    search = AimSearch(day_of(there), there.place, there.box)
    asked = (there.opens_at, there.closes_at)
    assert not search.holds_back(*asked)
    check_holds(search, plan_aim(search, *asked, rule=TurnRule(0.95)), 200.0)


def test_a_limit_that_the_sky_alone_passes_cannot_be_held() -> None:
    there = event(weather__sky="broken cloud")
    with pytest.raises(NoAnswerError, match="passes 28 °C at every aim"):
        plan_day_aim(there, (there.opens_at, there.closes_at), hold_k=301.15)


@pytest.mark.parametrize(
    ("hours", "why"),
    [
        ((3.0, 1.0), "ends before it begins"),
        ((0.0, 0.0), "ends before it begins"),
        ((0.0, 1 / 60), "less than two minutes"),
        ((11.0, 12.0), "the sun is down all the time"),
    ],
)
def test_a_stretch_without_an_aim_says_why(hours: tuple[float, float], why: str) -> None:
    there = event()
    asked = tuple(there.opens_at + 3600 * hour for hour in hours)
    with pytest.raises(NoAnswerError, match=why):
        plan_day_aim(there, (asked[0], asked[1]))


def test_a_stretch_that_the_day_does_not_reach_is_empty() -> None:
    there = event()
    search = AimSearch(day_of(there), there.place, there.box)
    with pytest.raises(NoAnswerError, match="is empty"):
        plan_aim(search, there.day_end_at, there.day_end_at + 3600, rule=TurnRule(0.95))


def test_on_another_day_the_event_s_hours_are_not_taken_in() -> None:
    there = event()
    first, last = there.opens_at + 86400, there.opens_at + 86400 + 3600
    day = conditions(there.weather, there.place, first, end_at=last)
    _, plan = aim_schedule(there, day, first, until_at=last)
    assert plan is not None
    assert (plan.single.from_at, plan.single.until_at) == (first, last)


def test_a_fixed_aim_is_told_what_it_keeps() -> None:
    free = plan_event_aim(event(), event().opens_at)
    assert free.better is None
    best = free.plan.single
    own = {"box.bearing": f"{best.bearing_deg} deg", "box.tilt": f"{best.tilt_deg} deg"}
    same, off = (
        plan_event_aim(event(**aim), event().opens_at).plan.kept_frac
        for aim in (own, {"box.bearing": "N", "box.tilt": "60 deg"})
    )
    assert same == pytest.approx(free.plan.kept_frac, abs=0.005)
    assert off < 0.5


def test_the_sheet_of_a_fixed_box_has_its_own_aim() -> None:
    there = event(**FIXED, event__opens="12:00", event__closes="12:30")
    aim = plan_sheet_day(there, there.opens_at).aim
    assert [(turn.bearing_deg, turn.tilt_deg) for turn in aim.plan.turns] == [(200.0, 40.0)]
    assert aim.now == aim.plan.single
    assert len(aim.sightings) == 1


def test_where_no_quarter_hour_is_left_there_is_no_laying_on() -> None:
    there = event()
    day = day_of(there)
    aims = np.full(day.time_at.shape, 180.0), np.full(day.time_at.shape, 20.0)
    late = lay_on_lookup(there, day, aim_deg=aims, from_at=there.closes_at + 7200, members=20)
    assert (late.starts_s, late.columns) == ((), ())
    short = event(event__opens="12:01", event__closes="12:09")
    assert plan_set_out(short, members=20).loads == ()


@pytest.mark.parametrize(
    ("box", "words"),
    [(FIXED, "fixed"), ({"box.aim": "best"}, "best by month"), ({}, "turned every hour")],
)
def test_a_year_s_box_is_aimed_as_the_event_says(box: dict[str, object], words: str) -> None:
    weather, _ = station("Greensboro")
    starts = year_starts(event_of("Greensboro", **box, **HELD), weather, seed=1)
    assert starts.aim_words == words
    assert not year_starts(event_of("Greensboro", **box), weather, seed=1).held.any()
    assert starts.held.any() == (box != FIXED)  # a fixed aim is left alone


def test_the_python_calls_take_a_limit_with_its_unit_and_a_wait_in_seconds() -> None:
    there = event(event__opens="12:00", event__closes="12:45")
    one, other = (drybox.aim(there, hold_below=limit) for limit in ("47 °C", "320.15 K"))
    assert one.plan == other.plan
    assert one.held_below_k == pytest.approx(320.15)
    result = [drybox.set_out(there, wait=wait, members=20) for wait in ("20 min", "1200 s")]
    assert result[0].first_load_at == result[1].first_load_at


def test_a_sheet_day_needs_daylight() -> None:
    night = replace(event(), opens_at=event().day_start_at, closes_at=event().day_start_at + 3600)
    with pytest.raises(NoAnswerError):
        plan_sheet_day(night, night.opens_at)
