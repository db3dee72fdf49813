"""What each sitter is told: when to come back, and whether the print will be dry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event.day import Day
from drybox.planning.day.samples import Ticket
from drybox.planning.day.simulation import DayRun
from drybox.planning.scenario.percentiles import UNKNOWN, Range, quantiles_of_next

Array = NDArray[np.float64]
HandOver = Literal["dry", "touch_dry", "pick_up", "damp", "mail"]

ROUND_UP_S = 300.0
"""Promises are rounded up to this. [s]"""


@dataclass(frozen=True)
class TicketPlan:
    """One print through the day: the likely time of each stage, the range of drying, the promise.

    ``slot`` counts from 1. ``after_arrival_s`` is from arrival to dry and flat (to washed and
    blotted where it is not dried). ``ready_s`` is when it is dry and flat, its P90 the promise
    before rounding. ``waits_for`` names an earlier ticket on the same way whose promise this one
    may not come before.
    """

    ticket: str
    name: str
    arrives_s: float
    sitting_s: float
    wet_end_s: float
    wash_from_s: float
    washed_s: float
    way: str | None
    slot: int | None
    laid_on_s: float | None
    touch_dry_s: Range
    dry_s: Range
    ready_s: Range
    promise_s: float | None
    hand_over: HandOver
    after_arrival_s: Range
    why: str
    promised_s: float | None = None
    keeps_frac: float | None = None
    waits_for: str = ""


def promises(
    run: DayRun, tickets: tuple[Ticket, ...], arrive_s: Array, day: Day, closes_s: float
) -> tuple[TicketPlan, ...]:
    """Return what each ticket that is reached in most draws is told.

    Parameters
    ----------
    run : DayRun
        The drawn days.
    tickets : tuple of Ticket
        By column.
    arrive_s : array
        When each comes, (n, tickets). [s]
    day : Day
        Blotting.
    closes_s : float
        When the event closes. [s]

    Returns
    -------
    tuple of TicketPlan
        In order of arrival.

    Notes
    -----
    A promise is the time that nine prints in ten keep, flat weight included, rounded up to five
    minutes. It is given for a dry print only if nine in ten are dry and flat by the closing and
    within the wait limit; else for one that is touch dry, taken along open between blotters, if
    nine in ten are that by then; else for one to be fetched later, dry or touch dry by the
    closing; else for a damp one in its sleeve, if nine in ten are washed; else the print is
    mailed. On one way of drying a later ticket is never promised earlier.
    """
    seen = _Seen(run, arrive_s, day)
    found = [
        _plan(seen, place, tickets[column], closes_s) for place, column in enumerate(seen.chosen)
    ]
    left = quantiles_of_next(seen.known(run.dried.left_s), 0.5)[0]
    return _in_turn(_in_slots(found, left, run.setup.means.slots))


class _Seen:
    """Percentiles of each stage, by place among the tickets that most draws reach."""

    def __init__(self, run: DayRun, arrive_s: Array, day: Day) -> None:
        wet, dried = run.setup.wet, run.dried
        self.run, self.day = run, day
        self.there = np.isfinite(wet.sat_s)
        self.chosen = np.flatnonzero(self.there.mean(axis=0) >= 0.5)
        self.blotted_s = wet.wash.washed_s + day.blotting_s
        known = self.known
        self.middle = {
            name: quantiles_of_next(known(values), 0.5)[0]
            for name, values in {
                "arrives_s": arrive_s,
                "sitting_s": wet.sat_s,
                "wet_end_s": wet.wet.done_s,
                "wash_from_s": wet.wash.begun_s,
                "washed_s": wet.wash.washed_s,
                "laid_on_s": dried.laid_s,
                "until_s": run.until_s,
            }.items()
        }
        if day.rate_1_s is not None:
            # the last tickets come only on busy days, which are early; in line they still come last
            for values in self.middle.values():
                np.maximum.accumulate(values, out=values)
        self.touch = quantiles_of_next(known(dried.touch_s), 0.1, 0.5, 0.9)
        self.dry = quantiles_of_next(known(dried.dry_s), 0.1, 0.5, 0.9)
        self.ready = quantiles_of_next(known(run.ready_s), 0.1, 0.5, 0.9)
        self.blotted = quantiles_of_next(known(self.blotted_s), 0.9)[0]
        on = np.array([run.ways[column] is not None for column in self.chosen], dtype=np.bool_)
        with np.errstate(invalid="ignore"):
            self.late = quantiles_of_next(known(run.ready_s - run.until_s), 0.9)[0]
            self.touch_late = quantiles_of_next(known(dried.touch_s - run.until_s), 0.9)[0]
            self.damp_late = quantiles_of_next(known(self.blotted_s - run.until_s), 0.9)[0]
            end = np.where(on, known(run.ready_s), known(self.blotted_s))
            self.after = quantiles_of_next(end - known(arrive_s), 0.1, 0.5, 0.9)

    def known(self, values: Array) -> Array:
        """Return the columns of the tickets chosen, NaN in draws that do not reach them."""
        return np.where(self.there, values, np.nan)[:, self.chosen]


def _plan(seen: _Seen, place: int, ticket: Ticket, closes_s: float) -> TicketPlan:
    run, column = seen.run, int(seen.chosen[place])
    way = run.ways[column]
    hung = np.isfinite(run.dried.laid_s[seen.there[:, column], column])
    laid = float(seen.middle["laid_on_s"][place])
    if not (hung.mean() >= 0.5 and np.isfinite(laid)):
        way = None  # most draws find no place for it before it has to go
    hand_over, promise, why = _told(
        way is not None,
        (float(seen.late[place]), float(seen.ready[2, place])),
        (float(seen.touch_late[place]), float(seen.touch[2, place])),
        (float(seen.damp_late[place]), float(seen.blotted[place])),
        float(seen.middle["until_s"][place]),
        closes_s,
    )
    if promise is not None and laid >= promise:
        way = None  # it has gone before its turn
    if way is None and run.ways[column] is not None and hand_over == "damp":
        why = "no place came free for it in time"
    stages = {name: float(values[place]) for name, values in seen.middle.items()}
    fetched = run.ready_s if seen.ready[2, place] <= closes_s else run.dried.touch_s
    ends = {"dry": run.ready_s, "touch_dry": run.dried.touch_s, "pick_up": fetched}
    end = ends.get(hand_over, seen.blotted_s)
    return TicketPlan(
        ticket=ticket.label,
        name=ticket.name,
        arrives_s=stages["arrives_s"],
        sitting_s=stages["sitting_s"],
        wet_end_s=stages["wet_end_s"],
        wash_from_s=stages["wash_from_s"],
        washed_s=stages["washed_s"],
        way=way,
        slot=None,
        laid_on_s=laid if way is not None else None,
        touch_dry_s=_range(seen.touch[:, place]) if way is not None else UNKNOWN,
        dry_s=_range(seen.dry[:, place]) if way is not None else UNKNOWN,
        ready_s=_range(seen.ready[:, place]) if way is not None else UNKNOWN,
        promise_s=promise,
        hand_over=hand_over,
        after_arrival_s=_range(seen.after[:, place]),
        why=why,
        promised_s=ticket.promised_s,
        keeps_frac=_kept(promise, end[seen.there[:, column], column]),
    )


def round_up_s(time_s: float) -> float:
    """Return the next full five minutes. [s].

    Examples
    --------
    >>> round_up_s(601.0), round_up_s(600.0)
    (900.0, 600.0)
    """
    return float(np.ceil(time_s / ROUND_UP_S - 1e-9) * ROUND_UP_S)


def _told(
    dried_here: bool,
    dry: tuple[float, float],
    touch: tuple[float, float],
    damp: tuple[float, float],
    until_s: float,
    closes_s: float,
) -> tuple[HandOver, float | None, str]:
    """Return hand-over, promise and reason from how late nine in ten are, and when."""
    if dried_here and dry[0] <= 0 and round_up_s(dry[1]) <= max(closes_s, dry[1]):
        return "dry", round_up_s(dry[1]), ""
    if dried_here and touch[0] <= 0 and round_up_s(touch[1]) <= max(closes_s, touch[1]):
        return "touch_dry", round_up_s(touch[1]), "not sure to be dry in time"
    for end, state in ((dry[1], "dry"), (touch[1], "touch dry")):
        if dried_here and round_up_s(end) <= closes_s:
            return "pick_up", round_up_s(end), f"{state} only after the wait; to be fetched then"
    if damp[0] <= 0:
        if not dried_here:
            return "damp", round_up_s(damp[1]), "no way dries it in time"
        latest = np.floor(until_s / ROUND_UP_S + 1e-9) * ROUND_UP_S
        why = "not sure to be dry in time; dry if lucky"
        return "damp", float(max(latest, round_up_s(damp[1]))), why
    return "mail", None, "not sure to be washed in time"


def _range(parts: Array) -> Range:
    return Range(*(_or_none(part) for part in parts))


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _kept(promise_s: float | None, end_s: Array) -> float | None:
    if promise_s is None or not end_s.size:
        return None
    return float(np.mean(end_s <= promise_s))


def _in_slots(plans: list[TicketPlan], left_s: Array, slots: Mapping[str, int]) -> list[TicketPlan]:
    """Return the plans with a slot each, taken in turn so that none is held twice.

    Each member has slots of its own; these follow the likely times. A slot is printed as free
    again at the likely time of pulling, and a print as laid on no earlier.
    """
    free: dict[str, Array] = {}
    order = sorted(range(len(plans)), key=lambda i: (plans[i].laid_on_s or np.inf, i))
    done = list(plans)
    for place in order:
        plan = plans[place]
        if plan.way is None or plan.laid_on_s is None:
            continue
        held = free.setdefault(plan.way, np.full(slots[plan.way], -np.inf))
        able = np.flatnonzero(held <= plan.laid_on_s)
        slot = int(able[0]) if able.size else int(held.argmin())
        held[slot] = max(float(left_s[place]), plan.laid_on_s)
        done[place] = replace(plan, slot=slot + 1)
    return done


def _in_turn(plans: list[TicketPlan]) -> tuple[TicketPlan, ...]:
    """Return the plans, no dry print promised before an earlier one on the same way."""
    latest: dict[str, TicketPlan] = {}
    found = []
    for plan in plans:
        way = plan.way
        if plan.hand_over == "dry" and way is not None and plan.promise_s is not None:
            before = latest.get(way)
            if before and before.promise_s and before.promise_s > plan.promise_s:
                plan = replace(plan, promise_s=before.promise_s, waits_for=before.ticket)
            latest[way] = plan
        found.append(plan)
    return tuple(found)


def kept_shares(
    plans: tuple[TicketPlan, ...], run: DayRun, columns: NDArray[np.intp]
) -> tuple[float, float] | None:
    """Return the shares of prints promised dry that are ready by their P90, and by the promise.

    Parameters
    ----------
    plans : tuple of TicketPlan
        What was promised.
    run : DayRun
        Days, maybe drawn by another seed than the promises'.
    columns : array of int
        Column of each plan's ticket in the run.

    Returns
    -------
    (float, float) or None
        Unrounded and rounded; None if none was promised dry.
    """
    unrounded, rounded, count = 0, 0, 0
    for plan, column in zip(plans, columns, strict=True):
        if plan.hand_over != "dry" or plan.promise_s is None or plan.ready_s.p90 is None:
            continue
        there = np.isfinite(run.setup.wet.sat_s[:, column])
        ready = run.ready_s[there, column]
        unrounded += int(np.sum(ready <= plan.ready_s.p90))
        rounded += int(np.sum(ready <= plan.promise_s))
        count += ready.size
    return (unrounded / count, rounded / count) if count else None
