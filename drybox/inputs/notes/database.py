"""The file behind the field notes: SQLite, opened, looked over and made with care.

Transactions are exclusive, the journal is rolled back by whoever opens the file next, and a
new file is put in place whole. Every fault becomes one line; none makes or changes a file.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from dataclasses import fields
from pathlib import Path

from drybox.errors import StoreError
from drybox.inputs.notes.note import Note

APPLICATION_ID = 0x64727962  # "dryb"
SCHEMA_VERSION = 3  # 1 had no fits, 2 no time that was promised, no checksums
FITS_SINCE = 2
WAIT_S = 5.0
STRANDED_S = 60.0
ENVIRONMENT_NAME = "DRYBOX_NOTES"

COLUMNS = tuple(item.name for item in fields(Note) if item.name != "flag")
ADDED = {"promised_at_s": "INTEGER"}
"""Columns that came with schema 3."""
_TYPES = {"int": "INTEGER", "float": "REAL", "str": "TEXT"}
_LOOK = "see with 'drybox note list' what was kept"
_KEEP_COPY = "copy the file aside, then put back a backup or import an exported CSV"


class NoteFile:
    """The SQLite file of the field notes at one path.

    Where someone named the path, its folder must be there already.
    """

    def __init__(self, path: Path, named: bool = True) -> None:
        self.path = path
        self.named = named

    def exists(self) -> bool:
        """Return whether there is anything at the path."""
        try:
            os.lstat(self.path)
        except (FileNotFoundError, NotADirectoryError):
            return False
        except OSError as fault:
            what = f"the field notes cannot be reached: {fault.strerror}"
            mend = f"mend the rights of its folder, or the path in {ENVIRONMENT_NAME}"
            raise StoreError(what, str(self.path), mend) from None
        return True

    def check_folder(self) -> None:
        """Refuse a path that someone named in a folder that is not there."""
        folder = self.path.parent
        if self.named and not folder.is_dir():
            mend = f"make it, or mend the path in {ENVIRONMENT_NAME}"
            raise StoreError("the folder for the field notes is not there", str(folder), mend)

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give a connection to a store that was looked over; faults become one line."""
        self._look()
        try:
            with contextlib.closing(_connect(self.path)) as connection:
                connection.execute("BEGIN")  # one state, whoever writes meanwhile
                self._examine(connection)
                yield connection
        except (sqlite3.Error, UnicodeDecodeError) as fault:
            raise self._said(fault) from None

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give an exclusive transaction: kept if the block ends well, else as it was."""
        self._look()
        try:
            with contextlib.closing(_connect(self.path)) as connection:
                connection.execute("BEGIN EXCLUSIVE")
                self._examine(connection)
                self._grow(connection)
                yield connection
                connection.execute("COMMIT")
        except (sqlite3.Error, UnicodeDecodeError) as fault:  # closing has rolled back
            raise self._said(fault) from None

    def version(self, connection: sqlite3.Connection) -> int:
        """Return the schema of the store behind a connection."""
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        return int(version)

    def _grow(self, connection: sqlite3.Connection) -> None:
        """Bring an older store to the schema of today."""
        if self.version(connection) >= SCHEMA_VERSION:
            return
        for command in _newer(self.version(connection)):
            connection.execute(command)
        rows = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM note").fetchall()
        for row in rows:
            connection.execute(*sum_of(row))

    def sums(self, connection: sqlite3.Connection) -> dict[str, str] | None:
        """Return the checksum of each note by its id, None in a store older than checksums."""
        if self.version(connection) < SCHEMA_VERSION:
            return None
        return dict(connection.execute("SELECT id, digest FROM checksum").fetchall())

    def columns(self, connection: sqlite3.Connection) -> tuple[str, ...]:
        """Return the columns of a note that the store behind a connection has."""
        older = self.version(connection) < SCHEMA_VERSION
        return tuple(name for name in COLUMNS if not (older and name in ADDED))

    def _look(self) -> None:
        """Refuse, before SQLite opens it, what is plainly no store.

        The file is not opened here: closing it would drop the locks that another connection of
        this process holds.
        """
        where = str(self.path)
        if not self.exists():
            mend = f"mend the path in {ENVIRONMENT_NAME}, or write the first note"
            raise StoreError("there are no field notes at this path", where, mend)
        if not self.path.is_file():
            raise StoreError("the path of the field notes is not a file", where)
        if self.path.stat().st_size == 0:
            raise self.damaged("the file is empty")

    def _examine(self, connection: sqlite3.Connection) -> None:
        """Refuse another program's file, a newer schema, and a damaged file."""
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        version = self.version(connection)
        if application != APPLICATION_ID:
            mend = f"name another file in {ENVIRONMENT_NAME}"
            raise StoreError("this SQLite file holds no field notes", str(self.path), mend)
        if version > SCHEMA_VERSION:
            raise StoreError(
                f"the field notes have schema {version}, this drybox knows {SCHEMA_VERSION}",
                str(self.path),
                "update drybox",
            )
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        (page_bytes,) = connection.execute("PRAGMA page_size").fetchone()
        if self.path.stat().st_size < pages * page_bytes:
            raise self.damaged("its end is missing")  # SQLite would fill it up with zeros
        (verdict,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
        if verdict != "ok" or version < 1:
            raise self.damaged(str(verdict) if verdict != "ok" else f"schema {version}")

    def damaged(self, detail: str) -> StoreError:
        """Return the fault for a file that does not hold together."""
        return StoreError(f"the field notes are damaged: {detail}", str(self.path), _KEEP_COPY)

    def _refuse_stray_journal(self) -> None:
        """Refuse a journal without its notes: SQLite would play it into the new file."""
        for ending in ("-journal", "-wal"):
            stray = self.path.with_name(self.path.name + ending)
            # looked at in this order: another writer's journal comes after its file
            if os.path.lexists(stray) and not os.path.lexists(self.path):
                mend = "put the file of the field notes back beside it, or move it away"
                raise StoreError("a journal lies here without its field notes", str(stray), mend)

    def _said(self, fault: Exception) -> StoreError:
        """Return a fault of SQLite, or of text that is none, in words."""
        if isinstance(fault, UnicodeDecodeError):
            return self.damaged("a text in it is none")
        name = getattr(fault, "sqlite_errorname", "")
        where = str(self.path)
        for begins, what, mend in _FAULTS:
            if name.startswith(begins):
                return StoreError(what, where, mend)
        if name == "SQLITE_NOTADB":
            mend = f"name another file in {ENVIRONMENT_NAME}, or put back a backup"
            return StoreError("this file holds no field notes", where, mend)
        if name in ("", "SQLITE_ERROR") or name.startswith("SQLITE_CORRUPT"):
            return self.damaged(str(fault))
        return StoreError(f"the field notes failed: {fault}", where, _LOOK)

    def create(self) -> None:
        """Put an empty store in place whole, unless one has come meanwhile."""
        folder = self.path.parent
        fresh = folder / f".{self.path.name}.{os.getpid()}.new"
        try:
            if not self.named:
                folder.mkdir(parents=True, exist_ok=True)
            self.check_folder()
            self._refuse_stray_journal()
            _sweep(self.path)
            fresh.unlink(missing_ok=True)
            with contextlib.closing(_connect(fresh, "rwc")) as connection:
                for command in _schema():
                    connection.execute(command)
            _put_in_place(fresh, self.path)
        except sqlite3.Error as fault:
            raise self._said(fault) from None
        except OSError as fault:
            mend = f"name a place that can be written in {ENVIRONMENT_NAME}"
            raise StoreError(
                f"the field notes cannot be made: {fault.strerror}", str(self.path), mend
            ) from None
        finally:
            with contextlib.suppress(OSError):
                fresh.unlink(missing_ok=True)


_FAULTS = (
    ("SQLITE_BUSY", "another program is writing the field notes", "try again; nothing was added"),
    ("SQLITE_LOCKED", "another program is writing the field notes", "try again; nothing was added"),
    ("SQLITE_READONLY", "the field notes are read-only", "nothing was added; mend the rights"),
    ("SQLITE_FULL", "the disk is full", "make room and write it again; nothing was added"),
    ("SQLITE_IOERR", "the disk failed or is full", _LOOK),
    ("SQLITE_CANTOPEN", "the field notes cannot be opened", "look at the rights of its folder"),
)


def _connect(path: Path, mode: str = "rw") -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.as_uri()}?mode={mode}", uri=True, timeout=WAIT_S, isolation_level=None
    )
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA synchronous = EXTRA")  # FULL, and the folder too
    except BaseException:
        connection.close()
        raise
    return connection


def _schema() -> list[str]:
    """Return the commands that make a store; the rows can be neither changed nor deleted."""
    columns = []
    for item in fields(Note):
        if item.name == "flag":
            continue
        kind, _, optional = str(item.type).partition(" | ")
        rule = " UNIQUE" if item.name == "id" else ""
        columns.append(f"{item.name} {_TYPES[kind]}{'' if optional else ' NOT NULL'}{rule}")
    return [
        "PRAGMA journal_mode = DELETE",
        f"PRAGMA application_id = {APPLICATION_ID}",
        "BEGIN",
        *_table("note", columns),
        *_fits_schema(),
        *_sums_schema(),
        "COMMIT",
    ]


def _sums_schema() -> list[str]:
    """Return the commands that make room for a checksum a note."""
    columns = ["id TEXT NOT NULL UNIQUE", "digest TEXT NOT NULL"]
    return [*_table("checksum", columns), f"PRAGMA user_version = {SCHEMA_VERSION}"]


def digest_of(row: Sequence[object]) -> str:
    """Return what a row of notes, its columns in order, comes to: another for any change."""
    return hashlib.sha256(repr(tuple(row)).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def sum_of(row: Sequence[object]) -> tuple[str, tuple[object, str]]:
    """Return the command that keeps a row's checksum, and its values."""
    id_ = row[COLUMNS.index("id")]
    return "INSERT INTO checksum (id, digest) VALUES (?, ?)", (id_, digest_of(row))


def _newer(version: int) -> list[str]:
    """Return the commands that bring a store of an older schema up to this one."""
    fits = [] if version >= FITS_SINCE else _fits_schema()
    columns = [f"ALTER TABLE note ADD COLUMN {name} {kind}" for name, kind in ADDED.items()]
    return [*fits, *columns, *_sums_schema()]


def _fits_schema() -> list[str]:
    """Return the commands that make room for fits, in a store that has none."""
    columns = ["id TEXT NOT NULL UNIQUE", "made_s INTEGER NOT NULL"]
    columns += [f"{name} TEXT NOT NULL" for name in ("box", "paper", "body")]
    return [*_table("fit", columns), "PRAGMA user_version = 2"]


def _table(name: str, columns: list[str]) -> list[str]:
    """Return the commands that make a table whose rows stay as they are."""
    strict = " STRICT" if sqlite3.sqlite_version_info >= (3, 37) else ""
    rows = ", ".join(["seq INTEGER PRIMARY KEY", *columns])
    guards = [
        f"CREATE TRIGGER {name}_no_{act.lower()} BEFORE {act} ON {name} "
        "BEGIN SELECT RAISE(ABORT, 'field notes only grow'); END"
        for act in ("UPDATE", "DELETE")
    ]
    return [f"CREATE TABLE {name} ({rows}){strict}", *guards]


def _put_in_place(fresh: Path, path: Path) -> None:
    """Name a finished file ``path`` without ever replacing one that is there."""
    try:
        os.link(fresh, path)
    except FileExistsError:
        return
    except OSError:  # no hard links here, as on a memory stick
        if not path.exists():
            fresh.rename(path)
    if os.name == "posix":  # pragma: no branch - Windows cannot open a folder to sync it
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(path: Path) -> None:
    """Remove what a process that died while making the store left behind."""
    for left in path.parent.iterdir():
        if left.name.startswith(f".{path.name}.") and ".new" in left.suffix:
            with contextlib.suppress(OSError):
                if time.time() - left.stat().st_mtime > STRANDED_S:
                    left.unlink()
