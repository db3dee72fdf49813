"""Drawn event days run from the first sitter to the closing, several set-ups side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from drybox.errors import NoAnswerError
from drybox.inputs.event.day import DayInputs
from drybox.inputs.event.event import Event
from drybox.physics.simulation.day_run import PlateDay
from drybox.physics.simulation.forcing import Forcing
from drybox.planning.aim.schedule import aim_schedule
from drybox.planning.aim.search import AimPlan
from drybox.planning.day.plate_and_line import (
    COVERED_STEP_S,
    HANDS_EVERY_S,
    QUICK_STEP_S,
    STEP_S,
    Dried,
    WetPrints,
    dry_on_line,
    dry_on_plate,
)
from drybox.planning.day.samples import DayDraws
from drybox.planning.day.stages import Means, WetDay, hands_free
from drybox.planning.day.ways import (
    LINE,
    PLATE,
    Choice,
    DryingTable,
    choose_ways,
    is_quick,
    laying_on_times_s,
    line_table,
    plate_table,
)
from drybox.planning.one_print.hot_metal import hottest_metal_k
from drybox.planning.one_print.lay_ons import lay_ons
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import box_system, contact_w_m2_k, dry_targets
from drybox.planning.scenario.outside import box_out_s, plate_forcing, sheet_forcing

if TYPE_CHECKING:
    from drybox.planning.day.told.so_far import Underway

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SPARE_S = 600.0
"""A lone print is followed so much longer than any has time to dry. [s]"""

CHOOSERS = 32
"""Members by which the ways are chosen."""


@dataclass(frozen=True)
class SetUp:
    """One set of means and the wet part of the first members under it."""

    means: Means
    wet: WetDay

    @property
    def members(self) -> int:
        """How many members run under it."""
        return int(self.wet.lay_s.shape[0])


@dataclass(frozen=True, eq=False)
class DayRun:
    """What came of some members under one set-up, (n, tickets); infinite if it never came.

    ``dried`` joins plate and line; its slots count from 0 on each. ``until_s`` is when a print
    must be in the sitter's hand, ``ready_s`` when it is dry and flat.
    """

    setup: SetUp
    ways: tuple[str | None, ...]
    dried: Dried
    ready_s: Array
    until_s: Array

    @property
    def dry_in_time(self) -> Flags:
        """Which prints are dry and flat in time."""
        return np.asarray(self.ready_s <= self.until_s + 1e-6) & np.isfinite(self.ready_s)


class DaySimulation:
    """The weather, light and prints of drawn days, on which set-ups are run.

    Parameters
    ----------
    event : Event
        Place, box, paper, weather and hours.
    inputs : DayInputs
        Process, day and wash.
    told : Conditions
        The weather as told, see `told_day`.
    draws : DayDraws
        The days.
    """

    def __init__(self, event: Event, inputs: DayInputs, told: Conditions, draws: DayDraws) -> None:
        self.event, self.inputs, self.told, self.draws = event, inputs, told, draws
        self.start_s = float(told.time_s[0])
        usual_s = STEP_S if event.box.cover is None else COVERED_STEP_S
        self.step_s = QUICK_STEP_S if is_quick(event.paper) else usual_s
        self.minutes = int(np.ceil((event.closes_s - self.start_s) / HANDS_EVERY_S)) + 1
        self.aim: AimPlan | None = None
        self.no_plate = ""
        self.too_hot_s: tuple[float, ...] = ()
        self.metal_k: float | None = None
        self.underway: Underway | None = None
        self._aimed: tuple[Array, Array] | None = None
        self._plate_forcing: Forcing | None = None
        if inputs.day.plate_slots != 0:
            self._aim()
        day = inputs.day
        place = int(np.searchsorted(told.time_s, 0.5 * (event.opens_s + event.closes_s)))
        self._line_forcing = sheet_forcing(
            draws.ensemble, event.place, day.line_way, float(told.sun.azimuth_deg[place])
        )
        self._tables: dict[str, DryingTable] = {}

    def _aim(self) -> None:
        event = self.event
        try:
            bearing, tilt, self.aim = aim_schedule(
                event, self.told, event.aimed_from_s, event.closes_s
            )
        except NoAnswerError as error:
            self.no_plate = str(error)
            return
        ensemble = self.draws.ensemble
        self._aimed = bearing, tilt
        self._plate_forcing = plate_forcing(ensemble, event.place, event.box, bearing, tilt)
        self.metal_k = hottest_metal_k(event, self.aim)

    @property
    def aimed(self) -> tuple[Array, Array] | None:
        """Bearing and tilt at each time of the day, None without a plate. [deg]"""
        return self._aimed

    @property
    def has_plate(self) -> bool:
        """Whether light reaches a plate that may be used."""
        return self._plate_forcing is not None

    def table(
        self, way: str, members: int, laid_s: tuple[float, float], longest_s: float
    ) -> DryingTable:
        """Return how a lone print dries by the plate or the line in the first members.

        One that is known already serves on: beyond its laying-on times its ends are held.
        """
        known = self._tables.get(way)
        if known and known.after_s.shape[0] >= members:
            return known
        event, ensemble, member = self.event, self.draws.ensemble, np.arange(members)
        starts = laying_on_times_s(*laid_s)
        longest = longest_s + SPARE_S
        if way == PLATE:
            assert self._plate_forcing is not None
            table = plate_table(event, ensemble, self._plate_forcing, member, starts, longest)
            hot = self._too_hot(starts, member)
            table.touch_after_s[:, hot] = table.after_s[:, hot] = np.inf
            self.too_hot_s = tuple(float(at) for at in starts[hot] if at < event.closes_s)
        else:
            line = self.inputs.day.line_way
            table = line_table(event, ensemble, self._line_forcing, line, member, starts, longest)
        self._tables[way] = table
        return table

    def _too_hot(self, starts_s: Array, member: NDArray[np.intp]) -> Flags:
        """Return at which laying-on times a print is kept over its limit: it never lies there."""
        assert self._aimed is not None
        ensemble = self.draws.ensemble.of_members(member)
        (laid,) = lay_ons(self.event, self.told, [ensemble], *self._aimed, starts_s, coarse=True)
        return laid.too_hot

    def _longest_s(self, setup: SetUp) -> float:
        """Return the most time that any print has to dry in: to the closing. [s]"""
        with np.errstate(invalid="ignore"):
            left = self.event.closes_s - setup.wet.lay_s
        known = left[np.isfinite(left)]
        return max(float(known.max()) if known.size else 0.0, 0.0)

    def must_be_dry_s(self, setup: SetUp) -> Array:
        """Return when each print must be in the sitter's hand, (n, tickets). [s].

        The closing, or as long after the sitting as a sitter will wait.
        """
        wait_s = self.inputs.day.wait_limit_s
        return np.minimum(self.event.closes_s, setup.wet.sat_s + wait_s)

    def choose(self, setup: SetUp) -> Choice:
        """Return the way of drying of each ticket under a set-up."""
        members = min(CHOOSERS, setup.members)
        lay = setup.wet.lay_s[:members]
        slots = {PLATE: setup.means.plate_slots, LINE: setup.means.line_slots}
        slots = {
            way: count for way, count in slots.items() if count and (way == LINE or self.has_plate)
        }
        reached = lay[np.isfinite(lay)]
        if reached.size == 0:
            return Choice((None,) * lay.shape[1], frozenset())
        span = float(reached.min()), self.event.closes_s
        until = np.full(lay.shape, self.event.closes_s)
        longest = self._longest_s(setup)
        tables = {way: self.table(way, members, span, longest) for way in slots}
        return choose_ways(lay, until, tables, slots, np.arange(members))

    def run(self, setups: Sequence[SetUp], ways: Sequence[tuple[str | None, ...]]) -> list[DayRun]:
        """Run some set-ups, all plates in one simulation.

        Parameters
        ----------
        setups : sequence of SetUp
            Each with its wet part.
        ways : sequence of tuple
            The way of each ticket under each set-up.

        Returns
        -------
        list of DayRun
            In their order.
        """
        free = [
            hands_free(setup.wet, self.start_s, HANDS_EVERY_S, self.minutes) for setup in setups
        ]
        if self.underway is not None:
            free = [self.underway.with_hands(hands, self.start_s) for hands in free]
        plates = self._on_plate(setups, ways, free)
        runs = []
        for setup, way, hands, plate in zip(setups, ways, free, plates, strict=True):
            line = self._on_line(setup, way, hands)
            dried = Dried.chosen(np.array([w == LINE for w in way], dtype=bool), line, plate)
            ready = dried.pulled_s + self.event.limits.flatten_s
            until = self.must_be_dry_s(setup)
            runs.append(DayRun(setup=setup, ways=way, dried=dried, ready_s=ready, until_s=until))
        return runs

    def _on_plate(
        self,
        setups: Sequence[SetUp],
        ways: Sequence[tuple[str | None, ...]],
        free: Sequence[Flags],
    ) -> list[Dried]:
        lay = [
            np.where([way == PLATE for way in chosen], setup.wet.lay_s, np.inf)
            for setup, chosen in zip(setups, ways, strict=True)
        ]
        sizes = [setup.members for setup in setups]
        if self._plate_forcing is None or not any(np.isfinite(part).any() for part in lay):
            return [Dried.none(part.shape) for part in lay]
        member = np.concatenate([np.arange(size) for size in sizes])
        slots = np.repeat([setup.means.plate_slots for setup in setups], sizes)
        event = self.event
        plate = PlateDay(
            box_system(
                event.box,
                event.paper,
                self.draws.ensemble.prints.of(member),
                max(int(slots.max()), 1),
            ),
            self._plate_forcing,
            member,
            self.start_s,
            dry_targets(event.paper, event.limits).marks_kg_m2,
        )
        dried = dry_on_plate(
            plate,
            self._wet_prints(member),
            np.concatenate(lay),
            np.concatenate([self._leave_s(part.shape) for part in lay]),
            slots,
            np.concatenate(free),
            event.closes_s,
            self.step_s,
        )
        ends = np.cumsum(sizes)
        cut = [slice(end - size, end) for size, end in zip(sizes, ends, strict=True)]
        return [dried.of(rows) for rows in cut]

    def _leave_s(self, shape: tuple[int, ...]) -> Array:
        """Return when each print must leave its place, or did."""
        if self.underway is not None:
            return self.underway.leave_at_s()
        return np.full(shape, self.event.closes_s)

    def _wet_prints(self, member: NDArray[np.intp]) -> WetPrints:
        """Return what each print brings to the plate, by case and ticket."""
        paper, draws = self.event.paper, self.draws
        flat = np.asarray(draws.ensemble.prints.flat_factor)[member][:, None]
        wet, dry = contact_w_m2_k(paper, flat, draws.contact_factor[member])
        return WetPrints(
            water_kg_m2=paper.water_kg_m2 * draws.water_factor[member],
            contact_wet_w_m2_k=np.broadcast_to(wet, dry.shape),
            contact_dry_w_m2_k=dry,
            absorptance_frac=np.clip(
                paper.solar_absorptance_frac + draws.absorptance_shift[member], 0.05, 0.95
            ),
        )

    def _on_line(self, setup: SetUp, ways: tuple[str | None, ...], free: Flags) -> Dried:
        lay = np.where([way == LINE for way in ways], setup.wet.lay_s, np.inf)
        reached = lay[np.isfinite(lay)]
        if reached.size == 0 or setup.means.line_slots == 0:
            return Dried.none(lay.shape)
        members = setup.members
        span = float(reached.min()), min(float(reached.max()) + SPARE_S, self.event.closes_s)
        table = self.table(LINE, members, span, self._longest_s(setup))
        paper, own = self.event.paper, np.asarray(self.draws.ensemble.prints.water_factor)
        dry = dry_targets(paper, self.event.limits).dry_kg_m2
        usual = np.maximum(paper.water_kg_m2 * own[:members, None] - dry, 1e-6)
        lose = np.maximum(paper.water_kg_m2 * self.draws.water_factor[:members] - dry, 0.0)
        slots = np.full(members, setup.means.line_slots)
        leave = self._leave_s(lay.shape)
        share = lose / usual
        return dry_on_line(table, np.arange(members), lay, leave, slots, free, self.start_s, share)


def told_day(event: Event) -> Conditions:
    """Return the weather as told from setting out to the closing."""
    return conditions(event.weather, event.place, box_out_s(event), event.closes_s + 60.0)
