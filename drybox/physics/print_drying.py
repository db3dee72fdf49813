"""Heat and water that a print gives and takes: rates only, no state of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.physics.air import latent_heat_j_kg, saturation_pressure_pa
from drybox.physics.constants import (
    GAS_CONSTANT_VAPOUR_J_KG_K,
    STEFAN_BOLTZMANN_W_M2_K4,
    WATER_SPECIFIC_HEAT_J_KG_K,
)
from drybox.physics.sorption import SheetSorption, activity_temperature_factor

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SheetModel:
    """What the equations need to know of a print and of the way it is held.

    Scalars, or arrays over the cases of a run, trailing axis the slots.

    Parameters
    ----------
    area_m2 : float
        One face. [m²]
    dry_heat_j_m2_k : float
        Heat capacity of the dry sheet per area. [J/(m² K)]
    sorption : SheetSorption
        Its water activity.
    absorptance_frac, emittance_frac : float or array
        Solar absorptance and long-wave emittance. [-]
    contact_wet_w_m2_k, contact_dry_w_m2_k : float or array
        Conductance to the plate, with free water and bone-dry; 0 when nothing is behind. [W/(m² K)]
    front_open_frac, back_open_frac : float
        Share of each face open to air: back 0 on a plate, 1 on a line; in a book of n prints
        each has an n-th of the two outer faces. [-]
    vapour_resistance_m2_s_pa_kg : float or array
        Resistance of the whole dry sheet to water vapour. [m² s Pa/kg]
    critical_water_kg_m2 : float
        Water at which the surface begins to run short. [kg/m²]
    cover_resistance_m2_s_pa_kg : float
        Vapour resistance laid over each open face, such as a blotter. [m² s Pa/kg]
    lewis_factor : float or None
        ``(alpha/D)^(2/3)`` of Chilton and Colburn; None takes it from the air's properties. [-]
    """

    area_m2: float
    dry_heat_j_m2_k: float
    sorption: SheetSorption
    absorptance_frac: Array | float
    emittance_frac: float
    contact_wet_w_m2_k: Array | float
    contact_dry_w_m2_k: Array | float
    front_open_frac: float
    back_open_frac: float
    vapour_resistance_m2_s_pa_kg: Array | float
    critical_water_kg_m2: float
    cover_resistance_m2_s_pa_kg: float = 0.0
    lewis_factor: float | None = None

    @property
    def open_faces(self) -> float:
        """Return how many faces the air reaches. [-]"""
        return self.front_open_frac + self.back_open_frac

    def contact_w_m2_k(self, water_kg_m2: Array) -> Array:
        """Return the conductance to the plate at the water now held. [W/(m² K)]

        Notes
        -----
        Linear in the bound water: a drying sheet lifts and loses its water film (judgement).
        """
        wet = np.clip(water_kg_m2 / self.sorption.saturated_kg_m2, 0.0, 1.0)
        return np.asarray(
            self.contact_dry_w_m2_k + (self.contact_wet_w_m2_k - self.contact_dry_w_m2_k) * wet
        )


class SheetAir(NamedTuple):
    """Air and light at the sheet, each an array over cases and slots.

    ``transfer_coeff_w_m2_k`` serves every open face; ``mass_coeff_kg_m2_s_pa`` is the vapour
    conductance of the air film.
    """

    front_sun_w_m2: Array
    back_sun_w_m2: Array
    air_temp_k: Array
    vapour_pressure_pa: Array
    front_radiant_temp_k: Array
    back_radiant_temp_k: Array
    transfer_coeff_w_m2_k: Array
    mass_coeff_kg_m2_s_pa: Array
    radiant_share_frac: Array | float = 1.0


class SheetRates(NamedTuple):
    """Rates per area of sheet, and their slopes for the implicit step.

    ``heat_w_m2`` is what stays in the sheet, without contact; ``water_kg_m2_s`` is evaporation
    from all open faces; the slopes are positive numbers.
    """

    heat_w_m2: Array
    water_kg_m2_s: Array
    heat_slope_w_m2_k: Array
    water_temp_slope: Array
    water_slope_1_s: Array
    latent_j_kg: Array
    sun_w_m2: Array
    heat_capacity_j_m2_k: Array
    surface_pressure_pa: Array
    face_conductance_kg_m2_s_pa: Array


def internal_vapour_resistance(sheet: SheetModel, water_kg_m2: Array) -> Array:
    """Return the resistance between the water still inside and a face. [m² s Pa/kg]

    Parameters
    ----------
    sheet : SheetModel
        Resistance of the dry sheet and the critical water.
    water_kg_m2 : array
        Water held. [kg/m²]

    Returns
    -------
    array
        0 while the surface is wet. [m² s Pa/kg]

    Notes
    -----
    Falling-rate period as a receding front: ``R = R_dry (1 - X/X_c)`` below ``X_c``;
    with two open faces the way is half as long. A different resistance of the gelatin side is
    left out.
    """
    short = np.maximum(1.0 - water_kg_m2 / sheet.critical_water_kg_m2, 0.0)
    return np.asarray(_dry_resistance(sheet) * short)


def _dry_resistance(sheet: SheetModel) -> Array | float:
    way = 1.0 + min(sheet.back_open_frac / max(sheet.front_open_frac, 1e-9), 1.0)
    return sheet.vapour_resistance_m2_s_pa_kg / way


def surface_vapour(
    sheet: SheetModel, temp_k: Array, water_kg_m2: Array
) -> tuple[Array, Array, Array]:
    """Return vapour pressure at the water's surface, its slope in water, and the sorption heat.

    Parameters
    ----------
    sheet : SheetModel
        Its sorption.
    temp_k, water_kg_m2 : array
        State. [K], [kg/m²]

    Returns
    -------
    pressure_pa, slope_pa_m2_kg, sorption_heat_j_kg : array
        [Pa], [Pa m²/kg], [J/kg]
    """
    activity, slope = sheet.sorption.activity(water_kg_m2)
    sorption_heat = sheet.sorption.heat_j_kg(water_kg_m2)
    scale = saturation_pressure_pa(temp_k) * activity_temperature_factor(sorption_heat, temp_k)
    free = activity >= 1.0
    if np.any(free):
        scale = np.where(free, saturation_pressure_pa(temp_k), scale)
    return np.asarray(scale * activity), np.asarray(scale * slope), sorption_heat


def sheet_rates(
    sheet: SheetModel, temp_k: Array, water_kg_m2: Array, air: SheetAir, pressure_pa: float
) -> SheetRates:
    """Return the heat and water rates of a sheet in its air.

    Parameters
    ----------
    sheet : SheetModel
        What the sheet is.
    temp_k, water_kg_m2 : array
        Its state. [K], [kg/m²]
    air : SheetAir
        What surrounds it.
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    SheetRates
        Rates and slopes.

    Notes
    -----
    Evaporation from each open face: ``m = k (p_s - p_v)``, with the air film's conductance raised
    for blowing by ``P / p_lm`` (Stefan flow) and in series with the inner resistance. Heat:
    sun - convection - long wave - ``m (latent + sorption)``; contact with the plate is added by
    the simulation, which owns both temperatures. The sheet is isothermal through its thickness.

    References
    ----------
    Bird, Stewart and Lightfoot, *Transport Phenomena*, ch. 22 (film with net flow).
    """
    surface, surface_slope, sorption_heat = surface_vapour(sheet, temp_k, water_kg_m2)
    dry_side = np.minimum(air.vapour_pressure_pa, 0.9 * pressure_pa)
    wet_side = np.minimum(surface, 0.9 * pressure_pa)
    blowing = pressure_pa / (pressure_pa - 0.5 * (dry_side + wet_side))  # log mean within 0.1 %
    film = air.mass_coeff_kg_m2_s_pa * blowing
    inner = internal_vapour_resistance(sheet, water_kg_m2)
    face = film / (1.0 + film * (inner + sheet.cover_resistance_m2_s_pa_kg))
    conductance = sheet.open_faces * face
    water = conductance * (surface - air.vapour_pressure_pa)
    inner_slope = np.where(inner > 0, _dry_resistance(sheet) / sheet.critical_water_kg_m2, 0.0)
    water_slope = conductance * surface_slope + np.maximum(water, 0.0) * inner_slope * face

    radiation = STEFAN_BOLTZMANN_W_M2_K4 * sheet.emittance_frac * air.radiant_share_frac
    cubed = temp_k**3
    long_wave = radiation * (
        cubed * temp_k * sheet.open_faces
        - sheet.front_open_frac * air.front_radiant_temp_k**4
        - sheet.back_open_frac * air.back_radiant_temp_k**4
    )
    transfer = air.transfer_coeff_w_m2_k * sheet.open_faces
    sun = sheet.absorptance_frac * (
        sheet.front_open_frac * air.front_sun_w_m2 + sheet.back_open_frac * air.back_sun_w_m2
    )
    latent = np.asarray(latent_heat_j_kg(temp_k)) + sorption_heat
    heat = sun - transfer * (temp_k - air.air_temp_k) - long_wave - water * latent
    water_temp_slope = conductance * surface * latent / (GAS_CONSTANT_VAPOUR_J_KG_K * temp_k**2)
    return SheetRates(
        heat_w_m2=np.asarray(heat),
        water_kg_m2_s=np.asarray(water),
        heat_slope_w_m2_k=np.asarray(
            transfer + 4 * radiation * cubed * sheet.open_faces + latent * water_temp_slope
        ),
        water_temp_slope=np.asarray(water_temp_slope),
        water_slope_1_s=np.asarray(water_slope),
        latent_j_kg=np.asarray(latent),
        sun_w_m2=np.asarray(sun),
        heat_capacity_j_m2_k=np.asarray(
            sheet.dry_heat_j_m2_k + np.maximum(water_kg_m2, 0.0) * WATER_SPECIFIC_HEAT_J_KG_K
        ),
        surface_pressure_pa=surface,
        face_conductance_kg_m2_s_pa=np.asarray(conductance),
    )
