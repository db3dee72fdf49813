"""The field notes store: what is kept, what is refused, and how a faulty file is met."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from drybox.cli import main
from drybox.errors import ExitStatus, InputError, StoreError
from drybox.inputs.notes import database as field_note_file
from drybox.inputs.notes.database import NoteFile
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore, notes_path

NOW_S = 1_781_435_700  # 2026-06-14 13:15 in Vienna


def reading(temp_c: float = 46.0, at_s: int = NOW_S, **more: object) -> Note:
    values = {"kind": "plate", "at_s": at_s, "timezone": "Europe/Vienna"} | more
    return Note(temp_k=temp_c + 273.15, **values)  # type: ignore[arg-type]


@pytest.fixture
def store(tmp_path: Path) -> NoteStore:
    return NoteStore(tmp_path / "notes.sqlite")


@pytest.fixture
def filled(store: NoteStore) -> NoteStore:
    store.add([reading(40.0 + number / 10, NOW_S + 60 * number) for number in range(60)], NOW_S)
    return store


def command(path: Path, *lines: str) -> None:
    """Run SQL on a store's file behind its back."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        for line in lines:
            connection.execute(line)
        connection.commit()


def one_line(fault: pytest.ExceptionInfo[StoreError], store: NoteStore) -> str:
    text = str(fault.value)
    assert "\n" not in text
    assert str(store.path.parent) in text
    assert fault.value.exit_status == ExitStatus.STORE_FAILED == 4
    return text


def test_a_note_comes_back_as_it_was_written(store: NoteStore) -> None:
    note = reading(box="the long one", remark="thermometer in the middle")
    (added,) = store.add([note], NOW_S).notes
    assert added.id
    assert added.written_s == NOW_S
    assert store.read() == [added]
    assert (added.temp_k, added.box, added.at_s) == (319.15, "the long one", NOW_S)


def test_no_file_is_made_before_the_first_note(store: NoteStore) -> None:
    assert store.read() == []
    with pytest.raises(InputError, match="no note to take back"):
        store.undo()
    with pytest.raises(InputError):
        store.add([reading(450)])
    with pytest.raises(InputError, match="not there"):
        store.add([Note(kind="undo", at_s=NOW_S, timezone="UTC", undoes="abc")])
    assert store.add([]).notes == ()
    assert list(store.path.parent.iterdir()) == []
    store.add([reading()])
    assert list(store.path.parent.iterdir()) == [store.path]


def test_a_path_that_was_named_needs_its_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="the folder for the field notes is not there"):
        NoteStore(tmp_path / "mistyped" / "notes.sqlite").add([reading()])
    with pytest.raises(StoreError, match="the folder for the field notes is not there"):
        NoteStore(tmp_path / "mistyped" / "notes.sqlite").read()
    assert list(tmp_path.iterdir()) == []


def test_a_path_that_cannot_be_looked_at_is_not_taken_for_no_notes(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="the field notes cannot be reached: File name too long"):
        NoteStore(tmp_path / ("x" * 300)).read()


def test_the_default_place_is_made_when_it_is_needed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DRYBOX_NOTES", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "d" / "e"))
    store = NoteStore()
    assert store.path == tmp_path / "d" / "e" / "notes.sqlite"
    assert store.read() == []
    assert list(tmp_path.iterdir()) == []
    store.add([reading()])
    assert len(store.read()) == 1


def test_the_environment_names_the_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "mine.sqlite"))
    assert notes_path() == (tmp_path / "mine.sqlite", True)
    assert NoteStore().read() == []
    monkeypatch.setenv("DRYBOX_NOTES", "  ")
    assert notes_path()[1] is False


def test_without_a_home_a_place_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DRYBOX_NOTES", raising=False)
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: "~/.local/share/drybox")
    with pytest.raises(StoreError, match="name a file in DRYBOX_NOTES"):
        NoteStore()
    monkeypatch.setenv("DRYBOX_NOTES", "~nobody-of-this-name/notes.sqlite")
    with pytest.raises(StoreError, match="name a file in DRYBOX_NOTES"):
        NoteStore()


def test_undo_takes_back_the_last_note_and_deletes_nothing(store: NoteStore) -> None:
    first, second = (store.add([reading(temp)]).notes[0] for temp in (40, 50))
    assert store.undo()[0].id == second.id
    assert [note.id for note in store.read()] == [first.id]
    assert [note.kind for note in store.read(everything=True)] == ["plate", "plate", "undo"]
    assert store.undo()[0].id == first.id
    with pytest.raises(InputError, match="no note to take back"):
        store.undo()


def test_undo_by_id_and_undo_of_an_undo(store: NoteStore) -> None:
    first, second = (store.add([reading(temp)]).notes[0] for temp in (40, 50))
    store.undo(first.id[:8])
    assert [note.id for note in store.read()] == [second.id]
    with pytest.raises(InputError, match="taken back already"):
        store.undo(first.id)
    (again, row) = store.undo(store.read(everything=True)[-1].id)
    assert (again.kind, row.undoes) == ("undo", again.id)
    assert [note.id for note in store.read()] == [first.id, second.id]
    store.undo(first.id)
    assert [note.id for note in store.read()] == [second.id]
    with pytest.raises(InputError, match="is not there"):
        store.undo("zzz")


def test_an_id_that_fits_two_notes_is_refused(store: NoteStore) -> None:
    store.add([reading(id="ab1"), reading(id="ab2")])
    with pytest.raises(InputError, match="could be 2 notes"):
        store.undo("ab")


def test_rows_can_be_neither_changed_nor_deleted(filled: NoteStore) -> None:
    for line in ("DELETE FROM note", "UPDATE note SET temp_k = 300"):
        with pytest.raises(sqlite3.IntegrityError, match="only grow"):
            command(filled.path, line)


def test_the_same_minute_twice_is_kept_and_flagged(store: NoteStore) -> None:
    at_s = NOW_S // 60 * 60
    store.add([reading(40, at_s), reading(41, at_s + 59), reading(42, at_s + 60)])
    store.add([reading(43, at_s, kind="air-in-box"), reading(44, at_s, box="other")])
    flags = {round(note.temp_k - 273.15): note.flag for note in store.read() if note.temp_k}
    assert flags == {40: "same minute", 41: "same minute", 42: "", 43: "", 44: ""}


def test_a_store_of_the_schema_before_is_read_as_it_is_and_grows(filled: NoteStore) -> None:
    before = filled.read()
    command(
        filled.path,
        "ALTER TABLE note DROP COLUMN promised_at_s",
        "DROP TABLE checksum",
        "PRAGMA user_version = 2",
    )
    old = filled.path.read_bytes()
    assert filled.read() == before
    assert filled.path.read_bytes() == old
    said = Note(kind="promised", at_s=NOW_S, timezone="UTC", ticket="7", promised_at_s=NOW_S + 6000)
    filled.add([said])
    assert filled.read()[:-1] == before
    assert filled.read()[-1].promised_at_s == NOW_S + 6000
    with contextlib.closing(sqlite3.connect(filled.path)) as connection:
        notes, sums = (
            connection.execute(f"SELECT COUNT(*) FROM {table}").fetchone()
            for table in ("note", "checksum")
        )
    assert notes == sums


def test_a_note_with_a_known_id_is_passed_over(store: NoteStore) -> None:
    (added,) = store.add([reading()]).notes
    again = store.add([added, reading(50)])
    assert again.known == 1
    assert len(again.notes) == 1
    with pytest.raises(InputError, match="differs from the one in the store"):
        store.add([reading(60), reading(51, id=added.id)])
    assert len(store.read()) == 2


def test_the_file_says_what_it_is(filled: NoteStore) -> None:
    connection = sqlite3.connect(filled.path)
    assert connection.execute("PRAGMA application_id").fetchone() == (0x64727962,)
    assert connection.execute("PRAGMA user_version").fetchone() == (3,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.execute("INSERT INTO note SELECT * FROM note WHERE 0")
    if sqlite3.sqlite_version_info >= (3, 37):
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute("INSERT INTO note (temp_k) VALUES ('hot')")
    connection.close()


def _random_bytes(path: Path) -> None:
    path.write_bytes(bytes(range(7, 256)) * 40)


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _text(path: Path) -> None:
    path.write_text("at,kind\n", encoding="utf-8")


def _other_program(path: Path) -> None:
    path.unlink()
    command(path, "CREATE TABLE note (id)")


def _newer(path: Path) -> None:
    command(path, "PRAGMA user_version = 4")


def _older(path: Path) -> None:
    command(path, "PRAGMA user_version = 0")


def _no_table(path: Path) -> None:
    command(path, "DROP TABLE note")


def _unbelievable_row(path: Path) -> None:
    command(path, "DROP TRIGGER note_no_update", "UPDATE note SET temp_k = 5000 WHERE seq = 3")


def _schema_text_that_is_none(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content.replace(b"CREATE TABLE note (", b"CREATE TABLE n\xffte (", 1))


def _middle_overwritten(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096:8192] = b"\xff" * 4096
    path.write_bytes(content)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_random_bytes, "holds no field notes"),
        (_empty, "damaged: the file is empty"),
        (_text, "holds no field notes"),
        (_other_program, "this SQLite file holds no field notes"),
        (_newer, "have schema 4, this drybox knows 3; update drybox"),
        (_older, "damaged"),
        (_no_table, "damaged"),
        (_unbelievable_row, "damaged: note .* was changed"),
        (_middle_overwritten, "damaged"),
        (_schema_text_that_is_none, "damaged"),
    ],
)
def test_a_faulty_file_is_refused_and_left_as_it_is(
    filled: NoteStore, spoil: Callable[[Path], None], said: str
) -> None:
    spoil(filled.path)
    before = filled.path.read_bytes()
    for act in (filled.read, filled.undo):
        with pytest.raises(StoreError, match=said) as fault:
            act()
        assert len(one_line(fault, filled)) < 400
    if spoil is not _unbelievable_row:
        with pytest.raises(StoreError, match=said):
            filled.add([reading()])
        assert filled.path.read_bytes() == before
    assert list(filled.path.parent.iterdir()) == [filled.path]


def test_a_file_cut_short_anywhere_is_refused(filled: NoteStore) -> None:
    whole = filled.path.read_bytes()
    lengths = sorted({*range(0, len(whole), 1024), 1, 15, 16, 99, 100, len(whole) - 1})
    assert len(lengths) > 12
    for length in lengths:
        filled.path.write_bytes(whole[:length])
        for act in (filled.read, filled.undo, lambda: filled.add([reading()])):
            with pytest.raises(StoreError):
                act()
        assert filled.path.read_bytes() == whole[:length]
    filled.path.write_bytes(whole)
    assert len(filled.read()) == 60


def test_a_folder_or_a_pipe_is_no_store(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="is not a file"):
        NoteStore(tmp_path).add([reading()])
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(StoreError, match="is not a file"):
            NoteStore(tmp_path / "pipe").read()


def test_a_journal_without_its_notes_is_not_played_into_new_ones(filled: NoteStore) -> None:
    journal = filled.path.with_name("notes.sqlite-journal")
    journal.write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" + b"\0" * 600)
    filled.path.unlink()
    with pytest.raises(StoreError, match="a journal lies here"):
        filled.add([reading()])
    assert list(filled.path.parent.iterdir()) == [journal]


def test_a_locked_store_is_waited_for_and_then_refused(
    filled: NoteStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert field_note_file.WAIT_S == 5.0
    monkeypatch.setattr(field_note_file, "WAIT_S", 0.3)
    other = sqlite3.connect(filled.path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    for act in (filled.read, filled.undo, lambda: filled.add([reading()])):
        began = time.monotonic()
        with pytest.raises(StoreError, match="another program is writing") as fault:
            act()
        assert 0.25 < time.monotonic() - began < 2.0
        one_line(fault, filled)
    other.execute("ROLLBACK")
    filled.add([reading()])
    assert len(filled.read()) == 61
    other.close()


def test_a_reader_that_stays_does_not_let_half_a_note_in(
    filled: NoteStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(field_note_file, "WAIT_S", 0.1)
    other = sqlite3.connect(filled.path, isolation_level=None)
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM note").fetchone()
    with pytest.raises(StoreError, match="another program"):
        filled.add([reading()])
    assert len(filled.read()) == 60
    other.close()
    filled.add([reading()])
    assert len(filled.read()) == 61


# Makes a store, takes away the right to write it, and goes on as a user who is not root.
UNPRIVILEGED = """
import os, sys, tempfile
from pathlib import Path
from drybox.errors import StoreError
from drybox.inputs.notes.store import Note, NoteStore
folder = Path(sys.argv[1])
store = NoteStore(folder / "notes.sqlite")
note = Note(kind="plate", at_s=1_781_435_700, timezone="UTC", temp_k=300.0)
store.add([note])
os.chmod(store.path, 0o444)
os.chmod(folder, 0o555)
if os.geteuid() == 0:
    os.setgroups([])
    os.setuid(65534)
print(len(store.read()))
for target in (store, NoteStore(folder / "new.sqlite")):
    try:
        target.add([note])
    except StoreError as fault:
        print(fault)
"""


@pytest.mark.skipif(os.name != "posix", reason="rights as on POSIX")
def test_a_read_only_store_is_read_and_not_written() -> None:
    with tempfile.TemporaryDirectory() as name:  # any user may enter it, unlike tmp_path
        folder = Path(name)
        folder.chmod(0o755)
        done = subprocess.run(
            [sys.executable, "-c", UNPRIVILEGED, name], capture_output=True, text=True
        )
        folder.chmod(0o755)
        count, read_only, not_made = done.stdout.splitlines()
        assert count == "1", done.stderr
        assert read_only.startswith("the field notes are read-only; nothing was added")
        assert not_made.startswith("the field notes cannot be")
        assert [path.name for path in folder.iterdir()] == ["notes.sqlite"]


def test_what_a_dead_maker_left_is_swept(store: NoteStore) -> None:
    left = store.path.with_name(".notes.sqlite.4711.new")
    left.write_bytes(b"half")
    os.utime(left, (time.time() - 600, time.time() - 600))
    young = store.path.with_name(".notes.sqlite.4712.new")
    young.write_bytes(b"half")
    store.add([reading()])
    assert sorted(store.path.parent.iterdir()) == [young, store.path]


def test_a_store_is_made_where_there_are_no_hard_links(
    store: NoteStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", refuse)
    store.add([reading()])
    NoteFile(store.path).create()  # by a writer that saw no file a moment ago
    assert len(store.read()) == 1
    assert list(store.path.parent.iterdir()) == [store.path]


def test_notes_load_nothing_heavy() -> None:
    script = "import sys\nfrom drybox.inputs.notes import csv_file, phrases, store\n"
    script += "print([name for name in ('numpy', 'pandas') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stdout.strip() == "[]", done.stderr


def test_a_byte_changed_in_a_row_is_seen(filled: NoteStore) -> None:
    """What stays believable but is not what was written: only its checksum tells."""
    change = "UPDATE note SET temp_k = temp_k + 1e-6 WHERE seq = 1"
    command(filled.path, "DROP TRIGGER note_no_update", change)
    with pytest.raises(StoreError, match=r"damaged: note .* was changed; copy the file aside"):
        filled.read()


def test_another_writer_s_journal_is_not_taken_for_a_stray_one(store: NoteStore) -> None:
    path = store.path
    (note,) = store.add([reading()]).notes
    with NoteFile(path).writing() as connection:
        connection.execute("CREATE TABLE later (word TEXT)")
        assert path.with_name("notes.sqlite-journal").exists()
        NoteFile(path).create()  # by a writer that saw no file a moment ago
    assert store.read() == [note]
    assert list(path.parent.iterdir()) == [path]


def test_the_first_note_goes_into_a_store_made_but_still_empty(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "notes.sqlite"
    NoteFile(path).create()  # its writer was stopped before the first note
    monkeypatch.setenv("DRYBOX_NOTES", str(path))
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    assert main(["note", "plate", "46C"]) == 0
    assert [note.timezone for note in NoteStore(path).read()] == ["Asia/Tokyo"]


def test_a_data_folder_that_cannot_be_made_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").write_text("a file where the folder should be", encoding="utf-8")
    monkeypatch.delenv("DRYBOX_NOTES")
    monkeypatch.setattr(
        "platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data/drybox")
    )
    with pytest.raises(StoreError, match="the field notes cannot be made: ") as caught:
        NoteStore().add([reading()])
    assert "\n" not in str(caught.value)
