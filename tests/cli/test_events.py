"""Sixteen invented events, from the tropics to polar summer: the first ten lines of each answer.

They were read as by a photographer and are kept, so that a change of any word or number is seen;
and what one command says of a day, the others must not deny.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.running import golden, ran, record

EVENTS = sorted((Path(__file__).parents[1] / "events").glob("*.toml"))
FIRST_LINES = 10
COMMANDS = ("aim", "setout", "dry", "plan")

pytestmark = pytest.mark.slow


def asked(event: Path, command: str) -> tuple[str, ...]:
    at = () if command != "dry" else ("--at", "21:00" if event.stem == "midnight" else "13:00")
    units = ("--units", "us") if event.stem == "us_units" else ()
    return (command, str(event), *at, *units)


@cache
def answered(event: Path, command: str) -> tuple[int, str]:
    """Return the exit status and what was said, on either stream."""
    status, out, err = ran(*asked(event, command))
    return status, out + err


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.stem)
def test_regression_the_first_lines(event: Path) -> None:
    parts = []
    for command in COMMANDS:
        status, text = answered(event, command)
        assert status == (3 if text.startswith("drybox: ") else 0), text
        first = "\n".join(text.splitlines()[:FIRST_LINES])
        parts.append(f"$ drybox {command} {event.name}\n{first}\n")
    golden(f"events/{event.stem}", "\n".join(parts))


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.stem)
def test_no_command_denies_what_another_says(event: Path) -> None:
    dry, plan = (record(*asked(event, one))["result"] for one in ("dry", "plan"))
    (plate,) = (way for way in dry["ways"] if way["way"] == "sun_plate")
    on_plate = [sitter for sitter in plan["sitters"] if sitter["way"] == "sun_plate"]
    (aim_status, why), (out_status, out_why) = (answered(event, one) for one in ("aim", "setout"))
    assert aim_status == out_status
    if aim_status == 3:
        assert why == out_why
        assert why.removeprefix("drybox: ").partition(";")[0] in plate["why"]
        assert not on_plate
        assert plan["metal_temp_c"] is plan["wind"] is None
        return
    aim, out = (record(*asked(event, one))["result"] for one in ("aim", "setout"))
    assert aim["metal_temp_c"] == out["metal_temp_c"] == plan["metal_temp_c"]
    assert aim["wind"] == out["wind"] == plan["wind"]
    dry_there = [sitter for sitter in on_plate if sitter["hand_over"] == "dry"]
    assert not dry_there or out["set_out_at"] is not None
