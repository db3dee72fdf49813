from __future__ import annotations

from pathlib import Path

import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.notes.store import NoteStore
from drybox.planning.calibration.measured import read_notes
from drybox.reports.explain.answer import TOPICS
from drybox.tables import load_table
from tests.running import golden, plain, ran, record, said, table

PROMISED = [
    *("sun", "light", "plate", "print", "dry", "ways", "wash", "baths", "ranges", "weather"),
    *("aim", "limits", "curl", "measuring", "numbers", "units"),
]


def test_without_a_topic_every_topic_is_listed() -> None:
    out = said("explain")
    assert set(PROMISED) == set(TOPICS)
    for topic in PROMISED:
        assert f"\n{topic} " in out
    assert [row["topic"] for row in table("explain")] == list(TOPICS)


@pytest.mark.parametrize("topic", PROMISED)
def test_a_topic_has_words_equations_and_sources(topic: str) -> None:
    result = record("explain", topic)["result"]
    assert result["topic"] == topic
    for part in ("words", "equations", "sources"):
        assert result[part], part
    assert "[[" not in said("explain", topic)
    assert max(len(line) for line in said("explain", topic).splitlines()) <= 80


def test_figures_come_from_the_tables_with_their_status() -> None:
    careful = load_table("limits")["wet_emulsion"]["careful"]
    assert careful.text == "45 degC"
    assert "kept above 45 °C (judgement)" in plain("explain", "limits")
    humidity = load_table("isotherms")["dry"]["activity"].value
    assert f"air of {100 * humidity:.0f} % (common practice) humidity" in plain("explain", "dry")


def test_a_topic_is_found_in_any_case_and_a_near_one_offered() -> None:
    assert said("explain", "Plate") == said("explain", "plate")
    status, out, err = ran("explain", "plaet")
    assert (status, out) == (2, "")
    assert "topic 'plaet' is not known; did you mean 'plate'? (TOPIC)" in err
    status, _, err = ran("explain", "weddings")
    assert status == 2
    assert "choose one of: sun, light" in err


def test_regression_the_topic_of_the_plate_reads_as_before() -> None:
    golden("explain_plate", said("explain", "plate"))


def test_what_the_topic_of_measuring_says_to_type_is_understood_and_learned_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    now_at = 1_813_320_000  # 2027-06-18 14:00 in Vienna
    for what, typed in TOPICS["measuring"].equations[:-1]:
        _, note, *words = typed.split()
        assert note == "note"
        at_s = now_at + (86400 if what == "next day" else 0)
        monkeypatch.setattr("drybox.cli.note.time.time", lambda at_s=at_s: at_s)
        assert "Warning" not in said("note", *words, "--timezone", "Europe/Vienna")
    notes = NoteStore(tmp_path / "notes.sqlite").read()
    event = load_event(
        None, {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-18"}
    )
    data = read_notes(notes, [event])
    assert data.passed_over == ()
    assert [one.kind for one in data.readings] == [
        *("plate", "drying", "water"),
        *(5 * ["run_water"]),
    ]
    water = [one.value for one in data.readings if one.kind == "run_water"]
    assert water == sorted(water, reverse=True)
    assert "drybox note weighed 7 5.1g" in plain("explain", "measuring")
