"""Heat and water rates of the whole box at one state: every node, and over the boundary."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.physics.air import latent_heat_j_kg
from drybox.physics.box_heat import (
    BoxAir,
    box_vapour_pressure_pa,
    covered_box_air,
    mass_coeff_kg_m2_s_pa,
    open_box_air,
    radiated_w_m2,
)
from drybox.physics.box_state import BoxSystem, State
from drybox.physics.constants import STEFAN_BOLTZMANN_W_M2_K4, WATER_SPECIFIC_HEAT_J_KG_K
from drybox.physics.convection import plate_convection_w_m2_k
from drybox.physics.forcing import Outside
from drybox.physics.print_drying import SheetAir, SheetRates, sheet_rates

Array = NDArray[np.float64]


class Rates(NamedTuple):
    """Everything the step needs at one state: heat in per area, slopes, and flows over the edge.

    ``net_w`` is heat gained by the whole box through its boundary; ``gross_w`` the sum of its
    parts without sign, to measure closure against; ``condensed_kg_s`` water left on the cover.
    """

    plate_w_m2: Array
    plate_slope: Array
    patch_w_m2: Array
    patch_slope: Array
    sheet: SheetRates
    contact_w_m2_k: Array
    sheet_w_m2: Array
    sheet_slope: Array
    cover_w_m2: Array
    cover_slope: Array
    net_w: Array
    gross_w: Array
    condensed_kg_s: Array
    heater_w_m2: Array
    box: BoxAir
    mass_coeff_kg_m2_s_pa: Array


def _column(values: Array) -> Array:
    """Return what belongs to a case, (n,), beside what belongs to its slots, (n, slots)."""
    return values[:, None]


def _box_air(
    system: BoxSystem, state: State, outside: Outside, occupied: Array, pressure_pa: float
) -> BoxAir:
    plate = system.plate
    if plate.cover is None:
        return open_box_air(
            plate,
            state.plate_temp_k,
            state.patch_temp_k,
            state.sheet_temp_k,
            outside.air_temp_k,
            outside.wind_m_s,
            outside.front_radiant_temp_k,
            outside.tilt_rad,
            pressure_pa,
        )
    surface = np.where(occupied, state.sheet_temp_k, state.patch_temp_k)
    return covered_box_air(
        plate,
        plate.cover,
        state.plate_temp_k,
        surface,
        np.full_like(surface, system.sheet.area_m2),
        state.cover_temp_k,
        outside.air_temp_k,
        outside.front_radiant_temp_k,
        outside.tilt_rad,
        pressure_pa,
    )


def rates(
    system: BoxSystem,
    state: State,
    outside: Outside,
    occupied: Array,
    pressure_pa: float,
    lately: Rates | None = None,
) -> Rates:
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
    pressure_pa : float
        Air pressure. [Pa]
    lately : Rates, optional
        Rates within the same step, whose film coefficients still serve an open box.

    Returns
    -------
    Rates
        Per area of each part; an empty slot's patch is bare plate.
    """
    plate, sheet = system.plate, system.sheet

    if lately is not None and plate.cover is None:
        box = lately.box._replace(
            air_temp_k=outside.air_temp_k, radiant_temp_k=outside.front_radiant_temp_k
        )
        mass = lately.mass_coeff_kg_m2_s_pa
    else:
        box = _box_air(system, state, outside, occupied, pressure_pa)
        film_temp = 0.5 * (state.sheet_temp_k + _column(box.air_temp_k))
        vapour = _column(outside.vapour_pressure_pa)
        mass = mass_coeff_kg_m2_s_pa(
            box.sheet_coeff_w_m2_k, film_temp, vapour, pressure_pa, sheet.lewis_factor
        )
    air = SheetAir(
        front_sun_w_m2=_column(outside.front_sun_w_m2),
        back_sun_w_m2=_column(outside.back_sun_w_m2),
        air_temp_k=_column(box.air_temp_k),
        vapour_pressure_pa=_column(outside.vapour_pressure_pa),
        front_radiant_temp_k=_column(box.radiant_temp_k),
        back_radiant_temp_k=_column(outside.back_radiant_temp_k),
        transfer_coeff_w_m2_k=box.sheet_coeff_w_m2_k,
        mass_coeff_kg_m2_s_pa=mass,
        radiant_share_frac=_column(
            np.broadcast_to(box.radiant_share_frac, np.shape(state.plate_temp_k))
        ),
    )
    condensed = np.zeros_like(state.plate_temp_k)
    prints = sheet_rates(sheet, state.sheet_temp_k, state.water_kg_m2, air, pressure_pa)
    if plate.cover is not None:
        vapour, condensed = box_vapour_pressure_pa(
            plate,
            plate.cover,
            prints.face_conductance_kg_m2_s_pa * sheet.area_m2 * occupied,
            prints.surface_pressure_pa,
            box.bare_coeff_w_m2_k,
            box.air_temp_k,
            state.cover_temp_k,
            outside.vapour_pressure_pa,
            pressure_pa,
        )
        air = air._replace(vapour_pressure_pa=_column(vapour))
        prints = sheet_rates(sheet, state.sheet_temp_k, state.water_kg_m2, air, pressure_pa)
    return _balance(system, state, outside, occupied, box, mass, prints, condensed)


def _balance(
    system: BoxSystem,
    state: State,
    outside: Outside,
    occupied: Array,
    box: BoxAir,
    mass: Array,
    prints: SheetRates,
    condensed_kg_s: Array,
) -> Rates:
    """Return the sums of what `rates` found, node by node and over the boundary."""
    plate, sheet = system.plate, system.sheet
    lateral_patch = system.lateral_w_k / sheet.area_m2
    lateral_bare = system.lateral_w_k / max(system.bare_area_m2, 1e-9)
    emittance = plate.emittance_frac * box.radiant_share_frac
    back = np.asarray(plate.back_loss_w_m2_k)
    sun = plate.absorbed_frac(plate.absorptance_frac) * outside.front_sun_w_m2

    short = np.clip((plate.heater_temp_k - state.plate_temp_k) / plate.heater_band_k, 0.0, 1.0)
    heater = plate.heater_w_m2 * short
    heater_slope = np.where((short > 0) & (short < 1), plate.heater_w_m2 / plate.heater_band_k, 0.0)

    def surface(
        temp_k: Array, coeff: Array, air_k: Array, radiant_k: Array, share: Array | float
    ) -> tuple[Array, Array]:
        lost = coeff * (temp_k - air_k) + radiated_w_m2(share, temp_k, radiant_k)
        return lost, coeff + 4 * STEFAN_BOLTZMANN_W_M2_K4 * share * temp_k**3

    bare_lost, bare_slope = surface(
        state.plate_temp_k, box.bare_coeff_w_m2_k, box.air_temp_k, box.radiant_temp_k, emittance
    )
    bare_back = back * (state.plate_temp_k - outside.air_temp_k)
    between = _column(state.plate_temp_k) - state.patch_temp_k
    plate_heat = sun + heater - bare_lost - bare_back - lateral_bare * between.sum(axis=1)
    plate_slope = bare_slope + back + lateral_bare * system.slots + heater_slope

    patch_lost, patch_slope = surface(
        state.patch_temp_k,
        box.patch_coeff_w_m2_k,
        _column(box.air_temp_k),
        _column(box.radiant_temp_k),
        _column(np.broadcast_to(emittance, np.shape(state.plate_temp_k))),
    )
    patch_back = _column(np.broadcast_to(back, np.shape(state.plate_temp_k))) * (
        state.patch_temp_k - _column(outside.air_temp_k)
    )
    contact = np.where(occupied, sheet.contact_w_m2_k(state.water_kg_m2), 0.0)
    touched = contact * (state.patch_temp_k - state.sheet_temp_k)
    open_patch = np.where(occupied, 0.0, _column(sun) - patch_lost)
    patch_heater = _column(np.broadcast_to(heater, np.shape(state.plate_temp_k)))
    patch_heat = open_patch + patch_heater - patch_back + lateral_patch * between - touched
    patch_slopes = (
        np.where(occupied, 0.0, patch_slope)
        + _column(np.broadcast_to(back, np.shape(sun)))
        + lateral_patch
        + contact
    )

    sheet_heat = np.where(occupied, prints.heat_w_m2 + touched, 0.0)
    cover_heat, cover_slope, over_edge, gross = _edges(
        system, state, outside, box, prints, condensed_kg_s, occupied, bare_lost, patch_lost, sun
    )
    own = system.bare_area_m2 * (heater - bare_back) + sheet.area_m2 * (
        patch_heater - patch_back
    ).sum(axis=1)
    return Rates(
        plate_w_m2=plate_heat,
        plate_slope=plate_slope,
        patch_w_m2=patch_heat,
        patch_slope=patch_slopes,
        sheet=prints,
        contact_w_m2_k=contact,
        sheet_w_m2=sheet_heat,
        sheet_slope=prints.heat_slope_w_m2_k + contact,
        cover_w_m2=cover_heat,
        cover_slope=cover_slope,
        net_w=over_edge + own,
        gross_w=gross + system.plate.area_m2 * np.abs(heater),
        condensed_kg_s=condensed_kg_s,
        heater_w_m2=heater * np.ones_like(state.plate_temp_k),
        box=box,
        mass_coeff_kg_m2_s_pa=mass,
    )


def _edges(
    system: BoxSystem,
    state: State,
    outside: Outside,
    box: BoxAir,
    prints: SheetRates,
    condensed_kg_s: Array,
    occupied: Array,
    bare_lost: Array,
    patch_lost: Array,
    sun: Array,
) -> tuple[Array, Array, Array, Array]:
    """Return the cover's heat and slope, and the heat over the front boundary, net and gross."""
    plate, area = system.plate, system.sheet.area_m2
    empty = np.where(occupied, 0.0, 1.0)
    bare_area, slots_area = system.bare_area_m2, area * empty
    print_sun = area * (occupied * prints.sun_w_m2).sum(axis=1)
    plate_sun = sun * (bare_area + slots_area.sum(axis=1))
    # vapour leaves with the heat it took at the sheet, and with the warmth of its water
    water_warmth = WATER_SPECIFIC_HEAT_J_KG_K * state.sheet_temp_k
    evaporated = occupied * prints.water_kg_m2_s
    vapour_w = area * (evaporated * (prints.latent_j_kg + water_warmth)).sum(axis=1)
    gained = print_sun + plate_sun
    dry_heat = prints.sun_w_m2 - prints.water_kg_m2_s * prints.latent_j_kg - prints.heat_w_m2
    lost = bare_area * bare_lost + (slots_area * patch_lost).sum(axis=1)
    lost = lost + area * (occupied * dry_heat).sum(axis=1)
    if plate.cover is None:
        nothing = np.zeros_like(sun)
        gross = gained + np.abs(lost) + np.abs(vapour_w)
        return nothing, nothing + 1.0, gained - lost - vapour_w, gross

    cover = plate.cover
    vented = box.vent_w_m2_k * (box.air_temp_k - outside.air_temp_k) * plate.area_m2
    straight = _straight_to_sky(system, state, outside, occupied)
    if plate.fixed_convection_w_m2_k is not None:
        wind = np.full_like(sun, plate.fixed_convection_w_m2_k)
    else:
        wind = (
            np.asarray(
                plate_convection_w_m2_k(
                    state.cover_temp_k,
                    outside.air_temp_k,
                    outside.wind_m_s,
                    plate.length_m,
                    plate.natural_length_m,
                    plate.height_m,
                    outside.tilt_rad,
                    outside.pressure_pa,
                )
            )
            * plate.convection_factor
        )
    top = wind * (state.cover_temp_k - outside.air_temp_k) + radiated_w_m2(
        cover.emittance_frac, state.cover_temp_k, outside.front_radiant_temp_k
    )
    dew_heat = condensed_kg_s * np.asarray(latent_heat_j_kg(state.cover_temp_k))
    heat = outside.cover_sun_w_m2 + (lost - vented - straight + dew_heat) / plate.area_m2 - top
    slope = wind + 2 * box.bare_coeff_w_m2_k + 8 * STEFAN_BOLTZMANN_W_M2_K4 * state.cover_temp_k**3
    cover_sun = outside.cover_sun_w_m2 * plate.area_m2
    net = gained + cover_sun - vented - straight - top * plate.area_m2 - vapour_w + dew_heat
    gross = gained + cover_sun + np.abs(vented) + np.abs(top) * plate.area_m2 + np.abs(vapour_w)
    return heat, slope, net, gross


def _straight_to_sky(system: BoxSystem, state: State, outside: Outside, occupied: Array) -> Array:
    """Return long wave that passes the cover, from all surfaces below it. [W]"""
    plate, sheet = system.plate, system.sheet
    assert plate.cover is not None
    through = plate.cover.longwave_transmittance_frac
    sky = outside.front_radiant_temp_k
    bare = system.bare_area_m2 * radiated_w_m2(plate.emittance_frac, state.plate_temp_k, sky)
    plate_slots = radiated_w_m2(
        np.asarray(plate.emittance_frac)[..., None], state.patch_temp_k, sky[:, None]
    )
    print_slots = radiated_w_m2(sheet.emittance_frac, state.sheet_temp_k, sky[:, None])
    slots = sheet.area_m2 * np.where(occupied, print_slots, plate_slots).sum(axis=1)
    return np.asarray(through * (bare + slots))
