"""Whether prints are still worth laying on: no turn is worth it after the last of them."""

from __future__ import annotations

import numpy as np

from drybox.inputs.event.event import Event
from drybox.physics.simulation.empty_run import run_empty
from drybox.physics.simulation.step_control import COARSE_PACE
from drybox.planning.aim.search import AimPlan
from drybox.planning.one_print.lay_print import lay_print
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.outside import box_out_s, plate_forcing
from drybox.planning.scenario.samples import draw_on

MEMBERS, SEED = 20, 1
"""Of the draws behind the answer, the same for every command."""

EVERY_S = 900.0
EMPTY_STEP_S = 120.0
LEAST_FOLLOWED_S = 3600.0


def used_from(event: Event, plan: AimPlan, begin_at: float) -> bool:
    """Return whether some print laid on from a time on dries in nine draws of ten within the wait.

    Parameters
    ----------
    event : Event
        Its box, paper, weather and limit of the wait; it closes before the last laying-on.
    plan : AimPlan
        Turned as it says.
    begin_at : float
        Unix time. [s]

    Notes
    -----
    As `drybox setout` finds the last useful laying-on, by fewer draws and by what was told alone:
    readings of the day do not move it.
    """
    until = min(event.closes_s, plan.single.until_s)
    starts = np.arange(np.ceil(begin_at / EVERY_S) * EVERY_S, until + 1.0, EVERY_S)
    if starts.size == 0:
        return False
    wait = event.limits.wait_s
    out = min(box_out_s(event), begin_at - EVERY_S)
    day = conditions(event.weather, event.place, out, until + max(wait, LEAST_FOLLOWED_S))
    drawn = draw_on(event, day, MEMBERS, SEED)
    aim = plan.schedule(day.time_s, "turns")
    forcing = plate_forcing(drawn, event.place, event.box, *aim)
    every = np.arange(MEMBERS)
    system = box_system(event.box, event.paper, drawn.prints)
    elapsed, warm = run_empty(
        system, forcing, every, np.full(MEMBERS, out), until - out, EMPTY_STEP_S
    )
    rows = np.searchsorted(elapsed, starts - out).clip(0, elapsed.size - 1)
    member, prints = np.tile(every, starts.size), drawn.prints.of(np.tile(every, starts.size))
    run = lay_print(
        event,
        box_system(event.box, event.paper, prints),
        forcing,
        member=member,
        prints=prints,
        laid_on_s=np.repeat(starts, MEMBERS),
        plate_temp_k=warm[rows].ravel(),
        horizon_s=wait,
        past_dry=False,
        pace=COARSE_PACE,
    )
    in_time = (run.dry_after_s <= wait).reshape(starts.size, MEMBERS)
    return bool(np.any(in_time.mean(axis=1) >= 0.9))
