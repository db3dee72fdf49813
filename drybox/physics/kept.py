"""What a series keeps up for a minute: the largest of its least values over a trailing minute."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

KEPT_S = 60.0
"""How long a temperature must last to count (judgement). [s]"""

EVERY_S = 10.0
"""Between the samples of which the least is taken. [s]"""

SAMPLES = round(KEPT_S / EVERY_S)


class Kept:
    """The largest value that each series has stayed above for `KEPT_S` on end.

    Parameters
    ----------
    start : array
        Values at elapsed time 0, (n, series); before that they count as having been the same.

    Notes
    -----
    ``max over t of min over [t - 60 s, t]`` of a series that is straight within each step, taken
    every `EVERY_S`: it lies at most the series' change in that time away from the exact one. A
    peak of less than a minute does not count, the level at its foot does.
    """

    def __init__(self, start: Array) -> None:
        self.most = np.array(start, dtype=float)
        self._last = np.repeat(self.most[:, None, :], SAMPLES, axis=1)  # oldest first

    def passed(
        self, before: Array, after: Array, begun_s: Array, length_s: Array, until_s: Array
    ) -> None:
        """Take in one step of every case.

        Parameters
        ----------
        before, after : array
            Values at its ends, (n, series).
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
        sampled = before[:, None, :] + share * (after - before)[:, None, :]
        every = np.concatenate([self._last, sampled], axis=1)
        least = np.lib.stride_tricks.sliding_window_view(every, SAMPLES + 1, axis=1).min(axis=-1)
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
