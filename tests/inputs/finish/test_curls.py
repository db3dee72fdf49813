from __future__ import annotations

from dataclasses import replace

import pytest

from drybox.errors import InputError
from drybox.inputs.finish.curls import noted_curls
from drybox.inputs.notes.csv_file import notes_to_csv, read_notes_csv
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.odd import doubts_about
from drybox.inputs.notes.phrases import parse_phrase

NOW_S = 1_781_435_700
HOUR_S = 3600


def said(phrase: str, at_s: float = NOW_S) -> Note:
    return parse_phrase(phrase.split(), at_s=at_s, timezone="Europe/Vienna")


@pytest.mark.parametrize(
    ("phrase", "lift_mm", "humidity"),
    [
        ("curl 7 12mm", 12, None),
        ("curl 7 12 mm 35%", 12, 0.35),
        ("curl 7 1.2 cm in 35 % air", 12, 0.35),
        ("curl A-7 1/2 in", 12.7, None),
        ("flat 7", None, None),
        ("flat 7 at 40%", None, 0.40),
    ],
)
def test_what_is_typed_of_a_curl(
    phrase: str, lift_mm: float | None, humidity: float | None
) -> None:
    note = said(phrase)
    assert note.ticket in ("7", "A-7")
    assert note.humidity_frac == humidity
    assert note.height_m == (None if lift_mm is None else pytest.approx(lift_mm / 1e3))


@pytest.mark.parametrize(
    ("phrase", "point"),
    [
        ("curl 7", "not understood"),
        ("curl 7 12", "no unit"),
        ("curl 7 800mm", "outside"),
        ("flat 7 8", "not understood"),
        ("curl 7 12mm 135%", "outside"),
    ],
)
def test_what_is_not_understood_of_a_curl_shows_the_form(phrase: str, point: str) -> None:
    with pytest.raises(InputError, match=point):
        said(phrase)


def test_a_curl_is_the_same_note_written_out_and_read_in(tmp_path: object) -> None:
    from pathlib import Path

    note = replace(said("curl 7 12mm 35%"), id="abc123abc123")
    path = Path(str(tmp_path)) / "notes.csv"
    path.write_text(notes_to_csv([note]), "utf-8")
    assert read_notes_csv(path, NOW_S + HOUR_S) == [note]


def test_a_curl_goes_with_its_prints_laying_on_its_plate_and_the_air() -> None:
    laid, later = NOW_S - 20 * HOUR_S, NOW_S - HOUR_S // 2
    notes = [
        said("laid 8", laid),
        said("laid 7", laid),
        said("plate 52C", laid + 600),
        said("sky clear 24C 38%", later),
        said("curl 7 12mm"),
        said("curl 9 9mm 50%"),
    ]
    seven, nine = noted_curls(notes, "default")
    assert (seven.way, seven.humidity_frac) == ("sun_plate", 0.38)
    assert seven.plate_k == pytest.approx(325.15)
    assert (nine.way, nine.plate_k, nine.humidity_frac) == (None, None, 0.50)


def test_a_curl_of_another_paper_is_left_out() -> None:
    assert noted_curls([replace(said("curl 7 12mm"), paper="warm matt")], "rag") == ()


def test_a_curl_of_a_print_that_nobody_noted_laid_on_is_said_to_count_as_hung() -> None:
    curl = replace(said("curl 7 12mm"), id="a")
    (doubt,) = doubts_about(curl, [curl])
    assert "hung free" in doubt
    assert doubts_about(curl, [said("laid 7", NOW_S - 20 * HOUR_S)]) == []
