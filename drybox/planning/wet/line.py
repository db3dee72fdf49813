"""The wet line and the wash of an event day, for all members at once.

First come, first served: a free pair of hands takes the lowest ticket that is ready. Once its
first stage has begun, a sheet is carried on without a pause to the end of its run of attended
stages, so a run begins only when each vessel will be free at the moment it is needed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class Use:
    """A vessel held by a run, from and until a time after the run's start, (n, tickets). [s]"""

    vessel: int
    from_at: Array
    until_at: Array


@dataclass(frozen=True, eq=False)
class Run:
    """Stages that one pair of hands carries through, and what then goes on by itself.

    ``hands_s`` and ``rest_s`` are (n, tickets). The vessels of the rest are among ``uses``.
    """

    hands_s: Array
    rest_s: Array
    uses: tuple[Use, ...] = ()


@dataclass(frozen=True)
class WetLine:
    """What each ticket goes through, and what there is to do it with.

    ``finishing_s`` keeps the hands busy after a ticket's last run, with earlier prints. No first
    run (the sitting) begins in a break, or at or after ``closes_at``; what has begun is finished.
    """

    runs: tuple[Run, ...]
    hands: int = 1
    vessels: tuple[int, ...] = ()
    finishing_s: float = 0.0
    breaks_s: tuple[tuple[float, float], ...] = ()
    closes_at: float = np.inf


@dataclass(frozen=True, eq=False)
class WetTimes:
    """When each run of each ticket held the hands, (runs, n, tickets), and when all was done.

    ``done_s`` is (n, tickets). Times of tickets that were not reached are infinite.
    """

    begun_at: Array
    hands_off_s: Array
    done_s: Array


def after_breaks_s(time_at: Array, breaks_s: tuple[tuple[float, float], ...]) -> Array:
    """Return the times, those inside a break moved to its end. [s]"""
    for begins, ends in breaks_s:
        time_at = np.where((time_at >= begins) & (time_at < ends), ends, time_at)
    return time_at


def serve(arrive_at: Array, line: WetLine, sat_at: Array | None = None) -> WetTimes:
    """Return when each ticket of each member is sat and developed.

    First come, first served. Arrivals, (n, tickets), rise along a row, and are infinite for one who
    does not come; ``sat_at``, (tickets,), are sittings that are known to have begun, whatever
    hands and camera were doing, NaN for the others. [s]

    A vessel is held from a run's first use of it to the last: with several hands a tank that is
    idle between two uses by one sheet is not lent to another, which is the careful side.
    """
    return _Server(arrive_at, line, sat_at).serve()


class _Server:
    """The state of hands, vessels and tickets while `serve` goes through the day."""

    def __init__(self, arrive_at: Array, line: WetLine, sat_at: Array | None) -> None:
        n, tickets = arrive_at.shape
        runs, shape = line.runs, (len(line.runs), n, tickets)
        self.line = line
        self.sat_at = np.full(tickets, np.nan) if sat_at is None else sat_at
        self.rows = np.arange(n)
        self.ready = np.array(arrive_at, dtype=float)
        self.stage = np.zeros((n, tickets), dtype=np.intp)
        self.hands = np.full((n, line.hands), -np.inf)
        self.units = np.full((n, len(line.vessels), max(line.vessels, default=1)), np.inf)
        for vessel, count in enumerate(line.vessels):
            self.units[:, vessel, :count] = -np.inf
        self.hands_s = np.stack([np.broadcast_to(run.hands_s, shape[1:]) for run in runs])
        self.rest_s = np.stack([np.broadcast_to(run.rest_s, shape[1:]) for run in runs])
        self.needed_s = np.full((len(runs), len(line.vessels), n, tickets), np.nan)
        self.freed_s = np.full_like(self.needed_s, np.nan)
        for number, run in enumerate(runs):
            for use in run.uses:
                self.needed_s[number, use.vessel] = use.from_at
                self.freed_s[number, use.vessel] = use.until_at
        self.begun = np.full(shape, np.inf)
        self.off = np.full(shape, np.inf)
        self.done = np.full(shape[1:], np.inf)

    def serve(self) -> WetTimes:
        for _ in range(self.begun.shape[0] * self.begun.shape[2]):
            if not self._serve_next():
                break
        return WetTimes(self.begun, self.off, self.done)

    def _serve_next(self) -> bool:
        """Begin one run in each member that has one left; return whether any had."""
        soonest = self.hands.min(axis=1)
        waiting = self.ready <= soonest[:, None]
        ticket = np.where(waiting.any(axis=1), waiting.argmax(axis=1), self.ready.argmin(axis=1))
        at = np.maximum(soonest, self.ready[self.rows, ticket])
        live = np.isfinite(at)
        if not live.any():
            return False
        run = np.minimum(self.stage[self.rows, ticket], len(self.line.runs) - 1)
        needed = self.needed_s[run, :, self.rows, ticket]
        if needed.shape[1]:
            free = self.units.min(axis=2) - needed
            at = np.maximum(at, np.where(np.isnan(needed), -np.inf, free).max(axis=1))
        first = run == 0
        at = np.where(first, after_breaks_s(at, self.line.breaks_s), at)
        known = self.sat_at[ticket]
        at = np.where(first & np.isfinite(known), known, at)
        closed = live & first & (at >= self.line.closes_at)
        if closed.any():
            self.ready[closed[:, None] & (self.stage == 0)] = np.inf
        self._begin(np.flatnonzero(live & ~closed), ticket, run, at=at, needed=needed)
        return True

    def _begin(self, k: Index, ticket: Index, run: Index, *, at: Array, needed: Array) -> None:
        j, g, start = ticket[k], run[k], at[k]
        off = start + self.hands_s[g, k, j]
        after = off + self.rest_s[g, k, j]
        last = g == self.begun.shape[0] - 1
        self.begun[g, k, j], self.off[g, k, j] = start, off
        self.done[k, j] = np.where(last, after, np.inf)
        self.ready[k, j] = np.where(last, np.inf, after)
        self.stage[k, j] = g + 1
        hand = self.hands[k].argmin(axis=1)
        busy = off + np.where(last, self.line.finishing_s, 0.0)
        self.hands[k, hand] = np.maximum(self.hands[k, hand], busy)
        if needed.shape[1]:
            held = self.units[k]
            unit = held.argmin(axis=2)[..., None]
            freed = start[:, None] + self.freed_s[g, :, k, j]
            before = np.take_along_axis(held, unit, axis=2)[..., 0]
            value = np.where(np.isnan(needed[k]), before, freed)
            np.put_along_axis(held, unit, value[..., None], axis=2)
            self.units[k] = held


@dataclass(frozen=True, eq=False)
class WashTimes:
    """When each print's batch began and was washed, its tray, and batches by member.

    (n, tickets), batches (n,).
    """

    begun_at: Array
    washed_at: Array
    tray: Index
    batches: Index


def wash_in_batches(fixed_s: Array, duration_s: float, trays: int, *, together: int) -> WashTimes:
    """Return when each print is washed, in batches that nobody joins late.

    A print fixed, (n, tickets), waits in holding water for the next free tray. All that wait then
    go in together; none is added to a wash under way, since that would start its clock again for
    all. [s]

    One more tray never delays anybody where each print is washed alone. In batches it can: with
    two trays prints may each go into water at once, and one that comes just after finds both
    under way, where with one tray it would have joined those that wait.
    """
    n, tickets = fixed_s.shape
    order = np.argsort(fixed_s, axis=1, kind="stable")
    rows = np.arange(n)
    free = np.full((n, trays), -np.inf)
    start, count = np.full(n, -np.inf), np.full(n, together, dtype=np.intp)
    tray, batches = np.zeros(n, dtype=np.intp), np.zeros(n, dtype=np.intp)
    begun = np.full((n, tickets), np.inf)
    trayed = np.zeros((n, tickets), dtype=np.intp)
    for place in range(tickets):
        print_ = order[:, place]
        arrives = fixed_s[rows, print_]
        live = np.isfinite(arrives)
        if not live.any():
            break
        fresh = live & ~((arrives <= start) & (count < together))
        tray = np.where(fresh, free.argmin(axis=1), tray)
        start = np.where(fresh, np.maximum(arrives, free[rows, tray]), start)
        free[rows, tray] = np.where(fresh, start + duration_s, free[rows, tray])
        count = np.where(fresh, 1, count + live)
        batches += fresh
        begun[rows, print_] = np.where(live, start, np.inf)
        trayed[rows, print_] = tray
    return WashTimes(begun_at=begun, washed_at=begun + duration_s, tray=trayed, batches=batches)
