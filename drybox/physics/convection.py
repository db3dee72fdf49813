"""Heat carried off by air: plates and sheets in the open, and the wind that reaches them.

Coefficients in W/(m² K) from dimensional inputs; the dimensionless forms are in `nusselt`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drybox.physics.air_film import AirFilm, air_film
from drybox.physics.constants import Floats
from drybox.physics.inclined_plate import inclined_plate_w_m2_k
from drybox.physics.nusselt import bluff_plate_nusselt, vertical_plate_laminar_nusselt


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
    Row both-3-4 of ``data/reference/convection.csv``:

    >>> round(float(combined_w_m2_k(3.0, 4.0)), 5)
    4.49794
    """
    cubes = forced_w_m2_k * forced_w_m2_k * forced_w_m2_k + (
        natural_w_m2_k * natural_w_m2_k * natural_w_m2_k
    )
    both: Floats = np.cbrt(cubes)
    return both


def forced_w_m2_k(air: AirFilm, wind_m_s: Floats, length_m: Floats) -> Floats:
    """Return the forced-convection coefficient of a plate or sheet in the wind.

    Parameters
    ----------
    air : AirFilm
        At the mean of surface and air.
    wind_m_s : float or array
        Air speed at the plate. [m/s]
    length_m : float or array
        Four times area over perimeter. [m]

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

    >>> round(float(forced_w_m2_k(air_film(300.0, 101325.0), 1.0, 0.4)), 2)
    8.03
    """
    reynolds = wind_m_s * length_m / air.kinematic_viscosity_m2_s
    nusselt = bluff_plate_nusselt(reynolds, air.prandtl, air.forced_factor)
    return nusselt * air.conductivity_w_m_k / length_m


UNEVEN_AIR_K = 0.5
"""By how much the air over a surface is never even, so that it never comes to rest (judgement)."""


class Film(NamedTuple):
    """Convection of a face, and how that grows with the face's temperature, relative to itself."""

    coeff_w_m2_k: Floats
    growth_1_k: Floats


def _driven(delta_temp_k: Floats) -> tuple[Floats, Floats]:
    """Return the size of a difference with `UNEVEN_AIR_K` in it, and the share that is warm."""
    size = np.sqrt(delta_temp_k * delta_temp_k + UNEVEN_AIR_K * UNEVEN_AIR_K)
    return size, 0.5 + 0.5 * delta_temp_k / size


def _film(forced_w_m2_k: Floats, natural_w_m2_k: Floats, delta_k: Floats, size_k: Floats) -> Film:
    """Return both together; natural convection grows at most with the cube root of its drive."""
    both = combined_w_m2_k(forced_w_m2_k, natural_w_m2_k)
    share = natural_w_m2_k / both
    return Film(both, share * share * share * delta_k / (3.0 * size_k * size_k))


def plate_convection_w_m2_k(
    surface_temp_k: Floats,
    air_temp_k: Floats,
    wind_m_s: Floats,
    length_m: Floats,
    natural_length_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
    pressure_pa: Floats,
    forced_factor: Floats = 1.0,
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
    forced_factor : float or array
        On the forced part; over 1 in the gusty wind out of doors. [-]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    `combined_w_m2_k` of `forced_w_m2_k` and `inclined_plate_w_m2_k`, properties of dry air at the
    mean temperature. Natural convection goes over from warm to cold face within
    `UNEVEN_AIR_K` instead of stopping dead. Left out: the box's walls (shelter goes into the
    wind), and that vapour is lighter than air.

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
    return plate_film(
        surface_temp_k,
        air_temp_k,
        wind_m_s,
        length_m,
        natural_length_m,
        height_m,
        tilt_rad,
        pressure_pa,
        forced_factor,
    ).coeff_w_m2_k


def plate_film(
    surface_temp_k: Floats,
    air_temp_k: Floats,
    wind_m_s: Floats,
    length_m: Floats,
    natural_length_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
    pressure_pa: Floats,
    forced_factor: Floats = 1.0,
) -> Film:
    """Return `plate_convection_w_m2_k`, of the same arguments, with its growth."""
    air = air_film(0.5 * (surface_temp_k + air_temp_k), pressure_pa)
    delta = surface_temp_k - air_temp_k
    size, warm = _driven(delta)
    natural = inclined_plate_w_m2_k(air, size, warm, natural_length_m, height_m, tilt_rad)
    return _film(forced_factor * forced_w_m2_k(air, wind_m_s, length_m), natural, delta, size)


def sheet_film(
    surface_temp_k: Floats,
    air_temp_k: Floats,
    wind_m_s: Floats,
    length_m: Floats,
    height_m: Floats,
    pressure_pa: Floats,
    forced_factor: Floats = 1.0,
) -> Film:
    """Return the convection of each face of a sheet hanging free, with its growth.

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
    forced_factor : float or array
        On the forced part: the law of a blunt plate gives more than that of parallel flow. [-]

    Returns
    -------
    Film
        Of one face, the mean of both.

    Notes
    -----
    `combined_w_m2_k` of `forced_w_m2_k` and `vertical_plate_laminar_nusselt`: sheets to
    about 0.5 m. The lee of the sheet, curling, neighbouring sheets and the
    lightness of vapour are left out.

    References
    ----------
    See those functions.

    Examples
    --------
    A sheet 100 by 125 mm at its wet bulb in a room:

    >>> film = sheet_film(286.9, 293.15, 0.1, 0.111, 0.125, 101325.0)
    >>> round(float(film.coeff_w_m2_k), 1)
    5.5
    """
    air = air_film(0.5 * (surface_temp_k + air_temp_k), pressure_pa)
    delta = surface_temp_k - air_temp_k
    size, _ = _driven(delta)
    rayleigh = air.rayleigh_per_k_m3 * size * (height_m * height_m * height_m)
    nusselt = vertical_plate_laminar_nusselt(rayleigh, air.prandtl, air.sheet_factor)
    natural = nusselt * air.conductivity_w_m_k / height_m
    return _film(forced_factor * forced_w_m2_k(air, wind_m_s, length_m), natural, delta, size)


STILL_OUTER_W_M2_K, WINDY_OUTER_J_M3_K = 9.0, 4.0
"""Outer film of a box's back: convection 4 + 4 v and radiation 5. [W/(m² K)], [J/(m³ K)]"""

LIGHT_WIND_M_S = 0.25
"""Wind behind a box at which its loss is told: an outer film of 10 W/(m² K). [m/s]"""


def back_loss_in_wind_w_m2_k(back_loss_w_m2_k: Floats, wind_m_s: Floats) -> Floats:
    """Return the loss through a box's back in a wind, from that in light wind.

    Parameters
    ----------
    back_loss_w_m2_k : float or array
        Plate to the air behind in light wind, `LIGHT_WIND_M_S`. [W/(m² K)]
    wind_m_s : float or array
        Wind at the box. [m/s]

    Returns
    -------
    float or array
        [W/(m² K)]

    Notes
    -----
    The outer film, 1/10 of a resistance in light wind, goes with ``9 + 4 v``: convection
    ``4 + 4 v`` and radiation 5; what is inside of it stays. A back that loses more than 10 has
    nothing inside and is all film.

    References
    ----------
    ISO 6946, annex on surface resistances, ``h_c = 4 + 4 v`` (from memory).

    Examples
    --------
    >>> print(f"{back_loss_in_wind_w_m2_k(6.5, 0.25):.2f} {back_loss_in_wind_w_m2_k(6.5, 2.0):.2f}")
    6.50 8.88
    """
    light = STILL_OUTER_W_M2_K + WINDY_OUTER_J_M3_K * LIGHT_WIND_M_S
    now = STILL_OUTER_W_M2_K + WINDY_OUTER_J_M3_K * wind_m_s
    whole = 1.0 / np.maximum(back_loss_w_m2_k, 1e-9)
    outer = np.minimum(whole, 1.0 / light)
    loss: Floats = 1.0 / (whole - outer + outer * light / now)
    return loss
