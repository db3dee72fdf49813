"""Planned anew in the middle of the day, by call and by command; what was said beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from drybox.api import keep_promises, load_event, plan_day, read_notes
from drybox.errors import InputError, NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.notes.note import Note
from drybox.planning.scenario.percentiles import Range
from drybox.reports.answers.plan import plan_answer
from drybox.said import answer
from tests.planning.short_day import SHORT_DAY

EVERY = SHORT_DAY | {"event.every": "20 min", "event.wait_limit": "4 h", "event.name": "fair"}


def event(*notes: Note) -> Event:
    return replace(load_event(None, EVERY), noted=notes)


def note(kind: str, ticket: str, minute: float, promised_min: float | None = None) -> Note:
    opens_at = load_event(None, EVERY).opens_at
    promised = None if promised_min is None else int(opens_at + 60 * promised_min)
    at_s = int(opens_at + 60 * minute)
    return Note(kind=kind, at_s=at_s, timezone="UTC", ticket=ticket, promised_at_s=promised)


def test_before_the_opening_it_is_the_plan_of_the_day_and_after_the_closing_there_is_none() -> None:
    whole = plan_day(event(), members=20, what_if=False)
    early = plan_day(event(), members=20, what_if=False, now="10:30")
    assert early.tickets == whole.tickets
    assert early.hours == whole.hours
    with pytest.raises(NoAnswerError, match="the event is closed at 14:00"):
        plan_day(event(), members=20, now="14:00")
    with pytest.raises(InputError, match="before the day of the event"):
        plan_day(event(), members=20, now="2027-06-11 12:00")


def test_what_is_noted_after_now_is_not_known_yet() -> None:
    notes = note("sat", "1", 1.0), note("sat", "2", 30.0)
    early, only = event(*notes), event(notes[0])
    first, second = (plan_day(e, members=20, what_if=False, now="11:20") for e in (early, only))
    assert first.tickets == second.tickets


def test_a_promise_in_danger_comes_first() -> None:
    notes = (
        note("promised", "1", 1.0, 170.0),
        note("sat", "1", 1.0),
        note("sat", "2", 50.0),
        note("promised", "2", 50.0, 100.0),
    )
    plan = plan_day(event(*notes), members=20, what_if=False, now="11:55")
    (risk,) = plan.broken
    assert risk.ticket == "2"
    assert (risk.promised_keeps_frac or 0.0) < 0.5
    by = {ticket.ticket: ticket for ticket in plan.tickets}
    assert by["1"].promised_keeps_frac is not None
    assert by["1"].promised_keeps_frac > 0.9
    said = answer(plan)
    assert said.lead[0].startswith("In danger: ticket 2. Tell ticket 2 first: promised for")
    assert [row["ticket"] for row in said.result["promises_given"]] == ["2", "1"]
    assert said.tables[0].title == "Promises given"


def test_promises_are_kept_once_and_the_first_word_stands(tmp_path: Path) -> None:
    path = tmp_path / "notes.sqlite"
    plan = plan_day(event(), members=20, what_if=False)
    promised = [ticket for ticket in plan.tickets if ticket.promise_at is not None]
    written = keep_promises(plan, path)
    assert [(n.ticket, n.promised_at_s) for n in written] == [
        (ticket.ticket, ticket.promise_at) for ticket in promised
    ]
    again = plan_day(load_event(None, EVERY, notes=path), members=20, what_if=False, seed=2)
    assert [t.promised_at for t in again.tickets if t.promise_at] == [
        t.promise_at for t in promised
    ]
    assert keep_promises(again, path) == []
    assert len(read_notes(path)) == len(written)


def test_a_fair_that_is_over_has_its_promises_before_they_are_asked_for(tmp_path: Path) -> None:
    """On a practice fair ``plan --now`` knows what ``plan --keep`` has promised."""
    path = tmp_path / "notes.sqlite"
    over = EVERY | {"event.date": "2024-06-12"}
    written = keep_promises(plan_day(load_event(None, over), members=20, what_if=False), path)
    noted = load_event(None, over, notes=path)
    assert {n.at_s for n in written} == {noted.opens_at}
    later = plan_day(noted, members=20, what_if=False, now="11:20")
    known = {t.ticket: t.promised_at for t in later.tickets}
    for each in written:
        assert known.get(each.ticket, each.promised_at_s) == each.promised_at_s
    assert sum(at is not None for at in known.values()) > 2
    assert {n.at_s for n in keep_promises(later, path)} <= {later.now.now_at if later.now else 0}


def test_the_range_beside_a_promise_is_of_what_is_promised() -> None:
    """A print fetched touch dry has its time of touch dry there; one noted dry has one time."""
    plan = plan_day(event(), members=20, what_if=False)
    touch, dry = (
        Range(*(plan.tickets[0].sitting_at + 60.0 * m for m in (60, 70, 80))),
        Range(*[plan.tickets[0].sitting_at + 60.0 * m for m in (90, 90, 90)]),
    )
    told = replace(plan.tickets[0], touch_dry_at=touch, dry_at=dry, hand_over="pick_up")
    for ready_as, said in (("touch_dry", "12:00–12:20"), ("dry", "12:30")):
        one = replace(plan, tickets=(replace(told, ready_as=ready_as),))
        (row,) = next(table for table in plan_answer(one).tables if table.name == "sitters").rows
        assert row["dry_range"] == said


def test_a_promise_kept_within_its_minute_is_not_in_danger() -> None:
    """What is said of it would name the same minute twice."""
    told = event(note("sat", "1", 1.0))
    first = plan_day(told, members=20, what_if=False, now="11:20").tickets[0]
    sure_s = first.ready_at.p90
    assert sure_s is not None
    minute = (sure_s - told.opens_at) / 60
    for early_s, count in ((30.0, 0), (90.0, 1)):
        said = note("promised", "1", 1.0, minute - early_s / 60)
        plan = plan_day(event(note("sat", "1", 1.0), said), members=20, what_if=False, now="11:20")
        assert len(plan.broken) == count


def test_no_promise_is_kept_beforehand_where_sitters_come_by_chance(tmp_path: Path) -> None:
    asked = load_event(None, SHORT_DAY | {"event.rate": "3 1/h"})
    plan = plan_day(asked, members=20, what_if=False)
    with pytest.raises(NoAnswerError, match="come by chance"):
        keep_promises(plan, tmp_path / "notes.sqlite")
