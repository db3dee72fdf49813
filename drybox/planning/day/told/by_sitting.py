"""Every stage of a print counted from its sitting, over groups of drawn sittings.

A promise is given when the sitter sits, so what is not known of the arrival is no part of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.day import Day
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.scenario.percentiles import UNKNOWN, Range, quantiles_of_next

UNSURE = 0.1
SHARES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, eq=False)
class Sittings:
    """Groups of drawn sittings, one a column: member and ticket of each, (most, groups).

    ``there`` is False where a group has fewer than the largest.
    """

    member: Index
    ticket: Index
    there: Flags

    def of(self, values: Array) -> Array:
        """Return values by member and ticket for each group, NaN where there is no sitting."""
        return np.where(self.there, values[self.member, self.ticket], np.nan)

    @classmethod
    def by_ticket(cls, there: Flags, tickets: Index) -> Sittings:
        """Return a group for each of some tickets: its sitting in each draw that has it.

        ``there`` is which draws count for which ticket, (n, tickets); ``tickets`` the columns
        wanted.
        """
        shape = (there.shape[0], tickets.size)
        member = np.broadcast_to(np.arange(shape[0])[:, None], shape)
        return cls(member, np.broadcast_to(tickets[None, :], shape), there[:, tickets])

    def or_of(self, other: Sittings, *, own_where: Flags) -> Sittings:
        """Return the groups of this and, elsewhere, of another, unless that has fewer sittings."""
        most = self.there.shape[0]
        if other.there.shape[0] < most:
            return self
        pairs = zip(vars(self).values(), vars(other).values(), strict=True)
        return Sittings(*(np.where(own_where, own, others[:most]) for own, others in pairs))

    @classmethod
    def near(cls, begin_at: Array, wanted_at: Array) -> Sittings:
        """Return a group for each of some times: the sittings nearest to it, one a draw on average.

        ``begin_at`` is when each begins, infinite where there is none, (n, tickets); ``wanted_at``
        the times, (groups,). [s]

        Examples
        --------
        >>> sat_at = np.array([[0.0, 600.0], [100.0, np.inf]])
        >>> Sittings.near(sat_at, np.array([550.0])).of(sat_at)[:, 0].tolist()
        [600.0, 100.0]
        """
        member, ticket = np.nonzero(np.isfinite(begin_at))
        most = min(begin_at.shape[0], member.size)
        away = np.abs(begin_at[member, ticket][:, None] - wanted_at[None, :])
        nearest = np.argsort(away, axis=0, kind="stable")[:most]
        return cls(member[nearest], ticket[nearest], np.ones(nearest.shape, dtype=np.bool_))

    @classmethod
    def between(cls, begin_at: Array, edges_at: Array) -> Sittings:
        """Return a group for each stretch between two edges: every sitting that begins in it.

        ``begin_at`` as in `near`; the edges rise, (groups + 1,). [s]
        """
        member, ticket = np.nonzero(np.isfinite(begin_at))
        place = np.searchsorted(edges_at, begin_at[member, ticket], side="right") - 1
        groups = [np.flatnonzero(place == group) for group in range(edges_at.size - 1)]
        most = max(1, *(group.size for group in groups))
        shape = (most, len(groups))
        members, tickets = np.zeros(shape, dtype=np.intp), np.zeros(shape, dtype=np.intp)
        there = np.zeros(shape, dtype=np.bool_)
        for column, group in enumerate(groups):
            members[: group.size, column] = member[group]
            tickets[: group.size, column] = ticket[group]
            there[: group.size, column] = True
        return cls(members, tickets, there)


def as_range(parts: Array) -> Range:
    """Return P10, P50 and P90 as a range, in which what never comes is not known."""
    return Range(*(float(part) if np.isfinite(part) else None for part in parts))


class SinceSitting:
    """Percentiles of each stage of groups of sittings, counted from the sitting; in seconds.

    ``comes_at`` is when each ticket comes, (n, tickets); ``sits_at`` when a sitter of each group is
    taken to sit, (groups,).

    Attributes
    ----------
    likely : dict of str to array
        The median instant of each stage, (groups,). [s]
    since : dict of str to array
        (P10, P50, P90) from the sitting to each end: dry (and flat), touch dry, damp (blotted),
        (3, groups). [s]
    since_laid : dict of str to array
        The same from the laying-on to touch dry, and to dry while still on its place. [s]
    late : dict of str to array
        By how much nine in ten are later than the sitter can wait; negative where in time. [s]
    on, no_water : array of bool
        Whether most of a group take a way of drying; whether more than one in ten are not washed
        for want of water.
    """

    def __init__(
        self, run: DayRun, comes_at: Array, *, day: Day, group: Sittings, sits_at: Array
    ) -> None:
        wet, dried = run.setup.wet, run.dried
        self.sits_at, self.group, self.sat = sits_at, group, group.of(wet.sat_at)
        way = np.array([way is not None for way in run.ways], dtype=np.bool_)
        self.on = (way[group.ticket] & group.there).sum(axis=0) * 2 > group.there.sum(axis=0)
        blotted_s = wet.washed_at + day.blotting_s
        stages = {
            "arrives_at": comes_at,
            "wet_end_at": wet.wet.done_s,
            "wash_from_at": wet.wash.begun_at,
            "washed_at": wet.wash.washed_at,
            "laid_on_at": dried.laid_at,
            "left_at": dried.left_at,
            "until_at": run.until_at,
        }
        self.ends = {"dry": run.ready_at, "touch_dry": dried.touch_at, "damp": blotted_s}
        short = wet.short[group.member, group.ticket] & group.there
        self.no_water = short.sum(axis=0) > UNSURE * group.there.sum(axis=0)
        self.likely = {name: sits_at + self._after(at, 0.5)[0] for name, at in stages.items()}
        self.since = {name: self._after(at, *SHARES) for name, at in self.ends.items()}
        on = np.isfinite(dried.laid_at)
        with np.errstate(invalid="ignore"):
            lasts = {
                name: np.where(on, at - dried.laid_at, np.inf)
                for name, at in (("dry", dried.dry_at), ("touch_dry", dried.touch_at))
            }
            late = {name: at - run.until_at for name, at in self.ends.items()}
            end = np.where(self.on, group.of(run.ready_at), group.of(blotted_s))
            self.after_arrival = quantiles_of_next(end - group.of(comes_at), *SHARES)
        self.since_laid = {n: quantiles_of_next(group.of(at), *SHARES) for n, at in lasts.items()}
        self.late = {name: quantiles_of_next(group.of(at), 0.9)[0] for name, at in late.items()}

    def _after(self, ends_at: Array, *shares: float) -> Array:
        return quantiles_of_next(self.group.of(ends_at) - self.sat, *shares)

    def after_s(self, end: str, place: int) -> Array:
        """Return how long each sitting of a group is from an end, infinite if it never comes."""
        group, there = self.group, self.group.there[:, place]
        ends = self.ends[end][group.member[there, place], group.ticket[there, place]]
        return np.asarray(ends - self.sat[there, place])

    def range_since(self, end: str, place: int) -> Range:
        """Return the range from the sitting of a group to an end; unknown for no end."""
        return as_range(self.since[end][:, place]) if end else UNKNOWN
