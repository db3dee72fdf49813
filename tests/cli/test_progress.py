from __future__ import annotations

import io
import sys
import time

import pytest

from drybox.cli import progress
from drybox.cli.progress import working


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def on_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Put a terminal in place of standard error (not a fixture: capture resets it in between)."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "PATIENCE_S", 0.05)
    return stream


def wait_for(stream: Terminal, text: str) -> None:
    end = time.monotonic() + 10
    while text not in stream.getvalue():
        assert time.monotonic() < end, stream.getvalue()
        time.sleep(0.02)


def test_work_that_lasts_shows_a_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = on_terminal(monkeypatch)
    with working("Drying", 4) as tick:
        tick()
        wait_for(terminal, "Drying")
        tick()
        wait_for(terminal, "50%")


def test_quick_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = on_terminal(monkeypatch)
    monkeypatch.setattr(progress, "PATIENCE_S", 30.0)
    with working("Drying", 4) as tick:
        tick()
    assert terminal.getvalue() == ""


def test_a_pipe_sees_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(progress, "PATIENCE_S", 0.0)
    with working("Drying") as tick:
        tick()
        time.sleep(0.1)
    assert stream.getvalue() == ""


def test_a_dumb_terminal_sees_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = on_terminal(monkeypatch)
    monkeypatch.setenv("TERM", "dumb")
    with working("Drying"):
        time.sleep(0.1)
    assert terminal.getvalue() == ""


def test_a_fault_within_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = on_terminal(monkeypatch)
    with pytest.raises(ValueError, match="broken"), working("Drying"):
        raise ValueError("broken")
    assert terminal.getvalue() == ""
