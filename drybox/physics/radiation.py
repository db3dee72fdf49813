"""Longwave radiation: temperature of the sky, and the fourth power."""

from __future__ import annotations

import numpy as np

from drybox.physics.constants import STANDARD_PRESSURE_PA, Floats
from drybox.units import KELVIN_AT_0_C


def clear_sky_emissivity(
    dew_point_temp_k: Floats, solar_hour: Floats, pressure_pa: Floats = STANDARD_PRESSURE_PA
) -> Floats:
    """Return the emissivity of a cloudless sky.

    Parameters
    ----------
    dew_point_temp_k : float or array
        Dew point near the ground, 253 to 303. [K]
    solar_hour : float or array
        Hours since solar midnight. [h]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Emissivity referred to the air temperature near the ground. [-]

    Notes
    -----
    ``0.711 + 0.56 t + 0.73 t² + 0.013 cos(2π h/24) + 0.00012 (p - 1013.25)``, t the dew point in
    hundreds of °C, p in hPa; a fit to monthly means of six stations, single days ±0.05.

    References
    ----------
    P. Berdahl and M. Martin, Solar Energy 32 (1984) 663; M. Martin and P. Berdahl, Solar Energy
    33 (1984) 321.

    Examples
    --------
    Row H11-20-noon-e of ``data/reference/radiation.csv``:

    >>> round(float(clear_sky_emissivity(283.15, 12.0)), 4)
    0.7613
    """
    hundreds = (dew_point_temp_k - KELVIN_AT_0_C) / 100.0
    daily = 0.013 * np.cos(2.0 * np.pi / 24.0 * solar_hour)
    height = 1.2e-6 * (pressure_pa - STANDARD_PRESSURE_PA)
    emissivity: Floats = 0.711 + hundreds * (0.56 + 0.73 * hundreds) + daily + height
    return emissivity


def cloudy_sky_emissivity(clear_emissivity: Floats, cloud_frac: Floats) -> Floats:
    """Return the emissivity of a sky part covered by cloud.

    Parameters
    ----------
    clear_emissivity : float or array
        Emissivity of the same sky without cloud. [-]
    cloud_frac : float or array
        Share of the sky under cloud, 0 to 1. [-]

    Returns
    -------
    float or array
        Emissivity. [-]

    Notes
    -----
    ``(1 - 0.84 c) ε + 0.84 c``; made for low cloud, so thin high cloud sends less.

    References
    ----------
    M. H. Unsworth and J. L. Monteith, Q. J. R. Meteorol. Soc. 101 (1975) 13.

    Examples
    --------
    Row cloud-overcast of ``data/reference/radiation.csv``:

    >>> float(cloudy_sky_emissivity(0.75, 1.0))
    0.96
    """
    return clear_emissivity + 0.84 * cloud_frac * (1.0 - clear_emissivity)


def sky_temp_k(
    air_temp_k: Floats,
    dew_point_temp_k: Floats,
    solar_hour: Floats,
    cloud_frac: Floats = 0.0,
    pressure_pa: Floats = STANDARD_PRESSURE_PA,
) -> Floats:
    """Return the temperature of a black sky that sends the same longwave radiation.

    Parameters
    ----------
    air_temp_k, dew_point_temp_k : float or array
        Air temperature and dew point near the ground. [K]
    solar_hour : float or array
        Hours since solar midnight. [h]
    cloud_frac : float or array
        Share of the sky under cloud, 0 to 1. [-]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Sky temperature. [K]

    Notes
    -----
    ``T_a ε^1/4`` with `clear_sky_emissivity` and `cloudy_sky_emissivity`.

    References
    ----------
    See those functions.

    Examples
    --------
    Row H11-20-noon of ``data/reference/radiation.csv``:

    >>> round(float(sky_temp_k(293.15, 283.15, 12.0)) - 273.15, 2)
    0.68
    """
    clear = clear_sky_emissivity(dew_point_temp_k, solar_hour, pressure_pa)
    emissivity = cloudy_sky_emissivity(clear, cloud_frac)
    temp: Floats = air_temp_k * np.sqrt(np.sqrt(emissivity))
    return temp


def fourth_power_k4(temp_k: Floats) -> Floats:
    """Return a temperature to the fourth power, many times quicker than ``**``. [K⁴]

    Examples
    --------
    >>> fourth_power_k4(10.0)
    10000.0
    """
    square = temp_k * temp_k
    return square * square
