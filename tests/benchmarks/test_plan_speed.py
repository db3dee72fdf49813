"""How fast a day of sixty sitters is planned, as a ratio; nothing is asserted on time.

Run with ``pytest -m benchmark -s tests/benchmarks``. What was reached stands in DEVELOPERS.md.
"""

from __future__ import annotations

import time

import pytest

from drybox.inputs.event import load_event
from drybox.planning.event_day import plan_day
from tests.benchmarks.test_season_speed import process_s, say
from tests.running import DEMO

pytestmark = pytest.mark.benchmark

SITTERS = ("--every", "8 min")
"""Sixty in the demo's eight hours."""


def test_a_day_of_sixty_sitters_against_importing_pvlib() -> None:
    alone = process_s("-c", "import pvlib")
    for what, more in (("plan", ()), ("plan without what-if", ("--no-what-if",))):
        whole = process_s("-m", "drybox", "plan", DEMO, *SITTERS, *more, "--format", "json")
        say(
            f"{what}, 60 sitters, 200 members: {whole[0]:.2f} s (processor {whole[1]:.2f} s) "
            f"against import pvlib {alone[0]:.2f} s ({alone[1]:.2f} s): "
            f"{whole[0] / alone[0]:.1f} times, {whole[1] / alone[1]:.1f} by processor, aim 1.6"
        )


def test_what_the_time_goes_into() -> None:
    begin = time.process_time()
    told = load_event(DEMO, {"event.every": "8 min"})
    read = time.process_time()
    plan = plan_day(told, what_if=False)
    planned = time.process_time()
    say(f"reading {read - begin:.2f} s, planning {planned - read:.2f} s, nothing imported")
    assert len(plan.tickets) > 25
