"""Nusselt numbers: how flow past plates multiplies conduction, each form once.

With the Schmidt number in place of the Prandtl number they give the Sherwood number.
"""

from __future__ import annotations

import numpy as np

from drybox.physics.constants import Floats


def bluff_plate_nusselt(
    reynolds: Floats, prandtl: Floats, prandtl_factor: Floats | None = None
) -> Floats:
    """Return the mean Nusselt number of a rectangular plate set at an angle to the wind.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number on four times area over perimeter. [-]
    prandtl : float or array
        Prandtl number. [-]
    prandtl_factor : float or array, optional
        Its cube root, where that is at hand already. [-]

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
    E. M. Sparrow, J. W. Ramsey and E. A. Mass, J. Heat Transfer 101 (1979) 199; the range
    from memory; the coefficient as in ``h = 2.537 (P V / A)^1/2``, which building-energy
    references take from the paper: 0.05 % apart in air of 300 K (rows V8-0.5 to V8-3).

    Examples
    --------
    >>> round(float(bluff_plate_nusselt(40000.0, 0.71)), 1)
    153.4
    """
    root = np.cbrt(prandtl) if prandtl_factor is None else prandtl_factor
    nusselt: Floats = 0.86 * np.sqrt(reynolds) * root
    return nusselt


def vertical_plate_prandtl_factor(prandtl: Floats, exponent: float) -> Floats:
    """Return how a vertical plate's natural convection depends on the fluid.

    Parameters
    ----------
    prandtl : float or array
        Prandtl number. [-]
    exponent : float
        8/27 in the form for laminar and turbulent flow, 4/9 in the laminar one. [-]

    Returns
    -------
    float or array
        ``1 / [1 + (0.492/Pr)^9/16]^exponent``. [-]

    References
    ----------
    S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.

    Examples
    --------
    >>> round(float(vertical_plate_prandtl_factor(0.71, 4.0 / 9.0)), 3)
    0.768
    """
    factor: Floats = np.power(1.0 + np.power(0.492 / prandtl, 9.0 / 16.0), -exponent)
    return factor


def vertical_plate_nusselt(
    rayleigh: Floats, prandtl: Floats, prandtl_factor: Floats | None = None
) -> Floats:
    """Return the mean Nusselt number of natural convection along a vertical plate.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the height, 0 to 1e12. [-]
    prandtl : float or array
        Prandtl number. [-]
    prandtl_factor : float or array, optional
        `vertical_plate_prandtl_factor`, where it is at hand already. [-]

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
    Row V6-vertical-Nu of ``data/reference/convection.csv``:

    >>> round(float(vertical_plate_nusselt(7.65e8, 0.7202)), 1)
    113.3
    """
    if prandtl_factor is None:
        prandtl_factor = vertical_plate_prandtl_factor(prandtl, 8.0 / 27.0)
    root: Floats = 0.825 + 0.387 * np.sqrt(np.cbrt(rayleigh)) * prandtl_factor
    return root * root


def vertical_plate_laminar_nusselt(
    rayleigh: Floats, prandtl: Floats, prandtl_factor: Floats | None = None
) -> Floats:
    """Return the mean Nusselt number of laminar natural convection along a vertical plate.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the height, 0 to 1e9. [-]
    prandtl : float or array
        Prandtl number. [-]
    prandtl_factor : float or array, optional
        `vertical_plate_prandtl_factor`, where it is at hand already. [-]

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
    if prandtl_factor is None:
        prandtl_factor = vertical_plate_prandtl_factor(prandtl, 4.0 / 9.0)
    nusselt: Floats = 0.68 + 0.670 * np.sqrt(np.sqrt(rayleigh)) * prandtl_factor
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
    Row V6-up-Nu of ``data/reference/convection.csv``:

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
    Row E6-Nu of ``data/reference/convection.csv`` (75.4 within 1 %):

    >>> round(float(hot_up_turbulent_nusselt(1.75e8 * 0.7262)), 1)
    75.4
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
    Row V6-down-Nu of ``data/reference/convection.csv``:

    >>> round(float(hot_down_nusselt(1.195e7)), 2)
    15.87
    """
    nusselt: Floats = 0.27 * np.sqrt(np.sqrt(rayleigh))
    return nusselt
