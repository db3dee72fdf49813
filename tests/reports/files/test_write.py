from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from drybox.errors import StoreError
from drybox.reports.files import write as files
from drybox.reports.files.write import check_file_name, write_file


def test_a_file_is_written_as_utf_8_with_its_line_ends(tmp_path: Path) -> None:
    path = write_file(tmp_path / "day ü.ics", "Köln\r\n")
    assert path.read_bytes() == "Köln\r\n".encode()
    assert [p.name for p in tmp_path.iterdir()] == ["day ü.ics"]


def test_the_file_has_the_rights_that_the_user_asked_for(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        path = write_file(tmp_path / "day.html", "x")
    finally:
        os.umask(old)
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_file_that_is_there_is_kept_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "day.html"
    path.write_text("old")
    with pytest.raises(StoreError, match="exists; choose another name or add --force"):
        write_file(path, "new")
    assert path.read_text() == "old"
    write_file(path, "new", force=True)
    assert path.read_text() == "new"


def test_what_was_read_is_never_replaced(tmp_path: Path) -> None:
    event = tmp_path / "event.toml"
    event.write_text("mine")
    (tmp_path / "link.toml").symlink_to(event)
    with pytest.raises(StoreError, match="also read"):
        write_file(tmp_path / "link.toml", "x", force=True, never=[event])
    assert event.read_text() == "mine"


@pytest.mark.parametrize(
    "name",
    [
        *("con.html", "NUL", "com1.csv", "LPT9.day.csv", "aux .html", "a:b.html", "day.html."),
        *("day ", "what?.html", "a*b", "tab\tname", "x" * 256, "ü" * 128),
    ],
)
def test_names_that_do_not_travel_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(StoreError, match="choose another name"):
        write_file(tmp_path / name, "x")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", [".", "/"])
def test_a_folder_for_a_file_is_called_so(name: str) -> None:
    with pytest.raises(StoreError, match="names a folder; choose another name"):
        write_file(name, "x")


@pytest.mark.parametrize(
    "name", ["console.html", "day 1 – Köln.html", ".hidden", "com10.csv", "x" * 255]
)
def test_other_names_pass(name: str) -> None:
    check_file_name(Path(name))


def test_a_device_a_folder_and_a_pipe_are_refused_even_by_force(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (Path("/dev/full"), Path("/dev/null"), tmp_path, tmp_path / "pipe"):
        with pytest.raises(StoreError, match="not a regular file"):
            write_file(path, "x", force=True)
    assert Path("/dev/null").is_char_device()


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"cannot write .*nowhere.*: No such file"):
        write_file(tmp_path / "nowhere" / "day.html", "x")


def test_a_link_in_a_loop_is_an_error_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(StoreError):
        write_file(tmp_path / "a", "x", force=True)


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize(
    "error", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()]
)
def test_a_failure_at_any_step_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    def fail(*args: object) -> None:
        raise error

    path = tmp_path / "day.html"
    path.write_text("old")
    monkeypatch.setattr(*((files.os, "fsync") if step == "fsync" else (Path, "replace")), fail)
    with pytest.raises((StoreError, KeyboardInterrupt)):
        write_file(path, "new", force=True)
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
