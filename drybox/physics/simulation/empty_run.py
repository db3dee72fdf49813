"""Runs of the simulation: the plate with no print on it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step import Course

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
    system = replace(system, slots=0)  # all of it bare plate
    state = system.start(forcing.at(member, start).air_temp_k)
    box = Course(system, forcing, member, clock_s=start, state=state)
    ends = np.arange(step_s, horizon_s + 0.5 * step_s, step_s)
    plate, air = [state.plate_temp_k], [box.now.box.air_temp_k]
    for end in ends:
        box.step_to(start + end, step_s)
        plate.append(box.state.plate_temp_k)
        air.append(box.now.box.air_temp_k)
    return np.append(0.0, ends), np.array(plate), np.array(air)
