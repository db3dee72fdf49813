"""Nusselt numbers: how flow past plates and in gaps multiplies conduction, each form once.

With the Schmidt number in place of the Prandtl number they give the Sherwood number.
"""

from __future__ import annotations

import numpy as np

from drybox.physics.constants import Floats

TURBULENT_REYNOLDS = 5e5
HOLLANDS_MAX_TILT_RAD = np.radians(75.0)


def flat_plate_nusselt(reynolds: Floats, prandtl: Floats) -> Floats:
    """Return the mean Nusselt number of a thin flat plate along the flow.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number over the whole length, 0 to 1e8. [-]
    prandtl : float or array
        Prandtl number, above 0.6; the Schmidt number gives the Sherwood number. [-]

    Returns
    -------
    float or array
        Nusselt number on the whole length. [-]

    Notes
    -----
    ``0.664 Re^1/2 Pr^1/3`` up to Re 5e5, then ``(0.037 Re^4/5 - 871) Pr^1/3``. Blunt edges and
    turbulence in the wind are left out.

    References
    ----------
    F. P. Incropera and D. P. DeWitt, *Fundamentals of Heat and Mass Transfer*, ch. 7.

    Examples
    --------
    Row V1 of ``data/reference/convection.csv``:

    >>> round(float(flat_plate_nusselt(9600.0, 0.687)), 1)
    57.4
    """
    laminar = 0.664 * np.sqrt(reynolds)
    mixed = 0.037 * np.power(reynolds, 0.8) - 871.0
    nusselt: Floats = np.where(np.less_equal(reynolds, TURBULENT_REYNOLDS), laminar, mixed)
    return nusselt * np.cbrt(prandtl)


def bluff_plate_nusselt(reynolds: Floats, prandtl: Floats) -> Floats:
    """Return the mean Nusselt number of a rectangular plate set at an angle to the wind.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number on four times area over perimeter. [-]
    prandtl : float or array
        Prandtl number. [-]

    Returns
    -------
    float or array
        Nusselt number on four times area over perimeter. [-]

    Notes
    -----
    ``0.86 Re^1/2 Pr^1/3``, measured for Re 2e4 to 9e4 with attack and yaw of 25 to 90°, where
    the angle hardly matters. Slower wind, as reaches a plate in a box, extrapolates the same
    boundary-layer form; the turbulence of outdoor wind, which raises it, is left out.

    References
    ----------
    E. M. Sparrow, J. W. Ramsey and E. A. Mass, J. Heat Transfer 101 (1979) 199; the coefficient
    and range from memory, consistent with ``h = 2.537 (P V / A)^1/2`` that building-energy
    references derive from the paper (rows V8).

    Examples
    --------
    >>> round(float(bluff_plate_nusselt(40000.0, 0.71)), 1)
    153.4
    """
    nusselt: Floats = 0.86 * np.sqrt(reynolds) * np.cbrt(prandtl)
    return nusselt


def vertical_plate_nusselt(rayleigh: Floats, prandtl: Floats) -> Floats:
    """Return the mean Nusselt number of natural convection along a vertical plate.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the height, 0 to 1e12. [-]
    prandtl : float or array
        Prandtl number. [-]

    Returns
    -------
    float or array
        Nusselt number on the height. [-]

    Notes
    -----
    ``{0.825 + 0.387 Ra^1/6 / [1 + (0.492/Pr)^9/16]^8/27}²``; laminar and turbulent in one, at the
    price of 15 to 30 % too much from Ra 5e7 to 1e9, where the flow is still laminar.

    References
    ----------
    S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.

    Examples
    --------
    Row V6-vertical of ``data/reference/convection.csv``:

    >>> round(float(vertical_plate_nusselt(7.65e8, 0.7202)), 1)
    113.3
    """
    fluid = np.power(1.0 + np.power(0.492 / prandtl, 9.0 / 16.0), 8.0 / 27.0)
    root: Floats = 0.825 + 0.387 * np.sqrt(np.cbrt(rayleigh)) / fluid
    return root * root


def vertical_plate_laminar_nusselt(rayleigh: Floats, prandtl: Floats) -> Floats:
    """Return the mean Nusselt number of laminar natural convection along a vertical plate.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the height, 0 to 1e9. [-]
    prandtl : float or array
        Prandtl number. [-]

    Returns
    -------
    float or array
        Nusselt number on the height. [-]

    Notes
    -----
    ``0.68 + 0.670 Ra^1/4 / [1 + (0.492/Pr)^9/16]^4/9``; nearer than `vertical_plate_nusselt` for
    small sheets.

    References
    ----------
    S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.

    Examples
    --------
    >>> round(float(vertical_plate_laminar_nusselt(1e6, 0.71)), 1)
    16.9
    """
    fluid = np.power(1.0 + np.power(0.492 / prandtl, 9.0 / 16.0), 4.0 / 9.0)
    nusselt: Floats = 0.68 + 0.670 * np.sqrt(np.sqrt(rayleigh)) / fluid
    return nusselt


def hot_up_laminar_nusselt(rayleigh: Floats) -> Floats:
    """Return the Nusselt number above a hot horizontal plate, laminar.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on area over perimeter, 1e4 to 1e7. [-]

    Returns
    -------
    float or array
        Nusselt number on area over perimeter. [-]

    Notes
    -----
    ``0.54 Ra^1/4``. The same below a cold plate.

    References
    ----------
    W. H. McAdams, *Heat Transmission*; J. R. Lloyd and W. R. Moran, J. Heat Transfer 96
    (1974) 443.

    Examples
    --------
    Row V6-up of ``data/reference/convection.csv``:

    >>> round(float(hot_up_laminar_nusselt(1.195e7)), 2)
    31.75
    """
    nusselt: Floats = 0.54 * np.sqrt(np.sqrt(rayleigh))
    return nusselt


def hot_up_turbulent_nusselt(rayleigh: Floats) -> Floats:
    """Return the Nusselt number above a hot horizontal plate, turbulent.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on area over perimeter, 1e7 to 1e11. [-]

    Returns
    -------
    float or array
        Nusselt number on area over perimeter. [-]

    Notes
    -----
    ``0.15 Ra^1/3``. The same below a cold plate.

    References
    ----------
    J. R. Lloyd and W. R. Moran, J. Heat Transfer 96 (1974) 443.

    Examples
    --------
    >>> round(float(hot_up_turbulent_nusselt(1e9)), 6)
    150.0
    """
    nusselt: Floats = 0.15 * np.cbrt(rayleigh)
    return nusselt


def hot_down_nusselt(rayleigh: Floats) -> Floats:
    """Return the Nusselt number below a hot horizontal plate, or above a cold one.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on area over perimeter, 1e5 to 1e10. [-]

    Returns
    -------
    float or array
        Nusselt number on area over perimeter. [-]

    Notes
    -----
    ``0.27 Ra^1/4``.

    References
    ----------
    W. H. McAdams, *Heat Transmission*.

    Examples
    --------
    Row V6-down of ``data/reference/convection.csv``:

    >>> round(float(hot_down_nusselt(1.195e7)), 2)
    15.87
    """
    nusselt: Floats = 0.27 * np.sqrt(np.sqrt(rayleigh))
    return nusselt


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
    >>> round(float(vertical_gap_nusselt(1e4, 20.0)), 2)
    1.31
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
