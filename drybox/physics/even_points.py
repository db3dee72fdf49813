"""Points that lie evenly in a cube of many dimensions: Sobol's sequence, scrambled.

SciPy has it too, but to load it loads all of its statistics, half as long as a whole command.
"""

from __future__ import annotations

from itertools import count, islice

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BITS = 30
"""Of each coordinate; 2^30 points at the most. [-]"""

DIRECTIONS = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
    (5, 4, (1, 1, 5, 5, 5)),
    (5, 7, (1, 1, 7, 11, 19)),
    (5, 11, (1, 1, 5, 1, 1)),
    (5, 13, (1, 1, 1, 3, 11)),
    (5, 14, (1, 3, 5, 5, 31)),
    (6, 1, (1, 3, 3, 9, 7, 49)),
    (6, 13, (1, 1, 1, 15, 21, 21)),
    (6, 16, (1, 3, 1, 13, 27, 49)),
)
"""Degree, coefficients and first direction numbers of each dimension past the first (published:
Joe and Kuo 2008, table new-joe-kuo-6)."""


def even_points(points: int, dimensions: int, rng: np.random.Generator) -> Array:
    """Return the first points of a scrambled Sobol sequence, (points, dimensions), in [0, 1).

    They are those of ``scipy.stats.qmc.Sobol(dimensions, rng=rng).random(points)``. Evenest where
    there are a power of two of them, of at most 16 dimensions.

    Each direction number is multiplied by a random lower triangular matrix of bits, and all points
    are shifted by random bits.

    References
    ----------
    Joe, S. and Kuo, F. Y. (2008), Constructing Sobol sequences with better two-dimensional
    projections, SIAM J. Sci. Comput. 30, 2635. Matoušek, J. (1998), On the L2-discrepancy for
    anchored boxes, J. Complexity 14, 527: the scrambling.

    Examples
    --------
    >>> found = even_points(8, 3, np.random.default_rng(1))
    >>> np.sort(np.floor(8 * found), axis=0)[:, 2].astype(int).tolist()  # one in each eighth
    [0, 1, 2, 3, 4, 5, 6, 7]
    """
    (own,) = rng.spawn(1)
    place = np.arange(BITS, dtype=np.uint32)
    shift = own.integers(2, size=(dimensions, BITS), dtype=np.uint32) @ (1 << place)
    mixed = np.tril(own.integers(2, size=(dimensions, BITS, BITS), dtype=np.uint32))
    mixed[:, place, place] = 1
    low_first = place[::-1]
    bits = _directions(dimensions)[:, :, None] >> low_first & 1  # (dimension, number, high to low)
    scrambled = np.einsum("dpk,djk->djp", mixed, bits) & 1
    directions = (scrambled << low_first).sum(axis=2, dtype=np.uint32)
    # each point differs from the one before by one direction, that of the lowest 0 bit (Gray code)
    turns = [(k & -k).bit_length() - 1 for k in islice(count(1), max(points - 1, 0))]
    steps = np.vstack([shift.astype(np.uint32), directions[:, turns].T])
    return np.asarray(np.bitwise_xor.accumulate(steps)[:points] / 2.0**BITS)


def _directions(dimensions: int) -> NDArray[np.uint32]:
    """Return the direction numbers, (dimensions, BITS), by their recurrence."""
    found = np.ones((dimensions, BITS), dtype=np.uint32)
    for row, (degree, middle, first) in zip(found[1:], DIRECTIONS, strict=False):
        numbers = list(first)
        for k in range(degree, BITS):
            new = numbers[k - degree] ^ numbers[k - degree] << degree
            for j in range(1, degree):
                if middle >> (degree - 1 - j) & 1:
                    new ^= numbers[k - j] << j
            numbers.append(new)
        row[:] = numbers
    return found << np.arange(BITS, dtype=np.uint32)[::-1]
