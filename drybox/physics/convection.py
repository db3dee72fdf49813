"""Heat carried off by air: plates and sheets in the open, and the wind that reaches them.

Coefficients in W/(m² K) from dimensional inputs; the dimensionless forms are in `nusselt`.
"""

from __future__ import annotations

import numpy as np

from drybox.physics.air import (
    air_conductivity_w_m_k,
    air_viscosity_pa_s,
    moist_air_density_kg_m3,
)
from drybox.physics.constants import DRY_AIR_SPECIFIC_HEAT_J_KG_K, GRAVITY_M_S2, Floats
from drybox.physics.nusselt import (
    bluff_plate_nusselt,
    hot_down_nusselt,
    hot_up_laminar_nusselt,
    hot_up_turbulent_nusselt,
    vertical_plate_laminar_nusselt,
    vertical_plate_nusselt,
)


def rayleigh_number(
    delta_temp_k: Floats, length_m: Floats, film_temp_k: Floats, pressure_pa: Floats
) -> Floats:
    """Return the Rayleigh number of dry air.

    Parameters
    ----------
    delta_temp_k : float or array
        Size of the temperature difference, or of the virtual temperatures' one. [K]
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


def combined_w_m2_k(forced_w_m2_k: Floats, natural_w_m2_k: Floats) -> Floats:
    """Return the coefficient of forced and natural convection acting together.

    Parameters
    ----------
    forced_w_m2_k, natural_w_m2_k : float or array
        Coefficient of each alone. [W/(m² K)]

    Returns
    -------
    float or array
        Coefficient of both. [W/(m² K)]

    Notes
    -----
    ``(h_f³ + h_n³)^1/3``, for flows that help each other; flows against each other, which
    transfer less, are left out.

    References
    ----------
    S. W. Churchill, AIChE J. 23 (1977) 10; exponent 3 as F. P. Incropera and D. P. DeWitt,
    *Fundamentals of Heat and Mass Transfer*, ch. 9.

    Examples
    --------
    >>> round(float(combined_w_m2_k(3.0, 4.0)), 4)
    4.4979
    """
    cubes = forced_w_m2_k * forced_w_m2_k * forced_w_m2_k + (
        natural_w_m2_k * natural_w_m2_k * natural_w_m2_k
    )
    both: Floats = np.cbrt(cubes)
    return both


def bluff_plate_w_m2_k(
    wind_m_s: Floats, length_m: Floats, film_temp_k: Floats, pressure_pa: Floats
) -> Floats:
    """Return the forced-convection coefficient of a plate or sheet in the wind.

    Parameters
    ----------
    wind_m_s : float or array
        Air speed at the plate. [m/s]
    length_m : float or array
        Four times area over perimeter. [m]
    film_temp_k : float or array
        Mean of surface and air. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    `bluff_plate_nusselt` with the properties of dry air.

    References
    ----------
    See `bluff_plate_nusselt`.

    Examples
    --------
    Row V8-1 of ``data/reference/convection.csv`` (8.023 within 0.5 %):

    >>> round(float(bluff_plate_w_m2_k(1.0, 0.4, 300.0, 101325.0)), 2)
    8.03
    """
    density = moist_air_density_kg_m3(film_temp_k, 0.0, pressure_pa)
    reynolds = wind_m_s * length_m * density / air_viscosity_pa_s(film_temp_k)
    nusselt = bluff_plate_nusselt(reynolds, prandtl_number(film_temp_k))
    return nusselt * air_conductivity_w_m_k(film_temp_k) / length_m


def inclined_natural_w_m2_k(
    delta_temp_k: Floats,
    film_temp_k: Floats,
    natural_length_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
    pressure_pa: Floats,
) -> Floats:
    """Return the natural-convection coefficient of the upper face of a sloping plate.

    Parameters
    ----------
    delta_temp_k : float or array
        Surface less air; negative for a cold face. [K]
    film_temp_k : float or array
        Mean of surface and air. [K]
    natural_length_m : float or array
        Area over perimeter. [m]
    height_m : float or array
        Length of the plate up the slope. [m]
    tilt_rad : float or array
        Slope from level, 0 (facing up) to 90°. [rad]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    The larger of the vertical plate with ``g sin β`` and the level one with ``g cos β``: hot
    side up (larger of laminar and turbulent) where the face is warmer than the air, else hot
    side down by symmetry. At 0° and 90° it is each alone.

    References
    ----------
    G. D. Raithby and K. G. T. Hollands, in *Handbook of Heat Transfer* (1998), ch. 4. For the
    cold side they use the vertical form alone, which vanishes on a level plate.

    Examples
    --------
    A level plate 0.6 m square at 90 °C in air of 30 °C:

    >>> round(float(inclined_natural_w_m2_k(60.0, 333.15, 0.15, 0.6, 0.0, 101325.0)), 1)
    6.5
    """
    level = rayleigh_number(delta_temp_k, natural_length_m, film_temp_k, pressure_pa)
    upright = rayleigh_number(delta_temp_k, height_m, film_temp_k, pressure_pa)
    level = level * np.maximum(np.cos(tilt_rad), 0.0)
    upright = upright * np.sin(tilt_rad)
    hot_up = np.maximum(hot_up_laminar_nusselt(level), hot_up_turbulent_nusselt(level))
    level_nusselt = np.where(np.greater(delta_temp_k, 0.0), hot_up, hot_down_nusselt(level))
    upright_nusselt = vertical_plate_nusselt(upright, prandtl_number(film_temp_k))
    larger: Floats = np.maximum(level_nusselt / natural_length_m, upright_nusselt / height_m)
    return larger * air_conductivity_w_m_k(film_temp_k)


def plate_convection_w_m2_k(
    surface_temp_k: Floats,
    air_temp_k: Floats,
    wind_m_s: Floats,
    length_m: Floats,
    natural_length_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
    pressure_pa: Floats,
    delta_temp_k: Floats | None = None,
) -> Floats:
    """Return the convection coefficient of a plate's, or a print's, upper face in the open.

    Parameters
    ----------
    surface_temp_k, air_temp_k : float or array
        Surface, and air away from it. [K]
    wind_m_s : float or array
        Air speed at the plate. [m/s]
    length_m : float or array
        Four times area over perimeter. [m]
    natural_length_m : float or array
        Area over perimeter. [m]
    height_m : float or array
        Length of the plate up the slope. [m]
    tilt_rad : float or array
        Slope from level, 0 to 90°. [rad]
    pressure_pa : float or array
        Air pressure. [Pa]
    delta_temp_k : float or array, optional
        Difference of virtual temperature, surface less air, where the vapour differs too;
        without it that of temperature. [K]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    `combined_w_m2_k` of `bluff_plate_w_m2_k` and `inclined_natural_w_m2_k`, properties of dry
    air at the mean temperature. The box's walls are left out: shelter goes into the wind.

    References
    ----------
    See those functions.

    Examples
    --------
    A plate 0.6 by 0.4 m at 50 °C, sloping 45°, in air of 20 °C and 0.5 m/s:

    >>> h = plate_convection_w_m2_k(323.15, 293.15, 0.5, 0.48, 0.12, 0.4, 0.785, 101325.0)
    >>> round(float(h), 1)
    6.4
    """
    film = 0.5 * (surface_temp_k + air_temp_k)
    delta = surface_temp_k - air_temp_k if delta_temp_k is None else delta_temp_k
    natural = inclined_natural_w_m2_k(
        delta, film, natural_length_m, height_m, tilt_rad, pressure_pa
    )
    return combined_w_m2_k(bluff_plate_w_m2_k(wind_m_s, length_m, film, pressure_pa), natural)


def sheet_convection_w_m2_k(
    surface_temp_k: Floats,
    air_temp_k: Floats,
    wind_m_s: Floats,
    length_m: Floats,
    height_m: Floats,
    pressure_pa: Floats,
    delta_temp_k: Floats | None = None,
) -> Floats:
    """Return the convection coefficient of each face of a sheet hanging free.

    Parameters
    ----------
    surface_temp_k, air_temp_k : float or array
        Surface, and air away from it. [K]
    wind_m_s : float or array
        Air speed at the sheet. [m/s]
    length_m : float or array
        Four times area over perimeter. [m]
    height_m : float or array
        Height of the sheet. [m]
    pressure_pa : float or array
        Air pressure. [Pa]
    delta_temp_k : float or array, optional
        Difference of virtual temperature, surface less air; without it that of
        temperature. [K]

    Returns
    -------
    float or array
        Heat transfer coefficient of one face, the mean of both. [W/(m² K)]

    Notes
    -----
    `combined_w_m2_k` of `bluff_plate_w_m2_k` and `vertical_plate_laminar_nusselt`: sheets to
    about 0.5 m. The lee of the sheet, curling and neighbouring sheets are left out.

    References
    ----------
    See those functions.

    Examples
    --------
    A sheet 100 by 125 mm at its wet bulb in a room:

    >>> h = sheet_convection_w_m2_k(286.9, 293.15, 0.1, 0.111, 0.125, 101325.0)
    >>> round(float(h), 1)
    5.5
    """
    film = 0.5 * (surface_temp_k + air_temp_k)
    delta = surface_temp_k - air_temp_k if delta_temp_k is None else delta_temp_k
    rayleigh = rayleigh_number(delta, height_m, film, pressure_pa)
    nusselt = vertical_plate_laminar_nusselt(rayleigh, prandtl_number(film))
    natural = nusselt * air_conductivity_w_m_k(film) / height_m
    return combined_w_m2_k(bluff_plate_w_m2_k(wind_m_s, length_m, film, pressure_pa), natural)


def wind_at_height_m_s(
    wind_m_s: Floats,
    measured_height_m: Floats,
    wanted_height_m: Floats,
    roughness_length_m: Floats,
    displacement_m: Floats = 0.0,
) -> Floats:
    """Return the mean wind at another height over open ground.

    Parameters
    ----------
    wind_m_s : float or array
        Wind at the measured height. [m/s]
    measured_height_m, wanted_height_m : float or array
        Heights over the ground, both above displacement plus roughness length. [m]
    roughness_length_m : float or array
        Roughness length of the ground upwind, such as 0.03 for short grass. [m]
    displacement_m : float or array
        Zero-plane displacement. [m]

    Returns
    -------
    float or array
        Wind at the wanted height. [m/s]

    Notes
    -----
    ``u ln((z - d)/z0) / ln((z_m - d)/z0)``, the neutral logarithmic profile. FAO paper 56, eq. 47,
    is the case of grass 0.12 m high: d 0.08 m, z0 0.01476 m. Sunny calm days, and hedges and
    walls near by, are left out.

    References
    ----------
    R. G. Allen et al., FAO Irrigation and Drainage Paper 56 (1998), eq. 33 and 47.

    Examples
    --------
    Row F14 of ``data/reference/convection.csv``:

    >>> round(float(wind_at_height_m_s(3.2, 10.0, 2.0, 0.01476, 0.08)), 2)
    2.39
    """
    wanted = np.log((wanted_height_m - displacement_m) / roughness_length_m)
    measured = np.log((measured_height_m - displacement_m) / roughness_length_m)
    wind: Floats = wind_m_s * (wanted / measured)
    return wind
