"""Air between a surface and its surroundings: what convection and vapour need to know of it.

Properties of dry air from `drybox.physics.air`, tabulated every quarter of a kelvin: within
1e-6 of the formulas.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drybox.arrays import Array
from drybox.physics.air import (
    air_conductivity_w_m_k,
    air_viscosity_pa_s,
    moist_air_density_kg_m3,
    vapour_diffusivity_m2_s,
)
from drybox.physics.constants import (
    DRY_AIR_SPECIFIC_HEAT_J_KG_K,
    GAS_CONSTANT_DRY_AIR_J_KG_K,
    GAS_CONSTANT_VAPOUR_J_KG_K,
    GRAVITY_M_S2,
    STANDARD_PRESSURE_PA,
    VAPOUR_SPECIFIC_HEAT_J_KG_K,
    Floats,
)
from drybox.physics.lookup import Lookup
from drybox.physics.nusselt import vertical_plate_prandtl_factor


def rayleigh_number(
    delta_temp_k: Floats, length_m: Floats, film_temp_k: Floats, pressure_pa: Floats
) -> Floats:
    """Return the Rayleigh number of dry air.

    Parameters
    ----------
    delta_temp_k : float or array
        Size of the temperature difference. [K]
    length_m : float or array
        Characteristic length. [m]
    film_temp_k : float or array
        Mean of surface and air. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Rayleigh number. [-]

    Notes
    -----
    ``g |ΔT| L³ / (T ν α)``.

    References
    ----------
    F. P. Incropera and D. P. DeWitt, *Fundamentals of Heat and Mass Transfer*, ch. 9.

    Examples
    --------
    >>> print(f"{float(rayleigh_number(20.0, 0.1, 300.0, 101325.0)):.3g}")
    1.88e+06
    """
    density = moist_air_density_kg_m3(film_temp_k, 0.0, pressure_pa)
    viscosity = air_viscosity_pa_s(film_temp_k)
    capacity = density * DRY_AIR_SPECIFIC_HEAT_J_KG_K
    diffusivities = viscosity / density * air_conductivity_w_m_k(film_temp_k) / capacity
    drive: Floats = GRAVITY_M_S2 / film_temp_k * np.abs(delta_temp_k)
    return drive * length_m * length_m * length_m / diffusivities


def prandtl_number(temp_k: Floats) -> Floats:
    """Return the Prandtl number of dry air.

    Parameters
    ----------
    temp_k : float or array
        Temperature, 250 to 400. [K]

    Returns
    -------
    float or array
        Prandtl number. [-]

    Notes
    -----
    ``μ c_p / k``.

    References
    ----------
    Definition.

    Examples
    --------
    >>> round(float(prandtl_number(300.0)), 3)
    0.708
    """
    heat = DRY_AIR_SPECIFIC_HEAT_J_KG_K
    return air_viscosity_pa_s(temp_k) * heat / air_conductivity_w_m_k(temp_k)


class AirFilm(NamedTuple):
    """Dry air at a film's temperature and pressure.

    ``rayleigh_per_k_m3`` times a temperature difference and a length cubed is the Rayleigh
    number; ``forced_factor`` is the cube root of the Prandtl number; the other factors are
    `vertical_plate_prandtl_factor` with 8/27 and with 4/9.
    """

    conductivity_w_m_k: Floats
    kinematic_viscosity_m2_s: Floats
    rayleigh_per_k_m3: Floats
    prandtl: Floats
    forced_factor: Floats
    upright_factor: Floats
    sheet_factor: Floats


BY_TEMP = Lookup(
    200.0,
    500.0,
    0.25,
    air_conductivity_w_m_k,
    lambda temp_k: air_viscosity_pa_s(temp_k) / moist_air_density_kg_m3(temp_k, 0.0, 1.0),
    lambda temp_k: rayleigh_number(1.0, 1.0, temp_k, 1.0),
    prandtl_number,
    lambda temp_k: np.cbrt(prandtl_number(temp_k)),
    lambda temp_k: vertical_plate_prandtl_factor(prandtl_number(temp_k), 8.0 / 27.0),
    lambda temp_k: vertical_plate_prandtl_factor(prandtl_number(temp_k), 4.0 / 9.0),
)


def air_film(film_temp_k: Floats, pressure_pa: Floats) -> AirFilm:
    """Return dry air at a film's temperature and pressure.

    Parameters
    ----------
    film_temp_k : float or array
        Mean of surface and air, 200 to 500. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    AirFilm
        Its properties.

    Notes
    -----
    Viscosity goes with ``1/p``, the Rayleigh number with ``p²``.

    References
    ----------
    The functions of `drybox.physics.air`.

    Examples
    --------
    >>> round(float(air_film(300.0, 101325.0).kinematic_viscosity_m2_s) * 1e6, 2)
    15.69
    """
    conductivity, viscosity, rayleigh, *rest = BY_TEMP(np.asarray(film_temp_k))
    return AirFilm(
        conductivity, viscosity / pressure_pa, rayleigh * (pressure_pa * pressure_pa), *rest
    )


def _vapour_over_heat(temp_k: Array) -> Array:
    """Return what the vapour coefficient is per heat coefficient, at 1 atm but for heat stored."""
    ratio = vapour_diffusivity_m2_s(temp_k, STANDARD_PRESSURE_PA) / air_conductivity_w_m_k(temp_k)
    return np.asarray(np.cbrt(ratio * ratio / temp_k**2) / GAS_CONSTANT_VAPOUR_J_KG_K)


DRY_HEAT_RATIO = DRY_AIR_SPECIFIC_HEAT_J_KG_K / GAS_CONSTANT_DRY_AIR_J_KG_K
VAPOUR_HEAT_MORE = VAPOUR_SPECIFIC_HEAT_J_KG_K / GAS_CONSTANT_VAPOUR_J_KG_K - DRY_HEAT_RATIO
"""Of ``ρ c_p T = ratio P + more p_v``: c_p over R of dry air, and what vapour has more. [-]"""

VAPOUR_BY_TEMP = Lookup(200.0, 500.0, 0.25, _vapour_over_heat)


def vapour_coeff_kg_m2_s_pa(
    transfer_coeff_w_m2_k: Floats,
    film_temp_k: Floats,
    vapour_pressure_pa: Floats,
    pressure_pa: Floats,
    lewis_factor: float | None = None,
) -> Array:
    """Return the vapour conductance of an air film from its heat transfer coefficient.

    Parameters
    ----------
    transfer_coeff_w_m2_k : float or array
        Convection coefficient. [W/(m² K)]
    film_temp_k, vapour_pressure_pa : float or array
        State of the film. [K], [Pa]
    pressure_pa : float or array
        Air pressure. [Pa]
    lewis_factor : float or None
        ``(alpha/D)^(2/3)``; None takes it from air's properties. [-]

    Returns
    -------
    array
        Vapour flux per pressure difference, at no net flow. [kg/(m² s Pa)]

    Notes
    -----
    ``h_m / (R_w T)`` with ``h / h_m = ρ c_p (α/D)^(2/3)``, the analogy of Chilton and Colburn;
    moist air at the film, conductivity of dry air. The drag of the vapour's own flow is in
    `print_drying.sheet_rates`.

    References
    ----------
    T. H. Chilton and A. P. Colburn, Ind. Eng. Chem. 26 (1934) 1183.

    Examples
    --------
    >>> k = vapour_coeff_kg_m2_s_pa(10.0, 300.0, 1500.0, 101325.0)
    >>> print(f"{float(k) * 461.524 * 300.0:.5f}")
    0.00924
    """
    heat_times_temp = DRY_HEAT_RATIO * pressure_pa + VAPOUR_HEAT_MORE * np.asarray(
        vapour_pressure_pa
    )
    if lewis_factor is not None:
        per_heat = 1.0 / (heat_times_temp * lewis_factor * GAS_CONSTANT_VAPOUR_J_KG_K)
        return np.asarray(transfer_coeff_w_m2_k * per_heat)
    (by_temp,) = VAPOUR_BY_TEMP(np.asarray(film_temp_k))
    atmospheres = np.asarray(pressure_pa) / STANDARD_PRESSURE_PA
    rest = np.cbrt(heat_times_temp * (atmospheres * atmospheres))
    return np.asarray(transfer_coeff_w_m2_k * by_temp / rest)
