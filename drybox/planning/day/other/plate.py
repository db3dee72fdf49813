"""The day with another plate: cooler where it is too hot for a print, or faced at the sun."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.simulation import DaySimulation
from drybox.planning.day.what_if import MEMBERS, Trial, WhatIf, is_unsure, outcome
from drybox.planning.one_print.cures import over_a_cloth, turned_with_the_sun
from drybox.planning.wet.baths import Supply

STAYS_HOT = "the plate stays too hot for a print"


def other_plates(simulation: DaySimulation, base: DayRun) -> list[WhatIf]:
    """Return what each free cure of the plate brings, none where every print is dry in time.

    Where the plate is closed as too hot they go from what keeps most of the sun to what keeps
    least: the cover off, a cloth under the print, a lighter aim, which holds the empty plate
    halfway between its hottest and what a wet print bears without a test. Where the event gives a
    fixed aim it is the box turned with the sun.
    """
    if not simulation.has_plate or not is_unsure(simulation, base.setup, base.choice):
        return []
    tried = (_tried(simulation, base, other) for other in _others(simulation))
    return [found for found in tried if found is not None]


class _Other(NamedTuple):
    """The event with another plate, what is changed, what it takes, and the aim's limit. [K]"""

    change: str
    of: str
    event: Event
    costs: tuple[Supply, ...] = ()
    hold_k: float | None = None


def _others(simulation: DaySimulation) -> Iterator[_Other]:
    event = simulation.event
    faced = event
    if event.box.aim_mode == "fixed":
        faced = turned_with_the_sun(event)
        yield _Other("the box faced at the sun", "aim", faced)
    if not simulation.too_hot_s:
        return
    if event.box.cover is not None:
        bare = replace(event, box=replace(event.box, cover=None))
        yield _Other("the cover off", "heat", bare)
    clothed = over_a_cloth(event)
    if clothed is not None:
        cloth = (Supply("cloth", 1.0, "pieces"),)
        yield _Other("a cloth under the print", "heat", clothed, costs=cloth)
    if simulation.metal_k is not None:
        hold_k = round(0.5 * (simulation.metal_k + event.limits.wet_careful_k)) + 0.15
        held = replace(faced, limits=replace(event.limits, hold_below_k=hold_k))
        yield _Other("a lighter aim", "heat", held, hold_k=hold_k)


def _tried(simulation: DaySimulation, base: DayRun, other: _Other) -> WhatIf | None:
    """Return what the day of another plate brings, None where it cannot be."""
    members = min(MEMBERS, base.setup.members)
    ensemble = simulation.draws.ensemble.of_members(np.arange(members))
    draws = replace(simulation.draws, ensemble=ensemble)
    there = DaySimulation(other.event, simulation.inputs, simulation.told, draws=draws)
    if not there.has_plate:
        return None
    if other.of == "heat" and len(there.too_hot_s) >= len(simulation.too_hot_s):
        return WhatIf(change=other.change, of=other.of, more_dry_prints=0.0, why=STAYS_HOT)
    setup = replace(base.setup, wet=base.setup.wet.of(slice(members)))
    with np.errstate(invalid="ignore"):  # a step tried from a plate hot beyond use, and mended
        (run,) = there.run([setup], [there.choose(setup)])
    found = outcome(Trial(other.change, other.of, setup, costs=other.costs), run, base)
    return replace(found, hold_k=other.hold_k)
