"""Moist air and water: pressure, vapour, heat of evaporation, transport properties.

Ideal gases throughout: against the real mixture the vapour density is 0.6 % low at 60 °C
saturation, and the humidity ratio 0.5 % low (no enhancement factor).
"""

from __future__ import annotations

import numpy as np

from drybox.physics.constants import (
    GAS_CONSTANT_DRY_AIR_J_KG_K,
    GAS_CONSTANT_VAPOUR_J_KG_K,
    STANDARD_PRESSURE_PA,
    TRIPLE_POINT_K,
    Floats,
)
from drybox.units import KELVIN_AT_0_C

WATER_CRITICAL_TEMP_K = 647.096
WATER_CRITICAL_PRESSURE_PA = 22.064e6
"""Critical point of water. IAPWS-95."""


def standard_atmosphere_pressure_pa(elevation_m: Floats) -> Floats:
    """Return the pressure of the standard atmosphere.

    Parameters
    ----------
    elevation_m : float or array
        Height above mean sea level, -5000 to 11000. [m]

    Returns
    -------
    float or array
        Air pressure. [Pa]

    Notes
    -----
    ``p = 101325 (1 - 2.25577e-5 z)^5.2559``. The day's weather (±3 %) is left out. The formula
    of FAO paper 56 (20 °C at sea level) gives 0.3 % more at 1800 m.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 3.

    Examples
    --------
    Row P7-1000 of ``data/reference/air.csv``:

    >>> round(float(standard_atmosphere_pressure_pa(1000.0)))
    89875
    """
    pressure: Floats = STANDARD_PRESSURE_PA * np.power(1.0 - 2.25577e-5 * elevation_m, 5.2559)
    return pressure


def _pressure_over_water_pa(temp_k: Floats) -> Floats:
    tau = 1.0 - temp_k / WATER_CRITICAL_TEMP_K
    root = np.sqrt(tau)
    cube = tau * tau * tau
    series = tau * (
        -7.85951783
        + 1.84408259 * root
        + tau
        * tau
        * (-11.7866497 + 22.6807411 * root - 15.9618719 * tau + 1.80122502 * cube * tau * root)
    )
    pressure: Floats = WATER_CRITICAL_PRESSURE_PA * np.exp(WATER_CRITICAL_TEMP_K / temp_k * series)
    return pressure


def _pressure_over_ice_pa(temp_k: Floats) -> Floats:
    pressure: Floats = np.exp(
        -5.6745359e3 / temp_k
        + 6.3925247
        + temp_k
        * (-9.677843e-3 + temp_k * (6.2215701e-7 + temp_k * (2.0747825e-9 - 9.484024e-13 * temp_k)))
        + 4.1635019 * np.log(temp_k)
    )
    return pressure


def saturation_pressure_pa(temp_k: Floats) -> Floats:
    """Return the saturation pressure of water, over liquid or (below 0.01 °C) over ice.

    Parameters
    ----------
    temp_k : float or array
        Temperature, 173 to 647. [K]

    Returns
    -------
    float or array
        Saturation pressure. [Pa]

    Notes
    -----
    Over water the auxiliary equation of the IAPWS-95 formulation, within 0.01 % of the full
    formulation; over ice Hyland and Wexler. Supercooled water and dissolved matter are left
    out; so is the pressure of the air over it (+0.5 %).

    References
    ----------
    W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, eq. 2.5; R. W. Hyland and
    A. Wexler (1983), as ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 5.

    Examples
    --------
    Row P2-60 of ``data/reference/air.csv`` (19946 Pa within 1e-4):

    >>> round(float(saturation_pressure_pa(333.15)))
    19947
    """
    over_water = _pressure_over_water_pa(temp_k)
    below = np.less(temp_k, TRIPLE_POINT_K)
    if not np.any(below):
        return over_water
    pressure: Floats = np.where(below, _pressure_over_ice_pa(temp_k), over_water)
    return pressure


def latent_heat_j_kg(temp_k: Floats) -> Floats:
    """Return the heat of evaporation of water.

    Parameters
    ----------
    temp_k : float or array
        Temperature of the evaporating surface, 273 to 423. [K]

    Returns
    -------
    float or array
        Latent heat. [J/kg]

    Notes
    -----
    Cubic fit of our own to IAPWS-95 from 0.01 to 150 °C, largest deviation 0.008 %. Ice and the
    heat of sorption are left out. The usual straight line is 0.4 % high at 100 °C.

    References
    ----------
    IAPWS-95 (Wagner and Pruss 2002), values through CoolProp.

    Examples
    --------
    Row P3-50 of ``data/reference/air.csv`` (2382000 within 0.1 %):

    >>> round(float(latent_heat_j_kg(323.15)))
    2381933
    """
    celsius = temp_k - KELVIN_AT_0_C
    return 2.50101922e6 + celsius * (-2387.72272 + celsius * (0.823125732 - 0.0140637365 * celsius))


def vapour_pressure_pa(temp_k: Floats, humidity_frac: Floats) -> Floats:
    """Return the vapour pressure in air.

    Parameters
    ----------
    temp_k : float or array
        Air temperature. [K]
    humidity_frac : float or array
        Relative humidity, 0 to 1. Below 0 °C it is taken over ice. [-]

    Returns
    -------
    float or array
        Partial pressure of water vapour. [Pa]

    Notes
    -----
    ``e = RH e_s(T)``.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 22.

    Examples
    --------
    Row F5-18 of ``data/reference/air.csv``:

    >>> round(float(vapour_pressure_pa(291.15, 0.82)))
    1693
    """
    return humidity_frac * saturation_pressure_pa(temp_k)


def dew_point_k(vapour_pa: Floats) -> Floats:
    """Return the dew point, or below 0.01 °C the frost point.

    Parameters
    ----------
    vapour_pa : float or array
        Partial pressure of water vapour, above zero (dry air has no dew point); 1 to
        470 000. [Pa]

    Returns
    -------
    float or array
        Temperature at which this vapour pressure saturates. [K]

    Notes
    -----
    Inverse of `saturation_pressure_pa` by Newton steps with the slope of Clausius and
    Clapeyron (over water), to 1e-5 K.

    References
    ----------
    First guess: O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35 (1996) 601.

    Examples
    --------
    >>> round(float(dew_point_k(saturation_pressure_pa(293.15))), 4)
    293.15
    """
    magnus = np.log(vapour_pa / 610.94)
    guess = 243.04 * magnus / (17.625 - magnus) + KELVIN_AT_0_C
    for _ in range(6):
        slope = latent_heat_j_kg(guess) / (GAS_CONSTANT_VAPOUR_J_KG_K * guess * guess)
        guess = guess - np.log(saturation_pressure_pa(guess) / vapour_pa) / slope
    return guess


def moist_air_density_kg_m3(temp_k: Floats, vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Return the density of moist air.

    Parameters
    ----------
    temp_k : float or array
        Temperature. [K]
    vapour_pa : float or array
        Partial pressure of water vapour. [Pa]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Density of air and vapour together. [kg/m³]

    Notes
    -----
    Sum of the two ideal gases.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 9-11 and 26.

    Examples
    --------
    Row P8-rho of ``data/reference/air.csv``, 20 g of vapour per kg:

    >>> round(float(moist_air_density_kg_m3(303.15, 2974.1, 95461.0)), 4)
    1.0841
    """
    dry = (pressure_pa - vapour_pa) / GAS_CONSTANT_DRY_AIR_J_KG_K
    return (dry + vapour_pa / GAS_CONSTANT_VAPOUR_J_KG_K) / temp_k


def air_viscosity_pa_s(temp_k: Floats) -> Floats:
    """Return the dynamic viscosity of air.

    Parameters
    ----------
    temp_k : float or array
        Temperature, 250 to 400. [K]

    Returns
    -------
    float or array
        Dynamic viscosity. [Pa s]

    Notes
    -----
    Sutherland's law; 0.3 to 0.9 % under CoolProp's reference equation from 250 to 400 K. The
    vapour in the air is left out (-3 % in saturated air at 50 °C).

    References
    ----------
    U.S. Standard Atmosphere (1976), eq. 51.

    Examples
    --------
    >>> round(float(air_viscosity_pa_s(300.0)) * 1e6, 2)
    18.46
    """
    viscosity: Floats = 1.458e-6 * temp_k * np.sqrt(temp_k) / (temp_k + 110.4)
    return viscosity


def air_conductivity_w_m_k(temp_k: Floats) -> Floats:
    """Return the thermal conductivity of air.

    Parameters
    ----------
    temp_k : float or array
        Temperature, 250 to 400. [K]

    Returns
    -------
    float or array
        Thermal conductivity. [W/(m K)]

    Notes
    -----
    Sutherland's form with 194 K; within 0.8 % of CoolProp's reference equation from 290 to
    400 K, 1.6 % under it at 250 K. Vapour is left out.

    References
    ----------
    F. M. White, *Viscous Fluid Flow*, table 1-3.

    Examples
    --------
    >>> round(float(air_conductivity_w_m_k(300.0)) * 1e3, 2)
    26.23
    """
    ratio = temp_k / KELVIN_AT_0_C
    scaled = 0.0241 * (KELVIN_AT_0_C + 194.0) / (temp_k + 194.0)
    conductivity: Floats = scaled * ratio * np.sqrt(ratio)
    return conductivity


def vapour_diffusivity_m2_s(temp_k: Floats, pressure_pa: Floats) -> Floats:
    """Return the diffusivity of water vapour in air.

    Parameters
    ----------
    temp_k : float or array
        Temperature, 280 to 450. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Diffusivity. [m²/s]

    Notes
    -----
    ``D = 1.87e-10 T^2.072 / p``, p in atmospheres. Handbooks differ by 4 %.

    References
    ----------
    T. R. Marrero and E. A. Mason, J. Phys. Chem. Ref. Data 1 (1972) 3.

    Examples
    --------
    Row P10-300 of ``data/reference/air.csv``:

    >>> print(f"{float(vapour_diffusivity_m2_s(300.0, 101325.0)):.3e}")
    2.538e-05
    """
    at_one_atmosphere = 1.87e-10 * np.power(temp_k, 2.072)
    diffusivity: Floats = at_one_atmosphere * (STANDARD_PRESSURE_PA / pressure_pa)
    return diffusivity
