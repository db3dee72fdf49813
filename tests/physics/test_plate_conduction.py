"""Cold along the plate, against walls, fins and conduction in two dimensions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import spsolve

from drybox.physics.plate_conduction import (
    lateral_conductance_w_k,
    plate_conduction,
    shade_felt_frac,
)

PLATE_M, PRINT_M, GAP_M = (0.40, 0.50), (0.1016, 0.127), 0.01
CONDUCTION_W_K, LOSS_W_M2_K, CELL_M = 60.5 * 0.003, 15.0, 0.004
STEEL = plate_conduction(PLATE_M, PRINT_M, GAP_M, CONDUCTION_W_K, LOSS_W_M2_K)


def two_dimensions_w_k(places: Sequence[tuple[float, float]]) -> float:
    """Return patch to bare plate by finite volumes, for prints at these lower left corners.

    Patches give heat off evenly, the bare plate takes it up from its surroundings through its
    loss; the rim lets none through.
    """
    across, up = (round(side / CELL_M) for side in PLATE_M)
    x, y = np.meshgrid((np.arange(across) + 0.5) * CELL_M, (np.arange(up) + 0.5) * CELL_M)
    print_at = np.zeros(x.shape, dtype=bool)
    for left, low in places:
        print_at |= (x > left) & (x < left + PRINT_M[0]) & (y > low) & (y < low + PRINT_M[1])
    number = np.arange(across * up).reshape(up, across)
    pairs = [(number[:, :-1], number[:, 1:]), (number[:-1], number[1:])]
    one = np.concatenate([pair[0].ravel() for pair in pairs])
    other = np.concatenate([pair[1].ravel() for pair in pairs])
    flow = np.full(one.size, CONDUCTION_W_K)
    joined = sparse.coo_matrix((flow, (one, other)), shape=(number.size, number.size))
    joined = joined + joined.T
    bare = ~print_at.ravel()
    own = np.asarray(joined.sum(axis=1)).ravel() + bare * LOSS_W_M2_K * CELL_M**2
    given_off = print_at.ravel() * -1.0
    temp = spsolve((sparse.diags(own) - joined).tocsc(), given_off)
    each_w = print_at.sum() / len(places)
    return float(each_w / (temp[bare].mean() - temp[~bare].mean()))


def middle(places: int) -> list[tuple[float, float]]:
    """Return places of a grid of three by three, evenly spread, the middle one first."""
    step = (PLATE_M[0] - PRINT_M[0]) / 2 - 0.02, (PLATE_M[1] - PRINT_M[1]) / 2 - 0.02
    centre = (PLATE_M[0] - PRINT_M[0]) / 2, (PLATE_M[1] - PRINT_M[1]) / 2
    order = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)]
    return [(centre[0] + i * step[0], centre[1] + j * step[1]) for i, j in order[:places]]


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6, 7, 8, 9])
def test_prints_from_the_middle_outwards_are_within_30_percent_of_two_dimensions(
    count: int,
) -> None:
    occupied = np.zeros((1, 9), dtype=bool)
    occupied[0, :count] = True
    ours = float(STEEL.w_k(occupied)[0, :count].mean())
    assert ours == pytest.approx(two_dimensions_w_k(middle(count)), rel=0.3)


def test_a_lone_print_in_a_corner_gets_half_of_what_one_in_the_middle_gets() -> None:
    corner = np.zeros((1, 9), dtype=bool)
    corner[0, 8] = True
    ours = float(STEEL.w_k(corner)[0, 8])
    assert ours == pytest.approx(two_dimensions_w_k([(0.012, 0.012)]), rel=0.2)


def test_a_lone_print_is_as_cold_whatever_the_slots_in_use() -> None:
    for slots in (1, 2, 3, 9):
        occupied = np.zeros((1, slots), dtype=bool)
        occupied[0, 0] = True
        assert STEEL.w_k(occupied)[0, 0] == STEEL.w_k(np.ones((1, 1), dtype=bool))[0, 0]


def test_a_long_print_is_cooled_as_a_wall_with_generation_and_a_short_bare_strip() -> None:
    """Parabolas on both sides of the edge: each mean lies a third of its depth from it."""
    width, reach, conduction = 0.1, 0.06, 0.18
    half, bare = np.linspace(0.0, width / 2, 2001), np.linspace(0.0, reach, 2001)
    inside = np.mean((width / 2) ** 2 - half**2) / (2 * conduction * width / 2)
    outside_k = np.mean(reach * bare - bare**2 / 2) / (conduction * reach)
    long = 1e4 * width
    found = lateral_conductance_w_k(width, long, conduction, 0.01, reach)
    assert found / (2 * long) == pytest.approx(1 / (inside + outside_k), rel=1e-3)
    turned = lateral_conductance_w_k(long, width, conduction, 0.01, reach)
    assert turned == pytest.approx(found)


def test_where_the_bare_plate_is_wide_the_cold_spreads_as_far_as_a_fin_is_long() -> None:
    """A fin of endless length takes the square root of its conduction and loss (from memory)."""
    thin_m, conduction, loss = 1e-6, 0.18, 20.0
    found = lateral_conductance_w_k(thin_m, 1.0, conduction, loss, 50.0)
    assert found / 2.0 == pytest.approx(np.sqrt(conduction * loss), rel=1e-4)


def test_the_middle_feels_of_a_shadow_at_the_wall_what_conduction_leaves_of_it() -> None:
    """One dimension by finite volumes: a plate in the sun but for a strip along one wall."""
    length, cells = 0.40, 400
    cell = length / cells
    x = (np.arange(cells) + 0.5) * cell
    sun = np.where(x < 0.012, 0.0, 900.0)
    joined = sparse.diags([np.ones(cells - 1), np.ones(cells - 1)], [-1, 1]) * (
        CONDUCTION_W_K / cell
    )
    own = np.asarray(joined.sum(axis=1)).ravel() + LOSS_W_M2_K * cell
    rise = spsolve((sparse.diags(own) - joined).tocsc(), sun * cell)
    short_middle, short_mean = 900.0 / LOSS_W_M2_K - rise[cells // 2], 60.0 * 0.03
    found = shade_felt_frac((length, length), CONDUCTION_W_K, LOSS_W_M2_K)
    assert short_middle / short_mean == pytest.approx(found, rel=0.02)
