"""Humidity ratio of moist air and what hangs on it: heat, lightness, thermodynamic wet bulb.

The wet bulb here is where adiabatic saturation ends, not the temperature of a real wet surface,
which `evaporation.wet_surface_temp_k` gives.
"""

from __future__ import annotations

import numpy as np

from drybox.physics.air import saturation_pressure_pa, vapour_pressure_pa
from drybox.physics.constants import (
    DRY_AIR_SPECIFIC_HEAT_J_KG_K,
    LATENT_HEAT_AT_0_C_J_KG,
    VAPOUR_SPECIFIC_HEAT_J_KG_K,
    VAPOUR_TO_AIR_MASS_RATIO,
    WATER_SPECIFIC_HEAT_J_KG_K,
    Floats,
)
from drybox.units import KELVIN_AT_0_C


def humidity_ratio(vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Return the mass of vapour per mass of dry air.

    Parameters
    ----------
    vapour_pa : float or array
        Partial pressure of water vapour, below the air pressure. [Pa]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Humidity ratio. [kg/kg dry air]

    Notes
    -----
    ``W = 0.621945 e / (p - e)``.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 20.

    Examples
    --------
    Row P8-W of ``data/reference/air.csv``:

    >>> round(float(humidity_ratio(3169.7, 95461.0)), 5)
    0.02136
    """
    return VAPOUR_TO_AIR_MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)


def moist_air_specific_heat_j_kg_k(ratio: Floats) -> Floats:
    """Return the specific heat of moist air at constant pressure.

    Parameters
    ----------
    ratio : float or array
        Humidity ratio. [kg/kg dry air]

    Returns
    -------
    float or array
        Specific heat per mass of moist air (not of dry air). [J/(kg K)]

    Notes
    -----
    ``(1006 + 1860 W) / (1 + W)``; its change with temperature (0.3 % to 80 °C) is left out.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 30.

    Examples
    --------
    >>> round(float(moist_air_specific_heat_j_kg_k(0.02)), 1)
    1022.7
    """
    return (DRY_AIR_SPECIFIC_HEAT_J_KG_K + VAPOUR_SPECIFIC_HEAT_J_KG_K * ratio) / (1.0 + ratio)


def moist_air_enthalpy_j_kg(temp_k: Floats, ratio: Floats) -> Floats:
    """Return the enthalpy of moist air per mass of dry air, from dry air and water at 0 °C.

    Parameters
    ----------
    temp_k : float or array
        Temperature. [K]
    ratio : float or array
        Humidity ratio. [kg/kg dry air]

    Returns
    -------
    float or array
        Enthalpy. [J/kg dry air]

    Notes
    -----
    ``h = 1006 t + W (2.501e6 + 1860 t)``, t in °C.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 30.

    Examples
    --------
    Row P8-h of ``data/reference/air.csv``:

    >>> round(float(moist_air_enthalpy_j_kg(303.15, 0.02)))
    81316
    """
    celsius = temp_k - KELVIN_AT_0_C
    vapour = LATENT_HEAT_AT_0_C_J_KG + VAPOUR_SPECIFIC_HEAT_J_KG_K * celsius
    return DRY_AIR_SPECIFIC_HEAT_J_KG_K * celsius + ratio * vapour


def virtual_temp_k(temp_k: Floats, vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Return the temperature at which dry air would be as light as this moist air.

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
        Virtual temperature. [K]

    Notes
    -----
    ``T / (1 - 0.378 e / p)``. The difference of two virtual temperatures drives natural
    convection where the vapour differs too, as over a wet sheet.

    References
    ----------
    J. M. Wallace and P. V. Hobbs, *Atmospheric Science*, ch. 3, eq. 3.16.

    Examples
    --------
    >>> round(float(virtual_temp_k(300.0, 3000.0, 101325.0)), 2)
    303.4
    """
    lightness = 1.0 - VAPOUR_TO_AIR_MASS_RATIO
    return temp_k / (1.0 - lightness * vapour_pa / pressure_pa)


def _ratio_if_wet_bulb_is(wet_k: Floats, temp_k: Floats, pressure: Floats, ice: bool) -> Floats:
    wet = wet_k - KELVIN_AT_0_C
    dry = temp_k - KELVIN_AT_0_C
    saturated = humidity_ratio(saturation_pressure_pa(wet_k), pressure)
    if ice:
        latent, less, condensed = 2.830e6, 240.0, 2100.0
    else:
        latent = LATENT_HEAT_AT_0_C_J_KG
        condensed = WATER_SPECIFIC_HEAT_J_KG_K
        less = condensed - VAPOUR_SPECIFIC_HEAT_J_KG_K
    gain = (latent - less * wet) * saturated - DRY_AIR_SPECIFIC_HEAT_J_KG_K * (dry - wet)
    return gain / (latent + VAPOUR_SPECIFIC_HEAT_J_KG_K * dry - condensed * wet)


def humidity_ratio_from_wet_bulb(
    temp_k: Floats, wet_bulb_temp_k: Floats, pressure_pa: Floats
) -> Floats:
    """Return the humidity ratio of air of known dry and thermodynamic wet bulb.

    Parameters
    ----------
    temp_k : float or array
        Dry-bulb temperature. [K]
    wet_bulb_temp_k : float or array
        Thermodynamic wet bulb; below 0 °C the bulb is taken as iced. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Humidity ratio. [kg/kg dry air]

    Notes
    -----
    Energy balance of adiabatic saturation.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 33 and 35.

    Examples
    --------
    Row P6-W of ``data/reference/air.csv``:

    >>> round(float(humidity_ratio_from_wet_bulb(313.15, 293.15, 101325.0)), 4)
    0.0064
    """
    over_water = _ratio_if_wet_bulb_is(wet_bulb_temp_k, temp_k, pressure_pa, ice=False)
    over_ice = _ratio_if_wet_bulb_is(wet_bulb_temp_k, temp_k, pressure_pa, ice=True)
    ratio: Floats = np.where(np.less(wet_bulb_temp_k, KELVIN_AT_0_C), over_ice, over_water)
    return ratio


def _solve_wet_bulb_k(ratio: Floats, temp_k: Floats, pressure: Floats, ice: bool) -> Floats:
    """Newton from the dry side: the ratio is convex in the wet bulb, so steps never overshoot."""
    step = 1e-3
    guess: Floats = np.minimum(temp_k, KELVIN_AT_0_C) if ice else temp_k
    # In an array, what is wetter than the start of the ice branch stays there, to be discarded.
    target = np.minimum(ratio, _ratio_if_wet_bulb_is(guess, temp_k, pressure, ice))
    for _ in range(25):
        here = _ratio_if_wet_bulb_is(guess, temp_k, pressure, ice)
        slope = (here - _ratio_if_wet_bulb_is(guess - step, temp_k, pressure, ice)) / step
        change = (here - target) / slope
        guess = guess - change
        if np.all(np.abs(change) < 1e-7):
            break
    return guess


def wet_bulb_k(temp_k: Floats, humidity_frac: Floats, pressure_pa: Floats) -> Floats:
    """Return the thermodynamic wet bulb (adiabatic saturation), not that of a real wet surface.

    Parameters
    ----------
    temp_k : float or array
        Dry-bulb temperature, 233 to 370; saturated air must stay below boiling. [K]
    humidity_frac : float or array
        Relative humidity, 0 to 1. [-]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Wet bulb. Below 0 °C the bulb is taken as iced. [K]

    Notes
    -----
    A surface wet in a wind settles near it, by `evaporation.wet_surface_temp_k`.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 33 and 35.

    Examples
    --------
    Row P9-30 of ``data/reference/air.csv``:

    >>> round(float(wet_bulb_k(303.15, 0.4, 101325.0)) - 273.15, 2)
    20.06
    """
    ratio = humidity_ratio(vapour_pressure_pa(temp_k, humidity_frac), pressure_pa)
    wet = _solve_wet_bulb_k(ratio, temp_k, pressure_pa, ice=False)
    frozen = np.less(wet, KELVIN_AT_0_C)
    if not np.any(frozen):
        return wet
    iced = _solve_wet_bulb_k(ratio, temp_k, pressure_pa, ice=True)
    result: Floats = np.where(frozen, iced, wet)
    return result
