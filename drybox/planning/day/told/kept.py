"""How many promises are kept: of the same drawn days, or of others."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Flags
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
    sat = run.setup.wet.sat_at
    if day.rate_1_s is None:
        tickets = np.arange(sat.shape[1])
        of_ticket = ((tickets == column) & np.isfinite(sat) for column in columns)
        given: list[tuple[TicketPlan | HourRule, Flags]] = [*zip(plans, of_ticket, strict=True)]
    else:
        given = [(rule, (sat >= rule.from_at) & (sat < rule.until_at)) for rule in hours]
    counts = np.zeros(3)
    for promise, there in given:
        after_s, sat_at = promise.after_sitting_s.p90, sat[there]
        if promise.hand_over not in COUNTED or after_s is None:
            continue
        if isinstance(promise, HourRule):
            told_at = sat_at + (promise.promise_after_s or 0.0)
        else:
            told_at = np.array([round_up_s(at + after_s) for at in sat_at])
        ends_at = (run.ready_at if promise.ready_as == "dry" else run.dried.touch_at)[there]
        counts += (ends_at <= sat_at + after_s).sum(), (ends_at <= told_at).sum(), ends_at.size
    unrounded, rounded, count = counts
    return (float(unrounded / count), float(rounded / count)) if count else None
