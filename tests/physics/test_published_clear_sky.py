from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.physics import clear_sky
from drybox.physics.sun_position import sun_position
from tests.reference import Row, rows

NEW_YEAR_2025_S = 1735689600.0


def day_with_declination_s(day: int) -> float:
    """Return the noon near a day of 2025 when the sun has Cooper's declination for that day.

    At the pole the sun's elevation is its declination.
    """
    wanted = 23.45 * np.sin(np.radians(360.0 * (284 + day) / 365.0))
    hours = NEW_YEAR_2025_S + 86400.0 * (day - 0.5) + 3600.0 * np.arange(-96, 97)
    found = sun_position(hours, 90.0, 0.0).geometric_elevation_deg
    return float(hours[np.argmin(np.abs(found - wanted))])


def daily_extraterrestrial_mj_m2(latitude_deg: float, days: list[int]) -> list[float]:
    sums = []
    for day in days:
        time = day_with_declination_s(day) + 60.0 * (np.arange(1440) - 719.5)
        sun = sun_position(time, latitude_deg, 0.0)
        sine = np.maximum(np.sin(np.radians(sun.geometric_elevation_deg)), 0.0)
        sums.append(float(np.sum(clear_sky.extraterrestrial_w_m2(time) * sine)) * 60.0 / 1e6)
    return sums


QUANTITIES: dict[str, Callable[..., Any]] = {
    "relative_airmass": clear_sky.relative_airmass,
    "extraterrestrial_w_m2": clear_sky.extraterrestrial_w_m2,
    "daily_extraterrestrial_mj_m2": daily_extraterrestrial_mj_m2,
    "ineichen": clear_sky.ineichen,
    "linke_climatology": clear_sky.linke_climatology,
}


@pytest.mark.parametrize("row", rows("clear_sky"))
def test_published_clear_sky(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
