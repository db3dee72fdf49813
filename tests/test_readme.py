"""README's printed examples are what the commands print, and its commands are real."""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

import pytest

from drybox.inputs.event.event import load_event
from tests.running import DEMO, said

README = Path(__file__).resolve().parents[1] / "README.md"
EXAMPLE = re.compile(r"(<!-- example: drybox (.*?) -->\n```text\n)(.*?)(```\n)", re.DOTALL)
EXAMPLES = [match[2] for match in EXAMPLE.finditer(README.read_text("utf-8"))]


def printed(command: str) -> str:
    words = [DEMO if word == "data/demo/fair.toml" else word for word in shlex.split(command)]
    return "\n".join(line.rstrip() for line in said(*words).splitlines()) + "\n"


@pytest.mark.parametrize("command", EXAMPLES)
def test_regression_the_example_is_what_the_command_prints(command: str) -> None:
    """Run with ``DRYBOX_GOLDEN=1`` to write the examples anew."""
    text = README.read_text("utf-8")
    if os.environ.get("DRYBOX_GOLDEN"):

        def anew(match: re.Match[str]) -> str:
            return match[1] + printed(command) + match[4] if match[2] == command else match[0]

        text = EXAMPLE.sub(anew, text)
        README.write_text(text, "utf-8")
    shown = {match[2]: match[3] for match in EXAMPLE.finditer(text)}
    assert shown[command] == printed(command)


def test_there_is_an_example() -> None:
    assert EXAMPLES


def test_the_first_command_ends_in_the_demo_that_is_shipped() -> None:
    first = re.search(r"```sh\n(.*?)\n```", README.read_text("utf-8"), re.DOTALL)
    assert first
    assert first[1].endswith("drybox day data/demo/fair.toml")
    assert load_event(DEMO).name
