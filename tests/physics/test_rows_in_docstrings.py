"""A formula's doctest names its published row and prints what the row says."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drybox import physics
from tests.reference import FOLDER, Row, load

ROW = re.compile(r"\b[Rr]ow \"?((?=\S*[\d-])[\w./-]*\w)\"?")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")
ROWS = {row.id: row for path in FOLDER.glob("*.csv") for row in load(path.stem)}
ICE_POINT = 273.15
ROOT = Path(__file__).resolve().parents[2]


def documented() -> Iterator[tuple[str, str]]:
    """Yield each function, class and method of the physics with its docstring."""
    for found in pkgutil.walk_packages(physics.__path__, "drybox.physics."):
        for test in doctest.DocTestFinder().find(importlib.import_module(found.name)):
            yield test.name, test.docstring


NAMED = [
    pytest.param(text, name, id=f"{where.removeprefix('drybox.physics.')} {name}")
    for where, text in documented()
    for name in ROW.findall(text)
]


def printed(text: str) -> list[tuple[float, float]]:
    """Return the numbers that the examples print, each with half a unit of its last digit."""
    wanted = "".join(each.want for each in doctest.DocTestParser().get_examples(text))
    found = []
    for number in NUMBER.findall(wanted):
        digits, _, power = number.partition("e")
        places = len(digits.partition(".")[2])
        found.append((float(number), 0.5 * 10.0 ** (int(power or 0) - places)))
    return found


def agrees(row: Row, number: float | None, shown: list[tuple[float, float]]) -> bool:
    if number is None:
        return True
    allowed = row.tolerance * (abs(number) if row.tolerance_kind == "rel" else 1.0)
    return any(
        abs(value + shift - number) <= allowed + rounded * (1 + 1e-9)
        for value, rounded in shown
        for shift in (0.0, ICE_POINT)
    )


@pytest.mark.parametrize(("text", "name"), NAMED)
def test_a_doctest_prints_the_row_that_it_names(text: str, name: str) -> None:
    assert name in ROWS
    expected = ROWS[name].expected
    numbers = expected if isinstance(expected, list) else [expected]
    shown = printed(text)
    missing = [each for each in numbers if not agrees(ROWS[name], each, shown)]
    assert not missing, f"row {name} says {missing}, the doctest prints {shown}"


def quantities() -> Iterator[Any]:
    for path in sorted(Path(__file__).parent.rglob("test_*.py")):
        if "QUANTITIES" not in path.read_text("utf-8"):
            continue
        module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
        for formula in getattr(module, "QUANTITIES", {}).values():
            if formula.__module__.startswith("drybox.") and formula.__name__ != "<lambda>":
                yield pytest.param(formula, id=formula.__name__)


@pytest.mark.parametrize("formula", list(quantities()))
def test_every_formula_with_a_published_row_names_it(formula: Any) -> None:
    assert ROW.search(formula.__doc__ or "")
    assert ">>> " in formula.__doc__
