"""Drawn event days run from the first sitter to the closing, several set-ups side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import AimDeg, Array, Flags
from drybox.errors import NoAnswerError
from drybox.inputs.event.day import DayInputs
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY
from drybox.physics.simulation.day_run import PlateDay
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.step_control import COARSE_STEPS
from drybox.planning.aim.schedule import aim_schedule
from drybox.planning.aim.search import AimPlan
from drybox.planning.day.drying_table import (
    PLATE,
    WARM_PLATE,
    DryingTable,
    blotter_kg_m2,
    is_quick,
    kept_dry,
    laying_on_times_s,
    way_system,
    way_table,
    with_power,
)
from drybox.planning.day.plate_and_line import (
    COVERED_STEP_S,
    HANDS_EVERY_S,
    QUICK_STEP_S,
    STEP_S,
    Battery,
    DayRun,
    Dried,
    Queue,
    WetPrints,
    dry_on_line,
    dry_on_plate,
)
from drybox.planning.day.samples import DayDraws
from drybox.planning.day.stages import Resources, SetUp, hands_free, wet_day
from drybox.planning.day.ways import NONE_TAKEN, Choice, Wanted, choose_ways
from drybox.planning.finish.day import day_finish
from drybox.planning.finish.queue import FreeTime
from drybox.planning.one_print.drying import TOO_LARGE
from drybox.planning.one_print.hot_metal import hottest_metal_k, too_hot_at
from drybox.planning.one_print.lay_ons import LONGEST_S, quarters_joined
from drybox.planning.one_print.lay_print import is_too_hot, lay_print
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import contact_w_m2_k, dry_targets, slots_on_plate
from drybox.planning.scenario.outside import box_out_s, plate_forcing, sheet_forcing
from drybox.planning.scenario.rain import next_rain, stopping_spells, wait_for_dry

if TYPE_CHECKING:
    from drybox.planning.day.told.so_far import Underway


SPARE_S = 600.0
"""A lone print is followed so much longer than any has time to dry. [s]"""

WARM_K = 323.15
"""A powered plate that no thermostat holds is taken to be so warm (judgement). [K]"""

CHOOSERS = 32
"""Members by which the ways are chosen."""


class DaySimulation:
    """The weather, light and prints of drawn days, on which set-ups are run; told as `told_day`."""

    def __init__(
        self, event: Event, inputs: DayInputs, told: Conditions, *, draws: DayDraws
    ) -> None:
        self.event, self.inputs, self.told, self.draws = with_power(event), inputs, told, draws
        self.start_at, self.finish = float(told.time_at[0]), day_finish(event)
        usual_s = STEP_S if event.box.cover is None else COVERED_STEP_S
        self.step_s = QUICK_STEP_S if is_quick(event.paper) else usual_s
        self.out_at = max(box_out_s(event), self.start_at)
        """When the box is set out: before, prints dry on all ways but the sun plate. [s]"""
        self.minutes = int(np.ceil((event.closes_at - self.start_at) / HANDS_EVERY_S)) + 1
        self.aim: AimPlan | None = None
        self.no_plate: NoAnswerError | None = None
        """Why there is no plate, where one was wished."""
        self.too_hot_s: tuple[float, ...] = ()
        self.rain = stopping_spells(event.weather, self.start_at, event.closes_at)
        self.underway: Underway | None = None
        self.aim_deg: AimDeg | None = None
        """Bearing and tilt at each time of the day, None without a plate."""
        self._forcings: dict[str, Forcing] = {}
        self._hot_ways: set[str] = set()
        self._tables: dict[str, DryingTable] = {}
        if inputs.day.slots.get(PLATE, 0) != 0:
            self._aim()

    def _aim(self) -> None:
        event = self.event
        if slots_on_plate(event.box, event.paper) == 0:
            self.no_plate = NoAnswerError(TOO_LARGE)
            return
        try:
            self.aim_deg, self.aim = aim_schedule(
                event, self.told, event.aimed_from_s, until_at=event.closes_at
            )
        except NoAnswerError as error:
            self.no_plate = error
            return
        self._forcings[PLATE] = plate_forcing(
            self.draws.ensemble, event.place, event.box, aim_deg=self.aim_deg
        )
        self.too_hot_s = too_hot_at(event, self.aim)

    def set_up(self, resources: Resources, members: int) -> SetUp:
        """Return some resources, and the wet part of the first members under them."""
        closes_at = self.event.closes_at
        wet = wet_day(self.inputs, resources, self.draws, closes_at=closes_at, members=members)
        return SetUp(resources, wet)

    @cached_property
    def metal_k(self) -> float | None:
        """How hot the metal of the empty plate may get, None without a plate. [K]"""
        return hottest_metal_k(self.event, self.aim) if self.has_plate else None

    @property
    def has_plate(self) -> bool:
        """Whether light reaches a plate that may be used."""
        return PLATE in self._forcings

    def _moved_light(self, members: int, span_s: tuple[float, float]) -> Forcing:
        """Return what acts on the plate of the first members, out of the shadow for a while."""
        assert self.aim_deg is not None
        place = replace(self.event.place, obstacles=())
        ensemble = self.draws.ensemble.of_members(np.arange(members))
        clear = plate_forcing(ensemble, place, self.event.box, aim_deg=self.aim_deg)
        time_at = self.told.time_at
        away = (time_at >= span_s[0]) & (time_at < span_s[1])
        here = self._forcings[PLATE].values[:, :members]
        return replace(clear, values=np.where(away, clear.values, here))

    def _forcing(self, way: str) -> Forcing:
        """Return what acts on the prints of a way; only the plate's is there beforehand."""
        if way not in self._forcings:
            event, sun = self.event, self.told.sun
            middle = np.searchsorted(self.told.time_at, 0.5 * (event.opens_at + event.closes_at))
            self._forcings[way] = sheet_forcing(
                self.draws.ensemble,
                event.place,
                way,
                facing_deg=float(sun.azimuth_deg[int(middle)]),
                powered=event.powered,
            )
        return self._forcings[way]

    def table(
        self,
        way: str,
        members: int,
        laid_at: tuple[float, float],
        *,
        longest_s: float,
        moved_s: tuple[float, float] | None = None,
    ) -> DryingTable:
        """Return how a lone print dries one way in the first members.

        One that is known already serves on: beyond its laying-on times its ends are held.
        """
        name = f"{way} moved" if moved_s and way == PLATE else way
        known = self._tables.get(name)
        if known and known.after_s.shape[0] >= members:
            return known
        event, ensemble, member = self.event, self.draws.ensemble, np.arange(members)
        starts = laying_on_times_s(*laid_at)
        table = way_table(
            event,
            ensemble,
            self._forcing(way) if name == way else self._moved_light(members, moved_s or (0, 0)),
            way=way,
            member=member,
            starts_s=starts,
            longest_s=longest_s + SPARE_S,
        )
        if way == PLATE:
            too_hot = quarters_joined(self.too_hot_s)
            table = replace(table, closed=((-np.inf, self.out_at), *too_hot))
        elif WAY[way].power and self._is_too_hot(way, starts, member):
            table.touch_after_s[:] = table.after_s[:] = np.inf
            self._hot_ways.add(way)
        if WAY[way].sunny:
            table = kept_dry(table, self.rain)
        self._tables[name] = table
        return table

    def _is_too_hot(self, way: str, starts_s: Array, member: NDArray[np.intp]) -> bool:
        """Return whether a print is kept over its limit on a powered way: it never lies there.

        Held by a thermostat, it is as hot at one time as at another.
        """
        ensemble = self.draws.ensemble.of_members(member)
        laid_at = np.full(member.size, float(np.median(starts_s)))
        air_k = self._forcing(way).at(member, laid_at).air_temp_k
        powered = self.event.powered
        assert powered is not None
        start_k = (powered.plate_temp_k or WARM_K) if WAY[way].metal else air_k
        run = lay_print(
            self.event,
            way_system(self.event, way, ensemble.prints),
            self._forcing(way),
            member=member,
            prints=ensemble.prints,
            laid_on_at=laid_at,
            plate_temp_k=np.broadcast_to(start_k, laid_at.shape),
            horizon_s=LONGEST_S,
            past_dry=False,
            control=COARSE_STEPS,
        )
        return bool(is_too_hot(run.over_limit_k))

    def _touch_dry_j(self, way: str, setup: SetUp) -> float:
        """Return what a print takes to be touch dry on a powered plate, in the middle. [J]"""
        members = min(CHOOSERS, setup.members)
        lay = setup.wet.lay_at[:members]
        span = float(lay.min(initial=self.event.closes_at)), self.event.closes_at
        table = self.table(way, members, span, longest_s=self._longest_s(setup))
        return table.power_w * float(np.median(table.touch_after_s))

    def _closed(self, way: str) -> Flags | None:
        """Return at which minutes nothing may be laid on, since it would grow too hot."""
        minutes = self.start_at + HANDS_EVERY_S * np.arange(self.minutes)
        if way in self._hot_ways:
            return np.ones(minutes.size, dtype=bool)
        closed = quarters_joined(self.too_hot_s) if way == PLATE else ()
        if not closed:
            return None
        return np.asarray(
            np.any([(minutes >= begin) & (minutes < end) for begin, end in closed], axis=0)
        )

    def _longest_s(self, setup: SetUp) -> float:
        """Return the most time that any print has to dry in: to the closing. [s]"""
        closes_at = self.event.closes_at
        return closes_at - float(setup.wet.lay_at.min(initial=closes_at))

    def must_be_dry_s(self, setup: SetUp) -> Array:
        """Return when each print must be in the sitter's hand, (n, tickets). [s].

        The closing, or as long after the sitting as a sitter will wait.
        """
        wait_s = self.inputs.day.wait_limit_s if setup.wait_s is None else setup.wait_s
        return np.minimum(self.event.closes_at, setup.wet.sat_at + wait_s)

    def choose(self, setup: SetUp, taken: Mapping[int, str] = NONE_TAKEN) -> Choice:
        """Return the way of drying of each ticket under a set-up, and when it leaves that.

        Some may have ``taken`` one already, by column.
        """
        members = min(CHOOSERS, setup.members)
        lay = setup.wet.lay_at[:members]
        slots = {
            way: count
            for way, count in setup.resources.slots.items()
            if count and (way != PLATE or self.has_plate)
        }
        reached = lay[np.isfinite(lay)]
        if reached.size == 0:
            return Choice.nobody(lay.shape[1])
        span = float(reached.min()), self.event.closes_at
        longest = self._longest_s(setup)
        moved = setup.moved_s
        tables = {
            way: self.table(way, members, span, longest_s=longest, moved_s=moved) for way in slots
        }
        wanted = Wanted(
            lay_at=lay,
            until_at=self.must_be_dry_s(setup)[:members],
            closes_at=self.event.closes_at,
            flatten_s=self.finish.lone_s,
        )
        battery_j = self.battery_j(setup)
        return choose_ways(wanted, tables, slots, battery_j=battery_j, taken=taken)

    def battery_j(self, setup: SetUp) -> float:
        """Return what the battery holds under a set-up, infinite without one that limits. [J]"""
        powered = self.event.powered
        own_j = np.inf if powered is None or powered.battery_j is None else powered.battery_j
        return float(own_j + setup.resources.more_battery_j)

    def run(self, setups: Sequence[SetUp], choices: Sequence[Choice]) -> list[DayRun]:
        """Run some set-ups, each with its wet part, all plates of one kind in one simulation.

        ``choices`` is the way of each ticket under each set-up; the runs come in the order of the
        set-ups.
        """
        days = [_Day(self, setup, chosen) for setup, chosen in zip(setups, choices, strict=True)]
        for way in (PLATE, WARM_PLATE):
            self._on_metal(way, [day for day in days if day.uses(way)])
        for day in days:
            for way in {way for way in day.choice.ways if way and not WAY[way].metal}:
                day.put(way, self._on_line(way, day))
        return [day.run() for day in days]

    def _on_metal(self, way: str, days: list[_Day]) -> None:
        """Lay prints on the plates of some set-ups, which are one simulation."""
        if not days or (way == PLATE and not self.has_plate):
            return
        sizes = [day.setup.members for day in days]
        member = np.concatenate([np.arange(size) for size in sizes])
        event, parts, forcing = self.event, [day.queue(way) for day in days], self._forcing(way)
        begins, rows = np.cumsum([0, *sizes]), member.copy()
        for begin, many, day in zip(begins[:-1], sizes, days, strict=True):
            if way == PLATE and day.setup.moved_s is not None:
                light = self._moved_light(many, day.setup.moved_s)
                rows[begin : begin + many] = forcing.members + np.arange(many)
                forcing = Forcing.joined([forcing, light])
        slots, closed = np.concatenate([part.slots for part in parts]), self._closed(way)
        wait_s = self.out_at - self.start_at if way == PLATE else 0.0
        after = int(np.ceil(wait_s / HANDS_EVERY_S - 1e-9))
        start_at = self.start_at + HANDS_EVERY_S * after
        plate = PlateDay(
            way_system(
                event, way, self.draws.ensemble.prints.of(member), slots=max(int(slots.max()), 1)
            ),
            forcing,
            rows,
            start_at=start_at,
            marks_kg_m2=dry_targets(event.paper, event.limits).marks_kg_m2,
        )
        queue = Queue(
            lay_at=np.concatenate([part.lay_at for part in parts]),
            leave_at=np.concatenate([part.leave_at for part in parts]),
            touch_from_at=np.concatenate([part.touch_from_at for part in parts]),
            slots=slots,
            hands=np.concatenate([part.hands for part in parts])[:, after:],
            start_at=start_at,
        )
        battery = None
        if way == WARM_PLATE:
            left_j = [np.full(day.setup.members, self.battery_j(day.setup)) for day in days]
            battery = Battery(np.concatenate(left_j), self._touch_dry_j(way, days[0].setup))
        dried = dry_on_plate(
            plate,
            self._wet_prints(member),
            queue,
            until_at=event.closes_at,
            step_s=self.step_s,
            closed=None if closed is None else closed[after:],
            battery=battery,
        )
        for day, first, last in zip(days, begins[:-1], begins[1:], strict=True):
            day.put(way, dried.of(slice(first, last)))
            if battery is not None:
                day.energy_j = day.energy_j + battery.used_j[first:last]

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

    def _on_line(self, way: str, day: _Day) -> Dried:
        queue, members = day.queue(way), day.setup.members
        reached = queue.lay_at[np.isfinite(queue.lay_at)]
        if reached.size == 0 or not queue.slots.any():
            return Dried.none(queue.lay_at.shape)
        span = float(reached.min()), min(float(reached.max()) + SPARE_S, self.event.closes_at)
        table = self.table(way, members, span, longest_s=self._longest_s(day.setup))
        paper, own = self.event.paper, np.asarray(self.draws.ensemble.prints.water_factor)
        dry = dry_targets(paper, self.event.limits, blotter_kg_m2(way)).dry_kg_m2
        usual = np.maximum(paper.water_kg_m2 * own[:members, None] - dry, 1e-6)
        lose = np.maximum(paper.water_kg_m2 * self.draws.water_factor[:members] - dry, 0.0)
        battery = Battery(self.battery_j(day.setup) - day.energy_j) if WAY[way].power else None
        dried = dry_on_line(
            table, np.arange(members), queue, water_share=lose / usual, battery=battery
        )
        if battery is not None:
            day.energy_j = day.energy_j + battery.used_j
        return dried


class _Day:
    """One set-up while its ways are run one after the other."""

    def __init__(self, simulation: DaySimulation, setup: SetUp, choice: Choice) -> None:
        self.simulation, self.setup, self.choice = simulation, setup, choice
        self.until_at = simulation.must_be_dry_s(setup)
        self.dried = Dried.none(setup.wet.lay_at.shape)
        self.energy_j = np.zeros(setup.members)
        start, steps = simulation.start_at, simulation.minutes
        self.hands = hands_free(setup.wet, start, HANDS_EVERY_S, steps=steps)
        under = simulation.underway
        self.left_at: Array | float = np.inf if under is None else under.leave_at()
        if under is not None:
            self.hands = under.with_hands(self.hands, start)

    def uses(self, way: str) -> bool:
        """Whether any ticket that is reached takes a way."""
        return bool(np.isfinite(self.setup.wet.lay_at[:, self._on(way)]).any())

    def _on(self, way: str) -> Flags:
        return np.array([chosen == way for chosen in self.choice.ways], dtype=bool)

    def queue(self, way: str) -> Queue:
        """Return who waits for a way: one that is unsure to dry leaves when it is wanted.

        Rain that was told takes prints in that lie out of doors, and keeps others waiting.
        """
        closes, shape = self.simulation.event.closes_at, self.until_at.shape
        unsure = np.array([mark == "luck" for mark in self.choice.marks], dtype=bool)
        touch = np.array([mark == "touch_dry" for mark in self.choice.marks], dtype=bool)
        handed = np.where(touch, self.choice.sure_at, np.inf)
        rain = self.simulation.rain if WAY[way].sunny else ()
        lay_at = wait_for_dry(np.where(self._on(way), self.setup.wet.lay_at, np.inf), rain)
        leave_at = np.minimum(np.where(unsure, self.until_at, closes), self.left_at)
        return Queue(
            lay_at=lay_at,
            leave_at=np.minimum(leave_at, next_rain(lay_at, rain)),
            touch_from_at=np.broadcast_to(handed, shape),
            slots=np.full(shape[0], self.setup.resources.slots.get(way, 0)),
            hands=self.hands,
            start_at=self.simulation.start_at,
        )

    def put(self, way: str, dried: Dried) -> None:
        """Take what came of the tickets on a way."""
        self.dried.put(self._on(way), dried)

    def run(self) -> DayRun:
        """Return what came of all."""
        simulation, resources = self.simulation, self.setup.resources
        finish = simulation.finish.with_more(helpers=resources.helpers, pairs=resources.boards)
        factor = simulation.draws.stage_factor[: self.setup.members]
        own = FreeTime(self.hands, simulation.start_at, HANDS_EVERY_S)
        through = finish.finished(self.dried.pulled_at, factor, own)
        return DayRun(
            setup=self.setup,
            choice=self.choice,
            dried=self.dried,
            ready_at=through.ready_at,
            until_at=self.until_at,
            energy_j=self.energy_j,
            finishing_s=through.hands_s,
            lone_s=finish.lone_s,
        )


def told_day(event: Event) -> Conditions:
    """Return the weather as told from setting out, or the opening if that is first, to the closing.

    Prints dry off the plate also before the box is set out.
    """
    start = min(box_out_s(event), event.opens_at)
    return conditions(event.weather, event.place, start, end_at=event.closes_at + 60.0)
