"""Which way of drying each ticket takes: the one where nine in ten are dry soonest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event.event import Event
from drybox.inputs.event.paper import Paper
from drybox.physics.simulation.day_run import PlateDay
from drybox.physics.simulation.forcing import Forcing
from drybox.planning.scenario.models import (
    PrintDraw,
    box_system,
    dry_targets,
    free_sheet_system,
    laid_on_water_kg_m2,
)
from drybox.planning.scenario.percentiles import quantiles_of_next
from drybox.planning.scenario.rain import Spell, next_rain, wait_for_dry
from drybox.planning.scenario.samples import Ensemble

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

PLATE, LINE = "sun_plate", "line"
EVERY_S = 1800.0
"""Between the laying-on times that are worked out; others lie on the line between. [s]"""

WARM_UP_S = 2400.0
"""How long the empty plate is followed before a print that tells how the plate dries. [s]"""


LONE_STEP_S, QUICK_STEP_S = 120.0, 15.0
"""Steps of lone prints, and of those that dry quickly. [s]"""

QUICK_WATER_KG_M2 = 0.1
"""A sheet with less water than this dries within few steps. [kg/m²]"""

RARELY = 0.01
"""Share of draws in which waiting for a slot is worth a word."""


@dataclass(frozen=True, eq=False)
class DryingTable:
    """Time to touch dry and to dry by laying-on time; infinite if too long.

    ``starts_s`` is (starts,), the times (members, starts).
    """

    starts_s: Array
    touch_after_s: Array
    after_s: Array

    def after(self, laid_s: Array, member: Indices) -> tuple[Array, Array]:
        """Return the times to touch dry and to dry of prints laid on at some times. [s].

        Parameters
        ----------
        laid_s : array
            When, (n,). [s]
        member : array of int
            In which members, (n,).
        """
        last = self.starts_s.size - 1
        place = np.clip((laid_s - self.starts_s[0]) / EVERY_S, 0.0, last)
        place = np.where(np.isfinite(laid_s), place, last)
        left = np.minimum(place.astype(np.intp), max(last - 1, 0))
        right = np.minimum(left + 1, last)
        share = place - left

        def mixed(table: Array) -> Array:
            before, after = table[member, left], table[member, right]
            with np.errstate(invalid="ignore"):
                between = before + (after - before) * share
            between = np.where(share <= 0.0, before, between)
            return np.where(np.isnan(between), np.inf, between)

        return mixed(self.touch_after_s), mixed(self.after_s)


def is_quick(paper: Paper) -> bool:
    """Return whether a print has so little to lose that it needs short steps."""
    return paper.resin_coated or paper.water_kg_m2 < QUICK_WATER_KG_M2


def kept_dry(table: DryingTable, spells: tuple[Spell, ...]) -> DryingTable:
    """Return the table of a way out of doors, where prints wait for rain to end.

    Parameters
    ----------
    table : DryingTable
        As if it did not rain.
    spells : tuple of Spell
        Rain that dries nothing out of doors.
    """
    if not spells:
        return table
    members = np.arange(table.after_s.shape[0])
    laid = wait_for_dry(table.starts_s, spells)
    rain = next_rain(laid, spells)
    touch, after = (np.empty_like(table.after_s) for _ in range(2))
    for k, (start, begun, until) in enumerate(zip(table.starts_s, laid, rain, strict=True)):
        took_s = table.after(np.full(members.size, begun), members)
        for kept, took in zip((touch, after), took_s, strict=True):
            kept[:, k] = np.where(begun + took <= until, begun - start + took, np.inf)
    return DryingTable(table.starts_s, touch, after)


def laying_on_times_s(first_s: float, last_s: float) -> Array:
    """Return laying-on times from a first one to one past the last. [s]."""
    count = max(int(np.ceil((last_s - first_s) / EVERY_S)), 1)
    return np.asarray(first_s + EVERY_S * np.arange(count + 1.0))


def plate_table(
    event: Event,
    ensemble: Ensemble,
    forcing: Forcing,
    member: Indices,
    starts_s: Array,
    longest_s: float,
) -> DryingTable:
    """Return how a single print dries on the plate in some members.

    Parameters
    ----------
    event : Event
        Box, paper and limits.
    ensemble : Ensemble
        What box and paper are like in each member.
    forcing : Forcing
        Light and weather at the plate.
    member : array of int
        Which members.
    starts_s : array
        Laying-on times. [s]
    longest_s : float
        How long a print is followed. [s]
    """
    case = np.tile(member, starts_s.size)
    laid = np.repeat(starts_s, member.size)
    prints = ensemble.prints.of(case)
    system = box_system(event.box, event.paper, prints)
    marks = dry_targets(event.paper, event.limits).marks_kg_m2
    plate = PlateDay(system, forcing, case, laid - WARM_UP_S, marks)
    for _ in range(round(WARM_UP_S / LONE_STEP_S)):
        plate.advance(LONE_STEP_S)
    after = _dry_after_s(event, plate, forcing, case, laid, prints, longest_s)
    return DryingTable(starts_s, *(one.reshape(starts_s.size, member.size).T for one in after))


def line_table(
    event: Event,
    ensemble: Ensemble,
    forcing: Forcing,
    way: str,
    member: Indices,
    starts_s: Array,
    longest_s: float,
) -> DryingTable:
    """Return how a print dries off the box in some members; prints on a line do not interact.

    Parameters
    ----------
    event, ensemble, forcing, member, starts_s, longest_s
        As in `plate_table`; the forcing is that of the way.
    way : str
        An item of the table ``ways``.
    """
    case = np.tile(member, starts_s.size)
    laid = np.repeat(starts_s, member.size)
    prints = ensemble.prints.of(case)
    system = free_sheet_system(event.paper, way, prints)
    marks = dry_targets(event.paper, event.limits).marks_kg_m2
    sheet = PlateDay(system, forcing, case, laid, marks)
    after = _dry_after_s(event, sheet, forcing, case, laid, prints, longest_s)
    return DryingTable(starts_s, *(one.reshape(starts_s.size, member.size).T for one in after))


def _dry_after_s(
    event: Event,
    held: PlateDay,
    forcing: Forcing,
    case: Indices,
    laid_s: Array,
    prints: PrintDraw,
    longest_s: float,
) -> Array:
    """Lay one print on in every case and follow all until they are dry, (marks, cases)."""
    sheet = held.sheet
    step_s = QUICK_STEP_S if is_quick(event.paper) else LONE_STEP_S

    def each(value: Array | float) -> Array:
        return np.broadcast_to(np.ravel(value), case.shape)

    held.lay_on(
        np.arange(case.size),
        np.zeros(case.size, dtype=np.intp),
        forcing.at(case, laid_s).air_temp_k,
        each(np.asarray(laid_on_water_kg_m2(event.paper, prints))),
        each(sheet.contact_wet_w_m2_k),
        each(sheet.contact_dry_w_m2_k),
        each(sheet.absorptance_frac),
    )
    after = np.full((2, case.size), np.inf)
    for _ in range(int(np.ceil(longest_s / step_s))):
        after = np.minimum(after, held.advance(step_s)[..., 0] - laid_s)
        if np.isfinite(after).all():
            break
    return after


@dataclass(frozen=True)
class Choice:
    """The way of each ticket (None: not dried here), and whether slots were ever waited for."""

    ways: tuple[str | None, ...]
    waited: frozenset[str]


def choose_ways(
    lay_s: Array,
    until_s: Array,
    tables: dict[str, DryingTable],
    slots: dict[str, int],
    member: Indices,
) -> Choice:
    """Return the way on which nine in ten of each ticket are dry soonest.

    Parameters
    ----------
    lay_s : array
        When each print could be laid on, (n, tickets); infinite if it is not reached. [s]
    until_s : array
        When it must be dry, (n, tickets). [s]
    tables : dict of str to DryingTable
        How a print dries on each way.
    slots : dict of str to int
        Places on each way.
    member : array of int
        Rows of the tables, (n,).

    Returns
    -------
    Choice
        A ticket takes none where not even half would be touch dry in time on any.

    Notes
    -----
    Tickets choose in order of their median time, each given the slots that those before it hold;
    a way on which nine in ten are dry goes before one on which they are touch dry. A print leaves
    its slot when it is dry, or when it must be handed over. Prints that cool each other are left
    to the simulation that follows.
    """
    free = {way: np.full((member.size, count), -np.inf) for way, count in slots.items() if count}
    ways: list[str | None] = [None] * lay_s.shape[1]
    waited: set[str] = set()
    rows = np.arange(member.size)
    middle = np.median(lay_s, axis=0) if lay_s.size else np.zeros(0)
    for ticket in np.argsort(middle, kind="stable"):
        ready = lay_s[:, ticket]
        comes = np.isfinite(ready)
        if not comes.any():
            continue
        best, held = (np.inf, np.inf), None
        for way, slot_free in free.items():
            slot = slot_free.argmin(axis=1)
            start = np.maximum(ready, slot_free[rows, slot])
            touch, end = (start + after for after in tables[way].after(start, member))
            if np.mean((start > ready) & comes) > RARELY:
                waited.add(way)
            ends = np.where(comes[:, None], np.stack([end, touch], axis=1), np.nan)
            by_dry, by_touch = (float(x) for x in quantiles_of_next(ends, 0.9)[0])
            sure = by_dry, by_touch
            in_time = np.median((touch - until_s[:, ticket])[comes]) <= 0
            if in_time and (held is None or sure < best):
                best, held, ways[ticket] = sure, (slot, end), way
        way_taken = ways[ticket]
        if held is not None and way_taken is not None:
            slot, end = held
            taken = free[way_taken]
            leaves = np.minimum(end, np.maximum(until_s[:, ticket], taken[rows, slot]))
            taken[rows, slot] = np.where(comes, leaves, taken[rows, slot])
    return Choice(tuple(ways), frozenset(waited))
