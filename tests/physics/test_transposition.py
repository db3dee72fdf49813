from __future__ import annotations

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.physics.clear_sky import clear_sky
from drybox.physics.geometry import cos_incidence
from drybox.physics.sun_position import sun_position
from drybox.physics.transposition import PlaneIrradiance, transpose_perez

ANGLES = st.floats(0.0, 360.0)
SUNS = st.tuples(st.floats(-10.0, 90.0), ANGLES)
LIGHT = st.tuples(st.floats(0.0, 1100.0), st.floats(0.0, 600.0))


def plane(
    sun: tuple[float, float],
    light: tuple[float, float],
    tilt: float,
    bearing: float,
    albedo: float = 0.2,
) -> PlaneIrradiance:
    dni, dhi = light
    ghi = dhi + dni * max(np.sin(np.radians(sun[0])), 0.0)
    airmass = 1.0 / max(np.sin(np.radians(sun[0])), 0.03)
    return transpose_perez(*sun, dni, dhi, ghi, 1366.0, airmass, tilt, bearing, albedo)


def total_w_m2(found: PlaneIrradiance) -> np.ndarray:
    return np.sum(list(vars(found).values()), axis=0)


@given(SUNS, LIGHT, st.floats(0.0, 90.0), ANGLES)
@settings(max_examples=200, deadline=None)
def test_every_part_is_finite_and_the_sum_is_never_negative(
    sun: tuple[float, float], light: tuple[float, float], tilt: float, bearing: float
) -> None:
    found = plane(sun, light, tilt, bearing)
    for part in vars(found).values():
        assert np.isfinite(part).all()
    sky = found.circumsolar_w_m2 + found.isotropic_w_m2 + found.horizon_w_m2
    assert float(sky) >= -1e-9
    assert min(float(found.beam_w_m2), float(found.circumsolar_w_m2)) >= 0.0
    assert float(total_w_m2(found)) >= -1e-9


@given(st.tuples(st.floats(5.0, 90.0), ANGLES), LIGHT, ANGLES)
@settings(max_examples=100, deadline=None)
def test_lying_flat_the_plane_gets_the_global_irradiance(
    sun: tuple[float, float], light: tuple[float, float], bearing: float
) -> None:
    ghi = light[1] + light[0] * np.sin(np.radians(sun[0]))
    assert float(total_w_m2(plane(sun, light, 0.0, bearing))) == pytest.approx(ghi, abs=1e-6)


@given(SUNS, LIGHT, st.floats(0.0, 90.0), ANGLES, ANGLES)
@settings(max_examples=100, deadline=None)
def test_turning_sun_and_plane_together_changes_nothing(
    sun: tuple[float, float], light: tuple[float, float], tilt: float, bearing: float, turn: float
) -> None:
    here = plane(sun, light, tilt, bearing)
    turned = plane((sun[0], sun[1] + turn), light, tilt, bearing + turn)
    mirrored = plane((sun[0], 180.0 - sun[1]), light, tilt, 180.0 - bearing)
    assert float(total_w_m2(turned)) == pytest.approx(float(total_w_m2(here)), abs=1e-6)
    assert float(total_w_m2(mirrored)) == pytest.approx(float(total_w_m2(here)), abs=1e-6)


@given(st.tuples(st.floats(0.5, 90.0), ANGLES), LIGHT, st.floats(0.0, 90.0), ANGLES)
@settings(max_examples=150, deadline=None)
def test_the_sky_is_that_of_pvlib_plane_by_plane(
    sun: tuple[float, float], light: tuple[float, float], tilt: float, bearing: float
) -> None:
    dni, dhi = light[0], light[1] + 1.0
    found = plane(sun, (dni, dhi), tilt, bearing)
    airmass = 1.0 / max(np.sin(np.radians(sun[0])), 0.03)
    theirs = pvlib.irradiance.perez(tilt, bearing, dhi, dni, 1366.0, 90.0 - sun[0], sun[1], airmass)
    sky = found.circumsolar_w_m2 + found.isotropic_w_m2 + found.horizon_w_m2
    assert float(sky) == pytest.approx(float(theirs), abs=1e-6)


@given(SUNS, ANGLES)
def test_a_plane_aimed_at_the_sun_sees_it_square(sun: tuple[float, float], turn: float) -> None:
    elevation, azimuth = sun
    assert float(cos_incidence(elevation, azimuth, 90.0 - elevation, azimuth)) == pytest.approx(1.0)
    up = float(cos_incidence(elevation, azimuth, 0.0, turn))
    assert up == pytest.approx(np.sin(np.radians(elevation)), abs=1e-12)


@given(st.floats(0.01, 90.0), ANGLES)
def test_an_upright_plane_that_faces_the_sun_gets_its_beam_while_it_is_up(
    elevation: float, azimuth: float
) -> None:
    beam = plane((elevation, azimuth), (300.0, 50.0), 90.0, azimuth).beam_w_m2
    assert float(beam) == pytest.approx(300.0 * np.cos(np.radians(elevation)), abs=1e-9)
    assert float(plane((-elevation, azimuth), (300.0, 50.0), 90.0, azimuth).beam_w_m2) == 0.0


def test_times_and_planes_broadcast_and_the_night_is_dark() -> None:
    time = 1750456800.0 + 900.0 * np.arange(96)
    sun = sun_position(time, 48.2, 16.4)
    clear = clear_sky(time, sun, 48.2, 16.4, 200.0, 99000.0)
    light = (clear.dni_w_m2, clear.dhi_w_m2, clear.ghi_w_m2, clear.dni_extra_w_m2, clear.airmass)
    columns = [each[:, None] for each in (sun.elevation_deg, sun.azimuth_deg, *light)]
    tilt = np.array([[0.0, 30.0, 60.0, 90.0]])
    found = transpose_perez(*columns, tilt, 180.0, 0.2)
    assert total_w_m2(found).shape == found.ground_w_m2.shape == (96, 4)
    assert (total_w_m2(found)[sun.elevation_deg <= 0] == 0).all()
    one = transpose_perez(
        *(each[48] for each in (sun.elevation_deg, sun.azimuth_deg, *light)), 30.0, 180.0, 0.2
    )
    assert float(total_w_m2(one)) == pytest.approx(total_w_m2(found)[48, 1])


def test_a_southern_plane_facing_north_is_a_northern_one_facing_south() -> None:
    """The sky mirrored about east and west, and the plane with it."""
    time = 1742461290.0 + 600.0 * np.arange(-30, 31)
    totals = []
    for latitude, bearing in ((40.0, 180.0), (-40.0, 0.0)):
        sun = sun_position(time, latitude, 45.0)
        clear = clear_sky(time, sun, latitude, 45.0, 0.0, 101_325.0, 3.0)
        found = transpose_perez(
            sun.elevation_deg,
            sun.azimuth_deg,
            clear.dni_w_m2,
            clear.dhi_w_m2,
            clear.ghi_w_m2,
            clear.dni_extra_w_m2,
            clear.airmass,
            40.0,
            bearing,
            0.2,
        )
        totals.append(total_w_m2(found))
    assert totals[0].max() > 900.0
    assert np.abs(totals[0] - totals[1]).max() < 5.0
