"""Which way of drying each ticket takes: where nine in ten are dry soonest, else touch dry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.planning.day.drying_table import LEAD_S, DryingTable
from drybox.planning.one_print.ways import carriage_worth_s
from drybox.planning.scenario.percentiles import quantiles_of_next

BATTERY = "battery"
RARELY = 0.01
"""Share of draws in which waiting for a slot is worth a word."""


Mark = Literal["dry", "touch_dry", "luck", "luck_later"]
"""When a print leaves its slot: dry; touch dry, to be taken along; or with luck dry when its sitter
must have it, or by the closing."""

SURE, SOME_LUCK = 0.9, 0.1
NONE_TAKEN: Mapping[int, str] = {}


@dataclass(frozen=True)
class Choice:
    """The way of each ticket (None: not dried here), when it leaves that, and who ever waited.

    ``sure_at`` is by when nine in ten come to that mark, about, infinite where that is not known.
    ``waited`` are the ways for whose slots anybody waits in more than `RARELY` of the draws, and
    `BATTERY` where it does not last for somebody.
    """

    ways: tuple[str | None, ...]
    marks: tuple[Mark, ...]
    sure_at: tuple[float, ...]
    waited: frozenset[str] = frozenset()

    @classmethod
    def nobody(cls, tickets: int) -> Choice:
        """Return the choice where nobody is dried here."""
        unused: Mark = "dry"
        return cls(ways=(None,) * tickets, marks=(unused,) * tickets, sure_at=(np.inf,) * tickets)


@dataclass(frozen=True, eq=False)
class Wanted:
    """When prints could be laid on, and when they are wanted, (n, tickets). [s]

    ``lay_at`` is infinite if a print is not reached; ``until_at`` is how long its sitter waits;
    ``flatten_s`` passes from dry to ready, and nothing is fetched after ``closes_at``.
    """

    lay_at: Array
    until_at: Array
    closes_at: float
    flatten_s: float = 0.0


def choose_ways(
    wanted: Wanted,
    tables: Mapping[str, DryingTable],
    slots: Mapping[str, int],
    *,
    battery_j: float = np.inf,
    taken: Mapping[int, str] = NONE_TAKEN,
) -> Choice:
    """Return the way on which nine in ten of each ticket are dry soonest.

    ``slots`` is the places on each way, ``battery_j`` what all powered ways may take together [J],
    ``taken`` the ways that tickets have taken already, by column. A ticket takes none where not
    even half would be touch dry in time on any.

    Tickets choose in order of their median time, each given the slots that those before it hold.
    A way on which nine in ten are dry before the sitter must have it goes before one on which they
    are touch dry by then, that before one on which they are dry by the closing, to be fetched,
    and that before touch dry by the closing. A print leaves its slot when it is handed over, so
    that one taken along touch dry makes room. Prints that cool each other are left to the
    simulation that follows. Beside a print that lies somewhere with luck idle places are for others
    that may be touch dry by the closing, in one day of ten. A powered way is sure only where its
    battery lasts in nine days of ten.
    """
    return _Chooser(wanted, tables, slots, battery_j=battery_j).choose(taken)


@dataclass(eq=False)
class _Offer:
    """What one way would do for one ticket; ``rank`` is compared."""

    rank: tuple[int, float]
    mark: Mark
    sure_at: float
    way: str
    slot: Index
    start_at: Array
    leaves_at: Array


@dataclass(eq=False)
class _Chooser:
    """The places and the battery, while `choose_ways` goes through the tickets."""

    wanted: Wanted
    tables: Mapping[str, DryingTable]
    slots: Mapping[str, int]
    battery_j: float

    def __post_init__(self) -> None:
        n = self.wanted.lay_at.shape[0]
        self.member, self.used_j = np.arange(n), np.zeros(n)
        self.free = {
            way: np.full((n, count), -np.inf) for way, count in self.slots.items() if count
        }
        powered = [way for way in self.free if self.tables[way].power_w]
        self.on_until_at = {way: np.full(n, -np.inf) for way in powered}
        self.waited: set[str] = set()

    def choose(self, taken: Mapping[int, str]) -> Choice:
        lay = self.wanted.lay_at
        ways: list[str | None] = [None] * lay.shape[1]
        marks: list[Mark] = ["dry"] * lay.shape[1]
        sure_at = [np.inf] * lay.shape[1]
        middle = np.median(lay, axis=0) if lay.size else np.zeros(0)
        comes = np.isfinite(lay)
        in_order = [t for t in np.argsort(middle, kind="stable").tolist() if comes[:, t].any()]

        def choose(ticket: int, offers: list[_Offer | None]) -> None:
            able = [offer for offer in offers if offer is not None]
            if able:
                best = min(able, key=lambda offer: offer.rank)
                ways[ticket], marks[ticket] = best.way, best.mark
                sure_at[ticket] = best.sure_at
                self._take(best, comes[:, ticket])

        for ticket in in_order:
            open_ways = [way for way in self.free if taken.get(ticket, way) == way]
            choose(ticket, [self._offer(way, ticket) for way in open_ways])
        lucky = {way for way, mark in zip(ways, marks, strict=True) if way and "luck" in mark}
        for ticket in in_order if lucky else ():
            if ways[ticket] is None and ticket not in taken:
                choose(ticket, [self._idle_offer(way, ticket) for way in sorted(lucky)])
        return Choice(
            ways=tuple(ways),
            marks=tuple(marks),
            sure_at=tuple(sure_at),
            waited=frozenset(self.waited),
        )

    def _idle_offer(self, way: str, ticket: int) -> _Offer | None:
        """Return what a place that would stay idle may do with luck, where another print tries."""
        waits = self.free[way].min(axis=1) > self.wanted.lay_at[:, ticket]
        return None if waits.mean() > RARELY else self._offer(way, ticket, SOME_LUCK)

    def _offer(self, way: str, ticket: int, luck: float = 0.5) -> _Offer | None:
        wanted, free = self.wanted, self.free[way]
        ready, until = wanted.lay_at[:, ticket], wanted.until_at[:, ticket]
        comes = np.isfinite(ready)
        slot = free.argmin(axis=1)
        start = np.maximum(ready, free[self.member, slot])
        touch, dry = (start + after for after in self.tables[way].after(start, self.member))
        if np.mean((start > ready) & comes) > RARELY:
            self.waited.add(way)
        flat = dry + wanted.flatten_s
        with np.errstate(invalid="ignore"):
            ends = np.stack([flat - until, touch - until, flat, touch], axis=1)
        known = np.where(comes[:, None], ends, np.nan)
        flat_late, touch_late, flat_at, touch_at = quantiles_of_next(known, SURE)[0]
        touches = ends[comes][:, [1, 3]]
        in_wait, likely = np.quantile(touches, luck, axis=0, method="inverted_cdf").tolist()
        levels: list[tuple[bool, float, Mark]] = [
            (flat_late <= 0, flat_at, "dry"),
            (touch_late <= 0, touch_at, "touch_dry"),
            (flat_at <= wanted.closes_at, flat_at, "dry"),
            (touch_at <= wanted.closes_at, touch_at, "touch_dry"),
            (in_wait <= 0, likely, "luck"),
            (likely <= wanted.closes_at, likely, "luck_later"),
        ]
        level = next((number for number, (kept, _, _) in enumerate(levels) if kept), None)
        if level is None:
            return None
        _, at, mark = levels[level]
        must = until if mark == "luck" else np.full(until.shape, wanted.closes_at)
        ends_at = touch if mark == "touch_dry" else dry
        leaves = np.where(start < must, np.minimum(ends_at, must), free[self.member, slot])
        sure = float(at)
        if self.tables[way].power_w:
            needs_j = self.used_j + self._needs_j(way, start, leaves)
            middle_j, most_j = np.quantile(needs_j[comes], (0.5, SURE))
            if most_j > self.battery_j:
                self.waited.add(BATTERY)
                level, mark = max(level, len(levels) - 1), "luck_later"
            if middle_j > self.battery_j:
                return None
            lasts = at - float(np.median(ready[comes]))
            at = at + carriage_worth_s(lasts)
        return _Offer(
            rank=(level, float(at)),
            mark=mark,
            sure_at=sure,
            way=way,
            slot=slot,
            start_at=start,
            leaves_at=leaves,
        )

    def _needs_j(self, way: str, start_at: Array, leaves_at: Array) -> Array:
        """Return what a print takes beyond those that it shares the current with. [J]"""
        on_until = self.on_until_at[way]
        with np.errstate(invalid="ignore"):
            more_s = np.maximum(leaves_at - np.maximum(start_at, on_until), 0.0)
            cold = start_at > on_until + LEAD_S
        table = self.tables[way]
        needs_j = more_s * table.power_w + cold * table.lead_j
        return np.where(np.isfinite(start_at), needs_j, 0.0)

    def _take(self, offer: _Offer, comes: Flags) -> None:
        way, taken = offer.way, self.free[offer.way]
        if way in self.on_until_at:
            needs = self._needs_j(way, offer.start_at, offer.leaves_at)
            self.used_j += np.where(comes, needs, 0.0)
            later = np.maximum(self.on_until_at[way], offer.leaves_at)
            self.on_until_at[way] = np.where(comes, later, self.on_until_at[way])
        before = taken[self.member, offer.slot]
        taken[self.member, offer.slot] = np.where(comes, offer.leaves_at, before)
