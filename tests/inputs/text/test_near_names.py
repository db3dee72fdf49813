"""Names that are taken for a slip of another, and names that are meant to differ."""

from __future__ import annotations

import pytest

from drybox.inputs.text.near_names import near_name


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("my box", "My_Box"),
        ("mybox", "My Box"),
        ("Market at Upper Larkmed", "Market at Upper Larkmead"),
        ("matt papre", "matt paper"),
        ("FIXER", "fixer"),
        ("fixr", "fixer"),
    ],
)
def test_a_slip_is_found(name: str, known: str) -> None:
    assert near_name(name, ["another", known]) == known


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("box A", "box B"),
        ("boxA", "boxB"),
        ("Fair 2027-06-12", "Fair 2027-06-13"),
        ("tray10", "tray11"),
        ("red bin", "bed bin"),
        ("spring fair", "autumn fair"),
        ("", "default"),
        ("-", "_"),
    ],
)
def test_names_that_are_meant_to_differ_are_left_alone(name: str, known: str) -> None:
    assert near_name(name, [known]) == ""
