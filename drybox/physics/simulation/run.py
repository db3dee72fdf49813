"""Runs of the simulation: a print from laying on until it is over-dry, and the empty plate."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array, Index
from drybox.physics.kept import Kept, limit_at_k
from drybox.physics.simulation.account import Audit
from drybox.physics.simulation.balance import heater_now_w_m2
from drybox.physics.simulation.compiled import CompiledStep, serves
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step import GAMMA, Course, crossing_s
from drybox.physics.simulation.step_control import StepControl

WAIT_OVER_DRY_S = 1800.0
"""How long at least a dry print is followed towards over-dry. [s]"""

BLOCK = 2048
"""Cases run together: as many as a processor's cache holds."""

LEAVE_SHARE = 0.2
"""Share of the cases in a block that must be done before the rest are gathered anew. [-]"""


@dataclass(frozen=True, eq=False)
class DryingRun:
    """What came of one print in each case; every array is (n,).

    ``touch_dry_after_s``, ``dry_after_s`` and ``over_dry_after_s`` are elapsed times, infinite
    where the run ended first. ``wet_temp_max_k`` is the sheet's highest temperature while its
    surface was wet (above the critical water, so with swollen gelatin), ``temp_max_k`` that up to
    dry.
    ``temp_kept_max_k`` is the highest temperature it stays above for `kept.KEPT_S` on end, up to
    dry, and ``over_limit_k`` the largest excess over its limit by water so kept; below 0 it never
    passes the limit for so long. ``heater_j`` is spent up to dry. ``energy_error_frac`` and
    ``water_error_frac`` (audited runs only) say how well heat and water closed. ``final`` is the
    state each case ended in. ``elapsed_s`` and the
    series, (times, n), are recorded only on demand.
    """

    touch_dry_after_s: Array
    dry_after_s: Array
    over_dry_after_s: Array
    wet_temp_max_k: Array
    temp_max_k: Array
    temp_kept_max_k: Array
    over_limit_k: Array
    plate_temp_max_k: Array
    heater_j: Array
    energy_error_frac: Array
    water_error_frac: Array
    steps: Array
    final: State
    elapsed_s: Array
    series: dict[str, Array]

    def of(self, cases: slice) -> DryingRun:
        """Return what came of some of the cases, without the series."""
        parts = {each.name: getattr(self, each.name) for each in fields(self)}
        parts = {name: part[cases] for name, part in parts.items() if isinstance(part, np.ndarray)}
        final = State(*(part[cases] for part in self.final))
        return replace(self, **parts | {"final": final, "elapsed_s": np.zeros(0), "series": {}})


def run_print(
    system: BoxSystem,
    forcing: Forcing,
    member: Index,
    *,
    laid_on_at: Array,
    plate_temp_k: Array,
    sheet_temp_k: Array,
    water_kg_m2: Array,
    dry_kg_m2: float,
    over_dry_kg_m2: float,
    horizon_s: float,
    limit_k: tuple[float, float] | None = None,
    touch_dry_kg_m2: float | None = None,
    control: StepControl | None = None,
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
    laid_on_at : array
        Unix time of laying on, (n,). [s]
    plate_temp_k, sheet_temp_k, water_kg_m2 : array
        At laying on, (n,). [K], [K], [kg/m²]
    dry_kg_m2, over_dry_kg_m2 : float
        Water at which the print counts as dry, and as over-dry. [kg/m²]
    horizon_s : float
        Longest time followed. [s]
    limit_k : tuple of float
        Highest temperature wanted of the print while free water is in it, and when dry; without
        them ``over_limit_k`` is minus infinity. [K]
    touch_dry_kg_m2 : float, optional
        Water at which it counts as touch dry; as dry by default. [kg/m²]
    control : StepControl, optional
        How steps are chosen.
    record : bool
        Keep the series; all cases then share their steps.
    audit : bool
        Measure how well heat and water close; else those errors are NaN.

    Returns
    -------
    DryingRun
        Times and limits per case.

    Notes
    -----
    Each case keeps a clock of its own, with steps as long as its error allows, and leaves when it
    is done: over-dry, or dry and then followed for half as long again, `WAIT_OVER_DRY_S` at least.
    A print that takes longer than that to over-dry needs no watching. A cover starts half way
    between plate and air, as it was opened.
    """
    laid = np.asarray(laid_on_at, dtype=float)
    touch = dry_kg_m2 if touch_dry_kg_m2 is None else touch_dry_kg_m2
    targets = float(touch), float(dry_kg_m2), float(over_dry_kg_m2)
    whole = np.arange(laid.size)
    plate_k, sheet_k, water = (
        np.broadcast_to(np.asarray(each, dtype=float), laid.shape)
        for each in (plate_temp_k, sheet_temp_k, water_kg_m2)
    )
    if serves(system) and type(forcing) is Forcing and not (record or audit):
        tallies, final = CompiledStep(system, laid.size, GAMMA).run(
            forcing,
            member,
            laid,
            state=system.lay_on(system.start(plate_k), 0, sheet_k, water_kg_m2=water),
            control=control or StepControl(),
            marks_kg_m2=targets,
            horizon_s=horizon_s,
            wait_s=WAIT_OVER_DRY_S,
            limit_k=limit_k,
        )
        return _gathered([_Ended(whole, tallies, final)], [])
    size = laid.size if record else BLOCK
    ended: list[_Ended] = []
    recorded: Record | None = [] if record else None
    for begin in range(0, laid.size, size):
        some = whole[begin : begin + size]
        box = system.some(some, laid.size) if some.size < laid.size else system
        start = box.lay_on(box.start(plate_k[some]), 0, sheet_k[some], water_kg_m2=water[some])
        course = Course(box, forcing, np.asarray(member)[some], clock_s=laid[some], state=start)
        block = _Block(
            course,
            some,
            laid[some],
            control=control or StepControl(),
            targets=targets,
            horizon_s=horizon_s,
            limit_k=limit_k,
        )
        ended += block.run(recorded, audit)
    return _gathered(ended, recorded or [])


Record = list[tuple[float, State]]
"""Elapsed times of all cases, which share their steps, and their states then."""


@dataclass(eq=False)
class _Ended:
    """Cases that are done, with what `DryingRun` says of each."""

    number: Index
    tallies: dict[str, Array]
    state: State


class _Block:
    """Cases that are stepped together, each on its own clock, until all are done."""

    def __init__(
        self,
        course: Course,
        number: Index,
        clock_s: Array,
        *,
        control: StepControl,
        targets: tuple[float, float, float],
        horizon_s: float,
        limit_k: tuple[float, float] | None,
    ) -> None:
        self.course, self.number, self.laid = course, number, clock_s
        self.control = control if course.system.plate.cover is None else control.under_cover()
        self.touch_dry, self.dry, self.over_dry = targets
        self.horizon, self.limit_k = horizon_s, limit_k
        self.elapsed = np.zeros(number.size)
        self.length = np.full(number.size, control.first_s)
        laid = course.state
        cover = 0.5 * (laid.plate_temp_k + course.outside.air_temp_k)
        course.state = laid._replace(cover_temp_k=cover)
        self.judged = self._judged(laid)
        self.kept = Kept(self.judged)
        water = laid.water_kg_m2[:, 0]
        self.tallies = {
            "touch_dry_after_s": np.where(water <= self.touch_dry, 0.0, np.inf),
            "dry_after_s": np.where(water <= self.dry, 0.0, np.inf),
            "over_dry_after_s": np.where(water <= self.over_dry, 0.0, np.inf),
            "wet_temp_max_k": np.full(number.size, -np.inf),
            "temp_max_k": np.array(laid.sheet_temp_k[:, 0]),
            "plate_temp_max_k": np.array(laid.plate_temp_k),
            "heater_j": np.zeros(number.size),
            "steps": np.zeros(number.size),
        }

    def _judged(self, state: State) -> Array:
        """Return the print's temperature, and over its limit by water if it has one. [K]"""
        temp_k, water = state.sheet_temp_k[:, 0], state.water_kg_m2[:, 0]
        if self.limit_k is None:
            return temp_k[:, None]
        critical = self.course.system.sheet.critical_water_kg_m2
        of_case = critical[..., 0] if isinstance(critical, np.ndarray) else critical
        limit = limit_at_k(water, of_case, self.dry, self.limit_k)
        return np.stack([temp_k, temp_k - limit], axis=1)

    def run(self, recorded: Record | None, audit: bool) -> list[_Ended]:
        course = self.course
        account = Audit(course.system, course.state, course.occupied) if audit else None
        ended: list[_Ended] = []
        if recorded is not None:
            recorded.append((0.0, course.state))
        done = self._done()
        while not done.all():
            if account is None and recorded is None and done.mean() > LEAVE_SHARE:
                ended.append(self._leave(done))
                done = self._done()
            self._step(done, recorded, account)
            done = self._done()
        if account is not None:
            heat, water = account.errors_frac(course.state)
            self.tallies |= {"energy_error_frac": heat, "water_error_frac": water}
        self.tallies |= self._kept_tallies()
        return [*ended, _Ended(self.number, self.tallies, course.state)]

    def _done(self) -> NDArray[np.bool_]:
        dry = self.tallies["dry_after_s"]
        watched = self.elapsed > dry + np.maximum(0.5 * dry, WAIT_OVER_DRY_S)
        over = np.isfinite(self.tallies["over_dry_after_s"])
        return np.asarray(over | watched | (self.elapsed >= self.horizon - 1e-6))

    def _leave(self, done: NDArray[np.bool_]) -> _Ended:
        """Take out the cases that are done."""
        going, gone = np.flatnonzero(~done), np.flatnonzero(done)
        tallies = {
            name: values[gone] for name, values in (self.tallies | self._kept_tallies()).items()
        }
        state = State(*(part[gone] for part in self.course.state))
        left = _Ended(self.number[gone], tallies, state)
        self.course.keep(going)
        self.tallies = {name: values[going] for name, values in self.tallies.items()}
        for name in ("number", "laid", "elapsed", "length", "judged"):
            setattr(self, name, getattr(self, name)[going])
        self.kept = self.kept.some(going)
        return left

    def _kept_tallies(self) -> dict[str, Array]:
        most = self.kept.most
        over = np.full(most.shape[0], -np.inf) if self.limit_k is None else most[:, 1]
        return {"temp_kept_max_k": most[:, 0], "over_limit_k": over}

    def _step(
        self, done: NDArray[np.bool_], recorded: Record | None, account: Audit | None
    ) -> None:
        """Move every case on that is not done, unless its error is too great."""
        course, forcing = self.course, self.course.forcing
        now_at = self.laid + self.elapsed
        left_s = self.horizon - self.elapsed
        if recorded is None:
            left_s = np.where(done, 0.0, left_s)
        length = self.control.fitted_s(self.length, now_at - forcing.start_at, left_s)
        if recorded is not None:  # those that are done go on with the rest, at a step they allow
            length = np.full_like(length, length.min())
        before, begun = course.state, self.elapsed
        now = course.now() if account is not None else None
        later = forcing.at(course.member, now_at + length)
        tried = course.tried(later, length)
        moved = tried.moved
        miss = self.control.miss_ratio(
            tried.error, tried.water_kg_m2_s, system=course.system, elapsed_s=begun
        )
        good = (miss <= 1.0) | (length <= self.control.shortest_s)
        if recorded is not None:
            good[:] = good.all()
        self.length = self.control.next_s(length, self.length, miss)
        if not good.all():
            length = np.where(good, length, 0.0)
            moved = State(
                *(
                    np.where(good if new.ndim == 1 else good[:, None], new, old)
                    for new, old in zip(moved, before, strict=True)
                )
            )
            later = forcing.at(course.member, now_at + length)
        course.state, course.outside = moved, later
        self.elapsed = begun + length
        self._tally(before, tried.heater_w_m2, begun, length_s=length)
        if account is not None and now is not None:
            between = forcing.at(course.member, now_at + 0.5 * length)
            account.passed(length, before, now, after=moved, then=course.now(), between=between)
        if recorded is not None and good.all():
            recorded.append((float(self.elapsed.max()), moved))

    def _tally(
        self, before: State, heater_w_m2: Array, begun_at: Array, *, length_s: Array
    ) -> None:
        system, state = self.course.system, self.course.state
        was, is_ = before.water_kg_m2[:, 0], state.water_kg_m2[:, 0]
        so_far, temp_k = self.tallies, state.sheet_temp_k[:, 0]
        drying = np.isinf(so_far["dry_after_s"])
        for name, limit in (
            ("touch_dry_after_s", self.touch_dry),
            ("dry_after_s", self.dry),
            ("over_dry_after_s", self.over_dry),
        ):
            fell = crossing_s(limit, was, is_, start_at=begun_at, length_s=length_s)
            so_far[name] = np.minimum(so_far[name], fell)
        judged, self.judged = self.judged, self._judged(state)
        self.kept.passed(judged, self.judged, begun_at, length_s, so_far["dry_after_s"])
        wet = (length_s > 0) & (is_ >= np.ravel(system.sheet.critical_water_kg_m2))
        for name, which, value in (
            ("wet_temp_max_k", wet, temp_k),
            ("temp_max_k", drying, temp_k),
            ("plate_temp_max_k", drying, state.plate_temp_k),
        ):
            so_far[name] = np.where(which, np.maximum(so_far[name], value), so_far[name])
        if np.any(system.plate.heater_w_m2):
            after_w_m2, _ = heater_now_w_m2(system, state)
            power = 0.5 * (heater_w_m2 + after_w_m2) * system.plate.area_m2
            so_far["heater_j"] = so_far["heater_j"] + np.where(drying, length_s * power, 0.0)
        so_far["steps"] = so_far["steps"] + (length_s > 0)


def _gathered(ended: list[_Ended], recorded: Record) -> DryingRun:
    """Return what came of all cases, in their first order."""
    order = np.argsort(np.concatenate([each.number for each in ended]))
    tallies = {
        name: np.concatenate([each.tallies[name] for each in ended])[order]
        for name in ended[0].tallies
    }
    parts = zip(*(each.state for each in ended), strict=True)
    unknown = np.full(order.size, np.nan)
    series = zip(State._fields, zip(*(state for _, state in recorded), strict=True), strict=False)
    return DryingRun(
        **{"energy_error_frac": unknown, "water_error_frac": unknown} | tallies,
        final=State(*(np.concatenate(part)[order] for part in parts)),
        elapsed_s=np.array([elapsed for elapsed, _ in recorded]),
        series={name: np.array(each).reshape(len(recorded), -1) for name, each in series},
    )


class EmptyRun(NamedTuple):
    """The empty box through time: (times,), and of each case (times, n).

    ``box_air_temp_k`` is the air in the box; without a cover it is that outside.
    """

    elapsed_s: Array
    plate_temp_k: Array
    box_air_temp_k: Array


def run_empty(
    system: BoxSystem,
    forcing: Forcing,
    member: NDArray[np.intp],
    *,
    start_at: Array,
    horizon_s: float,
    step_s: float = 60.0,
) -> EmptyRun:
    """Run the plate with no print on it, from air temperature.

    Parameters
    ----------
    system : BoxSystem
        The box.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    start_at : array
        Unix time of setting out, (n,). [s]
    horizon_s : float
        How long. [s]
    step_s : float
        Step. [s]

    Returns
    -------
    EmptyRun
        At the start and at the end of each step. [s], [K]
    """
    start = np.asarray(start_at, dtype=float)
    system = replace(system, slots=0)  # all of it bare plate
    state = system.start(forcing.at(member, start).air_temp_k)
    box = Course(system, forcing, member, clock_s=start, state=state)
    ends = np.arange(step_s, horizon_s + 0.5 * step_s, step_s)
    plate, air = [state.plate_temp_k], [_air_temp_k(box)]
    for end in ends:
        box.step_to(start + end, step_s)
        plate.append(box.state.plate_temp_k)
        air.append(_air_temp_k(box))
    return EmptyRun(np.append(0.0, ends), np.array(plate), np.array(air))


def _air_temp_k(box: Course) -> Array:
    """Return the air in the box; without a cover it is that outside."""
    if box.system.plate.cover is None:
        return box.outside.air_temp_k
    return box.now().box.air_temp_k
