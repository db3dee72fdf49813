"""Angles between the sun and a tilted plane.

Bearings and azimuths run clockwise from true north (90 = east, 180 = south); tilt is the
angle between the plane and the horizontal (0 = face up, 90 = upright).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def cos_incidence(
    sun_elevation_deg: ArrayLike,
    sun_azimuth_deg: ArrayLike,
    tilt_deg: ArrayLike,
    bearing_deg: ArrayLike,
) -> FloatArray:
    """Return the cosine of the angle between the sun and the plane's outward normal.

    Parameters
    ----------
    sun_elevation_deg, sun_azimuth_deg : array_like
        Where the sun is. [deg]
    tilt_deg, bearing_deg : array_like
        Tilt of the plane, and the bearing its face looks to. [deg]

    Returns
    -------
    ndarray
        From −1 to 1; negative when the sun is behind the plane. [-]

    Notes
    -----
    cos θ = sin h cos β + cos h sin β cos(γs − γ). Whether the sun is above the horizon is not
    asked.

    References
    ----------
    Duffie, Beckman and Blair, Solar Engineering of Thermal Processes, 5th ed., eq. 1.6.3.

    Examples
    --------
    The worked example of the solar position algorithm (row sun-nrel-incidence): the angle of
    incidence is 25.187°.

    >>> theta = np.degrees(np.arccos(cos_incidence(39.888378, 194.340241, 30.0, 170.0)))
    >>> round(float(theta), 3)
    25.187
    """
    elevation = np.radians(np.asarray(sun_elevation_deg, dtype=float))
    tilt = np.radians(np.asarray(tilt_deg, dtype=float))
    turned = np.radians(np.asarray(sun_azimuth_deg, dtype=float) - np.asarray(bearing_deg))
    cosine = np.sin(elevation) * np.cos(tilt)
    cosine = cosine + np.cos(elevation) * np.sin(tilt) * np.cos(turned)
    return np.asarray(np.clip(cosine, -1.0, 1.0), dtype=float)
