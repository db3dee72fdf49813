"""What a series keeps up for a minute: the largest of its least values over a trailing minute."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array

KEPT_S = 60.0
"""How long a temperature must last to count (judgement). [s]"""

EVERY_S = 10.0
"""Between the samples of which the least is taken. [s]"""

SAMPLES = round(KEPT_S / EVERY_S)


class Kept:
    """The largest value that each series has stayed above for `KEPT_S` on end.

    Parameters
    ----------
    start_k : array
        Values at elapsed time 0, (n, series); before that they count as having been the same. [K]

    Notes
    -----
    ``max over t of min over [t - 60 s, t]`` of a series that is straight within each step, taken
    every `EVERY_S`: it lies at most the series' change in that time away from the exact one. A
    peak of less than a minute does not count, the level at its foot does.
    """

    def __init__(self, start_k: Array) -> None:
        self.most = np.array(start_k, dtype=float)
        self._last = np.repeat(self.most[:, None, :], SAMPLES, axis=1)  # oldest first

    def passed(
        self, before_k: Array, after_k: Array, begun_s: Array, length_s: Array, until_s: Array
    ) -> None:
        """Take in one step of every case.

        Parameters
        ----------
        before_k, after_k : array
            Values at its ends, (n, series). [K]
        begun_s, length_s : array
            When it began and how long it was, 0 where no step was taken, (n,). [s]
        until_s : array
            Later samples do not count, (n,). [s]
        """
        first = np.floor(begun_s / EVERY_S + 1e-9)
        count = (np.floor((begun_s + length_s) / EVERY_S + 1e-9) - first).astype(np.intp)
        most = int(count.max(initial=0))
        if most == 0:
            return
        number = np.arange(1, most + 1)
        at_s = (first[:, None] + number) * EVERY_S
        share = (at_s - begun_s[:, None]) / np.where(length_s > 0.0, length_s, 1.0)[:, None]
        share = np.minimum(share, 1.0)[..., None]
        sampled = before_k[:, None, :] + share * (after_k - before_k)[:, None, :]
        every = np.concatenate([self._last, sampled], axis=1)
        least = every[:, :most]
        for later in range(1, SAMPLES + 1):
            least = np.minimum(least, every[:, later : later + most])
        counts = (number <= count[:, None]) & (at_s <= until_s[:, None])
        kept = np.where(counts[..., None], least, -np.inf).max(axis=1)
        self.most = np.maximum(self.most, kept)
        newest = (count[:, None] + np.arange(SAMPLES))[..., None]
        self._last = np.take_along_axis(every, newest, axis=1)

    def some(self, which: NDArray[np.intp]) -> Kept:
        """Return those of some cases."""
        found = Kept(self.most[which])
        found._last = self._last[which]
        return found


def limit_at_k(
    water_kg_m2: Array,
    critical_kg_m2: Array | float,
    dry_kg_m2: float,
    limit_k: tuple[float, float],
) -> Array:
    """Return what a print may reach at its water: one limit while free water is in it, then on.

    Parameters
    ----------
    water_kg_m2 : array
        All the water in it. [kg/m²]
    critical_kg_m2 : array or float
        Above this there is free water. [kg/m²]
    dry_kg_m2 : float
        Water of a dry print. [kg/m²]
    limit_k : tuple of float
        The limit down to the critical water, and from dry on; straight in between. [K]
    """
    wet_k, dry_k = limit_k
    if wet_k == dry_k:
        return np.full(np.shape(water_kg_m2), wet_k)
    span = np.maximum(critical_kg_m2 - dry_kg_m2, 1e-6)
    share = np.clip((critical_kg_m2 - water_kg_m2) / span, 0.0, 1.0)
    return np.asarray(wet_k + share * (dry_k - wet_k))
