"""The one run behind an answer in which everything is as told, minute by minute."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import DryingRun, run_empty
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step_control import Pace
from drybox.planning.one_print.drying import AIR_HORIZON_S, PLATE_HORIZON_S, aim_for, horizon_s
from drybox.planning.one_print.lay_print import lay_print
from drybox.planning.one_print.ways import DryResult, WayResult
from drybox.planning.scenario.conditions import STEP_S, Conditions
from drybox.planning.scenario.models import (
    PrintDraw,
    box_system,
    free_sheet_system,
    warm_plate_system,
)
from drybox.planning.scenario.outside import plate_forcing, plate_start_s, sheet_forcing
from drybox.planning.scenario.percentiles import or_never
from drybox.planning.scenario.samples import Ensemble, as_told
from drybox.tables import look_up
from drybox.units import KELVIN_AT_0_C

Array = NDArray[np.float64]
Columns = dict[str, Array]
ONE = np.zeros(1, dtype=np.intp)


def told_series(event: Event, result: DryResult) -> tuple[Array, Columns]:
    """Return the minutes of the as-told run: the sun plate, and the best of the other ways.

    Parameters
    ----------
    event : Event
        Place, box, paper and weather.
    result : DryResult
        What `dry_print` gave for it.

    Returns
    -------
    time_s, columns : array, dict of str to array
        Unix times from setting out to over-dry, and columns named with their unit. NaN where a
        print is not yet, or no longer, followed. [s]

    Notes
    -----
    No draw: weather as told, box and print at the middle of their ranges. Moisture is all the
    water in and on the print, and in blotters that dry with it, per area of print.
    """
    day, laid_on_s = result.told, result.laid_on_s
    told, grid = as_told(day, event.fit), day.time_s
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
    last = laid_on_s
    plate = next((way for way in result.ways if way.way == "sun_plate"), None)
    if plate is not None and result.bearing_deg is not None:
        added, end = _plate_columns(event, day, told, plate, laid_on_s)
        columns |= added
        last = max(last, end)
    other = _other(result)
    if other is not None:
        added, end = _other_columns(event, told, other.way, laid_on_s)
        columns |= added
        last = max(last, end)
    kept = grid <= last + STEP_S
    return grid[kept], {name: values[kept] for name, values in columns.items()}


def _other(result: DryResult) -> WayResult | None:
    """Return the chosen way, or the soonest, besides the sun plate."""
    others = [way for way in result.ways if way.way != "sun_plate"]
    if result.choice is not None and result.choice.way != "sun_plate":
        return result.choice
    return min(others, key=lambda way: or_never(way.duration_s.p50), default=None)


def _plate_columns(
    event: Event, day: Conditions, told: Ensemble, plate: WayResult, laid_on_s: float
) -> tuple[Columns, float]:
    bearing, tilt, _ = aim_for(event, day, laid_on_s, plate.held_below_k)
    forcing = plate_forcing(told, event.place, event.box, bearing, tilt)
    system = box_system(event.box, event.paper, told.prints)
    out = max(forcing.start_s, plate_start_s(event, laid_on_s))
    elapsed, empty = run_empty(system, forcing, ONE, np.array([out]), laid_on_s - out)
    horizon = horizon_s(event, laid_on_s, PLATE_HORIZON_S)
    run = _recorded(event, told.prints, system, forcing, empty[-1], laid_on_s, horizon, 60.0)
    grid, after = day.time_s, laid_on_s + run.elapsed_s
    times = np.concatenate([out + elapsed[:-1], after])
    plate_k = np.concatenate([empty[:-1, 0], run.series["plate_temp_k"][:, 0]])
    found = {
        "bearing_true_deg": bearing,
        "tilt_deg": tilt,
        "plate_irradiance_w_m2": forcing.values[0, 0],
        "plate_temp_c": _at(grid, times, plate_k) - KELVIN_AT_0_C,
        "patch_temp_c": _at(grid, after, run.series["patch_temp_k"]) - KELVIN_AT_0_C,
    }
    return found | _print_columns("sun_plate", grid, after, run), float(after[-1])


def _other_columns(
    event: Event, told: Ensemble, way: str, laid_on_s: float
) -> tuple[Columns, float]:
    day = told.conditions
    facing = float(day.sun.azimuth_deg[np.searchsorted(day.time_s, laid_on_s)])
    forcing = sheet_forcing(told, event.place, way, facing, event.powered)
    start = forcing.at(ONE, np.array([laid_on_s])).air_temp_k
    if way == "warm_plate" and event.powered is not None:
        system = warm_plate_system(event.box, event.paper, event.powered, told.prints)
        set_temp_k = event.powered.plate_temp_k or 323.15
        start = np.maximum(start, set_temp_k - system.plate.heater_band_k)
    else:
        system = free_sheet_system(event.paper, way, told.prints)
    horizon = horizon_s(event, laid_on_s, AIR_HORIZON_S)
    held = look_up("ways", way, "way of drying")
    blotter = held["blotter_mass"].value if "blotter_mass" in held else 0.0
    largest = 25.0 if WAY[way].sunny else 60.0
    run = _recorded(
        event, told.prints, system, forcing, start, laid_on_s, horizon, largest, blotter
    )
    after = laid_on_s + run.elapsed_s
    return _print_columns(way, day.time_s, after, run), float(after[-1])


def _recorded(
    event: Event,
    prints: PrintDraw,
    system: BoxSystem,
    forcing: Forcing,
    plate_temp_k: Array,
    laid_on_s: float,
    horizon: float,
    largest_s: float,
    blotter_kg_m2: float = 0.0,
) -> DryingRun:
    return lay_print(
        event,
        system,
        forcing,
        member=ONE,
        prints=prints,
        laid_on_s=np.array([laid_on_s]),
        plate_temp_k=plate_temp_k,
        horizon_s=horizon,
        blotter_kg_m2=blotter_kg_m2,
        pace=Pace(largest_s=largest_s),
        record=True,
    )


def _print_columns(way: str, grid: Array, after: Array, run: DryingRun) -> Columns:
    return {
        f"{way}_print_temp_c": _at(grid, after, run.series["sheet_temp_k"]) - KELVIN_AT_0_C,
        f"{way}_moisture_g_m2": 1e3 * _at(grid, after, run.series["water_kg_m2"]),
    }


def _at(grid: Array, times: Array, values: Array) -> Array:
    """Return a recorded series at the minutes wanted, NaN outside what was recorded."""
    flat = np.asarray(values).reshape(times.size)
    return np.interp(grid, times, flat, left=np.nan, right=np.nan)
