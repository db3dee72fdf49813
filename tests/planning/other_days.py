"""How many of a plan's promises days drawn by another seed keep."""

from __future__ import annotations

from drybox.planning.day.plan import DayPlan, columns_of, drawn
from drybox.planning.day.simulation import DaySimulation, SetUp
from drybox.planning.day.stages import wet_day
from drybox.planning.day.told.kept import kept_shares


def kept_on_other_days(
    plan: DayPlan, days: int = 1000, seed: int = 2
) -> tuple[float, float] | None:
    """Return how many of a plan's promises days drawn by another seed keep.

    Parameters
    ----------
    plan : DayPlan
        Its promises, and the ways it chose.
    days : int
        How many drawn days.
    seed : int
        Of these days, another than the plan's.

    Returns
    -------
    (float, float) or None
        Share of the prints promised dry that are ready by the unrounded P90, and by the rounded
        promise; None if none was promised dry.
    """
    event, inputs = plan.event, plan.inputs
    draws = drawn(event, inputs, plan.told, days, seed)
    means = plan.run.setup.means
    wet = wet_day(inputs.process, inputs.day, means, draws, days, event.closes_s)
    simulation = DaySimulation(event, inputs, plan.told, draws)
    (run,) = simulation.run([SetUp(means, wet)], [plan.run.choice])
    columns = columns_of(draws, plan.tickets)
    return kept_shares(plan.tickets, plan.hours, run, columns=columns, day=inputs.day)
