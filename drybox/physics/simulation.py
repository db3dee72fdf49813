"""The one simulation: plate, patches, prints and cover stepped together.

It alone moves the state on. Every command calls it: single prints, many laying-on times and
ensembles are cases along the first axis, the plate's places for prints along the second.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.physics.box_balance import Rates, rates
from drybox.physics.box_state import BoxSystem, State
from drybox.physics.forcing import Outside

Array = NDArray[np.float64]

GAMMA = 1 - 1 / np.sqrt(2)
"""Makes the two-stage step L-stable and second order. [-]"""


class _Stage(NamedTuple):
    plate: Array
    patch: Array
    sheet: Array
    water: Array
    cover: Array


def _solve(
    system: BoxSystem, first: Rates, right: _Stage, step_s: float, occupied: Array
) -> _Stage:
    """Solve ``(M - gamma h A) k = right``, A the slopes: water into sheet into patch into plate.

    ``right`` is in heat per area (water: per second). Only the couplings along that chain are
    kept; the method stays second order with any A.
    """
    plate, sheet = system.plate, system.sheet
    gh = GAMMA * step_s
    prints = first.sheet
    water_diag = 1 + gh * prints.water_slope_1_s
    latent_slope = prints.latent_j_kg * prints.water_slope_1_s
    sheet_diag = (
        prints.heat_capacity_j_m2_k
        + gh * first.sheet_slope
        - gh * gh * latent_slope * prints.water_temp_slope / water_diag
    )
    sheet_right = right.sheet - gh * latent_slope * right.water / water_diag
    touch = gh * first.contact_w_m2_k
    capacity = plate.heat_capacity_j_m2_k
    patch_diag = capacity + gh * first.patch_slope - touch * touch / sheet_diag
    patch_right = right.patch + touch * sheet_right / sheet_diag
    along_patch = gh * system.lateral_w_k / sheet.area_m2
    along_bare = gh * system.lateral_w_k / max(system.bare_area_m2, 1e-9)
    plate_diag = (
        capacity + gh * first.plate_slope - along_bare * (along_patch / patch_diag).sum(axis=1)
    )
    plate_k = (right.plate + along_bare * (patch_right / patch_diag).sum(axis=1)) / plate_diag
    patch_k = (patch_right + along_patch * plate_k[:, None]) / patch_diag
    sheet_k = np.where(occupied, (sheet_right + touch * patch_k) / sheet_diag, 0.0)
    water_k = np.where(
        occupied, (right.water - gh * prints.water_temp_slope * sheet_k) / water_diag, 0.0
    )
    if plate.cover is None:
        cover_k = np.zeros_like(plate_k)
    else:
        cover_k = right.cover / (plate.cover.heat_capacity_j_m2_k + gh * first.cover_slope)
    return _Stage(plate_k, patch_k, sheet_k, water_k, cover_k)


def _advance(state: State, stage: _Stage, step_s: float) -> State:
    return State(*(value + step_s * slope for value, slope in zip(state, stage, strict=True)))


def _right_side(now: Rates) -> _Stage:
    return _Stage(
        now.plate_w_m2, now.patch_w_m2, now.sheet_w_m2, -now.sheet.water_kg_m2_s, now.cover_w_m2
    )


def step(
    system: BoxSystem,
    state: State,
    now: Rates,
    later: Outside,
    occupied: Array,
    step_s: float,
    pressure_pa: float,
) -> State:
    """Return the state one step on.

    Parameters
    ----------
    system : BoxSystem
        The box.
    state : State
        Where it is.
    now : Rates
        Its rates there.
    later : Outside
        Weather and light at the step's end.
    occupied : array of bool
        Slots in use.
    step_s : float
        Step. [s]
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    State
        At the step's end.

    Notes
    -----
    Two-stage Rosenbrock-W method ROS2: ``(I - g h A) k1 = F(y)``, ``(I - g h A) k2 =
    F(y + h k1) - 2 k1``, ``y + h (3 k1 + k2)/2``; L-stable and of second order with any A, so that
    a thin wet sheet with a time constant of seconds takes steps of a minute.

    References
    ----------
    Verwer, J. G., Spee, E. J., Blom, J. G. and Hundsdorfer, W. (1999), A second-order Rosenbrock
    method applied to photochemical dispersion problems, SIAM J. Sci. Comput. 20, 1456.
    """
    first = _solve(system, now, _right_side(now), step_s, occupied)
    ahead = _advance(state, first, step_s)
    ahead = ahead._replace(water_kg_m2=np.maximum(ahead.water_kg_m2, 0.0))
    then = rates(system, ahead, later, occupied, pressure_pa, lately=now)
    plate_c = system.plate.heat_capacity_j_m2_k
    sheet_c = now.sheet.heat_capacity_j_m2_k
    cover_c = system.plate.cover.heat_capacity_j_m2_k if system.plate.cover else 1.0
    raw = _right_side(then)
    second = _solve(
        system,
        now,
        _Stage(
            raw.plate - 2 * plate_c * first.plate,
            raw.patch - 2 * plate_c * first.patch,
            raw.sheet * sheet_c / then.sheet.heat_capacity_j_m2_k - 2 * sheet_c * first.sheet,
            raw.water - 2 * first.water,
            raw.cover - 2 * cover_c * first.cover,
        ),
        step_s,
        occupied,
    )
    mixed = _Stage(*(1.5 * a + 0.5 * b for a, b in zip(first, second, strict=True)))
    moved = _advance(state, mixed, step_s)
    return moved._replace(water_kg_m2=np.maximum(moved.water_kg_m2, 0.0))


def step_ends_s(
    horizon_s: float, first_s: float = 1.0, growth_frac: float = 0.04, largest_s: float = 25.0
) -> Array:
    """Return elapsed times at which steps end: short after laying on, then growing.

    Parameters
    ----------
    horizon_s : float
        Last time. [s]
    first_s, largest_s : float
        Shortest and longest step. [s]
    growth_frac : float
        A step's share of the time elapsed. [-]

    Returns
    -------
    array
        Rising, ends at ``horizon_s``. [s]

    Examples
    --------
    >>> step_ends_s(3.0)
    array([1., 2., 3.])
    """
    ends, now = [], 0.0
    while now < horizon_s - 1e-9:
        now = min(now + min(max(first_s, growth_frac * now), largest_s), horizon_s)
        ends.append(now)
    return np.array(ends)
