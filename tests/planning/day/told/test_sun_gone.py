"""A sun noted gone is gone in every drawn day, and comes back as cloud lasts."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from drybox.inputs.event.event import load_event
from drybox.inputs.notes.day_notes import with_day_notes
from drybox.inputs.notes.fitted_event import use_readings
from drybox.inputs.notes.note import Note
from drybox.planning.calibration.measured import read_notes
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.told.sun_gone import shade_lasts_s
from drybox.planning.scenario.readings import usable
from drybox.reports.answers.plan import plan_answer
from tests.planning.short_day import SHORT_DAY

TOLD = SHORT_DAY | {"event.every": "20 min", "event.line_slots": 0, "event.wait_limit": "3 h"}
LAID = (("sat", "1", 2.0), ("laid", "1", 50.0))
NOW_MIN = 60.0


@cache
def planned(*notes: tuple[str, str, float]) -> DayPlan:
    """The plan an hour after the opening, by notes: kind, ticket or state, minutes."""
    event = load_event(None, TOLD)
    made = []
    for kind, said, minute in notes:
        what = {"state": said} if kind == "sun" else {"ticket": said}
        at_s = int(event.opens_at + 60 * minute)
        made.append(Note(kind=kind, at_s=at_s, timezone="UTC", **what))  # type: ignore[arg-type]
    now_at = event.opens_at + 60 * NOW_MIN
    return plan_day(with_day_notes(event, made), members=30, what_if=False, now_at=now_at)


def dry_min(plan: DayPlan, share: str) -> float:
    at_s = getattr(plan.tickets[0].dry_at, share)
    return np.inf if at_s is None else (at_s - plan.event.opens_at) / 60


def test_a_sun_noted_gone_delays_what_lies_on_the_plate_under_a_sky_told_clear() -> None:
    usual, gone = planned(*LAID), planned(*LAID, ("sun", "gone", 51.0))
    for share in ("p50", "p90"):
        assert dry_min(gone, share) > dry_min(usual, share) + 3.0
    back = planned(*LAID, ("sun", "gone", 51.0), ("sun", "back", 58.0))
    assert dry_min(usual, "p50") < dry_min(back, "p50") < dry_min(gone, "p90")


def test_the_answer_says_since_when_it_is_gone_and_when_it_may_be_back() -> None:
    gone = planned(*LAID, ("sun", "gone", 51.0))
    text = " ".join(plan_answer(gone).lead)
    assert "The sun is gone since 11:51, as noted" in text
    (record,) = plan_answer(gone).result["sun_gone"]
    assert record["noted_back_at"] is None
    assert gone.event.opens_at + 60 * NOW_MIN <= record["back_at"]["p10"] < record["back_at"]["p90"]
    back = planned(*LAID, ("sun", "gone", 51.0), ("sun", "back", 58.0))
    assert "The sun was gone from 11:51 to 11:58" in " ".join(plan_answer(back).lead)


def test_a_print_that_should_be_dry_by_now_is_to_be_looked_at() -> None:
    plan = planned(("sat", "1", 2.0), ("laid", "1", 20.0), ("sat", "2", 3.0), ("dry", "2", 22.0))
    assert plan.overdue == ("1",)
    answer = plan_answer(plan)
    assert "Look now: ticket 1 should be dry by this time" in " ".join(answer.lead)
    page = next(table for table in answer.tables if table.name == "sitters")
    assert page.rows[0]["dry_range"] == "look now"


def test_a_print_that_leaves_touch_dry_is_to_be_looked_at_then() -> None:
    """In damp air it is never sure to be dry, and had hung there unmentioned to the closing."""
    damp = {"event.plate_slots": 0, "weather.humidity": "57 %", "weather.wind": "4 m/s"}
    event = load_event(None, SHORT_DAY | damp | {"event.every": "20 min"})
    made = [
        Note(kind="sat", at_s=int(event.opens_at) + 120, timezone="UTC", ticket="1"),
        Note(
            kind="laid",
            at_s=int(event.opens_at) + 2700,
            timezone="UTC",
            ticket="1",
            way="line_shade",
        ),
    ]
    noted = with_day_notes(event, made)
    early, late = (
        plan_day(noted, members=30, what_if=False, now_at=event.opens_at + 60.0 * minute)
        for minute in (60.0, 150.0)
    )
    assert early.overdue == ()
    assert late.overdue == ("1",)
    assert late.tickets[0].ready_as == "touch_dry"
    said = " ".join(plan_answer(late).lead)
    assert "Look now: ticket 1 should be touch dry or dry by this time" in said


def test_shade_that_has_lasted_goes_on_longest_under_the_most_cloud() -> None:
    few, half = (np.median(shade_lasts_s(share, 600.0, 200)) for share in (0.1, 0.5))
    assert few > half > 0.0
    assert np.isfinite(shade_lasts_s(0.5, 9.9 * 3600.0, 20)).all()  # none has been seen to last so


def test_what_was_read_under_a_sun_noted_gone_enters_neither_the_day_nor_a_fit() -> None:
    event = load_event(None, TOLD)

    def note(kind: str, minute: float, **said: object) -> Note:
        at_s = int(event.opens_at + 60 * minute)
        return Note(kind=kind, at_s=at_s, timezone="UTC", id=f"{minute}", **said)  # type: ignore

    notes = [
        note("plate", 40.0, temp_k=330.0),
        note("laid", 45.0, ticket="1"),
        note("sun", 50.0, state="gone"),
        note("plate", 58.0, temp_k=321.0),
        note("dry", 70.0, ticket="1"),
        note("sun", 80.0, state="back"),
        note("plate", 90.0, temp_k=322.0),
        note("plate", 120.0, temp_k=331.0),
    ]
    read = use_readings(with_day_notes(event, notes), notes)
    assert [one.id for one in usable(read, event.closes_at)] == ["40.0", "120.0"]
    found = read_notes(notes, [replace(event)])
    assert [one.note.id for one in found.readings] == ["40.0", "120.0"]
    assert {one.id: why for one, why in found.passed_over}.keys() == {"58.0", "70.0", "90.0"}
    assert all("sun was noted gone" in why for _, why in found.passed_over)
