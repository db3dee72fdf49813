"""Two tables to read off at the box: by the clock under each sky, and by the thermometer."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.inputs.event.event import Event
from drybox.inputs.weather.wind import BOX_HEIGHT_M
from drybox.physics.air import vapour_pressure_pa
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step_control import COARSE_STEPS
from drybox.planning.one_print.drying import MEMBERS as TOLD_MEMBERS
from drybox.planning.one_print.lay_ons import LONGEST_S, lay_ons, quarter_hours
from drybox.planning.one_print.lay_print import lay_print
from drybox.planning.scenario.both_skies import under_sky
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import PrintDraw, box_system
from drybox.planning.scenario.percentiles import Range, range_of
from drybox.planning.scenario.readings import draw_seen
from drybox.planning.scenario.samples import Ensemble, draw_on, nominal

MEMBERS = 30
"""Of each named sky, and of the thermometer's table; the weather told has as many as `dry`."""

SKIES = ("clear", "thin cloud", "broken cloud", "overcast")
"""Sky words of the lay-on lookup, beside the weather told."""

READINGS_K = np.arange(303.15, 343.2, 5.0)
DAMPNESS_FRAC = np.array([0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
SUN_LEVELS_W_M2 = np.linspace(0.0, 1600.0, 33)
"""Steady light on the plate, from which the one that holds a reading is taken. [W/m²]"""

SETTLED_S = 3 * 3600.0
USUAL_TILT_RAD = np.deg2rad(35.0)


@dataclass(frozen=True)
class SkyColumn:
    """Seconds to dry under one sky, one range a laying-on time.

    ``too_hot`` marks times at which one print in two is kept over its limit.
    """

    sky: str
    duration_s: tuple[Range, ...]
    too_hot: tuple[bool, ...]


@dataclass(frozen=True)
class LayOnLookup:
    """When to pull a print by when it was laid on, as the weather is told and under four skies."""

    starts_s: tuple[float, ...]
    columns: tuple[SkyColumn, ...]
    wet_limit_k: float


@dataclass(frozen=True)
class ThermometerLookup:
    """Seconds to dry by the reading of the empty plate and the dampness of the air.

    Rows of ``duration_s`` go with ``dampness_frac``, columns with ``readings_k``. The air is at
    ``air_temp_k``, the wind at the plate ``wind_m_s``. ``too_hot`` goes with the readings.
    """

    readings_k: tuple[float, ...]
    dampness_frac: tuple[float, ...]
    duration_s: tuple[tuple[Range, ...], ...]
    too_hot: tuple[bool, ...]
    air_temp_k: float
    wind_m_s: float


def lay_on_lookup(
    event: Event,
    day: Conditions,
    *,
    aim_deg: AimDeg,
    from_at: float,
    members: int = MEMBERS,
    told_members: int = TOLD_MEMBERS,
    seed: int = 1,
) -> LayOnLookup:
    """Return when a print laid on at each quarter hour is dry, under five skies.

    The weather told first, with as many members as `dry` draws, so that both say the same minute,
    then `SKIES`: an ensemble each, the box out from the first minute of the
    day, at the same aim for each of its times under every sky, prints laid on from ``from_at``.
    [deg], [s]

    Under a named sky, air temperature, humidity and wind stay as told; only the light changes.
    What the plate read that day counts under the weather told only.
    """
    starts = quarter_hours(event, day, from_at)
    most = event.limits.wet_most_k
    if starts.size == 0:
        return LayOnLookup((), (), most)
    ensembles = [draw_seen(event, day, told_members, seed=seed).ensemble]
    skies = (under_sky(event.weather, sky) for sky in SKIES)
    ensembles += [draw_on(event, day, members, seed=seed, weather=weather) for weather in skies]
    laid = lay_ons(event, day, ensembles, aim_deg=aim_deg, starts_s=starts, coarse=True)
    columns = tuple(
        SkyColumn(sky, tuple(range_of(row) for row in one.dry_after_s), tuple(one.too_hot.tolist()))
        for sky, one in zip(("told", *SKIES), laid, strict=True)
    )
    return LayOnLookup(tuple(starts.tolist()), columns, most)


def thermometer_lookup(
    event: Event, day: Conditions, *, members: int = MEMBERS, seed: int = 1
) -> ThermometerLookup:
    """Return minutes to dry by the plate's reading and the dampness of the air.

    For readings that steady light can bring about on this box; air temperature and wind are those
    of the middle of the event's hours, prints and boxes are drawn for each pair.

    The reading is held by steady light: of many levels the one whose empty plate settles at the
    reading. The print then shades and cools its patch of plate, takes in that light itself, and
    dries by the same simulation as everywhere else. Weather is not drawn, the plate's own reading
    stands for it.
    """
    open_hours = (day.time_at >= event.opens_at) & (day.time_at <= event.closes_at)
    inside = open_hours if open_hours.any() else np.ones(day.time_at.shape, dtype=bool)
    air = float(np.median(day.air_temp_k[inside]))
    wind = float(np.median(day.wind_at_m_s(BOX_HEIGHT_M, event.place.roughness_length_m)[inside]))
    told = nominal(day, event.fit)
    wind *= min(event.box.wind_shelter_frac * float(told.shelter_factor[0]), 1.0)
    sky = air - float(np.median(day.air_temp_k[inside] - day.sky_temp_k[inside]))
    held = _Held(pressure_pa=day.pressure_pa, air_temp_k=air, wind_m_s=wind, sky_temp_k=sky)
    light = held.light_for(box_system(event.box, event.paper, told.prints), READINGS_K)
    readings = READINGS_K[np.isfinite(light)]
    light = light[np.isfinite(light)]
    ensemble = draw_on(event, day, members, seed=seed)
    dry, over = _held_prints(
        event, held, told.prints, ensemble=ensemble, readings_k=readings, light_w_m2=light
    )
    return ThermometerLookup(
        readings_k=tuple(readings.tolist()),
        dampness_frac=tuple(DAMPNESS_FRAC.tolist()),
        duration_s=tuple(tuple(range_of(cell) for cell in row) for row in dry),
        too_hot=tuple(bool(np.median(over[:, n]) > 0.0) for n in range(readings.size)),
        air_temp_k=air,
        wind_m_s=wind,
    )


@dataclass(frozen=True)
class _Held:
    """Steady air and wind at the plate, in which a light holds it at a reading."""

    pressure_pa: float
    air_temp_k: float
    wind_m_s: float
    sky_temp_k: float

    def forcing(self, light_w_m2: Array, humidity_frac: Array) -> Forcing:
        """Return steady weather, one member for each pair of light and humidity."""
        shape = (light_w_m2.size, 2)
        vapour = np.asarray(vapour_pressure_pa(self.air_temp_k, humidity_frac))
        return Forcing.of(
            0.0,
            LONGEST_S,
            self.pressure_pa,
            front_sun_w_m2=np.broadcast_to(light_w_m2[:, None], shape),
            back_sun_w_m2=0.0,
            cover_sun_w_m2=0.0,
            air_temp_k=self.air_temp_k,
            vapour_pressure_pa=np.broadcast_to(vapour[:, None], shape),
            wind_m_s=self.wind_m_s,
            front_radiant_temp_k=self.sky_temp_k,
            back_radiant_temp_k=self.air_temp_k,
            tilt_rad=USUAL_TILT_RAD,
        )

    def light_for(self, system: BoxSystem, readings_k: Array) -> Array:
        """Return the light that holds the empty plate at each reading, NaN where none does."""
        member = np.arange(SUN_LEVELS_W_M2.size)
        forcing = self.forcing(SUN_LEVELS_W_M2, np.full(member.size, 0.5))
        start = np.zeros(member.size)
        _, temps, _ = run_empty(
            system, forcing, member, start_at=start, horizon_s=SETTLED_S, step_s=120.0
        )
        return np.interp(readings_k, temps[-1], SUN_LEVELS_W_M2, left=np.nan, right=np.nan)


def _held_prints(
    event: Event,
    held: _Held,
    told: PrintDraw,
    *,
    ensemble: Ensemble,
    readings_k: Array,
    light_w_m2: Array,
) -> tuple[Array, Array]:
    """Return seconds to dry and kelvin over the limit, each (dampness, readings, members)."""
    shape = (DAMPNESS_FRAC.size, readings_k.size, ensemble.members)
    damp, reading, which = (grid.ravel() for grid in np.indices(shape))
    pairs = DAMPNESS_FRAC.size * readings_k.size
    forcing = held.forcing(
        np.tile(light_w_m2, DAMPNESS_FRAC.size), np.repeat(DAMPNESS_FRAC, readings_k.size)
    )
    if pairs == 0:
        return np.empty(shape), np.empty(shape)
    prints = ensemble.prints.of(which)
    # the reading speaks for the plate itself: its paint and losses are not drawn besides
    prints = replace(
        prints,
        plate_absorptance_shift=told.plate_absorptance_shift,
        forced_factor=told.forced_factor,
        back_factor=told.back_factor,
    )
    run = lay_print(
        event,
        box_system(event.box, event.paper, prints),
        forcing,
        member=damp * readings_k.size + reading,
        prints=prints,
        laid_on_at=np.zeros(which.size),
        plate_temp_k=readings_k[reading],
        horizon_s=LONGEST_S,
        past_dry=False,
        control=COARSE_STEPS,
    )
    return run.dry_after_s.reshape(shape), run.over_limit_k.reshape(shape)
