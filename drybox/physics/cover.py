"""Sunlight through a clear cover onto a dark plate: reflection, absorption, angle."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from drybox.physics.constants import Floats

DIFFUSE_REFLECTION_ANGLE_RAD = np.radians(60.0)
"""Angle at which one beam passes a cover as light from a whole hemisphere does."""


class CoverOptics(NamedTuple):
    """What becomes of sunlight on a cover: three shares that add to one."""

    transmittance_frac: Floats
    reflectance_frac: Floats
    absorptance_frac: Floats


def fresnel_reflectances(incidence_rad: Floats, refractive_index: Floats) -> tuple[Floats, Floats]:
    """Return how much one surface of the cover reflects, for each polarization.

    Parameters
    ----------
    incidence_rad : float or array
        Angle between the light and the normal, 0 to 90°. [rad]
    refractive_index : float or array
        Of the cover against air, above 1. [-]

    Returns
    -------
    tuple of float or array
        Reflectance perpendicular and parallel to the plane of incidence. [-]

    Notes
    -----
    Fresnel's equations; coatings are left out.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 5.1.

    Examples
    --------
    Row C1-60 of ``data/reference/cover.csv``:

    >>> [round(float(each), 3) for each in fresnel_reflectances(np.radians(60.0), 1.526)]
    [0.185, 0.001]
    """
    cos_in = np.cos(incidence_rad)
    sin_out = np.sin(incidence_rad) / refractive_index
    cos_out = np.sqrt(1.0 - sin_out * sin_out)
    perpendicular = (cos_in - refractive_index * cos_out) / (cos_in + refractive_index * cos_out)
    parallel = (refractive_index * cos_in - cos_out) / (refractive_index * cos_in + cos_out)
    return perpendicular * perpendicular, parallel * parallel


def path_transmittance(
    incidence_rad: Floats, refractive_index: Floats, extinction_1_m: Floats, thickness_m: Floats
) -> Floats:
    """Return how much light one pass through the body of the cover leaves.

    Parameters
    ----------
    incidence_rad : float or array
        Angle between the light and the normal, 0 to 90°. [rad]
    refractive_index : float or array
        Of the cover against air. [-]
    extinction_1_m : float or array
        Extinction coefficient. [1/m]
    thickness_m : float or array
        Thickness of the cover. [m]

    Returns
    -------
    float or array
        Transmittance by absorption alone. [-]

    Notes
    -----
    Bouguer's law along the refracted path.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 5.2.

    Examples
    --------
    Row C3-path of ``data/reference/cover.csv``:

    >>> round(float(path_transmittance(np.radians(60.0), 1.526, 32.0, 0.0023)), 4)
    0.9145
    """
    sin_out = np.sin(incidence_rad) / refractive_index
    path_m = thickness_m / np.sqrt(1.0 - sin_out * sin_out)
    transmittance: Floats = np.exp(-extinction_1_m * path_m)
    return transmittance


def cover_optics(
    incidence_rad: Floats, refractive_index: Floats, extinction_1_m: Floats, thickness_m: Floats
) -> CoverOptics:
    """Return what one free-standing cover passes, reflects and absorbs of unpolarized light.

    Parameters
    ----------
    incidence_rad : float or array
        Angle between the light and the normal, 0 to 90°. [rad]
    refractive_index : float or array
        Of the cover against air, 1.3 to 1.7. [-]
    extinction_1_m : float or array
        Extinction coefficient: 4 for water-white glass, 32 for greenish. [1/m]
    thickness_m : float or array
        Thickness of the cover. [m]

    Returns
    -------
    CoverOptics
        Transmittance, reflectance and absorptance. [-]

    Notes
    -----
    All inner reflections, mean of both polarizations:
    ``τ = ½ Σ τa (1 - r)² / (1 - (r τa)²)``, ``ρ = ½ Σ r (1 + τa τ)``. One extinction for the
    whole solar spectrum; scatter by dust and scratches is left out.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, eq. 5.3.1-5.3.3.

    Examples
    --------
    Row C3-optics of ``data/reference/cover.csv``:

    >>> [round(float(each), 3) for each in cover_optics(np.radians(60.0), 1.526, 32.0, 0.0023)]
    [0.768, 0.147, 0.085]
    """
    path = path_transmittance(incidence_rad, refractive_index, extinction_1_m, thickness_m)
    transmittance: Floats = 0.0
    reflectance: Floats = 0.0
    for each in fresnel_reflectances(incidence_rad, refractive_index):
        passed = path * (1.0 - each) * (1.0 - each) / (1.0 - each * each * path * path)
        transmittance = transmittance + 0.5 * passed
        reflectance = reflectance + 0.5 * each * (1.0 + path * passed)
    return CoverOptics(transmittance, reflectance, 1.0 - transmittance - reflectance)


def cover_diffuse_reflectance(
    refractive_index: Floats, extinction_1_m: Floats, thickness_m: Floats
) -> Floats:
    """Return how much of the plate's own diffuse reflection the cover sends back down.

    Parameters
    ----------
    refractive_index : float or array
        Of the cover against air. [-]
    extinction_1_m : float or array
        Extinction coefficient. [1/m]
    thickness_m : float or array
        Thickness of the cover. [m]

    Returns
    -------
    float or array
        Reflectance for diffuse light from below. [-]

    Notes
    -----
    ``τa - τ`` at 60°, the usual stand-in for diffuse light.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 5.5.

    Examples
    --------
    Row C8-reflectance of ``data/reference/cover.csv``:

    >>> round(float(cover_diffuse_reflectance(1.526, 10.0, 0.0037)), 3)
    0.152
    """
    cover = (refractive_index, extinction_1_m, thickness_m)
    passed = cover_optics(DIFFUSE_REFLECTION_ANGLE_RAD, *cover).transmittance_frac
    return path_transmittance(DIFFUSE_REFLECTION_ANGLE_RAD, *cover) - passed


def effective_sky_angle_rad(tilt_rad: Floats) -> Floats:
    """Return the angle at which a beam passes the cover as even light from the sky does.

    Parameters
    ----------
    tilt_rad : float or array
        Slope of the cover, 0 to 90°. [rad]

    Returns
    -------
    float or array
        Equivalent angle of incidence. [rad]

    Notes
    -----
    ``59.7 - 0.1388 β + 0.001497 β²``, degrees; an evenly bright sky.

    References
    ----------
    M. J. Brandemuehl and W. A. Beckman, Solar Energy 24 (1980) 511, as J. A. Duffie and
    W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 5.4.

    Examples
    --------
    Row angle-sky-45 of ``data/reference/cover.csv``:

    >>> round(float(np.degrees(effective_sky_angle_rad(np.radians(45.0)))), 1)
    56.5
    """
    tilt = np.degrees(tilt_rad)
    angle: Floats = np.radians(59.7 + tilt * (-0.1388 + 0.001497 * tilt))
    return angle


def effective_ground_angle_rad(tilt_rad: Floats) -> Floats:
    """Return the angle at which a beam passes the cover as even light off the ground does.

    Parameters
    ----------
    tilt_rad : float or array
        Slope of the cover, 0 to 90°. [rad]

    Returns
    -------
    float or array
        Equivalent angle of incidence. [rad]

    Notes
    -----
    ``90 - 0.5788 β + 0.002693 β²``, degrees; evenly bright ground.

    References
    ----------
    M. J. Brandemuehl and W. A. Beckman, Solar Energy 24 (1980) 511, as J. A. Duffie and
    W. A. Beckman, *Solar Engineering of Thermal Processes*, ch. 5.4.

    Examples
    --------
    Row angle-ground-45 of ``data/reference/cover.csv``:

    >>> round(float(np.degrees(effective_ground_angle_rad(np.radians(45.0)))), 1)
    69.4
    """
    tilt = np.degrees(tilt_rad)
    angle: Floats = np.radians(90.0 + tilt * (-0.5788 + 0.002693 * tilt))
    return angle


def black_paint_absorptance_ratio(incidence_rad: Floats) -> Floats:
    """Return the solar absorptance of flat black paint at an angle over that at the normal.

    Parameters
    ----------
    incidence_rad : float or array
        Angle between the light and the normal, 0 to 90°. [rad]

    Returns
    -------
    float or array
        Ratio, 1 at the normal. [-]

    Notes
    -----
    A seventh-degree polynomial in degrees, fitted to 80°; from there it runs down to -0.0004 at
    90°, which is set to zero.

    References
    ----------
    J. A. Duffie and W. A. Beckman, *Solar Engineering of Thermal Processes*, eq. 4.11.1.

    Examples
    --------
    Row C9-60 of ``data/reference/cover.csv``:

    >>> round(float(black_paint_absorptance_ratio(np.radians(60.0))), 3)
    0.929
    """
    angle = np.degrees(incidence_rad)
    ratio: Floats = -6.9937e-13
    for coefficient in (1.7734e-10, -1.8e-8, 9.0244e-7, -2.3026e-5, 2.7314e-4, -1.5879e-3, 1.0):
        ratio = ratio * angle + coefficient
    positive: Floats = np.maximum(ratio, 0.0)
    return positive
