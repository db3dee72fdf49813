"""Who comes to be portrayed: by interval, by list with names, or by chance at a rate."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from drybox.errors import InputError
from drybox.inputs.text.dates import moment_on
from drybox.inputs.text.file_text import read_rows
from drybox.inputs.text.settings import Section

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event

SITTER_KEYS = ("every", "arrivals", "rate", "sitter", "sitters", "prints")
ENTRY_KEYS = ("ticket", "name", "at", "prints", "promised")
WAYS_TO_COME = ("every", "arrivals", "rate", "sitter", "sitters")
COLUMNS = {key: key for key in ENTRY_KEYS} | {"time": "at", "who": "name", "no": "ticket"}
"""Headings of a table of sitters, and the key that each stands for."""
MOST_SITTERS, MOST_PRINTS = 10_000, 20
SHORTEST_GAP_S, LONGEST_GAP_S = 30.0, 86400.0


@dataclass(frozen=True)
class Sitter:
    """One sitter: ticket, name if known, arrival, prints wanted, a promise already given."""

    ticket: str
    name: str
    at: float
    prints: int = 1
    promised_at: float | None = None


def read_sitters(
    section: Section, event: Event, pace_1_s: float
) -> tuple[tuple[Sitter, ...], float | None, int]:
    """Return the sitters in order of arrival, the rate if they come by chance, prints of each.

    Where nothing is said, they come at ``pace_1_s``, which the process sustains. [1/s]
    """
    given = [key for key in WAYS_TO_COME if key in section]
    if len(given) > 1:
        raise section.error(given[1], f"both {given[0]} and {given[1]} are given", "keep one")
    prints = _prints(section, 1)
    if given == ["rate"]:
        limits = (1 / LONGEST_GAP_S, 1 / SHORTEST_GAP_S)
        return (), section.quantity("rate", "rate", limits, default=None), prints
    if given == ["sitter"]:
        return _entries(section, event, prints, entries=section.entries("sitter")), None, prints
    if given == ["sitters"]:
        return _entries(section, event, prints, entries=_rows(section, event)), None, prints
    if given == ["arrivals"]:
        return _listed(section, event, prints), None, prints
    if not given:
        gap = 1 / pace_1_s
        section.record("every", gap / 60, "min", source="default: the pace of the process")
        section.settings.assume(
            f"Nothing was said of the sitters: one every {gap / 60:g} min is assumed, what one "
            'operator sustains; write it like every = "12 min" in [event].'
        )
    else:
        limits = (SHORTEST_GAP_S, LONGEST_GAP_S)
        gap = section.quantity("every", "duration", limits, default=0.0)
    count = int((event.closes_at - event.opens_at - 1e-6) // gap) + 1
    sitters = (
        Sitter(ticket=str(number + 1), name="", at=event.opens_at + number * gap, prints=prints)
        for number in range(count)
    )
    return tuple(sitters), None, prints


def moment_at(section: Section, key: str, value: object, *, event: Event) -> float:
    """Return the instant of a clock time on the event's day, or after midnight if it runs on."""
    where, zone = section.where(key), ZoneInfo(event.place.timezone)
    at = moment_on(event.date, value, zone, name=key, where=where).time_at
    if at >= event.opens_at:
        return at
    next_day = event.date + datetime.timedelta(days=1)
    later_at = moment_on(next_day, value, zone, name=key, where=where).time_at
    return later_at if later_at <= event.closes_at else at


def _prints(section: Section, default: int) -> int:
    if section.name != "event" and "prints" not in section:
        return default
    source, mend = "default: one of each sitter", "leave a sitter out who wants none"
    return section.whole_number("prints", (1, MOST_PRINTS), default, source=source, mend=mend)


def _arrival_at(section: Section, key: str, value: Any, *, event: Event) -> float:
    at = moment_at(section, key, value, event=event)
    if not event.opens_at <= at < event.closes_at:
        mend = "give opens and closes in [event] that hold it"
        raise section.error(key, f"arrival {value} is outside the event's hours", mend)
    return at


def _in_order(section: Section, key: str, sitters: list[Sitter]) -> tuple[Sitter, ...]:
    if len(sitters) > MOST_SITTERS:
        raise section.error(key, f"{len(sitters)} sitters are more than {MOST_SITTERS}")
    return tuple(sorted(sitters, key=lambda sitter: sitter.at))


def _listed(section: Section, event: Event, prints: int) -> tuple[Sitter, ...]:
    given = section.raw("arrivals")
    if not isinstance(given, list):
        form = 'write it like arrivals = ["10:05", "10:20"]'
        raise section.error("arrivals", f"arrivals {given!r} is not a list", form)
    times = sorted(_arrival_at(section, "arrivals", value, event=event) for value in given)
    section.record("arrivals", len(times), "sitters")
    sitters = [
        Sitter(ticket=str(number), name="", at=at, prints=prints)
        for number, at in enumerate(times, start=1)
    ]
    return _in_order(section, "arrivals", sitters)


class _Row(Section):
    """One row of a table of sitters, which stands in a file of its own."""

    def where(self, key: str) -> str:
        """Return the row that a cell stands in."""
        return f"{key} in {self.name}"

    def record(self, key: str, value: Any, unit: str = "", *, source: str = "") -> None:
        """Keep nothing: the sitters are in the answer."""


def _rows(section: Section, event: Event) -> list[Section]:
    """Return the entries of a table of sitters, a CSV file beside the event's."""
    name = section.text("sitters", "")
    folder = event.path.parent if event.path else Path()
    form = "its heading is like: name,at,prints (also ticket, promised)"
    rows = read_rows(
        folder / Path(name).expanduser(), COLUMNS, form, where=section.where("sitters")
    )
    found: list[Section] = []
    for where, row in rows:
        cells: dict[str, Any] = {COLUMNS[key]: cell for key, cell in row.items() if cell}
        if cells.get("prints", "").isdecimal():
            cells["prints"] = int(cells["prints"])
        found.append(_Row(section.settings, where, cells))
    return found


def _entries(
    section: Section, event: Event, prints: int, *, entries: Sequence[Section]
) -> tuple[Sitter, ...]:
    found: list[Sitter] = []
    seen: dict[str, str] = {}
    for number, entry in enumerate(entries, start=1):
        entry.only(*ENTRY_KEYS)
        ticket = _ticket(entry, number)
        where = entry.where("ticket")
        if ticket in seen:
            what = f"ticket '{ticket}' is there twice, first as {seen[ticket]}"
            raise InputError(what, where, "give each sitter a ticket of their own")
        seen[ticket] = where
        if "at" not in entry:
            raise entry.error("at", f"ticket '{ticket}' has no time", 'write at = "10:05"')
        at, promised = _arrival_at(entry, "at", entry.raw("at"), event=event), None
        if entry.raw("promised") is not None:
            promised = moment_at(entry, "promised", entry.raw("promised"), event=event)
            if promised < at:
                what = f"ticket '{ticket}' is promised before it sits"
                raise entry.error("promised", what, "mend one of the two times")
        found.append(
            Sitter(
                ticket=ticket,
                name=entry.text("name", "") if "name" in entry else "",
                at=at,
                prints=_prints(entry, prints),
                promised_at=promised,
            )
        )
        entry.record("at", str(entry.raw("at")))
    return _in_order(section, "sitter", found)


def _ticket(entry: Section, number: int) -> str:
    value = entry.raw("ticket")
    if value is None:
        return str(number)
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    text = entry.text("ticket", "")
    if len(text) > 12:
        raise entry.error("ticket", f"ticket '{text}' is longer than 12 characters")
    return text
