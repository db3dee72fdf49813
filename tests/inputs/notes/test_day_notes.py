"""Which notes are of an event's own day, and what is known of it at an instant."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.day_notes import promised, up_to, with_day_notes
from drybox.inputs.notes.note import Note
from tests.planning.short_day import SHORT_DAY


def event() -> Event:
    return load_event(None, SHORT_DAY | {"event.name": "fair"})


def note(kind: str = "laid", minute: float = 30.0, **more: object) -> Note:
    at_s = int(event().opens_at + 60 * minute)
    return replace(Note(kind=kind, at_s=at_s, timezone="UTC", ticket="7"), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        ({}, True),
        ({"event": "fair"}, True),
        ({"event": "another fair"}, False),
        ({"box": "another box"}, False),
        ({"minute": 2000.0}, False),
        ({"kind": "plate"}, False),
    ],
)
def test_only_notes_of_the_same_day_event_and_box_count(
    more: dict[str, object], counts: bool
) -> None:
    found = with_day_notes(event(), [note(**more)])  # type: ignore[arg-type]
    assert bool(found.noted) == counts


def test_a_promise_written_the_evening_before_is_of_the_day_it_is_given_for() -> None:
    opens_at = int(event().opens_at)
    early = note("promised", -900.0, promised_at_s=opens_at + 6000)
    other = note("promised", -900.0, promised_at_s=opens_at + 6000 + 86400)
    later = note("promised", 20.0, promised_at_s=opens_at + 9000)
    found = with_day_notes(event(), [later, early, other])
    assert [n.promised_at_s for n in found.noted] == [opens_at + 6000, opens_at + 9000]
    assert promised(found)["7"].promised_at_s == opens_at + 9000
    assert promised(up_to(found, opens_at + 600.0))["7"].promised_at_s == opens_at + 6000
