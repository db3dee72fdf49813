"""How many promises are kept: of the same drawn days, or of others."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.inputs.event.day import Day
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan, round_up_s
from drybox.planning.day.told.hours import HourRule

COUNTED = ("dry", "touch_dry", "pick_up")


def kept_shares(
    plans: tuple[TicketPlan, ...],
    hours: tuple[HourRule, ...],
    run: DayRun,
    *,
    columns: NDArray[np.intp],
    day: Day,
) -> tuple[float, float] | None:
    """Return the shares of promises given at the sitting that are kept: by the P90, and as told.

    Of a run maybe drawn by another seed than the promises', with the column there of each plan's
    ticket. Where sitters come by chance it is by the rules of the hours. None if nothing dry or
    touch dry was promised.
    """
    given = _by_hour(hours, run) if day.rate_1_s is not None else _by_ticket(plans, run, columns)
    counts = np.zeros(3)
    for sat_at, after_s, told_s, ends_at in given:
        counts += (ends_at <= sat_at + after_s).sum(), (ends_at <= told_s).sum(), ends_at.size
    unrounded, rounded, count = counts
    return (float(unrounded / count), float(rounded / count)) if count else None


def _by_ticket(
    plans: tuple[TicketPlan, ...], run: DayRun, columns: NDArray[np.intp]
) -> Iterator[tuple[Array, float, Array, Array]]:
    """Yield of each ticket when it sits, how long it takes, what it is told and what comes."""
    for plan, column in zip(plans, columns, strict=True):
        after = plan.after_sitting_s.p90
        if plan.hand_over not in COUNTED or after is None:
            continue
        sat = run.setup.wet.sat_at[:, column]
        there = np.isfinite(sat)
        told = np.array([round_up_s(at + after) for at in sat[there]])
        ends = run.ready_at if plan.ready_as == "dry" else run.dried.touch_at
        yield sat[there], after, told, ends[there, column]


def _by_hour(
    hours: tuple[HourRule, ...], run: DayRun
) -> Iterator[tuple[Array, float, Array, Array]]:
    """Yield of each hour when its sitters sit, how long it takes, what they are told, and so on."""
    sat = run.setup.wet.sat_at
    for rule in hours:
        after, told = rule.after_sitting_s.p90, rule.promise_after_s
        if rule.hand_over not in COUNTED or after is None or told is None:
            continue
        there = (sat >= rule.from_at) & (sat < rule.until_at)
        ends = run.ready_at if rule.ready_as == "dry" else run.dried.touch_at
        yield sat[there], after, sat[there] + told, ends[there]
