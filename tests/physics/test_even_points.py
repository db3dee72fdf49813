"""Sobol's points against SciPy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from drybox.physics.even_points import even_points


@pytest.mark.parametrize("dimensions", [1, 2, 3, 13, 16])
@pytest.mark.parametrize("points", [1, 2, 64, 256])
def test_points_are_those_of_scipy(points: int, dimensions: int) -> None:
    ours = even_points(points, dimensions, np.random.default_rng(7))
    theirs = qmc.Sobol(dimensions, rng=np.random.default_rng(7)).random(points)
    assert np.array_equal(ours, theirs)


def test_one_generator_gives_other_points_each_time() -> None:
    rng, theirs = np.random.default_rng(7), np.random.default_rng(7)
    even_points(64, 3, rng)
    qmc.Sobol(3, rng=theirs).random(64)
    assert np.array_equal(even_points(64, 3, rng), qmc.Sobol(3, rng=theirs).random(64))
