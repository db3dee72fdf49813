"""Drying times of very many prints, those that are dry leaving, and what water is left in some."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array, Index
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step import Course, crossing_s

LEAVE_SHARE = 0.15
"""Share of the prints still followed that must be dry before the rest are gathered anew. [-]"""


def drying_times_s(
    system: BoxSystem,
    forcing: Forcing,
    member: Index,
    *,
    laid_on_at: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    dry_kg_m2: float,
    ends_s: Array,
) -> Array:
    """Return how long each print takes to be dry, infinite past the last step.

    Parameters
    ----------
    system : BoxSystem
        The box, with one slot, of all cases.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    laid_on_at : array
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
    laid = system.lay_on(system.start(plate_temp_k), 0, sheet_temp_k, water_kg_m2=water_kg_m2)
    course = Course(system, forcing, member, clock_s=laid_on_at, state=laid)
    if active.size < dry_after.size:
        course.keep(active)
    begun = 0.0
    for end in ends_s:
        going = np.flatnonzero(np.isinf(dry_after[active]))
        if not going.size:
            break
        if going.size < (1 - LEAVE_SHARE) * active.size:
            active = active[going]
            course.keep(going)
        was, length = course.state.water_kg_m2[:, 0], float(end - begun)
        course.step_to(laid_on_at[active] + end, length)
        is_ = course.state.water_kg_m2[:, 0]
        fell = crossing_s(dry_kg_m2, was, is_, start_at=begun, length_s=length)
        dry_after[active] = np.minimum(dry_after[active], fell)
        begun = float(end)
    return dry_after


def water_left_kg_m2(
    system: BoxSystem,
    forcing: Forcing,
    member: Index,
    *,
    laid_on_at: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    ends_s: Array,
) -> Array:
    """Return the water in each print at laying on and at the end of every step, (1 + steps, n).

    The arguments are those of `drying_times_s`; what is wanted at a time needs a step that ends
    there. [kg/m²]
    """
    laid = system.lay_on(system.start(plate_temp_k), 0, sheet_temp_k, water_kg_m2=water_kg_m2)
    course = Course(system, forcing, member, clock_s=laid_on_at, state=laid)
    left, begun = [course.state.water_kg_m2[:, 0]], 0.0
    for end in ends_s:
        course.step_to(laid_on_at + end, float(end - begun))
        left.append(course.state.water_kg_m2[:, 0])
        begun = float(end)
    return np.array(left)
