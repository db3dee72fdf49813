"""How to aim the box at an event: one aim or turns, compass, the peg's shadow, off the sun."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.physics.earth_magnetism import Declination, declination_deg
from drybox.physics.sun_position import sun_position
from drybox.planning.aim.off_sun import FACING, OffSun, why_off_sun
from drybox.planning.aim.schedule import plan_day_aim
from drybox.planning.aim.search import AimPlan, AimSearch, Turn
from drybox.planning.aim.sighting import peg_shadow
from drybox.planning.aim.spots import Blocked, blocked_stretches
from drybox.planning.aim.wall_strip import WallStrip, wall_strips
from drybox.planning.aim.wind import WindOnBox, day_wind
from drybox.planning.one_print.hot_metal import hottest_metal_k
from drybox.planning.scenario.conditions import Conditions
from drybox.readable import Readable
from drybox.tables import load_table


@dataclass(frozen=True)
class Sighting:
    """A peg's shadow at an instant under an aim; ``length_pegs`` is None with the sun behind.

    ``direction_deg`` runs clockwise from up the slope, seen from the front.
    """

    at: float
    length_pegs: float | None
    direction_deg: float | None


@dataclass(frozen=True, eq=False, repr=False)
class EventAim(Readable):
    """The aims of a stretch of the day, and how to sight them.

    ``asked_s`` is the stretch asked for, which ``from_at`` to ``until_at`` cut to the hours of sun.
    ``now`` is the turn in force at ``at``. ``sightings`` and ``strips``, what the bin's walls
    shade, go with the turns, each shadow as soon as the sun is out; ``single_sighting`` is where
    the single aim's shadow is shortest.
    ``off_sun`` and ``single_off_sun`` say why turn and single aim do not face the sun.
    Where the event's aim is fixed the plan is that aim, and ``better`` the best one where it gains
    enough. ``metal_k`` is how hot the plate
    may get, in nine draws in ten, aimed as the event asks. The series are over ``day.time_at``.
    """

    at: float
    sun_elevation_deg: float
    sun_azimuth_deg: float
    asked_s: tuple[float, float]
    from_at: float
    until_at: float
    share_frac: float
    plan: AimPlan
    now: Turn
    declination: Declination
    sightings: tuple[Sighting, ...]
    single_sighting: Sighting
    held_below_k: float | None
    blocked: tuple[Blocked, ...]
    metal_k: float | None
    off_sun: OffSun
    single_off_sun: OffSun
    strips: tuple[tuple[WallStrip, ...], ...]
    single_strips: tuple[WallStrip, ...]
    wind: WindOnBox | None
    better: Turn | None
    day: Conditions
    turned_w_m2: Array
    single_w_m2: Array
    tracked_w_m2: Array


def plan_event_aim(
    event: Event,
    at: float,
    *,
    from_at: float | None = None,
    until_at: float | None = None,
    share: float | None = None,
    hold_k: float | None = None,
) -> EventAim:
    """Return the single aim, the turns and their sighting for a stretch of an event's day.

    True bearings. The stretch is by default the event's hours; of the energy with always turning
    the turns keep ``share``, the plate is held below ``hold_k``, by default as the event wishes.
    `NoAnswerError` if the sun is down or hidden all the stretch, or no aim holds the plate below
    the limit. [s], [K]
    """
    asked = (
        event.aimed_from_s if from_at is None else from_at,
        event.closes_at if until_at is None else until_at,
    )
    wanted = event.limits.turns_share_frac if share is None else share
    plan, search = plan_day_aim(event, asked, share=wanted, hold_k=hold_k)
    day, first, last = search.day, plan.single.from_at, plan.single.until_at
    place = event.place
    sun = sun_position(np.array([at]), place.latitude_deg, place.longitude_deg, place.elevation_m)
    inside = search.inside(first, last)
    whole = np.arange(day.time_at.size)
    own, better = _own_plan(event, search, plan), None
    if own is not None and hold_k is None:
        worth = 1.0 + load_table("limits")["useful"]["aim_gain"].value
        gains = plan.single.mean_irradiance_w_m2 > worth * own.single.mean_irradiance_w_m2
        plan, better = own, plan.single if gains else None
    now = next((turn for turn in plan.turns[::-1] if turn.from_at <= at), plan.turns[0])
    seen_at = at if first < at <= last else now.from_at
    shortest = min(
        (_sighting(day, plan.single, float(at)) for at in day.time_at[inside][::5]),
        key=lambda seen: np.inf if seen.length_pegs is None else seen.length_pegs,
    )
    return EventAim(
        at=at,
        sun_elevation_deg=float(sun.elevation_deg[0]),
        sun_azimuth_deg=float(sun.azimuth_deg[0]),
        asked_s=asked,
        from_at=first,
        until_at=last,
        share_frac=wanted,
        plan=plan,
        now=now,
        declination=declination_of(event),
        sightings=tuple(_first_sighting(event, day, turn) for turn in plan.turns),
        single_sighting=shortest,
        held_below_k=plan.held_below_k,
        blocked=tuple(
            stretch
            for stretch in blocked_stretches(place, day)
            if stretch.until_at > first and stretch.from_at < last
        ),
        metal_k=hottest_metal_k(event, plan),
        off_sun=_off_sun(event, plan, day, turn=now, at=seen_at, hold_k=hold_k),
        single_off_sun=_off_sun(event, plan, day, turn=plan.single, at=seen_at, hold_k=hold_k),
        strips=tuple(wall_strips(event, day, turn) for turn in plan.turns),
        single_strips=wall_strips(event, day, plan.single),
        wind=day_wind(event, plan),
        better=better,
        day=day,
        turned_w_m2=search.light_w_m2(whole, *plan.schedule(day.time_at, "turns")),
        single_w_m2=search.under_w_m2(plan.single, whole),
        tracked_w_m2=search.tracked_w_m2(whole),
    )


def _own_plan(event: Event, search: AimSearch, plan: AimPlan) -> AimPlan | None:
    """Return the event's fixed aim as the plan of a stretch, None where it has none."""
    bearing, tilt = event.box.aim_bearing_deg, event.box.aim_tilt_deg
    if bearing is None or tilt is None:
        return None
    own = replace(plan.single, bearing_deg=bearing, tilt_deg=tilt)
    light = search.under_w_m2(own, search.inside(own.from_at, own.until_at))
    own = replace(own, mean_irradiance_w_m2=float(light.mean()))
    kept = own.energy_j_m2 / plan.tracked_j_m2
    return replace(
        plan, single=own, kept_frac=kept, turns=(own,), turns_kept_frac=kept, held_below_k=None
    )


def _off_sun(
    event: Event, plan: AimPlan, day: Conditions, *, turn: Turn, at: float, hold_k: float | None
) -> OffSun:
    if hold_k is not None and plan.held_below_k is not None:
        return OffSun(code="held", held_below_k=plan.held_below_k)
    if hold_k is not None and event.box.aim_mode == "fixed":
        return FACING
    return why_off_sun(event, plan, day, aim=(turn.bearing_deg, turn.tilt_deg), at=at)


def declination_of(event: Event) -> Declination:
    """Return how far a compass at the event's place points from true north, the same all day."""
    place, moment = event.place, datetime.fromtimestamp(event.opens_at, UTC)
    begun, ends = (datetime(moment.year + more, 1, 1, tzinfo=UTC) for more in (0, 1))
    year = moment.year + (moment - begun) / (ends - begun)
    return declination_deg(place.latitude_deg, place.longitude_deg, place.elevation_m, year)


def _sighting(day: Conditions, turn: Turn, at: float) -> Sighting:
    """Return the peg's shadow under a turn's aim, the sun taken between the day's minutes."""
    row = day.row_at(at)
    seen = peg_shadow(
        float(day.sun.elevation_deg[row]),
        float(day.sun.azimuth_deg[row]),
        turn.tilt_deg,
        bearing_deg=turn.bearing_deg,
    )
    if seen is None or day.sun.elevation_deg[row] <= 0.0:
        return Sighting(at, None, None)
    return Sighting(at, *seen)


def _first_sighting(event: Event, day: Conditions, turn: Turn) -> Sighting:
    """Return the shadow at the start of a turn, or once the sun has come out from what hides it."""
    lit = day.in_sun(event.place.obstacles)
    if lit[day.row_at(turn.from_at)]:
        return _sighting(day, turn, turn.from_at)
    later = day.time_at[lit & (day.time_at > turn.from_at) & (day.time_at < turn.until_at)]
    if not later.size:
        return Sighting(turn.from_at, None, None)
    return _sighting(day, turn, float(later[0]))
