"""Prints laid on, dried and pulled through an event day: plate and line.

On the plate all prints of a member are one simulation with the plate; prints on the line do not
interact. Both are first come, first served.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from drybox.physics.simulation.day_run import PlateDay
from drybox.planning.day.ways import DryingTable

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

STEP_S, COVERED_STEP_S, QUICK_STEP_S = 60.0, 30.0, 10.0
"""Step of an open plate and its prints; under a cover; and of prints that are dry within a few
minutes. Shorter ones move a drying time by under 0.5 %. [s]"""

HANDS_EVERY_S = 60.0
"""Prints are laid on and pulled on the full minute. [s]"""

IDLE_STEP_S = 120.0
"""Step of an empty plate with nobody ready. [s]"""


@dataclass(frozen=True, eq=False)
class Dried:
    """When each print was laid on, touch dry, dry, pulled dry and off its slot; (n, tickets).

    Infinite, and slot -1, for prints that were not laid on; one that is handed over before it is
    dry leaves its slot without being pulled.
    """

    laid_s: Array
    touch_s: Array
    dry_s: Array
    pulled_s: Array
    left_s: Array
    slot: Indices

    def of(self, rows: slice) -> Dried:
        """Return the record of some of the members."""
        return Dried(*(getattr(self, part.name)[rows] for part in fields(self)))

    @classmethod
    def chosen(cls, which: Flags, one: Dried, other: Dried) -> Dried:
        """Return the record of each ticket from one way where it took that, else the other."""
        names = (part.name for part in fields(cls))
        return cls(*(np.where(which, getattr(one, n), getattr(other, n)) for n in names))

    @classmethod
    def none(cls, shape: tuple[int, int]) -> Dried:
        """Return a record with nothing in it yet."""
        laid, touch, dry, pulled, left = (np.full(shape, np.inf) for _ in range(5))
        return cls(laid, touch, dry, pulled, left, np.full(shape, -1, dtype=np.intp))


@dataclass(frozen=True, eq=False)
class WetPrints:
    """What prints bring to the plate, (n, tickets); they come as warm as the air."""

    water_kg_m2: Array
    contact_wet_w_m2_k: Array
    contact_dry_w_m2_k: Array
    absorptance_frac: Array


def dry_on_plate(
    plate: PlateDay,
    prints: WetPrints,
    lay_s: Array,
    leave_s: Array,
    slots: Indices,
    free_hands: Flags,
    until_s: float,
    step_s: float = STEP_S,
) -> Dried:
    """Lay prints on one shared plate as they come, and pull them as they dry.

    Parameters
    ----------
    plate : PlateDay
        The empty plate of each member, at the start of ``free_hands``.
    prints : WetPrints
        What is laid on.
    lay_s : array
        When each print is ready, (n, tickets); infinite for those that do not come here. [s]
    leave_s : array
        When each must be in the sitter's hand, dry or not, (n, tickets). [s]
    slots : array of int
        Places that each member has, (n,).
    free_hands : array of bool
        Whether somebody can lay on and pull, (n, steps of `HANDS_EVERY_S`).
    until_s : float
        When the day ends. [s]
    step_s : float
        Step. [s]

    Returns
    -------
    Dried
        By member and ticket.
    """
    return _Plate(plate, prints, lay_s, leave_s, slots, free_hands, step_s).run(until_s)


class _Plate:
    """Who lies in which slot, while `dry_on_plate` goes through the day."""

    def __init__(
        self,
        plate: PlateDay,
        prints: WetPrints,
        lay_s: Array,
        leave_s: Array,
        slots: Indices,
        free_hands: Flags,
        step_s: float,
    ) -> None:
        self.step_s = step_s
        self.hands_every = round(HANDS_EVERY_S / step_s)
        self.plate, self.prints, self.slots, self.free_hands = plate, prints, slots, free_hands
        n, _ = lay_s.shape
        self.order = np.argsort(lay_s, axis=1, kind="stable")
        past = np.full((n, 1), np.inf)
        self.ready = np.concatenate([np.take_along_axis(lay_s, self.order, axis=1), past], axis=1)
        self.rows = np.arange(n)
        self.next = np.zeros(n, dtype=np.intp)
        self.next_s = self.ready[:, 0].copy()
        self.held = np.full((n, max(int(slots.max(initial=0)), 1)), -1, dtype=np.intp)
        self.leave_s = leave_s
        self.ends_s = np.full(self.held.shape, np.inf)
        self.dried = Dried.none((n, lay_s.shape[1]))

    def run(self, until_s: float) -> Dried:
        begun = now = float(self.plate.time_s)
        while now < until_s - 1e-6:
            step = round((now - begun) / self.step_s)
            if step % self.hands_every == 0:
                hands = self.free_hands[:, step // self.hands_every]
                self._pull(now, hands)
                self._lay_on(now, hands)
                self.plate.give_back_slots()
            if not self.plate.occupied.any():
                soonest = float(self.next_s.min(initial=np.inf))
                if soonest == np.inf:
                    break
                if soonest > now + IDLE_STEP_S:
                    self.plate.advance(IDLE_STEP_S)
                    now = float(self.plate.time_s)
                    continue
            self._advance()
            now = float(self.plate.time_s)
        return self.dried

    def _advance(self) -> None:
        touch, dry = self.plate.advance(self.step_s)
        for kept, at in ((self.dried.touch_s, touch), (self.dried.dry_s, dry)):
            row, slot = np.nonzero(np.isfinite(at))
            kept[row, self.held[row, slot]] = at[row, slot]
        row, slot = np.nonzero(np.isfinite(dry))
        self.ends_s[row, slot] = np.minimum(self.ends_s[row, slot], dry[row, slot])

    def _pull(self, now: float, hands: Flags) -> None:
        due = (self.ends_s <= now) & hands[:, None]
        row, slot = np.nonzero(due)
        if row.size == 0:
            return
        ticket = self.held[row, slot]
        dry = self.dried.dry_s[row, ticket] <= now
        self.dried.pulled_s[row, ticket] = np.where(dry, now, np.inf)
        self.dried.left_s[row, ticket] = now
        self.held[row, slot], self.ends_s[row, slot] = -1, np.inf
        self.plate.take_off(due[:, : self.plate.slots])

    def _lay_on(self, now: float, hands: Flags) -> None:
        while True:
            open_ = (self.next_s <= now) & hands
            if not open_.any():
                return
            room = (self.held >= 0).sum(axis=1) < self.slots
            row = np.flatnonzero(open_ & room)
            if row.size == 0:
                return
            gone = self.leave_s[row, self.order[row, self.next[row]]] <= now
            if gone.any():  # handed over before there was room for it
                self._next(row[gone])
                continue
            slot = (self.held[row] < 0).argmax(axis=1)
            ticket = self.order[row, self.next[row]]
            prints = self.prints
            self.plate.lay_on(
                row,
                slot,
                self.plate.air_temp_k[row],
                prints.water_kg_m2[row, ticket],
                prints.contact_wet_w_m2_k[row, ticket],
                prints.contact_dry_w_m2_k[row, ticket],
                prints.absorptance_frac[row, ticket],
            )
            self.held[row, slot] = ticket
            self.ends_s[row, slot] = self.leave_s[row, ticket]
            self.dried.laid_s[row, ticket] = now
            self.dried.slot[row, ticket] = slot
            self._next(row)

    def _next(self, row: Indices) -> None:
        self.next[row] += 1
        self.next_s[row] = self.ready[row, self.next[row]]


def dry_on_line(
    table: DryingTable,
    member: Indices,
    lay_s: Array,
    leave_s: Array,
    slots: Indices,
    free_hands: Flags,
    start_s: float,
    water_share: Array,
) -> Dried:
    """Hang prints on a line as they come, and take them down as they dry.

    Parameters
    ----------
    table : DryingTable
        How a print dries by the time it is hung, in each member.
    member : array of int
        Rows of the table, (n,).
    lay_s : array
        When each print is ready, (n, tickets); infinite for those that do not come here. [s]
    leave_s : array
        When each must be in the sitter's hand, dry or not, (n, tickets). [s]
    slots : array of int
        Places that each member has, (n,).
    free_hands : array of bool
        Whether somebody can hang and take down, (n, steps of `HANDS_EVERY_S`).
    start_s : float
        Unix time of the first step. [s]
    water_share : array
        What each print has to lose, as a share of what the table's had to lose, (n, tickets).

    Returns
    -------
    Dried
        By member and ticket.

    Notes
    -----
    The time to dry goes with the water to lose: most of it is the constant-rate period.
    """
    n, tickets = lay_s.shape
    dried = Dried.none((n, tickets))
    when_hands = _NextHands(free_hands, start_s)
    order = np.argsort(lay_s, axis=1, kind="stable")
    rows = np.arange(n)
    free = np.full((n, max(int(slots.max(initial=0)), 1)), np.inf)
    free[np.arange(free.shape[1])[None, :] < slots[:, None]] = -np.inf
    for place in range(tickets):
        ticket = order[:, place]
        ready = lay_s[rows, ticket]
        if not np.isfinite(ready).any():
            break
        slot = free.argmin(axis=1)
        laid = when_hands(np.maximum(ready, free[rows, slot]))
        laid = np.where(laid < leave_s[rows, ticket], laid, np.inf)
        share = water_share[rows, ticket]
        touch, dry = (laid + after * share for after in table.after(laid, member))
        pulled, leaves = when_hands(dry), when_hands(leave_s[rows, ticket])
        gone = pulled > leaves
        touch, dry, pulled = (
            np.where(gone & (at > leaves), np.inf, at) for at in (touch, dry, pulled)
        )
        dried.laid_s[rows, ticket] = laid
        dried.touch_s[rows, ticket] = touch
        dried.dry_s[rows, ticket] = dry
        hung = np.isfinite(laid)
        left = np.where(hung, np.minimum(pulled, leaves), np.inf)
        dried.pulled_s[rows, ticket] = pulled
        dried.left_s[rows, ticket] = left
        dried.slot[rows, ticket] = np.where(hung, slot, -1)
        free[rows, slot] = np.where(hung, left, free[rows, slot])
    return dried


class _NextHands:
    """When hands are next free at or after a time, in each member."""

    def __init__(self, free_hands: Flags, start_s: float) -> None:
        n, steps = free_hands.shape
        place = np.where(free_hands, np.arange(steps), steps)
        self.first = np.minimum.accumulate(place[:, ::-1], axis=1)[:, ::-1]
        self.start_s, self.rows, self.steps = start_s, np.arange(n), steps

    def __call__(self, time_s: Array) -> Array:
        place = np.ceil((time_s - self.start_s) / HANDS_EVERY_S - 1e-9)
        known = place < self.steps
        step = np.where(known, np.maximum(place, 0.0), 0.0).astype(np.intp)
        at = self.first[self.rows, step]
        return np.where(known & (at < self.steps), self.start_s + HANDS_EVERY_S * at, np.inf)
