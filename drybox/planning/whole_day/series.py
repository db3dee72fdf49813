"""The time series behind a day's plan."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.day import LINES
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plan import DayPlan


def day_series(plan: DayPlan) -> tuple[Array, dict[str, Array]]:
    """Return the day by the minute: sun and air as told, and prints under way on average.

    Unix times [s], and columns named with their unit.
    """
    told, run = plan.told, plan.run
    wash, dried = run.setup.wet.wash, run.dried
    n = max(run.setup.members, 1)

    def under_way(begins: Array, ends: Array, columns: Array | None = None) -> Array:
        part = slice(None) if columns is None else columns.astype(bool)
        first, last = begins[:, part].ravel(), ends[:, part].ravel()
        known = np.isfinite(first)
        begun = np.searchsorted(np.sort(first[known]), told.time_at, side="right")
        ended = np.searchsorted(np.sort(last[known]), told.time_at, side="right")
        return np.asarray((begun - ended) / n)

    on = {
        name: np.array([way in ways for way in run.ways], dtype=float)
        for name, ways in (("plate", (PLATE,)), ("line", LINES))
    }
    on["other"] = np.array([way is not None for way in run.ways]) - on["plate"] - on["line"]
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
        "prints_on_plate": under_way(dried.laid_at, dried.left_s, on["plate"]),
        "prints_on_line": under_way(dried.laid_at, dried.left_s, on["line"]),
        "prints_on_other_ways": under_way(dried.laid_at, dried.left_s, on["other"]),
    }
