"""Field notes as CSV: written for people and spreadsheets, read back as the same notes.

Temperatures stand in °C, masses in g, sizes in mm, times as ISO 8601 with offset. A text cell
that a spreadsheet would take for a formula gets an apostrophe in front, which reading takes off
again. A row written by hand may leave out ``id``; it gets one from what it says, so that reading
the file twice adds nothing twice.
"""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from drybox.errors import InputError, did_you_mean
from drybox.inputs.notes.note import NAMES, Note, check_note
from drybox.inputs.notes.phrases import settle_words
from drybox.inputs.text.dates import parse_zone
from drybox.inputs.text.file_text import read_file_text
from drybox.units import KELVIN_AT_0_C

FUTURE_S = 86_400  # another device's clock may be wrong by this much
MOST_ROWS = 10_000
FORMULA_STARTS = (*"=+-@|\t\r'", *"＝＋－＠｜")

# column: (field, decimals, to the column's unit, back to SI)
_NUMBERS: dict[str, tuple[str, int, Callable[[float], float], Callable[[float], float]]] = {
    "temp_c": ("temp_k", 6, lambda k: k - KELVIN_AT_0_C, lambda c: c + KELVIN_AT_0_C),
    "mass_g": ("mass_kg", 6, lambda kg: kg * 1e3, lambda g: g / 1e3),
    "width_mm": ("width_m", 6, lambda m: m * 1e3, lambda mm: mm / 1e3),
    "height_mm": ("height_m", 6, lambda m: m * 1e3, lambda mm: mm / 1e3),
    "cloud_oktas": ("cloud_frac", 9, lambda frac: frac * 8, lambda oktas: oktas / 8),
    "humidity_percent": ("humidity_frac", 7, lambda frac: frac * 100, lambda pct: pct / 100),
    "wind_m_s": ("wind_m_s", 6, lambda speed: speed, lambda speed: speed),
}
_TEXTS = ("kind", "id", *NAMES, "ticket", "way", "state", "bath", "sky", "undoes", "remark")
COLUMNS = (
    *("id", "kind", "at", "timezone", "written_at", *NAMES, "ticket", "way", "state", "bath"),
    *("sheets", "promised_at", "sky", *_NUMBERS, "undoes", "remark"),
)
_REQUIRED = ("kind", "at", "timezone")


def notes_to_csv(notes: Sequence[Note]) -> str:
    """Return the notes as CSV text, one row a note, in the order given.

    >>> reading = Note(kind="plate", at_s=1_781_435_700, timezone="Europe/Vienna", temp_k=319.15)
    >>> row = notes_to_csv([reading]).splitlines()[1]
    >>> print(row)
    ,plate,2026-06-14T13:15:00+02:00,Europe/Vienna,,default,default,default,default,,,,,,,,46,,,,,,,,
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_to_cells(note)[name] for name in COLUMNS] for note in notes)
    return stream.getvalue()


def notes_from_csv(text: str, name: str, now_at: float) -> list[Note]:
    """Return the notes in a CSV text, checked.

    ``now_at`` is the clock, to refuse notes from the future. [s since the Unix epoch]
    """
    rows = _rows(text.removeprefix("\ufeff"), name)
    notes: list[Note] = []
    seen: Counter[str] = Counter()
    for line, cells in rows:
        where = f"{name}, line {line}"
        note = check_note(settle_words(_to_note(cells, where), where), where)
        if note.at_s > now_at + FUTURE_S:
            raise InputError(f"{cells['at']} is in the future", where, "mend the date")
        if not note.id:
            digest = _digest(note)
            seen[digest] += 1
            note = replace(note, id=_digest(note, seen[digest]))
        notes.append(note)
    return notes


def read_notes_csv(path: Path, now_at: float) -> list[Note]:
    """Return the notes in a CSV file."""
    return notes_from_csv(read_file_text(path), path.name, now_at)


def _rows(text: str, name: str) -> list[tuple[int, dict[str, str]]]:
    head = text.split("\n", 1)[0]
    reader = csv.reader(
        io.StringIO(text, newline=""),
        delimiter=";" if head.count(";") > head.count(",") else ",",
        strict=True,
    )
    try:
        header = [cell.strip() for cell in next(reader, [])]
        _check_header(header, name)
        rows: list[tuple[int, dict[str, str]]] = []
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            where = f"{name}, line {reader.line_num}"
            if len(rows) >= MOST_ROWS:
                raise InputError(f"there are more than {MOST_ROWS} notes", name, "cut it in parts")
            if len(cells) != len(header):
                raise InputError(f"{len(cells)} cells under {len(header)} column names", where)
            rows.append((reader.line_num, dict(zip(header, cells, strict=True))))
    except csv.Error as fault:
        raise InputError(f"the CSV is broken: {fault}", f"{name}, line {reader.line_num}") from None
    return rows


def _check_header(header: list[str], name: str) -> None:
    where = f"{name}, line 1"
    for column in _REQUIRED:
        if column not in header:
            mend = "the first line names the columns, as 'drybox note export' writes them"
            raise InputError(f"there is no column '{column}'", where, mend)
    for column in header:
        if column not in COLUMNS:
            mend = did_you_mean(column, COLUMNS, "take the column out")
            raise InputError(f"column '{column[:40]}' is not known", where, mend)
        if header.count(column) > 1:
            raise InputError(f"column '{column}' is there twice", where)


def _to_cells(note: Note) -> dict[str, str]:
    cells = {name: _guard(getattr(note, name)) for name in _TEXTS}
    zone = parse_zone(note.timezone)
    cells["timezone"] = note.timezone
    for column, at_s, shown_in in (
        ("at", note.at_s, zone),
        ("written_at", note.written_s, datetime.UTC),
        ("promised_at", note.promised_at_s, zone),
    ):
        told = at_s and datetime.datetime.fromtimestamp(at_s, shown_in).isoformat()
        cells[column] = told or ""
    cells["sheets"] = "" if note.sheets is None else str(note.sheets)
    for column, (field, decimals, shown, _) in _NUMBERS.items():
        value = getattr(note, field)
        cells[column] = (
            "" if value is None else repr(round(shown(value), decimals)).removesuffix(".0")
        )
    return cells


def _to_note(cells: dict[str, str], where: str) -> Note:
    values: dict[str, Any] = {name: _unguard(cells.get(name, "")) for name in _TEXTS}
    zone_name = cells["timezone"].strip()
    zone = parse_zone(zone_name, where)
    values |= {"timezone": zone_name, "at_s": _seconds(cells["at"], zone, "at", where=where)}
    if cells.get("written_at", "").strip():
        values["written_s"] = _seconds(cells["written_at"], None, "written_at", where=where)
    if cells.get("promised_at", "").strip():
        values["promised_at_s"] = _seconds(cells["promised_at"], zone, "promised_at", where=where)
    sheets = cells.get("sheets", "").strip()
    if sheets:
        if not sheets.isascii() or not sheets.isdecimal():
            raise InputError(f"sheets '{sheets[:40]}' is not a whole number", where)
        values["sheets"] = int(sheets[:12])
    for column, (field, _, _, back) in _NUMBERS.items():
        cell = cells.get(column, "").strip()
        if cell:
            values[field] = back(_parse(cell, column, where))
    return Note(**values)


def _parse(cell: str, column: str, where: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        mend = "write a number with a decimal point and no unit"
        raise InputError(f"{column} '{cell[:40]}' is not a number", where, mend) from None
    if not math.isfinite(value):
        raise InputError(f"{column} '{cell[:40]}' is not a finite number", where)
    return value


def _seconds(cell: str, zone: datetime.tzinfo | None, column: str, *, where: str) -> int:
    try:
        moment = datetime.datetime.fromisoformat(cell.strip())
        if moment.tzinfo is None:
            if zone is None:
                raise ValueError
            moment = moment.replace(tzinfo=zone)
        return math.floor(moment.timestamp())
    except (ValueError, OverflowError):
        mend = 'write it like "2026-06-14T13:15:00+02:00"'
        raise InputError(f"{column} '{cell.strip()[:40]}' is not a time", where, mend) from None


def _guard(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _unguard(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(FORMULA_STARTS) else cell


def _digest(note: Note, count: int = 0) -> str:
    said = repr((count, replace(note, written_s=0)))
    said = said.replace(", promised_at_s=None", "")  # as before there was such a time
    return hashlib.sha256(said.encode()).hexdigest()[:12]
