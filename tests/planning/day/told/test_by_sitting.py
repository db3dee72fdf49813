"""Stages counted from the sitting: a promise holds nothing of an arrival that is not known."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.told.by_sitting import Sittings
from tests.planning.short_day import SHORT_DAY

BY_CHANCE = SHORT_DAY | {
    "event.opens": "10:00",
    "event.closes": "15:00",
    "event.rate": "4 1/h",
    "event.wait_limit": "4 h",
}


@cache
def by_chance() -> DayPlan:
    return plan_day(load_event(None, BY_CHANCE), members=40, what_if=False)


def test_no_range_begins_before_its_own_laying_on() -> None:
    laid = [ticket for ticket in by_chance().tickets if ticket.laid_on_at is not None]
    assert len(laid) > 8
    for ticket in laid:
        assert ticket.laid_on_at is not None
        for span in (ticket.touch_dry_at, ticket.dry_at, ticket.ready_at):
            assert span.p10 is None or span.p10 >= ticket.laid_on_at


def test_a_ticket_that_may_come_hours_later_is_promised_no_later_for_it() -> None:
    """By the clock the last quarter of the draws comes over half an hour after the likely time."""
    plan = by_chance()
    ticket = plan.tickets[8]
    sat = plan.run.setup.wet.sat_at[:, 8]
    spread = np.nanquantile(np.where(np.isfinite(sat), sat, np.nan), [0.1, 0.9])
    assert np.diff(spread)[0] > 3600.0
    low, high = ticket.after_sitting_s.p10, ticket.after_sitting_s.p90
    assert low is not None
    assert high is not None
    assert high - low < 0.8 * np.diff(spread)[0]
    assert ticket.promise_after_s is not None
    assert ticket.promise_after_s % 300 == 0
    assert 0 <= ticket.promise_after_s - high < 300.0


def test_sittings_near_a_time_are_as_many_as_there_are_days() -> None:
    sat = np.array([[0.0, 10.0, 20.0], [5.0, np.inf, np.inf], [9.0, 30.0, np.inf]])
    near = Sittings.near(sat, np.array([9.5, 100.0]))
    assert sorted(near.of(sat)[:, 0]) == [5.0, 9.0, 10.0]
    assert sorted(near.of(sat)[:, 1]) == [10.0, 20.0, 30.0]


def test_every_sitting_is_in_the_hour_that_it_begins_in() -> None:
    sat = np.array([[0.0, 3600.0], [3599.0, np.inf]])
    hours = Sittings.between(sat, np.array([0.0, 3600.0, 7200.0]))
    found = [sorted(column[~np.isnan(column)]) for column in hours.of(sat).T]
    assert found == [[0.0, 3599.0], [3600.0]]


def test_a_draw_that_does_not_count_is_left_out_of_its_ticket() -> None:
    there = np.array([[True, False], [True, True]])
    of = Sittings.by_ticket(there, np.array([1])).of(np.array([[1.0, 2.0], [3.0, 4.0]]))
    assert np.isnan(of[0, 0])
    assert of[1, 0] == pytest.approx(4.0)
