"""What the notes of an event's own day say of its sitters, its prints and its sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drybox.inputs.notes.note import Note

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event

OF_THE_DAY = ("sun", "sat", "promised", "laid", "touch", "dry", "handed")
SETTLES_S = 1800.0
"""So long after the sun is back a plate still tells of the shade: three times the ten minutes in
which it answers (judgement). [s]"""


def with_day_notes(event: Event, notes: Sequence[Note]) -> Event:
    """Return the event with the notes of its own day on sitters, prints and sun, in order of time.

    A note that names another event, place or box is passed over; a promise is of the day that it is
    given for.
    """
    last_at = max(event.day_end_at, event.closes_at)
    found = [
        note
        for note in sorted(notes, key=lambda note: note.at_s)
        if note.kind in OF_THE_DAY
        and note.event in (event.name, "default")
        and note.place in (event.place.name, "default")
        and note.box in (event.box.name, "default")
        and event.day_start_at <= (note.promised_at_s or note.at_s) < last_at
    ]
    return replace(event, noted=tuple(found)) if found else event


def up_to(event: Event, now_at: float) -> Event:
    """Return the event with what was noted up to an instant of its day."""
    return replace(
        event,
        seen=tuple(note for note in event.seen if note.at_s <= now_at),
        noted=tuple(note for note in event.noted if note.at_s <= now_at),
    )


def promised(event: Event) -> dict[str, Note]:
    """Return the last promise noted of each ticket."""
    return {note.ticket: note for note in event.noted if note.kind == "promised"}


def sun_gone_spans(notes: Sequence[Note]) -> tuple[tuple[float, float], ...]:
    """Return from when until when the sun was noted gone; infinite where it is not noted back. [s]

    >>> from drybox.inputs.notes.note import Note
    >>> said = ((60, "gone"), (90, "gone"), (120, "back"), (300, "gone"))
    >>> sun_gone_spans([Note(kind="sun", at_s=at, timezone="UTC", state=s) for at, s in said])
    ((60.0, 120.0), (300.0, inf))
    """
    spans: list[tuple[float, float]] = []
    gone_at: float | None = None
    for note in sorted(notes, key=lambda note: note.at_s):
        if note.kind != "sun":
            continue
        if note.state == "gone":
            gone_at = float(note.at_s) if gone_at is None else gone_at
        elif gone_at is not None:
            spans.append((gone_at, float(note.at_s)))
            gone_at = None
    if gone_at is not None:
        spans.append((gone_at, float("inf")))
    return tuple(spans)


def under_unknown_sun(
    spans: Sequence[tuple[float, float]], from_at: float, until_at: float | None = None
) -> bool:
    """Return whether a reading, or a stretch, lies where the sun was noted gone or just back."""
    last = from_at if until_at is None else until_at
    return any(last >= gone and from_at < back + SETTLES_S for gone, back in spans)
