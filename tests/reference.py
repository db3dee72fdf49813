"""Published values: the one loader of ``data/reference/*.csv``, used by every published test.

A row says what quantity it is, its inputs (JSON, named and in units as our functions take
them), the expected number or numbers (JSON), how near we must come, and where the figure is
from. A published test maps each quantity to one of our public functions::

    QUANTITIES = {"saturation_pressure_pa": air.saturation_pressure_pa}

    @pytest.mark.parametrize("row", rows("air"))
    def test_published_value(row: Row) -> None:
        row.check(QUANTITIES[row.quantity](**row.inputs))
"""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

FOLDER = Path(__file__).resolve().parent.parent / "data" / "reference"
COLUMNS = [
    "id",
    "quantity",
    "inputs",
    "expected",
    "tolerance",
    "tolerance_kind",
    "source",
    "status",
]
STATUSES = ("published", "recomputed", "memory")
KINDS = ("abs", "rel")


@dataclass(frozen=True)
class Row:
    """One published value; a null among the expected numbers is not compared."""

    id: str
    quantity: str
    inputs: dict[str, Any]
    expected: float | list[float | None]
    tolerance: float
    tolerance_kind: str
    source: str
    status: str

    def check(self, value: Any) -> None:
        """Fail, naming the source, unless ``value`` is within the tolerance."""
        ours = np.ravel(np.asarray(value, dtype=float))
        theirs = np.ravel(np.asarray(self.expected, dtype=float))
        assert ours.shape == theirs.shape, f"{self.id}: {ours.size} values, {theirs.size} expected"
        compared = ~np.isnan(theirs)
        assert not np.isnan(ours[compared]).any(), f"{self.id}: NaN in {ours}"
        scale = np.abs(theirs) if self.tolerance_kind == "rel" else 1.0
        miss = (np.abs(ours - theirs) / scale)[compared]
        assert miss.max() <= self.tolerance * (1 + 1e-9), (
            f"{self.id} {self.quantity}: ours {ours}, expected {theirs}, off by {miss.max():.3g} "
            f"({self.tolerance_kind}), allowed {self.tolerance:g}; {self.source}"
        )

    def check_between(self, value: Any) -> None:
        """Fail, naming the source, unless every ``value`` lies in the expected [low, high]."""
        ours = np.ravel(np.asarray(value, dtype=float))
        low, high = np.asarray(self.expected, dtype=float)
        assert ((ours >= low) & (ours <= high)).all(), (
            f"{self.id} {self.quantity}: ours {ours}, expected {low:g} to {high:g}; {self.source}"
        )


def load(name: str) -> list[Row]:
    """Return every row of ``data/reference/<name>.csv``; a malformed row is an error."""
    path = FOLDER / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream)
        assert reader.fieldnames == COLUMNS, f"{path.name}: columns {reader.fieldnames}"
        found = []
        for number, raw in enumerate(reader, start=2):
            where = f"{path.name}, line {number}"
            assert raw["source"], f"no source ({where})"
            assert raw["status"] in STATUSES, f"status {raw['status']} ({where})"
            assert raw["tolerance_kind"] in KINDS, f"tolerance kind ({where})"
            found.append(
                Row(
                    id=raw["id"],
                    quantity=raw["quantity"],
                    inputs=json.loads(raw["inputs"]),
                    expected=json.loads(raw["expected"]),
                    tolerance=float(raw["tolerance"]),
                    tolerance_kind=raw["tolerance_kind"],
                    source=raw["source"],
                    status=raw["status"],
                )
            )
    names = [row.id for row in found]
    twice = {name for name in names if names.count(name) > 1}
    assert not twice, f"{path.name}: ids used twice: {sorted(twice)}"
    return found


def rows(name: str, *quantities: str) -> list[Any]:
    """Return the rows of one file (or of some quantities in it) as pytest parameters."""
    chosen = [row for row in load(name) if not quantities or row.quantity in quantities]
    assert chosen, f"{name}.csv has no rows for {quantities}"
    return [pytest.param(row, id=row.id) for row in chosen]
