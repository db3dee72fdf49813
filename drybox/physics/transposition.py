"""Sky and ground radiation onto a tilted plane, part by part, after Perez."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pvlib
from numpy.typing import ArrayLike, NDArray

from drybox.physics.geometry import cos_incidence

FloatArray = NDArray[np.float64]

#: Tilt of the plane from which the sky's brightness coefficients are read back. [deg]
_PROBE_TILT_DEG = 10.0
#: Diffuse light below which the sky is taken as even, having none to share out. [W/m2]
_LEAST_DIFFUSE_W_M2 = 1e-6
#: Least cosine of the zenith angle in the circumsolar ratio (zenith 85°), as published.
_MIN_COS_ZENITH = float(np.cos(np.radians(85.0)))


@dataclass(frozen=True)
class PlaneIrradiance:
    """Irradiance on a plane by where it comes from; arrays of one shape. [W/m2].

    ``horizon`` (brightening towards the horizon) may be negative: a dark horizon.
    """

    beam_w_m2: FloatArray
    circumsolar_w_m2: FloatArray
    isotropic_w_m2: FloatArray
    horizon_w_m2: FloatArray
    ground_w_m2: FloatArray


def perez_brightness(
    sun_elevation_deg: ArrayLike,
    dni_w_m2: ArrayLike,
    dhi_w_m2: ArrayLike,
    dni_extra_w_m2: ArrayLike,
    airmass: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the circumsolar and the horizon brightening coefficients F1 and F2. [-].

    Parameters
    ----------
    sun_elevation_deg : array_like
        Apparent elevation. [deg]
    dni_w_m2, dhi_w_m2, dni_extra_w_m2 : array_like
        Direct normal, diffuse horizontal and extraterrestrial irradiance. [W/m2]
    airmass : array_like
        Relative optical air mass. [-]

    Notes
    -----
    Coefficient set "all sites composite" of 1990, as carried by pvlib; they are read back from
    its parts on a plane little tilted towards the sun. Both are 0 (an even sky) where there is
    no diffuse light or the sun is down.

    References
    ----------
    R. Perez and others, Modeling daylight availability and irradiance components from direct
    and global irradiance, Solar Energy 44 (1990) 271.

    Examples
    --------
    Row perez-bin-3 of ``data/reference/transposition.csv``:

    >>> found = perez_brightness(50.0, 124.5185, 262.7115, 1366.1, 1.3)
    >>> [round(float(each), 3) for each in found]
    [0.297, 0.021]
    """
    arguments = (sun_elevation_deg, dni_w_m2, dhi_w_m2, dni_extra_w_m2, airmass)
    elevation, dni, dhi, extra, mass = np.broadcast_arrays(
        *(np.asarray(each, dtype=float) for each in arguments)
    )
    lit = (elevation > 0.0) & (dhi > _LEAST_DIFFUSE_W_M2)
    first, second = np.zeros(lit.shape), np.zeros(lit.shape)
    if lit.any():
        parts = pvlib.irradiance.perez(
            _PROBE_TILT_DEG,
            180.0,
            dhi[lit],
            dni[lit],
            extra[lit],
            90.0 - elevation[lit],
            180.0,
            mass[lit],
            model="allsitescomposite1990",
            return_components=True,
        )
        tilt = np.radians(_PROBE_TILT_DEG)
        first[lit] = 1.0 - parts["poa_isotropic"] / (dhi[lit] * 0.5 * (1.0 + np.cos(tilt)))
        second[lit] = parts["poa_horizon"] / (dhi[lit] * np.sin(tilt))
    return first, second


def transpose_perez(
    sun_elevation_deg: ArrayLike,
    sun_azimuth_deg: ArrayLike,
    dni_w_m2: ArrayLike,
    dhi_w_m2: ArrayLike,
    ghi_w_m2: ArrayLike,
    dni_extra_w_m2: ArrayLike,
    airmass: ArrayLike,
    tilt_deg: ArrayLike,
    bearing_deg: ArrayLike,
    albedo_frac: ArrayLike,
) -> PlaneIrradiance:
    """Return the irradiance on a tilted plane, part by part.

    Parameters
    ----------
    sun_elevation_deg, sun_azimuth_deg : array_like
        Apparent position of the sun. [deg]
    dni_w_m2, dhi_w_m2, ghi_w_m2, dni_extra_w_m2 : array_like
        Direct normal, diffuse and global horizontal, and extraterrestrial irradiance. [W/m2]
    airmass : array_like
        Relative optical air mass. [-]
    tilt_deg, bearing_deg : array_like
        Of the plane, see `geometry`. Give the sky one shape, such as (times, 1), and the planes
        another, such as (1, planes): the sky is then worked out once for all planes. [deg]
    albedo_frac : array_like
        Share of light the ground sends back. [0 to 1]

    Returns
    -------
    PlaneIrradiance
        Zero in the dark; with the sun down what diffuse light there is comes evenly. [W/m2]

    Notes
    -----
    Ground: albedo × global × (1 − cos tilt)/2. A horizon so dark that the sky would give less
    than nothing is taken as just that dark. Lying flat, the parts add up to the global
    irradiance while the sun is above 5°; below that the model itself gives a little less.

    References
    ----------
    As `perez_brightness`; Duffie, Beckman and Blair, 5th ed., eq. 2.16.9 to 2.16.14.
    """
    incidence = np.maximum(
        cos_incidence(sun_elevation_deg, sun_azimuth_deg, tilt_deg, bearing_deg), 0.0
    )
    first, second = perez_brightness(sun_elevation_deg, dni_w_m2, dhi_w_m2, dni_extra_w_m2, airmass)
    elevation = np.asarray(sun_elevation_deg, dtype=float)
    tilt = np.radians(np.asarray(tilt_deg, dtype=float))
    dhi = np.asarray(dhi_w_m2, dtype=float)
    dni = np.where(elevation > 0.0, dni_w_m2, 0.0)
    cos_zenith = np.maximum(np.sin(np.radians(elevation)), _MIN_COS_ZENITH)
    beam = dni * incidence
    circumsolar = dhi * first / cos_zenith * incidence
    isotropic = 0.5 * dhi * (1.0 - first) * (1.0 + np.cos(tilt))
    horizon = np.maximum(dhi * second * np.sin(tilt), -(circumsolar + isotropic))
    ground = 0.5 * np.asarray(albedo_frac) * np.asarray(ghi_w_m2) * (1.0 - np.cos(tilt))
    parts = np.broadcast_arrays(beam, circumsolar, isotropic, horizon, ground)
    return PlaneIrradiance(*(np.asarray(part, dtype=float) for part in parts))
