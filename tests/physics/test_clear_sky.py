from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.physics.clear_sky import (
    ClearSky,
    clear_sky,
    cloudy_sky,
    decompose_dirint,
    extraterrestrial_w_m2,
    ineichen,
    linke_climatology,
)
from drybox.physics.sun_position import SunPosition, sun_position
from drybox.tables import load_table

TIME_S = 1750456800.0 + 300.0 * np.arange(288)  # a day and a night in June 2025


def sky(
    latitude: float = 48.2, elevation_m: float = 200.0, linke: float | None = None
) -> tuple[SunPosition, ClearSky]:
    sun = sun_position(TIME_S, latitude, 16.4, elevation_m)
    return sun, clear_sky(TIME_S, sun, latitude, 16.4, elevation_m, 99000.0, linke)


@pytest.mark.parametrize("latitude", [-90.0, -45.0, 0.0, 48.2, 78.0, 90.0])
def test_the_sky_is_finite_and_dark_when_the_sun_is_down(latitude: float) -> None:
    sun, clear = sky(latitude)
    for field in vars(clear).values():
        assert np.isfinite(field).all()
    down = sun.elevation_deg <= 0
    for field in (clear.ghi_w_m2, clear.dni_w_m2, clear.dhi_w_m2):
        assert (field[down] == 0).all()
        assert (field >= 0).all()


def test_beam_and_diffuse_add_up_to_global() -> None:
    sun, clear = sky()
    sine = np.maximum(np.sin(np.radians(sun.elevation_deg)), 0.0)
    assert np.allclose(clear.dni_w_m2 * sine + clear.dhi_w_m2, clear.ghi_w_m2, atol=1e-9)


def test_haze_dims_and_height_brightens_the_beam() -> None:
    beams = [sky(linke=linke)[1].dni_w_m2.max() for linke in (2.0, 3.0, 5.0, 7.0)]
    assert beams == sorted(beams, reverse=True)
    low, high = (sky(elevation_m=height, linke=3.0)[1].dni_w_m2.max() for height in (0.0, 2000.0))
    assert high > low


def test_the_haze_used_is_told() -> None:
    assert (sky(linke=4.5)[1].linke_turbidity == 4.5).all()
    assert 2.0 < sky()[1].linke_turbidity.mean() < 6.0


@pytest.mark.parametrize("longitude", [-180.0, 180.0, 0.0])
@pytest.mark.parametrize("latitude", [-90.0, 0.0, 90.0])
def test_haze_is_known_to_the_edges_of_the_map(latitude: float, longitude: float) -> None:
    year = 1767225600.0 + 86400.0 * np.arange(365)
    haze = linke_climatology(year, latitude, longitude)
    assert np.isfinite(haze).all()
    assert (haze > 1.0).all()
    assert (haze < 12.0).all()
    assert np.abs(np.diff(haze)).max() < 0.2


@given(st.floats(0.0, 1500.0), st.floats(-20.0, 90.0))
@settings(max_examples=100, deadline=None)
def test_the_split_closes_and_no_beam_is_more_than_all_the_light(
    ghi: float, elevation: float
) -> None:
    hours = 1750456800.0 + 3600.0 * np.arange(3)
    dni, dhi = decompose_dirint(np.full(3, ghi), np.full(3, elevation), hours, 95_000.0)
    sine = max(np.sin(np.radians(elevation)), 0.0)
    assert (dni >= 0.0).all()
    assert (dhi >= -1e-9).all()
    assert dni * sine + dhi == pytest.approx(np.full(3, ghi), abs=1e-9)


def test_the_split_is_that_of_the_published_check() -> None:
    # pvlib's own check of the model: noon and evening at Tucson, one row before the other
    hours = np.array([1403636400.0, 1403658000.0])
    dni, _ = decompose_dirint([1038.62, 254.53], [90 - 10.567, 90 - 72.469], hours, 93_193.0)
    assert dni == pytest.approx([868.8, 699.7], abs=0.1)


def test_a_low_sun_does_not_run_away() -> None:
    dni, dhi = decompose_dirint([60.0] * 3, [2.0] * 3, 3600.0 * np.arange(3), 101_325.0)
    assert dni == pytest.approx(np.zeros(3))
    assert dhi == pytest.approx(np.full(3, 60.0))


def test_a_gap_in_the_light_stays_one() -> None:
    dni, _ = decompose_dirint([500.0, np.nan, 500.0], [50.0] * 3, 3600.0 * np.arange(3), 101_325.0)
    assert np.isnan(dni).tolist() == [False, True, False]


def test_no_cloud_is_the_clear_sky_and_more_cloud_is_never_brighter() -> None:
    sun, clear = sky()
    beam, all_of_it = (
        [load_table("cloud_light")[f"okta_{okta}"][name].value for okta in range(9)]
        for name in ("beam_share", "global_share")
    )
    parts = [cloudy_sky(clear, sun, cloud, beam, all_of_it) for cloud in np.linspace(0, 1, 17)]
    for ours, theirs in zip(
        parts[0], (clear.ghi_w_m2, clear.dni_w_m2, clear.dhi_w_m2), strict=True
    ):
        assert np.allclose(ours, theirs, atol=1e-9)
    for less, more in pairwise(parts):
        assert (more[0] <= less[0] + 1e-9).all()
        assert (more[1] <= less[1] + 1e-9).all()
    for ghi, dni, dhi in parts:
        assert (dhi >= -1e-9).all()
        sine = np.maximum(np.sin(np.radians(sun.elevation_deg)), 0.0)
        assert np.allclose(dni * sine + dhi, ghi, atol=1e-9)


def test_the_sun_outside_the_air_is_strongest_in_early_january() -> None:
    days = 1767225600.0 + 86400.0 * np.arange(365)
    extra = extraterrestrial_w_m2(days)
    assert int(np.argmax(extra)) < 6
    assert 182 < int(np.argmin(extra)) < 190
    assert extra.mean() == pytest.approx(1366.1, rel=5e-4)


def test_thinner_air_lets_more_direct_light_through_as_a_shorter_way_does() -> None:
    sun = sun_position(TIME_S, 48.2, 16.4)
    low, high = (clear_sky(TIME_S, sun, 48.2, 16.4, 0.0, p, 3.0) for p in (101_325.0, 81_060.0))
    wanted = ineichen(
        sun.elevation_deg, 0.8 * low.airmass, np.full(TIME_S.shape, 3.0), 0.0, low.dni_extra_w_m2
    )
    assert np.asarray([high.ghi_w_m2, high.dni_w_m2, high.dhi_w_m2]) == pytest.approx(
        np.asarray(wanted)
    )
    day = sun.elevation_deg > 5.0
    assert np.all(high.dni_w_m2[day] > low.dni_w_m2[day])
