"""Does heat and water close? An account kept beside a run, independent of its step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybox.physics.box_balance import Rates, rates
from drybox.physics.box_state import BoxSystem, State, stored_j
from drybox.physics.forcing import Outside

Array = NDArray[np.float64]


def slopes(system: BoxSystem, now: Rates) -> State:
    """Return how fast each part of the state changes, per second."""
    plate_c = system.plate.heat_capacity_j_m2_k
    cover_c = system.plate.cover.heat_capacity_j_m2_k if system.plate.cover else 1.0
    return State(
        now.plate_w_m2 / plate_c,
        now.patch_w_m2 / plate_c,
        now.sheet_w_m2 / now.sheet.heat_capacity_j_m2_k,
        -now.sheet.water_kg_m2_s,
        now.cover_w_m2 / cover_c,
    )


class Audit:
    """Flows over the boundary summed by Simpson's rule, to set against what is stored.

    The state at half a step is the cubic through both ends and their slopes, so that the sum
    errs far less than the step itself and shows the step's own defect.
    """

    def __init__(self, system: BoxSystem, start: State, occupied: Array) -> None:
        self.system, self.start, self.occupied = system, start, occupied
        n = start.plate_temp_k.shape[0]
        self.net, self.gross, self.gone = np.zeros(n), np.zeros(n), np.zeros(n)

    def passed(
        self,
        step_s: float,
        before: State,
        now: Rates,
        after: State,
        then: Rates,
        between: Outside,
    ) -> None:
        """Add one step; ``between`` is the weather at its middle."""
        first, last = slopes(self.system, now), slopes(self.system, then)
        ends = zip(before, after, first, last, strict=True)
        halfway = State(*(0.5 * (a + b) + step_s / 8 * (c - d) for a, b, c, d in ends))
        mid = rates(self.system, halfway, between, self.occupied, between.pressure_pa)
        sixth = step_s / 6
        self.net += sixth * (now.net_w + 4 * mid.net_w + then.net_w)
        self.gross += sixth * (now.gross_w + 4 * mid.gross_w + then.gross_w)
        water = now.sheet.water_kg_m2_s + 4 * mid.sheet.water_kg_m2_s + then.sheet.water_kg_m2_s
        self.gone += sixth * (water * self.occupied).sum(axis=1)

    def errors_frac(self, end: State) -> tuple[Array, Array]:
        """Return the errors of heat (of all that flowed) and of water (of all there was)."""
        gained = stored_j(self.system, end, self.occupied) - stored_j(
            self.system, self.start, self.occupied
        )
        held = (self.start.water_kg_m2 * self.occupied).sum(axis=1)
        lost = held - (end.water_kg_m2 * self.occupied).sum(axis=1)
        heat = (gained - self.net) / np.maximum(self.gross, 1.0)
        return heat, (lost - self.gone) / np.maximum(held, 1e-6)
