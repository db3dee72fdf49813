"""A plate that is too hot for a print is out in every command, and a cool one in none."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plan import plan_day
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.lookups import READINGS_K
from drybox.planning.one_print.set_out import plan_set_out
from drybox.planning.one_print.sheet_day import plan_sheet_day
from drybox.reports.answers.plan import plan_answer
from drybox.reports.answers.setout import setout_answer
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO

SOFT = {"paper.hardening": "hand-coated", "drying.wait": "3 h"}
SHORT = {"event.opens": "12:00", "event.closes": "14:00", "event.breaks": []}


def event(**told: object) -> Event:
    return load_event(DEMO, SHORT | {key.replace("__", "."): value for key, value in told.items()})


@pytest.fixture(scope="module")
def soft() -> Event:
    return load_event(DEMO, SHORT | SOFT)


def test_a_plate_that_dry_rules_out_is_ruled_out_in_plan(soft: Event) -> None:
    found = dry_print(soft, soft.opens_at + 1800.0, members=20, ways=("sun_plate",))
    assert found.ways[0].too_hot
    plan = plan_day(soft, members=20, what_if=False)
    assert plan.too_hot_s
    assert all(ticket.way != PLATE for ticket in plan.tickets)
    said = " ".join(plan_answer(plan).lead)
    assert "Lay nothing on the plate from" in said
    assert "over its limit of heat" in said
    usual = plan_day(event(), members=20, what_if=False)
    assert usual.too_hot_s == ()
    assert any(ticket.way == PLATE for ticket in usual.tickets)


def test_a_plate_that_dry_rules_out_is_ruled_out_in_setout(soft: Event) -> None:
    found = plan_set_out(soft, members=20)
    assert found.too_hot == tuple(at for at, _ in found.loads)
    assert found.first_load_at is None
    answer = setout_answer(soft, found, members=20, seed=1)
    assert "without being kept over its limit of heat" in answer.lead[0]
    assert any("is kept over its limit (30 °C while wet)" in text for text in answer.warnings)
    assert plan_set_out(event(), members=20).too_hot == ()


def test_the_sheet_s_lookups_mark_what_is_too_hot(soft: Event) -> None:
    day = plan_sheet_day(soft, soft.opens_at)
    assert all(day.lay_on.columns[0].too_hot)
    hot = np.array(day.thermometer.too_hot)
    assert hot[np.array(day.thermometer.readings_k) > READINGS_K[0] + 10.0].all()
    assert not any(plan_sheet_day(event(), soft.opens_at).lay_on.columns[0].too_hot)


@pytest.mark.slow
def test_plan_and_setout_name_the_same_hours(soft: Event) -> None:
    """To the closing, and on a day of which only a part is too hot."""
    bleached = load_event(DEMO, {"paper.hardening": "bleached", "event.breaks": []})
    for there in (soft, bleached):
        hot = plan_set_out(there).too_hot
        assert hot
        assert plan_day(there, members=20, what_if=False).too_hot_s == hot
    assert len(plan_set_out(bleached).loads) > len(hot)


def test_hot_dry_air_alone_does_not_cook_a_print_on_a_line() -> None:
    """A wet sheet in air of 37 °C and 19 % lies near its wet bulb, 20 °C (psychrometry)."""
    told = {"weather.sky": "clear", "weather.air_temp": "37 °C", "weather.humidity": "19 %"}
    hot = load_event(None, SHORT_DAY | told | SOFT)
    line, plate = dry_print(hot, hot.opens_at, members=20, ways=("line_shade", "sun_plate")).ways
    assert line.feasible
    assert line.wet_temp_max_k < 273.15 + 30.5
    assert plate.too_hot
