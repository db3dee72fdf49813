"""The air between a plate and the clear cover above it."""

from __future__ import annotations

import numpy as np

from drybox.physics.air_film import air_film
from drybox.physics.constants import Floats

HOLLANDS_MAX_TILT_RAD = np.radians(75.0)


def hollands_nusselt(rayleigh: Floats, tilt_rad: Floats) -> Floats:
    """Return the Nusselt number of a wide gap of air heated from below, level to 75°.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the gap, 0 to 1e5. [-]
    tilt_rad : float or array
        Slope of the gap from level, 0 to 75°. [rad]

    Returns
    -------
    float or array
        Nusselt number on the gap, 1 where the air stands still. [-]

    Notes
    -----
    ``1 + 1.44 [1 - 1708/x]⁺ (1 - 1708 sin(1.8 β)^1.6 / x) + [(x/5830)^1/3 - 1]⁺`` with
    ``x = Ra cos β``. Steeper gaps: `gap_nusselt`.

    References
    ----------
    K. G. T. Hollands, T. E. Unny, G. D. Raithby and L. Konicek, J. Heat Transfer 98 (1976) 189.

    Examples
    --------
    Row H5-30 of ``data/reference/convection.csv``:

    >>> round(float(hollands_nusselt(3.689e4, 0.5235988)), 3)
    3.074
    """
    # Below 1708 the first bracket is zero, so a floor at 1 only keeps the quotient finite.
    effective = np.maximum(rayleigh * np.cos(tilt_rad), 1.0)
    slanting = 1.0 - 1708.0 * np.power(np.sin(1.8 * tilt_rad), 1.6) / effective
    first = 1.44 * np.maximum(1.0 - 1708.0 / effective, 0.0) * slanting
    nusselt: Floats = 1.0 + first + np.maximum(np.cbrt(effective / 5830.0) - 1.0, 0.0)
    return nusselt


def vertical_gap_nusselt(rayleigh: Floats, aspect: Floats) -> Floats:
    """Return the Nusselt number of an upright gap of air.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the gap, 0 to 1e6. [-]
    aspect : float or array
        Height over gap, 5 to 110. [-]

    Returns
    -------
    float or array
        Nusselt number on the gap. [-]

    Notes
    -----
    Larger of ``0.242 (Ra/A)^0.272`` and, in three ranges, ``1 + 1.7596678e-10 Ra^2.2984755`` to
    Ra 1e4, ``0.028154 Ra^0.4134`` to 5e4, ``0.0673838 Ra^1/3`` above (steps under 1 %).

    References
    ----------
    ISO 15099 (2003), as in TARCOG (2006), after S. M. ElSherbiny, G. D. Raithby and
    K. G. T. Hollands, J. Heat Transfer 104 (1982) 96.

    Examples
    --------
    Row H8-20000 of ``data/reference/convection.csv``:

    >>> round(float(vertical_gap_nusselt(2e4, 20.0)), 5)
    1.68883
    """
    middle = np.where(
        np.less_equal(rayleigh, 1e4),
        1.0 + 1.7596678e-10 * np.power(rayleigh, 2.2984755),
        0.028154 * np.power(rayleigh, 0.4134),
    )
    wide = np.where(np.less_equal(rayleigh, 5e4), middle, 0.0673838 * np.cbrt(rayleigh))
    nusselt: Floats = np.maximum(wide, 0.242 * np.power(rayleigh / aspect, 0.272))
    return nusselt


def gap_nusselt(rayleigh: Floats, tilt_rad: Floats, aspect: Floats) -> Floats:
    """Return the Nusselt number of the air gap under a cover at any slope.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the gap; zero when the cover is the warmer side. [-]
    tilt_rad : float or array
        Slope from level, 0 to 90°. [rad]
    aspect : float or array
        Length up the slope over gap. [-]

    Returns
    -------
    float or array
        Nusselt number on the gap. [-]

    Notes
    -----
    `hollands_nusselt` to 75°, `vertical_gap_nusselt` at 90°, in proportion between. Side walls
    are left out; a shallow box with gap over a fifth of its length convects less.

    References
    ----------
    The two functions; the straight line between is that of ISO 15099, there from 60°.

    Examples
    --------
    >>> float(gap_nusselt(0.0, 0.7, 20.0))
    1.0
    """
    slanting = hollands_nusselt(rayleigh, np.minimum(tilt_rad, HOLLANDS_MAX_TILT_RAD))
    past = (tilt_rad - HOLLANDS_MAX_TILT_RAD) / (0.5 * np.pi - HOLLANDS_MAX_TILT_RAD)
    share = np.clip(past, 0.0, 1.0)
    if not np.any(share > 0.0):
        return slanting
    nusselt: Floats = slanting + share * (vertical_gap_nusselt(rayleigh, aspect) - slanting)
    return nusselt


def gap_convection_w_m2_k(
    plate_temp_k: Floats,
    cover_temp_k: Floats,
    gap_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
    pressure_pa: Floats,
) -> Floats:
    """Return the convection coefficient between a plate and the cover above it.

    Parameters
    ----------
    plate_temp_k, cover_temp_k : float or array
        Lower and upper side of the gap. [K]
    gap_m : float or array
        Distance between them. [m]
    height_m : float or array
        Length up the slope. [m]
    tilt_rad : float or array
        Slope from level, 0 to 90°. [rad]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    `gap_nusselt` with dry air at the mean temperature; still air where the cover is warmer.

    References
    ----------
    See `gap_nusselt`.

    Examples
    --------
    Plates at 70 and 50 °C, 25 mm apart, at 45° (row H7-h: 2.74 within 0.05):

    >>> round(float(gap_convection_w_m2_k(343.15, 323.15, 0.025, 1.0, 0.7854, 101325.0)), 2)
    2.74
    """
    air = air_film(0.5 * (plate_temp_k + cover_temp_k), pressure_pa)
    drive = np.maximum(plate_temp_k - cover_temp_k, 0.0)
    rayleigh = air.rayleigh_per_k_m3 * drive * (gap_m * gap_m * gap_m)
    nusselt = gap_nusselt(rayleigh, tilt_rad, height_m / gap_m)
    return nusselt * air.conductivity_w_m_k / gap_m
