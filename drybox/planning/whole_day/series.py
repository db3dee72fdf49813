"""The time series behind a day's plan."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array, Flags
from drybox.inputs.event.day import LINES
from drybox.inputs.event.ways import WAY
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plan import DayPlan


def day_series(plan: DayPlan) -> tuple[Array, dict[str, Array]]:
    """Return the day by the minute: sun and air as told, and prints under way on average.

    Unix times [s], and columns named with their unit.
    """
    told, run = plan.told, plan.run
    wash, dried = run.setup.wet.wash, run.dried

    def under_way(begins: Array, ends: Array, columns: Flags | slice = slice(None)) -> Array:
        first, last = begins[:, columns].ravel(), ends[:, columns].ravel()
        known = np.isfinite(first)
        begun = np.searchsorted(np.sort(first[known]), told.time_at, side="right")
        ended = np.searchsorted(np.sort(last[known]), told.time_at, side="right")
        return np.asarray((begun - ended) / run.setup.members)

    plate, line, dried_here = (
        np.array([way in ways for way in run.ways], dtype=bool) for ways in ((PLATE,), LINES, WAY)
    )
    return told.time_at, {
        "sun_elevation_deg": told.sun.elevation_deg,
        "sun_azimuth_deg": told.sun.azimuth_deg,
        "ghi_w_m2": told.ghi_w_m2,
        "dni_w_m2": told.dni_w_m2,
        "air_temp_c": told.air_temp_k - 273.15,
        "wind_10m_m_s": told.wind_10m_m_s,
        "prints_in_wash": under_way(
            np.where(run.setup.wet.short, np.inf, wash.begun_at), wash.washed_at
        ),
        "prints_on_plate": under_way(dried.laid_at, dried.left_at, plate),
        "prints_on_line": under_way(dried.laid_at, dried.left_at, line),
        "prints_on_other_ways": under_way(
            dried.laid_at, dried.left_at, dried_here & ~plate & ~line
        ),
    }
