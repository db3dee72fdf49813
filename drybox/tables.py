"""The one place that finds and reads the shipped property tables.

Each file in ``data/tables`` has the columns ``item, property, value, unit, low, high,
status, source``. Status is ``published``, ``memory`` (from memory, not confirmed),
``practice`` (common practice, no source) or ``judgement``.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from drybox.errors import InputError, did_you_mean
from drybox.units import DIMENSIONS, parse_quantity

STATUSES = ("published", "memory", "practice", "judgement")
COLUMNS = ("item", "property", "value", "unit", "low", "high", "status", "source")


@dataclass(frozen=True)
class TableValue:
    """One row of a table.

    ``value``, ``low`` and ``high`` are SI numbers; ``printed`` is the value as the table has it,
    in its ``unit``; ``low`` and ``high`` (the range met in practice) may be None.
    """

    value: float
    printed: str
    unit: str
    low: float | None
    high: float | None
    status: str
    source: str

    @property
    def text(self) -> str:
        """The value as printed, with its unit where it has one."""
        return self.printed if self.unit == "1" else f"{self.printed} {self.unit}"


def shipped_dir(name: str) -> Path:
    """Return the folder of shipped ``tables`` or ``demo``: in the package, else the checkout."""
    package = Path(__file__).resolve().parent
    inside = package / f"_{name}"
    return inside if inside.is_dir() else package.parent / "data" / name


@cache
def _dimension_of(unit: str) -> str:
    for kind in DIMENSIONS.values():
        try:
            parse_quantity(f"1 {unit}", kind.name, "unit")
        except InputError:
            continue
        return kind.name
    raise InputError(f"unit '{unit}' is not known")


@cache
def load_table(name: str, items: tuple[str, ...] = ()) -> dict[str, dict[str, TableValue]]:
    """Return a table as item → property → value; of a long one, only the items wanted."""
    path = shipped_dir("tables") / f"{name}.csv"
    table: dict[str, dict[str, TableValue]] = {}
    with path.open(encoding="utf-8", newline="") as stream:
        for number, row in enumerate(csv.DictReader(stream), start=2):
            if items and row["item"] not in items:
                continue
            where = f"{path.name}, line {number}"
            if row["status"] not in STATUSES or not row["source"] or not row["unit"]:
                raise InputError(
                    f"row {row['item']}/{row['property']} lacks status, source or unit", where
                )
            key, unit = row["property"], row["unit"]
            si = {
                part: parse_quantity(f"{row[part]} {unit}", _dimension_of(unit), key, where=where)
                for part in ("value", "low", "high")
                if row[part] or part == "value"
            }
            table.setdefault(row["item"], {})[key] = TableValue(
                value=si["value"],
                printed=row["value"],
                unit=unit,
                low=si.get("low"),
                high=si.get("high"),
                status=row["status"],
                source=row["source"],
            )
    return table


def look_up(table: str, item: str, name: str, *, where: str = "") -> dict[str, TableValue]:
    """Return one item's properties, or say which items there are."""
    items = load_table(table)
    if item in items:
        return items[item]
    mend = did_you_mean(item, items, "choose one of: " + ", ".join(sorted(items)))
    raise InputError(f"{name} '{item}' is not known", where, mend)
