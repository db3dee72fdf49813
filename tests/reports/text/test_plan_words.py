"""The plan's sentences, said of one planned day with one thing changed at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import load_event
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.what_if import WhatIf
from drybox.planning.finish.day import day_finish
from drybox.planning.scenario.percentiles import Range
from drybox.planning.wet.baths import WATER, BathWarning, Supply
from drybox.reports.answers.plan import plan_answer
from drybox.reports.text.plan_words import lead, stands_on, tank_changes, warnings
from tests.running import DEMO

ZONE = "Europe/Vienna"


@pytest.fixture(scope="module")
def plan() -> DayPlan:
    told = {"event.closes": "12:00", "event.breaks": [], "event.every": "20 min"}
    return plan_day(load_event(DEMO, told), members=20, what_if=False)


def led(plan: DayPlan, **changed: Any) -> str:
    return " ".join(lead(replace(plan, **changed), ZONE, "metric"))


def at_s(plan: DayPlan, minutes: float) -> float:
    return plan.event.opens_at + 60 * minutes


@pytest.mark.parametrize(
    ("away", "words"),
    [((), "Nobody comes: there is nothing to promise."), (("1",), "Nobody is reached")],
)
def test_a_day_without_tickets_has_one_sentence(
    plan: DayPlan, away: tuple[str, ...], words: str
) -> None:
    said = lead(replace(plan, tickets=(), not_reached=away), ZONE, "metric")
    assert len(said) == 1
    assert said[0].startswith(words)


def test_without_a_dry_print_no_last_one_is_named(plan: DayPlan) -> None:
    mailed = tuple(replace(ticket, hand_over="mail", promise_at=None) for ticket in plan.tickets)
    said = led(plan, tickets=mailed, kept_frac=None)
    assert said.startswith("No print can be promised dry")
    assert f"{len(mailed)} prints: {len(mailed)} by mail." in said
    assert "nine prints in ten keep" not in said


def test_busy_hands_have_not_too_much_finishing_where_nothing_is_finished(plan: DayPlan) -> None:
    mailed = tuple(replace(ticket, hand_over="mail", promise_at=None) for ticket in plan.tickets)
    done = tuple(replace(ticket, hand_over="dry") for ticket in plan.tickets)
    finish = day_finish(load_event(DEMO, {"finishing.stages": ["flatten", "trim", "spot"]}))
    hands = {**plan.utilisation, "hands": 0.85}
    busy = replace(plan, utilisation=hands, tickets=done, finish=finish)
    assert any("Finishing takes" in text for text in warnings(busy, ZONE, "metric"))
    for few in (mailed, (*mailed[1:], done[0])):  # sittings alone are too much
        without = warnings(replace(busy, tickets=few), ZONE, "metric")
        assert not any("Finishing takes" in text for text in without)


def test_a_day_without_water_is_not_laid_at_the_door_of_drying() -> None:
    told = {"event.closes": "11:00", "event.breaks": [], "event.every": "20 min"}
    dry = load_event(DEMO, told | {"event.water": "0.5 L"})
    said = led(plan_day(dry, members=20, what_if=False))
    assert said.startswith("No print can be promised dry: the day's water does not last to wash")
    assert ": 0.5 L at hand, " in said


def test_many_tickets_in_a_row_are_said_by_the_first_and_the_last(plan: DayPlan) -> None:
    lucky = [True, False, True, True, True, True, True, False, True]
    tickets = tuple(
        replace(plan.tickets[0], ticket=str(k), why="if_lucky" if luck else "")
        for k, luck in enumerate(lucky, 1)
    )
    assert "by the time promised: tickets 1, 3 to 7 and 9. Whoever" in led(plan, tickets=tickets)
    assert "ticket 1. Whoever cannot wait takes it" in led(plan, tickets=tickets[:2])


def test_half_a_litre_of_water_is_said_as_the_packing_list_has_it(plan: DayPlan) -> None:
    bring = tuple(replace(good, amount=6.5) if good.what == WATER else good for good in plan.bring)
    assert "Water: 6.5 L to rinse" in led(plan, bring=bring)


def test_each_way_of_handing_over_is_counted(plan: DayPlan) -> None:
    kinds = ("dry", "damp", "mail")
    mixed = tuple(
        replace(plan.tickets[0], ticket=str(k), hand_over=kind, promise_at=at_s(plan, 90))
        for k, kind in enumerate((*kinds, "damp"), 1)
    )
    said = led(plan, tickets=mixed)
    assert "4 prints: 1 handed over dry, 2 damp in a sleeve and 1 by mail." in said
    assert "ticket 1" in said
    assert "1 print: 1 handed over dry." in led(plan, tickets=mixed[:1])


def test_a_sitter_s_name_stands_beside_the_ticket(plan: DayPlan) -> None:
    (first, *_) = plan.tickets
    named = (replace(first, name="Ann", hand_over="dry", promise_at=at_s(plan, 90)),)
    assert f"ticket {first.ticket} (Ann): sits at" in led(plan, tickets=named)


def test_those_not_reached_are_turned_away_by_number(plan: DayPlan) -> None:
    said = led(plan, not_reached=("8", "9"))
    assert "2 more would not be reached before the closing" in said
    assert "from ticket 8 on" in said


@pytest.mark.parametrize(
    ("busy", "more", "words"),
    [
        (0.9, (), "What holds the day up: the hands, busy 90 % of the time."),
        (0.5, (0.3,), "the hands, busy 50 % of the time. More dry prints by change 0: 0.3."),
        (0.9, (3.0, 2.0, 1.0), "More dry prints by change 0: 3.0; change 1: 2.0; change 2: 1.0."),
        (0.9, (0.01,), "the hands, busy 90 % of the time."),
    ],
)
def test_what_holds_the_day_up_is_said_with_what_would_help(
    plan: DayPlan, busy: float, more: tuple[float, ...], words: str
) -> None:
    tried = tuple(WhatIf(f"change {k}", "hands", gain) for k, gain in enumerate(more))
    said = led(plan, bottleneck="hands", utilisation={"hands": busy}, what_if=tried)
    assert words in said
    assert ("More dry prints" in said) == any(gain > 0.05 for gain in more)


@pytest.mark.parametrize(
    ("gains", "cells", "title"),
    [
        ((1.2, 0.3), ["+1.2", "+0.3", "", "1 helper"], "What one more would bring"),
        ((-0.04, 0.04), ["none", "", "", "no more prints by it"], "What one more would bring"),
        ((-0.2, 0.0), ["none", "", "", "no more prints by it"], "What one more would bring"),
        ((-0.2, 0.5), ["-0.2", "+0.5", "", "1 helper"], "(below zero: fewer)"),
    ],
)
def test_no_change_is_offered_that_takes_prints_and_brings_none(
    plan: DayPlan, gains: tuple[float, float], cells: list[str], title: str
) -> None:
    """More hands may lift prints off touch dry that would have been dry a little later."""
    costs = (Supply("helper", 1.0, "pieces"),)
    tried = WhatIf("hands", "hands", gains[0], more_touch_dry_prints=gains[1], costs=costs)
    (table,) = (
        table
        for table in plan_answer(replace(plan, what_if=(tried,))).tables
        if table.title.startswith("What one more")
    )
    assert [table.rows[0][key] for key in ("more", "touch", "later", "why")] == cells
    assert table.title.endswith(title)


@pytest.mark.parametrize(
    ("end", "words"),
    [
        ("nothing", "Nothing holds the day up."),
        ("drying", "What ends the day: drying takes longer than sitters wait."),
        ("water", "What holds the day up: the water."),
    ],
)
def test_what_ends_the_day_where_nobody_waits_is_no_busy_thing(
    plan: DayPlan, end: str, words: str
) -> None:
    assert words in led(plan, bottleneck=end, utilisation={"hands": 0.5}, what_if=())


def test_no_plate_and_a_plate_held_below_its_limit_are_said(plan: DayPlan) -> None:
    assert plan.aim is not None
    why = NoAnswerError("it is dark", "", "leave the box at home")
    assert "No sun plate: it is dark; leave the box at home." in led(plan, no_plate=why)
    held = replace(plan.aim, held_below_k=323.15)
    assert "to keep the empty plate below 50 °C" in led(plan, aim=held)
    free = replace(plan.aim, held_below_k=None)
    for aim in (free, None):
        assert "aimed off the sun" not in led(plan, aim=aim)


@pytest.mark.parametrize(
    ("earliest", "sure", "words"),
    [
        (40.0, 50.0, "before it can be ready: 10:40 at the earliest"),
        (20.0, None, "but it is not sure to be dry in time"),
        (None, 50.0, "nine in ten are ready only by 10:50"),
        (20.0, 50.0, "nine in ten are ready only by 10:50"),
    ],
)
def test_a_promise_that_breaks_is_said_with_what_could_be_kept(
    plan: DayPlan, earliest: float | None, sure: float | None, words: str
) -> None:
    opens_late = at_s(plan, 0)
    assert opens_late % 3600 == 0
    early, late = (None if m is None else at_s(plan, m) for m in (earliest, sure))
    risk = replace(plan.tickets[0], ticket="3", promised_at=at_s(plan, 30))
    risk = replace(risk, promised_range_s=Range(early, None, late))
    said = warnings(replace(plan, broken=(risk,)), ZONE, "metric")[0]
    assert said.startswith("Ticket 3 was promised for 10:30")
    assert words in said


def test_a_long_wait_names_the_ticket_that_waits_longest(plan: DayPlan) -> None:
    first, *rest = plan.tickets
    late = replace(first, sitting_at=first.arrives_at + 1500.0)
    said = " ".join(warnings(replace(plan, tickets=(late, *rest)), ZONE, "metric"))
    assert f"ticket {first.ticket} waits 25 min to be sat" in said
    assert "waits" not in " ".join(warnings(replace(plan, tickets=()), ZONE, "metric"))
    again = replace(late, further=True, sitting_at=late.sitting_at + 900.0)
    both = replace(plan, tickets=(late, again))
    assert f"ticket {first.ticket} waits 25 min" in " ".join(warnings(both, ZONE, "metric"))


def test_a_wait_through_a_break_is_laid_to_the_break(plan: DayPlan) -> None:
    first, second, *rest = plan.tickets
    pause = first.arrives_at - 60.0, first.arrives_at + 1300.0
    inputs = replace(plan.inputs, day=replace(plan.inputs.day, breaks_s=(pause,)))
    late = replace(first, sitting_at=first.arrives_at + 1300.0)
    behind = replace(second, sitting_at=second.arrives_at + 1500.0)
    for tickets in ((late, *rest), (late, replace(behind, arrives_at=late.arrives_at + 5.0))):
        said = " ".join(warnings(replace(plan, tickets=tickets, inputs=inputs), ZONE, "metric"))
        assert "to be sat, for the break from" in said
        assert "faster than they can be served" not in said
    short = replace(plan.inputs.day, breaks_s=((pause[0], pause[0] + 600.0),))
    brief = replace(plan, tickets=(late, *rest), inputs=replace(inputs, day=short))
    assert "faster than they can be served" in " ".join(warnings(brief, ZONE, "metric"))


def test_a_wash_that_falls_short_and_the_baths_warn(plan: DayPlan) -> None:
    short = replace(plan.wash, reached=False)
    first = replace(plan.baths.baths[0], limit="area")
    cold = replace(plan.baths, warnings=(BathWarning("spent", use=first),))
    said = warnings(replace(plan, wash=short, baths=cold), ZONE, "metric")
    assert any("can be had; hand the rewash note over" in text for text in said)
    assert f"The {first.bath} is spent now: the paper it has worked on." in said


def stood(plan: DayPlan, **day: Any) -> str:
    inputs = replace(plan.inputs, day=replace(plan.inputs.day, **day))
    return " ".join(stands_on(replace(plan, inputs=inputs), "metric"))


def test_what_the_plan_stands_on_goes_with_hands_trays_lines_and_power(plan: DayPlan) -> None:
    assert "Hands: one pair." in stood(plan, operators=1)
    assert "one camera" not in stood(plan, operators=1)
    two = stood(plan, operators=2)
    assert "Hands: 2 pairs." in two
    assert "There is one camera" in two
    setup = plan.run.setup
    for trays, lines, prints in ((1, 0, 1), (2, 3, 4)):
        slots = {"line_shade": lines} | ({"warm_plate": 2} if lines else {})
        resources = replace(setup.resources, wash_trays=trays, slots=slots)
        run = replace(plan.run, setup=replace(setup, resources=resources))
        wash = replace(plan.wash, prints=prints)
        said = " ".join(stands_on(replace(plan, run=run, wash=wash), "metric"))
        assert ("2 trays of up to 4 prints" in said) == (trays == 2)
        assert ("1 tray of one print" in said) == (trays == 1)
        assert ("Beside the plate: a line" in said) == (lines > 0)
        assert ("powered drier" in said) == (lines > 0)


def test_a_tank_is_changed_after_the_ticket_that_spends_it_while_tickets_come(
    plan: DayPlan,
) -> None:
    first = plan.baths.baths[0]
    count = len(plan.tickets)
    spent = replace(first, fills=3, change_after_sheet=2, sheets_used=0, limit="area")
    for use, most in (
        (spent, count),
        (replace(spent, limit="life"), 0),
        (replace(spent, fills=1), 0),
    ):
        changes = tank_changes(replace(plan, baths=replace(plan.baths, baths=(use,))))
        assert bool(changes) == bool(most)
        times = [change["at"] for change in changes]
        assert times == sorted(times)
        assert all(f"Change the {use.bath} after ticket" in change["what"] for change in changes)
    beyond = replace(spent, change_after_sheet=1000)
    assert tank_changes(replace(plan, baths=replace(plan.baths, baths=(beyond,)))) == []
    due = [
        change["what"].split()[5].removesuffix(":")
        for size in range(1, 2 * count)
        for change in tank_changes(
            replace(
                plan,
                baths=replace(plan.baths, baths=(replace(spent, change_after_sheet=size),)),
            )
        )
    ]
    assert due
    assert plan.tickets[-1].ticket not in due  # nothing comes after it
