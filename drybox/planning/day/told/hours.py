"""The rule of each hour: what to promise somebody who sits down now."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.day import Day
from drybox.inputs.event.event import Event
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import HandOver, told_at
from drybox.planning.day.told.by_sitting import SinceSitting, Sittings
from drybox.planning.scenario.percentiles import Range

HOUR_S = 3600.0
"""A rule holds for so long. [s]"""

FEWEST = 0.1
"""Sittings a day below which an hour has no rule (judgement)."""


@dataclass(frozen=True)
class HourRule:
    """What holds for whoever sits down between two instants: the promise from the sitting on.

    It holds for the last of them too, who has least time to the closing.

    ``after_sitting_s`` is how long it takes to the state promised (``ready_as``: ``dry``,
    ``touch_dry`` or ``damp``), over every sitting that the drawn days begin in the hour;
    ``promise_after_s`` its P90 rounded up to 5 minutes, None for a print that is mailed; ``why``
    a code of what keeps it from being handed over dry.
    """

    from_at: float
    until_at: float
    sittings_a_day: float
    hand_over: HandOver
    ready_as: str
    after_sitting_s: Range
    promise_after_s: float | None
    why: str = ""


def hour_rules(
    run: DayRun, comes_at: Array, *, event: Event, day: Day, from_at: float
) -> tuple[HourRule, ...]:
    """Return the rule of each hour from the opening, or from an instant of the day, on.

    ``comes_at`` is when each ticket comes, (n, tickets). [s]
    """
    sat_at = run.setup.wet.sat_at
    if not np.isfinite(sat_at).any():
        return ()
    count = int(np.ceil((event.closes_at - event.opens_at) / HOUR_S))
    edges = np.minimum(event.opens_at + HOUR_S * np.arange(count + 1.0), event.closes_at)
    edges = np.unique(np.maximum(edges, from_at))
    group = Sittings.between(sat_at, edges)
    last_at = np.nanmax(np.vstack([edges[:-1], group.of(sat_at)]), axis=0)
    seen = SinceSitting(run, comes_at, day=day, group=group, sits_at=last_at)
    found = []
    for place in range(edges.size - 1):
        often = group.there[:, place].sum() / sat_at.shape[0]
        if often < FEWEST:
            continue
        told = told_at(seen, place, event.closes_at, dried=bool(seen.on[place]))
        found.append(
            HourRule(
                from_at=float(edges[place]),
                until_at=float(edges[place + 1]),
                sittings_a_day=float(often),
                hand_over=told.hand_over,
                ready_as=told.end,
                after_sitting_s=seen.range_since(told.end, place),
                promise_after_s=told.promise_after_s,
                why=told.why,
            )
        )
    return tuple(found)
