"""A bar for work that lasts: on a terminal only, on standard error, and after a second."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

PATIENCE_S = 1.0


def _watched() -> bool:
    """Tell whether somebody can see a bar."""
    return (
        sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM", "dumb") != "dumb"
    )


@contextmanager
def working(what: str, steps: int | None = None) -> Iterator[Callable[[], None]]:
    """Show a bar while the work within goes on, if it lasts longer than `PATIENCE_S`.

    The function given is to be called after each of the ``steps``; without them the bar only moves
    to and fro.
    """
    if not _watched():
        yield lambda: None
        return
    bar = _Bar(what, steps)
    timer = threading.Timer(PATIENCE_S, bar.show)
    timer.daemon = True
    timer.start()
    try:
        yield bar.step
    finally:
        timer.cancel()
        bar.close()


class _Bar:
    def __init__(self, what: str, steps: int | None) -> None:
        self.what, self.steps, self.done = what, steps, 0
        self.closed = False
        self.lock = threading.Lock()
        self.progress: Progress | None = None

    def show(self) -> None:
        from rich.console import Console
        from rich.progress import Progress

        with self.lock:
            if self.closed:
                return
            self.progress = Progress(console=Console(stderr=True), transient=True)
            self.progress.add_task(self.what, total=self.steps, completed=self.done)
            self.progress.start()

    def step(self) -> None:
        with self.lock:
            self.done += 1
            if self.progress is not None:
                self.progress.update(self.progress.task_ids[0], completed=self.done)

    def close(self) -> None:
        with self.lock:
            self.closed = True
            if self.progress is not None:
                self.progress.stop()
