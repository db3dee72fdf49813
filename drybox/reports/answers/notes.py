"""What the field-notes commands say: one line for a note written, a table for the list."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from drybox.inputs.event.ways import WAY_NAMES
from drybox.inputs.notes.note import KINDS, NAMES, Note
from drybox.inputs.text.dates import clock_text, parse_zone
from drybox.readable import counted
from drybox.reports.text.answer import Answer, Column, Table, fields_of
from drybox.reports.text.phrases import capital, clock, iso_time, say
from drybox.units import KELVIN_AT_0_C

COLUMNS = (
    Column("id", "Id", digits=None),
    Column("seen", "Seen"),
    Column("said", "What"),
    Column("about", "Of"),
    Column("doubt", "Doubt"),
)
TEXTS = ("ticket", "way", "state", "bath", "sky", "remark", "undoes")
# field: (key for people and JSON, factor, shift, digits in a sentence)
SHOWN: dict[str, tuple[str, float, float, int]] = {
    "temp_k": ("temp_c", 1.0, -KELVIN_AT_0_C, 1),
    "mass_kg": ("mass_g", 1e3, 0.0, 2),
    "width_m": ("width_mm", 1e3, 0.0, 0),
    "height_m": ("height_mm", 1e3, 0.0, 0),
    "cloud_frac": ("cloud_oktas", 8.0, 0.0, 0),
    "humidity_frac": ("humidity_frac", 1.0, 0.0, 0),
    "wind_m_s": ("wind_m_s", 1.0, 0.0, 1),
}


def note_text(note: Note, units: str = "metric") -> str:
    """Return a note in words, without its time.

    >>> note_text(Note(kind="plate", at_s=0, timezone="UTC", temp_k=319.15))
    'plate 46.0 °C'
    >>> note_text(Note(kind="promise", at_s=0, timezone="UTC", ticket="7", state="kept"), "us")
    'promise 7 kept'
    >>> note_text(Note(kind="tank", at_s=0, timezone="UTC", bath="fixer", sheets=1))
    'tank fixer 1 sheet'
    """
    words = [note.kind]
    words += [text for text in (note.ticket, note.bath, note.state, note.sky) if text]
    if note.way:
        words.append(f"({WAY_NAMES.get(note.way, note.way)})")
    words += [_shown(note, name, units) for name in ("cloud_frac", "temp_k", "humidity_frac")]
    words += [_shown(note, name, units) for name in ("wind_m_s", "mass_kg")]
    if note.promised_at_s is not None:
        words.append(f"for {clock(note.promised_at_s, note.timezone)}")
    if note.sheets is not None:
        words.append(counted(note.sheets, "sheet"))
    if note.width_m is not None and note.height_m is not None:
        sides = (_shown(note, name, units) for name in ("width_m", "height_m"))
        words.append("of " + " by ".join(sides))
    elif note.height_m is not None:
        words.append(_shown(note, "height_m", units))
    if note.remark:
        words.append(f"– {note.remark}")
    if note.undoes:
        words.append(f"of {note.undoes}")
    return " ".join(word for word in words if word)


def note_record(note: Note) -> dict[str, Any]:
    """Return a note as JSON has it: what it says and nothing that is empty."""
    record: dict[str, Any] = {"id": note.id, "kind": note.kind}
    record["seen"] = iso_time(note.at_s, note.timezone)
    record["timezone"] = note.timezone
    record["written"] = iso_time(note.written_s, note.timezone)
    record |= fields_of(note, *NAMES)
    record |= {name: getattr(note, name) for name in TEXTS if getattr(note, name)}
    if note.sheets is not None:
        record["sheets"] = note.sheets
    if note.promised_at_s is not None:
        record["promised_at"] = iso_time(note.promised_at_s, note.timezone)
    for name, (key, factor, shift, _) in SHOWN.items():
        value = getattr(note, name)
        if value is not None:
            record[key] = round(value * factor + shift, 6)
    if note.flag:
        record["doubt"] = note.flag
    return record


def noted_answer(
    notes: Sequence[Note],
    inputs: list[dict[str, Any]],
    *,
    path: Path,
    assumptions: list[str],
    warnings: list[str],
    units: str,
) -> Answer:
    """Return the answer to a note written down, or to several of one moment."""
    lead = [
        f"Noted: {note_text(note, units)}, {_seen(note)} ({note.timezone}); id {note.id}."
        for note in notes
    ]
    return Answer(
        command="note",
        inputs=inputs,
        result={"notes": [note_record(note) for note in notes], "file": str(path)},
        lead=lead,
        assumptions=assumptions,
        warnings=warnings,
        timezone=notes[0].timezone,
    )


def undone_answer(note: Note, row: Note, path: Path, *, units: str) -> Answer:
    """Return the answer to a note taken back."""
    what = f"{note_text(note, units)}, {_seen(note)}"
    lead = f"Taken back: {what}; 'drybox note undo {row.id}' brings it back."
    if note.kind == "undo":
        lead = f"Brought back: note {note.undoes}; 'drybox note undo {row.id}' takes it back again."
    return Answer(
        command="note undo",
        result={"notes": [note_record(note)], "undo_id": row.id, "file": str(path)},
        lead=[lead],
        timezone=note.timezone,
    )


def imported_answer(notes: Sequence[Note], known: int, source: str, *, path: Path) -> Answer:
    """Return the answer to an import."""
    there = f"; {known} {'was' if known == 1 else 'were'} there already" if known else ""
    return Answer(
        command="note import",
        result={"added": len(notes), "known": known, "file": str(path)},
        lead=[f"Added {counted(len(notes), 'note')} from {source}{there}."],
    )


def list_answer(
    notes: Sequence[Note], undone: int, path: Path, *, units: str, most: int | None = None
) -> Answer:
    """Return the answer that lists notes, in the order written; of many the last ones."""
    back = f", and {undone} taken back; --all shows them" if undone else ""
    lead = f"{counted(len(notes), 'note')} in {path}{back}."
    if not notes and not undone:
        lead = f"No notes yet; the first makes {path}."
    if most is not None and len(notes) > most:
        lead += f" The last {most} are listed; 'drybox note export' writes all."
    several_zones = len({note.timezone for note in notes}) > 1
    rows = [
        {
            "id": note.id,
            "seen": _seen(note) + (f" {note.timezone}" if several_zones else ""),
            "kind": note.kind,
            "said": note_text(note, units),
            "about": ", ".join(
                name for name in fields_of(note, *NAMES).values() if name != "default"
            ),
            "doubt": note.flag,
        }
        for note in notes[-(most or len(notes)) :]
    ]
    filled = [c for c in COLUMNS if c.key in ("id", "seen", "said") or any(r[c.key] for r in rows)]
    return Answer(
        command="note list",
        result={"notes": [note_record(note) for note in notes], "file": str(path)},
        lead=[lead],
        tables=[Table("", tuple(filled), rows)] if rows else [],
    )


def _seen(note: Note) -> str:
    moment = datetime.datetime.fromtimestamp(note.at_s, parse_zone(note.timezone))
    return f"{moment:%Y-%m-%d} {clock_text(moment)}"


def _shown(note: Note, name: str, units: str) -> str:
    value = getattr(note, name)
    if value is None:
        return ""
    key, factor, shift, digits = SHOWN[name]
    if name == "cloud_frac":
        return f"{value * factor:g}/8"
    return say(key, value * factor + shift, units, digits=digits)


def kind_help(name: str) -> str:
    """Return one line of help for a kind of note.

    >>> kind_help("promise")
    'Promise: note promise 7 kept (or missed)'
    """
    kind = KINDS[name]
    others = ", ".join(state for state in kind.states if state not in kind.form.split())
    said = f"{capital(kind.what)}: note {kind.form}"
    return f"{said} (or {others})" if others else said
