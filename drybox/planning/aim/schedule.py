"""The aim of a day: one plan that every command shares, and its schedule by the minute."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Place
from drybox.physics.sun_position import SunEvents, sun_events
from drybox.planning.aim.hold import check_holds, held_search
from drybox.planning.aim.last_use import last_useful_at
from drybox.planning.aim.search import AT_HOME, AimPlan, AimSearch, TurnRule, plan_aim, tracked_plan
from drybox.planning.aim.spots import hidden_by
from drybox.planning.aim.wind import most_tilt_in_wind_deg
from drybox.planning.scenario.conditions import Conditions, conditions

LEAD_S = 3600.0
"""How long before its stretch the aim's day begins. [s]"""


def plan_day_aim(
    event: Event,
    asked: tuple[float, float],
    *,
    share: float | None = None,
    hold_k: float | None = None,
) -> tuple[AimPlan, AimSearch]:
    """Return the aims of a stretch of the day, cut to its sun, and the search behind them.

    The turns keep ``share`` of the always-turned energy, the empty plate is held below ``hold_k``,
    by default as the event wishes. `NoAnswerError` if the sun is down all the stretch or never
    reaches the plate, or no aim holds the plate below a limit asked for. [s], [K]
    """
    first, last, day = reached_part(event, asked)
    most_deg = most_tilt_in_wind_deg(event, (first, last))
    event = replace(event, box=replace(event.box, most_tilt_deg=most_deg))
    limit_k = event.limits.hold_below_k if hold_k is None else hold_k
    search = AimSearch(day, event.place, event.box)
    if limit_k is not None:
        search = held_search(event, search, limit_k)
    limits = event.limits
    rule = TurnRule(
        share_frac=limits.turns_share_frac if share is None else share,
        most=limits.most_turns,
        apart_s=limits.turns_apart_s,
        gain_frac=limits.turn_gain_frac,
    )
    plan = plan_aim(search, first, last, rule=rule)
    if len(plan.turns) > 1:
        useful_at = last_useful_at(event, plan)
        if useful_at < plan.turns[-1].from_at:
            plan = plan_aim(search, first, last, rule=replace(rule, last_at=useful_at + 1.0))
    if event.box.aim_mode == "track":
        plan = tracked_plan(search, plan)
    plan = replace(plan, most_tilt_deg=most_deg)
    if search.holds_back(first, last):
        plan = replace(plan, held_below_k=limit_k)
    if hold_k is not None:
        check_holds(search, plan, hold_k)
    return plan, search


def aim_schedule(
    event: Event, day: Conditions, from_at: float, *, until_at: float, hold_k: float | None = None
) -> tuple[AimDeg, AimPlan | None]:
    """Return bearing and tilt over a day as the event file asks, and the plan behind them.

    Wanted for a stretch; on the event's day its hours are taken in, so that every command finds the
    same turns. Off the sun only where the plate would pass ``hold_k``, by default what the event
    wishes; a fixed aim is left alone. `NoAnswerError` as `plan_day_aim`. [s], [K]
    """
    if event.day_start_at <= from_at < event.day_end_at:
        from_at, until_at = min(from_at, event.aimed_from_s), max(until_at, event.closes_at)
    if event.box.aim_mode == "fixed":
        reached_part(event, (from_at, until_at))
        return aim_at(event, None, day.time_at), None
    plan, _ = plan_day_aim(event, (from_at, until_at), hold_k=hold_k)
    return aim_at(event, plan, day.time_at), plan


def aim_at(event: Event, plan: AimPlan | None, time_at: Array) -> AimDeg:
    """Return bearing and tilt at some times: the event's fixed aim, else the plan's. [deg]"""
    box = event.box
    if plan is None or box.aim_mode == "fixed":
        bearing, tilt = box.aim_bearing_deg or 0.0, box.aim_tilt_deg or 0.0
        return np.full(time_at.shape, bearing), np.full(time_at.shape, tilt)
    return plan.schedule(time_at, box.aim_mode)


def reached_part(event: Event, asked: tuple[float, float]) -> tuple[float, float, Conditions]:
    """Return the stretch cut to its sun, and its day, whose sun some time reaches the plate."""
    first, last = sunlit_part(event, asked)
    day = conditions(event.weather, event.place, first - LEAD_S, end_at=last)
    if not day.in_sun(event.place.obstacles)[day.time_at >= first].any():
        name = hidden_by(event.place.obstacles, day, (first, last))
        name = name if name.lower().startswith("the ") else f"the {name}"
        what = f"the sun never reaches the plate: it is behind {name} all the time"
        raise NoAnswerError(what, "", AT_HOME)
    return first, last, day


def sun_between(place: Place, start_at: float, end_at: float) -> SunEvents:
    """Return when the sun rises and sets at a place between two times. [s]"""
    position = place.latitude_deg, place.longitude_deg, place.elevation_m
    return sun_events(start_at, end_at, *position)


def sunlit_part(event: Event, asked: tuple[float, float]) -> tuple[float, float]:
    """Return the stretch cut to between the first and the last sun in it, on whole minutes."""
    place = event.place
    if asked[1] <= asked[0]:
        raise NoAnswerError("the stretch asked for ends before it begins", "", "swap its ends")
    sun = sun_between(place, *asked)
    if not sun.sunlit:
        whole = sun_between(place, event.day_start_at, event.day_end_at)
        if whole.status == "down_all_day":
            raise NoAnswerError(f"the sun does not rise there on {event.date}", "", AT_HOME)
        whole_day = asked[0] <= event.opens_at and asked[1] >= event.closes_at
        mend = AT_HOME if whole_day else "ask for other hours"
        raise NoAnswerError("the sun is down all the time asked for", "", mend)
    first, last = sun.sunlit[0][0], sun.sunlit[-1][1]
    first = first if first == asked[0] else 60.0 * np.ceil(first / 60.0)
    last = last if last == asked[1] else 60.0 * np.floor(last / 60.0)
    if last - first < 120.0:
        raise NoAnswerError("the sun is up for less than two minutes of the time asked for")
    return float(first), float(last)
