"""The sun box's day under one aim that its wet prints bear: what the day sheet is made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drybox.errors import NoAnswerError
from drybox.inputs.event import Event
from drybox.planning.aim import AimPlan, AimSearch, Turn, peg_shadow
from drybox.planning.conditions import Conditions, conditions
from drybox.planning.draws import draw
from drybox.planning.drying import horizon_s
from drybox.planning.event_aim import EventAim, Sighting, plan_event_aim
from drybox.planning.lay_ons import LONGEST_S, lay_ons, quarter_hours
from drybox.planning.lookups import (
    LayOnLookup,
    ThermometerLookup,
    lay_on_lookup,
    thermometer_lookup,
)
from drybox.planning.set_out import SetOutResult, plan_set_out
from drybox.tables import load_table

Array = NDArray[np.float64]

TRIAL_MEMBERS = 20
TRIAL_STEP = 4
"""Every how many quarter hours a print is tried for a wet emulsion grown too warm."""


@dataclass(frozen=True)
class SheetDay:
    """All parts under the same aim; ``aim.held_below_k`` says how far it is off the sun."""

    aim: EventAim
    set_out: SetOutResult
    lay_on: LayOnLookup
    thermometer: ThermometerLookup


def plan_sheet_day(
    event: Event,
    at_s: float,
    *,
    hold_k: float | None = None,
    seed: int = 1,
    tick: Callable[[], None] = lambda: None,
) -> SheetDay:
    """Return the day of the box, aimed off the sun as far as its wet prints need it.

    Parameters
    ----------
    event : Event
        Everything about the day.
    at_s : float
        When the sun is asked for. [s]
    hold_k : float, optional
        Hold the plate below this; by default the least hold of the table ``limits`` under which
        nine wet prints in ten stay below their limit. [K]
    seed : int
        Of the draws.
    tick : callable
        Called after each of `STEPS` steps of work.

    Raises
    ------
    NoAnswerError
        If no daylight reaches the plate all day.
    """
    aim, day = _bearable_aim(event, at_s, hold_k, seed)
    bearing, tilt = _schedule(event, aim, day)
    tick()
    found = plan_set_out(event, seed=seed, aim=aim.plan)
    tick()
    out = found.set_out_s if found.set_out_s is not None else event.opens_s
    lay_on = lay_on_lookup(event, day, bearing, tilt, from_s=out, seed=seed, tick=tick)
    thermometer = thermometer_lookup(event, day, seed=seed)
    tick()
    return SheetDay(aim, found, lay_on, thermometer)


STEPS = 8
"""Calls of ``tick`` in `plan_sheet_day`."""


def _bearable_aim(
    event: Event, at_s: float, hold_k: float | None, seed: int
) -> tuple[EventAim, Conditions]:
    """Return the aim, and the day from an hour before it to the last print's end."""
    limits = load_table("limits")["plate_hold"]
    own = event.box.aim_mode in ("fixed", "track")
    holds = [None, limits["high"].value, limits["most"].value, limits["low"].value]
    found: EventAim | None = None
    day: Conditions | None = None
    for limit_k in [hold_k] if hold_k is not None or own else holds:
        try:
            aim = plan_event_aim(event, at_s, hold_k=limit_k)
        except NoAnswerError:
            if found is None:
                raise
            break
        found = _own_aim(event, aim)
        if day is None:
            start = float(aim.day.time_s[0])
            last = max(event.closes_s, aim.until_s)
            length = last - start + horizon_s(event, last, LONGEST_S)
            day = conditions(event.weather, event.place, start, start + length)
        if own or not _too_warm(event, day, *_schedule(event, found, day), seed):
            break
    assert found is not None
    assert day is not None
    return found, day


def _own_aim(event: Event, found: EventAim) -> EventAim:
    """Return the aims with the event's fixed one in their place, where it has one."""
    bearing, tilt = event.box.aim_bearing_deg, event.box.aim_tilt_deg
    if event.box.aim_mode != "fixed" or bearing is None or tilt is None:
        return found
    turn = Turn(found.from_s, found.until_s, bearing, tilt, float(np.mean(found.single_w_m2)))
    plan = AimPlan(
        turn,
        found.own_kept_frac or 0.0,
        (turn,),
        found.own_kept_frac or 0.0,
        found.plan.tracked_j_m2,
    )
    place = int(np.searchsorted(found.day.time_s, turn.from_s))
    sun = found.day.sun
    shadow = peg_shadow(
        float(sun.elevation_deg[place]), float(sun.azimuth_deg[place]), tilt, bearing
    )
    seen = Sighting(turn.from_s, *(shadow or (None, None)))
    return replace(found, plan=plan, now=turn, sightings=(seen,), single_sighting=seen)


def _schedule(event: Event, found: EventAim, day: Conditions) -> tuple[Array, Array]:
    mode = "best" if event.box.aim_mode == "fixed" else event.box.aim_mode
    tracked = AimSearch(day, event.place, event.box).tracked_aims()
    return found.plan.schedule(day.time_s, mode, tracked)


def _too_warm(event: Event, day: Conditions, bearing: Array, tilt: Array, seed: int) -> bool:
    starts = quarter_hours(event, day, float(day.time_s[0]))[::TRIAL_STEP]
    if starts.size == 0:
        return False
    ensemble = draw(day, event.weather.kind, TRIAL_MEMBERS, seed)
    laid = lay_ons(event, day, ensemble, bearing, tilt, starts, coarse=True)
    return bool((np.quantile(laid.wet_temp_max_k, 0.9, axis=1) > event.limits.wet_most_k).any())
