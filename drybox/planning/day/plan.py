"""The event day: a promise for every sitter, the bottleneck, and what one more would bring.

In each drawn day sitters, hands, tanks, wash trays, plate and line are run through from the
opening to the closing; all prints on the plate are one simulation with it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.day import USUAL_WAYS, DayInputs, read_day_inputs
from drybox.inputs.event.event import Event
from drybox.planning.aim.search import AimPlan
from drybox.planning.aim.spots import PlaceSpots, place_spots
from drybox.planning.day.drying_table import PLATE, SLOT_NAMES, WARM_PLATE
from drybox.planning.day.other.opening import opening_earlier
from drybox.planning.day.other.plate import other_plates
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.samples import DayDraws, draw_day
from drybox.planning.day.simulation import DaySimulation, told_day
from drybox.planning.day.stages import CAMERA, Resources, SetUp, usual_resources
from drybox.planning.day.supplies import day_baths, packing, wash_of_day, wash_water, water_limit
from drybox.planning.day.told.hours import HourRule
from drybox.planning.day.told.kept import kept_shares
from drybox.planning.day.told.now import told_sitters, with_promises
from drybox.planning.day.told.pulls import MissedPull, missed_pulls
from drybox.planning.day.told.so_far import Now, Underway
from drybox.planning.day.ways import BATTERY
from drybox.planning.day.what_if import NEVER, Trial, WhatIf, outcome, trials
from drybox.planning.finish.day import DayFinish
from drybox.planning.one_print.hot_metal import hottest_of_k, thermostat_k
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.percentiles import or_never
from drybox.planning.scenario.readings import Readings
from drybox.planning.wet.baths import BathPlan, Supply
from drybox.planning.wet.wash import WashPlan, plan_wash
from drybox.readable import Readable

MEMBERS = 200
WORTH_PRINTS = 0.25
"""Dry prints a day below which one more of a thing shows no bottleneck."""

BUSY_FRAC = 0.9
"""Share of the open hours above which a thing is always busy (judgement)."""

LIMITS = ("water", "battery", "heat", "aim")
"""What may hold a day up without being busy."""

QUICKER = ("pick-up", "box")
"""What helps where drying takes long: where it brings more, nothing that is busy is to blame."""

ENDS = {
    "no_water": "water",
    "not_washed": "closing",
    "no_place": "places",
    "fetched_dry": "drying",
    "fetched_touch_dry": "drying",
    "touch_dry": "drying",
    "if_lucky": "drying",
    "no_way": "drying",
}
"""Why a print is not handed over dry → what ends its day, where nothing is waited for."""

MINUTE_S = 60.0
"""What is due within a minute is due now, and what is ready within that promised is in time. [s]"""


@dataclass(frozen=True, eq=False, repr=False)
class DayPlan(Readable):
    """All that is planned for one event day; times in unix seconds.

    ``utilisation`` is the share of the open hours each thing is busy. ``broken`` are tickets whose
    promise, given already, nine days in ten do not keep, the worst first. ``hours`` is what to
    promise whoever sits down in an hour. ``kept_frac`` is the share of promises given at the
    sitting that are kept, by their P90 and as rounded up, in the draws behind them. ``too_hot_s``
    are laying-on times at which the plate is too hot for a print, ``metal_k`` is how hot its metal
    may get, ``powered_metal_k`` that of a powered plate that is used. ``not_reached`` are tickets
    whose sitting most draws do not begin before closing.
    """

    event: Event
    inputs: DayInputs
    told: Conditions
    tickets: tuple[TicketPlan, ...]
    not_reached: tuple[str, ...]
    bottleneck: str | None
    utilisation: dict[str, float]
    what_if: tuple[WhatIf, ...]
    bring: tuple[Supply, ...]
    baths: BathPlan
    wash: WashPlan
    spots: PlaceSpots
    broken: tuple[TicketPlan, ...]
    kept_frac: tuple[float, float] | None
    aim: AimPlan | None
    no_plate: NoAnswerError | None
    members: int
    seed: int
    run: DayRun
    readings: Readings = field(default_factory=Readings)
    too_hot_s: tuple[float, ...] = ()
    metal_k: float | None = None
    powered_metal_k: float | None = None
    hours: tuple[HourRule, ...] = ()
    finish: DayFinish | None = None
    now: Now | None = None
    missed_pulls: tuple[MissedPull, ...] = ()
    other_sky: DayPlan | None = None

    @property
    def hottest_k(self) -> float | None:
        """How hot the metal of the plates that the day uses may get; None where none is. [K]"""
        return hottest_of_k(self.metal_k, self.powered_metal_k)

    @property
    def last_dry_ticket(self) -> str | None:
        """The last ticket to be handed over dry."""
        dry = [plan.ticket for plan in self.tickets if plan.hand_over == "dry"]
        return dry[-1] if dry else None

    @property
    def longest_wait(self) -> tuple[TicketPlan, tuple[float, float] | None] | None:
        """The ticket that waits longest to be sat, and the break that it waits for, if any.

        It waits for a break where it comes in one, or behind somebody who does, and the break is
        no less than half of the wait (judgement). A sitter's further prints wait for nobody.
        """
        worst: tuple[TicketPlan, tuple[float, float] | None] | None = None
        behind: tuple[float, float] | None = None
        before_at, longest_s = -np.inf, 0.0
        for plan in self.tickets:
            if plan.arrives_at >= before_at:
                behind = None
            for begins, ends in self.inputs.day.breaks_s:
                if plan.arrives_at < ends and plan.sitting_at > begins:
                    behind = begins, ends
            wait_s = plan.sitting_at - plan.arrives_at
            if not plan.further and wait_s > longest_s:
                rests = behind is not None and 2.0 * (behind[1] - behind[0]) >= wait_s
                worst, longest_s = (plan, behind if rests else None), wait_s
            before_at = plan.sitting_at
        return worst

    @property
    def overdue(self) -> tuple[str, ...]:
        """Tickets laid on and not noted dry that nine draws in ten have dry by now.

        Or touch dry, of a print that leaves its place so.
        """
        if self.now is None:
            return ()
        soon_at = self.now.now_at + MINUTE_S

        def due(plan: TicketPlan) -> bool:
            touch = plan.stage == "laid" and plan.ready_as == "touch_dry"
            marks = (plan.dry_at, plan.touch_dry_at) if touch else (plan.dry_at,)
            return min(or_never(mark.p90) for mark in marks) <= soon_at

        return tuple(
            plan.ticket for plan in self.tickets if plan.stage in ("laid", "touch") and due(plan)
        )

    @property
    def off_plate_way(self) -> str:
        """The way by which most prints dry off the plate, else one with a place; empty for none.

        And where no print of the plan dries.
        """
        ways = [ticket.way for ticket in self.tickets if ticket.way]
        others = [way for way in ways if way != PLATE]
        if others:
            return max(set(others), key=others.count)
        if self.tickets and not ways:
            return ""
        slots = self.run.setup.resources.slots
        return next((way for way, count in slots.items() if count and way != PLATE), "")

    def lies_on_plate_before(self, at: float) -> bool:
        """Return whether a print is laid on the sun plate before a time. [s]"""
        return any(t.way == PLATE and (t.laid_on_at or at) < at for t in self.tickets)

    def way_between(self, from_at: float, until_at: float) -> str:
        """Return the way to dry by in a stretch without sun: the plate where most lie on it.

        Else `off_plate_way`. [s]
        """
        laid = [t.way for t in self.tickets if from_at <= (t.laid_on_at or 0.0) < until_at]
        return PLATE if 2 * laid.count(PLATE) > len(laid) else self.off_plate_way

    @property
    def plate_slots(self) -> int:
        """Places on the plate."""
        return self.run.setup.resources.slots.get(PLATE, 0)


def plan_day(
    event: Event,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    what_if: bool = True,
    now_at: float | None = None,
) -> DayPlan:
    """Return a promise for every sitter of an event day, and what limits it.

    ``now_at`` is an instant of the day: what was noted up to then is fixed in every draw. [s]
    ``what_if`` also tries one more of each thing; not in the middle of the day. `NoAnswerError`
    where the water does not suffice for a wash.
    """
    inputs = read_day_inputs(event)
    wash = wash_of_day(event, inputs, members=members, seed=seed)
    told = told_day(event)
    draws = with_promises(event, draw_day(event, inputs, told, members=members, seed=seed))
    limit = water_limit(event, inputs, wash, members=members, seed=seed)
    resources = replace(usual_resources(event, inputs, wash), water=limit)
    under = None
    if now_at is not None:
        under = Underway(event, inputs, draws, resources=resources, now_at=now_at)
        draws = under.draws
    simulation = DaySimulation(event, inputs, told, draws=draws)
    simulation.underway = under
    also = what_if and under is None and bool(draws.tickets)
    run, tried, usage = _run(simulation, resources, wash, what_if=also, seed=seed)
    run, plans, hours = told_sitters(run, draws, under, event=event, day=inputs.day, seed=seed)
    waits = tuple(plan for plan in plans if plan.stage not in ("dry", "handed"))
    water = wash_water(run.setup.wet, wash, plan_wash(replace(inputs.wash, prints=1)))
    baths = day_baths(event, inputs, water, prints=len(plans))
    return DayPlan(
        event=event,
        inputs=inputs,
        told=told,
        tickets=plans,
        not_reached=_not_reached(draws, plans),
        bottleneck=_bottleneck(usage, tried, plans, simulation=simulation, run=run),
        utilisation=usage,
        what_if=tried,
        bring=packing(plans, run, baths, finish=simulation.finish),
        finish=simulation.finish,
        baths=baths,
        wash=wash,
        spots=place_spots(event, told),
        broken=_broken(plans),
        hours=hours,
        missed_pulls=missed_pulls(simulation, run, plans, columns=columns_of(draws, plans)),
        now=None if under is None else under.now,
        kept_frac=kept_shares(waits, hours, run, columns=columns_of(draws, waits), day=inputs.day),
        aim=simulation.aim,
        no_plate=simulation.no_plate,
        members=members,
        seed=seed,
        run=run,
        readings=draws.readings,
        too_hot_s=simulation.too_hot_s,
        metal_k=simulation.metal_k,
        powered_metal_k=thermostat_k(event) if WARM_PLATE in run.ways else None,
    )


def _run(
    simulation: DaySimulation, resources: Resources, wash: WashPlan, *, what_if: bool, seed: int
) -> tuple[DayRun, tuple[WhatIf, ...], dict[str, float]]:
    """Run the day as it is and, beside it, with one more of each thing; say what is busy."""
    event, inputs, under = simulation.event, simulation.inputs, simulation.underway
    wet = under.wet() if under else None
    members = simulation.draws.arrive_at.shape[0]
    base = SetUp(resources, wet) if wet else simulation.set_up(resources, members)
    usage = _usage(base, event, inputs)
    taken = under.ways() if under else {}
    choice = simulation.choose(base, taken)
    ways = tuple(taken.get(column, way) for column, way in enumerate(choice.ways))
    choice = replace(choice, ways=ways)
    tried: list[Trial] = []
    idle: list[WhatIf] = []
    if what_if:
        busiest = _busiest_bath(inputs, usage)
        tried, idle = trials(simulation, base, choice, wash=wash, busiest=busiest)
    run, *others = simulation.run(
        [base, *(trial.setup for trial in tried)], [choice, *(trial.choice for trial in tried)]
    )
    found = [outcome(trial, other, run) for trial, other in zip(tried, others, strict=True)]
    if what_if:
        found += [*opening_earlier(simulation, run, seed), *other_plates(simulation, run)]
    usage |= _usage_after_washing(run, simulation)
    return run, tuple(sorted((*found, *idle), key=lambda one: one.rank)), usage


def columns_of(draws: DayDraws, plans: tuple[TicketPlan, ...]) -> NDArray[np.intp]:
    """Return the column of each plan's ticket among the draws."""
    places = {ticket.label: column for column, ticket in enumerate(draws.tickets)}
    return np.array([places[plan.ticket] for plan in plans], dtype=np.intp)


def _not_reached(draws: DayDraws, plans: tuple[TicketPlan, ...]) -> tuple[str, ...]:
    """Return the tickets that come in most draws and whose sitting does not begin in time."""
    planned = {plan.ticket for plan in plans}
    comes = np.isfinite(draws.arrive_at).mean(axis=0) >= 0.5
    return tuple(
        ticket.label
        for ticket, expected in zip(draws.tickets, comes, strict=True)
        if expected and ticket.label not in planned
    )


def _usage(base: SetUp, event: Event, inputs: DayInputs) -> dict[str, float]:
    """Return the share of the open hours that hands, camera, baths and wash are busy."""
    line, wet, n = base.wet.line, base.wet.wet, base.members
    closes, open_s = event.closes_at, event.closes_at - event.opens_at
    worked = open_s - sum(min(e, closes) - b for b, e in line.breaks_s if b < closes)
    held = _inside_s(wet.begun_at, wet.hands_off_s, event)
    finishing = np.isfinite(wet.done_s).sum() * line.finishing_s
    usage = {"hands": (held + finishing) / (n * line.hands * max(worked, 1.0))}
    names = ["camera", *(bath.name for bath in inputs.process.baths)]
    busy = np.zeros(len(line.vessels))
    for number, run in enumerate(line.runs):
        for use in run.uses:
            begun = wet.begun_at[number]
            busy[use.vessel] += _inside_s(begun + use.from_at, begun + use.until_at, event)
    for vessel, count in enumerate(line.vessels):
        if busy[vessel]:  # a vessel that sheets share is never short
            usage[names[vessel]] = float(busy[vessel]) / (n * count * open_s)
    washing_s = base.wet.wash.batches.mean() * base.resources.wash_s
    usage["wash trays"] = float(washing_s / (base.resources.wash_trays * open_s))
    if base.wet.short.any():
        usage["water"] = 1.0
    return {name: min(value, 1.0) for name, value in usage.items()}


def _usage_after_washing(run: DayRun, simulation: DaySimulation) -> dict[str, float]:
    """Return the share of the open hours that places to dry, and hands for finishing, are taken."""
    event, finish = simulation.event, simulation.finish
    open_s = event.closes_at - event.opens_at
    usage = {}
    for way, count in run.setup.resources.slots.items():
        columns = np.array([taken == way for taken in run.ways], dtype=np.bool_)
        if count and (columns.any() or way in USUAL_WAYS):
            taken_s = _inside_s(run.dried.laid_at[:, columns], run.dried.left_at[:, columns], event)
            usage[SLOT_NAMES[way]] = taken_s / (run.setup.members * count * open_s)
    if finish.stages:
        worked_s = open_s * max(finish.helpers, 1)
        usage["finishing"] = min(float(run.finishing_s.mean()) / worked_s, 1.0)
    return usage


def _inside_s(begins: Array, ends: Array, event: Event) -> float:
    """Return the time that stretches which begin take up of the open hours, in sum. [s]"""
    known = np.isfinite(begins)
    until, since = (
        np.minimum(ends[known], event.closes_at),
        np.maximum(begins[known], event.opens_at),
    )
    return float(np.maximum(until - since, 0.0).sum())


def _bottleneck(
    usage: dict[str, float],
    found: tuple[WhatIf, ...],
    plans: tuple[TicketPlan, ...],
    *,
    simulation: DaySimulation,
    run: DayRun,
) -> str | None:
    """Return what one more of would bring most, else what is always busy, else what ends the day.

    What nobody waits for, or one more of brings nothing, holds nothing up, however busy. A powered
    plate that brings most where nobody waits for a place on the sun plate shows that drying takes
    long. The ends are ``water``, ``drying`` within the time that sitters wait, ``heat`` or
    ``battery`` that keep a print from drying sooner, ``closing`` where that is sooner, ``places``
    where one came free too late; ``nothing`` where every print goes home dry. None without tickets.
    """
    if not plans:
        return None
    idle = {tried.of for tried in found if tried.why == NEVER}
    short = {*usage, *LIMITS} - idle
    slow = {"power"} if SLOT_NAMES[PLATE] in idle else set()
    known = [tried for tried in found if tried.of in {*short, *QUICKER, *slow}]
    best = max(known, key=_gained, default=None)
    if best and best.of in short and _gained(best) >= WORTH_PRINTS:
        return best.of
    dries_late = best is not None and _gained(best) >= WORTH_PRINTS
    busy = {name: share for name, share in usage.items() if name not in idle}
    most = max(busy, key=lambda name: busy[name], default="")
    spent = BATTERY in run.choice.waited
    ends = [_end(plan, simulation, spent) for plan in plans if plan.hand_over != "dry"]
    end = max(sorted(set(ends)), key=ends.count) if ends else "nothing"
    in_vain = {tried.of for tried in known}
    always = most and busy[most] >= BUSY_FRAC and not dries_late and most not in in_vain
    return most if always and end not in LIMITS else end


def _gained(tried: WhatIf) -> float:
    """Return the prints gained: one that is dry in time counts, one to be fetched half."""
    return 0.5 * (tried.more_dry_prints + max(tried.more_by_closing_prints, tried.more_dry_prints))


def _end(plan: TicketPlan, simulation: DaySimulation, spent: bool) -> str:
    """Return what ends the day of a print that is not handed over dry.

    ``spent`` tells that the battery does not last for all.
    """
    if or_never(plan.washed_at) < simulation.event.closes_at:
        if spent and plan.way is None:
            return "battery"
        if simulation.too_hot_s and plan.way != PLATE:
            return "heat"
    end, wait_s = ENDS[plan.why], simulation.inputs.day.wait_limit_s
    sooner = plan.sitting_at + wait_s > simulation.event.closes_at
    return "closing" if end == "drying" and sooner else end


def _busiest_bath(inputs: DayInputs, usage: dict[str, float]) -> int:
    used = [usage.get(bath.name, 0.0) for bath in inputs.process.baths]
    return 1 + used.index(max(used)) if used else CAMERA


def _broken(plans: tuple[TicketPlan, ...]) -> tuple[TicketPlan, ...]:
    """Return those whose promise, given already, nine days in ten do not keep, the worst first."""
    found = [
        plan
        for plan in plans
        if plan.promised_at is not None
        and plan.stage != "handed"
        and or_never(plan.promised_range_s.p90) >= plan.promised_at + MINUTE_S
    ]
    return tuple(sorted(found, key=lambda plan: plan.promised_keeps_frac or 0.0))
