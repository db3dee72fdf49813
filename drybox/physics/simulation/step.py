"""The one simulation: plate, patches, prints and cover stepped together.

It alone moves the state on. Every command calls it: single prints, many laying-on times and
ensembles are cases along the first axis, the plate's places for prints along the second.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array, Flags
from drybox.physics.box_heat import BoxAir, over_slots
from drybox.physics.simulation.balance import Rates, rates
from drybox.physics.simulation.compiled import CompiledStep, serves
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.state import BoxSystem, State

GAMMA = 1 - 1 / np.sqrt(2)
"""Makes the two-stage step L-stable and second order. [-]"""


class Tried(NamedTuple):
    """A step: where it ends, how far that is from the first order, and what held at its start."""

    moved: State
    error: State
    box: BoxAir
    water_kg_m2_s: Array
    heater_w_m2: Array


class _Stage(NamedTuple):
    plate: Array
    patch: Array
    sheet: Array
    water: Array
    cover: Array


class _Slopes(NamedTuple):
    """The matrix ``M - gamma h A`` of a step, eliminated from water through sheet to plate."""

    water_temp: Array
    water_diag: Array
    sheet_water: Array
    patch_water: Array
    sheet_diag: Array
    touch: Array
    touch_back: Array
    patch_diag: Array
    along_patch: Array
    along_bare: Array
    plate_diag: Array
    cover_diag: Array | float


def _eliminated(system: BoxSystem, now: Rates, step_s: Array) -> _Slopes:
    """Return the eliminated matrix, A the slopes along the chain water, sheet, patch, plate.

    Other couplings are left out: the method stays of second order with any A.
    """
    plate, prints = system.plate, now.sheet
    gh_case = GAMMA * step_s
    gh = gh_case[:, None]
    water_temp = gh * prints.water_temp_slope
    water_diag = 1.0 + gh * prints.water_slope_1_s
    patch_water = gh * now.touched_slope_w_kg / water_diag
    sheet_water = gh * prints.latent_j_kg * prints.water_slope_1_s / water_diag - patch_water
    sheet_diag = prints.heat_capacity_j_m2_k + gh * now.sheet_slope - sheet_water * water_temp
    touch = gh * now.contact_w_m2_k
    touch_back = touch + patch_water * water_temp
    capacity = plate.heat_capacity_j_m2_k
    patch_diag = capacity + gh * now.patch_slope - touch_back * touch / sheet_diag
    along_patch = gh * (now.lateral_w_k / system.sheet.area_m2)
    along_bare = gh * (now.lateral_w_k / max(system.bare_area_m2, 1e-9))
    back_and_forth = over_slots(along_bare * (along_patch / patch_diag))
    cover_diag: Array | float = 1.0
    if plate.cover is not None:
        cover_diag = plate.cover.heat_capacity_j_m2_k + gh_case * now.cover_slope
    return _Slopes(
        water_temp,
        water_diag,
        sheet_water,
        patch_water,
        sheet_diag,
        touch,
        touch_back,
        patch_diag,
        along_patch,
        along_bare,
        capacity + gh_case * now.plate_slope - back_and_forth,
        cover_diag,
    )


def _solve(slopes: _Slopes, right: _Stage, occupied: Flags) -> _Stage:
    """Solve ``(M - gamma h A) k = right``, which is heat per area (water: per second)."""
    sheet_right = right.sheet - slopes.sheet_water * right.water
    patch_right = right.patch - slopes.patch_water * right.water
    patch_right = patch_right + slopes.touch_back * sheet_right / slopes.sheet_diag
    plate_right = right.plate + over_slots(slopes.along_bare * patch_right / slopes.patch_diag)
    plate_k = plate_right / slopes.plate_diag
    patch_k = (patch_right + slopes.along_patch * plate_k[:, None]) / slopes.patch_diag
    sheet_k = (sheet_right + slopes.touch * patch_k) / slopes.sheet_diag * occupied
    water_k = (right.water - slopes.water_temp * sheet_k) / slopes.water_diag * occupied
    return _Stage(plate_k, patch_k, sheet_k, water_k, right.cover / slopes.cover_diag)


def _advance(state: State, stage: _Stage, step_s: Array) -> State:
    slots = step_s[:, None]
    return State(
        state.plate_temp_k + step_s * stage.plate,
        state.patch_temp_k + slots * stage.patch,
        state.sheet_temp_k + slots * stage.sheet,
        np.maximum(state.water_kg_m2 + slots * stage.water, 0.0),
        state.cover_temp_k + step_s * stage.cover,
    )


def _forced(system: BoxSystem, now: Rates, later: Outside, *, occupied: Flags) -> _Stage:
    """Return how much the heat flows change from now to later with the light and the air.

    With it the step follows a sheet of paper, in balance within seconds, through sun and cloud.
    Wind and the sky's temperature, which change little from minute to minute, are left out.
    """
    plate, sheet, before = system.plate, system.sheet, now.outside
    light = later.front_sun_w_m2 - before.front_sun_w_m2
    plate_light = plate.absorbed_frac(plate.absorptance_frac) * light
    lit = sheet.front_open_frac * light
    if sheet.back_open_frac > 0:
        lit = lit + sheet.back_open_frac * (later.back_sun_w_m2 - before.back_sun_w_m2)
    prints = sheet.absorptance_frac * lit[:, None]
    cover = later.cover_sun_w_m2 - before.cover_sun_w_m2
    water = np.zeros_like(prints)
    air = later.air_temp_k - before.air_temp_k
    if plate.cover is None:
        vapour = (later.vapour_pressure_pa - before.vapour_pressure_pa)[:, None]
        water = now.sheet.face_conductance_kg_m2_s_pa * vapour
        prints = prints + now.sheet.transfer_w_m2_k * air[:, None] + now.sheet.latent_j_kg * water
        plate_light = plate_light + now.box.bare_coeff_w_m2_k * air
    else:
        cover = cover + now.cover_coeff_w_m2_k * air
    patch = np.where(occupied, 0.0, plate_light[:, None])
    return _Stage(plate_light, patch, prints * occupied, water, cover)


def _right_side(now: Rates) -> _Stage:
    return _Stage(
        now.plate_w_m2, now.patch_w_m2, now.sheet_w_m2, -now.sheet.water_kg_m2_s, now.cover_w_m2
    )


def step(
    system: BoxSystem,
    state: State,
    now: Rates,
    *,
    later: Outside,
    occupied: Flags,
    step_s: Array | float,
) -> tuple[State, State]:
    """Return the state one step on, and how far it is from that of a step of first order.

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
    step_s : float or array
        Step, of each case if an array, (n,). [s]

    Returns
    -------
    moved, error : State
        At the step's end, and the difference there.

    Notes
    -----
    Two-stage Rosenbrock-W method ROS2: ``(I - g h A) k1 = F(y, t) + g dF``, ``(I - g h A) k2 =
    F(y + h k1, t + h) - 2 k1 - g dF``, ``y + h (3 k1 + k2)/2``, where ``dF`` is how the flows
    change over the step with the light and the air alone; L-stable and of second order with any
    A, so that a thin wet sheet with a time constant of seconds takes steps of a minute.

    References
    ----------
    Verwer, J. G., Spee, E. J., Blom, J. G. and Hundsdorfer, W. (1999), A second-order Rosenbrock
    method applied to photochemical dispersion problems, SIAM J. Sci. Comput. 20, 1456.
    """
    length = np.broadcast_to(np.asarray(step_s, dtype=float), state.plate_temp_k.shape)
    slopes = _eliminated(system, now, length)
    forced = _forced(system, now, later, occupied=occupied)
    start = _right_side(now)
    first = _solve(
        slopes, _Stage(*(a + GAMMA * b for a, b in zip(start, forced, strict=True))), occupied
    )
    ahead = _advance(state, first, length)
    then = rates(system, ahead, later, occupied=occupied)
    plate_c, sheet_c = 2.0 * system.plate.heat_capacity_j_m2_k, now.sheet.heat_capacity_j_m2_k
    cover_c = 2.0 * system.plate.cover.heat_capacity_j_m2_k if system.plate.cover else 2.0
    end = _right_side(then)
    to_sheet = end.sheet * (sheet_c / then.sheet.heat_capacity_j_m2_k)
    second = _solve(
        slopes,
        _Stage(
            end.plate - plate_c * first.plate - GAMMA * forced.plate,
            end.patch - plate_c * first.patch - GAMMA * forced.patch,
            to_sheet - 2.0 * sheet_c * first.sheet - GAMMA * forced.sheet,
            end.water - 2.0 * first.water - GAMMA * forced.water,
            end.cover - cover_c * first.cover - GAMMA * forced.cover,
        ),
        occupied,
    )
    more = _Stage(*(0.5 * (a + b) for a, b in zip(first, second, strict=True)))
    moved = _advance(state, _Stage(*(a + b for a, b in zip(first, more, strict=True))), length)
    slots = length[:, None]
    error = State(
        length * more.plate,
        slots * more.patch,
        slots * more.sheet,
        slots * more.water,
        length * more.cover,
    )
    return moved, error


class Stepper:
    """Steps one box of so many cases, by the compiled step where that is there and serves."""

    def __init__(self, system: BoxSystem, cases: int) -> None:
        self.system = system
        self._compiled = CompiledStep(system, cases, GAMMA) if serves(system) else None

    def __call__(
        self,
        state: State,
        outside: Outside,
        later: Outside,
        *,
        occupied: Flags,
        step_s: Array | float,
    ) -> Tried:
        """Return a step from a state, of arguments as in `step`."""
        if self._compiled is not None:
            length = np.broadcast_to(np.asarray(step_s, dtype=float), state.plate_temp_k.shape)
            return Tried(*self._compiled(state, outside, later, occupied=occupied, length_s=length))
        now = rates(self.system, state, outside, occupied=occupied)
        after, error = step(self.system, state, now, later=later, occupied=occupied, step_s=step_s)
        return Tried(after, error, now.box, now.sheet.water_kg_m2_s, now.heater_w_m2)


class Course:
    """Cases stepped together through the weather, each from a time of its own, (n,).

    Every slot holds a print; ``outside`` acts at ``state``.
    """

    def __init__(
        self,
        system: BoxSystem,
        forcing: Forcing,
        member: NDArray[np.intp],
        *,
        clock_s: Array,
        state: State,
    ) -> None:
        self.system, self.forcing, self.member = system, forcing, member
        self.occupied = np.ones(state.sheet_temp_k.shape, dtype=bool)
        self.state, self.outside = state, forcing.at(member, clock_s)
        self._stepper = Stepper(system, member.size)

    def now(self) -> Rates:
        """Return the rates at the state."""
        return rates(self.system, self.state, self.outside, occupied=self.occupied)

    def tried(self, later: Outside, step_s: Array | float) -> Tried:
        """Return a step from the state."""
        return self._stepper(self.state, self.outside, later, occupied=self.occupied, step_s=step_s)

    def step_to(self, clock_s: Array, step_s: float) -> None:
        """Move all cases on by one step that ends at a time, (n,). [s], [s]"""
        later = self.forcing.at(self.member, clock_s)
        self.state, self.outside = self.tried(later, step_s).moved, later

    def keep(self, going: NDArray[np.intp]) -> None:
        """Leave out all cases but some."""
        self.system = self.system.some(going, self.member.size)
        self._stepper = Stepper(self.system, going.size)
        self.member, self.occupied = self.member[going], self.occupied[going]
        self.state = State(*(part[going] for part in self.state))
        self.outside = self.outside.some(going)


def crossing_s(
    limit_kg_m2: float,
    before_kg_m2: Array,
    after_kg_m2: Array,
    *,
    start_at: Array | float,
    length_s: Array | float,
) -> Array:
    """Return when water fell through a limit within a step, else infinity. [s]"""
    fell = (before_kg_m2 > limit_kg_m2) & (after_kg_m2 <= limit_kg_m2)
    if not fell.any():
        return np.full(before_kg_m2.shape, np.inf)
    share = (before_kg_m2 - limit_kg_m2) / np.where(fell, before_kg_m2 - after_kg_m2, 1.0)
    return np.where(fell, start_at + share * length_s, np.inf)


def step_ends_s(
    horizon_s: float, first_s: float = 1.0, growth_frac: float = 0.04, *, largest_s: float = 25.0
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
