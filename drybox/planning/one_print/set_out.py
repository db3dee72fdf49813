"""When to set the box out, how it warms, and when a print is first and last worth laying on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Place
from drybox.physics.shading import obstacle_transmittance
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.state import BoxSystem
from drybox.planning.aim.off_sun import FACING, OffSun, why_off_sun
from drybox.planning.aim.schedule import aim_schedule, sun_between
from drybox.planning.aim.search import AT_HOME, AimPlan
from drybox.planning.aim.spots import PlaceSpots, place_spots
from drybox.planning.aim.wind import WindOnBox, day_wind
from drybox.planning.one_print.drying import TOO_LARGE
from drybox.planning.one_print.hot_metal import hottest_metal_k
from drybox.planning.one_print.lay_ons import lay_ons, quarter_hours
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import box_system, slots_on_plate
from drybox.planning.scenario.outside import horizon_s, plate_forcing
from drybox.planning.scenario.percentiles import Range, range_of
from drybox.planning.scenario.rain import Spell, stopping_spells
from drybox.planning.scenario.readings import Held, draw_seen
from drybox.planning.scenario.samples import Ensemble, as_told
from drybox.readable import Readable

MEMBERS = 60
NEARLY_WARM_K = 2.0
"""A plate this close to one that has been out all along counts as warm. [K]"""

TRY_EVERY_S, LONGEST_WARM_UP_S = 300.0, 2 * 3600.0
"""Setting-out times tried lie so far apart; one so long before is out all along. [s]"""


@dataclass(frozen=True)
class Blocked:
    """A stretch in which an obstacle stands before the sun."""

    from_at: float
    until_at: float
    name: str
    passed_frac: float


@dataclass(frozen=True, eq=False, repr=False)
class SetOutResult(Readable):
    """The day of the empty plate and of prints laid on each quarter hour; times in unix seconds.

    The empty plate is as told from the first minute of the day on: time, irradiance, plate and air.
    ``loads`` pairs each laying-on time with the range of seconds to dry; ``too_hot`` are those at
    which one print in two is kept over its limit. ``sure`` says that nine prints in ten dry within
    the wait from first to last load, else half of them do. ``metal_k`` is the ninth decile of the
    hottest empty plate in the event's hours; ``off_sun`` says why the box, once set out, does not
    face the sun; ``other_sky`` is the same under a closed sky, where no cloud was told.
    """

    sunrise_at: float | None
    sunset_at: float | None
    sun_status: str
    set_out_at: float | None
    first_load_at: float | None
    last_load_at: float | None
    wait_s: float
    time_at: Array
    plate_irradiance_w_m2: Array
    plate_temp_k: Array
    air_temp_k: Array
    sun_elevation_deg: Array
    sun_azimuth_deg: Array
    loads: tuple[tuple[float, Range], ...]
    blocked: tuple[Blocked, ...]
    aim: AimPlan | None
    spots: PlaceSpots
    held: Held = field(default_factory=Held)
    too_hot: tuple[float, ...] = ()
    sure: bool = True
    metal_k: float | None = None
    off_sun: OffSun = FACING
    wind: WindOnBox | None = None
    other_sky: SetOutResult | None = None


def blocked_stretches(place: Place, day: Conditions) -> tuple[Blocked, ...]:
    """Return when each obstacle stands before the sun, while the sun is up."""
    sun = day.sun
    found = [
        Blocked(from_at=first, until_at=last, name=one.name, passed_frac=one.transmittance_frac)
        for one in place.obstacles
        for first, last in day.stretches(
            (sun.elevation_deg > 0.0)
            & (obstacle_transmittance([one], sun.azimuth_deg, sun.elevation_deg) < 1.0)
        )
    ]
    return tuple(sorted(found, key=lambda stretch: stretch.from_at))


def plan_set_out(
    event: Event,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    wait_s: float | None = None,
    aim: AimPlan | None = None,
) -> SetOutResult:
    """Return when to set the box out and when prints are worth laying on.

    A laying-on is useful while nine prints in ten dry within ``wait_s``, the event's limit by
    default; where none is, while half of them do. ``aim`` goes in the place of the best one.
    `NoAnswerError` if the sun is down, or never reaches the plate, while the event is open, or no
    print can lie on it. [s]
    """
    if slots_on_plate(event.box, event.paper) == 0:
        raise NoAnswerError(TOO_LARGE)
    wait = event.limits.wait_s if wait_s is None else wait_s
    place = event.place
    sun = sun_between(event.place, event.day_start_at, event.day_end_at)
    if sun.status == "down_all_day":
        raise NoAnswerError("the sun does not rise there that day", "", AT_HOME)
    start = max(event.day_start_at, min(sun.sunlit[0][0], event.opens_at) - 1800.0)
    start = TRY_EVERY_S * np.floor(start / TRY_EVERY_S)
    end = max(min(event.day_end_at, sun.sunlit[-1][1]) + 2 * 3600.0, event.closes_at)
    day = conditions(
        event.weather, place, start, end_at=start + horizon_s(event, start, end - start)
    )
    if aim is None or event.box.aim_mode == "fixed":
        aim_deg, plan = aim_schedule(event, day, event.aimed_from_s, until_at=event.closes_at)
    else:
        aim_deg = aim.schedule(day.time_at, event.box.aim_mode)
        plan = aim
    told = as_told(day, event.fit)
    forcing = plate_forcing(told, place, event.box, aim_deg=aim_deg)
    system = box_system(event.box, event.paper, told.prints)
    seen = draw_seen(event, day, members, seed=seed)
    loads, too_hot = _loads(
        event, day, seen.ensemble, aim_deg=aim_deg, from_at=max(start, sun.sunlit[0][0])
    )
    spells = stopping_spells(event.weather, start, end)
    open_to = [(at, minutes) for at, minutes in loads if at not in too_hot]
    sure = [at for at, dry in open_to if _in_time(at, dry.p90, wait_s=wait, spells=spells)]
    likely = [at for at, dry in open_to if _in_time(at, dry.p50, wait_s=wait, spells=spells)]
    useful = sure or likely
    first, last = (useful[0], useful[-1]) if useful else (None, None)
    out, curve = _latest_set_out(system, forcing, day, first_load_at=first)
    return SetOutResult(
        sunrise_at=sun.sunrise_at,
        sunset_at=sun.sunset_at,
        sun_status=sun.status,
        set_out_at=out,
        first_load_at=first,
        last_load_at=last,
        wait_s=wait,
        time_at=day.time_at,
        plate_irradiance_w_m2=forcing.values[0, 0],
        plate_temp_k=day.air_temp_k + seen.held.rise_frac * (curve - day.air_temp_k),
        air_temp_k=day.air_temp_k,
        sun_elevation_deg=day.sun.elevation_deg,
        sun_azimuth_deg=day.sun.azimuth_deg,
        loads=loads,
        blocked=blocked_stretches(place, day),
        aim=plan,
        spots=place_spots(event, day),
        held=seen.held,
        too_hot=too_hot,
        sure=bool(sure),
        metal_k=hottest_metal_k(event, plan),
        off_sun=_off_sun(event, plan, day, out=out),
        wind=day_wind(event, plan),
    )


def _in_time(
    at: float, dry_after_s: float | None, *, wait_s: float, spells: tuple[Spell, ...]
) -> bool:
    """Return whether a print laid on at a time is dry within the wait and before any rain."""
    if dry_after_s is None or dry_after_s > wait_s:
        return False
    return not any(one.begin_at < at + dry_after_s and at < one.end_at for one in spells)


def _off_sun(event: Event, plan: AimPlan | None, day: Conditions, *, out: float | None) -> OffSun:
    """Return why the first aim of the day does not face the sun."""
    if out is None:
        return FACING
    if plan is None or event.box.aim_mode == "track":
        return why_off_sun(event, plan, day, aim=(0.0, 0.0), at=out) if plan is None else FACING
    first = plan.aims(event.box.aim_mode)[0]
    aim = first.bearing_deg, first.tilt_deg
    return why_off_sun(event, plan, day, aim=aim, at=max(out, first.from_at))


def _loads(
    event: Event,
    day: Conditions,
    ensemble: Ensemble,
    *,
    aim_deg: AimDeg,
    from_at: float,
) -> tuple[tuple[tuple[float, Range], ...], tuple[float, ...]]:
    """Return seconds to dry for a print laid on at each quarter hour, plate out all along.

    And at which of them a print is too hot.
    """
    starts = quarter_hours(event, day, from_at)
    if starts.size == 0:
        return (), ()
    (laid,) = lay_ons(event, day, [ensemble], aim_deg=aim_deg, starts_s=starts, coarse=True)
    loads = tuple(
        (float(at), range_of(row)) for at, row in zip(starts, laid.dry_after_s, strict=True)
    )
    return loads, tuple(float(at) for at in starts[laid.too_hot])


def _latest_set_out(
    system: BoxSystem, forcing: Forcing, day: Conditions, *, first_load_at: float | None
) -> tuple[float | None, Array]:
    """Return the latest setting out with the plate warm at the first laying-on, and its day.

    Without a laying-on the plate is out all day.
    """
    start = float(day.time_at[0])
    last = start if first_load_at is None else first_load_at
    tries = np.arange(max(start, last - LONGEST_WARM_UP_S), last + 1.0, TRY_EVERY_S)
    elapsed, temps, _ = run_empty(
        system,
        forcing,
        np.zeros(tries.size, dtype=np.intp),
        start_at=tries,
        horizon_s=float(day.time_at[-1]) - tries[0],
    )

    def plate_k(number: int, at: Array | float) -> Array:
        return np.asarray(np.interp(at - tries[number], elapsed, temps[:, number]))

    if first_load_at is None:
        return None, plate_k(0, day.time_at)
    reached = np.array([float(plate_k(k, first_load_at)) for k in range(tries.size)])
    chosen = int(np.flatnonzero(reached >= reached[0] - NEARLY_WARM_K)[-1])
    out = float(tries[chosen])
    return out, np.where(day.time_at < out, day.air_temp_k, plate_k(chosen, day.time_at))
