"""What one more of something would bring, on the same draws of the same day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from drybox.inputs.event.day import DayInputs
from drybox.planning.day.simulation import DayRun, DaySimulation, SetUp
from drybox.planning.day.stages import Means, one_more, wet_day
from drybox.planning.day.ways import LINE, PLATE, Choice
from drybox.planning.wet.wash import WashPlan, plan_wash

MEMBERS = 20
LITRE_M3 = 1e-3
MINUTE_S = 60.0
NEVER = "nobody waits for it"


@dataclass(frozen=True)
class WhatIf:
    """A change ``of`` something and how many more prints go home dry.

    ``why`` says when it cannot bring any.
    """

    change: str
    of: str
    more_dry_prints: float
    why: str = ""


@dataclass(frozen=True)
class Trial:
    """A change to be run: its set-up on the first members, and the way of each ticket."""

    change: str
    of: str
    setup: SetUp
    ways: tuple[str | None, ...]


def trials(
    simulation: DaySimulation, base: SetUp, choice: Choice, wash: WashPlan, busiest: int
) -> tuple[list[Trial], list[WhatIf]]:
    """Return the changes worth a run, and those that are known to bring nothing.

    Parameters
    ----------
    simulation : DaySimulation
        The drawn days.
    base : SetUp
        The day as planned.
    choice : Choice
        Its ways, and for which slots anybody waited.
    wash : WashPlan
        The wash as planned.
    busiest : int
        Number of the bath that is used most; 0 without baths.
    """
    inputs, means = simulation.inputs, base.means
    members = min(MEMBERS, base.members)
    runs: list[Trial] = []
    idle: list[WhatIf] = []

    def consider(change: str, of: str, other: Means, why: str = NEVER) -> None:
        closes = simulation.event.closes_s
        wet = wet_day(inputs.process, inputs.day, other, simulation.draws, members, closes)
        slots = (other.plate_slots, other.line_slots) != (means.plate_slots, means.line_slots)
        if not slots and np.array_equal(wet.lay_s, base.wet.lay_s[:members]):
            idle.append(WhatIf(change=change, of=of, more_dry_prints=0.0, why=why))
            return
        setup = SetUp(other, wet)
        runs.append(Trial(change=change, of=of, setup=setup, ways=simulation.choose(setup).ways))

    for name, way, more in (
        ("plate slots", PLATE, {"plate_slots": 1}),
        ("line slots", LINE, {"line_slots": 1}),
    ):
        change = f"one more {name.removesuffix('s')}"
        there = means.line_slots if way == LINE else means.plate_slots and simulation.has_plate
        if there and way in choice.waited:
            consider(change, name, one_more(means, **more))
        elif there:
            idle.append(WhatIf(change=change, of=name, more_dry_prints=0.0, why=NEVER))
    consider("one more wash tray", "wash trays", one_more(means, wash_trays=1))
    if busiest:
        bath = inputs.process.baths[busiest - 1].name
        vessels = tuple(count + (number == busiest) for number, count in enumerate(means.vessels))
        consider(f"one more {bath}", bath, replace(means, vessels=vessels))
    consider("one more pair of hands", "hands", one_more(means, hands=1))
    if means.sitting_s > MINUTE_S:
        shorter = one_more(means, sitting_s=-MINUTE_S)
        consider("a minute less per sitting", "hands", shorter, "the hands wait for sitters")
    _litre(inputs, means, wash, consider, idle)
    return runs, idle


def _litre(
    inputs: DayInputs,
    means: Means,
    wash: WashPlan,
    consider: Callable[[str, str, Means, str], None],
    idle: list[WhatIf],
) -> None:
    change = "a litre more for each wash"
    if inputs.wash.water_m3 is None:
        idle.append(
            WhatIf(change=change, of="water", more_dry_prints=0.0, why="water sets no limit")
        )
        return
    more = plan_wash(replace(inputs.wash, water_m3=inputs.wash.water_m3 + LITRE_M3))
    consider(change, "water", replace(means, wash_s=more.duration_s), "the wash takes as long")


def outcome(trial: Trial, run: DayRun, base: DayRun) -> WhatIf:
    """Return how many more prints are dry in time, on the mean of the members both ran."""
    members = run.setup.members
    dry = run.dry_in_time.sum(axis=1) - base.dry_in_time[:members].sum(axis=1)
    return WhatIf(trial.change, trial.of, float(dry.mean()))
