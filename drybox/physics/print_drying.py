"""Heat and water that a print gives and takes: rates only, no state of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.physics.air import latent_heat_j_kg, saturation_pressure_pa
from drybox.physics.air_film import air_film
from drybox.physics.constants import (
    GAS_CONSTANT_VAPOUR_J_KG_K,
    STANDARD_PRESSURE_PA,
    STEFAN_BOLTZMANN_W_M2_K4,
    WATER_SPECIFIC_HEAT_J_KG_K,
)
from drybox.physics.lookup import Lookup
from drybox.physics.radiation import fourth_power_k4
from drybox.physics.sorption import SheetSorption, activity_temperature_exponent


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
        Conductance to the plate, lying flat and wet, and lifted (or dry, where it is pressed and
        cannot lift); 0 when nothing is behind. [W/(m² K)]
    lifts_at_moisture : float or array
        Water over sorbing mass about which it lifts. [-]
    front_open_frac, back_open_frac : float
        Share of each face open to air: back 0 on a plate, 1 on a line; in a book of n prints
        each has an n-th of the two outer faces. [-]
    vapour_resistance_m2_s_pa_kg : float or array
        Resistance of the whole dry sheet to water vapour. [m² s Pa/kg]
    critical_water_kg_m2 : float or array
        Water at which the surface begins to run short. [kg/m²]
    cover_resistance_m2_s_pa_kg : float
        Vapour resistance laid over each open face, such as a blotter. [m² s Pa/kg]
    lewis_factor : float or None
        ``(alpha/D)^(2/3)`` of Chilton and Colburn; None takes it from the air's properties. [-]
    lone_film_factor : float or array
        On the vapour film of one or two prints on a plate, where vapour's boundary layer begins at
        the print and that of heat at the plate's edge. [-]
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
    critical_water_kg_m2: Array | float
    cover_resistance_m2_s_pa_kg: float = 0.0
    lewis_factor: float | None = None
    lifts_at_moisture: Array | float = 0.6
    lone_film_factor: Array | float = 1.0

    @property
    def open_faces(self) -> float:
        """Return how many faces the air reaches. [-]"""
        return self.front_open_frac + self.back_open_frac

    def contact_w_m2_k(self, water_kg_m2: Array) -> tuple[Array, Array]:
        """Return the conductance to the plate at the water now held, and its slope.

        [W/(m² K)], [W/(kg K)]

        Notes
        -----
        ``U_dry + (U_wet - U_dry) S((X - X_lift + w/2)/w)`` with ``S(u) = u² (3 - 2 u)`` on 0 to 1,
        X the water over the sorbing mass and w `LIFT_WIDTH`: a drying sheet lifts between its
        magnets (judgement; a print weighed while it dries tells where).
        """
        width = LIFT_WIDTH * self.sorption.sorbing_kg_m2
        share = water_kg_m2 / width - (self.lifts_at_moisture / LIFT_WIDTH - 0.5)
        share = np.minimum(np.maximum(share, 0.0), 1.0)
        fall = self.contact_wet_w_m2_k - self.contact_dry_w_m2_k
        square = share * share
        contact = self.contact_dry_w_m2_k + fall * (square * (3.0 - 2.0 * share))
        return np.asarray(contact), np.asarray(6.0 / width * fall * (share - square))

    def own_film_factor(self, occupied: NDArray[np.bool_]) -> Array | float:
        """Return the factor on the vapour film by how many prints lie there, (n, 1). [-]

        Notes
        -----
        Whole for one or two prints; with n more it goes with ``2/n``, as prints side by side share
        one boundary layer (judgement).
        """
        if occupied.shape[1] <= 2:
            return self.lone_film_factor
        count = np.maximum(occupied.sum(axis=1), 1)[:, None]
        return np.asarray(1.0 + (self.lone_film_factor - 1.0) * np.minimum(2.0 / count, 1.0))


LIFT_WIDTH = 0.2
"""Water over sorbing mass within which a sheet goes from lying flat to lifted (judgement). [-]"""


def lifted_contact_w_m2_k(gap_m: float) -> float:
    """Return the conductance across the air under a sheet that has lifted. [W/(m² K)]

    Parameters
    ----------
    gap_m : float
        Mean height of the air gap. [m]

    Notes
    -----
    Conduction of still air and long wave between two faces: ``k/gap + 4 σ ε T³``, at 40 °C, with
    0.79 the effective emittance of matt black paint (0.92) facing paper (0.85).

    Examples
    --------
    >>> round(lifted_contact_w_m2_k(0.8e-3))
    40
    """
    temp_k = 313.15
    conductivity = float(air_film(temp_k, STANDARD_PRESSURE_PA).conductivity_w_m_k)
    return conductivity / gap_m + 4.0 * STEFAN_BOLTZMANN_W_M2_K4 * 0.79 * temp_k**3


class SheetAir(NamedTuple):
    """Air and light at the sheet, each an array over cases and slots.

    ``transfer_coeff_w_m2_k`` serves every open face; ``mass_coeff_kg_m2_s_pa`` is the vapour
    conductance of the air film, and ``growth_1_k`` how both grow with the sheet's temperature,
    relative to themselves.
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
    growth_1_k: Array | float = 0.0


class SheetRates(NamedTuple):
    """Rates per area of sheet, and their slopes for the implicit step.

    ``heat_w_m2`` is what stays in the sheet, without contact; ``water_kg_m2_s`` is evaporation
    from all open faces, ``face_conductance_kg_m2_s_pa`` and ``transfer_w_m2_k`` the conductances
    of all of them; the slopes are positive numbers.
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
    transfer_w_m2_k: Array


PATCHINESS_FRAC = 0.15
"""Share of the critical water within which, on both sides, places run short (judgement). [-]"""


def internal_vapour_resistance(sheet: SheetModel, water_kg_m2: Array) -> tuple[Array, Array]:
    """Return the resistance between the water still inside and a face, and how fast it grows.

    Parameters
    ----------
    sheet : SheetModel
        Resistance of the dry sheet and the critical water.
    water_kg_m2 : array
        Water held. [kg/m²]

    Returns
    -------
    resistance, growth : array
        0 while the surface is wet; growth per water lost. [m² s Pa/kg], [m⁴ s Pa/kg²]

    Notes
    -----
    Falling-rate period as a receding front: ``R = R_dry (1 - X/X_c)`` below ``X_c``, rounded by
    a parabola within `PATCHINESS_FRAC` of it, as a sheet does not run short everywhere at once.
    With two open faces the way is half as long. A different resistance of the gelatin side is
    left out.
    """
    whole = dry_resistance(sheet)
    past = 1.0 + PATCHINESS_FRAC - water_kg_m2 / sheet.critical_water_kg_m2
    past = np.maximum(past, 0.0)
    growth = np.minimum(past / (2.0 * PATCHINESS_FRAC), 1.0)
    short = growth * (past - PATCHINESS_FRAC * growth)
    return np.asarray(whole * short), np.asarray(whole / sheet.critical_water_kg_m2 * growth)


def dry_resistance(sheet: SheetModel) -> Array | float:
    """Return that of the dry sheet to a face, half as much where both are open. [m² s Pa/kg]"""
    way = 1.0 + min(sheet.back_open_frac / max(sheet.front_open_frac, 1e-9), 1.0)
    return sheet.vapour_resistance_m2_s_pa_kg / way


class SurfaceVapour(NamedTuple):
    """Vapour at the water's surface: pressure, its slope in water, and heat to free a kilogram."""

    pressure_pa: Array
    slope_pa_m2_kg: Array
    latent_j_kg: Array


WATER = Lookup(
    200.0,
    480.0,
    0.25,
    lambda temp_k: np.log(saturation_pressure_pa(temp_k)),
    latent_heat_j_kg,
)
"""By temperature: logarithm of saturation pressure, heat of evaporation; within 1e-5."""


def surface_vapour(sheet: SheetModel, temp_k: Array, water_kg_m2: Array) -> SurfaceVapour:
    """Return the vapour pressure at the water's surface.

    Parameters
    ----------
    sheet : SheetModel
        Its sorption.
    temp_k, water_kg_m2 : array
        State. [K], [kg/m²]

    Returns
    -------
    SurfaceVapour
        [Pa], [Pa m²/kg], [J/kg]

    Notes
    -----
    Saturation times water activity, the latter raised by warmth as its heat of sorption asks.
    """
    (activity, activity_slope), (heat, heat_slope) = sheet.sorption.bound_water(water_kg_m2)
    log_saturation, latent = WATER(temp_k)
    per_heat = activity_temperature_exponent(1.0, temp_k)
    scale = np.exp(log_saturation + heat * per_heat)
    pressure = scale * activity
    return SurfaceVapour(
        pressure, scale * activity_slope + pressure * heat_slope * per_heat, latent + heat
    )


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
    for blowing by ``P / p_m`` (Stefan flow; the arithmetic mean ``p_m`` of the air's pressure on
    both sides is within 0.1 % of the logarithmic one to 50 °C, 0.4 % to 60 °C) and in series with
    the inner resistance. Heat: sun - convection - long wave - ``m (latent + sorption)``; contact
    with the plate is added by the simulation, which owns both temperatures. The sheet is
    isothermal through its thickness.

    References
    ----------
    Bird, Stewart and Lightfoot, *Transport Phenomena*, ch. 22 (film with net flow).
    """
    surface, surface_slope, latent = surface_vapour(sheet, temp_k, water_kg_m2)
    wet_side = np.minimum(surface, 0.9 * pressure_pa)
    blowing = pressure_pa / (pressure_pa - 0.5 * (air.vapour_pressure_pa + wet_side))
    film = air.mass_coeff_kg_m2_s_pa * blowing
    inner, inner_slope = internal_vapour_resistance(sheet, water_kg_m2)
    past_film = 1.0 / (1.0 + film * (inner + sheet.cover_resistance_m2_s_pa_kg))
    face = film * past_film
    conductance = sheet.open_faces * face
    water = conductance * (surface - air.vapour_pressure_pa)
    water_slope = conductance * surface_slope + np.maximum(water, 0.0) * inner_slope * face

    sun = sheet.front_open_frac * air.front_sun_w_m2
    radiant = sheet.front_open_frac * fourth_power_k4(air.front_radiant_temp_k)
    if sheet.back_open_frac > 0:
        sun = sun + sheet.back_open_frac * air.back_sun_w_m2
        radiant = radiant + sheet.back_open_frac * fourth_power_k4(air.back_radiant_temp_k)
    sun = sheet.absorptance_frac * sun
    radiation = STEFAN_BOLTZMANN_W_M2_K4 * sheet.emittance_frac * air.radiant_share_frac
    square = temp_k * temp_k
    cubes = sheet.open_faces * square * temp_k
    transfer = sheet.open_faces * air.transfer_coeff_w_m2_k
    carried = transfer * (temp_k - air.air_temp_k)
    lost = carried + radiation * (cubes * temp_k - radiant)
    water_temp_slope = conductance * surface * latent / (GAS_CONSTANT_VAPOUR_J_KG_K * square)
    heat_slope = transfer + 4.0 * radiation * cubes + latent * water_temp_slope
    by_film = air.growth_1_k * water * past_film
    heat_slope = heat_slope + np.maximum(air.growth_1_k * carried + latent * by_film, 0.0)
    water_temp_slope = water_temp_slope + np.maximum(by_film, 0.0)
    held = np.maximum(water_kg_m2, 0.0) * WATER_SPECIFIC_HEAT_J_KG_K
    return SheetRates(
        heat_w_m2=sun - lost - water * latent,
        water_kg_m2_s=water,
        heat_slope_w_m2_k=heat_slope,
        water_temp_slope=water_temp_slope,
        water_slope_1_s=water_slope,
        latent_j_kg=latent,
        sun_w_m2=sun,
        heat_capacity_j_m2_k=sheet.dry_heat_j_m2_k + held,
        surface_pressure_pa=surface,
        face_conductance_kg_m2_s_pa=conductance,
        transfer_w_m2_k=transfer,
    )


def no_sheet_rates(shape: tuple[int, ...]) -> SheetRates:
    """Return the rates of empty slots: nothing, on a heat capacity of 1."""
    nothing = np.zeros(shape)
    rest = (nothing,) * len(SheetRates._fields)
    return SheetRates(*rest)._replace(heat_capacity_j_m2_k=np.ones(shape))
