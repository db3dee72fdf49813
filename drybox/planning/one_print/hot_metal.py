"""How hot the metal of the day gets: for those who touch it, and when too hot for a print."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drybox.inputs.event.box import Box
from drybox.inputs.event.event import Event
from drybox.physics.simulation.run import run_empty
from drybox.planning.aim.schedule import aim_at
from drybox.planning.aim.search import AimPlan
from drybox.planning.one_print.lay_ons import lay_ons, quarter_hours
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.outside import box_out_s, horizon_s, plate_forcing
from drybox.planning.scenario.readings import draw_seen

STEP_S = 120.0
FOLLOWED_S = 3600.0
"""How long prints laid on at the closing are followed: none grows hotter later (judgement). [s]"""

MEMBERS, SEED = 60, 1
"""Of the draws behind the figures, the same for every command."""


def hottest_metal_k(event: Event, plan: AimPlan | None) -> float | None:
    """Return the ninth decile of the hottest the empty plate gets while the event is open. [K]

    Aimed by a plan, or at the event's fixed aim without one. None where the weather known does not
    reach into the event's hours.
    """
    out, closes = box_out_s(event), event.closes_at
    if event.weather.kind not in ("assumed", "steady"):
        closes = min(closes, float(event.weather.end_at[-1]))
    if closes - max(out, event.opens_at) < STEP_S:
        return None
    told = conditions(event.weather, event.place, out, end_at=closes)
    ensemble = draw_seen(event, told, MEMBERS, seed=SEED).ensemble
    aim = aim_at(event, plan, told.time_at)
    elapsed, temps, _ = run_empty(
        box_system(event.box, event.paper, ensemble.prints),
        plate_forcing(ensemble, event.place, event.box, aim_deg=aim),
        np.arange(MEMBERS),
        start_at=np.full(MEMBERS, out),
        horizon_s=closes - out,
        step_s=STEP_S,
    )
    open_hours = out + elapsed >= event.opens_at
    return float(np.quantile(temps[open_hours].max(axis=0), 0.9))


def thermostat_k(event: Event) -> float | None:
    """Return what a powered plate is held at, None where there is none or nothing holds it. [K]"""
    powered = event.powered
    return powered.plate_temp_k if powered is not None and powered.plate_power_w else None


def hottest_of_k(*metal_k: float | None) -> float | None:
    """Return the hottest of those known, None where none is. [K]"""
    return max((temp for temp in metal_k if temp is not None), default=None)


class Passed(NamedTuple):
    """A part of the box that the hottest metal passes: ``back`` or ``cover``, and what it stands.

    The back lies against the metal; a cover is cooler, and suffers where it touches it.
    """

    part: str
    name: str
    most_temp_k: float


def passed_parts(box: Box, metal_k: float | None) -> tuple[Passed, ...]:
    """Return the parts of a box that do not stand metal so hot for long."""
    stands = [("back", box.back, box.back_most_temp_k)]
    if box.cover is not None:
        stands.append(("cover", box.cover.name, box.cover.most_temp_k))
    return tuple(
        Passed(part, name, most)
        for part, name, most in stands
        if metal_k is not None and most is not None and metal_k > most
    )


def too_hot_at(event: Event, plan: AimPlan | None) -> tuple[float, ...]:
    """Return the quarter hours at which a print laid on the plate is kept over its limit. [s]

    Aimed by a plan, or at the event's fixed aim without one.
    """
    out = box_out_s(event)
    followed_s = horizon_s(event, out, event.closes_at + FOLLOWED_S - out)
    day = conditions(event.weather, event.place, out, end_at=out + followed_s)
    starts = quarter_hours(event, day, event.opens_at)
    if starts.size == 0:
        return ()
    ensemble = draw_seen(event, day, MEMBERS, seed=SEED).ensemble
    aim = aim_at(event, plan, day.time_at)
    (laid,) = lay_ons(event, day, [ensemble], aim_deg=aim, starts_s=starts, coarse=True)
    return tuple(float(at) for at in starts[laid.too_hot])
