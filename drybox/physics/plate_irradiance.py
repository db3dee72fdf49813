"""Light on the plate: sun and sky past the obstacles, over the bin's walls, through the cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from drybox.arrays import Array
from drybox.inputs.event.place import Obstacle
from drybox.physics.cover import (
    black_paint_absorptance_ratio,
    cover_optics,
    effective_ground_angle_rad,
    effective_sky_angle_rad,
)
from drybox.physics.geometry import cos_incidence
from drybox.physics.shading import (
    SkyGrid,
    obstacle_transmittance,
    recess_lit_frac,
    recess_view_frac,
    sky_seen_frac,
)
from drybox.physics.transposition import transpose_perez


@dataclass(frozen=True)
class SkyLight:
    """Sun and sky, arrays of shapes that broadcast: (times,), (members, times) or (times, 1)."""

    sun_elevation_deg: Array
    sun_azimuth_deg: Array
    ghi_w_m2: Array
    dni_w_m2: Array
    dhi_w_m2: Array
    dni_extra_w_m2: Array
    airmass: Array

    def at(self, index: Any) -> SkyLight:
        """Return sun and sky at some of the times, by a NumPy index of its arrays."""
        return SkyLight(*(np.asarray(getattr(self, each.name))[index] for each in fields(self)))


@dataclass(frozen=True)
class Recess:
    """A plate at the bottom of a bin, and the optics of its cover (None: open).

    A ``black`` plate takes in less of a slanting beam, as flat paint does. ``shade_felt_frac``
    is how much of the walls' shadow is felt where prints lie, see `shade_felt_frac`; 1 is the mean
    over the plate.
    """

    width_m: float
    height_m: float
    depth_m: float
    cover_index: float | None = None
    cover_extinction_1_m: float = 0.0
    cover_thickness_m: float = 0.0
    black: bool = True
    shade_felt_frac: float = 1.0


FLAT = Recess(1.0, 1.0, 0.0, black=False)
"""A surface with no walls and no cover, such as a print on a line."""


@dataclass(frozen=True)
class PlateLight:
    """Light on a plate, as felt in its middle; arrays of the broadcast shape.

    ``plate_irradiance_w_m2`` falls on the plane of the plate past obstacles and walls, outside
    any cover; ``inside_w_m2`` reaches the plate; ``cover_absorbed_w_m2`` stays in the cover;
    ``sky_view_frac`` is the share of the plate's half-space that is open sky.
    """

    plate_irradiance_w_m2: Array
    inside_w_m2: Array
    cover_absorbed_w_m2: Array
    beam_w_m2: Array
    sky_view_frac: Array


def plate_light(
    sky: SkyLight,
    tilt_deg: ArrayLike,
    bearing_deg: ArrayLike,
    albedo_frac: float,
    obstacles: Sequence[Obstacle],
    grid: SkyGrid,
    recess: Recess = FLAT,
) -> PlateLight:
    """Return the light on a plate at each instant and aim.

    Parameters
    ----------
    sky : SkyLight
        Sun and sky.
    tilt_deg, bearing_deg : array_like
        Aim of the plate's face: slope from level, bearing from true north. [deg]
    albedo_frac : float
        Share of light the ground sends back. [-]
    obstacles : sequence of Obstacle
        What stands around the box.
    grid : SkyGrid
        The dome past the same obstacles, made once.
    recess : Recess
        Walls and cover.

    Returns
    -------
    PlateLight
        Means over the plate. [W/m²]

    Notes
    -----
    Beam and circumsolar light are cut by obstacles and by the walls' shadow; the even sky and the
    horizon band by the share of sky still seen and by the view to the opening; ground light by the
    view to the opening. Light that obstacles or walls send back is left out, so the plate gets a
    little more than this beside a white wall.

    References
    ----------
    See `transpose_perez`; cover at the effective angles of Brandemuehl and Beckman as given in
    Duffie and Beckman, eq. 5.4.1 and 5.4.2.
    """
    parts = transpose_perez(
        sky.sun_elevation_deg,
        sky.sun_azimuth_deg,
        sky.dni_w_m2,
        sky.dhi_w_m2,
        sky.ghi_w_m2,
        sky.dni_extra_w_m2,
        sky.airmass,
        tilt_deg,
        bearing_deg,
        albedo_frac,
    )
    tilt = np.deg2rad(np.asarray(tilt_deg, dtype=float))
    turn = np.deg2rad(sky.sun_azimuth_deg - np.asarray(bearing_deg, dtype=float))
    height = np.deg2rad(sky.sun_elevation_deg)
    normal = cos_incidence(sky.sun_elevation_deg, sky.sun_azimuth_deg, tilt_deg, bearing_deg)
    across = np.cos(height) * np.sin(turn)
    upslope = np.sin(height) * np.sin(tilt) - np.cos(height) * np.cos(turn) * np.cos(tilt)
    lit = recess_lit_frac(recess.width_m, recess.height_m, recess.depth_m, across, upslope, normal)
    lit = np.where(normal > 0, 1.0 - recess.shade_felt_frac * (1.0 - lit), 0.0)
    passed = obstacle_transmittance(obstacles, sky.sun_azimuth_deg, sky.sun_elevation_deg)
    view = recess_view_frac(recess.width_m, recess.height_m, recess.depth_m)
    seen = sky_seen_frac(grid, np.asarray(tilt_deg), np.asarray(bearing_deg)) if obstacles else 1.0

    beam = (parts.beam_w_m2 + parts.circumsolar_w_m2) * lit * passed
    diffuse = np.maximum(parts.isotropic_w_m2 + parts.horizon_w_m2, 0.0) * seen * view
    ground = parts.ground_w_m2 * view
    beam_angle = np.minimum(np.arccos(np.clip(normal, 0.0, 1.0)), np.deg2rad(89.9))
    inside, absorbed = _through_cover(recess, tilt, beam_angle, beam, diffuse, ground)
    open_sky = 0.5 * (1 + np.cos(tilt)) * seen * view
    return PlateLight(
        plate_irradiance_w_m2=np.asarray(beam + diffuse + ground),
        inside_w_m2=np.asarray(inside),
        cover_absorbed_w_m2=np.asarray(absorbed),
        beam_w_m2=np.asarray(beam),
        sky_view_frac=np.asarray(open_sky),
    )


def _through_cover(
    recess: Recess, tilt_rad: Array, beam_rad: Array, beam: Array, diffuse: Array, ground: Array
) -> tuple[Array, Array]:
    """Return light inside the cover (slanting beam less, for black paint), and what it absorbs."""
    slant = black_paint_absorptance_ratio(beam_rad) if recess.black else 1.0
    if recess.cover_index is None:
        inside = beam * slant + diffuse + ground
        return np.asarray(inside), np.zeros_like(inside)
    parts = (
        (beam, beam_rad, slant),
        (diffuse, effective_sky_angle_rad(tilt_rad), 1.0),
        (ground, effective_ground_angle_rad(tilt_rad), 1.0),
    )
    inside, absorbed = np.zeros(np.shape(beam)), np.zeros(np.shape(beam))
    for part, angle, share in parts:
        optics = cover_optics(
            angle, recess.cover_index, recess.cover_extinction_1_m, recess.cover_thickness_m
        )
        inside = inside + part * optics.transmittance_frac * share
        absorbed = absorbed + part * optics.absorptance_frac
    return inside, absorbed
