"""What the shared options show in the help of each command, and what they leave out."""

from __future__ import annotations

import pytest

from tests.running import DEMO, ran, said

IDLE = [
    *[("check", option) for option in ("--at", "--series", "--seed", "--force", "--why")],
    *[("wash", option) for option in ("--at", "--uncalibrated")],
    *[("baths", option) for option in ("--at", "--series")],
    *[("season", option) for option in ("--at", "--series")],
    *[("plan", "--at"), ("setout", "--at"), ("calibrate", "--at")],
]


@pytest.mark.parametrize(("command", "option"), IDLE)
def test_what_would_do_nothing_is_not_in_the_help(command: str, option: str) -> None:
    assert f"  {option}" not in said(command, "--help")


def test_what_does_something_is_in_the_help() -> None:
    assert "  --at HH:MM" in said("aim", "--help")
    assert "  --series FILE.csv" in said("wash", "--help")
    assert "  --why" in said("wash", "--help")


def test_what_is_left_out_of_the_help_is_still_refused_with_a_reason() -> None:
    status, _, error = ran("season", DEMO, "--at", "13:20")
    assert status == 2
    assert "a season has no single time" in error


@pytest.mark.parametrize("command", ["aim", "wash", "baths"])
def test_two_lines_say_what_an_answer_stands_on_and_why_says_all(command: str) -> None:
    short, whole = said(command, DEMO), said(command, DEMO, "--why")
    assert short.endswith("All of it, in full: add --why.\n")
    assert len(short.split("What this stands on\n")[1].splitlines()) == 3
    assert "add --why" not in whole
    assert len(whole) > len(short)
