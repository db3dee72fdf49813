"""What a change would bring, ranked by dry prints and then by what it costs."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import drybox
from drybox.inputs.event.event import load_event
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.supplies import water_l
from drybox.planning.day.what_if import EFFORT, WhatIf, _litres
from drybox.planning.wet.baths import Supply
from drybox.reports.answers.plan import plan_answer
from drybox.reports.text.plan_words import cure_said
from drybox.tables import load_table
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO

SHORT = {"event.opens": "14:00", "event.breaks": [], "event.every": "12 min"}


@cache
def planned(**told: str) -> DayPlan:
    more = {key.replace("__", "."): value for key, value in told.items()}
    return plan_day(load_event(DEMO, SHORT | more), members=20)


def test_changes_are_ranked_by_dry_prints_and_by_cost() -> None:
    tried = planned().what_if
    assert [one.rank for one in tried] == sorted(one.rank for one in tried)
    names = {one.change for one in tried}
    assert {"wash aid", "one more wash tray", "one more pair of hands"} <= names
    assert {"pick-up an hour later", "opening an hour earlier", "a line in the open"} <= names
    assert len(tried) <= 16  # each a day simulated: their number is bounded
    even = [WhatIf(change=change, of="", more_dry_prints=1.0) for change in EFFORT]
    assert min(even, key=lambda one: one.rank).change == "pick-up an hour later"


def test_wash_aid_saves_time_and_water_and_says_so() -> None:
    aid = next(one for one in planned().what_if if one.change == "wash aid")
    costs = {cost.what: cost.amount for cost in aid.costs}
    assert costs["wash aid"] > 0.0
    assert costs["water"] < 0.0
    assert aid.more_dry_prints >= 0.0
    aided = planned(process__wash__wash_aid=True)
    assert "wash aid" not in {one.change for one in aided.what_if}


def test_the_box_out_of_the_shadow_has_its_time_and_costs_two_moves() -> None:
    moved = next(one for one in planned().what_if if one.change == "the box out of the shadow")
    assert moved.span_s is not None
    assert moved.costs == (Supply("moves of the box", 2.0, "times"),)
    assert cure_said(moved, "Europe/Vienna") == "the box out of the shadow 16:05 to 17:01"


def test_a_warm_plate_is_asked_about_where_there_is_none() -> None:
    event = load_event(
        DEMO, SHORT | {"event.ways": ["line in the shade"], "weather.sky": "overcast"}
    )
    plan = plan_day(event, members=20)
    plate = next(one for one in plan.what_if if one.change == "a warm plate")
    watts = load_table("boxes")["powered drier"]["plate_power"].value
    assert event.powered is not None
    assert watts > 0.0
    assert plate.costs[0] == Supply("warm plate", event.powered.plate_power_w, "W")
    assert plate.more_dry_prints + plate.more_touch_dry_prints > 0.0


def test_water_that_does_not_last_ends_the_day_and_is_said_with_what_it_is_enough_for() -> None:
    few, free = planned(event__water="5 L"), planned()
    said = " ".join(plan_answer(few).lead)
    assert "The water does not last: 5 L at hand" in said
    away = [ticket for ticket in few.tickets if ticket.why == "no_water"]
    assert away
    assert {ticket.hand_over for ticket in away} == {"mail"}
    assert away == list(few.tickets[-len(away) :])
    rows = {row["ticket"]: row for row in plan_answer(few).result["sitters"]}
    assert all(rows[ticket.ticket]["washed_at"] is None for ticket in away)
    assert f"enough for {len(few.tickets) - len(away)} of {len(few.tickets)} prints" in said
    assert few.bottleneck == "water"
    assert "water sets no limit" not in {one.why for one in few.what_if}
    more = next(one for one in few.what_if if one.change == "more water")
    assert more.costs[0].what == "water"
    assert more.more_dry_prints > 0.25
    assert free.wash.water_total_m3 >= few.wash.water_total_m3
    assert "The water does not last" not in " ".join(plan_answer(free).lead)
    assert "no_water" not in {ticket.why for ticket in free.tickets}


def test_plan_day_and_baths_give_one_list_of_water_and_day_names_the_shortage() -> None:
    few = planned(event__water="5 L")
    found = drybox.day(few.event, members=20)
    assert found.plan.bring == few.bring
    assert "The water does not last: 5 L at hand" in " ".join(drybox.answer(found).lead)
    alone = water_l(drybox.baths(few.event).bring)  # of more drawn days
    assert alone == pytest.approx(water_l(few.bring), rel=0.1)
    assert water_l(few.bring) > 5.0


def test_less_than_a_litre_is_said_by_the_tenth() -> None:
    drop = planned(event__water="0.5 L")
    assert "The water does not last: 0.5 L at hand" in " ".join(plan_answer(drop).lead)
    assert {ticket.hand_over for ticket in drop.tickets} == {"mail"}


def test_a_battery_that_ends_the_day_is_named_and_no_print_lies_on_a_cold_plate() -> None:
    told = {
        "event.ways": ["warm plate"],
        "powered.plate_power": "120 W",
        "powered.plate_temp": "50 °C",
        "powered.battery": "100 Wh",
        "event.wait_limit": "3 h",
        "event.wash_trays": 4,
    }
    plan = plan_day(load_event(None, SHORT_DAY | {"event.every": "20 min"} | told), members=20)
    assert plan.bottleneck == "battery"
    assert "the battery" in " ".join(plan_answer(plan).lead)
    bigger = next(one for one in plan.what_if if one.change == "a bigger battery")
    assert bigger.more_by_closing_prints > 0.25
    dried = plan.run.dried
    laid = np.isfinite(dried.laid_at)
    assert laid.any()
    assert np.isfinite(dried.touch_at[laid]).mean() > 0.9


def test_what_nobody_waits_for_holds_nothing_up() -> None:
    told = {"weather.sky": "overcast", "event.ways": ["line in the shade"], "event.every": "30 min"}
    plan = plan_day(load_event(None, SHORT_DAY | told), members=20)
    idle = {one.of for one in plan.what_if if one.why == "nobody waits for it"}
    assert "wash trays" in idle
    assert plan.bottleneck in ("drying", "closing")
    assert "What ends the day: " in " ".join(plan_answer(plan).lead)


def test_a_cost_of_less_than_a_tenth_of_a_litre_is_none() -> None:
    assert _litres("water", -4e-5) == ()
    (saved,) = _litres("water", -5.3e-3)
    assert (saved.amount, saved.unit) == (-5.3, "l")


def test_busy_trays_hold_nothing_up_where_it_is_the_damp_closed_sky_that_does() -> None:
    market = Path(__file__).parents[2] / "events" / "damp_overcast_market.toml"
    plan = plan_day(load_event(market), members=40)
    warm = next(one for one in plan.what_if if one.change == "a warm plate")
    assert warm.more_by_closing_prints > 2.0
    assert plan.utilisation["wash trays"] > 0.9
    assert plan.bottleneck == "drying"
