"""Aim off the sun so that the plate stays below a limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.physics.simulation.balance import rates
from drybox.planning.aim.search import HOLD_TILTS_DEG, AimPlan, AimSearch
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import nominal

COVER_ROUNDS = 60
"""Rounds for the cover to settle to the plate's temperature; each takes off half the rest."""


def holding_light_w_m2(event: Event, day: Conditions, *, aim_deg: AimDeg, limit_k: float) -> Array:
    """Return the light inside the box that would just keep the plate at a temperature.

    What the empty plate loses at that temperature over its absorptance, (times,), at an aim for the
    sky it sees. [W/m²]

    A steady balance at the slope asked for, so the plate with its lag passes the limit by less
    than 0.5 K as told; a lull in the wind or a hotter hour than told may take it further.
    """
    told = nominal(day, event.fit)
    forcing = plate_forcing(told, event.place, event.box, aim_deg=aim_deg)
    times = day.time_at
    outside = forcing.at(np.zeros(times.size, dtype=np.intp), times)
    system = box_system(event.box, event.paper, told.prints)
    state = system.start(np.full(times.size, limit_k))
    empty = np.zeros(state.sheet_temp_k.shape, dtype=bool)
    now = rates(system, state, outside, occupied=empty)
    if system.plate.cover is not None:
        for _ in range(COVER_ROUNDS):
            cover = state.cover_temp_k + now.cover_w_m2 / now.cover_slope
            state = state._replace(cover_temp_k=cover)
            now = rates(system, state, outside, occupied=empty)
    absorbed = np.asarray(system.plate.absorbed_frac(system.plate.absorptance_frac))
    return np.asarray(outside.front_sun_w_m2 - now.plate_w_m2 / absorbed)


def held_search(event: Event, free: AimSearch, limit_k: float) -> AimSearch:
    """Return an aim search with the light capped at what holds the plate at a limit.

    `NoAnswerError` if the air alone takes the plate past the limit.
    """
    bearing, _ = free.tracked_aims()
    aims = [(bearing, np.full(bearing.shape, tilt)) for tilt in HOLD_TILTS_DEG]
    most = np.array(
        [holding_light_w_m2(event, free.day, aim_deg=aim, limit_k=limit_k) for aim in aims]
    )
    if np.all(most <= 0.0):
        raise NeverBelowError(limit_k)
    return replace(free, most_w_m2=np.maximum(most, 0.0))


class NeverBelowError(NoAnswerError):
    """The plate passes a limit at every aim. [K]"""

    def __init__(self, limit_k: float) -> None:
        self.limit_k = limit_k
        super().__init__(
            f"the plate passes {limit_k - 273.15:.0f} °C at every aim",
            "",
            "shade the box with a board, or lay the print on later",
        )


def check_holds(search: AimSearch, plan: AimPlan, limit_k: float) -> None:
    """Refuse a plan under which the plate would pass the limit all the same."""
    if search.most_w_m2 is None:
        return
    for turn in plan.turns:
        index = search.inside(turn.from_at, turn.until_at)
        most = search.allowed_w_m2(index, np.array([turn.tilt_deg]))[:, 0]
        if np.any(search.under_w_m2(turn, index) > 1.1 * most + 10.0):
            raise NeverBelowError(limit_k)
