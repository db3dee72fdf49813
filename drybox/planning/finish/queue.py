"""Dry prints led through the stages after drying: hands, boards and what waits for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array, Flags
from drybox.inputs.finish.stages import FinishStage


@dataclass(frozen=True, eq=False)
class FreeTime:
    """When the photographer's own hands are free, by member: a clock that runs only then.

    ``free`` is (n, steps) from ``start_at`` on; after the last step they are free for good.
    """

    free: Flags
    start_at: float
    step_s: float

    @property
    def _ends_s(self) -> Array:
        """What the clock says at the end of each step."""
        return np.asarray(np.cumsum(self.free, axis=1) * float(self.step_s), dtype=np.float64)

    def clock_s(self, moment: Array) -> Array:
        """Return what each member's clock says at a moment, (n,) to (n,). [s]"""
        whole = self.free.shape[1]
        since = np.maximum(moment - self.start_at, 0.0)
        step = np.minimum(since // self.step_s, whole).astype(np.intp)
        rows = np.arange(self.free.shape[0])
        ends = np.concatenate([np.zeros((rows.size, 1)), self._ends_s], axis=1)
        runs = np.concatenate([self.free, np.ones((rows.size, 1), dtype=bool)], axis=1)
        part = since - step * self.step_s
        return np.asarray(ends[rows, step] + np.where(runs[rows, step], part, 0.0))

    def moment_at(self, clock_s: Array) -> Array:
        """Return when each member's clock says so much, (n,) to (n,). [s]

        The first moment at which it does: work that ends with a free stretch ends there.
        """
        ends = self._ends_s
        whole = self.free.shape[1]
        before = (ends < clock_s[:, None] - 1e-9).sum(axis=1)
        rows, step = np.arange(ends.shape[0]), np.minimum(before, whole - 1)
        begun = np.where(step > 0, ends[rows, np.maximum(step - 1, 0)], 0.0)
        inside = self.start_at + step * self.step_s + (clock_s - begun)
        past = self.start_at + whole * self.step_s + (clock_s - ends[:, -1])
        return np.asarray(np.where(before >= whole, past, inside))


@dataclass(frozen=True, eq=False)
class Finished:
    """When each print is through all stages, (n, tickets), and how long hands were kept, (n,)."""

    ready_at: Array
    hands_s: Array


def through_stages(
    pulled_at: Array,
    stages: tuple[FinishStage, ...],
    factor: Array,
    *,
    helpers: int,
    own: FreeTime | None = None,
) -> Finished:
    """Return when dry prints are through the stages after drying, by member and ticket.

    ``pulled_at`` is infinite where a print never is, ``factor`` is on the time that each ticket
    keeps hands; both (n, tickets). Helpers do nothing else. With none, ``own`` is when the
    photographer's own hands are free: sittings and baths go first, and work is left and taken up
    again.

    First come, first served over all stages together, by when a print is ready for its next
    stage and a place is free there; of two alike the farther goes first, then who came to the
    stage first, then the earlier column. A print keeps its place from when one is free for it
    until it has lain.
    """
    members, tickets = pulled_at.shape
    rows = np.arange(members)
    hands = max(helpers, 1)
    clock = None if helpers else own
    free_at = np.full((members, hands), -np.inf)
    places = [np.full((members, max(stage.places, 1)), -np.inf) for stage in stages]
    place_at = np.full((members, len(stages) + 1), -np.inf)
    ready, at_stage = pulled_at.copy(), np.zeros((members, tickets), dtype=np.intp)
    done, spent = np.full_like(pulled_at, np.inf), np.zeros(members)
    lasts = np.array([*(stage.hands_s for stage in stages), 0.0])
    alone = np.array([*(stage.alone_s for stage in stages), 0.0])
    for _ in range(tickets * len(stages)):
        waits = np.maximum(ready, np.take_along_axis(place_at, at_stage, axis=1))
        alike = waits <= waits.min(axis=1, keepdims=True) + 1e-9
        far = np.where(alike, at_stage, -1)
        farthest = far == far.max(axis=1, keepdims=True)
        column = np.where(farthest, ready, np.inf).argmin(axis=1)
        stage, begins = at_stage[rows, column], waits[rows, column]
        known = np.isfinite(begins)
        if not known.any():
            break
        work = lasts[stage] * factor[rows, column]
        taken_up = np.maximum(np.where(known, begins, 0.0), free_at.min(axis=1))
        ends = taken_up + work
        if clock is not None:
            worked_at = clock.moment_at(clock.clock_s(taken_up) + work)
            ends = np.where(work > 0, worked_at, taken_up)
        server = free_at.argmin(axis=1)
        free_at[rows, server] = np.where(known, ends, free_at[rows, server])
        spent += np.where(known, work, 0.0)
        over = ends + alone[stage]
        for number, row in enumerate(places):
            if stages[number].places:
                mine = known & (stage == number)
                slot = row.argmin(axis=1)
                row[rows, slot] = np.where(mine, over, row[rows, slot])
                place_at[:, number] = row.min(axis=1)
        last = stage == len(stages) - 1
        done[rows, column] = np.where(known & last, over, done[rows, column])
        ready[rows, column] = np.where(known, np.where(last, np.inf, over), ready[rows, column])
        at_stage[rows, column] = np.where(known & ~last, stage + 1, stage)
    return Finished(ready_at=done, hands_s=spent)
