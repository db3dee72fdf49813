"""The file of the field notes failing: after so many instructions, or on a full disk."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

from drybox.errors import StoreError
from drybox.inputs.notes import database


@contextlib.contextmanager
def _every(change: Callable[[sqlite3.Connection], object]) -> Iterator[None]:
    connect = database._connect

    def changed(path: Path, mode: str = "rw") -> sqlite3.Connection:
        connection = connect(path, mode)
        change(connection)
        return connection

    with mock.patch.object(database, "_connect", changed):
        yield


def done_within(instructions: int, act: Callable[[], object]) -> bool:
    """Return whether an act ends well where SQLite is stopped after so many instructions."""
    left = [instructions]

    def run_down() -> int:
        left[0] -= 1
        return int(left[0] <= 0)

    try:
        with _every(lambda connection: connection.set_progress_handler(run_down, 1)):
            act()
    except StoreError:
        return False
    return True


def on_a_full_disk() -> contextlib.AbstractContextManager[None]:
    """Return a context in which SQLite keeps what is there already and finds no more room."""
    return _every(lambda connection: connection.execute("PRAGMA max_page_count = 1"))
