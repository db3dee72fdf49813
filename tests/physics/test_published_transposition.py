from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from drybox.physics.transposition import perez_brightness, transpose_perez
from tests.reference import Row, rows


def perez_parts(**inputs: float) -> list[Any]:
    plane = transpose_perez(**inputs)
    return [
        plane.beam_w_m2,
        plane.circumsolar_w_m2,
        plane.isotropic_w_m2,
        plane.horizon_w_m2,
        plane.ground_w_m2,
    ]


def perez_sums(**inputs: float) -> list[Any]:
    beam, *sky, ground = perez_parts(**inputs)
    return [beam + sum(sky) + ground, sum(sky)]


def plane_mj_m2(**inputs: float) -> Any:
    return sum(perez_parts(**inputs)) * 3600.0 / 1e6


QUANTITIES: dict[str, Callable[..., Any]] = {
    "perez_brightness": perez_brightness,
    "perez_parts": perez_parts,
    "perez_sums": perez_sums,
    "plane_mj_m2": plane_mj_m2,
}


@pytest.mark.parametrize("row", rows("transposition"))
def test_published_transposition(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
