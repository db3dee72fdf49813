"""Ways of making a dry print flat: how long, how flat now and at home, and which to take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.paper import Paper
from drybox.inputs.finish.finishing import Finishing
from drybox.physics.air import saturation_pressure_pa
from drybox.physics.constants import GRAVITY_M_S2
from drybox.physics.flattening import (
    HeldStep,
    cockle_pressure_pa,
    cooling_time_constant_s,
    rigidity_n_m,
    stack_activity,
    stack_time_constant_s,
)
from drybox.physics.sorption import SheetSorption
from drybox.planning.finish.sheet import Curling
from drybox.planning.scenario.models import isotherm, sheet_sorption
from drybox.planning.scenario.percentiles import Range, range_of
from drybox.tables import TableValue, load_table

WAYS = ("none", "cold_boards", "warm_boards", "blotters", "press")
"""In the order of what they ask to be carried."""

STEPS = 12
SEEN_ACTIVITY = 0.005
"""Less is within what any hand or scale can tell. [-]"""

STEP_ACTIVITY = 0.05
"""Half of the step over which a sheet's uptake is taken. [-]"""


@dataclass(frozen=True, kw_only=True)
class DryPrint:
    """A print as it is pulled, and the air that it meets.

    ``flat`` tells whether it was held flat while its last water left it, at ``held_k``.
    ``plate_k`` is the sun plate's or powered plate's temperature then, None where there is none.
    """

    pulled_at: float
    pulled_activity: float
    dried: str
    flat: bool
    held_k: float
    plate_k: float | None
    air_k: float
    air_activity: float
    home_activity: float
    prints: int
    cold_hold_s: float


@dataclass(frozen=True, kw_only=True)
class FinishWay:
    """What one way of flattening gives.

    ``duration_s`` is of one load; ``flat_at`` of the last print of all, in Unix seconds. Lifts are
    how high the edges then stand over the middle, inward positive. ``activity`` is what the print
    is in balance with when it comes out, ``flat_activity`` the humidity in which it would lie
    flat, ``temp_k`` how warm it is held at the start. ``why`` is a code of `_why_not`
    where it cannot be used.
    """

    way: str
    duration_s: Range
    flat_at: Range
    lift_now_m: Range
    lift_home_m: Range
    activity: float
    flat_activity: float
    temp_k: float
    at_once: int = 0
    loads: int = 1
    blotters: int = 0
    energy_j: float = 0.0
    feasible: bool = True
    why: str = ""


@dataclass(frozen=True, eq=False)
class Bench:
    """One paper and what there is to flatten it with, over members."""

    paper: Paper
    finishing: Finishing
    curling: Curling
    spread: Array

    @property
    def blotter(self) -> SheetSorption:
        """The blotting board that a print has to itself."""
        mass = self.finishing.blotters * _row("blotter", "mass").value
        return SheetSorption([(isotherm("fibre"), mass)])

    def blotter_activity(self, state: DryPrint) -> float:
        """Return how damp the blotters are. [-]"""
        told = self.finishing.blotter_activity
        return state.air_activity if told is None else told

    def settled_activity(self, state: DryPrint) -> float:
        """Return what print and blotters settle at. [-]"""
        sheet, begins = sheet_sorption(self.paper), self.blotter_activity(state)
        return stack_activity(sheet, self.blotter, state.pulled_activity, begins)

    def blotting_s(self, state: DryPrint) -> Array:
        """Return the time constant of print and blotters, over members. [s]"""
        pressure = float(saturation_pressure_pa(state.air_k))
        parts = [
            uptake_kg_m2(sorption, state.pulled_activity) / pressure
            for sorption in (sheet_sorption(self.paper), self.blotter)
        ]
        middle = stack_time_constant_s(_row("blotter", "resistance").value, *parts)
        return np.asarray(middle * np.exp(_row("blotter", "resistance_log").value * self.spread))

    def cooling_s(self) -> Array:
        """Return the time constant of a board's cooling, over members. [s]"""
        heat = np.prod([_row("boards", n).value for n in ("thickness", "density", "specific_heat")])
        middle = cooling_time_constant_s(float(heat), _row("boards", "loss").value)
        return np.asarray(middle * np.exp(_row("boards", "cooling_log").value * self.spread))


def left_flat(state: DryPrint) -> FinishWay:
    """Return a print of a paper that lies flat, left as it is."""
    none, at = Range(0.0, 0.0, 0.0), state.pulled_at
    return FinishWay(
        way="none",
        duration_s=none,
        flat_at=Range(at, at, at),
        lift_now_m=none,
        lift_home_m=none,
        activity=state.pulled_activity,
        flat_activity=state.pulled_activity,
        temp_k=state.air_k,
    )


def _row(item: str, column: str) -> TableValue:
    return load_table("flattening")[item][column]


def uptake_kg_m2(sorption: SheetSorption, activity: float) -> float:
    """Return how much water a sheet takes up for a step of one in humidity. [kg/m²]"""
    low, high = activity - STEP_ACTIVITY, min(activity + STEP_ACTIVITY, 1.0)
    return (sorption.water_kg_m2(high) - sorption.water_kg_m2(low)) / (high - low)


def pulled_flat_activity(curling: Curling, state: DryPrint) -> Array:
    """Return the humidity at which the print is flat as it is pulled, over members. [-]"""
    if not state.flat:
        return curling.left_free(state.held_k)
    held = "plate" if state.plate_k is not None else "book"
    hold_s = _row(held, "hold").value
    return curling.dried_flat(state.held_k, state.pulled_activity, hold_s)


def finish_way(bench: Bench, state: DryPrint, way: str) -> FinishWay:
    """Return what one of `WAYS` makes of a print."""
    lasts_s, temps, path, at_once = _HOLDS[way](bench, state)
    flat = pulled_flat_activity(bench.curling, state)
    if way != "none":
        steps = [
            HeldStep(
                duration_s=lasts_s / len(temps),
                temp_k=temp,
                begin_activity=begin,
                end_activity=end,
            )
            for temp, (begin, end) in zip(temps, pairwise(path), strict=True)
        ]
        flat = bench.curling.held(steps, flat)
    loads = -(-state.prints // at_once) if at_once else 1
    ends = state.pulled_at + loads * lasts_s
    why = _why_not(bench, state, way)
    return FinishWay(
        way=way,
        duration_s=range_of(lasts_s),
        flat_at=range_of(ends),
        lift_now_m=range_of(bench.curling.lift_m(flat, state.air_activity)),
        lift_home_m=range_of(bench.curling.lift_m(flat, state.home_activity)),
        activity=float(np.median(path[-1])),
        flat_activity=float(np.median(flat)),
        temp_k=float(np.median(temps[0])),
        at_once=at_once,
        loads=loads,
        blotters=state.prints * bench.finishing.blotters if way == "blotters" else 0,
        energy_j=state.prints * _row("press", "energy").value if way == "press" else 0.0,
        feasible=not why,
        why=why,
    )


Hold = tuple[Array, list[Array], list[Array], int]
"""How long over members, the temperature of each step, the humidity at its edges, prints at once"""


def _same(bench: Bench, value: float) -> Array:
    return np.full_like(bench.curling.factor, value)


def _none(bench: Bench, state: DryPrint) -> Hold:
    damp = _same(bench, state.pulled_activity)
    return _same(bench, 0.0), [_same(bench, state.air_k)], [damp, damp], 0


def _cold_boards(bench: Bench, state: DryPrint) -> Hold:
    damp, temp = _same(bench, state.pulled_activity), _same(bench, state.air_k)
    return _same(bench, state.cold_hold_s), [temp], [damp, damp], _under_boards(bench)


def _warm_boards(bench: Bench, state: DryPrint) -> Hold:
    """Boards from beside the plate cool about the print, which keeps its water."""
    plate_k = state.air_k if state.plate_k is None else state.plate_k
    rise_k = max(plate_k - state.air_k, 0.0) * _row("boards", "warm_share").value
    tau_s = bench.cooling_s()
    until_at = tau_s * np.log(max(rise_k / _row("boards", "cool_to").value, 1.0))
    lasts_s = np.maximum(until_at, _row("blotter", "shortest").value)
    middles = (np.arange(STEPS) + 0.5) / STEPS
    temps = [state.air_k + rise_k * np.exp(-part * lasts_s / tau_s) for part in middles]
    damp = _same(bench, state.pulled_activity)
    return lasts_s, temps, [damp] * (STEPS + 1), _under_boards(bench)


def _blotters(bench: Bench, state: DryPrint) -> Hold:
    """Blotters take up the print's water while boards hold it, at the air's temperature."""
    if not bench.finishing.blotters:
        return _cold_boards(bench, state)
    tau_s, settled = bench.blotting_s(state), bench.settled_activity(state)
    lasts_s = np.maximum(2 * tau_s, _row("blotter", "shortest").value)
    over = state.pulled_activity - settled
    edges = [settled + over * np.exp(-part * lasts_s / tau_s) for part in np.linspace(0, 1, STEPS)]
    return lasts_s, [_same(bench, state.air_k)] * (STEPS - 1), edges, _under_boards(bench)


def _press(bench: Bench, state: DryPrint) -> Hold:
    """Lay it in a hot press, then on cold metal; what it takes besides counts, but sets nothing."""
    hot_s = _row("press", "time").value
    besides_s = _row("press", "handling").value + _row("press", "cool").value
    damp = _same(bench, state.pulled_activity)
    parts = max(round((hot_s + besides_s) / hot_s), 2)
    hot, cool = _same(bench, bench.finishing.press_temp_k), _same(bench, state.air_k)
    return (_same(bench, hot_s + besides_s), [hot] + [cool] * (parts - 1), [damp] * (parts + 1), 1)


_HOLDS: dict[str, Callable[[Bench, DryPrint], Hold]] = {
    "none": _none,
    "cold_boards": _cold_boards,
    "warm_boards": _warm_boards,
    "blotters": _blotters,
    "press": _press,
}


def _under_boards(bench: Bench) -> int:
    return bench.finishing.pairs * bench.finishing.prints_per_pair


def _why_not(bench: Bench, state: DryPrint, way: str) -> str:
    """Return the code of why a way cannot be used, or nothing."""
    told = bench.finishing
    if way in ("cold_boards", "warm_boards", "blotters") and not told.pairs:
        return "no_boards"
    if way == "warm_boards":
        return "no_warm_plate" if state.plate_k is None else ""
    if way == "blotters":
        damp = bench.blotter_activity(state)
        if not told.blotters:
            return "no_blotters"
        too_damp = damp >= min(_row("blotter", "too_damp").value, state.pulled_activity)
        return "damp_blotters" if too_damp else ""
    if way == "press":
        if told.press_w is None:
            return "no_press"
        if state.pulled_activity > _row("press", "wettest").value:
            return "too_wet_to_press"
        return "too_dry_to_press" if state.pulled_activity < _row("press", "driest").value else ""
    return ""


def flat_enough_m(curling: Curling) -> float:
    """Return the lift that a folder holds down. [m]"""
    return _row("flat", "lift_share").value * curling.arc_m


def choose(
    ways: tuple[FinishWay, ...], enough_m: float, dry_activity: float
) -> tuple[FinishWay, str]:
    """Return the way to take and a code for the reason.

    ``enough_m`` is the lift at home that counts as flat, ``dry_activity`` the dampest that may go
    into a folder.

    It is the soonest by which the middle print is flat enough at home, ``soonest_flat``
    (``only_flat`` where no other makes it so); else the soonest of those within a millimetre of the
    flattest, ``flattest``. Left as it is only where nothing else can be used, ``nothing_else``: a
    face wetter than the other bends a sheet as far as its gelatin does, and minutes between boards
    cure that. Only ways by which it comes out dry are looked at; where none does, those by which it
    comes out driest, ``driest``.
    """
    able = [way for way in ways if way.feasible and way.way != "none"]
    if not able:
        return next(way for way in ways if way.way == "none"), "nothing_else"

    def lift_m(way: FinishWay) -> float:
        return abs(way.lift_home_m.p50 or 0.0)

    dry = [way for way in able if way.activity <= dry_activity + SEEN_ACTIVITY]
    if not dry:
        least = min(way.activity for way in able)
        dry = [way for way in able if way.activity <= least + SEEN_ACTIVITY]

    def soonest(some: list[FinishWay]) -> FinishWay:
        return min(some, key=lambda way: (way.flat_at.p90 or np.inf, WAYS.index(way.way)))

    flat = [way for way in dry if lift_m(way) <= enough_m]
    if flat:
        return soonest(flat), "soonest_flat" if len(flat) > 1 else "only_flat"
    least_m = min(lift_m(way) for way in dry)
    near = [way for way in dry if lift_m(way) <= least_m + _row("flat", "helps").value]
    damp = dry[0].activity > dry_activity + SEEN_ACTIVITY and len(dry) < len(able)
    return soonest(near), "driest" if damp else "flattest"


def mass_needed_kg(paper: Paper) -> float:
    """Return the weight that presses usual waves out of a sheet. [kg]"""
    stiff = rigidity_n_m(load_table("curl")["paper"]["modulus"].value, paper.thickness_m)
    waves = (_row("cockle", name).value for name in ("amplitude", "wave"))
    return cockle_pressure_pa(stiff, *waves) * paper.area_m2 / GRAVITY_M_S2
