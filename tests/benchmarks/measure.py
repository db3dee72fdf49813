"""Time and memory of whole processes and of calls: what the benchmarks share."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from typing import NamedTuple


class Spent(NamedTuple):
    """What a process took."""

    wall_s: float
    processor_s: float
    peak_mb: float


def say(text: str) -> None:
    print(f"\n    {text}", flush=True)


def fastest_s(work: Callable[[], object], clock: Callable[[], float], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        begin = clock()
        work()
        spent.append(clock() - begin)
    return min(spent)


_LAUNCH = """
import json, os, sys, time
nothing = os.open(os.devnull, os.O_WRONLY)
quiet = [(os.POSIX_SPAWN_DUP2, nothing, 1), (os.POSIX_SPAWN_DUP2, nothing, 2)]
begin = time.perf_counter()
pid = os.posix_spawn(
    sys.executable, [sys.executable, *sys.argv[1:]], os.environ, file_actions=quiet
)
_, code, usage = os.wait4(pid, 0)
wall = time.perf_counter() - begin
processor = usage.ru_utime + usage.ru_stime
print(json.dumps([os.waitstatus_to_exitcode(code), wall, processor, usage.ru_maxrss / 1024]))
"""
"""A small process between: the system counts the memory of whoever starts one as its own."""


def ran(args: Sequence[str], environment: dict[str, str] | None = None, status: int = 0) -> Spent:
    """Run Python with some arguments, its compiled files kept as on an installed system."""
    left_out = ("OPENBLAS_", "PYTHONDONTWRITEBYTECODE")
    plain = {name: value for name, value in os.environ.items() if not name.startswith(left_out)}
    done = subprocess.run(
        [sys.executable, "-S", "-c", _LAUNCH, *args],
        env=plain | (environment or {}),
        capture_output=True,
        check=True,
    )
    code, *spent = json.loads(done.stdout)
    assert code == status, f"{args} ended with {code}"
    return Spent(*spent)


def best(runs: list[Spent]) -> Spent:
    """Return the least of each."""
    return Spent(*(min(part) for part in zip(*runs, strict=True)))
