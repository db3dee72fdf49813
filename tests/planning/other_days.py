"""Days drawn by another seed than a plan's: what they keep of it, and plans in their middle."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.notes.note import Note
from drybox.planning.day.plan import DayPlan, columns_of, drawn, plan_day
from drybox.planning.day.samples import DayDraws
from drybox.planning.day.simulation import DayRun, DaySimulation
from drybox.planning.day.stages import SetUp, wet_day
from drybox.planning.day.told.kept import COUNTED, kept_shares


@dataclass(frozen=True, eq=False)
class OtherDays:
    """Days that a plan did not see, run with its means and its ways."""

    plan: DayPlan
    draws: DayDraws
    run: DayRun

    @classmethod
    def of(cls, plan: DayPlan, days: int = 1000, seed: int = 2) -> OtherDays:
        """Draw and run so many days by a seed that is not the plan's."""
        event, inputs = plan.event, plan.inputs
        draws = drawn(event, inputs, plan.told, days, seed)
        means = plan.run.setup.means
        wet = wet_day(inputs.process, inputs.day, means, draws, days, event.closes_s)
        simulation = DaySimulation(event, inputs, plan.told, draws)
        (run,) = simulation.run([SetUp(means, wet)], [plan.run.choice])
        return cls(plan, draws, run)

    def kept(self) -> tuple[float, float] | None:
        """Return how many promises given at the sitting these days keep, by P90 and as told."""
        plan, columns = self.plan, columns_of(self.draws, self.plan.tickets)
        return kept_shares(plan.tickets, plan.hours, self.run, columns=columns, day=plan.inputs.day)

    def notes(self, row: int, until_s: float) -> tuple[Note, ...]:
        """Return what a careful hand notes of one of the days up to an instant."""
        run = self.run
        stages: dict[str, NDArray[np.float64]] = {
            "sat": run.setup.wet.sat_s,
            "laid": run.dried.laid_s,
            "dry": run.dried.pulled_s,
            "handed": run.ready_s,
        }
        found = [
            Note(
                kind=kind,
                at_s=round(at),
                timezone="UTC",
                ticket=ticket.label,
                way=(way or "") if kind == "laid" else "",
            )
            for kind, times in stages.items()
            for ticket, at, way in zip(self.draws.tickets, times[row], run.ways, strict=True)
            if at <= until_s
        ]
        return tuple(sorted(found, key=lambda note: note.at_s))


@dataclass(frozen=True)
class Open:
    """A ticket sat but not yet as promised at an instant: ranges before and now, kept now."""

    stage: str
    width_before_s: float
    width_s: float
    kept: bool


def planned_on(
    days: OtherDays, row: int, now_at_s: float, *, members: int, seed: int = 1
) -> list[Open]:
    """Return what planning on in the middle of one of the days says of each ticket under way."""
    event = replace(days.plan.event, noted=days.notes(row, now_at_s))
    anew = plan_day(event, members=members, seed=seed, what_if=False, now_at_s=now_at_s)
    before = {ticket.ticket: ticket for ticket in days.plan.tickets}
    columns = columns_of(days.draws, anew.tickets)
    found = []
    for ticket, column in zip(anew.tickets, columns, strict=True):
        first = before.get(ticket.ticket)
        if ticket.stage not in ("sat", "laid") or first is None:
            continue
        if ticket.way != days.run.ways[column]:
            continue  # the day goes on as it was planned first
        if ticket.hand_over not in COUNTED or first.ready_as != ticket.ready_as:
            continue
        spans = [one.after_sitting_s for one in (first, ticket)]
        if any(span.p90 is None or span.p10 is None for span in spans):
            continue
        ends = days.run.ready_s if ticket.ready_as == "dry" else days.run.dried.touch_s
        sure = days.run.setup.wet.sat_s[row, column] + (ticket.after_sitting_s.p90 or 0.0)
        widths = [(span.p90 or 0.0) - (span.p10 or 0.0) for span in spans]
        found.append(
            Open(
                stage=ticket.stage,
                width_before_s=widths[0],
                width_s=widths[1],
                kept=bool(ends[row, column] <= sure + 1.0),
            )
        )
    return found
