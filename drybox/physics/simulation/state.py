"""The box, its prints, and the state they are in: what `step` alone moves on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.physics.box_heat import PlateModel
from drybox.physics.constants import WATER_SPECIFIC_HEAT_J_KG_K
from drybox.physics.plate_conduction import PlateConduction
from drybox.physics.print_drying import SheetModel

Model = TypeVar("Model", PlateModel, SheetModel)


class State(NamedTuple):
    """Temperatures and water: plate and cover (n,), patches, sheets and water (n, slots)."""

    plate_temp_k: Array
    patch_temp_k: Array
    sheet_temp_k: Array
    water_kg_m2: Array
    cover_temp_k: Array


@dataclass(frozen=True)
class BoxSystem:
    """A plate, the prints it takes, and how many of them.

    Parameters
    ----------
    plate : PlateModel
        Plate and cover.
    sheet : SheetModel
        The prints, all of one kind.
    slots : int
        Places for prints.
    conduction : PlateConduction
        Along the plate from the bare metal to each patch.
    """

    plate: PlateModel
    sheet: SheetModel
    slots: int = 1
    conduction: PlateConduction = field(default_factory=PlateConduction.none)

    @property
    def bare_area_m2(self) -> float:
        """Plate outside all the slots. [m²]"""
        return self.plate.area_m2 - self.slots * self.sheet.area_m2

    def some(self, cases: NDArray[np.intp], of_cases: int) -> BoxSystem:
        """Return the system of some of its cases.

        Parameters
        ----------
        cases : array of int
            Which.
        of_cases : int
            How many cases this system is of; parameters of that length differ by case.
        """

        def picked(model: Model) -> Model:
            by_case = _by_case(model, of_cases).items()
            return replace(model, **{name: value[cases] for name, value in by_case})

        return replace(self, plate=picked(self.plate), sheet=picked(self.sheet))

    @classmethod
    def joined(cls, systems: Sequence[BoxSystem], of_cases: int) -> BoxSystem:
        """Return boxes of as many cases each, one after the other.

        They must be alike but in parameters that differ by case.
        """

        def each(models: Sequence[Model]) -> Model:
            names = _by_case(models[0], of_cases)
            rows: dict[str, Any] = {
                name: np.concatenate([getattr(one, name) for one in models]) for name in names
            }
            return replace(models[0], **rows)

        plate, sheet = each([one.plate for one in systems]), each([one.sheet for one in systems])
        return replace(systems[0], plate=plate, sheet=sheet)

    def start(self, temp_k: Array) -> State:
        """Return the state of an empty box at one temperature, (n,). [K]"""
        column = np.repeat(np.asarray(temp_k, dtype=float)[:, None], self.slots, axis=1)
        plate = np.array(temp_k, dtype=float)
        return State(plate, column, column.copy(), np.zeros_like(column), plate.copy())

    def lay_on(self, state: State, slot: int, temp_k: Array, *, water_kg_m2: Array) -> State:
        """Return the state with a fresh print put into one slot."""
        sheet, water = state.sheet_temp_k.copy(), state.water_kg_m2.copy()
        sheet[:, slot] = temp_k
        water[:, slot] = water_kg_m2
        return state._replace(sheet_temp_k=sheet, water_kg_m2=water)


def _by_case(model: PlateModel | SheetModel, of_cases: int) -> dict[str, Any]:
    """Return the parameters of a model that differ by case."""
    values = {part.name: getattr(model, part.name) for part in fields(model)}
    return {
        name: value
        for name, value in values.items()
        if isinstance(value, np.ndarray) and value.shape[:1] == (of_cases,)
    }


def stored_j(system: BoxSystem, state: State, occupied: NDArray[np.bool_]) -> Array:
    """Return heat stored in plate, prints and cover above 0 K, (n,). [J]"""
    plate, sheet = system.plate, system.sheet
    capacity = sheet.dry_heat_j_m2_k + np.maximum(state.water_kg_m2, 0) * WATER_SPECIFIC_HEAT_J_KG_K
    slots = (
        plate.heat_capacity_j_m2_k * state.patch_temp_k + occupied * capacity * state.sheet_temp_k
    )
    total = system.bare_area_m2 * plate.heat_capacity_j_m2_k * state.plate_temp_k
    total = total + sheet.area_m2 * slots.sum(axis=1)
    if plate.cover is not None:
        total = total + plate.area_m2 * plate.cover.heat_capacity_j_m2_k * state.cover_temp_k
    return np.asarray(total)
