"""A store that another writer makes, or has only just made, at the same moment."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from drybox.cli import main
from drybox.errors import StoreError
from drybox.inputs.notes.database import NoteFile
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore


def test_another_writer_s_journal_is_not_taken_for_a_stray_one(tmp_path: Path) -> None:
    path = tmp_path / "notes.sqlite"
    store = NoteStore(path)
    store.add([Note(kind="laid", at_s=1_781_435_700, timezone="UTC", ticket="7")])
    with NoteFile(path).writing() as connection:
        connection.execute("CREATE TABLE later (word TEXT)")
        assert path.with_name("notes.sqlite-journal").exists()
        NoteFile(path).create()  # by a writer that saw no file a moment ago
    assert [note.ticket for note in store.read()] == ["7"]
    assert list(tmp_path.iterdir()) == [path]


def test_the_first_note_goes_into_a_store_made_but_still_empty(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "notes.sqlite"
    NoteFile(path).create()  # its writer was stopped before the first note
    monkeypatch.setenv("DRYBOX_NOTES", str(path))
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    assert main(["note", "plate", "46C"]) == 0
    assert [note.timezone for note in NoteStore(path).read()] == ["Asia/Tokyo"]


def test_without_hard_links_a_store_that_has_come_meanwhile_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "no links on this disk")

    path = tmp_path / "notes.sqlite"
    store = NoteStore(path)
    store.add([Note(kind="laid", at_s=1_781_435_700, timezone="UTC", ticket="7")])
    monkeypatch.setattr(os, "link", refuse)
    NoteFile(path).create()
    assert [note.ticket for note in store.read()] == ["7"]
    assert list(tmp_path.iterdir()) == [path]


def test_a_data_folder_that_cannot_be_made_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").write_text("a file where the folder should be", encoding="utf-8")
    monkeypatch.delenv("DRYBOX_NOTES")
    monkeypatch.setattr(
        "platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data/drybox")
    )
    with pytest.raises(StoreError, match="the field notes cannot be made: ") as caught:
        NoteStore().add([Note(kind="laid", at_s=1_781_435_700, timezone="UTC", ticket="7")])
    assert "\n" not in str(caught.value)
