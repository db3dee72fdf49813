"""Runs of the simulation: the plate with no print on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step import step

Array = NDArray[np.float64]


def run_empty(
    system: BoxSystem,
    forcing: Forcing,
    member: NDArray[np.intp],
    start_s: Array,
    horizon_s: float,
    step_s: float = 60.0,
) -> tuple[Array, Array]:
    """Run the plate with no print on it, from air temperature.

    Parameters
    ----------
    system : BoxSystem
        The box.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    start_s : array
        Unix time of setting out, (n,). [s]
    horizon_s : float
        How long. [s]
    step_s : float
        Step. [s]

    Returns
    -------
    elapsed_s, plate_temp_k : array
        (times,) and (times, n). [s], [K]
    """
    elapsed, plate, _ = run_empty_box(system, forcing, member, start_s, horizon_s, step_s)
    return elapsed, plate


def run_empty_box(
    system: BoxSystem,
    forcing: Forcing,
    member: NDArray[np.intp],
    start_s: Array,
    horizon_s: float,
    step_s: float = 60.0,
) -> tuple[Array, Array, Array]:
    """Run the empty box as `run_empty` does, and return the air in it too.

    Returns
    -------
    elapsed_s, plate_temp_k, box_air_temp_k : array
        (times,), (times, n) and (times, n); without a cover the air is that outside. [s], [K], [K]
    """
    start = np.asarray(start_s, dtype=float)
    outside = forcing.at(member, start)
    system = replace(system, slots=0)  # all of it bare plate
    state = system.start(outside.air_temp_k)
    occupied = np.zeros(state.sheet_temp_k.shape, dtype=bool)
    now = rates(system, state, outside, occupied, forcing.pressure_pa)
    elapsed, plate, air = [0.0], [state.plate_temp_k], [now.box.air_temp_k]
    for end in np.arange(step_s, horizon_s + 0.5 * step_s, step_s):
        later = forcing.at(member, start + end)
        state = step(system, state, now, later, occupied, step_s, forcing.pressure_pa)
        now = rates(system, state, later, occupied, forcing.pressure_pa)
        elapsed.append(float(end))
        plate.append(state.plate_temp_k)
        air.append(now.box.air_temp_k)
    return np.array(elapsed), np.array(plate), np.array(air)
