"""When prints are last worth laying on: no turn is worth it after that."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.planning.aim.search import AimPlan
from drybox.planning.one_print.lay_ons import lay_ons
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.outside import box_out_s
from drybox.planning.scenario.samples import draw_on

MEMBERS, SEED = 20, 1
"""Of the draws behind the answer, the same for every command."""

LIKELY_FRAC = 0.5
"""Share of the draws in which a print is dry within the wait where it is worth laying on
(judgement). [-]"""

EVERY_S = 900.0
LEAST_FOLLOWED_S = 3600.0


def last_useful_at(event: Event, plan: AimPlan) -> float:
    """Return the last quarter hour at which a print laid on is likely dry within the wait. [s]

    Until the event closes, the box turned as the plan says; infinitely early where there is none
    after the first turn.

    In half the draws: a print that may well dry is laid on, and wants the sun, though `drybox
    setout` counts only what nine draws in ten make sure. Few draws, of what was told alone:
    readings of the day do not move it. The last turn's own first quarter hour is tried first, and
    is an answer where it is useful.
    """
    until, wait = min(event.closes_at, plan.single.until_at), event.limits.wait_s
    begin, last = plan.turns[min(1, len(plan.turns) - 1)].from_at, plan.turns[-1].from_at
    out = min(box_out_s(event), begin - EVERY_S)
    day = conditions(event.weather, event.place, out, end_at=until + max(wait, LEAST_FOLLOWED_S))
    drawn = draw_on(event, day, MEMBERS, seed=SEED)
    aim = plan.schedule(day.time_at, "turns")

    def useful(starts_at: Array) -> Array:
        if starts_at.size == 0:
            return starts_at
        (laid_on,) = lay_ons(
            event, day, [drawn], aim_deg=aim, starts_s=starts_at, coarse=True, longest_s=wait
        )
        in_time = (laid_on.dry_after_s <= wait).mean(axis=1) >= LIKELY_FRAC
        return np.asarray(starts_at[in_time])

    starts = np.arange(np.ceil(begin / EVERY_S) * EVERY_S, until + 1.0, EVERY_S)
    found = useful(starts[starts >= last][:1])
    if found.size == 0:
        found = useful(starts)
    return float(found.max(initial=-np.inf))
