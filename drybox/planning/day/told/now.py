"""The day planned anew in the middle of it: what is fixed, which draws count, who is how far."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from drybox.errors import NoAnswerError
from drybox.inputs.event.day import Day, read_day_inputs
from drybox.inputs.event.event import Event
from drybox.inputs.notes.day_notes import promised
from drybox.inputs.notes.note import Note
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan, promises
from drybox.planning.day.samples import DayDraws, Ticket
from drybox.planning.day.told.hours import HourRule, hour_rules
from drybox.planning.day.told.so_far import Now, Underway, of_rows

SPOKEN = {"touch_dry": "touch", "damp": "damp", "dry": "dry"}
"""State in which a print is promised → its word in a note."""

STATES = {word: state for state, word in SPOKEN.items()} | {"": "dry"}


def told_sitters(
    run: DayRun, draws: DayDraws, under: Underway | None, *, event: Event, day: Day, seed: int
) -> tuple[DayRun, tuple[TicketPlan, ...], tuple[HourRule, ...]]:
    """Return what each ticket and each hour is told; of a day under way, by the draws that agree.

    ``under`` is what has happened so far, None before the day; ``seed`` that of the choice among
    the draws. The run comes back with all that was noted in its place.
    """
    comes_at, fits, sat, from_at = draws.arrive_at, None, None, event.opens_at
    if under is not None:
        rows = under.likely_rows(run, seed)
        fits, sat = under.fits(run)[rows], np.isfinite(under.sat_at)
        run, comes_at = of_rows(under.settled(run), rows), comes_at[rows]
        from_at = under.now.now_at
    plans = promises(run, draws.tickets, comes_at, event=event, day=day, fits=fits, sat=sat)
    if under is not None:
        column = {ticket.label: number for number, ticket in enumerate(under.draws.tickets)}
        plans = tuple(replace(plan, stage=under.now.stage(column[plan.ticket])) for plan in plans)
    hours = hour_rules(run, comes_at, event=event, day=day, from_at=from_at)
    return run, plans, hours


def with_promises(event: Event, draws: DayDraws) -> DayDraws:
    """Return the draws with the promises noted; what the event file says goes first.

    What was promised for ticket 7 holds for each of its prints, 7.2 too.
    """
    said = promised(event)

    def told(ticket: Ticket) -> Ticket:
        note = said.get(ticket.label) or said.get(ticket.sitter)
        if ticket.promised_at is not None or note is None or note.promised_at_s is None:
            return ticket
        state = STATES[note.state]
        return replace(ticket, promised_at=float(note.promised_at_s), promised_as=state)

    return replace(draws, tickets=tuple(told(ticket) for ticket in draws.tickets))


def promise_notes(
    event: Event, plans: tuple[TicketPlan, ...], *, written_at: float, now: Now | None
) -> list[Note]:
    """Return a note for each promise of a plan that was not given before.

    Given as they are written; of an event that is over at the plan's ``now``, else at its opening.
    `NoAnswerError` where sitters come by chance: nobody knows beforehand when a ticket sits.
    """
    if read_day_inputs(event).day.rate_1_s is not None:
        what = "sitters come by chance: there is no promise to keep before one sits"
        raise NoAnswerError(what, "--keep", "note each as it is given: note promised 7 15:40")
    given_at = written_at
    if written_at >= max(event.day_end_at, event.closes_at):
        given_at = event.opens_at if now is None else now.now_at
    return [
        Note(
            kind="promised",
            at_s=int(given_at),
            timezone=event.place.timezone,
            ticket=plan.ticket,
            state=SPOKEN[plan.ready_as],
            promised_at_s=int(plan.promise_at),
            event=event.name,
            place=event.place.name,
            box=event.box.name,
            paper=event.paper.name,
        )
        for plan in plans
        if plan.promise_at is not None and plan.promised_at is None
    ]
