from __future__ import annotations

import re

import pytest

from tests.reference import FOLDER, Row, load


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.csv")))
def test_every_reference_file_is_well_formed(name: str) -> None:
    assert load(name)


def row(expected: object, tolerance: float, kind: str) -> Row:
    return Row("x", "q", {}, expected, tolerance, kind, "made for this test", "recomputed")  # type: ignore[arg-type]


def test_a_row_accepts_what_is_within_its_tolerance() -> None:
    row(10.0, 0.1, "abs").check(10.09)
    row([10.0, 200.0], 0.01, "rel").check([10.05, 201.0])
    row([10.0, None], 0.1, "abs").check([10.0, 999.0])


@pytest.mark.parametrize("value", [10.11, float("nan"), [10.0, 10.0]])
def test_a_row_refuses_a_miss_a_nan_and_a_wrong_shape(value: object) -> None:
    with pytest.raises(AssertionError):
        row(10.0, 0.1, "abs").check(value)


def test_every_row_named_in_a_docstring_exists() -> None:
    package = FOLDER.parent.parent / "drybox"
    named = {
        (file, row_id, path.name)
        for path in package.rglob("*.py")
        for row_id, file in re.findall(
            r"\brows? \"?([^\s\"]+)\"? of\s+``data/reference/(\w+)\.csv``",
            path.read_text("utf-8"),
            re.I,
        )
    }
    assert named
    known = {path.stem: {row.id for row in load(path.stem)} for path in FOLDER.glob("*.csv")}
    assert not [each for each in named if each[1] not in known.get(each[0], set())]
