"""One print, dried each way side by side: how long, how sure, how hot, and which to take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import ON_PLATE, WAY
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import DryingRun, run_empty
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.aim.hold import NeverBelowError
from drybox.planning.aim.off_sun import FACING, OffSun, why_off_sun
from drybox.planning.aim.schedule import aim_schedule
from drybox.planning.aim.search import AimPlan
from drybox.planning.one_print.cures import Trial, cures
from drybox.planning.one_print.hot_metal import hottest_metal_k, hottest_of_k, thermostat_k
from drybox.planning.one_print.lay_print import is_too_hot, lay_print
from drybox.planning.one_print.ways import Cure, DryResult, Reason, WayResult, choose
from drybox.planning.scenario.conditions import STEP_S, Conditions, conditions
from drybox.planning.scenario.models import (
    box_system,
    free_sheet_system,
    slots_on_plate,
    warm_plate_system,
)
from drybox.planning.scenario.outside import (
    WARM_UP_S,
    box_out_s,
    horizon_s,
    plate_forcing,
    plate_start_s,
    sheet_forcing,
    warm_air_temp_k,
)
from drybox.planning.scenario.percentiles import Range, range_of
from drybox.planning.scenario.rain import Spell, stopping_spells
from drybox.planning.scenario.readings import draw_seen
from drybox.planning.scenario.samples import Ensemble
from drybox.tables import look_up

PLATE_HORIZON_S = 8 * 3600.0
AIR_HORIZON_S = 24 * 3600.0
"""How long a print is followed on a plate, and in air (judgement). [s]"""

MEMBERS = 200
"""Size of the ensemble: percentiles steady to a few per cent (judgement)."""

CURE_MEMBERS = 64
"""Of the ensemble, for cures that are set side by side."""

TOO_LARGE = "the print is larger than the plate and cannot lie on it whole"

NEAR_DAMP = 0.1
"""In air this little below the humidity that stands for dry some draws never get there
(judgement). [-]"""

SUN_LOOK_S = 3 * 3600.0
"""How far ahead air and sun are looked at at most (judgement). [s]"""

LARGEST_STEP_S = 300.0
"""For ways out of the sun, where nothing changes by the minute. [s]"""


class OnPlate(NamedTuple):
    """A print laid on the plate of an event that is aimed so, (times,), and out since a time."""

    event: Event
    aim_deg: AimDeg
    out_at: float


class PlateRun(NamedTuple):
    """A print on the sun plate, and the empty plate before it: (times,) and (times, members)."""

    forcing: Forcing
    warming_at: Array
    warming_k: Array
    run: DryingRun


def run_on_plate(
    laid: Sequence[OnPlate],
    ensemble: Ensemble,
    laid_on_at: float,
    *,
    horizon_s: float,
    control: StepControl | None = None,
    record: bool = False,
) -> list[PlateRun]:
    """Run one print of one event side by side on plates that differ in aim, time out or cloth."""
    n, columns = ensemble.members, ensemble.conditions.time_at.size
    forcings, systems, warming = [], [], []
    for event, aim_deg, out_at in laid:
        aim = aim_deg[0][:columns], aim_deg[1][:columns]
        forcing = plate_forcing(ensemble, event.place, event.box, aim_deg=aim)
        system = box_system(event.box, event.paper, ensemble.prints)
        out = np.full(n, max(forcing.start_at, out_at))
        passed, temps, _ = run_empty(
            system, forcing, np.arange(n), start_at=out, horizon_s=laid_on_at - out[0]
        )
        forcings.append(forcing)
        systems.append(system)
        warming.append((out[0] + passed, temps))
    cases = np.arange(n * len(laid))
    run = lay_print(
        laid[0].event,
        BoxSystem.joined(systems, n),
        Forcing.joined(forcings),
        member=cases,
        prints=ensemble.prints.of(cases % n),
        laid_on_at=np.full(cases.size, laid_on_at),
        plate_temp_k=np.concatenate([temps[-1] for _, temps in warming]),
        horizon_s=horizon_s,
        control=control,
        record=record,
    )
    runs = [run.of(slice(k * n, (k + 1) * n)) for k in range(len(laid))] if len(laid) > 1 else [run]
    return [
        PlateRun(forcing, *warm, run)
        for forcing, warm, run in zip(forcings, warming, runs, strict=True)
    ]


def run_other_way(
    event: Event,
    ensemble: Ensemble,
    way: str,
    *,
    laid_on_at: float,
    horizon_s: float,
    control: StepControl | None = None,
    record: bool = False,
) -> DryingRun:
    """Run a print that is hung, or laid down elsewhere than on the sun plate."""
    day = ensemble.conditions
    facing = float(day.sun.azimuth_deg[int(np.searchsorted(day.time_at, laid_on_at))])
    forcing = sheet_forcing(ensemble, event.place, way, facing_deg=facing, powered=event.powered)
    members, laid = np.arange(ensemble.members), np.full(ensemble.members, laid_on_at)
    start = forcing.at(members, laid).air_temp_k
    row = look_up("ways", way, "way of drying")
    if way == "warm_plate":
        assert event.powered is not None
        system = warm_plate_system(event.box, event.paper, event.powered, draw=ensemble.prints)
        set_temp = event.powered.plate_temp_k or 323.15
        start = np.maximum(start, set_temp - system.plate.heater_band_k)
    else:
        system = free_sheet_system(event.paper, way, ensemble.prints)
    return lay_print(
        event,
        system,
        forcing,
        member=members,
        prints=ensemble.prints,
        laid_on_at=laid,
        plate_temp_k=start,
        horizon_s=horizon_s,
        blotter_kg_m2=row["blotter_mass"].value if "blotter_mass" in row else 0.0,
        control=control,
        record=record,
    )


def _way_result(
    event: Event,
    way: str,
    run: DryingRun,
    *,
    laid_on_at: float,
    energy_j: float = 0.0,
    damp_frac: float = 0.0,
) -> WayResult:
    limits = event.limits
    touch, duration = range_of(run.touch_dry_after_s), range_of(run.dry_after_s)
    over = range_of(run.over_dry_after_s)
    # not linear: a print that never was wet has none
    wet = float(np.quantile(run.wet_temp_max_k, 0.9, method="inverted_cdf"))
    hottest = float(np.quantile(run.temp_max_k, 0.9))
    kept = float(np.quantile(run.temp_kept_max_k, 0.9))
    too_hot, why = bool(is_too_hot(run.over_limit_k)), Reason()
    if too_hot:
        middle, over_k = (float(np.median(x)) for x in (run.temp_kept_max_k, run.over_limit_k))
        values = {"kept_k": middle, "over_k": over_k}
        limit = {"wet_most_k": limits.wet_most_k, "print_most_k": limits.print_most_k}
        why = Reason("too_hot", values | limit)
    elif duration.p90 is None:
        why = Reason("not_sure")
        dry_frac = limits.dry_activity_frac
        if damp_frac >= dry_frac:
            why = Reason("too_damp", {"humidity_frac": damp_frac})
        elif damp_frac > dry_frac - NEAR_DAMP:
            why = Reason("near_damp", {"humidity_frac": damp_frac, "dry_frac": dry_frac})
    return WayResult(
        way=way,
        duration_s=duration,
        touch_dry_at=touch.scaled(1.0, laid_on_at),
        dry_at=duration.scaled(1.0, laid_on_at),
        pull_from_at=None if duration.p50 is None else laid_on_at + duration.p50,
        pull_before_at=None if over.p50 is None else laid_on_at + over.p50,
        print_temp_max_k=hottest,
        wet_temp_max_k=wet,
        plate_temp_max_k=float(np.quantile(run.plate_temp_max_k, 0.9)) if way in ON_PLATE else None,
        energy_j=energy_j,
        feasible=not why,
        why=why,
        too_hot=too_hot,
        print_temp_kept_k=kept,
    )


def possible_ways(event: Event) -> tuple[str, ...]:
    """Return the ways this event can use: as its file says, else all it has the means for."""

    def able(way: str) -> bool:
        power = WAY[way].power
        powered = not power or bool(getattr(event.powered, f"{power}_w", 0.0) > 0)
        return powered and not (way == "blotters" and event.paper.resin_coated)

    return tuple(way for way in (event.ways or WAY) if able(way))


def dry_print(
    event: Event,
    laid_on_at: float,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    ways: tuple[str, ...] | None = None,
    hold_k: float | None = None,
    cured: bool = True,
) -> DryResult:
    """Return how one print dries each way, laid on at the same moment.

    It is laid on or hung at ``laid_on_at``, by `possible_ways` if no ``ways`` are given, the plate
    held below ``hold_k`` or as the event wishes. Without ``cured`` no cures are tried. [s], [K]
    """
    chosen = ways or possible_ways(event)
    start = laid_on_at - WARM_UP_S
    long_s = horizon_s(event, laid_on_at, AIR_HORIZON_S)
    day = conditions(event.weather, event.place, start, end_at=laid_on_at + long_s)
    seen = draw_seen(event, day, members, seed=seed)
    ensemble = seen.ensemble
    results: list[WayResult] = []
    plate = _SunPlate(WayResult("sun_plate"))
    for way in chosen:
        if way == "sun_plate":
            plate = _sun_plate(
                event,
                day,
                ensemble,
                laid_on_at=laid_on_at,
                long_s=long_s,
                hold_k=hold_k,
                cured=cured,
            )
            results.append(plate.result)
        else:
            results.append(
                _other_way(event, day, ensemble, way=way, laid_on_at=laid_on_at, long_s=long_s)
            )
    spells = stopping_spells(event.weather, laid_on_at, laid_on_at + PLATE_HORIZON_S)
    rains_now = bool(spells) and spells[0].begin_at <= laid_on_at
    results = [_under_rain(way, spells, rains_now) for way in results]
    rained_on = [way.way for way in results if way.rained_on]
    choice, why = choose(tuple(results))
    return DryResult(
        laid_on_at=laid_on_at,
        ways=tuple(results),
        choice=choice,
        choice_why=why,
        plate_temp_at_start_k=plate.warm,
        aim=plate.plan,
        bearing_deg=plate.bearing_deg,
        tilt_deg=plate.tilt_deg,
        told=day,
        readings=seen.readings,
        cures=() if "sun_plate" in rained_on else plate.cures,
        metal_k=_metal_k(event, tuple(results), plate.plan, laid_on_at=laid_on_at),
        powered_metal_k=_powered_metal_k(event, tuple(results)),
        off_sun=plate.off_sun,
    )


def _under_rain(way: WayResult, spells: tuple[Spell, ...], rains_now: bool) -> WayResult:
    """Return a way out of doors as no way where rain comes before nine prints in ten are dry."""
    if not spells or not WAY[way.way].sunny or (way.dry_at.p90 or np.inf) <= spells[0].begin_at:
        return way
    touch = way.touch_dry_at.p90 or np.inf
    why = Reason("rains" if rains_now else "rain_comes")
    return replace(way, feasible=False, why=why, rained_on=touch > spells[0].begin_at)


def _metal_k(
    event: Event, results: tuple[WayResult, ...], plan: AimPlan | None, *, laid_on_at: float
) -> float | None:
    """Return how hot the metal of the sun plate may get that day, None where it is not out.

    It burns also where it is no way for this print, too hot or not sure; in rain it is closed. A
    print that lies there outside the event's hours has the plate's own figure too.
    """
    own = next((way for way in results if way.way == "sun_plate"), None)
    if own is None or own.rained_on or own.plate_temp_max_k is None:
        return None
    day_k = hottest_metal_k(event, plan)
    within = event.opens_at <= laid_on_at and (own.dry_at.p90 or np.inf) <= event.closes_at
    return day_k if day_k is not None and within else hottest_of_k(day_k, own.plate_temp_max_k)


def _powered_metal_k(event: Event, results: tuple[WayResult, ...]) -> float | None:
    """Return how hot a powered plate gets that can be used: as its thermostat holds it, if any."""
    able = (way.plate_temp_max_k for way in results if way.way == "warm_plate" and way.feasible)
    own_k = next(able, None)
    return own_k if own_k is None else thermostat_k(event) or own_k


@dataclass(frozen=True)
class _SunPlate:
    """The sun plate's result, how warm it is at laying on, and its aim then."""

    result: WayResult
    warm: Range | None = None
    plan: AimPlan | None = None
    bearing_deg: float | None = None
    tilt_deg: float | None = None
    cures: tuple[Cure, ...] = ()
    off_sun: OffSun = FACING

    @classmethod
    def ruled_out(cls, code: str, **values: float | str) -> _SunPlate:
        """Return the plate as no way, for a `Reason`."""
        return cls(WayResult("sun_plate", why=Reason(code, values)))


def aim_for(
    event: Event, day: Conditions, laid_on_at: float, *, hold_k: float | None
) -> tuple[AimDeg, AimPlan | None]:
    """Return bearing and tilt over a day for a print laid on at a time, and the plan behind them.

    As `schedule.aim_schedule`: that of the event's hours while its box stands out in them, else of
    the hours about the laying-on.
    """
    if box_out_s(event) <= laid_on_at < event.closes_at:
        begin_at, closes_at = event.aimed_from_s, event.closes_at
        return aim_schedule(event, day, begin_at, until_at=closes_at, hold_k=hold_k)
    until = min(max(event.closes_at, laid_on_at + 3600.0), float(day.time_at[-1]))
    first = min(laid_on_at, max(event.aimed_from_s, laid_on_at - WARM_UP_S))
    return aim_schedule(event, day, first, until_at=until, hold_k=hold_k)


def _sun_plate(
    event: Event,
    day: Conditions,
    ensemble: Ensemble,
    *,
    laid_on_at: float,
    long_s: float,
    hold_k: float | None,
    cured: bool,
) -> _SunPlate:
    """Return how a print dries on the sun plate, aimed as the event asks, and what cools it."""
    if event.set_out_at is not None and laid_on_at < event.set_out_at:
        return _SunPlate.ruled_out("not_out", later_s=event.set_out_at - laid_on_at)
    if slots_on_plate(event.box, event.paper) == 0:
        return _SunPlate.ruled_out("too_large")
    short = min(PLATE_HORIZON_S, long_s)
    near = ensemble.of_times(slice(int((WARM_UP_S + short) / STEP_S) + 1))
    some = near.of_members(np.arange(min(near.members, CURE_MEMBERS)))

    def laid(each: Sequence[OnPlate], near: Ensemble) -> list[tuple[WayResult, Array]]:
        runs = run_on_plate(each, near, laid_on_at, horizon_s=short)
        return [
            (
                _way_result(one.event, "sun_plate", plate.run, laid_on_at=laid_on_at),
                plate.warming_k[-1],
            )
            for one, plate in zip(each, runs, strict=True)
        ]

    out = plate_start_s(event, laid_on_at)
    try:
        aim_deg, plan = aim_for(event, day, laid_on_at, hold_k=hold_k)
    except NeverBelowError as error:
        return _SunPlate.ruled_out("never_below", limit_k=error.limit_k)
    except NoAnswerError as error:
        return _SunPlate.ruled_out("no_aim", what=error.what)
    ((plain, temps),) = laid([OnPlate(event, aim_deg, out)], near)

    def again(tried: Sequence[Trial]) -> list[tuple[Trial, WayResult]]:
        able: dict[str, tuple[Trial, OnPlate]] = {}
        for one in tried:
            if one.cure in able:
                continue
            aim, held = aim_deg, hold_k if one.hold_k is None else one.hold_k
            try:
                if one.event.box is not event.box or held != hold_k:
                    aim = aim_for(one.event, day, laid_on_at, hold_k=held)[0]
            except NoAnswerError:
                continue
            out_at = out if one.out_at is None else one.out_at
            able[one.cure] = one, OnPlate(one.event, aim, out_at)
        found = laid([one for _, one in able.values()], some)
        return [
            (trial, result) for (trial, _), (result, _) in zip(able.values(), found, strict=True)
        ]

    at = int(np.searchsorted(day.time_at, laid_on_at))
    bearing_deg, tilt_deg = (float(each[at]) for each in aim_deg)
    result = replace(plain, held_below_k=None if plan is None else plan.held_below_k)
    return _SunPlate(
        result=result,
        warm=range_of(temps),
        plan=plan,
        bearing_deg=bearing_deg,
        tilt_deg=tilt_deg,
        cures=cures(event, result, again, laid_on_at=laid_on_at) if cured else (),
        off_sun=why_off_sun(event, plan, day, aim=(bearing_deg, tilt_deg), at=laid_on_at),
    )


def _other_way(
    event: Event, day: Conditions, ensemble: Ensemble, *, way: str, laid_on_at: float, long_s: float
) -> WayResult:
    if WAY[way].metal and slots_on_plate(event.box, event.paper) == 0:
        return WayResult(way, why=Reason("too_large"))
    control = None if WAY[way].sunny else StepControl(largest_s=LARGEST_STEP_S)
    run = run_other_way(
        event, ensemble, way, laid_on_at=laid_on_at, horizon_s=long_s, control=control
    )
    energy = float(np.median(run.heater_j))
    if way == "warm_air" and event.powered is not None:
        energy = event.powered.air_power_w * float(np.median(np.minimum(run.dry_after_s, long_s)))
    near = (day.time_at >= laid_on_at) & (day.time_at < laid_on_at + SUN_LOOK_S)
    damp = float(day.humidity_frac[near].mean()) if way not in ON_PLATE else 0.0
    result = _way_result(event, way, run, laid_on_at=laid_on_at, energy_j=energy, damp_frac=damp)
    dry_s = result.duration_s.p50
    if way == "warm_air" and event.powered and not result.feasible and not result.too_hot:
        air_k = day.air_temp_k[near]
        rise_k = float((warm_air_temp_k(air_k, event.powered) - air_k).mean())
        why = Reason("weak_air", {"power_w": event.powered.air_power_w, "rise_k": rise_k})
        # what never dries has no sum of energy
        result = replace(result, why=why, energy_j=0.0 if dry_s is None else energy)
    if way == "line_sun":  # in the sun if that falls on it before it is as likely as not dry
        until = laid_on_at + min(SUN_LOOK_S if dry_s is None else dry_s, SUN_LOOK_S)
        wet = (day.time_at >= laid_on_at) & (day.time_at < until)
        shines = day.shone_on(event.place.obstacles) & wet
        result = replace(result, in_sun=bool(shines.any()))
    holds_j = None if event.powered is None else event.powered.battery_j
    if holds_j is not None and energy > holds_j and result.feasible:
        why = Reason("battery", {"needs_j": energy, "holds_j": holds_j})
        result = replace(result, feasible=False, why=why, without_power=True)
    return result
