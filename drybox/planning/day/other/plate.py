"""The day with another plate: cooler where it is too hot for a print, or faced at the sun."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.simulation import DaySimulation
from drybox.planning.day.what_if import MEMBERS, WhatIf, is_unsure, outcome, trial_of
from drybox.planning.one_print.cures import over_a_cloth
from drybox.planning.wet.baths import Supply

STAYS_HOT = "the plate stays too hot for a print"


def other_plates(simulation: DaySimulation, base: DayRun) -> list[WhatIf]:
    """Return what each free cure of the plate brings, none where every print is dry in time.

    Parameters
    ----------
    simulation : DaySimulation
        The day as planned.
    base : DayRun
        What came of it.

    Notes
    -----
    Where the plate is closed as too hot they go from what keeps most of the sun to what keeps
    least: the cover off, a cloth under the print, a lighter aim, which holds the empty plate
    halfway between its hottest and what a wet print bears without a test. Where the event gives a
    fixed aim it is the box turned with the sun.
    """
    if not simulation.has_plate or not is_unsure(simulation, base.setup, base.choice):
        return []
    found = []
    for change, of, event in _events(simulation):
        one = _tried(simulation, base, event, change=change, of=of)
        found += [] if one is None else [one]
    return found


def _events(simulation: DaySimulation) -> Iterator[tuple[str, str, Event]]:
    event = simulation.event
    faced = event
    if event.box.aim_mode == "fixed":
        box = replace(event.box, aim_mode="turns", aim_bearing_deg=None, aim_tilt_deg=None)
        faced = replace(event, box=box)
        yield "the box faced at the sun", "aim", faced
    if not simulation.too_hot_s:
        return
    if event.box.cover is not None:
        yield "the cover off", "heat", replace(event, box=replace(event.box, cover=None))
    clothed = over_a_cloth(event)
    if clothed is not None:
        yield "a cloth under the print", "heat", clothed
    if simulation.metal_k is not None:
        hold_k = round(0.5 * (simulation.metal_k + event.limits.wet_careful_k))
        limits = replace(event.limits, hold_below_k=hold_k + 0.15)
        yield "a lighter aim", "heat", replace(faced, limits=limits)


def _tried(
    simulation: DaySimulation, base: DayRun, event: Event, *, change: str, of: str
) -> WhatIf | None:
    """Return what the day of another plate brings, None where it cannot be."""
    members = min(MEMBERS, base.setup.members)
    ensemble = simulation.draws.ensemble.of_members(np.arange(members))
    draws = replace(simulation.draws, ensemble=ensemble)
    there = DaySimulation(event, simulation.inputs, simulation.told, draws=draws)
    if not there.has_plate:
        return None
    if of == "heat" and len(there.too_hot_s) >= len(simulation.too_hot_s):
        return WhatIf(change=change, of=of, more_dry_prints=0.0, why=STAYS_HOT)
    setup = replace(base.setup, wet=base.setup.wet.first(members))
    with np.errstate(invalid="ignore"):  # a step tried from a plate hot beyond use, and mended
        (run,) = there.run([setup], [there.choose(setup)])
    costs = (Supply("cloth", 1.0, "pieces"),) if "cloth" in change else ()
    found = outcome(trial_of(change, of, setup, costs=costs), run, base)
    held = change == "a lighter aim"
    return replace(found, hold_k=event.limits.hold_below_k if held else None)
