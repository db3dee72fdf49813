"""Days drawn by another seed than a plan's: what they keep of it, and plans in their middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.notes.note import Note
from drybox.planning.day.plan import DayPlan, columns_of, plan_day
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.samples import DayDraws, draw_day
from drybox.planning.day.simulation import DaySimulation
from drybox.planning.day.stages import SetUp, wet_day
from drybox.planning.day.told.kept import COUNTED, kept_shares
from drybox.planning.day.told.so_far import of_rows
from drybox.planning.day.ways import Choice

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class OtherDays:
    """Days that a plan did not see, run with its resources and its ways."""

    plan: DayPlan
    draws: DayDraws
    run: DayRun
    simulation: DaySimulation

    @classmethod
    def of(cls, plan: DayPlan, days: int = 1000, seed: int = 2) -> OtherDays:
        """Draw and run so many days by a seed that is not the plan's."""
        event, inputs = plan.event, plan.inputs
        draws = draw_day(event, inputs, plan.told, members=days, seed=seed)
        resources = plan.run.setup.resources
        wet = wet_day(inputs, resources, draws, closes_at=event.closes_at)
        return cls.run_by(plan, draws, SetUp(resources, wet))

    @classmethod
    def run_by(cls, plan: DayPlan, draws: DayDraws, setup: SetUp) -> OtherDays:
        """Run drawn days by the ways that a plan chose."""
        simulation = DaySimulation(plan.event, plan.inputs, plan.told, draws=draws)
        (run,) = simulation.run([setup], [plan.run.choice])
        return cls(plan, draws, run, simulation)

    def alone(self, row: int) -> OtherDays:
        """Return one of the days."""
        rows = np.array([row])
        columns = {
            part.name: value[rows]
            for part in fields(self.draws)
            if isinstance(value := getattr(self.draws, part.name), np.ndarray)
        }
        ensemble = self.draws.ensemble.of_members(rows)
        draws = replace(self.draws, **columns, ensemble=ensemble)
        wet = of_rows(self.run, rows).setup.wet
        return self.run_by(self.plan, draws, SetUp(self.run.setup.resources, wet))

    def kept(self) -> tuple[float, float] | None:
        """Return how many promises given at the sitting these days keep, by P90 and as told."""
        plan, columns = self.plan, columns_of(self.draws, self.plan.tickets)
        return kept_shares(plan.tickets, plan.hours, self.run, columns=columns, day=plan.inputs.day)

    def notes(self, until_at: float) -> tuple[Note, ...]:
        """Return what a careful hand notes of the first of the days up to an instant."""
        run = self.run
        stages: dict[str, NDArray[np.float64]] = {
            "sat": run.setup.wet.sat_at,
            "laid": run.dried.laid_at,
            "dry": run.dried.pulled_at,
            "handed": run.ready_at,
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
            for ticket, at, way in zip(self.draws.tickets, times[0], run.ways, strict=True)
            if at <= until_at
        ]
        return tuple(sorted(found, key=lambda note: note.at_s))

    def gone_on(self, anew: Choice, now_at: float) -> DayRun:
        """Return one day alone gone on from an instant by the choice of a plan made on in it.

        Prints laid on before keep their way, those that left it before their mark as well; all
        the rest is as the new plan has it. What was before the instant comes out as it was.
        """
        was = self.run
        laid, left = (at[0] <= now_at for at in (was.dried.laid_at, was.dried.left_at))
        sure_at = [max(at, now_at) for at in anew.sure_at]
        choice = Choice(
            ways=_where(laid, was.choice.ways, anew.ways),
            marks=_where(left, was.choice.marks, anew.marks),
            sure_at=_where(left, was.choice.sure_at, sure_at),
            waited=anew.waited,
        )
        (run,) = self.simulation.run([was.setup], [choice])
        for name in ("laid_at", "left_at"):
            before, after = (getattr(one.dried, name)[0] for one in (was, run))
            past = np.minimum(before, after) <= now_at
            np.testing.assert_array_equal(before[past], after[past])
        return run


def _where(flags: NDArray[np.bool_], ours: Sequence[T], theirs: Sequence[T]) -> tuple[T, ...]:
    return tuple(a if flag else b for flag, a, b in zip(flags, ours, theirs, strict=True))


@dataclass(frozen=True)
class Open:
    """A ticket sat but not yet as promised at an instant: ranges before and now, kept now."""

    stage: str
    width_before_s: float
    width_s: float
    kept: bool


def planned_on(
    days: OtherDays, row: int, now_at: float, *, members: int, seed: int = 1
) -> list[Open]:
    """Return what planning on in the middle of one of the days says of each ticket under way.

    The day goes on as the plan made on in it says.
    """
    day = days.alone(row)
    event = replace(days.plan.event, noted=day.notes(now_at))
    anew = plan_day(event, members=members, seed=seed, what_if=False, now_at=now_at)
    run = day.gone_on(anew.run.choice, now_at)
    before = {ticket.ticket: ticket for ticket in days.plan.tickets}
    columns = columns_of(day.draws, anew.tickets)
    found = []
    for ticket, column in zip(anew.tickets, columns, strict=True):
        after = ticket.after_sitting_s
        if ticket.stage not in ("sat", "laid") or ticket.hand_over not in COUNTED:
            continue
        if after.p90 is None:
            continue
        first = before.get(ticket.ticket)
        ends = run.ready_at if ticket.ready_as == "dry" else run.dried.touch_at
        sure = run.setup.wet.sat_at[0, column] + after.p90
        same = first is not None and first.ready_as == ticket.ready_as
        found.append(
            Open(
                stage=ticket.stage,
                width_before_s=_width_s(first) if first is not None and same else np.nan,
                width_s=_width_s(ticket),
                kept=bool(ends[0, column] <= sure + 1.0),
            )
        )
    return found


def _width_s(ticket: TicketPlan) -> float:
    span = ticket.after_sitting_s
    return np.nan if span.p90 is None or span.p10 is None else span.p90 - span.p10
