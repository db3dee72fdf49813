"""The day with everything an hour earlier."""

from __future__ import annotations

from dataclasses import replace

from drybox.errors import NoAnswerError
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.samples import draw_day
from drybox.planning.day.simulation import DaySimulation, told_day
from drybox.planning.day.what_if import HOUR_S, MEMBERS, Trial, WhatIf, is_unsure, outcome
from drybox.planning.wet.baths import Supply


def opening_earlier(simulation: DaySimulation, base: DayRun, seed: int) -> list[WhatIf]:
    """Return what it brings that every sitter comes an hour earlier, the closing as it is.

    Nothing where sitters come by chance, every print is dry in time, or the weather known does not
    reach back so far. It is a day of its own, with another weather by the minute.
    """
    inputs, event, setup = simulation.inputs, simulation.event, base.setup
    if inputs.day.rate_1_s is not None or not is_unsure(simulation, setup, base.choice):
        return []
    out_s = None if event.set_out_at is None else event.set_out_at - HOUR_S
    early = replace(event, opens_at=event.opens_at - HOUR_S, set_out_at=out_s)
    sitters = tuple(replace(one, at=one.at - HOUR_S) for one in inputs.day.sitters)
    moved = replace(inputs, day=replace(inputs.day, sitters=sitters))
    try:
        told = told_day(early)
    except NoAnswerError:
        return []
    members = min(MEMBERS, setup.members)
    tickets = simulation.draws.arrive_at.shape[1]
    draws = draw_day(early, moved, told, members=members, seed=seed, most=tickets)
    there = DaySimulation(early, moved, told, draws=draws)
    own = there.set_up(setup.resources, members)
    (run,) = there.run([own], [there.choose(own)])
    costs = (Supply("sooner for all", 60.0, "min"),)
    return [outcome(Trial("opening an hour earlier", "opening", own, costs=costs), run, base)]
