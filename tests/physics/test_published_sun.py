from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from drybox.physics.sun_position import earth_sun_distance_au, sun_events, sun_position
from tests.reference import Row, rows


def position(**inputs: Any) -> list[Any]:
    sun = sun_position(**inputs)
    return [sun.elevation_deg, sun.geometric_elevation_deg, sun.azimuth_deg]


def events(**inputs: Any) -> list[float]:
    day = sun_events(**inputs)
    found = (day.sunrise_at, noon_s(**inputs), day.sunset_at)
    return [np.nan if at is None else at - inputs["start_s"] for at in found]


def noon_s(start_s: float, end_s: float, **place: float) -> float:
    """Return when the sun of `sun_position` crosses the meridian in the middle of the day."""

    def east(time_s: float) -> float:
        return float(np.sin(np.radians(sun_position(time_s, **place).azimuth_deg)))

    quarter = 0.25 * (end_s - start_s)
    return float(brentq(east, start_s + quarter, end_s - quarter))


QUANTITIES: dict[str, Callable[..., Any]] = {
    "sun_position": position,
    "sun_events": events,
    "earth_sun_distance_au": earth_sun_distance_au,
}


@pytest.mark.parametrize("row", rows("sun"))
def test_published_sun(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
