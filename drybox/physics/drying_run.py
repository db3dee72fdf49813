"""Runs of the simulation: a print from laying on until it is over-dry, and the empty plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.physics.audit import Audit
from drybox.physics.box_balance import Rates, rates
from drybox.physics.box_state import BoxSystem, State
from drybox.physics.forcing import Forcing
from drybox.physics.simulation import step, step_ends_s

Array = NDArray[np.float64]

WAIT_OVER_DRY_S = 1800.0
"""How long at least a dry print is followed towards over-dry. [s]"""


@dataclass(frozen=True)
class DryingRun:
    """What came of one print in each case; every array is (n,).

    ``dry_after_s`` and ``over_dry_after_s`` are elapsed times, infinite where the run ended
    first. ``wet_temp_max_k`` is the sheet's highest temperature while its surface was wet (above
    the critical water, so with swollen gelatin), ``temp_max_k`` that up to dry. ``heater_j`` is
    spent up to dry. ``energy_error_frac`` and ``water_error_frac`` (audited runs only) say how
    well heat and water closed. The series are (times, n), recorded only on demand.
    """

    dry_after_s: Array
    over_dry_after_s: Array
    wet_temp_max_k: Array
    temp_max_k: Array
    plate_temp_max_k: Array
    heater_j: Array
    energy_error_frac: Array
    water_error_frac: Array
    final: State
    elapsed_s: Array
    series: dict[str, Array]


def _crossing(limit: float, before: Array, after: Array, start_s: float, length_s: float) -> Array:
    """Return when water fell through a limit within a step, else infinity."""
    fell = (before > limit) & (after <= limit)
    share = np.where(fell, (before - limit) / np.where(fell, before - after, 1.0), 0.0)
    return np.where(fell, start_s + share * length_s, np.inf)


def run_print(
    system: BoxSystem,
    forcing: Forcing,
    member: NDArray[np.intp],
    laid_on_s: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    dry_kg_m2: float,
    over_dry_kg_m2: float,
    horizon_s: float,
    *,
    ends_s: Array | None = None,
    record: bool = False,
    audit: bool = False,
) -> DryingRun:
    """Run one print per case from laying on.

    Parameters
    ----------
    system : BoxSystem
        The box, with one slot.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    laid_on_s : array
        Unix time of laying on, (n,). [s]
    plate_temp_k, sheet_temp_k, water_kg_m2 : array
        At laying on, (n,). [K], [K], [kg/m²]
    dry_kg_m2, over_dry_kg_m2 : float
        Water at which the print counts as dry, and as over-dry. [kg/m²]
    horizon_s : float
        Longest time followed. [s]
    ends_s : array, optional
        Elapsed times at which steps end; by default `step_ends_s`. [s]
    record : bool
        Keep the series.
    audit : bool
        Measure how well heat and water close; else those errors are NaN.

    Returns
    -------
    DryingRun
        Times and limits per case.

    Notes
    -----
    Once the last case is dry, over-dry is waited for half as long again, `WAIT_OVER_DRY_S` at
    least: a print that takes longer than that to over-dry needs no watching.
    """
    laid = np.asarray(laid_on_s, dtype=float)
    state = system.lay_on(
        system.start(np.asarray(plate_temp_k, dtype=float)), 0, sheet_temp_k, water_kg_m2
    )
    occupied = np.ones(state.sheet_temp_k.shape, dtype=bool)
    ends = step_ends_s(horizon_s) if ends_s is None else ends_s
    keeper = _Keeper(system, state, dry_kg_m2, over_dry_kg_m2, occupied, record)
    now = rates(system, state, forcing.at(member, laid), occupied, forcing.pressure_pa)
    account = Audit(system, state, occupied) if audit else None
    keeper.keep(0.0, state)
    begun = 0.0
    for end in ends:
        length = float(end - begun)
        later = forcing.at(member, laid + end)
        moved = step(system, state, now, later, occupied, length, forcing.pressure_pa)
        then = rates(system, moved, later, occupied, forcing.pressure_pa)
        keeper.passed(begun, length, state, now, moved, then)
        if account is not None:
            between = forcing.at(member, laid + begun + 0.5 * length)
            account.passed(length, state, now, moved, then, between)
        keeper.keep(float(end), moved)
        state, now, begun = moved, then, float(end)
        if keeper.finished(begun):
            break
    return keeper.result(state, account)


class _Keeper:
    """Collects crossings, limits and balances while a run goes on."""

    def __init__(
        self,
        system: BoxSystem,
        state: State,
        dry: float,
        over_dry: float,
        occupied: Array,
        record: bool,
    ) -> None:
        n = state.plate_temp_k.shape[0]
        self.system, self.dry, self.over_dry = system, dry, over_dry
        self.occupied, self.record = occupied, record
        self.start = state
        already = state.water_kg_m2[:, 0] <= dry
        self.dry_after = np.where(already, 0.0, np.inf)
        self.over_after = np.where(state.water_kg_m2[:, 0] <= over_dry, 0.0, np.inf)
        self.wet_max = np.full(n, -np.inf)
        self.temp_max = np.array(state.sheet_temp_k[:, 0])
        self.plate_max = np.array(state.plate_temp_k)
        self.heater = np.zeros(n)
        self.times: list[float] = []
        self.kept: dict[str, list[Array]] = {
            name: []
            for name in (
                "plate_temp_k",
                "patch_temp_k",
                "sheet_temp_k",
                "water_kg_m2",
                "cover_temp_k",
            )
        }

    def keep(self, elapsed_s: float, state: State) -> None:
        self.times.append(elapsed_s)
        if self.record:
            for name, values in state._asdict().items():
                self.kept[name].append(values if values.ndim == 1 else values[:, 0])

    def passed(
        self, begun_s: float, length_s: float, before: State, now: Rates, after: State, then: Rates
    ) -> None:
        was, is_ = before.water_kg_m2[:, 0], after.water_kg_m2[:, 0]
        drying = np.isinf(self.dry_after)
        self.dry_after = np.minimum(
            self.dry_after, _crossing(self.dry, was, is_, begun_s, length_s)
        )
        self.over_after = np.minimum(
            self.over_after, _crossing(self.over_dry, was, is_, begun_s, length_s)
        )
        temp = after.sheet_temp_k[:, 0]
        free = is_ >= self.system.sheet.critical_water_kg_m2
        self.wet_max = np.where(free, np.maximum(self.wet_max, temp), self.wet_max)
        self.temp_max = np.where(drying, np.maximum(self.temp_max, temp), self.temp_max)
        self.plate_max = np.where(
            drying, np.maximum(self.plate_max, after.plate_temp_k), self.plate_max
        )
        half = 0.5 * length_s
        spent = half * (now.heater_w_m2 + then.heater_w_m2) * self.system.plate.area_m2
        self.heater += np.where(drying, spent, 0.0)

    def finished(self, elapsed_s: float) -> bool:
        if np.isfinite(self.over_after).all():
            return True
        last = float(self.dry_after.max())
        return elapsed_s > last + max(0.5 * last, WAIT_OVER_DRY_S)

    def result(self, state: State, account: Audit | None) -> DryingRun:
        unknown = np.full(self.heater.shape, np.nan)
        heat_error, water_error = account.errors_frac(state) if account else (unknown, unknown)
        return DryingRun(
            dry_after_s=self.dry_after,
            over_dry_after_s=self.over_after,
            wet_temp_max_k=self.wet_max,
            temp_max_k=self.temp_max,
            plate_temp_max_k=self.plate_max,
            heater_j=self.heater,
            energy_error_frac=heat_error,
            water_error_frac=water_error,
            final=state,
            elapsed_s=np.array(self.times),
            series={name: np.array(values) for name, values in self.kept.items()}
            if self.record
            else {},
        )


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
