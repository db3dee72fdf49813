"""The field notes store when it is stopped: old or new, never a mixture, never lost."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import IO

import pytest

from drybox.errors import StoreError
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore
from tests.inputs.notes.failing import done_within, on_a_full_disk

NOW_S = 1_781_435_700
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="forks and POSIX limits")

# Adds pairs of notes one after the other and says which were kept.
WRITER = """
import sys
from pathlib import Path
from drybox.inputs.notes.store import Note, NoteStore
store, name = NoteStore(Path(sys.argv[1])), sys.argv[2]
for number in range(int(sys.argv[3])):
    about = dict(at_s=1_781_435_700, timezone="UTC", ticket=f"{name}-{number}", remark="x" * 900)
    store.add([Note(kind="laid", **about), Note(kind="dry", **about)])
    print(f"{name}-{number}", flush=True)
"""


def pair(number: int) -> list[Note]:
    return [
        Note(kind=kind, at_s=NOW_S, timezone="UTC", ticket=str(number), remark="x" * 900)
        for kind in ("laid", "dry")
    ]


def whole_pairs(store: NoteStore) -> set[str]:
    """Return the tickets in the store; every one must be there as a pair."""
    notes = store.read()
    laid, dry = ({n.ticket for n in notes if n.kind == kind} for kind in ("laid", "dry"))
    assert laid == dry
    assert len(notes) == 2 * len(laid)
    return laid


def start(path: Path, name: str, count: int, out: IO[str] | int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(count)],
        stdout=out,
        stderr=subprocess.PIPE,
        text=True,
    )


def kill_writers(folder: Path, kills: int, seed: int) -> int:
    """Kill a writer at random instants; return how many kills came while it was writing."""
    chance = random.Random(seed)
    store, kept, during = NoteStore(folder / "notes.sqlite"), set[str](), 0
    for round_number in range(kills):
        if round_number % 50 == 0:  # the making of the file is killed too
            store.path.unlink(missing_ok=True)
            store.path.with_name("notes.sqlite-journal").unlink(missing_ok=True)
            kept = set()
        said = folder / "said.txt"  # a pipe's reader could hold lines back
        with said.open("w") as stream:
            writer = start(store.path, f"r{round_number}", 10_000, stream)
        if chance.random() < 0.8 and round_number % 50:
            while not said.stat().st_size and writer.poll() is None:
                time.sleep(0.001)
            time.sleep(chance.uniform(0, 0.012))
        else:
            time.sleep(chance.uniform(0.03, 0.25))
        writer.send_signal(signal.SIGKILL)
        _, fault = writer.communicate()
        assert writer.returncode == -signal.SIGKILL, fault
        lines = said.read_text().splitlines(keepends=True)
        kept |= {line.strip() for line in lines if line.endswith("\n")}
        if store.exists():
            during += store.path.with_name("notes.sqlite-journal").exists()
            there = whole_pairs(store)
            assert kept <= there, "a note that was said to be kept is gone"
            assert len(there - kept) <= 1, "more was kept than was said"
            kept = there
        else:
            assert not kept
    return during


@needs_fork
def test_ten_kills_leave_old_or_new(tmp_path: Path) -> None:
    kill_writers(tmp_path, 10, seed=1)


@pytest.mark.slow
@needs_fork
def test_five_hundred_kills_leave_old_or_new(tmp_path: Path) -> None:
    assert kill_writers(tmp_path, 500, seed=2) > 10  # so many left a journal to roll back


def test_stopped_at_any_instruction_the_store_is_old_or_new(tmp_path: Path) -> None:
    store = NoteStore(tmp_path / "notes.sqlite")
    store.add(pair(0))
    for allowed in range(1, 5000):
        said_kept = done_within(allowed, lambda: store.add(pair(1)))
        there = whole_pairs(store)
        assert there == {"0", "1"} if said_kept else there in ({"0"}, {"0", "1"})
        if "1" in there:
            break
    assert allowed > 50
    assert there == {"0", "1"}


def test_a_full_disk_adds_nothing(tmp_path: Path) -> None:
    store = NoteStore(tmp_path / "notes.sqlite")
    store.add(pair(0))
    with on_a_full_disk(), pytest.raises(StoreError, match="the disk is full; make room"):
        store.add([note for number in range(1, 20) for note in pair(number)])
    assert whole_pairs(store) == {"0"}


# Forks a child for each limit; the child fails or dies at the first write beyond it.
LIMITED = """
import os, resource, signal, sys
from pathlib import Path
from drybox.errors import StoreError
from drybox.inputs.notes.store import Note, NoteStore
store, deadly, first = NoteStore(Path(sys.argv[1])), sys.argv[2] == "die", sys.argv[3] == "first"

def notes(tag, count):
    about = dict(at_s=1_781_435_700, timezone="UTC", remark="x" * 900)
    return [Note(kind="dry", ticket=f"{tag}{number}", **about) for number in range(count)]

if not first:
    store.add(notes("old", 12))
old = len(store.read()) if store.exists() else 0
outcomes = []
for limit in range(0, 200_000, 700):
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL if deadly else signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        try:
            store.add(notes("new", 12))
        except StoreError as fault:
            os._exit(4 if "\\n" not in str(fault) else 1)
        except BaseException:
            os._exit(1)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    outcomes.append(code)
    now = len(store.read()) if store.exists() else 0
    assert code in (0, 4, -signal.SIGXFSZ), code
    assert now == (old + 12 if code == 0 else old), (limit, code, now)
    if code == 0:
        break
print(len(outcomes), sorted(set(outcomes)))
"""


@needs_fork
@pytest.mark.parametrize("way", ["fail", "die"])
@pytest.mark.parametrize("when", ["first", "later"])
def test_failing_or_dying_at_any_written_byte_leaves_old_or_new(
    tmp_path: Path, way: str, when: str
) -> None:
    path = tmp_path / "notes.sqlite"
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path), way, when], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    count, outcomes = done.stdout.split(" ", 1)
    assert int(count) > 20
    assert outcomes.strip() == ("[0, 4]" if way == "fail" else f"[-{int(signal.SIGXFSZ)}, 0]")


def test_two_writers_lose_nothing_even_making_the_file(tmp_path: Path) -> None:
    for attempt in range(3):
        path = tmp_path / f"notes{attempt}.sqlite"
        writers = [start(path, name, 25, subprocess.DEVNULL) for name in ("a", "b", "c")]
        for writer in writers:
            _, said = writer.communicate()
            assert writer.returncode == 0, said
        assert len(whole_pairs(NoteStore(path))) == 75


def test_a_writer_interrupted_by_the_keyboard_adds_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = NoteStore(tmp_path / "notes.sqlite")
    store.add(pair(0))
    insert = NoteStore._insert

    def interrupted(self: NoteStore, connection: sqlite3.Connection, notes: list[Note]) -> None:
        insert(self, connection, notes)
        raise KeyboardInterrupt

    monkeypatch.setattr(NoteStore, "_insert", interrupted)
    with pytest.raises(KeyboardInterrupt):
        store.add(pair(1))
    monkeypatch.undo()
    assert whole_pairs(store) == {"0"}
    assert list(tmp_path.iterdir()) == [store.path]
