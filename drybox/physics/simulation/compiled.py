"""The step in C, where it was built: `rates.c`, `step.c`, `run.c` repeat `balance`, `step`, `run`.

It is built by ``.ci/compile_step.py`` when the package is installed, if there is a C compiler.
Without it, for a covered box, or with ``DRYBOX_ENGINE=numpy`` in the environment the numpy step
serves, to the same step within 1e-9; it is the reference.
"""

from __future__ import annotations

import ctypes
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.physics import air_film, constants, convection, kept, print_drying, sorption
from drybox.physics.box_heat import BoxAir
from drybox.physics.c_library import library
from drybox.physics.lookup import Lookup
from drybox.physics.simulation import step_control
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step_control import StepControl


class _Field(ctypes.Structure):
    _fields_ = (
        ("at", ctypes.c_void_p),
        ("by_case", ctypes.c_ssize_t),
        ("by_slot", ctypes.c_ssize_t),
    )


class _Table(ctypes.Structure):
    _fields_ = (
        ("values", ctypes.c_void_p),
        *((name, ctypes.c_double) for name in ("low", "nodes_per_unit", "last")),
        ("columns", ctypes.c_ssize_t),
    )


TABLES = ("air", "vapour", "water", "sorption")
PLATE_FIELDS = (
    *("absorbed_frac", "emittance_frac", "back_loss_w_m2_k", "heater_w_m2"),
    *("convection_factor", "forced_factor"),
)
SHEET_FIELDS = (
    *("absorptance_frac", "contact_wet_w_m2_k", "contact_dry_w_m2_k", "lifts_at_moisture"),
    *("dry_resistance", "critical_water_kg_m2", "lone_film_factor"),
)
NUMBERS = (
    *("lone_w_k", "full_w_k", "inner_places"),
    *("slot_area", "bare_area", "plate_capacity", "length", "natural_length", "height"),
    *("heater_temp", "heater_band", "fixed_convection", "hanging", "back_in_wind"),
    *("dry_heat", "sorbing", "sheet_emittance_frac", "front_open", "back_open"),
    *("cover_resistance", "lewis_factor"),
    *("stefan_boltzmann", "gas_constant_vapour", "water_specific_heat", "reference_temp"),
    *("vapour_dry", "vapour_more", "standard_pressure", "uneven_air", "lift_width", "patchiness"),
    *("still_outer", "windy_outer", "light_wind", "gamma"),
)


class _Box(ctypes.Structure):
    """As ``Box`` in rates.c, in its order."""

    _fields_ = (
        *((name, _Table) for name in TABLES),
        *((name, _Field) for name in (*PLATE_FIELDS, *SHEET_FIELDS)),
        ("inner_frac", ctypes.c_void_p),
        *((name, ctypes.c_double) for name in NUMBERS),
    )


class _Forcing(ctypes.Structure):
    """As ``Forcing`` in run.c."""

    _fields_ = (
        *(("instants", ctypes.c_void_p), ("times", ctypes.c_ssize_t)),
        *((name, ctypes.c_double) for name in ("start", "step", "pressure")),
    )


ASKED = (
    *("largest", "temp_error", "time_error_frac", "first", "shortest"),
    *("most_growth", "most_shrinking", "safety", "soon", "least_share", "band_share"),
    *("saturated", "touch_dry", "dry", "over_dry", "horizon", "wait_over_dry"),
    *("wet_limit", "dry_limit", "every", "area"),
)
TOLD = (
    *("touch_dry_after_s", "dry_after_s", "over_dry_after_s", "wet_temp_max_k", "temp_max_k"),
    *("plate_temp_max_k", "heater_j", "steps", "temp_kept_max_k", "over_limit_k"),
)


class _Asked(ctypes.Structure):
    """As ``Asked`` in run.c."""

    _fields_ = tuple((name, ctypes.c_double) for name in ASKED)


def serves(system: BoxSystem) -> bool:
    """Return whether the compiled step can move a box on."""
    return system.plate.cover is None and library() is not None


class CompiledStep:
    """A box without a cover, laid out for the step in C.

    Parameters
    ----------
    system : BoxSystem
        The box; parameters that are arrays are read where they lie, at every step.
    cases : int
        How many cases.
    gamma : float
        Of the two-stage step. [-]
    """

    def __init__(self, system: BoxSystem, cases: int, gamma: float) -> None:
        self.system, self.cases = system, cases
        self._held: list[Array] = []
        self._box = _Box()
        plate, sheet = system.plate, system.sheet
        tables = air_film.BY_TEMP, air_film.VAPOUR_BY_TEMP, print_drying.WATER
        for name, table in zip(TABLES, (*tables, sheet.sorption.by_water), strict=True):
            setattr(self._box, name, self._table(table))
        values = vars(plate) | {"absorbed_frac": plate.absorbed_frac(plate.absorptance_frac)}
        for name in PLATE_FIELDS:
            setattr(self._box, name, self._field(values[name]))
        values = vars(sheet) | {"dry_resistance": print_drying.dry_resistance(sheet)}
        for name in SHEET_FIELDS:
            setattr(self._box, name, self._field(values[name]))
        inner = np.ascontiguousarray(system.conduction.inner_frac, dtype=float)
        self._box.inner_frac = self._address(inner)
        for name, value in zip(NUMBERS, (*_numbers(system), gamma), strict=True):
            setattr(self._box, name, float(value))

    def _address(self, values: Array) -> int:
        self._held.append(values)
        return int(values.ctypes.data)

    def _table(self, table: Lookup) -> _Table:
        return _Table(
            values=self._address(table.values),
            low=table.low,
            nodes_per_unit=table.nodes_per_unit,
            last=table.last,
            columns=table.values.shape[1],
        )

    def _field(self, value: Array | float) -> _Field:
        array = np.asarray(value, dtype=float)
        by_slot = array[:, None] if array.ndim == 1 else array
        whole = np.broadcast_to(by_slot, (self.cases, max(self.system.slots, 1)))
        by_case, of_slot = (stride // whole.itemsize for stride in whole.strides)
        return _Field(self._address(whole), by_case, of_slot)

    def __call__(
        self,
        state: State,
        outside: Outside,
        later: Outside,
        *,
        occupied: NDArray[np.bool_],
        length_s: Array,
    ) -> tuple[State, State, BoxAir, Array, Array]:
        """Return what `step.Tried` has, of the same arguments as `step.Stepper`."""
        acts = (*outside[:-1], *later[:-1], length_s, *state[:4])
        given = np.concatenate([part.ravel() for part in acts])
        there, slots = np.ascontiguousarray(occupied), occupied.shape[1]
        by_case, by_slot = (self.cases,), (self.cases, slots)
        told = np.empty(4 * self.cases + 9 * self.cases * slots)
        found = library()
        assert found is not None
        failed = found.drybox_step(
            *(ctypes.byref(self._box), ctypes.c_ssize_t(self.cases), ctypes.c_ssize_t(slots)),
            *(ctypes.c_double(outside.pressure_pa), _address(there), _address(given)),
            _address(told),
        )
        if failed:
            raise MemoryError("no memory for a step")
        parts, end = [], 0
        for shape in (*3 * (by_case, by_slot, by_slot, by_slot), by_case):
            begin, end = end, end + math.prod(shape)
            parts.append(told[begin:end].reshape(shape))
        bare, coeff, growth, evaporated, heater = parts[8:]
        box = BoxAir(
            *(outside.air_temp_k, bare, coeff, growth, outside.front_radiant_temp_k, 1.0, 0.0)
        )
        still = np.zeros(self.cases)  # a cover that is not there
        moved = State._make([*parts[:4], state.cover_temp_k])
        error = State._make([*parts[4:8], still])
        return moved, error, box, evaporated, heater

    def run(
        self,
        forcing: Forcing,
        member: NDArray[np.intp],
        laid_on_at: Array,
        *,
        state: State,
        control: StepControl,
        marks_kg_m2: tuple[float, float, float],
        horizon_s: float,
        wait_s: float,
        limit_k: tuple[float, float] | None,
    ) -> tuple[dict[str, Array], State]:
        """Run one print of each case from laying on; what is told is as `run.DryingRun` has it."""
        plate, sheet = self.system.plate, self.system.sheet
        wet_k, dry_k = limit_k or (0.0, 0.0)
        asked = _Asked(
            *(control.largest_s, control.temp_error_k, control.time_error_frac, control.first_s),
            *(control.shortest_s, step_control.MOST_GROWTH, step_control.MOST_SHRINKING),
            *(step_control.SAFETY, step_control.SOON_S, step_control.LEAST_SHARE),
            *(step_control.BAND_SHARE, sheet.sorption.saturated_kg_m2, *marks_kg_m2),
            *(horizon_s, wait_s, wet_k, dry_k, kept.EVERY_S, plate.area_m2),
        )
        table = _Forcing(
            *(forcing.instants.ctypes.data, forcing.values.shape[2], forcing.start_at),
            *(forcing.step_s, forcing.pressure_pa),
        )
        ends = np.array([np.ravel(part) for part in state[:4]])
        told = np.empty((self.cases, len(TOLD)))
        rows, laid = np.ascontiguousarray(member, np.intp), np.ascontiguousarray(laid_on_at, float)
        found = library()
        assert found is not None
        failed = found.drybox_run(
            *(ctypes.byref(self._box), ctypes.byref(asked), ctypes.byref(table)),
            *(ctypes.c_ssize_t(self.cases), _address(rows), _address(laid)),
            *(_address(ends), _address(told)),
        )
        if failed:
            raise MemoryError("no memory for a run")
        columns = [part[:, None] for part in ends[1:]]
        final = State._make([ends[0], *columns, state.cover_temp_k])
        tallies = {name: told[:, column].copy() for column, name in enumerate(TOLD)}
        if limit_k is None:
            tallies["over_limit_k"] = np.full(self.cases, -np.inf)
        return tallies, final


def _address(array: NDArray[Any]) -> ctypes.c_void_p:
    return ctypes.c_void_p(array.__array_interface__["data"][0])


def _numbers(system: BoxSystem) -> tuple[float, ...]:
    """Return what `NUMBERS` names."""
    plate, sheet, along = system.plate, system.sheet, system.conduction
    fixed, lewis = plate.fixed_convection_w_m2_k, sheet.lewis_factor
    return (
        *(along.lone_w_k, along.full_w_k, along.inner_frac.size),
        *(sheet.area_m2, max(system.bare_area_m2, 1e-9), plate.heat_capacity_j_m2_k),
        *(plate.length_m, plate.natural_length_m, plate.height_m),
        *(plate.heater_temp_k, plate.heater_band_k, np.nan if fixed is None else fixed),
        *(plate.hanging, plate.back_in_wind, sheet.dry_heat_j_m2_k, sheet.sorption.sorbing_kg_m2),
        *(sheet.emittance_frac, sheet.front_open_frac, sheet.back_open_frac),
        *(sheet.cover_resistance_m2_s_pa_kg, np.nan if lewis is None else lewis),
        *(constants.STEFAN_BOLTZMANN_W_M2_K4, constants.GAS_CONSTANT_VAPOUR_J_KG_K),
        *(constants.WATER_SPECIFIC_HEAT_J_KG_K, sorption.REFERENCE_TEMP_K),
        *(air_film.DRY_HEAT_RATIO, air_film.VAPOUR_HEAT_MORE, constants.STANDARD_PRESSURE_PA),
        *(convection.UNEVEN_AIR_K, print_drying.LIFT_WIDTH, print_drying.PATCHINESS_FRAC),
        *(convection.STILL_OUTER_W_M2_K, convection.WINDY_OUTER_J_M3_K, convection.LIGHT_WIND_M_S),
    )
