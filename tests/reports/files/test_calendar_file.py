"""The calendar: parsed back, and held to RFC 5545's own rules on its bytes."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar, Event

from drybox.reports.files.calendar_file import render_calendar
from drybox.reports.text.answer import Answer
from tests.reports.invented_day import HOSTILE, aim, at, plan, setout, whole_day

NOW_S = 1812700000.0


def events(content: bytes) -> list[Event]:
    return list(Calendar.from_ical(content).walk("VEVENT"))


def by_the_rules(content: bytes) -> None:
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")
    lines = content.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    for line in lines:
        line.decode("utf-8")  # no character is split between two lines
    unfolded = content.replace(b"\r\n ", b"").decode().split("\r\n")
    assert not any(ord(sign) < 32 and sign != "\t" for line in unfolded for sign in line)
    assert unfolded[0] == "BEGIN:VCALENDAR"
    assert {"VERSION:2.0", "PRODID:-//drybox//day sheet//EN"} <= set(unfolded)
    for line in unfolded:
        if re.match(r"DT(START|END|STAMP)", line):
            assert re.fullmatch(r"DT\w+:\d{8}T\d{6}Z", line), line
    for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):
        count = sum(line.split(":")[0].split(";")[0] == name for line in unfolded)
        assert count == unfolded.count("BEGIN:VEVENT")


def test_the_day_keeps_the_rules_and_parses_back() -> None:
    content = render_calendar(whole_day(), title="Fair", now_at=NOW_S)
    by_the_rules(content)
    found = events(content)
    said = [str(event["summary"]) for event in found]
    assert said[0] == (
        "Set the drying box out: face 117° by compass (ESE 122° true), tilt 35°, prop 287 mm"
    )
    assert "Change the fixer" in said
    assert sum(text.startswith("Turn the drying box") for text in said) == 3
    assert sum(text.startswith("Print promised") for text in said) == 32
    assert "Turn the drying box: lay it level" in said
    assert "Look at ticket 1, plate 1" in said
    assert "Pull by now: ticket 1, plate 1" in said
    assert "Break: no sitting begins" in said
    assert any(text.startswith("Sun on the sitter (Upper Larkmead)") for text in said)


def test_times_are_utc_and_end_after_they_start() -> None:
    found = events(render_calendar([setout()], now_at=NOW_S))
    first = found[0]
    assert first["dtstart"].dt == datetime.fromtimestamp(at(9.5), UTC)
    assert first["dtstart"].dt.tzinfo is not None
    assert all(event["dtend"].dt > event["dtstart"].dt for event in found)


def test_alarms_ring_at_look_and_pull_by_and_never_at_a_promise() -> None:
    kinds = {"Look": 0, "Pull": 0, "Print promised": 0}
    for event in events(render_calendar(whole_day(), now_at=NOW_S)):
        alarms = event.walk("VALARM")
        kind = next((kind for kind in kinds if str(event["summary"]).startswith(kind)), "")
        if kind:
            kinds[kind] += 1
        if kind == "Print promised":
            assert alarms == []
            continue
        (alarm,) = alarms
        assert str(alarm["action"]) == "DISPLAY"
        assert str(alarm["description"])
        wait = alarm["trigger"].dt
        assert wait == timedelta(0) if kind else timedelta(minutes=-30) <= wait < timedelta(0)
    assert kinds == {"Look": 29, "Pull": 29, "Print promised": 32}


def test_look_and_pull_by_are_the_plans_own_times() -> None:
    found = {str(event["summary"]): event for event in events(render_calendar([plan()]))}
    assert found["Look at ticket 1, plate 1"]["dtstart"].dt == datetime.fromtimestamp(at(10.7), UTC)
    by = found["Pull by now: ticket 1, plate 1"]["dtstart"].dt
    assert by == datetime.fromtimestamp(at(10.9), UTC)


def test_identifiers_are_unique_and_outlive_a_new_plan() -> None:
    def identifiers(hours_later: float) -> dict[str, str]:
        moved = setout()
        moved.result["set_out_at"] += hours_later * 3600
        content = render_calendar([moved, aim(), plan()], now_at=NOW_S + hours_later)
        found = {str(event["uid"]): str(event["summary"]) for event in events(content)}
        assert len(found) == len(events(content))
        return found

    assert identifiers(0.0) == identifiers(0.5)


def test_a_later_file_has_a_higher_sequence() -> None:
    first, later = (
        events(render_calendar([setout()], now_at=NOW_S + wait))[0]["sequence"]
        for wait in (0.0, 3600.0)
    )
    assert later > first


def test_the_same_clock_gives_the_same_bytes() -> None:
    assert render_calendar(whole_day(), now_at=NOW_S) == render_calendar(whole_day(), now_at=NOW_S)


def test_hostile_names_keep_the_rules() -> None:
    content = render_calendar(whole_day(HOSTILE), title=HOSTILE, now_at=NOW_S)
    by_the_rules(content)
    locations = {str(event["location"]) for event in events(content)}
    assert locations == {HOSTILE.replace("\u202e", " ")}


@settings(deadline=None)
@given(st.text(max_size=200))
def test_any_name_keeps_the_rules(name: str) -> None:
    content = render_calendar([setout(name), plan(name, sitters=3)], title=name, now_at=NOW_S)
    by_the_rules(content)
    assert len(events(content)) == 3 + 1 + 3 * 3 + 6


def calendar(*answers: Answer) -> str:
    return render_calendar(answers).replace(b"\r\n ", b"").decode()


def test_a_calendar_leaves_out_what_has_no_time() -> None:
    whole = setout()
    never = replace(whole, result=whole.result | {"last_load_at": None})
    assert "Last print worth" in calendar(whole)
    assert "Last print worth" not in calendar(never)
    spent = plan()
    change = {"at": math.nan, "what": "Change the fixer"}
    timeless = replace(spent, result=spent.result | {"tank_changes": [change]})
    assert "Change the fixer" in calendar(spent)
    assert "Change the fixer" not in calendar(timeless)
