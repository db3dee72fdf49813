"""What stands between sky and plate: obstacles on the horizon, and the bin's own walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.place import Obstacle

Array = NDArray[np.float64]


def _span_deg(obstacle: Obstacle) -> float:
    """Return the width of the obstacle's bearing range, clockwise, over north."""
    span = (obstacle.bearing_to_deg - obstacle.bearing_from_deg) % 360.0
    if span == 0.0 and obstacle.bearing_to_deg != obstacle.bearing_from_deg:
        return 360.0  # all round, written 0 to 360
    return span


def obstacle_transmittance(
    obstacles: Sequence[Obstacle], azimuth_deg: Array, elevation_deg: Array
) -> Array:
    """Return the share of light that passes the obstacles from a direction.

    Parameters
    ----------
    obstacles : sequence of Obstacle
        Each with its bearing range, elevation and share let through.
    azimuth_deg, elevation_deg : array
        Direction looked in, clockwise from true north and above the horizon. [deg]

    Returns
    -------
    array
        1 in the open, 0 behind a wall; obstacles behind each other multiply. [-]
    """
    passed = np.ones(np.broadcast_shapes(np.shape(azimuth_deg), np.shape(elevation_deg)))
    for obstacle in obstacles:
        within = (azimuth_deg - obstacle.bearing_from_deg) % 360.0 <= _span_deg(obstacle)
        hidden = within & (elevation_deg < obstacle.elevation_deg)
        passed = np.where(hidden, passed * obstacle.transmittance_frac, passed)
    return passed


@dataclass(frozen=True)
class SkyGrid:
    """Patches of the sky dome with the share of light that reaches the box from each."""

    east: Array
    north: Array
    up: Array
    solid_angle_sr: Array
    passed_frac: Array


def sky_grid(obstacles: Sequence[Obstacle], step_deg: float = 3.0) -> SkyGrid:
    """Return the dome in patches of ``step_deg``, seen past the obstacles.

    Parameters
    ----------
    obstacles : sequence of Obstacle
        What stands around.
    step_deg : float
        Size of a patch; 3 degrees puts view factors within 0.002. [deg]

    Returns
    -------
    SkyGrid
        Flat arrays over the patches.

    Notes
    -----
    A patch that an obstacle's edge cuts passes light in proportion to what is left of it;
    obstacles that share a patch multiply.
    """
    elevation_deg = np.arange(step_deg / 2, 90.0, step_deg)
    azimuth_deg = np.arange(step_deg / 2, 360.0, step_deg)
    azimuth, elevation = (grid.ravel() for grid in np.meshgrid(azimuth_deg, elevation_deg))
    step = np.deg2rad(step_deg)
    below = np.sin(np.deg2rad(elevation) - step / 2)
    band = np.sin(np.deg2rad(elevation) + step / 2) - below
    passed = np.ones(azimuth.shape)
    for obstacle in obstacles:
        high = np.clip((np.sin(np.deg2rad(obstacle.elevation_deg)) - below) / band, 0.0, 1.0)
        wide = _overlap_frac(azimuth - step_deg / 2, step_deg, obstacle)
        passed *= 1.0 - (1.0 - obstacle.transmittance_frac) * high * wide
    flat = np.cos(np.deg2rad(elevation))
    return SkyGrid(
        east=flat * np.sin(np.deg2rad(azimuth)),
        north=flat * np.cos(np.deg2rad(azimuth)),
        up=np.sin(np.deg2rad(elevation)),
        solid_angle_sr=band * step,
        passed_frac=passed,
    )


def _overlap_frac(from_deg: Array, width_deg: float, obstacle: Obstacle) -> Array:
    """Return the share of each stretch of azimuth that lies in the obstacle's bearing range."""
    span = _span_deg(obstacle)
    begin = (from_deg - obstacle.bearing_from_deg) % 360.0
    first = np.minimum(begin + width_deg, span) - begin
    round_north = np.minimum(begin + width_deg - 360.0, span)
    return np.asarray((np.maximum(first, 0.0) + np.maximum(round_north, 0.0)) / width_deg)


def sky_seen_frac(grid: SkyGrid, surface_tilt_deg: Array, surface_azimuth_deg: Array) -> Array:
    """Return the share of its sky that a tilted plane still sees past the obstacles.

    Parameters
    ----------
    grid : SkyGrid
        The dome past the obstacles.
    surface_tilt_deg, surface_azimuth_deg : array
        Slope and facing of the plane. [deg]

    Returns
    -------
    array
        1 with nothing in the way. [-]

    Notes
    -----
    Cosine-weighted sum over the patches in front of the plane, divided by the same sum with no
    obstacle. The sky is taken as uniform. An aim that comes again is worked out once.
    """
    both = np.broadcast_arrays(surface_tilt_deg, surface_azimuth_deg)
    aims, which = np.unique(np.stack([each.ravel() for each in both]), axis=1, return_inverse=True)
    tilt, azimuth = np.deg2rad(np.asarray(aims, dtype=float))
    facing = np.stack(
        [np.sin(tilt) * np.sin(azimuth), np.sin(tilt) * np.cos(azimuth), np.cos(tilt)], axis=1
    )
    cosine = facing @ np.stack([grid.east, grid.north, grid.up])
    lit = np.maximum(cosine, 0.0, out=cosine)
    angles = np.stack([grid.solid_angle_sr, grid.solid_angle_sr * grid.passed_frac], axis=1)
    whole, passed = (lit @ angles).T
    return np.asarray((passed / whole)[which.ravel()].reshape(both[0].shape))


def recess_lit_frac(
    width_m: float,
    height_m: float,
    depth_m: float,
    sun_across: Array,
    sun_upslope: Array,
    sun_normal: Array,
) -> Array:
    """Return the share of a rectangular plate that the bin's walls leave in the sun.

    Parameters
    ----------
    width_m, height_m, depth_m : float
        Plate across the slope, up the slope, and height of the walls above it. [m]
    sun_across, sun_upslope, sun_normal : array
        Sun's direction in the plate's own axes (unit vector). [-]

    Returns
    -------
    array
        1 with the sun on the axis, 0 with the sun behind the plate. [-]

    Notes
    -----
    The rim's shadow moves by ``d s_x / s_n`` across and ``d s_y / s_n`` along; what is left of
    the rectangle is lit. Light reflected by the walls is left out.

    Examples
    --------
    A square bin as deep as wide, sun 45 degrees off axis: the wall's shadow covers it all.

    >>> float(recess_lit_frac(0.4, 0.4, 0.4, np.sqrt(0.5), 0.0, np.sqrt(0.5)))
    0.0
    """
    normal = np.maximum(sun_normal, 1e-9)
    across = np.maximum(1 - depth_m / width_m * np.abs(sun_across) / normal, 0.0)
    along = np.maximum(1 - depth_m / height_m * np.abs(sun_upslope) / normal, 0.0)
    return np.where(np.asarray(sun_normal) > 0, across * along, 0.0)


def recess_view_frac(width_m: float, height_m: float, depth_m: float) -> float:
    """Return the view factor from a plate to the opening of its bin.

    Parameters
    ----------
    width_m, height_m, depth_m : float
        Plate and wall height. [m]

    Returns
    -------
    float
        1 for no walls. [-]

    Notes
    -----
    Aligned parallel rectangles, with ``X = w/d`` and ``Y = h/d``.

    References
    ----------
    Incropera, F. P. and DeWitt, D. P., *Fundamentals of Heat and Mass Transfer*, Table 13.2.

    Examples
    --------
    Unit cube, opposite faces (row "view-cube" of ``data/reference/shading.csv``):

    >>> round(recess_view_frac(1.0, 1.0, 1.0), 4)
    0.1998
    """
    if depth_m <= 0:
        return 1.0
    x, y = width_m / depth_m, height_m / depth_m
    root_x, root_y = np.sqrt(1 + x**2), np.sqrt(1 + y**2)
    total = (
        np.log(root_x * root_y / np.sqrt(1 + x**2 + y**2))
        + x * root_y * np.arctan(x / root_y)
        + y * root_x * np.arctan(y / root_x)
        - x * np.arctan(x)
        - y * np.arctan(y)
    )
    return float(2 / (np.pi * x * y) * total)
