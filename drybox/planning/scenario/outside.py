"""What acts on the plate and on hanging prints: forcing tables from the day's conditions."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from drybox.arrays import AimDeg, Array
from drybox.inputs.event.box import Box, PoweredDrier
from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Place
from drybox.inputs.event.ways import WAY
from drybox.inputs.weather.wind import BOX_HEIGHT_M
from drybox.physics.plate_irradiance import FLAT, plate_light
from drybox.physics.shading import sky_grid
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.sun_position import sun_position
from drybox.planning.scenario.conditions import sun_seen
from drybox.planning.scenario.models import plate_recess
from drybox.planning.scenario.samples import Ensemble
from drybox.tables import look_up

WARM_UP_S = 2 * 3600.0
"""Before a laying-on the plate is followed no longer than this: it has settled (judgement). [s]"""

BEFORE_OPENING_S = 1800.0
"""How long before the opening, or the first sun, the box is set out (judgement). [s]"""

FIRST_SUN_EVERY_S = 300.0


def horizon_s(event: Event, laid_on_at: float, wanted_s: float) -> float:
    """Return how long a print can be followed before the weather known ends. [s]"""
    if event.weather.kind in ("assumed", "steady"):
        return wanted_s
    return float(min(wanted_s, max(event.weather.end_at[-1] - laid_on_at, 3600.0)))


def box_out_s(event: Event) -> float:
    """Return when the box is set out on the event's day. [s since the epoch]

    As told, else `BEFORE_OPENING_S` before the opening, or before the sun has risen and come past
    the obstacles where that is later.
    """
    if event.set_out_at is not None:
        return event.set_out_at
    return _first_sun_at(event.place, event.opens_at, event.closes_at) - BEFORE_OPENING_S


@lru_cache(maxsize=64)
def _first_sun_at(place: Place, opens_at: float, closes_at: float) -> float:
    """Return from when in an event's hours the sun is seen; the opening if never. [s]"""
    time_at = np.arange(opens_at, closes_at, FIRST_SUN_EVERY_S)
    sun = sun_position(time_at, place.latitude_deg, place.longitude_deg, place.elevation_m)
    lit = sun_seen(sun, place.obstacles)
    return float(time_at[int(np.argmax(lit))]) if lit.any() else opens_at


def plate_start_s(event: Event, laid_on_at: float) -> float:
    """Return from when the plate is run for a print laid on at a time. [s since the Unix epoch]

    Since it was set out, but no longer than `WARM_UP_S`; a print that is laid on sooner than that
    finds a plate that has stood out for `BEFORE_OPENING_S`.
    """
    out = box_out_s(event)
    if laid_on_at < out:
        return laid_on_at - BEFORE_OPENING_S
    return max(out, laid_on_at - WARM_UP_S)


def _radiant_temp_k(sky_view_frac: Array, sky_temp_k: Array, air_temp_k: Array) -> Array:
    """Return one temperature for open sky and for the ground, walls and stalls beside it.

    Everything but the sky is taken at air temperature.
    """
    mixed = sky_view_frac * sky_temp_k**4 + (1 - sky_view_frac) * air_temp_k**4
    return np.asarray(np.sqrt(np.sqrt(mixed)))


def plate_forcing(ensemble: Ensemble, place: Place, box: Box, *, aim_deg: AimDeg) -> Forcing:
    """Return what acts on the aimed plate."""
    day = ensemble.conditions
    bearing_deg, tilt_deg = aim_deg
    light = plate_light(
        day.sky,
        tilt_deg,
        bearing_deg,
        place.ground_albedo_frac,
        place.obstacles,
        sky_grid(place.obstacles),
        plate_recess(box),
    )
    wind = day.wind_at_m_s(BOX_HEIGHT_M, place.roughness_length_m)
    share = np.minimum(box.wind_shelter_frac * ensemble.shelter_factor[:, None], 1.0)
    return Forcing.of(
        float(day.time_at[0]),
        float(day.time_at[1] - day.time_at[0]),
        day.pressure_pa,
        front_sun_w_m2=light.inside_w_m2,
        back_sun_w_m2=0.0,
        cover_sun_w_m2=light.cover_absorbed_w_m2,
        air_temp_k=day.air_temp_k,
        vapour_pressure_pa=day.vapour_pressure_pa,
        wind_m_s=wind * share,
        front_radiant_temp_k=_radiant_temp_k(light.sky_view_frac, day.sky_temp_k, day.air_temp_k),
        back_radiant_temp_k=day.air_temp_k,
        tilt_rad=np.deg2rad(tilt_deg),
    )


def sheet_forcing(
    ensemble: Ensemble,
    place: Place,
    way: str,
    *,
    facing_deg: float,
    powered: PoweredDrier | None = None,
) -> Forcing:
    """Return what acts on a print that no sun plate holds.

    ``way`` is an item of the table ``ways``; the face of a print on the line in the sun looks to
    ``facing_deg``; ``powered`` has fan and heater of ``warm_air``. [deg]

    In shade a print gets a share of the level's diffuse light and no beam, and exchanges long wave
    with things at air temperature. In the sun it hangs upright, face and back each a plane of their
    own. Warm air of P watts at speed u through a duct of 0.1 m² is warmer by
    ``P / (rho c_p u A)``, its vapour pressure unchanged.
    """
    day = ensemble.conditions
    row = look_up("ways", way, "way of drying")
    wind = day.wind_at_m_s(row["height"].value, place.roughness_length_m)
    share = np.minimum(row["wind_share"].value * np.asarray(ensemble.line_factor)[..., None], 1.0)
    air, vapour = day.air_temp_k, day.vapour_pressure_pa
    wind = wind * share
    front_radiant = back_radiant = air
    front = back = row["light_share"].value * 0.5 * day.dhi_w_m2
    tilt = 0.0 if WAY[way].level else 0.5 * np.pi
    if WAY[way].sunny:
        grid = sky_grid(place.obstacles)
        faces = [
            plate_light(
                day.sky,
                90.0,
                bearing % 360.0,
                place.ground_albedo_frac,
                place.obstacles,
                grid,
                FLAT,
            )
            for bearing in (facing_deg, facing_deg + 180.0)
        ]
        front, back = faces[0].inside_w_m2, faces[1].inside_w_m2
        front_radiant = _radiant_temp_k(faces[0].sky_view_frac, day.sky_temp_k, air)
        back_radiant = _radiant_temp_k(faces[1].sky_view_frac, day.sky_temp_k, air)
    if way == "warm_air" and powered is not None:
        air = warm_air_temp_k(air, powered)
        front_radiant = back_radiant = air
        wind = np.full_like(air, powered.air_speed_m_s)
    return Forcing.of(
        float(day.time_at[0]),
        float(day.time_at[1] - day.time_at[0]),
        day.pressure_pa,
        front_sun_w_m2=front,
        back_sun_w_m2=back,
        cover_sun_w_m2=0.0,
        air_temp_k=air,
        vapour_pressure_pa=vapour,
        wind_m_s=wind,
        front_radiant_temp_k=front_radiant,
        back_radiant_temp_k=back_radiant,
        tilt_rad=tilt,
    )


DUCT_AREA_M2 = 0.1
"""Free section of a drying cupboard for a few prints (judgement). [m²]"""

AIR_HEAT_J_M3_K = 1150.0
"""Density times specific heat of air near 30 °C. [J/(m³ K)]"""


def warm_air_temp_k(air_temp_k: Array, powered: PoweredDrier) -> Array:
    """Return the temperature of blown air, warmed by the power but not past its thermostat. [K]"""
    rise = powered.air_power_w / (AIR_HEAT_J_M3_K * max(powered.air_speed_m_s, 0.05) * DUCT_AREA_M2)
    most = powered.air_temp_k or 323.15
    return np.maximum(air_temp_k, np.minimum(air_temp_k + rise, most))
