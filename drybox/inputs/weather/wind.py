"""The wind near the ground, from that which is told at 10 m over open country."""

from __future__ import annotations

import math

BOX_HEIGHT_M = 0.8
"""Height of the plate over the ground: on a table or trestle (common practice, no source). [m]"""

OPEN_ROUGHNESS_M = 0.03
"""Roughness length of the open country over which wind is measured and forecast. [m]"""

TOLD_HEIGHT_M = 10.0
"""Height over the ground at which wind is measured and forecast. [m]"""

BLENDING_HEIGHT_M = 60.0
"""Where the wind no longer knows the ground beneath. [m]"""


LEAST_SHARE_FRAC = 0.01
"""No plate is so sheltered that less of the wind at 10 m reaches it (judgement). [-]"""


def plate_wind_frac(wind_shelter_frac: float, roughness_length_m: float) -> float:
    """Return the share of the wind at 10 m over open country that reaches the plate. [-]

    >>> round(plate_wind_frac(0.5, 2.0), 3)
    0.064
    """
    share = near_ground_share(BOX_HEIGHT_M, roughness_length_m)
    return max(wind_shelter_frac * share, LEAST_SHARE_FRAC)


def near_ground_share(height_m: float, roughness_length_m: float) -> float:
    """Return the mean wind near the ground over that told at 10 m over open country. [-]

    Heights are over the ground, the roughness is that of the ground about the place. [m]

    Notes
    -----
    Up to the blending height over open country and down again over the place's own ground, each by
    ``ln(1 + z/z0)``, the neutral profile with its foot on the ground. So there is some wind at any
    height, and less of it the rougher the ground. Between houses it is a mean over windy and still
    corners.

    References
    ----------
    J. Wieringa, Roughness-dependent geographical interpolation of surface wind speed averages,
    Quarterly Journal of the Royal Meteorological Society 112 (1986) 867: 60 m; P. J. Richards and
    R. P. Hoxey, Journal of Wind Engineering 46-47 (1993) 145: the profile (both from memory).

    Examples
    --------
    >>> round(near_ground_share(0.8, 0.03), 2), round(near_ground_share(0.8, 2.0), 2)
    (0.57, 0.13)
    """

    def rise(from_m: float, to_m: float, rough_m: float) -> float:
        return math.log1p(to_m / rough_m) / math.log1p(from_m / rough_m)

    above = rise(TOLD_HEIGHT_M, BLENDING_HEIGHT_M, OPEN_ROUGHNESS_M)
    return min(above * rise(BLENDING_HEIGHT_M, height_m, roughness_length_m), 1.0)
