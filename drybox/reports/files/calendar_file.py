"""The day's moments as an iCalendar file (RFC 5545), in UTC, with alarms."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from drybox.reports.sheet.parts import finite_time, place_of_print, turn_words
from drybox.reports.text.answer import Answer
from drybox.reports.text.phrases import local_day, printable, say
from drybox.reports.text.promise_words import IN_SHORT

LENGTH = timedelta(minutes=5)
"""How long a moment stands in the calendar: an event must end after it starts."""


@dataclass(frozen=True)
class _Entry:
    """One moment; ``key`` tells it from the day's others; None rings no alarm, 0 at the moment."""

    key: str
    at: float
    summary: str
    alarm_minutes: int | None
    more: str = ""


def render_calendar(
    answers: Sequence[Answer],
    *,
    title: str = "",
    units: str = "metric",
    now_at: float | None = None,
) -> bytes:
    """Return the calendar: set out, turns, laying-on, look, pull by, breaks, tanks, promises.

    Of each moment the first answer that tells it counts. ``now_at``, by default the clock, goes
    into every entry. [s since the Unix epoch] The bytes are UTF-8 with CRLF ends, no line over 75
    octets.

    An entry's identifier is made of place, day and what happens, so that a calendar that reads
    the file again moves its entries and adds none twice. Moments of the same kind are told
    apart by their number, sitters by their ticket.
    """
    from icalendar import Calendar

    first = answers[0]
    stamp = datetime.fromtimestamp(int(time.time() if now_at is None else now_at), UTC)
    calendar = Calendar()
    calendar.add("prodid", "-//drybox//day sheet//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    where = printable(str(first.place.get("name") or ""))
    calendar.add("x-wr-calname", printable(title) or where or "drybox")
    entries = {entry.key: entry for entry in reversed(list(_entries(answers, units)))}
    for entry in sorted(entries.values(), key=lambda found: (found.at, found.key)):
        calendar.add_component(_event(entry, first, where, stamp=stamp))
    content: bytes = calendar.to_ical()
    return content


def _event(entry: _Entry, answer: Answer, where: str, *, stamp: datetime) -> Any:
    from icalendar import Alarm, Event

    start = datetime.fromtimestamp(round(entry.at / 60) * 60, UTC)
    made = Event()
    made.add("uid", _identifier(entry, answer))
    made.add("dtstamp", stamp)
    made.add("sequence", int(stamp.timestamp()) // 60)
    made.add("dtstart", start)
    made.add("dtend", start + LENGTH)
    made.add("summary", printable(entry.summary))
    if entry.more:
        made.add("description", printable(entry.more))
    if where:
        made.add("location", where)
    made.add("transp", "TRANSPARENT")
    if entry.alarm_minutes is None:
        return made
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", printable(entry.summary))
    alarm.add("trigger", timedelta(minutes=-entry.alarm_minutes))
    made.add_component(alarm)
    return made


def _identifier(entry: _Entry, answer: Answer) -> str:
    place = answer.place
    parts = (
        place.get("latitude_deg"),
        place.get("longitude_deg"),
        local_day(entry.at, answer.timezone),
        entry.key,
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:32] + "@drybox"


def _entries(answers: Sequence[Answer], units: str) -> Iterator[_Entry]:
    aims = [row for answer in answers if answer.command == "aim" for row in answer.result["turns"]]
    for answer in answers:
        result = answer.result
        if answer.command == "setout":
            yield from _box_entries(result, turn_words(aims[0], units) if aims else "")
        if answer.command == "aim":
            yield from _turn_entries(result, units)
        if answer.command == "plan":
            yield from _plan_entries(answer, units)


def _box_entries(result: dict[str, Any], aim: str) -> Iterator[_Entry]:
    for key, summary, minutes in (
        ("set_out_at", "Set the drying box out" + (f": {aim}" if aim else ""), 15),
        ("first_load_at", "First print may go on the plate", 5),
        ("last_load_at", "Last print worth laying on the plate", 15),
    ):
        if finite_time(result.get(key)):
            yield _Entry(key=key, at=result[key], summary=summary, alarm_minutes=minutes)


def _turn_entries(result: dict[str, Any], units: str) -> Iterator[_Entry]:
    for number, turn in enumerate(result["turns"][1:], start=1):
        yield _Entry(
            key=f"turn {number}",
            at=turn["at"],
            summary=f"Turn the drying box: {turn_words(turn, units)}",
            alarm_minutes=2,
        )


def _plan_entries(answer: Answer, units: str) -> Iterator[_Entry]:
    for number, change in enumerate(answer.result.get("tank_changes", ())):
        if finite_time(change.get("at")):
            yield _Entry(
                key=f"tank {number}", at=change["at"], summary=str(change["what"]), alarm_minutes=5
            )
    yield from _break_entries(answer.result)
    for sitter in answer.result.get("sitters", ()):
        yield from _print_entries(sitter, answer, units)


def _break_entries(result: dict[str, Any]) -> Iterator[_Entry]:
    gaps = [
        ("pause", gap, "Break: no sitting begins", "Break over") for gap in result.get("pauses", ())
    ]
    for gap in result.get("breaks", ()):
        if gap.get("use") == "camera":
            coming = f"Sun on the sitter ({gap['spot']}): into open shade, or hang a white cloth"
            gaps.append(("sitter", gap, coming, f"Sun gone from the sitter ({gap['spot']})"))
        else:
            coming = f"No sun on the drying box ({gap['spot']}): lay no new print on"
            gaps.append(("box", gap, coming, f"Sun on the drying box again ({gap['spot']})"))
    for number, (kind, gap, coming, going) in enumerate(gaps):
        for end, summary in (("from_at", coming), ("until_at", going)):
            if finite_time(gap.get(end)):
                key = f"{kind} {number} {end}"
                yield _Entry(key=key, at=gap[end], summary=summary, alarm_minutes=2)


def _print_entries(sitter: dict[str, Any], answer: Answer, units: str) -> Iterator[_Entry]:
    """Yield when to look at a print and by when to pull it; its promise rings no alarm."""
    ticket = str(sitter["ticket"])
    dry, laid = sitter.get("dry_at") or {}, sitter.get("laid_on_at")

    def said(at: Any) -> str:
        return say("laid_on_at", at, units, digits=0, timezone=answer.timezone)

    more = f"Laid on at {said(laid)}." if finite_time(laid) else ""
    if more and sitter.get("way"):
        where = place_of_print(sitter)
        likely = (
            f" Half of such prints are dry at {said(dry['p50'])}."
            if finite_time(dry.get("p50"))
            else ""
        )
        for name, percentile, order in (
            ("look", "p10", "Look at"),
            ("pull by", "p90", "Pull by now:"),
        ):
            if finite_time(dry.get(percentile)):
                yield _Entry(
                    key=f"{name} {ticket}",
                    at=dry[percentile],
                    summary=f"{order} ticket {ticket}, {where}",
                    alarm_minutes=0,
                    more=more + likely,
                )
    if finite_time(sitter.get("promise_at")):
        how = IN_SHORT[sitter.get("hand_over") or "dry"]
        yield _Entry(
            key=f"promise {ticket}",
            at=sitter["promise_at"],
            summary=f"Print promised: ticket {ticket}" + ("" if how == "dry" else f" ({how})"),
            alarm_minutes=None,
            more=more,
        )
