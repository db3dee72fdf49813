"""What stands between sky and plate: obstacles on the horizon, and the bin's own walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.place import Obstacle


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
    """The sky dome in bands of elevation, cut where an obstacle begins or ends.

    ``edges_rad`` are azimuths from north, (cuts + 1,), first and last a full turn apart;
    ``up`` and ``flat`` the sine and cosine of a band's middle, ``rise`` the rise of the sine over
    it, (bands,); ``passed_frac`` is the share of light that gets through, (bands, cuts).
    """

    edges_rad: Array
    up: Array
    flat: Array
    rise: Array
    passed_frac: Array


def sky_grid(obstacles: Sequence[Obstacle], step_deg: float = 3.0) -> SkyGrid:
    """Return the dome seen past the obstacles.

    Parameters
    ----------
    obstacles : sequence of Obstacle
        What stands around.
    step_deg : float
        Height of a band; 3 degrees puts view factors within 0.002. [deg]

    Returns
    -------
    SkyGrid
        Bands and cuts.

    Notes
    -----
    A band that an obstacle's top cuts passes light in proportion to what is left of it; obstacles
    that stand before each other multiply.
    """
    low = np.deg2rad(np.arange(0.0, 90.0, step_deg))
    middle, high = low + np.deg2rad(step_deg / 2), low + np.deg2rad(step_deg)
    rise = np.sin(high) - np.sin(low)
    ends = [deg % 360.0 for o in obstacles for deg in (o.bearing_from_deg, o.bearing_to_deg)]
    edges = np.unique([0.0, *ends, 360.0])
    centre = 0.5 * (edges[1:] + edges[:-1])
    passed = np.ones((low.size, centre.size))
    for obstacle in obstacles:
        top = np.sin(np.deg2rad(obstacle.elevation_deg))
        share = np.clip((top - np.sin(low)) / rise, 0.0, 1.0)[:, None]
        within = (centre - obstacle.bearing_from_deg) % 360.0 <= _span_deg(obstacle)
        passed *= 1.0 - (1.0 - obstacle.transmittance_frac) * share * within
    return SkyGrid(np.deg2rad(edges), np.sin(middle), np.cos(middle), rise, passed)


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
    The sky is uniform. In a band of elevation ``e`` the plane takes light by the cosine ``a cos(φ -
    γ) + b``, where that is positive, with ``a = sin β cos e``, ``b = cos β sin e``; its integral
    between two azimuths is exact. Summed over bands with what passes, over the same sum with
    nothing in the way.
    """
    tilt, facing = np.broadcast_arrays(
        np.deg2rad(surface_tilt_deg)[..., None], np.deg2rad(surface_azimuth_deg)[..., None]
    )
    across, above = np.sin(tilt) * grid.flat, np.cos(tilt) * grid.up
    front = np.arccos(np.clip(-above / np.maximum(across, 1e-12), -1.0, 1.0))
    turn = across * np.sin(front) + above * front  # half of what a full turn takes in
    edge = grid.edges_rad - facing
    turns = np.floor(edge / (2 * np.pi) + 0.5)
    beside = np.clip((edge - 2 * np.pi * turns)[..., None, :], -front[..., None], front[..., None])
    taken = across[..., None] * np.sin(beside) + above[..., None] * beside
    taken = taken + 2 * turn[..., None] * turns[..., None, :]
    seen = (np.diff(taken, axis=-1) * grid.passed_frac).sum(axis=-1)
    return np.asarray((seen * grid.rise).sum(axis=-1) / (2 * turn * grid.rise).sum(axis=-1))


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

    A bin a quarter as deep (row rim-across-45):

    >>> round(float(recess_lit_frac(0.4, 0.5, 0.1, np.sqrt(0.5), 0.0, np.sqrt(0.5))), 9)
    0.75
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


def recess_strips_m(
    depth_m: float, sun_deg: tuple[Array, Array], aim_deg: tuple[float, float]
) -> tuple[Array, Array, Array]:
    """Return how far the shadow of the bin's walls reaches over the plate. [m], [m], [-]

    Parameters
    ----------
    depth_m : float
        Height of the walls above the plate. [m]
    sun_deg : tuple of array
        Elevation and azimuth of the sun. [deg]
    aim_deg : tuple of float
        Slope and bearing of the plate. [deg]

    Returns
    -------
    across, along, cosine : array
        Shadow along the left edge seen from the front (negative: the right one), along the upper
        edge (negative: the lower one), and the sun's cosine of incidence.

    Notes
    -----
    ``d s_x / s_n`` and ``d s_y / s_n``, the rim's shadow as in `recess_lit_frac`; for a sun before
    the plate. A sun clockwise of the bearing stands to the left of who faces the plate.

    Examples
    --------
    Walls of 60 mm about a level plate whose left edge looks south, the sun there 45° up:

    >>> sun = np.array(45.0), np.array(180.0)
    >>> across, along, cosine = recess_strips_m(0.06, sun, (0.0, 90.0))
    >>> round(float(across), 3), round(abs(float(along)), 3), round(float(cosine), 3)
    (0.06, 0.0, 0.707)
    """
    height, azimuth = (np.deg2rad(np.asarray(part, dtype=float)) for part in sun_deg)
    tilt, bearing = np.deg2rad(aim_deg[0]), np.deg2rad(aim_deg[1])
    turn = azimuth - bearing
    cosine = np.sin(height) * np.cos(tilt) + np.cos(height) * np.sin(tilt) * np.cos(turn)
    across = np.cos(height) * np.sin(turn)
    upslope = np.sin(height) * np.sin(tilt) - np.cos(height) * np.cos(turn) * np.cos(tilt)
    over = depth_m / np.maximum(cosine, 1e-9)
    return np.asarray(over * across), np.asarray(over * upslope), np.asarray(cosine)
