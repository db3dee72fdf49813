"""Windows for pulling prints off the plate that the hands of the day cannot keep."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.simulation import DaySimulation
from drybox.planning.one_print.lay_ons import lay_ons

EVERY_S, MEMBERS = 7200.0, 8
"""Laying-on times, and members, by which a window is worked out."""

RARELY = 0.1
"""Share of draws in which a window may be missed before it is said (judgement)."""


@dataclass(frozen=True)
class MissedPull:
    """A print that lies on past dry because the hands are busy, in ``missed_frac`` of the draws.

    ``window_s`` is from dry to over-dry; ``late_s`` is how long after dry nine in ten are pulled;
    ``busy_ticket`` is whom the hands are busy with most often then, ``sitting`` whether it sits.
    """

    ticket: str
    dry_at: float
    window_s: float
    late_s: float
    missed_frac: float
    busy_ticket: str
    sitting: bool


def windows_s(simulation: DaySimulation, laid_at: Array) -> Array:
    """Return the median time from dry to over-dry of prints laid on at some times. [s]

    Each lies alone on the plate; neighbours make it longer.
    """
    assert simulation.aim_deg is not None
    known = laid_at[np.isfinite(laid_at)]
    count = int(np.ceil((known.max() - known.min()) / EVERY_S)) + 1
    starts = known.min() + EVERY_S * np.arange(count)
    members = np.arange(min(MEMBERS, simulation.draws.ensemble.members))
    (laid,) = lay_ons(
        simulation.event,
        simulation.told,
        [simulation.draws.ensemble.of_members(members)],
        aim_deg=simulation.aim_deg,
        starts_s=starts,
        coarse=True,
        past_dry=True,
    )
    with np.errstate(invalid="ignore"):
        window = laid.over_dry_after_s - laid.dry_after_s
    window = np.where(np.isfinite(laid.dry_after_s), window, np.inf)
    middle = np.minimum(np.median(window, axis=1), simulation.event.closes_at - starts[0])
    return np.asarray(np.interp(laid_at, starts, middle))


def missed_pulls(
    simulation: DaySimulation,
    run: DayRun,
    plans: tuple[TicketPlan, ...],
    *,
    columns: NDArray[np.intp],
) -> tuple[MissedPull, ...]:
    """Return the tickets whose window the hands miss in more than one draw in ten.

    A print that is dry while the hands are busy lies on in the run. ``columns`` is that of each
    plan's ticket.
    """
    place = [n for n, column in enumerate(columns) if run.ways[column] == PLATE]
    laid = np.array([plans[n].laid_on_at or np.nan for n in place])
    if not np.isfinite(laid).any() or simulation.event.paper.resin_coated:
        return ()
    found = []
    for n, window in zip(place, windows_s(simulation, laid), strict=True):
        column, dry = columns[n], plans[n].dry_at.p50
        pulled = np.flatnonzero(np.isfinite(run.dried.pulled_at[:, column]))
        late = run.dried.pulled_at[pulled, column] - run.dried.dry_at[pulled, column]
        if dry is None or not late.size or np.mean(late > window) <= RARELY:
            continue
        with_whom, sits = _busy_with(run, column, pulled[late > window])
        found.append(
            MissedPull(
                ticket=plans[n].ticket,
                dry_at=dry,
                window_s=float(window),
                late_s=float(np.quantile(late, 0.9)),
                missed_frac=float(np.mean(late > window)),
                busy_ticket=simulation.draws.tickets[with_whom].label,
                sitting=sits,
            )
        )
    return tuple(found)


def _busy_with(run: DayRun, column: int, rows: NDArray[np.intp]) -> tuple[int, bool]:
    """Return which ticket keeps the hands most often when a print is dry, and whether it sits."""
    wet = run.setup.wet.wet
    dry = run.dried.dry_at[rows, column][:, None]
    busy = (wet.begun_at[:, rows] <= dry) & (wet.hands_off_s[:, rows] > dry)
    count = busy.sum(axis=1)
    number, ticket = np.unravel_index(int(count.argmax()), count.shape)
    return int(ticket), bool(number == 0)
