"""What each sitter is told: when to come back, and whether the print will be dry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from drybox.arrays import Array, Flags
from drybox.inputs.event.day import Day
from drybox.inputs.event.event import Event
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.samples import Ticket
from drybox.planning.day.told.by_sitting import SHARES, SinceSitting, Sittings, as_range
from drybox.planning.scenario.percentiles import UNKNOWN, Range, or_never, quantiles_of_next

HandOver = Literal["dry", "touch_dry", "pick_up", "damp", "mail"]

ROUND_UP_S = 300.0
"""Promises are rounded up to this. [s]"""


@dataclass(frozen=True)
class TicketPlan:
    """One print through the day: the likely time of each stage, the range of drying, the promise.

    ``slot`` counts from 1; without water for it a print has no wash. ``sitting_at`` is when the
    ticket is likely to sit, and all that follows is what holds if it sits then:
    ``touch_dry_at`` and ``dry_at`` as from the likely laying-on, ``ready_at`` (dry and flat) as
    from the sitting. ``promise_after_s`` is what to promise from the sitting on, whenever that
    is; ``promise_at`` the same by the clock. Either is the P90 of ``after_sitting_s``, the time
    to what is promised (``ready_as``), rounded up to 5 minutes. ``after_arrival_s`` is from
    arrival to dry and flat (to washed and blotted where it is not dried). ``waits_for`` names
    an earlier ticket on the same way whose promise this one may not come before.

    ``promised_at`` is a promise given already, ``promised_range_s`` when the print is in the state
    it was promised in, as far as is known, and ``promised_keeps_frac`` how likely that is in time.
    ``stage`` is the last thing noted of the ticket on the day itself: ``sat``, ``laid``,
    ``touch``, ``dry`` or ``handed``. ``why`` is a code as in `Told`. ``further`` marks a sitter's
    second print and all after it.
    """

    ticket: str
    name: str
    arrives_at: float
    sitting_at: float
    wet_end_at: float
    wash_from_at: float | None
    washed_at: float | None
    way: str | None
    slot: int | None
    laid_on_at: float | None
    touch_dry_at: Range
    dry_at: Range
    ready_at: Range
    promise_at: float | None
    hand_over: HandOver
    after_arrival_s: Range
    why: str
    promised_at: float | None = None
    keeps_frac: float | None = None
    waits_for: str = ""
    promise_after_s: float | None = None
    after_sitting_s: Range = UNKNOWN
    ready_as: str = ""
    promised_range_s: Range = UNKNOWN
    promised_keeps_frac: float | None = None
    stage: str = ""
    further: bool = False


@dataclass(frozen=True)
class Told:
    """What a sitter is told: when, how long after the sitting, and for a print in which state.

    ``after_s`` is not rounded yet; ``end`` is ``dry``, ``touch_dry`` or ``damp``; ``why`` a code of
    what keeps it from being handed over dry, empty where nothing does.
    """

    hand_over: HandOver
    why: str
    end: str = ""
    promise_at: float | None = None
    after_s: float | None = None

    @property
    def promise_after_s(self) -> float | None:
        """How long after the sitting, rounded up."""
        return None if self.after_s is None else round_up_s(self.after_s)


def promises(
    run: DayRun,
    tickets: tuple[Ticket, ...],
    comes_at: Array,
    *,
    event: Event,
    day: Day,
    fits: Flags | None = None,
    sat: Flags | None = None,
) -> tuple[TicketPlan, ...]:
    """Return what each ticket that is reached in most draws is told, in order of arrival.

    ``comes_at`` is when each comes, (n, tickets) [s]. ``fits`` is which draws agree with what is
    known of each ticket on the day itself, (n, tickets); ``sat`` which tickets are known to have
    sat, (tickets,).

    A promise is the time that nine prints in ten keep once the sitter sits, flat weight included,
    rounded up to five minutes; of chance arrivals each ticket is told what holds of the sittings
    at its likely time, since it may come hours sooner or later. It is given for a dry print only
    if nine in ten are dry and flat by the closing and within the wait limit; else for one that is
    touch dry, taken along open between blotters, if nine in ten are that by then; else for one to
    be fetched later, dry or touch dry by the closing; else for a damp one in its sleeve, if nine
    in ten are washed; else the print is mailed. On one way of drying a later ticket is never
    promised earlier.
    """
    sat_at = run.setup.wet.sat_at
    there = np.isfinite(sat_at)
    chosen = np.flatnonzero(there.mean(axis=0) >= 0.5)
    own = Sittings.by_ticket(there if fits is None else there & fits, chosen)
    known = np.zeros(sat_at.shape[1], dtype=bool) if sat is None else sat
    group, sits_at = own, quantiles_of_next(own.of(sat_at), 0.5)[0]
    for begins, ends in day.breaks_s:  # the middle of draws before a break and after it
        in_break = (sits_at >= begins) & (sits_at < ends) & ~known[chosen]
        sits_at = np.where(in_break, ends, sits_at)
    if day.rate_1_s is not None:
        # the last tickets come only on busy days, which are early; in line they still come last
        sits_at = np.maximum.accumulate(sits_at)
        near = Sittings.near(np.where(known, np.inf, sat_at), sits_at)
        group = own.or_of(near, own_where=known[chosen])
    seen = SinceSitting(run, comes_at, day=day, group=group, sits_at=sits_at)
    found = []
    for place, column in enumerate(chosen):
        way, told = _way_told(
            seen, place, run.ways[column], closes_at=event.closes_at, noted=sat is not None
        )
        plan = _plan(seen, place, tickets[column], way=way, told=told, flat_s=run.lone_s)
        found.append(_with_promised(plan, seen, own, place=place, ticket=tickets[column]))
    return _in_turn(_in_slots(found, seen.likely["left_at"], run.setup.resources.slots))


def _way_told(
    seen: SinceSitting, place: int, way: str | None, *, closes_at: float, noted: bool
) -> tuple[str | None, Told]:
    """Return a ticket's way and what it is told; no way for one that has gone before its turn.

    One by mail has gone at the closing, but where the day's notes may say that it was laid on.
    """
    laid = float(seen.likely["laid_on_at"][place])
    told = told_at(seen, place, closes_at, dried=way is not None and bool(np.isfinite(laid)))
    gone_at = np.inf if noted else closes_at
    if way is None or laid < (gone_at if told.promise_at is None else told.promise_at):
        return way, told
    if told.hand_over != "damp":
        return None, told
    return None, replace(told, why="no_place")


def _plan(
    seen: SinceSitting, place: int, ticket: Ticket, *, way: str | None, told: Told, flat_s: float
) -> TicketPlan:
    sits = float(seen.sits_at[place])
    stages = {name: float(values[place]) for name, values in seen.likely.items()}
    laid = stages["laid_on_at"] if way is not None else np.inf
    washed = told.why != "no_water"
    touch, dry, ready = (UNKNOWN for _ in range(3))
    if np.isfinite(laid):
        dry = _from_laid(seen, "dry", place, last_s=-flat_s)
        touch = _from_laid(seen, "touch_dry", place)
        ready = seen.range_since("dry", place).scaled(1.0, sits)
        if ready.p10 is not None and dry.p10 is not None:
            ready = replace(ready, p10=max(ready.p10, dry.p10 + flat_s))
    return TicketPlan(
        ticket=ticket.label,
        name=ticket.name,
        arrives_at=stages["arrives_at"],
        sitting_at=sits,
        wet_end_at=stages["wet_end_at"],
        wash_from_at=stages["wash_from_at"] if washed else None,
        washed_at=stages["washed_at"] if washed else None,
        way=way,
        slot=None,
        laid_on_at=laid if np.isfinite(laid) else None,
        touch_dry_at=touch,
        dry_at=dry,
        ready_at=ready,
        promise_at=told.promise_at,
        hand_over=told.hand_over,
        after_arrival_s=as_range(seen.after_arrival[:, place]),
        why=told.why,
        promised_at=ticket.promised_at,
        keeps_frac=_kept(seen, place, told),
        promise_after_s=told.promise_after_s,
        after_sitting_s=seen.range_since(told.end, place),
        ready_as=told.end,
        further=ticket.label != ticket.sitter,
    )


def _with_promised(
    plan: TicketPlan, seen: SinceSitting, own: Sittings, *, place: int, ticket: Ticket
) -> TicketPlan:
    """Return the plan with what a promise already given looks like, whenever it sits."""
    if ticket.promised_at is None:
        return plan
    there = own.there[:, place]
    ends = seen.ends[ticket.promised_as][own.member[there, place], own.ticket[there, place]]
    return replace(
        plan,
        promised_range_s=as_range(quantiles_of_next(ends[:, None], *SHARES)[:, 0]),
        promised_keeps_frac=float(np.mean(ends <= ticket.promised_at)),
    )


def _from_laid(seen: SinceSitting, end: str, place: int, *, last_s: float = 0.0) -> Range:
    """Return when a print laid on at the likely time is dry; its P90 not past the sitting's."""
    low, middle, high = seen.likely["laid_on_at"][place] + seen.since_laid[end][:, place]
    most = seen.sits_at[place] + seen.since[end][2, place] + last_s
    return as_range(np.array([low, middle, max(middle, min(high, most))]))


def round_up_s(time_at: float) -> float:
    """Return the next full five minutes. [s].

    Examples
    --------
    >>> round_up_s(601.0), round_up_s(600.0)
    (900.0, 600.0)
    """
    return float(np.ceil(time_at / ROUND_UP_S - 1e-9) * ROUND_UP_S)


def told_at(seen: SinceSitting, place: int, closes_at: float, *, dried: bool) -> Told:
    """Return what the sitters of the group at a place are told.

    ``dried`` is whether their prints take a way of drying.
    """
    sits = float(seen.sits_at[place])
    after = {name: float(since[2, place]) for name, since in seen.since.items()}
    late = {name: float(by[place]) for name, by in seen.late.items()}

    def told(hand_over: HandOver, end: str, why: str = "") -> Told:
        by = round_up_s(sits + after[end])
        return Told(hand_over, why, end, promise_at=by, after_s=after[end])

    ends: tuple[Literal["dry", "touch_dry"], ...] = ("dry", "touch_dry")
    for end in ends if dried else ():
        by = sits + after[end]
        if late[end] <= 0 and round_up_s(by) <= max(closes_at, by):
            return told(end, end, "" if end == "dry" else end)
    for end in ends if dried else ():
        if round_up_s(sits + after[end]) <= closes_at:
            return told("pick_up", end, f"fetched_{end}")
    if late["damp"] > 0:
        return Told("mail", "no_water" if seen.no_water[place] else "not_washed")
    if not dried:
        return told("damp", "damp", "no_way")
    until_at, left_at = (float(seen.likely[name][place]) for name in ("until_at", "left_at"))
    until_at = closes_at if left_at > until_at + ROUND_UP_S else min(until_at, closes_at)
    latest = np.floor(until_at / ROUND_UP_S + 1e-9) * ROUND_UP_S
    by = float(max(latest, round_up_s(sits + after["damp"])))
    return Told("damp", "if_lucky", "damp", promise_at=by, after_s=by - sits)


def _kept(seen: SinceSitting, place: int, told: Told) -> float | None:
    """Return the share of a group's sittings that are as far by what is promised."""
    if told.promise_at is None:
        return None
    after = seen.after_s(told.end, place)
    return float(np.mean(after <= told.promise_at - seen.sits_at[place])) if after.size else None


def _in_slots(
    plans: list[TicketPlan], left_at: Array, slots: Mapping[str, int]
) -> list[TicketPlan]:
    """Return the plans with a slot each, taken in turn so that none is held twice.

    Each member has slots of its own; these follow the likely times. A slot is printed as free
    again at the likely time of pulling, and a print as laid on no earlier.
    """
    free: dict[str, Array] = {}
    order = sorted(range(len(plans)), key=lambda i: (or_never(plans[i].laid_on_at), i))
    done = list(plans)
    for place in order:
        plan = plans[place]
        if plan.way is None or plan.laid_on_at is None:
            continue
        held = free.setdefault(plan.way, np.full(slots[plan.way], -np.inf))
        able = held <= plan.laid_on_at
        slot = int(able.argmax() if able.any() else held.argmin())
        held[slot] = max(float(left_at[place]), plan.laid_on_at)
        done[place] = replace(plan, slot=slot + 1)
    return done


def _in_turn(plans: list[TicketPlan]) -> tuple[TicketPlan, ...]:
    """Return the plans, no dry print promised before an earlier one on the same way."""
    latest: dict[str, TicketPlan] = {}
    found = []
    for plan in plans:
        way = plan.way
        if plan.hand_over == "dry" and way is not None and plan.promise_at is not None:
            before = latest.get(way)
            if before and before.promise_at and before.promise_at > plan.promise_at:
                later = before.promise_at - plan.promise_at
                plan = replace(
                    plan,
                    promise_at=before.promise_at,
                    promise_after_s=(plan.promise_after_s or 0.0) + later,
                    waits_for=before.ticket,
                )
            latest[way] = plan
        found.append(plan)
    return tuple(found)
