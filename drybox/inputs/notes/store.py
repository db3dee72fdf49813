"""The field notes: what was measured and seen, in one SQLite file that only grows.

A note is never changed or deleted; taking one back adds a row that points at it. The file
holds either all of what was added or none of it, whenever the program or the machine stops.

::

    no file ──first note──▶ empty store, linked into place whole
    store ──add──▶ store + rows      (one exclusive transaction)
    store ──undo──▶ store + one row  (kind "undo", ``undoes`` = id)

Nothing here makes a file except `NoteStore.add`; reading where none is finds no notes.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from drybox.errors import InputError, StoreError
from drybox.inputs.notes.database import COLUMNS, ENVIRONMENT_NAME, NoteFile, digest_of, sum_of
from drybox.inputs.notes.note import Note, check_note

READINGS = ("plate", "air-in-box", "sky")


@dataclass(frozen=True)
class Added:
    """What an import or a note added: the notes as stored, and how many were there already."""

    notes: tuple[Note, ...]
    known: int = 0


def notes_path(path: Path | None = None) -> tuple[Path, bool]:
    """Return where the field notes are, and whether someone named the place.

    Without a path it is that of ``DRYBOX_NOTES``, or in the user's data folder.
    """
    if path is not None:
        return Path(path).absolute(), True
    named = os.environ.get(ENVIRONMENT_NAME, "").strip()
    try:
        if named:
            return Path(named).expanduser().absolute(), True
        import platformdirs

        folder = Path(platformdirs.user_data_dir("drybox", appauthor=False))
    except (RuntimeError, KeyError, OSError):
        folder = Path()
    if not folder.is_absolute():  # no home is known
        mend = f"name a file in {ENVIRONMENT_NAME}"
        raise StoreError("no folder for the field notes was found", "", mend)
    return folder / "notes.sqlite", False


class NoteStore:
    """The field notes at one path.

    Without a path it is that of ``DRYBOX_NOTES``, or in the user's data folder.

    >>> import tempfile
    >>> folder = tempfile.TemporaryDirectory()
    >>> store = NoteStore(Path(folder.name) / "notes.sqlite")
    >>> reading = Note(kind="plate", at_s=1_781_000_000, timezone="UTC", temp_k=319.15)
    >>> added = store.add([reading])
    >>> [note.temp_k for note in store.read()]
    [319.15]
    >>> store.undo()[0].temp_k, len(store.read()), len(store.read(everything=True))
    (319.15, 0, 2)
    >>> folder.cleanup()
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path, self.named = notes_path(path)
        self._file = NoteFile(self.path, self.named)

    def exists(self) -> bool:
        """Return whether there is anything at the path."""
        return self._file.exists()

    def read(self, everything: bool = False) -> list[Note]:
        """Return the notes in the order written, doubtful ones flagged; none if there is no file.

        ``everything`` also gives those taken back, and the rows that took them back.
        """
        if not self.exists():
            self._file.check_folder()
            return []
        with self._file.reading() as connection:
            notes = self._all(connection)
        return notes if everything else _flagged(standing(notes))

    def add(self, notes: Sequence[Note], now_at: float | None = None) -> Added:
        """Add notes, all or none; the first makes the file.

        A note that carries an id and is there already is passed over. ``now_at`` is the time of
        writing for notes that have none, by default the clock. [s since the Unix epoch] What fails
        leaves the file as it was.
        """
        written_s = int(time.time() if now_at is None else now_at)
        checked = [check_note(note) for note in notes]
        if not checked:
            return Added(())
        if not self.exists():
            _sort_out(checked, {}, written_s)  # refuse before there is a file
            self._file.create()
        with self._file.writing() as connection:
            carried = any(note.id or note.undoes for note in checked)
            there = {note.id: note for note in self._all(connection)} if carried else {}
            added = _sort_out(checked, there, written_s)
            self._insert(connection, added.notes)
        return added

    def undo(self, note_id: str = "", now_at: float | None = None) -> tuple[Note, Note]:
        """Take back a note, the last one standing if none is named.

        Naming a row of kind ``undo`` brings back the note that it took away. The note is named by
        its id or the beginning of it. Returned are the note taken back, and the row that does it.
        """
        written_s = int(time.time() if now_at is None else now_at)
        if not self.exists():
            raise InputError("there is no note to take back", str(self.path))
        with self._file.writing() as connection:
            notes = self._all(connection)
            target = _to_undo(notes, note_id)
            row = Note(
                kind="undo",
                at_s=written_s,
                timezone=target.timezone,
                id=os.urandom(6).hex(),
                written_s=written_s,
                event=target.event,
                place=target.place,
                box=target.box,
                paper=target.paper,
                undoes=target.id,
            )
            self._insert(connection, [check_note(row)])
        return target, row

    def _insert(self, connection: sqlite3.Connection, notes: Sequence[Note]) -> None:
        marks = ", ".join("?" * len(COLUMNS))
        command = f"INSERT INTO note ({', '.join(COLUMNS)}) VALUES ({marks})"
        for note in notes:
            row = [getattr(note, name) for name in COLUMNS]
            connection.execute(command, row)
            connection.execute(*sum_of(row))

    def _all(self, connection: sqlite3.Connection) -> list[Note]:
        columns = self._file.columns(connection)
        rows = connection.execute(f"SELECT {', '.join(columns)} FROM note ORDER BY seq").fetchall()
        notes, sums = [], self._file.sums(connection)
        for row in rows:
            values = dict(zip(columns, row, strict=True))
            if sums is not None and sums.get(values["id"]) != digest_of(row):
                raise self._file.damaged(f"note {values['id']} was changed")
            try:
                notes.append(check_note(Note(**values)))
            except (InputError, TypeError) as fault:
                raise self._file.damaged(f"note {values['id']}: {fault}") from None
        return notes


def _sort_out(notes: Sequence[Note], there: dict[str, Note], written_s: int) -> Added:
    """Return which notes are new, each with an id and the time of writing."""
    added: list[Note] = []
    known = 0
    for note in notes:
        if note.id and note.id in there:
            _same(there[note.id], note)
            known += 1
            continue
        if note.undoes and note.undoes not in there:
            raise InputError(f"a row takes back note {note.undoes}, which is not there")
        row = replace(
            note, id=note.id or os.urandom(6).hex(), written_s=note.written_s or written_s
        )
        there[row.id] = row
        added.append(row)
    return Added(tuple(added), known)


def standing(notes: Sequence[Note]) -> list[Note]:
    """Return the notes that were not taken back, without the rows of kind ``undo``."""
    undone = _undone(notes)
    return [note for note in notes if note.kind != "undo" and note.id not in undone]


def _undone(notes: Sequence[Note]) -> set[str]:
    """Return the ids taken back; a row taken back itself takes back nothing."""
    undone: set[str] = set()
    for note in reversed(notes):
        if note.kind == "undo" and note.id not in undone:
            undone.add(note.undoes)
    return undone


def _flagged(notes: list[Note]) -> list[Note]:
    """Mark readings of one thing in one minute; all are kept."""

    def minute(note: Note) -> tuple[object, ...]:
        return (note.kind, note.event, note.place, note.box, note.at_s // 60)

    count = Counter(minute(note) for note in notes if note.kind in READINGS)
    return [
        replace(note, flag="same minute") if count[minute(note)] > 1 else note for note in notes
    ]


def _to_undo(notes: list[Note], note_id: str) -> Note:
    if not note_id:
        left = standing(notes)
        if not left:
            raise InputError("there is no note to take back")
        return left[-1]
    found = [note for note in notes if note.id.startswith(note_id)]
    if len(found) != 1:
        count = "is not there" if not found else f"could be {len(found)} notes"
        raise InputError(f"note '{note_id}' {count}", "", "see 'drybox note list' for the ids")
    if found[0].id in _undone(notes):
        raise InputError(f"note {found[0].id} was taken back already")
    return found[0]


def _same(there: Note, note: Note) -> None:
    if replace(there, written_s=0) != replace(note, written_s=0):
        raise InputError(
            f"note {note.id} differs from the one in the store",
            "",
            "give the changed line a new id",
        )
