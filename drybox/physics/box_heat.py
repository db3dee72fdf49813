"""Heat that the plate, its patches, the cover and the box air exchange: rates only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from drybox.arrays import Array
from drybox.physics.air import moist_air_density_kg_m3, saturation_pressure_pa
from drybox.physics.air_film import vapour_coeff_kg_m2_s_pa
from drybox.physics.constants import (
    DRY_AIR_SPECIFIC_HEAT_J_KG_K,
    GAS_CONSTANT_VAPOUR_J_KG_K,
    STEFAN_BOLTZMANN_W_M2_K4,
)
from drybox.physics.convection import back_loss_in_wind_w_m2_k, plate_film, sheet_film
from drybox.physics.cover_gap import gap_convection_w_m2_k
from drybox.physics.radiation import fourth_power_k4


@dataclass(frozen=True)
class CoverModel:
    """A clear cover as a node with its own heat.

    Parameters
    ----------
    heat_capacity_j_m2_k : float
        Per area. [J/(m² K)]
    emittance_frac, longwave_transmittance_frac : float
        Long-wave properties. [-]
    gap_m : float
        Plate to cover. [m]
    air_exchange_1_s : float
        Air changes of the box. [1/s]
    """

    heat_capacity_j_m2_k: float
    emittance_frac: float
    longwave_transmittance_frac: float
    gap_m: float
    air_exchange_1_s: float


@dataclass(frozen=True)
class PlateModel:
    """A plate with places for prints.

    Parameters
    ----------
    area_m2 : float
        Whole plate. [m²]
    heat_capacity_j_m2_k : float
        Per area; the plate's mass fixes it. [J/(m² K)]
    absorptance_frac, emittance_frac : float or array
        Solar absorptance, long-wave emittance. [-]
    back_loss_w_m2_k : float or array
        Plate to the air behind, in light wind where the wind reaches it. [W/(m² K)]
    length_m, natural_length_m, height_m : float
        4A/P for wind, A/P for a level plate, slope length for a steep one. [m]
    reflected_back_frac : float
        Diffuse reflectance of the cover's inner face. [-]
    cover : CoverModel or None
        The cover.
    heater_w_m2, heater_temp_k, heater_band_k : float
        A powered plate: full power (an array where some cases are switched off), thermostat, and
        the band over which it throttles.
    convection_factor : float or array
        Multiplies every convection coefficient. [-]
    forced_factor : float or array
        Multiplies the forced part alone, before it is joined with the natural one: what wind out
        of doors carries off over what a smooth stream does (uncertainty, calibration). [-]
    fixed_convection_w_m2_k : float or None
        A measured coefficient that replaces the correlations. [W/(m² K)]
    hanging : bool
        Not a plate but a sheet with both faces free.
    back_in_wind : bool
        The outer film of the back follows the wind.
    """

    area_m2: float
    heat_capacity_j_m2_k: float
    absorptance_frac: Array | float
    emittance_frac: Array | float
    back_loss_w_m2_k: Array | float
    length_m: float
    natural_length_m: float
    height_m: float
    reflected_back_frac: float = 0.0
    cover: CoverModel | None = None
    heater_w_m2: Array | float = 0.0
    heater_temp_k: float = 0.0
    heater_band_k: float = 2.0
    convection_factor: Array | float = 1.0
    fixed_convection_w_m2_k: float | None = None
    hanging: bool = False
    forced_factor: Array | float = 1.0
    back_in_wind: bool = False

    def back_w_m2_k(self, wind_m_s: Array) -> Array | float:
        """Return the loss to the air behind at a wind at the plate. [W/(m² K)]"""
        if not self.back_in_wind:
            return self.back_loss_w_m2_k
        return back_loss_in_wind_w_m2_k(self.back_loss_w_m2_k, wind_m_s)

    def absorbed_frac(self, absorptance_frac: Array | float) -> Array | float:
        """Return the share of light inside the box that a surface takes in, after reflections.

        Notes
        -----
        ``alpha / (1 - (1 - alpha) rho_d)``: Duffie and Beckman eq. 5.5.1, cover transmittance
        left to the light itself.

        Examples
        --------
        Row C7 of ``data/reference/cover.csv``, under a cover that passes 0.88:

        >>> sizes = (1.0, 1.0, 0.25, 1.0)
        >>> plate = PlateModel(1.0, 1e4, 0.9, 0.9, *sizes, reflected_back_frac=0.24)
        >>> round(0.88 * float(plate.absorbed_frac(plate.absorptance_frac)), 3)
        0.811
        """
        return absorptance_frac / (
            1 - (1 - np.asarray(absorptance_frac)) * self.reflected_back_frac
        )


class BoxAir(NamedTuple):
    """Air, radiant surroundings and coefficients inside the box, for one instant.

    ``bare_coeff_w_m2_k`` is that of the bare plate, (n,); ``sheet_coeff_w_m2_k`` that of what lies
    in each slot, print or patch, (n, slots), and ``sheet_growth_1_k`` how it grows with that one's
    temperature.
    """

    air_temp_k: Array
    bare_coeff_w_m2_k: Array
    sheet_coeff_w_m2_k: Array
    sheet_growth_1_k: Array | float
    radiant_temp_k: Array
    radiant_share_frac: Array | float
    vent_w_m2_k: float


def open_box_air(
    plate: PlateModel,
    bare_temp_k: Array,
    surface_temp_k: Array,
    air_temp_k: Array,
    wind_m_s: Array,
    radiant_temp_k: Array,
    tilt_rad: Array,
    pressure_pa: float,
) -> BoxAir:
    """Return the air over an uncovered plate: the outdoor air, with coefficients by surface.

    Parameters
    ----------
    plate : PlateModel
        Sizes and factors.
    bare_temp_k : array
        Bare plate, (n,). [K]
    surface_temp_k : array
        What lies in each slot, print or patch, (n, slots). [K]
    air_temp_k, wind_m_s, radiant_temp_k, tilt_rad : array
        Outdoors, (n,). [K], [m/s], [K], [rad]
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    BoxAir
        Coefficients. [W/(m² K)]
    """
    if plate.fixed_convection_w_m2_k is not None:
        bare = np.full_like(bare_temp_k, plate.fixed_convection_w_m2_k)
        slots = np.full_like(surface_temp_k, plate.fixed_convection_w_m2_k)
        return BoxAir(air_temp_k, bare, slots, 0.0, radiant_temp_k, 1.0, 0.0)
    surfaces = np.concatenate([bare_temp_k[:, None], surface_temp_k], axis=1)
    air_k, wind = air_temp_k[:, None], wind_m_s[:, None]
    forced = np.asarray(plate.forced_factor)[..., None]
    if plate.hanging:
        found = sheet_film(
            surfaces, air_k, wind, plate.length_m, plate.height_m, pressure_pa, forced
        )
    else:
        found = plate_film(
            surfaces,
            air_k,
            wind,
            plate.length_m,
            plate.natural_length_m,
            plate.height_m,
            tilt_rad[:, None],
            pressure_pa,
            forced,
        )
    coeff = np.asarray(found.coeff_w_m2_k) * np.asarray(plate.convection_factor)[..., None]
    growth = np.asarray(found.growth_1_k)
    return BoxAir(air_temp_k, coeff[:, 0], coeff[:, 1:], growth[:, 1:], radiant_temp_k, 1.0, 0.0)


def covered_box_air(
    plate: PlateModel,
    cover: CoverModel,
    bare_temp_k: Array,
    surface_temp_k: Array,
    slot_area_m2: float,
    cover_temp_k: Array,
    air_temp_k: Array,
    radiant_temp_k: Array,
    tilt_rad: Array,
    pressure_pa: float,
) -> BoxAir:
    """Return the air between plate and cover, in balance at each instant.

    Parameters
    ----------
    plate, cover : PlateModel, CoverModel
        The box.
    bare_temp_k : array
        Bare plate, (n,). [K]
    surface_temp_k : array
        What lies in each slot, print or patch, (n, slots). [K]
    slot_area_m2 : float
        Area of a slot. [m²]
    cover_temp_k, air_temp_k, radiant_temp_k, tilt_rad : array
        (n,). [K], [K], [K], [rad]
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    BoxAir
        Box air temperature and coefficients: twice the layer's, one half on each side.

    Notes
    -----
    Hollands' inclined layer gives ``h_gap`` between mean plate and cover; as two films of
    ``2 h_gap`` in series through a massless air node, which also gives heat to the air exchanged.
    Long wave: parallel planes, plus what a cover lets through straight to the sky.
    """
    share = slot_area_m2 / plate.area_m2
    mean = bare_temp_k + share * over_slots(surface_temp_k - bare_temp_k[:, None])
    gap = gap_convection_w_m2_k(
        mean, cover_temp_k, cover.gap_m, plate.height_m, tilt_rad, pressure_pa
    )
    film = 2 * np.asarray(gap) * plate.convection_factor
    density = moist_air_density_kg_m3(290.0, 1000.0, pressure_pa)
    vent = float(cover.air_exchange_1_s * cover.gap_m * density * DRY_AIR_SPECIFIC_HEAT_J_KG_K)
    box_air = (film * (mean + cover_temp_k) + vent * air_temp_k) / (2 * film + vent)

    through = cover.longwave_transmittance_frac
    plate_emittance = np.asarray(plate.emittance_frac)
    between = 1 / (1 / plate_emittance + 1 / cover.emittance_frac - 1) / plate_emittance
    share = through + (1 - through) * between
    radiant = through * fourth_power_k4(radiant_temp_k)
    radiant = radiant + (1 - through) * between * fourth_power_k4(cover_temp_k)
    slots = np.broadcast_to(film[:, None], surface_temp_k.shape)
    return BoxAir(box_air, film, slots, 0.0, np.sqrt(np.sqrt(radiant / share)), share, vent)


def box_vapour_pressure_pa(
    plate: PlateModel,
    cover: CoverModel,
    face_conductance_kg_s_pa: Array,
    surface_pressure_pa: Array,
    film_w_m2_k: Array,
    box_air_temp_k: Array,
    cover_temp_k: Array,
    outside_pressure_pa: Array,
    pressure_pa: float,
) -> tuple[Array, Array, Array]:
    """Return vapour pressure in a covered box, and what condenses on the cover.

    Parameters
    ----------
    plate, cover : PlateModel, CoverModel
        The box.
    face_conductance_kg_s_pa, surface_pressure_pa : array
        Each print's vapour conductance (area included) and pressure, (n, slots). [kg/(s Pa)], [Pa]
    film_w_m2_k, box_air_temp_k, cover_temp_k, outside_pressure_pa : array
        (n,). [W/(m² K)], [K], [K], [Pa]
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    vapour_pressure_pa, condensed_kg_s, conductance_kg_s_pa : array
        Conductance is that of all ways to and from the air in the box. [Pa], [kg/s], [kg/(s Pa)]

    Notes
    -----
    Evaporated = carried out by the air exchange + condensed, with no store in the air (about a
    gram per square metre). Condensate drains off and does not come back (judgement).
    """
    vent = (
        cover.air_exchange_1_s
        * cover.gap_m
        * plate.area_m2
        / (GAS_CONSTANT_VAPOUR_J_KG_K * box_air_temp_k)
    )
    vent = np.maximum(vent, 1e-15)
    given = over_slots(face_conductance_kg_s_pa * surface_pressure_pa)
    total = over_slots(face_conductance_kg_s_pa) + vent
    vapour = (given + vent * outside_pressure_pa) / total
    dew = np.asarray(saturation_pressure_pa(cover_temp_k))
    film = vapour_coeff_kg_m2_s_pa(film_w_m2_k, box_air_temp_k, vapour, pressure_pa)
    film = film * plate.area_m2
    wet = (given + vent * outside_pressure_pa + film * dew) / (total + film)
    condensing = vapour > dew
    vapour = np.where(condensing, wet, vapour)
    condensed = np.where(condensing, film * (wet - dew), 0.0)
    return vapour, condensed, total + np.where(condensing, film, 0.0)


def over_slots(per_slot: Array) -> Array:
    """Return the sum of what belongs to the slots, (n, slots), for each case, (n,)."""
    return per_slot[:, 0] if per_slot.shape[1] == 1 else np.asarray(per_slot.sum(axis=1))


def radiated_w_m2(emittance_frac: Array | float, temp_k: Array, surroundings_k: Array) -> Array:
    """Return long-wave loss of a surface to surroundings at one temperature. [W/m²]

    Examples
    --------
    >>> round(float(radiated_w_m2(0.9, np.array(320.0), np.array(260.0))), 1)
    301.9
    """
    net = fourth_power_k4(temp_k) - fourth_power_k4(surroundings_k)
    return np.asarray(STEFAN_BOLTZMANN_W_M2_K4 * emittance_frac * net)
