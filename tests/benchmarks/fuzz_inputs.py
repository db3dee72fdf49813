"""Let coverage look for inputs that break the command line; not run by pytest.

atheris is no dependency of the tests: it needs a compiler's runtime and leads the search by
watching which branches an input reaches. Install it beside drybox and run, for one kind of input
and so many seconds::

    pip install atheris
    python tests/benchmarks/fuzz_inputs.py forecast 300
    python tests/benchmarks/fuzz_inputs.py all 60          # each kind for a minute

Kinds: event, values, forecast, note, options. An input that gives a traceback, a wrong status, more
than one line, NaN, a file harmed or five seconds of work ends the run with what it was; without
atheris the same inputs are drawn at random, which finds less. The end is status 0 and a count.
"""

from __future__ import annotations

import contextlib
import os
import random
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

try:
    import atheris
except ImportError:
    atheris = None

with atheris.instrument_imports(include=["drybox"]) if atheris else contextlib.nullcontext():
    import drybox.inputs.event.event
    import drybox.inputs.forecast.csv_file
    import drybox.inputs.notes.store
    import drybox.inputs.years.typical  # noqa: F401
    from tests.cli import fuzzing

COMMANDS = ("check", "wash", "baths", "explain")
HEAD = b"time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas\n"
LONGEST_BYTES = 400
SEED = 1


class Draw:
    """Values taken from the bytes of one input."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.at = 0

    def number(self, below: int) -> int:
        """Return a number from 0 up to ``below``."""
        taken = self.data[self.at : self.at + 2]
        self.at += 2
        return int.from_bytes(taken, "big") % below

    def text(self, pool: Sequence[str]) -> str:
        """Return a text of the pool, or one of free bytes."""
        choice = self.number(len(pool) + len(pool) // 4)
        if choice < len(pool):
            return pool[choice]
        length = self.number(24)
        self.at += length
        return self.data[self.at - length : self.at].decode("utf-8", "ignore").replace("\0", "")

    def texts(self, pool: Sequence[str], most: int) -> list[str]:
        """Return some texts."""
        return [self.text(pool) for _ in range(self.number(most + 1))]


def _values(data: bytes) -> str:
    draw = Draw(data)
    told: dict[str, object] = {}
    for _ in range(1 + draw.number(3)):
        key = fuzzing.KEYS[draw.number(len(fuzzing.KEYS))]
        unit = draw.text(fuzzing.UNITS)
        quantity = f"{draw.text(fuzzing.NUMBERS)} {unit}"
        told[key] = (draw.text(fuzzing.WORDS), quantity, draw.number(1000), [quantity])[
            draw.number(4)
        ]
    return fuzzing.event_fault(fuzzing.event_of(told).encode("utf-8"))


def _forecast(data: bytes) -> str:
    draw = Draw(data)
    if draw.number(4) == 0:
        return fuzzing.forecast_fault(HEAD + data[2:])
    mark = ",;\t"[draw.number(3)]
    rows = [draw.texts(fuzzing.CELLS, 7) for _ in range(1 + draw.number(5))]
    return fuzzing.forecast_fault("\n".join(map(mark.join, rows)).encode("utf-8"))


def _options(data: bytes) -> str:
    draw = Draw(data)
    command = COMMANDS[draw.number(len(COMMANDS))]
    return fuzzing.option_fault(command, draw.texts((*fuzzing.ASKED, *fuzzing.WORDS), 6))


KINDS: dict[str, Callable[[bytes], str]] = {
    "event": fuzzing.event_fault,
    "values": _values,
    "forecast": _forecast,
    "note": lambda data: fuzzing.note_fault(Draw(data).texts(fuzzing.NOTED, 6)),
    "options": _options,
}
DONE = [0]


def look_at(kind: str, data: bytes) -> None:
    """Put one input to the command line; end the run if the answer is not a decent one."""
    DONE[0] += 1
    fault = KINDS[kind](data)
    if fault:
        raise AssertionError(f"{kind} {data!r}: {fault}")


def by_chance(kind: str, seconds: float) -> None:
    """Draw inputs at random."""
    chance = random.Random(SEED)
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        look_at(kind, chance.randbytes(chance.randrange(LONGEST_BYTES)))
    print(f"{kind}: {DONE[0]} inputs by chance in {seconds:g} s, none broke the command line")


def led(kind: str, seconds: float) -> None:
    """Let atheris lead, in this process; it ends the process itself."""
    flags = [f"-max_total_time={seconds:g}", f"-max_len={LONGEST_BYTES}", f"-seed={SEED}"]
    flags += ["-print_final_stats=1", f"-exact_artifact_path={os.devnull}"]
    fuzzer: Any = atheris
    fuzzer.Setup([sys.argv[0], *flags, "-verbosity=0"], lambda data: look_at(kind, data))
    fuzzer.Fuzz()


def main() -> None:
    """Run one kind, or each in a process of its own."""
    kind, seconds = (*sys.argv[1:], "all", "60")[:2] if len(sys.argv) != 2 else (sys.argv[1], "60")
    if kind == "all":
        for name in KINDS:
            subprocess.run([sys.executable, __file__, name, seconds], check=True)
    elif kind not in KINDS:
        sys.exit(f"'{kind}' is no kind; choose one of: all, {', '.join(KINDS)}")
    elif atheris is None:
        by_chance(kind, float(seconds))
    else:
        led(kind, float(seconds))


if __name__ == "__main__":
    main()
