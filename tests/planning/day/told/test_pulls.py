"""Prints that lie on past dry because the hands are busy: seen, and said."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from drybox.api import load_event, plan_day
from drybox.planning.day.plan import DayPlan, columns_of
from drybox.planning.day.samples import draw_day
from drybox.planning.scenario.percentiles import quantiles_of_next
from drybox.said import answer
from tests.planning.short_day import SHORT_DAY

DAY = SHORT_DAY | {"event.every": "15 min", "event.wait_limit": "4 h"}


@cache
def planned(sitting: str = "6 min", operators: int = 1) -> DayPlan:
    told = DAY | {"event.sitting": sitting, "event.operators": operators}
    return plan_day(load_event(None, told), members=40, what_if=False)


def late_min(plan: DayPlan) -> float:
    with np.errstate(invalid="ignore"):
        late = plan.run.dried.pulled_at - plan.run.dried.dry_at
    return float(late[np.isfinite(late)].mean() / 60)


def test_a_short_window_in_a_sitting_is_seen_with_whom_it_is_missed_for() -> None:
    plan = planned()
    assert plan.missed_pulls
    for one in plan.missed_pulls:
        assert one.missed_frac > 0.1
        assert one.window_s > 0.0
        assert one.busy_ticket != one.ticket
    assert any(one.sitting for one in plan.missed_pulls)


def test_longer_sittings_miss_more_and_a_second_pair_of_hands_hardly_any() -> None:
    """A print stays on while a hand is away, so its promise is later for it."""
    usual, slow, two = planned(), planned("12 min"), planned(operators=2)
    assert late_min(two) < late_min(usual) < late_min(slow)
    missed = [sum(one.missed_frac for one in plan.missed_pulls) for plan in (two, usual, slow)]
    assert missed[0] < 0.5 * missed[1]
    assert missed[1] / len(usual.tickets) < missed[2] / len(slow.tickets) + 0.1


def test_a_missed_window_costs_its_minutes_in_what_the_sitter_is_told() -> None:
    """A print is ready when it was pulled and pressed, not when it was dry."""
    plan = planned()
    run, flat_s = plan.run, plan.event.limits.flatten_s
    draws = draw_day(plan.event, plan.inputs, plan.told, members=plan.members, seed=plan.seed)
    told = {ticket.ticket: ticket for ticket in plan.tickets}
    dry = [one for one in plan.missed_pulls if told[one.ticket].ready_as == "dry"]
    assert dry
    for one in dry:
        (column,) = columns_of(draws, (told[one.ticket],))
        after = run.ready_at[:, column] - run.setup.wet.sat_at[:, column]
        with np.errstate(invalid="ignore"):
            at_once = run.dried.dry_at[:, column] + flat_s - run.setup.wet.sat_at[:, column]
        sure, unhindered = (quantiles_of_next(x[:, None], 0.9)[0, 0] for x in (after, at_once))
        assert told[one.ticket].after_sitting_s.p90 == pytest.approx(sure)
        assert sure > unhindered


def test_it_is_one_warning_with_what_to_do_and_rows_in_the_record() -> None:
    said = answer(planned())
    (warning,) = [text for text in said.warnings if "The hands may be busy" in text]
    assert "Feel the plate before each sitting" in warning
    rows = said.result["missed_pulls"]
    assert [row["ticket"] for row in rows] == [one.ticket for one in planned().missed_pulls]
    assert all(row["pull_by_at"] > row["dry_at"] for row in rows)
