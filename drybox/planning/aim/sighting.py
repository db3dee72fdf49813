"""A tilted box on the ground: its prop, and the shadow by which its aim is sighted."""

from __future__ import annotations

import numpy as np


def prop_height_m(tilt_deg: float, prop_distance_m: float) -> float:
    """Return how high the rim is propped at a distance from the hinge for a tilt. [m]

    >>> round(prop_height_m(45.0, 0.5), 3)
    0.354
    """
    return float(prop_distance_m * np.sin(np.deg2rad(tilt_deg)))


def peg_shadow(
    sun_elevation_deg: float, sun_azimuth_deg: float, tilt_deg: float, *, bearing_deg: float
) -> tuple[float, float] | None:
    """Return where a peg's shadow falls on the plate, in peg lengths.

    Its length over the peg's, and its direction on the plate, clockwise from straight up the slope,
    seen from the front; None with the sun behind the plate. [-], [deg]

    A peg square to the plate throws no shadow when the plate faces the sun.

    Sun on the axis: no shadow.

    >>> round(peg_shadow(30.0, 180.0, 60.0, bearing_deg=180.0)[0], 6)
    0.0
    """
    height, turn, tilt = (
        np.deg2rad(x) for x in (sun_elevation_deg, sun_azimuth_deg - bearing_deg, tilt_deg)
    )
    normal = np.sin(height) * np.cos(tilt) + np.cos(height) * np.cos(turn) * np.sin(tilt)
    if normal <= 0.02:
        return None
    # seen from the front a sun clockwise of the bearing stands to the left
    right = -np.cos(height) * np.sin(turn)
    up = np.sin(height) * np.sin(tilt) - np.cos(height) * np.cos(turn) * np.cos(tilt)
    length = float(np.hypot(right, up) / normal)
    direction = float(np.rad2deg(np.arctan2(-right, -up)) % 360.0)
    return length, direction
