from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.physics.sun_position import earth_sun_distance_au, sun_events, sun_position
from tests.reference import Row, rows


def position(**inputs: Any) -> list[Any]:
    sun = sun_position(**inputs)
    return [sun.elevation_deg, sun.geometric_elevation_deg, sun.azimuth_deg]


def events(**inputs: Any) -> list[float]:
    day = sun_events(**inputs)
    found = (day.sunrise_s, day.transit_s, day.sunset_s)
    return [np.nan if at is None else at - inputs["start_s"] for at in found]


QUANTITIES: dict[str, Callable[..., Any]] = {
    "sun_position": position,
    "sun_events": events,
    "earth_sun_distance_au": earth_sun_distance_au,
}


@pytest.mark.parametrize("row", rows("sun"))
def test_published_sun(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
