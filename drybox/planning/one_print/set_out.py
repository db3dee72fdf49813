"""When to set the box out, how it warms, and when a print is first and last worth laying on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.planning.aim.off_sun import FACING, OffSun, why_off_sun
from drybox.planning.aim.schedule import aim_schedule, sun_between
from drybox.planning.aim.search import AT_HOME, AimPlan
from drybox.planning.aim.spots import Blocked, PlaceSpots, blocked_stretches, place_spots
from drybox.planning.aim.wind import WindOnBox, day_wind
from drybox.planning.one_print.drying import TOO_LARGE
from drybox.planning.one_print.hot_metal import hottest_metal_k
from drybox.planning.one_print.lay_ons import lay_ons, quarter_hours
from drybox.planning.scenario.conditions import STEP_S, Conditions, conditions
from drybox.planning.scenario.models import box_system, slots_on_plate
from drybox.planning.scenario.outside import box_out_s, horizon_s, plate_forcing
from drybox.planning.scenario.percentiles import Range, or_never, range_of
from drybox.planning.scenario.rain import Spell, stopping_spells
from drybox.planning.scenario.readings import Readings, draw_seen
from drybox.planning.scenario.samples import Ensemble, nominal
from drybox.readable import Readable

MEMBERS = 60


@dataclass(frozen=True, eq=False, repr=False)
class SetOutResult(Readable):
    """The day of the empty plate and of prints laid on each quarter hour; times in unix seconds.

    The empty plate is as told, from setting out on: time, irradiance, plate and air.
    ``loads`` pairs each laying-on time with the range of seconds to dry, unknown from when rain
    comes; ``too_hot`` are those at which one print in two is kept over its limit. In the quarter
    hours ``likely``, from first to last load, half of the prints dry within the wait, in those
    ``sure`` nine in ten. ``metal_k`` is the ninth decile of the hottest empty plate in the event's
    hours; ``off_sun`` says why the box, once set out, does not face the sun; ``other_sky`` is the
    same under a closed sky, where no cloud was told.
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
    readings: Readings = field(default_factory=Readings)
    too_hot: tuple[float, ...] = ()
    likely: tuple[float, ...] = ()
    sure: tuple[float, ...] = ()
    metal_k: float | None = None
    off_sun: OffSun = FACING
    wind: WindOnBox | None = None
    other_sky: SetOutResult | None = None
    no_other_sky: NoAnswerError | None = None


def plan_set_out(
    event: Event,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    wait_s: float | None = None,
    aim: AimPlan | None = None,
) -> SetOutResult:
    """Return when to set the box out and when prints are worth laying on.

    A laying-on is useful while half of the prints dry within ``wait_s``, the event's limit by
    default. The box is out when the event says, see `box_out_s`, as in every command; nothing is
    said of a plate on which not even one print in ten dries. ``aim`` goes in the place of the best
    one. `NoAnswerError` if the sun is down, or never reaches the plate, while the event is open, or
    no print can lie on it. [s]
    """
    if slots_on_plate(event.box, event.paper) == 0:
        raise NoAnswerError(TOO_LARGE)
    wait = event.limits.wait_s if wait_s is None else wait_s
    place = event.place
    sun = sun_between(place, event.day_start_at, event.day_end_at)
    if sun.status == "down_all_day":
        raise NoAnswerError("the sun does not rise there that day", "", AT_HOME)
    out = box_out_s(event)
    start = max(event.day_start_at, min(sun.sunlit[0][0], event.opens_at) - 1800.0)
    start = STEP_S * np.floor(min(start, out) / STEP_S)
    end = max(min(event.day_end_at, sun.sunlit[-1][1]) + 2 * 3600.0, event.closes_at)
    day = conditions(
        event.weather, place, start, end_at=start + horizon_s(event, start, end - start)
    )
    if aim is None or event.box.aim_mode == "fixed":
        aim_deg, plan = aim_schedule(event, day, event.aimed_from_s, until_at=event.closes_at)
    else:
        aim_deg, plan = aim.schedule(day.time_at, event.box.aim_mode), aim
    told = nominal(day, event.fit)
    forcing = plate_forcing(told, place, event.box, aim_deg=aim_deg)
    seen = draw_seen(event, day, members, seed=seed)
    loads, too_hot = _loads(event, day, seen.ensemble, aim_deg=aim_deg, out=out)
    spells = stopping_spells(event.weather, start, end)
    open_to = [load for load in loads if load[0] not in too_hot]
    likely, sure = _in_time(open_to, wait_s=wait, closes_at=event.closes_at, spells=spells)
    first, last = (likely[0], likely[-1]) if likely else (None, None)
    loads = _till_rain(loads, spells)
    shut = {*too_hot, event.closes_at}
    dries = any(dry.p10 is not None for at, dry in loads if at not in shut)
    curve = _empty_plate_k(event, told, forcing, out=out)
    return SetOutResult(
        sunrise_at=sun.sunrise_at,
        sunset_at=sun.sunset_at,
        sun_status=sun.status,
        set_out_at=out if dries else None,
        first_load_at=first,
        last_load_at=last,
        wait_s=wait,
        time_at=day.time_at,
        plate_irradiance_w_m2=forcing.values[0, 0],
        plate_temp_k=day.air_temp_k + seen.readings.rise_frac * (curve - day.air_temp_k),
        air_temp_k=day.air_temp_k,
        sun_elevation_deg=day.sun.elevation_deg,
        sun_azimuth_deg=day.sun.azimuth_deg,
        loads=loads,
        blocked=blocked_stretches(place, day),
        aim=plan,
        spots=place_spots(event, day),
        readings=seen.readings,
        too_hot=too_hot,
        likely=likely,
        sure=sure,
        metal_k=hottest_metal_k(event, plan),
        off_sun=_off_sun(event, plan, day, out=out if dries else None),
        wind=day_wind(event, plan),
    )


def _in_time(
    loads: Sequence[tuple[float, Range]],
    *,
    wait_s: float,
    closes_at: float,
    spells: tuple[Spell, ...],
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return when half of the prints, and nine in ten, are dry within the wait and by the closing.

    Not where rain comes before nine in ten are (before the wait ends, where that is not known). The
    deciles of a few draws are taken as the middle one of three quarter hours.
    """
    if not loads:
        return (), ()
    spared = [
        not any(
            one.begin_at < at + (wait_s if dry.p90 is None else dry.p90) and at < one.end_at
            for one in spells
        )
        for at, dry in loads
    ]

    def in_time(dry_after_s: list[float | None]) -> tuple[float, ...]:
        wide = np.pad([or_never(each) for each in dry_after_s], 1, mode="edge")
        middle_s = np.median([wide[:-2], wide[1:-1], wide[2:]], axis=0).tolist()
        return tuple(
            at
            for (at, _), dry_s, good in zip(loads, middle_s, spared, strict=True)
            if good and dry_s <= wait_s and at + dry_s <= closes_at
        )

    return in_time([dry.p50 for _, dry in loads]), in_time([dry.p90 for _, dry in loads])


def _till_rain(
    loads: Sequence[tuple[float, Range]], spells: tuple[Spell, ...]
) -> tuple[tuple[float, Range], ...]:
    """Return the loads without what would be dry only after rain has come: it is taken in."""

    def until(at: float) -> float:
        return min((one.begin_at for one in spells if one.end_at > at), default=np.inf) - at

    return tuple((at, dry.within(until(at))) for at, dry in loads)


def _off_sun(event: Event, plan: AimPlan | None, day: Conditions, *, out: float | None) -> OffSun:
    """Return why the first aim of the day does not face the sun."""
    if out is None:
        return FACING
    if plan is None:
        return OffSun(code="fixed")
    if event.box.aim_mode == "track":
        held_k = plan.held_below_k
        return FACING if held_k is None else OffSun(code="held", held_below_k=held_k)
    first = plan.aims(event.box.aim_mode)[0]
    aim = first.bearing_deg, first.tilt_deg
    return why_off_sun(event, plan, day, aim=aim, at=max(out, first.from_at))


def _loads(
    event: Event,
    day: Conditions,
    ensemble: Ensemble,
    *,
    aim_deg: AimDeg,
    out: float,
) -> tuple[tuple[tuple[float, Range], ...], tuple[float, ...]]:
    """Return seconds to dry for a print laid on at each quarter hour since the sun is on the plate.

    And at which of them a print is too hot.
    """
    after = int(np.searchsorted(day.time_at, out))
    ensemble = ensemble.of_times(slice(after, None))
    day = ensemble.conditions
    aim_deg = aim_deg[0][after:], aim_deg[1][after:]
    lit = day.in_sun(event.place.obstacles)
    starts = quarter_hours(event, day, float(day.time_at[int(np.argmax(lit))]))
    if starts.size == 0 or not lit.any():
        return (), ()
    (laid,) = lay_ons(event, day, [ensemble], aim_deg=aim_deg, starts_s=starts, coarse=True)
    loads = tuple(
        (float(at), range_of(row)) for at, row in zip(starts, laid.dry_after_s, strict=True)
    )
    return loads, tuple(float(at) for at in starts[laid.too_hot])


def _empty_plate_k(event: Event, told: Ensemble, forcing: Forcing, *, out: float) -> Array:
    """Return the empty plate of the day as told, that of the air before it is set out. [K]"""
    time_at = told.conditions.time_at
    elapsed, temps, _ = run_empty(
        box_system(event.box, event.paper, told.prints),
        forcing,
        np.zeros(1, dtype=np.intp),
        start_at=np.array([out]),
        horizon_s=float(time_at[-1]) - out,
    )
    air_k = told.conditions.air_temp_k[0]
    return np.where(time_at < out, air_k, np.interp(time_at - out, elapsed, temps[:, 0]))
