from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.physics.geometry import cos_incidence
from tests.reference import Row, rows


def incidence_deg(**inputs: float) -> Any:
    return np.degrees(np.arccos(cos_incidence(**inputs)))


def solar_time_sun_deg(declination_deg: float, hour_angle_deg: float, latitude_deg: float) -> Any:
    """Zenith, and azimuth from south, west positive: planes looking up, north and west.

    Seen against the equator instead of the horizon, the sun's "elevation" is its declination
    and its "azimuth" the hour angle; the place's own directions are tilted planes there.
    """
    sun = (declination_deg, hour_angle_deg)
    up = cos_incidence(*sun, 90.0 - latitude_deg, 0.0)
    north = cos_incidence(*sun, latitude_deg, 180.0)
    west = cos_incidence(*sun, 90.0, 90.0)
    return [np.degrees(np.arccos(up)), np.degrees(np.arctan2(west, -north))]


def plane_cosines(tilt_deg: float, surface_azimuth_deg: float, **solar_time: float) -> Any:
    zenith, azimuth = solar_time_sun_deg(**solar_time)
    on_plane = cos_incidence(90.0 - zenith, azimuth + 180.0, tilt_deg, surface_azimuth_deg + 180.0)
    return on_plane, np.cos(np.radians(zenith))


def solar_time_incidence_deg(**inputs: float) -> Any:
    return np.degrees(np.arccos(plane_cosines(**inputs)[0]))


def beam_ratio(**inputs: float) -> Any:
    on_plane, on_ground = plane_cosines(**inputs)
    return on_plane / on_ground


QUANTITIES: dict[str, Callable[..., Any]] = {
    "cos_incidence": cos_incidence,
    "incidence_deg": incidence_deg,
    "solar_time_sun_deg": solar_time_sun_deg,
    "solar_time_incidence_deg": solar_time_incidence_deg,
    "beam_ratio": beam_ratio,
}


@pytest.mark.parametrize("row", rows("geometry"))
def test_published_geometry(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
