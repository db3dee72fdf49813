"""Smooth functions of one variable, tabulated for a simulation's many calls; runs between steps."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array


class Lookup:
    """Several functions of the same variable, read together by straight lines between nodes.

    Below the first and above the last node the value at that end is held.

    Parameters
    ----------
    low, high, step : float
        First and last node, and the distance of nodes, in the variable's unit.
    functions : callable
        Each takes an array and gives one of the same shape.

    Examples
    --------
    >>> powers = Lookup(0.0, 10.0, 0.1, np.square, np.sqrt)
    >>> square, root = powers(np.array([4.0, 12.0]))
    >>> square.round(6).tolist(), root.round(3).tolist()
    ([16.0, 100.0], [2.0, 3.162])
    """

    def __init__(
        self, low: float, high: float, step: float, *functions: Callable[[Array], Array | float]
    ) -> None:
        count = round((high - low) / step)
        nodes = np.asarray(low + step * np.arange(count + 1), dtype=np.float64)
        values = np.stack([np.broadcast_to(each(nodes), nodes.shape) for each in functions], -1)
        self.low, self.nodes_per_unit, self.last = low, 1.0 / step, float(count)
        self.values = np.concatenate([values, values[-1:]])
        self._rises = np.diff(self.values, axis=0)

    def _place(self, variable: Array) -> tuple[NDArray[np.intp], Array]:
        position = (np.asarray(variable) - self.low) * self.nodes_per_unit
        position = np.minimum(np.maximum(position, 0.0), self.last)
        node = position.astype(np.intp)
        return node, (position - node)[..., None]

    @staticmethod
    def _at(table: Array, node: NDArray[np.intp]) -> Array:
        """Return rows of a table; of no number any row, since its share is none."""
        return table.take(node, axis=0, mode="clip")

    def __call__(self, variable: Array) -> tuple[Array, ...]:
        """Return the value of each function."""
        node, share = self._place(variable)
        found = self._at(self.values, node) + self._at(self._rises, node) * share
        return tuple(found[..., each] for each in range(found.shape[-1]))

    def with_slopes(self, variable: Array) -> tuple[tuple[Array, Array], ...]:
        """Return the value and the derivative of each function."""
        node, share = self._place(variable)
        rises = self._at(self._rises, node)
        found = self._at(self.values, node) + rises * share
        slopes = rises * self.nodes_per_unit
        return tuple((found[..., each], slopes[..., each]) for each in range(found.shape[-1]))


def between_steps_k(run_k: Array, step_s: float, elapsed_s: Array | float) -> Array:
    """Return the temperatures of a run between its steps, by straight lines; its ends are held.

    Examples
    --------
    >>> run_k = np.array([[280.0, 290.0], [281.0, 300.0], [284.0, 300.0]])
    >>> between_steps_k(run_k, 60.0, 30.0).tolist()
    [280.5, 295.0]
    >>> between_steps_k(run_k, 60.0, np.array([90.0, 500.0])).tolist()
    [[282.5, 300.0], [284.0, 300.0]]
    """
    place = np.clip(np.asarray(elapsed_s) / step_s, 0.0, run_k.shape[0] - 1.0)
    left = np.minimum(place.astype(np.intp), run_k.shape[0] - 2)
    share = (place - left)[..., None]
    return np.asarray(run_k[left] + share * (run_k[left + 1] - run_k[left]))
