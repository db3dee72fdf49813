"""The day's water as a limit: which prints are still washed before it is used up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Flags
from drybox.planning.wet.line import WashTimes
from drybox.planning.wet.wash import WashPlan


@dataclass(frozen=True)
class WaterLimit:
    """What is left for washing, rinses and spare taken off, and what a full and a lone wash take.

    ``together`` prints make a full wash. [m³]
    """

    left_m3: float
    full_m3: float
    single_m3: float
    together: int

    @classmethod
    def of(cls, left_m3: float, full: WashPlan, single: WashPlan) -> WaterLimit:
        """Return the limit with the water of a full batch's wash and of a lone print's."""
        return cls(left_m3, full.water_total_m3, single.water_total_m3, full.prints)

    def runs_out(self, wash: WashTimes) -> Flags:
        """Return which prints there is no more water for, (n, tickets).

        Batches take it in order of time, those of one instant by tray. A batch takes water in
        proportion to its prints, but no less than a print alone; one that it does not last for is
        not washed, nor is any after it.

        Examples
        --------
        Water for two prints, each washed alone:

        >>> begun_at = np.array([[0.0, 600.0, 1200.0]])
        >>> tray, batches = np.zeros((1, 3), dtype=int), np.array([3])
        >>> wash = WashTimes(begun_at, begun_at + 600.0, tray, batches)
        >>> WaterLimit(0.01, 0.005, 0.005, 1).runs_out(wash).tolist()
        [[False, False, True]]
        """
        short = np.zeros(wash.begun_at.shape, dtype=np.bool_)
        for member, (begun_at, tray) in enumerate(zip(wash.begun_at, wash.tray, strict=True)):
            there = np.flatnonzero(np.isfinite(begun_at))
            batches, of = np.unique(
                np.stack([begun_at[there], tray[there]], axis=1), axis=0, return_inverse=True
            )
            prints = np.bincount(of.ravel(), minlength=len(batches)).astype(float)
            share = np.maximum(prints / self.together, self.single_m3 / self.full_m3)
            used_m3 = np.cumsum(np.minimum(share, 1.0) * self.full_m3)
            short[member, there] = (used_m3 > self.left_m3 + 1e-9)[of.ravel()]
        return short
