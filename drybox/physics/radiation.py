"""Longwave radiation: temperature of the sky, exchange of a surface with sky and ground."""

from __future__ import annotations

import numpy as np

from drybox.physics.constants import STANDARD_PRESSURE_PA, STEFAN_BOLTZMANN_W_M2_K4, Floats
from drybox.units import KELVIN_AT_0_C


def swinbank_sky_temp_k(air_temp_k: Floats) -> Floats:
    """Return the clear-sky temperature from the air temperature alone.

    Parameters
    ----------
    air_temp_k : float or array
        Air temperature near the ground. [K]

    Returns
    -------
    float or array
        Temperature of a black sky that sends the same longwave radiation. [K]

    Notes
    -----
    ``0.0552 T^1.5``. Humidity, which `sky_temp_k` heeds, is left out: use where it is unknown.

    References
    ----------
    W. C. Swinbank, Q. J. R. Meteorol. Soc. 89 (1963) 339.

    Examples
    --------
    Row H10-20 of ``data/reference/radiation.csv``:

    >>> round(float(swinbank_sky_temp_k(293.15)) - 273.15, 2)
    3.91
    """
    temp: Floats = 0.0552 * air_temp_k * np.sqrt(air_temp_k)
    return temp


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


def radiation_coeff_w_m2_k(temp_k: Floats, other_temp_k: Floats, emittance: Floats) -> Floats:
    """Return the coefficient that makes radiation between two temperatures linear.

    Parameters
    ----------
    temp_k, other_temp_k : float or array
        The two temperatures. [K]
    emittance : float or array
        Effective emittance of the pair. [-]

    Returns
    -------
    float or array
        Heat flow per temperature difference. [W/(m² K)]

    Notes
    -----
    ``ε σ (T1² + T2²)(T1 + T2)``, exact.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 3.

    Examples
    --------
    >>> round(float(radiation_coeff_w_m2_k(300.0, 300.0, 1.0)), 3)
    6.124
    """
    squares = temp_k * temp_k + other_temp_k * other_temp_k
    return STEFAN_BOLTZMANN_W_M2_K4 * emittance * squares * (temp_k + other_temp_k)


def parallel_plate_radiation_coeff_w_m2_k(
    temp_k: Floats, other_temp_k: Floats, emittance: Floats, other_emittance: Floats
) -> Floats:
    """Return the radiation coefficient between two wide parallel plates.

    Parameters
    ----------
    temp_k, other_temp_k : float or array
        Their temperatures. [K]
    emittance, other_emittance : float or array
        Their emittances, above 0. [-]

    Returns
    -------
    float or array
        Heat flow per temperature difference. [W/(m² K)]

    Notes
    -----
    `radiation_coeff_w_m2_k` with ``1 / (1/ε1 + 1/ε2 - 1)``; the walls of the gap are left out.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 3.

    Examples
    --------
    Row H21 of ``data/reference/radiation.csv`` (3.4936 within 0.001):

    >>> round(float(parallel_plate_radiation_coeff_w_m2_k(333.15, 303.15, 0.6, 0.7)), 4)
    3.4938
    """
    effective = 1.0 / (1.0 / emittance + 1.0 / other_emittance - 1.0)
    return radiation_coeff_w_m2_k(temp_k, other_temp_k, effective)


def longwave_loss_w_m2(
    surface_temp_k: Floats,
    sky_k: Floats,
    ground_temp_k: Floats,
    emittance: Floats,
    tilt_rad: Floats,
) -> Floats:
    """Return the net longwave radiation a sloping face loses to sky and ground.

    Parameters
    ----------
    surface_temp_k : float or array
        Temperature of the face. [K]
    sky_k : float or array
        Sky temperature. [K]
    ground_temp_k : float or array
        Temperature of the ground in view. [K]
    emittance : float or array
        Longwave emittance of the face. [-]
    tilt_rad : float or array
        Slope from level, 0 (facing up) to 180°. [rad]

    Returns
    -------
    float or array
        Net loss, negative for a gain. [W/m²]

    Notes
    -----
    ``ε σ {T⁴ - [(1 + cos β) T_sky⁴ + (1 - cos β) T_ground⁴] / 2}``. The sky is one temperature
    though it is warmer near the horizon, and the ground is black.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 3.

    Examples
    --------
    >>> round(float(longwave_loss_w_m2(300.0, 280.0, 300.0, 1.0, 0.0)), 1)
    110.8
    """
    to_sky = 0.5 * (1.0 + np.cos(tilt_rad))
    sky, ground = fourth_power_k4(sky_k), fourth_power_k4(ground_temp_k)
    net = fourth_power_k4(surface_temp_k) - to_sky * sky - (1.0 - to_sky) * ground
    loss: Floats = STEFAN_BOLTZMANN_W_M2_K4 * emittance * net
    return loss


def fourth_power_k4(temp_k: Floats) -> Floats:
    """Return a temperature to the fourth power, many times quicker than ``**``. [K⁴]

    Examples
    --------
    >>> fourth_power_k4(10.0)
    10000.0
    """
    square = temp_k * temp_k
    return square * square
