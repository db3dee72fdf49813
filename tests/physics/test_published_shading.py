"""Views and shadows against tables of view factors, the basin's sky, and plane geometry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.inputs.event.place import Obstacle
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


def test_light_passes_over_and_beside_an_obstacle_and_partly_through_a_tree() -> None:
    wall = Obstacle("wall", 350.0, 20.0, 30.0)  # over north
    tree = Obstacle("tree", 10.0, 90.0, 50.0, 0.4)
    azimuth = np.array([349.0, 350.0, 0.0, 15.0, 15.0, 15.0, 20.0, 90.0, 91.0])
    height = np.array([10.0, 10.0, 10.0, 29.0, 40.0, 60.0, 10.0, 49.0, 10.0])
    passed = shading.obstacle_transmittance((wall, tree), azimuth, height)
    assert passed == pytest.approx([1.0, 0.0, 0.0, 0.0, 0.4, 1.0, 0.0, 0.4, 1.0])
    column = shading.obstacle_transmittance((wall,), azimuth[:3], np.array([[10.0], [60.0]]))
    assert column == pytest.approx(np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]]))
