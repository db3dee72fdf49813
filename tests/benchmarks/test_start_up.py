"""How long whole commands take against importing what they stand on; no time is asserted.

Run with ``pytest -m benchmark -s tests/benchmarks``: every ratio comes from runs of both that take
turns. What was reached stands in tests/records/speed.md. Linux and macOS: it reads what the system
counted.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.benchmarks.measure import Spent, best, ran, say
from tests.running import DEMO

pytestmark = pytest.mark.benchmark

ROUNDS = 7


class Case(NamedTuple):
    """A command, what it is measured against, and the ratio aimed at."""

    args: tuple[str, ...]
    against: str
    aim: float
    status: int = 0
    environment: tuple[tuple[str, str], ...] = ()


SIXTY = ("plan", DEMO, "--every", "8 min")
SHEET = ("plan", DEMO, "--sheet", "day.html", "--force")
NUMPY = (("DRYBOX_ENGINE", "numpy"),)
CASES = {
    "help": Case(("--help",), "click", 1.2),
    "completion": Case((), "click", 1.5, environment=(("_DRYBOX_COMPLETE", "bash_source"),)),
    "completing a command": Case(
        (),
        "click",
        1.5,
        environment=(
            ("_DRYBOX_COMPLETE", "bash_complete"),
            ("COMP_WORDS", "drybox pl"),
            ("COMP_CWORD", "1"),
        ),
    ),
    "an error": Case(("aim", "--latitude", "95"), "click", 1.5, status=2),
    "note": Case(("note", "plate", "46C", "--at", "2026-06-12T13:15"), "click", 2.0),
    "plan": Case(("plan", DEMO), "pvlib", 1.6),
    "plan, sixty sitters": Case(SIXTY, "pvlib", 1.6),
    "plan, sixty sitters, numpy step": Case(SIXTY, "pvlib", 2.1, environment=NUMPY),
    "plan --sheet": Case(SHEET, "pvlib", 2.3),
    "plan --sheet, numpy step": Case(SHEET, "pvlib", 3.5, environment=NUMPY),
    "dry": Case(("dry", DEMO), "pvlib", 1.6),
    "dry, numpy step": Case(("dry", DEMO), "pvlib", 2.3, environment=NUMPY),
    "day": Case(("day", DEMO), "pvlib", 1.6),
    "setout": Case(("setout", DEMO), "pvlib", 1.5),
    "setout, numpy step": Case(("setout", DEMO), "pvlib", 2.2, environment=NUMPY),
}


@pytest.mark.parametrize("name", CASES)
def test_a_command_against_an_import(
    name: str, benchmark: BenchmarkFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = CASES[name]
    monkeypatch.chdir(tmp_path)
    root = str(Path(__file__).parents[2])
    around = {"PYTHONPYCACHEPREFIX": str(tmp_path / "compiled"), "PYTHONPATH": root}
    rounds = ROUNDS if case.against == "click" else 3
    alone: list[Spent] = []
    whole: list[Spent] = []

    def take_turns() -> None:
        alone.append(ran(["-c", f"import {case.against}"], around))

    def command() -> None:
        own = around | dict(case.environment)
        whole.append(ran(["-m", "drybox", *case.args], own, case.status))

    benchmark.pedantic(  # type: ignore[no-untyped-call]
        command, setup=take_turns, rounds=rounds, warmup_rounds=1
    )
    base, own = best(alone[1:]), best(whole[1:])
    ratio = own.processor_s / base.processor_s
    benchmark.extra_info |= {"against": case.against, "ratio": round(ratio, 2)}
    say(
        f"{name}: {own.processor_s:.3f} s of processor, {own.peak_mb:.0f} MB, against import "
        f"{case.against} {base.processor_s:.3f} s, {base.peak_mb:.0f} MB: {ratio:.2f} times "
        f"(aim {case.aim}), memory {own.peak_mb / base.peak_mb:.2f} times (aim 2)"
    )


def test_ten_times_the_members_against_the_usual_ones() -> None:
    few, many = (
        ran(["-m", "drybox", "plan", DEMO, "--members", str(members)]) for members in (200, 2000)
    )
    say(
        f"plan of 2,000 members: {many.processor_s:.1f} s of processor, {many.peak_mb:.0f} MB, "
        f"against 200 {few.processor_s:.1f} s, {few.peak_mb:.0f} MB: "
        f"{many.processor_s / few.processor_s:.1f} times (aim 3)"
    )
