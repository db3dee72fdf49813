"""What would bring more dry prints, and what it costs, on the same draws of the same day."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drybox.errors import NoAnswerError
from drybox.planning.aim.spots import place_spots
from drybox.planning.day.drying_table import PLATE, SLOT_NAME, SLOT_NAMES, WARM_PLATE
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.simulation import DaySimulation
from drybox.planning.day.stages import Resources, SetUp, more_slots
from drybox.planning.day.supplies import wash_water
from drybox.planning.day.ways import BATTERY, Choice
from drybox.planning.scenario.models import slots_on_plate
from drybox.planning.wet.baths import Supply
from drybox.planning.wet.wash import WashPlan, plan_wash
from drybox.planning.wet.water import WaterLimit

MEMBERS = 20
LITRE_M3 = 1e-3
MINUTE_S, HOUR_S = 60.0, 3600.0
NEVER = "nobody waits for it"
AS_LONG = "the wash takes as long"

EFFORT = {
    "pick-up an hour later": 0,
    "the cover off": 0,
    "the box faced at the sun": 0,
    "a cloth under the print": 1,
    "a lighter aim": 1,
    "opening an hour earlier": 1,
    "a minute less per sitting": 1,
    "the box out of the shadow": 2,
    "a line in the open": 3,
    "wash aid": 3,
    "a litre more for each wash": 3,
    "one more wash tray": 4,
    "more water": 4,
    "one more pair of hands": 8,
    "one more pair of boards": 3,
    "a helper for finishing": 8,
    "a bigger battery": 8,
    "a warm plate": 9,
}
"""From least to most to carry, to pay and to see to (judgement); what is not named is a 5."""


@dataclass(frozen=True)
class WhatIf:
    """A change ``of`` something, how many more prints go home dry, and what it costs.

    ``hold_k`` is what the empty plate is held below by a lighter aim.

    ``more_touch_dry_prints`` are those touch dry or dry by the time their sitters must have them,
    ``more_by_closing_prints`` those dry by the closing, to be fetched later too.
    ``why`` says when it cannot bring any; ``span_s`` is when it is to be done, where that is not
    all day.
    """

    change: str
    of: str
    more_dry_prints: float
    why: str = ""
    more_touch_dry_prints: float = 0.0
    costs: tuple[Supply, ...] = ()
    span_s: tuple[float, float] | None = None
    more_by_closing_prints: float = 0.0
    hold_k: float | None = None

    @property
    def rank(self) -> tuple[float, float, float, int]:
        """What brings most goes first, and of two that bring the same what costs less."""
        more = self.more_dry_prints, self.more_touch_dry_prints, self.more_by_closing_prints
        dry, touch, later = (-round(prints, 1) for prints in more)
        return (dry, touch, later, EFFORT.get(self.change, 5))


NOBODY = Choice.nobody(0)


@dataclass(frozen=True)
class Trial:
    """A change to be run: its set-up on the first members, and the way of each ticket."""

    change: str
    of: str
    setup: SetUp
    choice: Choice = NOBODY
    costs: tuple[Supply, ...] = ()
    span_s: tuple[float, float] | None = None


def trials(
    simulation: DaySimulation, base: SetUp, choice: Choice, *, wash: WashPlan, busiest: int
) -> tuple[list[Trial], list[WhatIf]]:
    """Return the changes worth a run, and those that are known to bring nothing.

    ``busiest`` is the number of the bath that is used most, 0 without baths.

    Each runs on the first 20 of the drawn days, all beside the day itself in one simulation; so
    there are at most a dozen. What helps only prints that are not dry in time is tried only where
    there are such.
    """
    found = _Trials(simulation, base, wash)
    found.slots(choice)
    found.vessels(busiest)
    found.consider("one more pair of hands", "hands", hands=1, costs=_one("helper"))
    if base.resources.sitting_s > MINUTE_S:
        idle = "the hands wait for sitters"
        found.consider("a minute less per sitting", "hands", sitting_s=-MINUTE_S, why=idle)
    found.water()
    found.finishing()
    found.battery(choice)
    if is_unsure(simulation, base, choice):
        found.places()
        found.times()
    return found.runs, found.idle


def _one(what: str) -> tuple[Supply, ...]:
    return (Supply(what, 1.0, "pieces"),)


def _litres(what: str, volume_m3: float) -> tuple[Supply, ...]:
    litres = round(volume_m3 / LITRE_M3, 1)
    return (Supply(what, litres, "l"),) if litres else ()


def is_unsure(simulation: DaySimulation, base: SetUp, choice: Choice) -> bool:
    """Return whether any print that is reached is not sure to be dry when it is wanted."""
    until = simulation.must_be_dry_s(base)
    there = np.isfinite(base.wet.lay_at).mean(axis=0) >= 0.5
    return any(
        way is None or mark != "dry" or sure_at > np.median(until[:, column])
        for column, (way, mark, sure_at) in enumerate(
            zip(choice.ways, choice.marks, choice.sure_at, strict=True)
        )
        if there[column]
    )


class _Trials:
    """The list while `trials` puts it together."""

    def __init__(self, simulation: DaySimulation, base: SetUp, wash: WashPlan) -> None:
        self.simulation, self.base, self.wash = simulation, base, wash
        self.resources = base.resources
        self.members = min(MEMBERS, base.members)
        self.runs: list[Trial] = []
        self.idle: list[WhatIf] = []

    def consider(
        self,
        change: str,
        of: str,
        *,
        why: str = NEVER,
        other: Resources | None = None,
        costs: tuple[Supply, ...] = (),
        **more: int | float,
    ) -> None:
        """Put so much more of some resources on the list; to be run if it changes anything."""
        base = self.base
        other = other or self.resources
        other = replace(other, **{name: getattr(other, name) + by for name, by in more.items()})
        setup = self.simulation.set_up(other, self.members)
        before = base.wet.lay_at[: self.members]
        if other.slots == self.resources.slots and np.array_equal(setup.wet.lay_at, before):
            self._idle(change, of, why)
        else:
            self._run(Trial(change, of, setup, costs=costs))

    def _idle(self, change: str, of: str, why: str) -> None:
        self.idle.append(WhatIf(change=change, of=of, more_dry_prints=0.0, why=why))

    def _run(self, trial: Trial) -> None:
        self.runs.append(replace(trial, choice=self.simulation.choose(trial.setup)))

    def _first(self) -> SetUp:
        """Return the day as planned, of the first members."""
        return replace(self.base, wet=self.base.wet.of(slice(self.members)))

    def slots(self, choice: Choice) -> None:
        """Offer one more place where anybody waits for one and there is room."""
        event = self.simulation.event
        fit = slots_on_plate(event.box, event.paper)
        for way, there in self.resources.slots.items():
            name = SLOT_NAMES[way]
            change = f"one more {SLOT_NAME[way]}"
            if not there or (way == PLATE and not self.simulation.has_plate):
                continue
            why = "no more fit on it" if way in (PLATE, WARM_PLATE) and there >= fit else ""
            if way not in choice.waited:
                why = NEVER
            if why:
                self._idle(change, name, why)
            else:
                more = more_slots(self.resources, way)
                self.consider(change, name, other=more, costs=_one("place"))

    def vessels(self, busiest: int) -> None:
        """Offer one more wash tray, and one more of the bath that is used most."""
        baths = self.simulation.inputs.process.baths
        self.consider("one more wash tray", "wash trays", wash_trays=1, costs=_one("tray"))
        if busiest:
            bath = baths[busiest - 1]
            counts = enumerate(self.resources.vessels)
            vessels = tuple(count + (number == busiest) for number, count in counts)
            costs = _litres(bath.name, bath.volume_m3)
            more = replace(self.resources, vessels=vessels)
            self.consider(f"one more {bath.name}", bath.name, other=more, costs=costs)

    def water(self) -> None:
        """Offer wash aid, more water, and a litre more for each wash where water sets a limit."""
        setup = self.simulation.inputs.wash
        if not setup.wash_aid:
            self._wash_aid()
        self._more_water()
        change = "a litre more for each wash"
        if self.resources.water is not None and self.base.wet.short.any():
            self._idle(change, "water", "the day's water does not last as it is")
            return
        if setup.water_m3 is None:
            self._idle(change, "water", "water sets no limit")
            return
        more = plan_wash(replace(setup, water_m3=setup.water_m3 + LITRE_M3))
        longer = replace(self.resources, wash_s=more.duration_s)
        costs = _litres("water", float(self.base.wet.wash.batches.mean()) * LITRE_M3)
        self.consider(change, "water", other=longer, costs=costs, why=AS_LONG)

    def _wash_aid(self) -> None:
        """Offer wash aid where there is a wash with it.

        It frees water where that is short, else the trays where anybody waits for one.
        """
        setup, wet = self.simulation.inputs.wash, self.base.wet
        try:
            aided = plan_wash(replace(setup, wash_aid=True))
        except NoAnswerError:
            return
        alone, alone_aided = (
            plan_wash(replace(setup, prints=1, wash_aid=aid)) for aid in (False, True)
        )
        usual, spare = wash_water(wet, self.wash, alone), wash_water(wet, aided, alone_aided)
        costs = (
            *_litres("wash aid", aided.aid_m3),
            *_litres("water", spare.total_m3 - usual.total_m3),
        )
        limit = self.resources.water
        limit = limit and WaterLimit.of(limit.left_m3, aided, alone_aided)
        quicker = replace(self.resources, wash_s=aided.duration_s, water=limit)
        waits = {one.of for one in self.idle if one.why == NEVER}
        of = "washing" if "wash trays" in waits else "wash trays"
        of = "water" if wet.short.any() else of
        self.consider("wash aid", of, other=quicker, costs=costs, why=AS_LONG)

    def _more_water(self) -> None:
        """Offer the water that the day lacks, where it lacks any."""
        limit, wet = self.resources.water, self.base.wet
        if limit is None or not wet.short.any():
            return
        alone = plan_wash(replace(self.simulation.inputs.wash, prints=1))
        lacks_m3 = wash_water(wet, self.wash, alone).total_m3 - limit.left_m3
        spare = 1.0 + self.simulation.inputs.process.spare_frac
        costs = _litres("water", max(lacks_m3, 0.0) * spare)
        endless = replace(self.resources, water=None)
        self.consider("more water", "water", other=endless, costs=costs)

    def battery(self, choice: Choice) -> None:
        """Offer twice the battery, where it does not last for somebody."""
        own_j = self.simulation.battery_j(self.base)
        if BATTERY not in choice.waited or not np.isfinite(own_j):
            return
        first = self._first()
        bigger = replace(first, resources=replace(first.resources, more_battery_j=own_j))
        costs = (Supply("larger battery", round(own_j / 3600.0), "Wh"),)
        self._run(Trial("a bigger battery", BATTERY, bigger, costs=costs))

    def finishing(self) -> None:
        """Offer a helper, and one more pair of boards, where stages after drying are listed."""
        first, finish = self._first(), self.simulation.finish
        if not finish.stages:
            return
        helped = replace(first, resources=replace(first.resources, helpers=1))
        costs = _one("helper")
        self._run(Trial("a helper for finishing", "finishing", helped, costs=costs))
        if any(stage.places for stage in finish.stages):
            wider = replace(first, resources=replace(first.resources, boards=1))
            costs = _one("boards with a weight")
            self._run(Trial("one more pair of boards", "boards", wider, costs=costs))

    def places(self) -> None:
        """Offer a line in the open, and a warm plate, where there is none."""
        event, day = self.simulation.event, self.simulation.inputs.day
        if day.line_slots and not self.resources.slots.get("line_sun"):
            costs = (Supply("clips and a line", float(day.line_slots), "pieces"),)
            more = more_slots(self.resources, "line_sun", day.line_slots)
            self.consider("a line in the open", "line", other=more, costs=costs)
        fit = slots_on_plate(event.box, event.paper)
        if fit and not self.resources.slots.get(WARM_PLATE):
            assert event.powered is not None  # the simulation has one for this
            costs = (Supply("warm plate", event.powered.plate_power_w, "W"),)
            more = more_slots(self.resources, WARM_PLATE, fit)
            self.consider("a warm plate", "power", other=more, costs=costs)

    def times(self) -> None:
        """Offer pick-up an hour later, and the box moved while something stands before the sun."""
        simulation, first = self.simulation, self._first()
        wait_s = simulation.inputs.day.wait_limit_s + HOUR_S
        costs = (Supply("more for each sitter", 60.0, "min"),)
        later = replace(first, wait_s=wait_s)
        self._run(Trial("pick-up an hour later", "pick-up", later, costs=costs))
        span = self._longest_shadow()
        if span is not None and simulation.has_plate:
            moved = replace(first, moved_s=span)
            costs = (Supply("moves of the box", 2.0, "times"),)
            self._run(Trial("the box out of the shadow", "box", moved, costs=costs, span_s=span))

    def _longest_shadow(self) -> tuple[float, float] | None:
        spots = place_spots(self.simulation.event, self.simulation.told)
        found = [gap for gap in spots.breaks if gap.use == "box" and gap.cause]
        longest = max(found, key=lambda gap: gap.until_at - gap.from_at, default=None)
        return None if longest is None else (longest.from_at, longest.until_at)


def outcome(trial: Trial, run: DayRun, base: DayRun) -> WhatIf:
    """Return how many more prints are dry in time, on the mean of the members both ran."""
    members = run.setup.members
    costs = trial.costs
    energy_wh = float((run.energy_j - base.energy_j[:members]).mean()) / 3600.0
    if energy_wh > 0.5:
        costs = (*costs, Supply("battery", round(energy_wh), "Wh"))
    return WhatIf(
        change=trial.change,
        of=trial.of,
        more_dry_prints=_more(run.dry_in_time, base.dry_in_time),
        more_touch_dry_prints=_more(run.touch_dry_in_time, base.touch_dry_in_time),
        more_by_closing_prints=_more(run.dry_by_closing, base.dry_by_closing),
        costs=costs,
        span_s=trial.span_s,
    )


def _more(ours: NDArray[np.bool_], theirs: NDArray[np.bool_]) -> float:
    return float((ours.sum(axis=1) - theirs[: ours.shape[0]].sum(axis=1)).mean())
