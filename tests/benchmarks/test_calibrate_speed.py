"""How long `drybox calibrate` takes as notes grow, against an import; no time is asserted.

Run with ``pytest -m benchmark -s tests/benchmarks/test_calibrate_speed.py``. Notes are those of an
invented box, some 17 a day; ten true days are moved to other years, where the sun stands alike.
"""

from __future__ import annotations

import datetime
from dataclasses import replace
from itertools import count
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore
from tests.benchmarks.measure import best, ran, say
from tests.planning.invented_boxes import DAYS, ZONE, Boxes, event_on, notes_of, true_day

pytestmark = pytest.mark.benchmark

AIMS = {17: 3.0, 1_000: 9.0, 10_000: 50.0}
ROUNDS = {17: 3, 1_000: 2, 10_000: 1}
LAST_YEAR, YEARS = 2027, 20

EVENT = f"""
[place]
latitude = 47.2
longitude = 12.3
elevation = "500 m"
timezone = "{ZONE}"
[event]
date = "{DAYS[0][0]}"
opens = "09:00"
closes = "17:00"
[weather]
sky = "clear"
[box]
aim = "fixed"
bearing = "180 deg"
tilt = "35 deg"
"""


def moved(note: Note, turn: int) -> Note:
    """Return a note of another year, and after all years of days beside."""
    date = datetime.date.fromisoformat(note.event)
    beside = (1 + turn // YEARS) // 2 * (-1) ** (turn // YEARS)
    there = date.replace(year=LAST_YEAR - turn % YEARS) + datetime.timedelta(days=beside)
    return replace(
        note, at_s=note.at_s + (there - date).days * 86400, event=str(there), id=f"{turn}-{note.id}"
    )


def invented_notes(wanted: int) -> list[Note]:
    box = Boxes.invented(1, 5)
    days = [
        true_day(box, event_on(*day), "steady", 100 + k)
        for k, day in enumerate(DAYS[: 1 + wanted // 17])
    ]
    notes: list[Note] = []
    for turn in count():
        for k, day in enumerate(days):
            notes += [moved(note, turn) for note in notes_of(day, 0, len(DAYS) * turn + k)]
            if len(notes) >= wanted:
                return notes[:wanted]
    return notes


@pytest.mark.timeout(3600)
@pytest.mark.parametrize("wanted", AIMS)
def test_a_fit_against_an_import(wanted: int, benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    event, store = tmp_path / "box.toml", tmp_path / "notes.sqlite"
    event.write_text(EVENT, encoding="utf-8")
    NoteStore(store).add(invented_notes(wanted))
    around = {"PYTHONPATH": str(Path(__file__).parents[2]), "DRYBOX_NOTES": str(store)}
    around |= {"PYTHONPYCACHEPREFIX": str(tmp_path / "compiled")}
    alone, whole = [], []

    def take_turns() -> None:
        alone.append(ran(["-c", "import pvlib"], around))

    def command() -> None:
        whole.append(ran(["-m", "drybox", "calibrate", str(event), "--dry-run"], around))

    ran(["-c", "import pvlib, drybox.reports.answers.calibrate"], around)  # compiled files
    benchmark.pedantic(  # type: ignore[no-untyped-call]
        command, setup=take_turns, rounds=ROUNDS[wanted]
    )
    base, own = best(alone), best(whole)
    ratio = own.processor_s / base.processor_s
    benchmark.extra_info |= {"notes": wanted, "ratio": round(ratio, 2)}
    say(
        f"calibrate, {wanted} notes: {own.processor_s:.1f} s of processor, {own.peak_mb:.0f} MB, "
        f"against import pvlib {base.processor_s:.2f} s, {base.peak_mb:.0f} MB: {ratio:.1f} times "
        f"(aim {AIMS[wanted]:g}), {1e3 * own.processor_s / wanted:.0f} ms a note"
    )
