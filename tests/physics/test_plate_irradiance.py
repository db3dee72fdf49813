"""Light on the plate, part by part: each kind of light alone, through bin and cover."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.inputs.event.place import Obstacle
from drybox.physics.cover import (
    black_paint_absorptance_ratio,
    cover_optics,
    effective_ground_angle_rad,
    effective_sky_angle_rad,
)
from drybox.physics.plate_irradiance import FLAT, PlateLight, Recess, SkyLight, plate_light
from drybox.physics.shading import obstacle_transmittance, sky_grid, sky_seen_frac

NOTHING = sky_grid(())
GLASS = (1.526, 16.0, 0.003)
OPEN_BIN = Recess(0.4, 0.5, 0.0)
UNDER_GLASS = Recess(0.4, 0.5, 0.0, *GLASS)
TILT_DEG, BEARING_DEG = 40.0, 170.0


def sky(
    elevation_deg: float, azimuth_deg: float, dni: float = 0.0, dhi: float = 0.0, ghi: float = 0.0
) -> SkyLight:
    each = (elevation_deg, azimuth_deg, ghi, dni, dhi, 1361.0, 1.5)
    return SkyLight(*(np.array([value]) for value in each))


def light(of: SkyLight, recess: Recess, albedo_frac: float = 0.0) -> PlateLight:
    return plate_light(of, TILT_DEG, BEARING_DEG, albedo_frac, (), NOTHING, recess)


def beam_angle_rad(elevation_deg: float, azimuth_deg: float) -> float:
    """Return the angle between sun and face from their unit vectors: east, north, up."""

    def towards(height_deg: float, bearing_deg: float) -> NDArray[np.float64]:
        height, bearing = np.radians(height_deg), np.radians(bearing_deg)
        level = np.cos(height)
        return np.array([level * np.sin(bearing), level * np.cos(bearing), np.sin(height)])

    face = towards(90.0 - TILT_DEG, BEARING_DEG)
    return float(np.arccos(face @ towards(elevation_deg, azimuth_deg)))


@pytest.mark.parametrize("sun", [(50.0, 170.0), (30.0, 120.0), (15.0, 250.0)])
def test_a_beam_is_cut_by_its_slant_the_paint_and_the_cover(sun: tuple[float, float]) -> None:
    beam, angle = sky(*sun, dni=800.0), beam_angle_rad(*sun)
    falls = 800.0 * np.cos(angle)
    black = float(black_paint_absorptance_ratio(np.array(angle)))
    glass = cover_optics(np.array(angle), *GLASS)
    bare, painted, covered = (
        light(beam, each) for each in (replace(OPEN_BIN, black=False), OPEN_BIN, UNDER_GLASS)
    )
    for each in (bare, painted, covered):
        assert each.plate_irradiance_w_m2 == pytest.approx(falls)
        assert each.beam_w_m2 == pytest.approx(falls)
    assert bare.inside_w_m2 == pytest.approx(falls)
    assert painted.inside_w_m2 == pytest.approx(falls * black)
    assert covered.inside_w_m2 == pytest.approx(falls * black * glass.transmittance_frac)
    assert covered.cover_absorbed_w_m2 == pytest.approx(falls * glass.absorptance_frac)
    assert bare.cover_absorbed_w_m2 == painted.cover_absorbed_w_m2 == 0.0


def test_sky_and_ground_pass_the_cover_at_their_effective_angles() -> None:
    tilt = np.array(np.radians(TILT_DEG))
    even = sky(-1.0, 90.0, dhi=200.0)  # with the sun down the sky is even
    ground = sky(-1.0, 90.0, ghi=200.0)
    for weather, angle, share in (
        (even, effective_sky_angle_rad(tilt), 0.5 * (1 + np.cos(tilt))),
        (ground, effective_ground_angle_rad(tilt), 0.25 * 0.5 * (1 - np.cos(tilt))),
    ):
        bare, covered = (light(weather, each, 0.25) for each in (OPEN_BIN, UNDER_GLASS))
        glass = cover_optics(angle, *GLASS)
        assert bare.inside_w_m2 == pytest.approx(200.0 * share)
        assert covered.plate_irradiance_w_m2 == pytest.approx(200.0 * share)
        assert covered.inside_w_m2 == pytest.approx(200.0 * share * glass.transmittance_frac)
        assert covered.cover_absorbed_w_m2 == pytest.approx(200.0 * share * glass.absorptance_frac)
        assert covered.beam_w_m2 == 0.0


def test_a_cover_that_is_air_changes_nothing_and_the_night_is_dark() -> None:
    weather = sky(35.0, 140.0, 600.0, 150.0, 500.0)
    air = replace(UNDER_GLASS, cover_index=1.0, cover_extinction_1_m=0.0)
    none, bare = light(weather, air, 0.2), light(weather, OPEN_BIN, 0.2)
    assert none.inside_w_m2 == pytest.approx(bare.inside_w_m2)
    assert none.cover_absorbed_w_m2 == pytest.approx(0.0)
    night = light(sky(-20.0, 0.0), UNDER_GLASS, 0.2)
    assert night.plate_irradiance_w_m2 == night.inside_w_m2 == night.cover_absorbed_w_m2 == 0.0


def test_walls_take_light_and_view_and_a_level_face_sees_all_the_sky() -> None:
    weather = sky(35.0, 140.0, 600.0, 150.0, 500.0)
    depths = [light(weather, replace(FLAT, depth_m=depth), 0.2) for depth in (0.0, 0.1, 0.3)]
    for name in ("plate_irradiance_w_m2", "beam_w_m2", "sky_view_frac"):
        falling = [float(getattr(each, name)[()].item()) for each in depths]
        assert falling[0] > falling[1] > falling[2] > 0.0, name
    assert depths[0].sky_view_frac == pytest.approx(0.5 * (1 + np.cos(np.radians(TILT_DEG))))
    level, upright = (
        plate_light(weather, tilt, 0.0, 0.2, (), NOTHING).sky_view_frac for tilt in (0.0, 90.0)
    )
    assert (level, upright) == (pytest.approx(1.0), pytest.approx(0.5))


def test_a_sun_straight_above_or_below_the_axis_is_cut_by_the_walls_across_the_slope() -> None:
    for elevation in (30.0, 70.0):  # the face looks 50 degrees up
        beam = sky(elevation, BEARING_DEG, dni=800.0)
        free = light(beam, OPEN_BIN).beam_w_m2
        for width in (0.05, 5.0):
            cut = light(beam, Recess(width, 0.5, 0.1)).beam_w_m2
            assert cut / free == pytest.approx(1.0 - 0.1 / 0.5 * np.tan(np.radians(20.0)))


def test_a_low_sun_beside_the_bin_is_cut_by_the_walls_along_the_slope() -> None:
    upright = (90.0, BEARING_DEG, 0.0, (), NOTHING)
    beam = sky(0.001, BEARING_DEG + 30.0, dni=800.0)
    free = plate_light(beam, *upright).beam_w_m2
    for height in (0.05, 5.0):
        cut = plate_light(beam, *upright, Recess(0.5, height, 0.1)).beam_w_m2
        assert cut / free == pytest.approx(1.0 - 0.1 / 0.5 * np.tan(np.radians(30.0)), rel=1e-4)


AROUND = (
    Obstacle("wall", 330.0, 40.0, 45.0),
    Obstacle("house", 90.0, 150.0, 30.0),
    Obstacle("tree", 200.0, 230.0, 60.0, 0.4),
)


@pytest.mark.parametrize("tilt_deg", [0.0, 35.0, 90.0])
@pytest.mark.parametrize("bearing_deg", [0.0, 110.0, 215.0, 355.0])
def test_the_sky_seen_is_that_of_many_small_patches_of_the_dome(
    tilt_deg: float, bearing_deg: float
) -> None:
    height, around = np.meshgrid(np.arange(0.25, 90.0, 0.5), np.arange(0.5, 360.0, 1.0))
    tilt, up = np.radians(tilt_deg), np.radians(height)
    turn = np.radians(around - bearing_deg)
    slant = np.sin(tilt) * np.cos(up) * np.cos(turn) + np.cos(tilt) * np.sin(up)
    taken = np.maximum(slant, 0.0) * np.cos(up)
    passed = obstacle_transmittance(AROUND, around, height)
    found = sky_seen_frac(sky_grid(AROUND), np.array(tilt_deg), np.array(bearing_deg))
    # bands of 3 degrees put view factors within 0.002
    assert float(found) == pytest.approx((taken * passed).sum() / taken.sum(), abs=0.002)


def test_behind_obstacles_the_plate_keeps_the_share_of_the_even_sky_that_it_sees() -> None:
    even = sky(-1.0, 90.0, dhi=200.0)
    grid = sky_grid(AROUND)
    seen = sky_seen_frac(grid, np.array(TILT_DEG), np.array(BEARING_DEG))
    free = light(even, FLAT)
    cut = plate_light(even, TILT_DEG, BEARING_DEG, 0.0, AROUND, grid)
    assert cut.plate_irradiance_w_m2 == pytest.approx(seen * free.plate_irradiance_w_m2)
    assert cut.sky_view_frac == pytest.approx(seen * free.sky_view_frac)
    dark = plate_light(sky(20.0, 120.0, dni=700.0), TILT_DEG, BEARING_DEG, 0.0, AROUND, grid)
    assert dark.beam_w_m2 == 0.0, "behind the house"
