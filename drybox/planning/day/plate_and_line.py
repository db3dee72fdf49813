"""Prints laid on, dried and pulled through an event day: plate and line.

On the plate all prints of a member are one simulation with the plate; prints on the line do not
interact. Both are first come, first served.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.physics.simulation.day_run import PlateDay
from drybox.planning.day.drying_table import LEAD_S, DryingTable
from drybox.planning.day.stages import SetUp
from drybox.planning.day.ways import Choice

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

    laid_at: Array
    touch_at: Array
    dry_at: Array
    pulled_at: Array
    left_at: Array
    slot: Index

    def of(self, rows: slice | Index) -> Dried:
        """Return the record of some of the members, in the order given."""
        return Dried(*(getattr(self, part.name)[rows] for part in fields(self)))

    def put(self, columns: Flags, other: Dried) -> None:
        """Take some tickets' columns, (tickets,), from another record."""
        for part in fields(self):
            getattr(self, part.name)[:, columns] = getattr(other, part.name)[:, columns]

    def forget_after_leaving(self) -> None:
        """Make infinite what would have come of prints after they left."""
        self.pulled_at[self.pulled_at > self.left_at] = np.inf
        for at in (self.touch_at, self.dry_at):
            at[(at > self.left_at) & ~np.isfinite(self.pulled_at)] = np.inf

    @classmethod
    def none(cls, shape: tuple[int, int]) -> Dried:
        """Return a record with nothing in it yet."""
        laid, touch, dry, pulled, left = (np.full(shape, np.inf) for _ in range(5))
        return cls(laid, touch, dry, pulled, left, np.full(shape, -1, dtype=np.intp))


@dataclass(frozen=True, eq=False)
class DayRun:
    """What came of some members under one set-up, (n, tickets); infinite if it never came.

    ``dried`` joins all ways; its slots count from 0 on each. ``until_at`` is when a print must be
    in the sitter's hand, ``ready_at`` when it is dry and finished. ``energy_j`` is what powered
    ways took, ``finishing_s`` hands' time after drying, (n,). ``choice`` is of each ticket
    beforehand; ``lone_s`` is from pulled to ready with hands for it at once. [s]
    """

    setup: SetUp
    choice: Choice
    dried: Dried
    ready_at: Array
    until_at: Array
    energy_j: Array
    finishing_s: Array
    lone_s: float

    @property
    def ways(self) -> tuple[str | None, ...]:
        """The way of each ticket."""
        return self.choice.ways

    @property
    def dry_in_time(self) -> Flags:
        """Which prints are dry and flat in time."""
        return np.asarray(self.ready_at <= self.until_at + 1e-6) & np.isfinite(self.ready_at)

    @property
    def dry_by_closing(self) -> Flags:
        """Which prints are pulled dry before the closing, in time or to be fetched later."""
        return np.isfinite(self.dried.pulled_at)

    @property
    def touch_dry_in_time(self) -> Flags:
        """Which prints are touch dry or dry in time."""
        touch = self.dried.touch_at
        return np.asarray(touch <= self.until_at + 1e-6) & np.isfinite(touch)


@dataclass(frozen=True, eq=False)
class WetPrints:
    """What prints bring to the plate, (n, tickets); they come as warm as the air."""

    water_kg_m2: Array
    contact_wet_w_m2_k: Array
    contact_dry_w_m2_k: Array
    absorptance_frac: Array


@dataclass(frozen=True, eq=False)
class Queue:
    """Who waits for the places of one way, in each member; by (n, tickets) where not said.

    ``lay_at`` is when each print is ready, infinite for those that do not come here; ``leave_at``
    when it must be in the sitter's hand, dry or not. ``touch_from_at`` is from when one that is
    touch dry is handed over so, infinite for those that stay to be dry; before that it gives up its
    place to a print that waits for one. ``slots`` (n,) counts places. ``hands`` says whether
    somebody can lay on and pull, by steps of `HANDS_EVERY_S` from ``start_at``.
    """

    lay_at: Array
    leave_at: Array
    touch_from_at: Array
    slots: Index
    hands: Flags
    start_at: float


class Battery:
    """What is left of a battery in each member, and what a powered way takes from it.

    ``left_j`` is what it has at first, (n,), infinite without a battery that limits; ``least_j``
    must be left of it for a print to be laid on a powered plate. [J]

    Attributes
    ----------
    used_j : array
        So far, (n,). [J]
    """

    def __init__(self, left_j: Array, least_j: float = 0.0) -> None:
        self.left_j, self.used_j, self.least_j = left_j, np.zeros(left_j.shape), least_j
        self._on_until_at: Array = np.full(left_j.shape, -np.inf)

    def carry(self, laid_at: Array, left_at: Array, power_w: float) -> Flags:
        """Return where it lasts for a print from laying on to leaving, (n,), and take that."""
        with np.errstate(invalid="ignore"):
            more_s = np.maximum(left_at - np.maximum(laid_at, self._on_until_at), 0.0)
        needs_j = np.where(np.isfinite(laid_at), more_s * power_w, 0.0)
        lasts = needs_j <= self.left_j - self.used_j
        takes = lasts & np.isfinite(laid_at)
        self.used_j += np.where(takes, needs_j, 0.0)
        self._on_until_at = np.where(
            takes, np.maximum(self._on_until_at, left_at), self._on_until_at
        )
        return np.asarray(lasts)


def dry_on_plate(
    plate: PlateDay,
    prints: WetPrints,
    queue: Queue,
    *,
    until_at: float,
    step_s: float = STEP_S,
    closed: Flags | None = None,
    battery: Battery | None = None,
) -> Dried:
    """Lay prints on one shared plate as they come, and pull them as they dry.

    ``plate`` is the empty plate of each member at the start of the queue's hands, ``until_at`` the
    end of the day. ``closed`` is when nothing may be laid on since a print would grow too hot,
    (steps of `HANDS_EVERY_S`,). ``battery`` is that of a powered plate, which is on while a print
    lies on it and `LEAD_S` before one comes, as long as it lasts; what is used is kept there.
    """
    return _Plate(plate, prints, queue, step_s=step_s, closed=closed, battery=battery).run(until_at)


class _Plate:
    """Who lies in which slot, while `dry_on_plate` goes through the day."""

    def __init__(
        self,
        plate: PlateDay,
        prints: WetPrints,
        queue: Queue,
        *,
        step_s: float,
        closed: Flags | None,
        battery: Battery | None,
    ) -> None:
        self.step_s = step_s
        self.hands_every = round(HANDS_EVERY_S / step_s)
        self.plate, self.prints, self.battery = plate, prints, battery
        self.slots, self.free_hands = queue.slots, queue.hands
        steps = self.free_hands.shape[1]
        self.may_lay = np.ones(steps, dtype=bool) if closed is None else ~closed
        n, _ = queue.lay_at.shape
        self.order = np.argsort(queue.lay_at, axis=1, kind="stable")
        in_turn = np.take_along_axis(queue.lay_at, self.order, axis=1)
        self.ready = np.concatenate([in_turn, np.full((n, 1), np.inf)], axis=1)
        self.rows = np.arange(n)
        self.next = np.zeros(n, dtype=np.intp)
        self.next_at = self.ready[:, 0].copy()
        self.held = np.full((n, max(int(self.slots.max(initial=0)), 1)), -1, dtype=np.intp)
        self.leave_at, self.touch_from_at = queue.leave_at, queue.touch_from_at
        self.ends_at = np.full(self.held.shape, np.inf)
        self.yields_at = np.full(self.held.shape, np.inf)
        self.lead_s = 0.0 if battery is None else LEAD_S
        self.on = np.zeros(n, dtype=bool)
        self.dried = Dried.none(queue.lay_at.shape)
        if battery is not None:
            plate.heat(self.on)

    def run(self, until_at: float) -> Dried:
        begun = now = float(self.plate.time_at)
        while now < until_at - 1e-6:
            step = round((now - begun) / self.step_s)
            if step % self.hands_every == 0:
                minute = step // self.hands_every
                hands = self.free_hands[:, minute]
                self._take_off(now, (self.ends_at <= now) & hands[:, None])
                if self.may_lay[minute]:
                    self._lay_on(now, hands)
                self.plate.give_back_slots()
                self._switch(now)
            if not self.plate.occupied.any():
                soonest = float(self.next_at.min(initial=np.inf))
                if soonest == np.inf:
                    break
                if soonest > now + IDLE_STEP_S + self.lead_s:
                    self.plate.advance(IDLE_STEP_S)
                    now = float(self.plate.time_at)
                    continue
            self._advance()
            now = float(self.plate.time_at)
        return self.dried

    def _switch(self, now: float) -> None:
        """Switch a powered plate on where prints lie on it or come soon, off elsewhere."""
        if self.battery is None:
            return
        self.battery.used_j[:] = self.plate.heater_j
        lasts = self.battery.left_j - self.battery.used_j >= self.battery.least_j
        wanted = (self.held >= 0).any(axis=1) | ((self.next_at <= now + LEAD_S) & lasts)
        on = wanted & (self.battery.used_j < self.battery.left_j)
        if (on != self.on).any():
            self.on[:] = on
            self.plate.heat(on)

    def _advance(self) -> None:
        touch, dry = self.plate.advance(self.step_s)
        for kept, at in ((self.dried.touch_at, touch), (self.dried.dry_at, dry)):
            row, slot = np.nonzero(np.isfinite(at))
            ticket, when = self.held[row, slot], at[row, slot]
            kept[row, ticket] = when
            ends = when
            if at is touch:
                handed = self.touch_from_at[row, ticket]
                self.yields_at[row, slot] = np.where(np.isfinite(handed), when, np.inf)
                ends = np.maximum(when, handed)
            self.ends_at[row, slot] = np.minimum(self.ends_at[row, slot], ends)

    def _take_off(self, now: float, due: Flags) -> None:
        row, slot = np.nonzero(due)
        if row.size == 0:
            return
        ticket = self.held[row, slot]
        dry = self.dried.dry_at[row, ticket] <= now
        self.dried.pulled_at[row, ticket] = np.where(dry, now, np.inf)
        self.dried.left_at[row, ticket] = now
        self.held[row, slot] = -1
        self.ends_at[row, slot] = self.yields_at[row, slot] = np.inf
        self.plate.take_off(due[:, : self.plate.slots])

    def _make_room(self, now: float, open_: Flags) -> None:
        """Take off the print that was touch dry first where another waits for its place."""
        first = self.yields_at.argmin(axis=1)
        full = (self.held >= 0).sum(axis=1) >= self.slots
        gives = open_ & full & (self.yields_at[self.rows, first] <= now)
        if gives.any():
            due = np.zeros(self.held.shape, dtype=bool)
            due[gives, first[gives]] = True
            self._take_off(now, due)

    def _lay_on(self, now: float, hands: Flags) -> None:
        while True:
            open_ = (self.next_at <= now) & hands
            if not open_.any():
                return
            self._make_room(now, open_)
            room = (self.held >= 0).sum(axis=1) < self.slots
            row = np.flatnonzero(open_ & room)
            if row.size == 0:
                return
            gone = self.leave_at[row, self.order[row, self.next[row]]] <= now
            if self.battery is not None:
                left_j = (self.battery.left_j - self.battery.used_j)[row]
                gone |= left_j < self.battery.least_j
            if gone.any():  # handed over before there was room for it, or the battery is spent
                self._next(row[gone])
                continue
            slot = (self.held[row] < 0).argmax(axis=1)
            ticket = self.order[row, self.next[row]]
            prints = self.prints
            self.plate.lay_on(
                row,
                slot,
                self.plate.air_temp_k[row],
                water_kg_m2=prints.water_kg_m2[row, ticket],
                contact_wet_w_m2_k=prints.contact_wet_w_m2_k[row, ticket],
                contact_dry_w_m2_k=prints.contact_dry_w_m2_k[row, ticket],
                absorptance_frac=prints.absorptance_frac[row, ticket],
            )
            self.held[row, slot] = ticket
            self.ends_at[row, slot] = self.leave_at[row, ticket]
            self.dried.laid_at[row, ticket] = now
            self.dried.slot[row, ticket] = slot
            self._next(row)

    def _next(self, row: Index) -> None:
        self.next[row] += 1
        self.next_at[row] = self.ready[row, self.next[row]]


def dry_on_line(
    table: DryingTable,
    member: Index,
    queue: Queue,
    *,
    water_share: Array,
    battery: Battery | None = None,
) -> Dried:
    """Hang prints on a line as they come, and take them down as they dry.

    ``member`` is rows of the table, (n,); ``water_share`` what each print has to lose over what the
    table's had to lose, (n, tickets). ``battery`` is that of blown warm air, which is on while a
    print hangs in it; a print that it would not last for is not hung.

    The time to dry goes with the water to lose: most of it is the constant-rate period.
    """
    lay_at, leave_at = queue.lay_at, queue.leave_at
    n, tickets = lay_at.shape
    dried = Dried.none((n, tickets))
    when_hands = _NextHands(queue.hands, queue.start_at)
    order = np.argsort(lay_at, axis=1, kind="stable")
    rows = np.arange(n)
    shape = n, max(int(queue.slots.max(initial=0)), 1)
    free = np.full(shape, np.inf)
    free[np.arange(shape[1])[None, :] < queue.slots[:, None]] = -np.inf
    last = np.full(shape, -1, dtype=np.intp)
    for place in range(tickets):
        ticket = order[:, place]
        ready = lay_at[rows, ticket]
        if not np.isfinite(ready).any():
            break
        slot = free.argmin(axis=1)
        laid = when_hands(np.maximum(ready, free[rows, slot]))
        laid = np.where(laid < leave_at[rows, ticket], laid, np.inf)
        share = water_share[rows, ticket]
        touch, dry = (laid + after * share for after in table.after(laid, member))
        pulled, leaves = when_hands(dry), when_hands(leave_at[rows, ticket])
        handed = queue.touch_from_at[rows, ticket]
        taken = np.where(np.isfinite(handed), when_hands(touch), np.inf)
        leaves = np.minimum(leaves, when_hands(np.maximum(taken, handed)))
        if battery is not None:
            lasts = battery.carry(laid, np.minimum(pulled, leaves), table.power_w)
            laid, touch, dry, pulled = (
                np.where(lasts, at, np.inf) for at in (laid, touch, dry, pulled)
            )
        hung = np.isfinite(laid)
        left = np.where(hung, np.minimum(pulled, leaves), np.inf)
        for name, at in (("laid_at", laid), ("touch_at", touch), ("dry_at", dry)):
            getattr(dried, name)[rows, ticket] = at
        dried.pulled_at[rows, ticket], dried.left_at[rows, ticket] = pulled, left
        dried.slot[rows, ticket] = np.where(hung, slot, -1)
        before = last[rows, slot]
        early = np.flatnonzero(hung & (before >= 0))
        gone = before[early]
        dried.left_at[early, gone] = np.minimum(dried.left_at[early, gone], laid[early])
        free[rows, slot] = np.where(hung, np.minimum(left, taken), free[rows, slot])
        last[rows, slot] = np.where(hung, ticket, before)
    dried.forget_after_leaving()
    return dried


class _NextHands:
    """When hands are next free at or after a time, in each member."""

    def __init__(self, free_hands: Flags, start_at: float) -> None:
        n, steps = free_hands.shape
        place = np.where(free_hands, np.arange(steps), steps)
        self.first = np.minimum.accumulate(place[:, ::-1], axis=1)[:, ::-1]
        self.start_at, self.rows, self.steps = start_at, np.arange(n), steps

    def __call__(self, time_at: Array) -> Array:
        place = np.ceil((time_at - self.start_at) / HANDS_EVERY_S - 1e-9)
        known = place < self.steps
        step = np.where(known, np.maximum(place, 0.0), 0.0).astype(np.intp)
        at = self.first[self.rows, step]
        return np.where(known & (at < self.steps), self.start_at + HANDS_EVERY_S * at, np.inf)
