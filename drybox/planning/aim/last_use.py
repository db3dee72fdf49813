"""Whether prints are still worth laying on: no turn is worth it after the last of them."""

from __future__ import annotations

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.aim.search import AimPlan
from drybox.planning.one_print.lay_ons import lay_ons
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.outside import box_out_s
from drybox.planning.scenario.samples import draw_on

MEMBERS, SEED = 20, 1
"""Of the draws behind the answer, the same for every command."""

EVERY_S = 900.0
LEAST_FOLLOWED_S = 3600.0


def used_from(event: Event, plan: AimPlan, begin_at: float, *, likely: bool = True) -> bool:
    """Return whether some print laid on from a time on dries in nine draws of ten within the wait.

    Until the event closes, the box turned as the plan says. [s]

    Notes
    -----
    As `drybox setout` finds the last useful laying-on, by fewer draws and by what was told alone:
    readings of the day do not move it.
    """
    until = min(event.closes_s, plan.single.until_s)
    starts = np.arange(np.ceil(begin_at / EVERY_S) * EVERY_S, until + 1.0, EVERY_S)
    wait = event.limits.wait_s
    out = min(box_out_s(event), begin_at - EVERY_S)
    day = conditions(event.weather, event.place, out, until + max(wait, LEAST_FOLLOWED_S))
    drawn = draw_on(event, day, MEMBERS, SEED)
    aim = plan.schedule(day.time_s, "turns")
    for some in (starts[:1], starts[1:]) if likely else (starts,):  # the first is enough to know
        if some.size:
            (laid,) = lay_ons(event, day, [drawn], *aim, some, coarse=True, longest_s=wait)
            if np.any((laid.dry_after_s <= wait).mean(axis=1) >= 0.9):
                return True
    return False
