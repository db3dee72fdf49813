"""What lifts that were noted teach: from notes as typed to the range that is promised."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import drybox
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.phrases import parse_phrase
from drybox.inputs.notes.store import NoteStore
from drybox.planning.finish.sheet import curling_law, usual_factor_log
from drybox.planning.finish.taught import taught_curl

PLACE = {
    "place.latitude": "47.2",
    "place.longitude": "12.3",
    "event.date": "2027-06-12",
    "weather.sky": "clear",
}
NOW_S = 1_781_435_700


def event_with(folder: Path, *phrases: str) -> Event:
    path = folder / "notes.sqlite"
    zone = "Europe/Vienna"
    NoteStore(path).add(
        [parse_phrase(p.split(), at_s=NOW_S + i, timezone=zone) for i, p in enumerate(phrases)]
    )
    return drybox.load_event(None, PLACE, notes=path)


def lift_mm(factor: float, humidity: float, temp_k: float = 293.15) -> float:
    """Edges of a hung print that curls so many times as far as the law."""
    law = curling_law(load_event(None, PLACE).paper)
    stiff = replace(law, factor=np.array([factor]))
    return 1e3 * float(stiff.lift_m(law.left_free(temp_k), humidity)[0])


def test_no_note_leaves_the_usual_spread() -> None:
    taught = taught_curl(load_event(None, PLACE))
    assert taught.factor_log == pytest.approx(usual_factor_log())
    assert taught.notes_used == 0


@pytest.mark.parametrize("factor", [0.5, 0.9, 1.5])
def test_lifts_of_hung_prints_find_how_far_the_paper_curls(tmp_path: Path, factor: float) -> None:
    phrases = [
        f"curl {n} {lift_mm(factor, damp):.2f}mm {damp:.0%}"
        for n, damp in enumerate((0.30, 0.40, 0.35, 0.50))
    ]
    taught = taught_curl(event_with(tmp_path, *phrases))
    assert taught.notes_used == 4
    assert np.exp(taught.mean_log) == pytest.approx(factor, rel=0.15)
    assert taught.deviation_log < usual_factor_log()[1] / 2


def test_one_lift_moves_the_answer_and_narrows_it(tmp_path: Path) -> None:
    plain = drybox.finish(load_event(None, PLACE), "13:40", dried="line")
    said = f"curl 7 {lift_mm(1.5, 0.35):.1f}mm 35%"
    noted = drybox.finish(event_with(tmp_path, said), "13:40", dried="line")
    before, after = (
        [part or 0.0 for part in found.ways[0].lift_home_m.record().values()]
        for found in (plain, noted)
    )
    assert after[1] > before[1]
    assert after[2] / after[0] < before[2] / before[0]
    assert "one lift noted" in " ".join(drybox.answer(noted).assumptions)


def test_a_flat_print_tells_that_the_paper_curls_less(tmp_path: Path) -> None:
    taught = taught_curl(event_with(tmp_path, "flat 7 35%"))
    assert taught.notes_used == 1
    assert taught.mean_log < usual_factor_log()[0]


def test_a_print_that_should_lie_flat_anyhow_tells_nothing(tmp_path: Path) -> None:
    assert taught_curl(event_with(tmp_path, "curl 7 1mm 75%", "flat 8 75%")).notes_used == 0


def test_uncalibrated_leaves_the_lifts_out(tmp_path: Path) -> None:
    event_with(tmp_path, "curl 7 12mm 35%")
    path = tmp_path / "notes.sqlite"
    event = drybox.load_event(None, PLACE, notes=path, calibrated=False)
    assert event.curled == ()
