"""The one run behind an answer in which everything is as told, minute by minute."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY
from drybox.physics.simulation.run import DryingRun
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.one_print.drying import (
    AIR_HORIZON_S,
    PLATE_HORIZON_S,
    OnPlate,
    aim_for,
    run_on_plate,
    run_other_way,
)
from drybox.planning.one_print.ways import DryResult, WayResult
from drybox.planning.scenario.conditions import STEP_S, Conditions
from drybox.planning.scenario.outside import horizon_s, plate_start_s
from drybox.planning.scenario.percentiles import or_never
from drybox.planning.scenario.samples import Ensemble, nominal
from drybox.units import KELVIN_AT_0_C

Columns = dict[str, Array]


def told_series(event: Event, result: DryResult) -> tuple[Array, Columns]:
    """Return the minutes of the as-told run: the sun plate, and the best of the other ways.

    Unix times from setting out to over-dry, and columns named with their unit, NaN where a print is
    not yet, or no longer, followed; ``result`` is what `dry_print` gave for the event. [s]

    No draw: weather as told, box and print at the middle of their ranges. Moisture is all the
    water in and on the print, and in blotters that dry with it, per area of print.
    """
    day, laid_on_at = result.told, result.laid_on_at
    told, grid = nominal(day, event.fit), day.time_at
    columns: Columns = {
        "sun_elevation_deg": day.sun.elevation_deg,
        "sun_azimuth_deg": day.sun.azimuth_deg,
        "ghi_w_m2": day.ghi_w_m2,
        "dni_w_m2": day.dni_w_m2,
        "dhi_w_m2": day.dhi_w_m2,
        "air_temp_c": day.air_temp_k - KELVIN_AT_0_C,
        "humidity_frac": day.humidity_frac,
        "wind_10m_m_s": day.wind_10m_m_s,
    }
    last = laid_on_at
    plate = next((way for way in result.ways if way.way == "sun_plate"), None)
    if plate is not None and result.bearing_deg is not None:
        added, end = _plate_columns(event, day, told, plate=plate, laid_on_at=laid_on_at)
        columns |= added
        last = max(last, end)
    others = [way for way in result.ways if way.way != "sun_plate"]
    other = min(others, key=lambda way: or_never(way.duration_s.p50), default=None)
    if result.choice in others:
        other = result.choice
    if other is not None:
        added, end = _other_columns(event, told, other.way, laid_on_at=laid_on_at)
        columns |= added
        last = max(last, end)
    kept = grid <= last + STEP_S
    return grid[kept], {name: values[kept] for name, values in columns.items()}


def _plate_columns(
    event: Event, day: Conditions, told: Ensemble, *, plate: WayResult, laid_on_at: float
) -> tuple[Columns, float]:
    aim = aim_for(event, day, laid_on_at, hold_k=plate.held_below_k)[0]
    (found,) = run_on_plate(
        [OnPlate(event, aim, plate_start_s(event, laid_on_at))],
        told,
        laid_on_at,
        horizon_s=horizon_s(event, laid_on_at, PLATE_HORIZON_S),
        control=StepControl(largest_s=60.0),
        record=True,
    )
    grid, run, after = day.time_at, found.run, laid_on_at + found.run.elapsed_s
    times = np.concatenate([found.warming_at[:-1], after])
    plate_k = np.concatenate([found.warming_k[:-1, 0], run.series["plate_temp_k"][:, 0]])
    columns = {
        "bearing_true_deg": aim[0],
        "tilt_deg": aim[1],
        "plate_irradiance_w_m2": found.forcing.values[0, 0],
        "plate_temp_c": _at(grid, times, plate_k) - KELVIN_AT_0_C,
        "patch_temp_c": _at(grid, after, run.series["patch_temp_k"]) - KELVIN_AT_0_C,
    }
    return columns | _print_columns("sun_plate", grid, after, run=run), float(after[-1])


def _other_columns(
    event: Event, told: Ensemble, way: str, *, laid_on_at: float
) -> tuple[Columns, float]:
    run = run_other_way(
        event,
        told,
        way,
        laid_on_at=laid_on_at,
        horizon_s=horizon_s(event, laid_on_at, AIR_HORIZON_S),
        control=StepControl(largest_s=25.0 if WAY[way].sunny else 60.0),
        record=True,
    )
    after = laid_on_at + run.elapsed_s
    return _print_columns(way, told.conditions.time_at, after, run=run), float(after[-1])


def _print_columns(way: str, grid: Array, after: Array, *, run: DryingRun) -> Columns:
    return {
        f"{way}_print_temp_c": _at(grid, after, run.series["sheet_temp_k"]) - KELVIN_AT_0_C,
        f"{way}_moisture_g_m2": 1e3 * _at(grid, after, run.series["water_kg_m2"]),
    }


def _at(grid: Array, times: Array, values: Array) -> Array:
    """Return a recorded series at the minutes wanted, NaN outside what was recorded."""
    flat = np.asarray(values).reshape(times.size)
    return np.interp(grid, times, flat, left=np.nan, right=np.nan)
