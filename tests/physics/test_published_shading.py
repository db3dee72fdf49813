"""Views and shadows against tables of view factors, the basin's sky, and plane geometry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.inputs.place import Obstacle
from drybox.physics import shading
from tests.reference import Row, rows


def sky_seen(obstacles: list[list[float]], tilt_deg: float, bearing_deg: float) -> Any:
    around = [Obstacle("wall", *numbers) for numbers in obstacles]
    grid = shading.sky_grid(around)
    return shading.sky_seen_frac(grid, np.array(tilt_deg), np.array(bearing_deg))


QUANTITIES: dict[str, Callable[..., Any]] = {
    "recess_view_frac": shading.recess_view_frac,
    "recess_lit_frac": shading.recess_lit_frac,
    "sky_seen_frac": sky_seen,
}


@pytest.mark.parametrize("row", rows("shading"))
def test_published_shading(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))


def test_no_walls_see_the_whole_half_space() -> None:
    assert shading.recess_view_frac(0.4, 0.5, 0.0) == 1.0
