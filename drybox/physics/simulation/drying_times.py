"""Drying times of very many prints, those that are dry leaving, and what water is left in some."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step import step

Array = NDArray[np.float64]
Cases = NDArray[np.intp]

LEAVE_SHARE = 0.15
"""Share of the prints still followed that must be dry before the rest are gathered anew. [-]"""


def drying_times_s(
    system_of: Callable[[Cases], BoxSystem],
    forcing: Forcing,
    member: Cases,
    laid_on_s: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    dry_kg_m2: float,
    ends_s: Array,
) -> Array:
    """Return how long each print takes to be dry, infinite past the last step.

    Parameters
    ----------
    system_of : callable
        Gives the box, with one slot, of some cases by their number.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    laid_on_s : array
        Time of laying on, on the clock of the forcing, (n,). [s]
    plate_temp_k, sheet_temp_k, water_kg_m2 : array
        At laying on, (n,). [K], [K], [kg/m²]
    dry_kg_m2 : float
        Water at which a print is dry. [kg/m²]
    ends_s : array
        Elapsed times at which steps end. [s]

    Returns
    -------
    array
        (n,). [s]

    Notes
    -----
    The steps are those of `step.step`, so that the answer is that of `run_print` with the
    same ends; only what becomes of a print after it is dry is left out.
    """
    dry_after = np.where(np.asarray(water_kg_m2) <= dry_kg_m2, 0.0, np.inf)
    active = np.flatnonzero(np.isinf(dry_after))
    if active.size == 0:
        return dry_after
    system = system_of(active)
    state = system.lay_on(
        system.start(plate_temp_k[active]), 0, sheet_temp_k[active], water_kg_m2[active]
    )
    occupied = np.ones((active.size, 1), dtype=bool)
    outside = forcing.at(member[active], laid_on_s[active])
    now = rates(system, state, outside, occupied, forcing.pressure_pa)
    begun = 0.0
    for end in ends_s:
        length = float(end - begun)
        later = forcing.at(member[active], laid_on_s[active] + end)
        moved = step(system, state, now, later, occupied, length, forcing.pressure_pa)
        was, is_ = state.water_kg_m2[:, 0], moved.water_kg_m2[:, 0]
        fell = np.flatnonzero((was > dry_kg_m2) & (is_ <= dry_kg_m2))
        share = (was[fell] - dry_kg_m2) / (was[fell] - is_[fell])
        dry_after[active[fell]] = begun + share * length
        state, begun = moved, float(end)
        going = np.isinf(dry_after[active])
        if not going.any():
            break
        if going.mean() < 1 - LEAVE_SHARE:
            active = active[going]
            state = State(*(part[going] for part in state))
            occupied = occupied[going]
            system = system_of(active)
            later = forcing.at(member[active], laid_on_s[active] + end)
        now = rates(system, state, later, occupied, forcing.pressure_pa)
    return dry_after


def water_left_kg_m2(
    system: BoxSystem,
    forcing: Forcing,
    member: Cases,
    laid_on_s: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    ends_s: Array,
) -> Array:
    """Return the water in each print at laying on and at the end of every step.

    Parameters
    ----------
    system : BoxSystem
        The box, with one slot, of all cases.
    forcing, member, laid_on_s, plate_temp_k, sheet_temp_k, water_kg_m2, ends_s
        As in `drying_times_s`; what is wanted at a time needs a step that ends there.

    Returns
    -------
    array
        (1 + steps, n). [kg/m²]
    """
    state = system.lay_on(system.start(plate_temp_k), 0, sheet_temp_k, water_kg_m2)
    occupied = np.ones((member.size, 1), dtype=bool)
    left, begun = [state.water_kg_m2[:, 0]], 0.0
    outside = forcing.at(member, laid_on_s)
    for end in ends_s:
        now = rates(system, state, outside, occupied, forcing.pressure_pa)
        outside = forcing.at(member, laid_on_s + end)
        state = step(system, state, now, outside, occupied, float(end - begun), forcing.pressure_pa)
        left.append(state.water_kg_m2[:, 0])
        begun = float(end)
    return np.array(left)
