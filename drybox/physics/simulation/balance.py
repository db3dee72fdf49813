"""Heat and water rates of the whole box at one state, node by node."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drybox.arrays import Array, Flags
from drybox.physics.air import latent_heat_j_kg
from drybox.physics.air_film import vapour_coeff_kg_m2_s_pa
from drybox.physics.box_heat import (
    BoxAir,
    box_vapour_pressure_pa,
    covered_box_air,
    open_box_air,
    over_slots,
    radiated_w_m2,
)
from drybox.physics.constants import STEFAN_BOLTZMANN_W_M2_K4
from drybox.physics.convection import plate_convection_w_m2_k
from drybox.physics.print_drying import (
    SheetAir,
    SheetModel,
    SheetRates,
    no_sheet_rates,
    sheet_rates,
)
from drybox.physics.radiation import fourth_power_k4
from drybox.physics.simulation.forcing import Outside
from drybox.physics.simulation.state import BoxSystem, State


class Rates(NamedTuple):
    """Everything the step needs at one state: heat in per area, its slopes, and water.

    The bare plate and the cover are (n,); patches and sheets (n, slots). ``outside`` is what acted;
    ``touched_slope_w_kg`` is how the heat from patch to sheet grows with the sheet's water, where
    it does: a slope that would hasten the step is left out.
    """

    outside: Outside
    plate_w_m2: Array
    plate_slope: Array
    patch_w_m2: Array
    patch_slope: Array
    sheet: SheetRates
    contact_w_m2_k: Array
    touched_slope_w_kg: Array
    lateral_w_k: Array
    sheet_w_m2: Array
    sheet_slope: Array
    cover_w_m2: Array
    cover_slope: Array
    cover_coeff_w_m2_k: Array
    condensed_kg_s: Array
    heater_w_m2: Array
    box: BoxAir


class _Surface(NamedTuple):
    """What a surface loses at its face, and how that grows with its temperature."""

    lost_w_m2: Array
    slope_w_m2_k: Array


VAPOUR_ROUNDS = 2
"""Rounds for the box's vapour and what prints give off into it, which the vapour itself hastens
(Stefan flow), to agree: after one the prints give off 1 to 10 % more than leaves the box. [-]"""


def _column(values: Array) -> Array:
    """Return what belongs to a case, (n,), beside what belongs to its slots, (n, slots)."""
    return values[:, None]


def _beside(value: Array | float) -> Array | float:
    """Return a parameter of the plate beside its slots: (n, 1) where it differs by case."""
    return value[:, None] if isinstance(value, np.ndarray) and value.ndim else value


def _face(
    temp_k: Array, coeff: Array, sinks: tuple[Array, Array], *, share: Array | float
) -> _Surface:
    """Return what a face loses to the air and by long wave, to a fourth power. [K], [K⁴]"""
    air_k, radiant_k4 = sinks
    strength = STEFAN_BOLTZMANN_W_M2_K4 * share
    cube = temp_k * temp_k * temp_k
    lost = coeff * (temp_k - air_k) + strength * (cube * temp_k - radiant_k4)
    return _Surface(lost, coeff + 4.0 * strength * cube)


def _box_air(system: BoxSystem, state: State, outside: Outside, *, surface_k: Array) -> BoxAir:
    plate = system.plate
    if plate.cover is None:
        return open_box_air(
            plate,
            state.plate_temp_k,
            surface_k,
            outside.air_temp_k,
            outside.wind_m_s,
            outside.front_radiant_temp_k,
            outside.tilt_rad,
            outside.pressure_pa,
        )
    return covered_box_air(
        plate,
        plate.cover,
        state.plate_temp_k,
        surface_k,
        system.sheet.area_m2,
        state.cover_temp_k,
        outside.air_temp_k,
        outside.front_radiant_temp_k,
        outside.tilt_rad,
        outside.pressure_pa,
    )


def rates(system: BoxSystem, state: State, outside: Outside, *, occupied: Flags) -> Rates:
    """Return all heat and water rates of the box at one state.

    Parameters
    ----------
    system : BoxSystem
        The box and its prints.
    state : State
        Where it is.
    outside : Outside
        Weather and light at this instant, (n,).
    occupied : array of bool
        Which slots hold a print, (n, slots).

    Returns
    -------
    Rates
        Per area of each part; an empty slot's patch is bare plate.
    """
    empty = not occupied.any()
    every = not empty and bool(occupied.all())
    if every or empty:
        surface_k = state.sheet_temp_k if every else state.patch_temp_k
    else:
        surface_k = np.where(occupied, state.sheet_temp_k, state.patch_temp_k)
    box = _box_air(system, state, outside, surface_k=surface_k)
    condensed = np.zeros_like(state.plate_temp_k)
    if empty:
        prints = no_sheet_rates(state.sheet_temp_k.shape)
        if system.plate.cover is not None:
            _, condensed, _ = _box_vapour(
                system, state, outside, box=box, prints=prints, occupied=occupied
            )
    else:
        prints, condensed = _prints(system, state, outside, box=box, occupied=occupied)
    return _balance(
        system,
        state,
        outside,
        occupied=occupied,
        every=every,
        box=box,
        prints=prints,
        condensed_kg_s=condensed,
    )


def _prints(
    system: BoxSystem, state: State, outside: Outside, *, box: BoxAir, occupied: Flags
) -> tuple[SheetRates, Array]:
    """Return the prints' rates, and what condenses on the cover."""
    sheet, pressure_pa = system.sheet, outside.pressure_pa
    vapour, air_k = _column(outside.vapour_pressure_pa), _column(box.air_temp_k)
    film_k = 0.5 * (state.sheet_temp_k + air_k)
    mass = vapour_coeff_kg_m2_s_pa(
        box.sheet_coeff_w_m2_k, film_k, vapour, pressure_pa, sheet.lewis_factor
    )
    mass = mass * sheet.own_film_factor(occupied)
    air = SheetAir(
        front_sun_w_m2=_column(outside.front_sun_w_m2),
        back_sun_w_m2=_column(outside.back_sun_w_m2),
        air_temp_k=air_k,
        vapour_pressure_pa=vapour,
        front_radiant_temp_k=_column(box.radiant_temp_k),
        back_radiant_temp_k=_column(outside.back_radiant_temp_k),
        transfer_coeff_w_m2_k=box.sheet_coeff_w_m2_k,
        mass_coeff_kg_m2_s_pa=mass,
        radiant_share_frac=_beside(box.radiant_share_frac),
        growth_1_k=box.sheet_growth_1_k,
    )
    prints = sheet_rates(sheet, state.sheet_temp_k, state.water_kg_m2, air, pressure_pa)
    if system.plate.cover is None:
        return prints, np.zeros_like(state.plate_temp_k)
    for _ in range(VAPOUR_ROUNDS):
        inside, condensed, ways = _box_vapour(
            system, state, outside, box=box, prints=prints, occupied=occupied
        )
        air = air._replace(vapour_pressure_pa=_column(inside))
        prints = sheet_rates(sheet, state.sheet_temp_k, state.water_kg_m2, air, pressure_pa)
    own = prints.face_conductance_kg_m2_s_pa * sheet.area_m2 / _column(ways)
    return _held_back(prints, np.minimum(own, 1.0)), condensed


def _held_back(prints: SheetRates, own_share: Array) -> SheetRates:
    """Return slopes less what a print's own vapour in the box holds back."""
    return prints._replace(
        heat_slope_w_m2_k=prints.heat_slope_w_m2_k
        - own_share * prints.latent_j_kg * prints.water_temp_slope,
        water_temp_slope=(1.0 - own_share) * prints.water_temp_slope,
        water_slope_1_s=(1.0 - own_share) * prints.water_slope_1_s,
    )


def _box_vapour(
    system: BoxSystem,
    state: State,
    outside: Outside,
    *,
    box: BoxAir,
    prints: SheetRates,
    occupied: Flags,
) -> tuple[Array, Array, Array]:
    assert system.plate.cover is not None
    return box_vapour_pressure_pa(
        system.plate,
        system.plate.cover,
        prints.face_conductance_kg_m2_s_pa * system.sheet.area_m2 * occupied,
        prints.surface_pressure_pa,
        box.bare_coeff_w_m2_k,
        box.air_temp_k,
        state.cover_temp_k,
        outside.vapour_pressure_pa,
        outside.pressure_pa,
    )


def _balance(
    system: BoxSystem,
    state: State,
    outside: Outside,
    *,
    occupied: Flags,
    every: bool,
    box: BoxAir,
    prints: SheetRates,
    condensed_kg_s: Array,
) -> Rates:
    """Return the sums of what `rates` found, node by node."""
    plate, sheet = system.plate, system.sheet
    emittance = plate.emittance_frac * box.radiant_share_frac
    back, air_k = plate.back_w_m2_k(outside.wind_m_s), outside.air_temp_k
    sun = plate.absorbed_frac(plate.absorptance_frac) * outside.front_sun_w_m2
    heater, heater_slope = heater_now_w_m2(system, state)
    radiant_k4 = np.asarray(fourth_power_k4(box.radiant_temp_k))

    sinks = box.air_temp_k, radiant_k4
    bare = _face(state.plate_temp_k, box.bare_coeff_w_m2_k, sinks, share=emittance)
    between = _column(state.plate_temp_k) - state.patch_temp_k
    lateral = system.conduction.w_k(occupied)
    lateral_patch = lateral / sheet.area_m2
    lateral_bare = lateral / max(system.bare_area_m2, 1e-9)
    plate_heat = sun + heater - bare.lost_w_m2 - back * (state.plate_temp_k - air_k)
    plate_heat = plate_heat - over_slots(lateral_bare * between)
    plate_slope = bare.slope_w_m2_k + (back + over_slots(lateral_bare) + heater_slope)

    patch_back = _beside(back) * (state.patch_temp_k - _column(air_k))
    patch_heat = _column(heater) + lateral_patch * between - patch_back
    patch_slope = _beside(back) + lateral_patch + np.zeros_like(between)
    patch_lost = np.zeros_like(between)
    if not every:
        sinks, share = (_column(box.air_temp_k), _column(radiant_k4)), _beside(emittance)
        face = _face(state.patch_temp_k, box.sheet_coeff_w_m2_k, sinks, share=share)
        patch_lost, slope = (np.where(occupied, 0.0, part) for part in face)
        patch_heat = patch_heat + np.where(occupied, 0.0, _column(sun)) - patch_lost
        patch_slope = patch_slope + slope
    contact, touched, touched_slope = _touched(sheet, state, occupied, every=every)
    sheet_heat = prints.heat_w_m2 if every else np.where(occupied, prints.heat_w_m2, 0.0)
    cover_heat, cover_slope, cover_coeff = _cover(
        system,
        state,
        outside,
        occupied=occupied,
        box=box,
        condensed_kg_s=condensed_kg_s,
        prints=prints,
        bare_lost_w_m2=bare.lost_w_m2,
        patch_lost_w_m2=patch_lost,
    )
    return Rates(
        outside=outside,
        plate_w_m2=plate_heat,
        plate_slope=plate_slope,
        patch_w_m2=patch_heat - touched,
        patch_slope=patch_slope + contact,
        sheet=prints,
        contact_w_m2_k=contact,
        touched_slope_w_kg=touched_slope,
        lateral_w_k=lateral,
        sheet_w_m2=sheet_heat + touched,
        sheet_slope=prints.heat_slope_w_m2_k + contact,
        cover_w_m2=cover_heat,
        cover_slope=cover_slope,
        cover_coeff_w_m2_k=cover_coeff,
        condensed_kg_s=condensed_kg_s,
        heater_w_m2=heater,
        box=box,
    )


def _touched(
    sheet: SheetModel, state: State, occupied: Flags, *, every: bool
) -> tuple[Array, Array, Array]:
    """Return contact, heat from patch to sheet, and how that grows with the sheet's water."""
    contact, lifting = sheet.contact_w_m2_k(state.water_kg_m2)
    if not every:
        contact = np.where(occupied, contact, 0.0)
        lifting = np.where(occupied, lifting, 0.0)
    above_k = state.patch_temp_k - state.sheet_temp_k
    return contact, contact * above_k, np.maximum(lifting * above_k, 0.0)


def heater_now_w_m2(system: BoxSystem, state: State) -> tuple[Array, Array | float]:
    """Return the heater's power and how that falls with the plate's temperature."""
    plate = system.plate
    if not np.any(plate.heater_w_m2):
        return np.zeros_like(state.plate_temp_k), 0.0
    short = (plate.heater_temp_k - state.plate_temp_k) / plate.heater_band_k
    throttled = (short > 0) & (short < 1)
    slope = np.where(throttled, plate.heater_w_m2 / plate.heater_band_k, 0.0)
    return plate.heater_w_m2 * np.minimum(np.maximum(short, 0.0), 1.0), slope


def _cover(
    system: BoxSystem,
    state: State,
    outside: Outside,
    *,
    occupied: Flags,
    box: BoxAir,
    condensed_kg_s: Array,
    prints: SheetRates,
    bare_lost_w_m2: Array,
    patch_lost_w_m2: Array,
) -> tuple[Array, Array, Array]:
    """Return the cover's heat, its slope, and its outer coefficient; no heat without a cover."""
    plate, cover, temp_k = system.plate, system.plate.cover, state.cover_temp_k
    if cover is None:
        nothing = np.zeros_like(temp_k)
        return nothing, nothing + 1.0, nothing
    dry_w_m2 = prints.sun_w_m2 - prints.water_kg_m2_s * prints.latent_j_kg - prints.heat_w_m2
    slots_w_m2 = np.where(occupied, dry_w_m2, patch_lost_w_m2)
    front_w = system.bare_area_m2 * bare_lost_w_m2 + system.sheet.area_m2 * over_slots(slots_w_m2)
    coeff = cover_coeff_w_m2_k(system, state, outside)
    sinks = outside.air_temp_k, np.asarray(fourth_power_k4(outside.front_radiant_temp_k))
    top = _face(temp_k, coeff, sinks, share=cover.emittance_frac)
    vented_w_m2 = box.vent_w_m2_k * (box.air_temp_k - outside.air_temp_k)
    straight_w = straight_to_sky_w(system, state, outside, occupied=occupied)
    dew_w = condensed_kg_s * np.asarray(latent_heat_j_kg(temp_k))
    heat = (front_w - straight_w + dew_w) / plate.area_m2 - vented_w_m2
    inner = 2.0 * box.bare_coeff_w_m2_k + 4.0 * STEFAN_BOLTZMANN_W_M2_K4 * temp_k**3
    heat = heat + outside.cover_sun_w_m2 - top.lost_w_m2
    return heat, top.slope_w_m2_k + inner, coeff


def cover_coeff_w_m2_k(system: BoxSystem, state: State, outside: Outside) -> Array:
    """Return the convection coefficient of the cover's outer face. [W/(m² K)]"""
    plate = system.plate
    if plate.fixed_convection_w_m2_k is not None:
        return np.full_like(state.cover_temp_k, plate.fixed_convection_w_m2_k)
    found = plate_convection_w_m2_k(
        state.cover_temp_k,
        outside.air_temp_k,
        outside.wind_m_s,
        plate.length_m,
        plate.natural_length_m,
        plate.height_m,
        outside.tilt_rad,
        outside.pressure_pa,
        plate.forced_factor,
    )
    return np.asarray(found * plate.convection_factor)


def straight_to_sky_w(
    system: BoxSystem, state: State, outside: Outside, *, occupied: Flags
) -> Array | float:
    """Return long wave that passes the cover, from all surfaces below it. [W]"""
    plate, sheet = system.plate, system.sheet
    assert plate.cover is not None
    through = plate.cover.longwave_transmittance_frac
    if through == 0:
        return 0.0
    sky = outside.front_radiant_temp_k
    bare = system.bare_area_m2 * radiated_w_m2(plate.emittance_frac, state.plate_temp_k, sky)
    empty = radiated_w_m2(_beside(plate.emittance_frac), state.patch_temp_k, _column(sky))
    prints = radiated_w_m2(sheet.emittance_frac, state.sheet_temp_k, _column(sky))
    slots = sheet.area_m2 * over_slots(np.where(occupied, prints, empty))
    return np.asarray(through * (bare + slots))
