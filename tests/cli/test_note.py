from __future__ import annotations

import csv
import io
import json
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from drybox.cli import main
from drybox.tables import load_table, shipped_dir

Captured = pytest.CaptureFixture[str]
NOW_S = 1_781_435_700.0  # 2026-06-14 13:15 in Vienna


@pytest.fixture(autouse=True)
def notes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "notes.sqlite"
    monkeypatch.setenv("DRYBOX_NOTES", str(path))
    monkeypatch.setenv("TZ", "Europe/Vienna")
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    return path


def said(capsys: Captured, *args: str) -> str:
    """Run a note command that must succeed; return its text on one line."""
    status = main(["note", *args])
    captured = capsys.readouterr()
    assert status == 0, captured.err
    return " ".join(captured.out.split())


def refused(capsys: Captured, *args: str) -> tuple[int, str]:
    status = main(["note", *args])
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    return status, captured.err


def record(capsys: Captured, *args: str) -> dict[str, Any]:
    assert main(["note", *args, "--format", "json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("plate 46C", "plate 46.0 °C"),
        ("plate -5C", "plate -5.0 °C"),
        ("PLATE 46C", "plate 46.0 °C"),
        ("air-in-box 52C", "air-in-box 52.0 °C"),
        ("air in box 126F", "air-in-box 52.2 °C"),
        ("laid 7 --way line", "laid 7 (line in the shade)"),
        ("weighed squeegeed 4.1g", "weighed squeegeed 4.10 g"),
        ("weighed dry 12g 5 sheets --size 4x5in", "dry 12.00 g 5 sheets of 102 mm by 127 mm"),
        ("weighed 7 5.1 g at 13:15", "weighed 7 5.10 g"),
        ("weighed 7 3.6g dry", "weighed 7 dry 3.60 g"),
        ("sky broken cloud", "sky broken cloud"),
        ("sky 5/8 -2C 45% 3m/s", "sky 5/8 -2.0 °C 45 % 3.0 m/s"),
        ("shadow came", "shadow came"),
        ("tank fixer 31", "tank fixer 31 sheets"),
        ("promise 7 kept", "promise 7 kept"),
        ("promise 7 missed --remark rain", "promise 7 missed – rain"),
    ],
)
def test_one_short_line_is_one_note(capsys: Captured, line: str, words: str) -> None:
    out = said(capsys, *line.split())
    assert out.startswith(f"Noted: {words}, 2026-06-14 13:15 (Europe/Vienna); id ") or words in out
    assert words in said(capsys, "list")


def test_a_note_says_when_and_of_what(capsys: Captured) -> None:
    found = record(
        capsys,
        "plate",
        "46C",
        "--at",
        "13:05",
        "--event",
        "Fair",
        "--box",
        "long",
        "--place",
        "hill",
    )
    (note,) = found["result"]["notes"]
    assert note["seen"] == "2026-06-14T13:05:00+02:00"
    assert note["written"] == "2026-06-14T13:15:00+02:00"
    assert (note["event"], note["box"], note["place"], note["paper"]) == (
        *("Fair", "long", "hill"),
        "default",
    )
    assert note["temp_c"] == 46
    assert found["command"] == "note"
    assert {"key": "timezone", "value": "Europe/Vienna", "unit": "", "source": "this computer"} in (
        found["inputs"]
    )


def test_an_event_file_gives_names_zone_and_sheet_size(capsys: Captured) -> None:
    (event,) = shipped_dir("demo").glob("*.toml")
    for args in (
        [str(event), "weighed", "dry", "2.4g"],
        ["weighed", "dry", "2.4g", "--event", str(event)],
    ):
        (note,) = record(capsys, *args)["result"]["notes"]
        assert note["place"] == "Market at Upper Larkmead"
        assert note["event"] == "Early summer fair"
        assert note["paper"] == "fibre double weight"
        assert note["timezone"] == "Europe/Vienna"
        assert note["width_mm"] == pytest.approx(101.6)


def test_the_zone_is_kept_from_the_last_note(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "is this computer's" in said(capsys, "plate", "40C")
    said(capsys, "plate", "41C", "--timezone", "Asia/Tokyo")
    out = said(capsys, "plate", "42C", "--at", "20:00")
    assert "2026-06-14 20:00 (Asia/Tokyo)" in out
    assert "this computer" not in out
    assert "13:15 Europe/Vienna" in said(capsys, "list")


def test_an_unknown_zone_is_asked_for(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "CET-1CEST")
    status, err = refused(capsys, "plate", "40C")
    assert status == 2
    assert "add --timezone, like Europe/Vienna" in err


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("plate 450C", "plate temperature 450 °C is outside -30 °C to 150 °C"),
        ("plate -80C", "plate temperature -80 °C is outside"),
        ("plate 46", 'has no unit; write it like "46 °C"'),
        ("plate 46C --at 13:30", "is still to come: it is 2026-06-14 13:15 in Europe/Vienna"),
        ("plate 46C --date 2026-06-13", "a date needs a time; add --at"),
        ("plate 46C --att 13:15", "no such option '--att'"),
        ("plat 46C", "did you mean 'plate'"),
        ("laid 7 --way oven", "way 'oven' is not known; choose one of: sun plate"),
        ("promise 7 broken", "use one of: kept, missed"),
        ("undo", "there is no note to take back"),
    ],
)
def test_a_slip_is_one_line_and_leaves_no_file(
    capsys: Captured, notes: Path, line: str, text: str
) -> None:
    status, err = refused(capsys, *line.split())
    assert status == 2
    assert text in err
    assert not notes.exists()


def test_an_odd_note_is_kept_and_said(capsys: Captured) -> None:
    said(capsys, "plate", "40C")
    assert "Another reading was noted for the same minute" in said(capsys, "plate", "41C")
    assert "No laying-on of 7 is noted" in said(capsys, "dry", "7")
    said(capsys, "laid", "8", "--at", "12:30")
    assert "No laying-on" not in said(capsys, "dry", "8")
    assert [n.get("doubt") for n in record(capsys, "list")["result"]["notes"]] == [
        *("same minute", "same minute"),
        *(None, None, None),
    ]


def test_a_name_nearly_the_same_as_another_is_said(capsys: Captured) -> None:
    assert "Warning" not in said(capsys, "plate", "40C", "--at", "12:00", "--box", "My_Box")
    again = said(capsys, "plate", "41C", "--at", "12:10", "--box", "my box")
    assert "The box 'my box' is new; 'My_Box' is known: if that is meant" in again
    assert "Warning" not in said(capsys, "plate", "41C", "--at", "12:20", "--box", "my box")
    said(capsys, "undo")
    said(capsys, "undo")
    assert "The paper 'Fibre-double-weight' is new; 'fibre double weight' is known" in said(
        capsys, "laid", "7", "--paper", "Fibre-double-weight"
    )
    status, err = refused(capsys, "list", "--box", "MY-BOX")
    assert (status, "did you mean 'My_Box'?" in err) == (2, True)


def test_one_sheet_is_no_sheets(capsys: Captured) -> None:
    assert "Noted: tank fixer 1 sheet, " in said(capsys, "tank", "fixer", "1")
    assert "Noted: tank fixer 2 sheets, " in said(capsys, "tank", "fixer", "2")


def test_a_tank_that_is_not_there_is_said_or_refused(capsys: Captured) -> None:
    assert "Warning" not in said(capsys, "tank", "Wash_Aid", "9")
    assert "The tank 'fixr' is new; 'fixer' is known" in said(capsys, "tank", "Fixr", "31")
    assert "The tank 'soup' is new; usual ones are developer" in said(capsys, "tank", "soup", "31")
    assert "Warning" not in said(capsys, "tank", "soup", "35")
    (event,) = shipped_dir("demo").glob("*.toml")
    assert record(capsys, str(event), "tank", "Stop", "31")["result"]["notes"][0]["bath"] == "stop"
    status, err = refused(capsys, str(event), "tank", "soup", "31")
    assert (status, "has no bath 'soup'; it has: developer, stop, fixer" in err) == (2, True)


def test_undo_takes_back_and_brings_back(capsys: Captured) -> None:
    said(capsys, "plate", "40C")
    said(capsys, "plate", "50C", "--at", "13:00")
    out = said(capsys, "undo")
    assert out.startswith("Taken back: plate 50.0 °C, 2026-06-14 13:00")
    assert "50.0" not in said(capsys, "list")
    assert "50.0" in said(capsys, "list", "--all")
    undo_id = re.findall(r"undo (\w+)'", out)[0]
    assert said(capsys, "undo", undo_id).startswith("Brought back: note ")
    assert "50.0" in said(capsys, "list")
    assert refused(capsys, "undo", "zzz")[0] == 2


def test_the_list_can_be_narrowed_and_shown_in_us_units(capsys: Captured) -> None:
    said(capsys, "plate", "50C", "--event", "Fair")
    said(capsys, "dry", "7", "--event", "Market")
    assert "plate 122.0 °F" in said(capsys, "list", "--units", "us")
    assert [n["kind"] for n in record(capsys, "list", "--event", "Market")["result"]["notes"]] == [
        "dry"
    ]
    assert [n["kind"] for n in record(capsys, "list", "--kind", "plate")["result"]["notes"]] == [
        "plate"
    ]
    assert record(capsys, "list", "--box", "none")["result"]["notes"] == []
    assert main(["note", "list", "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["said"] for row in rows] == ["plate 50.0 °C", "dry 7"]


def test_export_and_import_carry_everything(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(capsys, "plate", "50C", "--remark", "=1+1")
    said(capsys, "laid", "7")
    said(capsys, "undo")
    assert main(["note", "export", str(tmp_path / "n.csv")]) == 0
    assert capsys.readouterr() == ("", f"Wrote 3 rows to {tmp_path / 'n.csv'}.\n")
    assert ",'=1+1\n" in (tmp_path / "n.csv").read_bytes().decode()
    status, err = refused(capsys, "export", str(tmp_path / "n.csv"))
    assert status == 4
    assert "exists; choose another name or add --force" in err
    assert main(["note", "export", str(tmp_path / "n.csv"), "--force"]) == 0
    capsys.readouterr()
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "other.sqlite"))
    assert said(capsys, "import", str(tmp_path / "n.csv")) == "Added 3 notes from n.csv."
    again = said(capsys, "import", str(tmp_path / "n.csv"))
    assert again == "Added 0 notes from n.csv; 3 were there already."
    assert main(["note", "export"]) == 0
    assert capsys.readouterr().out.encode() == (tmp_path / "n.csv").read_bytes()


def test_the_store_itself_is_never_exported_over(capsys: Captured, notes: Path) -> None:
    said(capsys, "dry", "7")
    before = notes.read_bytes()
    status, err = refused(capsys, "export", str(notes), "--force")
    assert status == 4
    assert "holds the field notes" in err
    assert notes.read_bytes() == before


def test_where_prints_the_one_path_and_makes_nothing(capsys: Captured, notes: Path) -> None:
    assert main(["note", "where"]) == 0
    assert capsys.readouterr().out == f"{notes}\n"
    assert not notes.exists()


def test_nothing_noted_yet_is_no_fault_wherever_the_notes_go(
    capsys: Captured, notes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = said(capsys, "list").replace(" ", "")  # a long path is folded
    assert words == f"Nonotesyet;thefirstmakes{notes}."
    assert main(["note", "export", str(tmp_path / "none.csv")]) == 0
    assert capsys.readouterr().err == f"Wrote 0 rows to {tmp_path / 'none.csv'}.\n"
    monkeypatch.setenv("DRYBOX_NOTES", "")
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data"))
    assert said(capsys, "list").startswith("No notes yet; the first makes ")
    assert [path.name for path in tmp_path.iterdir()] == ["none.csv"]


def test_notes_in_a_folder_that_is_not_there_are_a_fault(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "mistyped" / "notes.sqlite"))
    status, err = refused(capsys, "list")
    assert status == 4
    assert "the folder for the field notes is not there; make it, or mend the path in" in err


def test_a_damaged_store_is_one_line_and_untouched(capsys: Captured, notes: Path) -> None:
    notes.write_bytes(b"no notes here" * 100)
    for line in ("plate 46C", "list", "undo", "export"):
        status, err = refused(capsys, *line.split())
        assert status == 4
        assert "this file holds no field notes" in err
    assert notes.read_bytes() == b"no notes here" * 100


@pytest.mark.parametrize("text", ["<script>", "אבג", "🙂", "=cmd|' /C calc'!A0", "a,b;c\"d'"])
def test_any_name_is_kept_as_it_is(capsys: Captured, text: str) -> None:
    said(capsys, "plate", "46C", "--event", text)
    assert record(capsys, "list")["result"]["notes"][0]["event"] == text


def test_noting_loads_nothing_heavy(notes: Path) -> None:
    script = "import sys; from drybox.cli import main; main(sys.argv[1:]); "
    script += "print([m for m in ('numpy', 'pandas', 'pvlib', 'scipy') if m in sys.modules])"
    for line in ("note --help", "note plate 46C", "note list"):
        done = subprocess.run(
            [sys.executable, "-c", script, *line.split()], capture_output=True, text=True
        )
        assert done.stdout.splitlines()[-1] == "[]", done.stderr


def test_a_weighing_that_teaches_nothing_is_said_at_once(capsys: Captured) -> None:
    assert "No laying-on of 7 is noted before it" in said(capsys, "weighed", "7", "5.1g")
    said(capsys, *["laid", "7", "--at", "12:40"])
    assert "laying-on" not in said(capsys, *["weighed", "7", "5.0g", "at", "12:50"])
    said(capsys, *["dry", "7", "--at", "13:00"])
    out = said(capsys, *["weighed", "7", "3.7g", "at", "13:10"])
    assert "7 was noted dry before it" in " ".join(out.split())
    assert "noted dry" not in said(capsys, *["weighed", "7", "3.6g", "dry"])


def test_several_prints_laid_on_at_once_are_a_note_each(capsys: Captured) -> None:
    out = said(capsys, "laid", "3", "4", "and", "7")
    assert [f"Noted: laid {ticket}," in out for ticket in (3, 4, 7)] == [True] * 3
    for kind, words in (("dry", "3,4"), ("sat", "3 4"), ("handed", "no. 3 and 4")):
        found = record(capsys, kind, words)["result"]["notes"]
        assert [note["ticket"] for note in found] == ["3", "4"]
    assert "laid 4" in said(capsys, "list")


def test_a_plate_hotter_than_the_sun_makes_one_is_doubted(capsys: Captured) -> None:
    assert "write: drybox note plate 146F" in said(capsys, "plate", "146C")
    assert "Fahrenheit" not in said(capsys, "plate", "146F")


def test_the_help_weighs_a_wet_sheet_as_the_table_does(capsys: Captured) -> None:
    paper = load_table("papers")["fibre double weight"]
    sheet_kg = (paper["dry_mass"].value + paper["water_squeegeed"].value) * 0.1016 * 0.127
    main(["note", "--help"])
    assert f"weighed squeegeed {1e3 * sheet_kg:.1f}g --size 4x5in" in capsys.readouterr().out


def test_notes_can_be_tried_on_a_practice_day(tmp_path: Path, capsys: Captured) -> None:
    assert main(["init", str(tmp_path / "fair"), "--practice"]) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    words = shlex.split(last.partition("drybox note ")[2])
    assert "plate 46.0 °C" in said(capsys, *words)


def test_of_very_many_notes_the_last_are_listed(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drybox.cli.note.MOST_LISTED", 2)
    for ticket in "abc":
        said(capsys, "laid", ticket)
    text = said(capsys, "list")
    assert "The last 2 are listed" in text
    assert "laid a" not in text
    assert "laid c" in text
    assert len(record(capsys, "list")["result"]["notes"]) == 3


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["laid", "7", "--at", "9.41"], "laid 7, 2026-06-14 09:41"),
        (["laid", "7", "at", "0941"], "laid 7, 2026-06-14 09:41"),
        (["weighed", "7", "5.12", "g", "at", "9.41"], "weighed 7 5.12 g, 2026-06-14 09:41"),
        (["promised", "7", "15.40"], "promised 7 for 15:40"),
        (["promised", "1540", "1545", "at", "0941"], "promised 1540 for 15:45, 2026-06-14 09:41"),
        (["laid", "7.2", "--at", "0941"], "laid 7.2, 2026-06-14 09:41"),
    ],
)
def test_a_clock_time_typed_in_a_hurry_is_read(
    capsys: Captured, words: list[str], told: str
) -> None:
    assert told in said(capsys, *words)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("laid 7 13:05", "laid 7, 2026-06-14 13:05"),
        ("laid 7 at 13:05 on the line", "laid 7 (line in the shade), 2026-06-14 13:05"),
        ("laid 7 on the plate 13:05", "laid 7 (sun plate), 2026-06-14 13:05"),
        ("weighed 7 5.1g 13:05", "weighed 7 5.10 g, 2026-06-14 13:05"),
    ],
)
def test_the_time_may_close_the_phrase_or_stand_before_the_way(
    capsys: Captured, words: str, told: str
) -> None:
    assert told in said(capsys, *words.split())


@pytest.mark.parametrize("kind", ["plate", "sat", "weighed"])
def test_a_note_of_nothing_shows_its_form(capsys: Captured, kind: str) -> None:
    status, error = refused(capsys, kind)
    assert status == 2
    assert f"nothing given; write it like: note {kind} " in error


@pytest.mark.parametrize("word", ["cloudy", "weather"])
def test_weather_as_a_kind_of_note_shows_the_note_of_the_sky(capsys: Captured, word: str) -> None:
    assert "write it like: note sky " in refused(capsys, word)[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["laid", "7", "0941"], "0941 is a ticket or a time; write --at 09:41, or note the ticket"),
        (["dry", "7", "9.41"], "9.41 is a time; write --at 9.41"),
        (["plate", "46C", "--at", "9.5"], "'9.5' is not a clock time; write it like"),
        (["plate", "46C", "--at", "941"], "'941' is not a clock time; write it like"),
    ],
)
def test_what_may_be_a_clock_time_or_something_else_is_refused(
    capsys: Captured, words: list[str], told: str
) -> None:
    status, error = refused(capsys, *words)
    assert status == 2
    assert told in error


def test_an_event_file_may_stand_before_whatever_is_done_with_notes(
    capsys: Captured, tmp_path: Path, notes: Path
) -> None:
    event = past_night(tmp_path)
    said(capsys, event, "air", "in", "box", "50C", "19:30")
    assert "Taken back: air-in-box" in said(capsys, event, "undo")
    assert said(capsys, event, "where") == str(notes)
    assert "air-in-box" in said(capsys, event, "export")


def past_night(folder: Path) -> str:
    text = '[place]\nlatitude = 47.2\nlongitude = 12.3\ntimezone = "Europe/Vienna"\n[event]\n'
    text += 'date = "2026-06-12"\nopens = "18:00"\ncloses = "2026-06-13 01:30"\n'
    (folder / "night.toml").write_text(text, encoding="utf-8")
    return str(folder / "night.toml")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["laid", "7", "--at", "23:40"], "laid 7, 2026-06-12 23:40"),
        (["laid", "7", "at", "0010"], "laid 7, 2026-06-13 00:10"),
        (["laid", "7", "--at", "19:00", "--date", "2026-06-13"], "laid 7, 2026-06-13 19:00"),
        (["curl", "7", "12mm", "--at", "10:00"], "curl 7 12 mm, 2026-06-14 10:00"),
        (["laid", "7"], "laid 7, 2026-06-14 13:15"),
    ],
)
def test_a_note_of_a_past_event_is_of_its_day(
    capsys: Captured, tmp_path: Path, words: list[str], told: str
) -> None:
    """Two days later; what is seen at home, as a curl, is of the day it is noted."""
    text = said(capsys, past_night(tmp_path), *words)
    assert told in text
    by_itself = "--at" in words or "at" in words
    assert ("The day is the event's, 2026-06-1" in text) == (
        by_itself and "--date" not in words and "curl" not in words
    )
    assert ("with --at it is of the event's day, 2026-06-12" in text) == (not by_itself)


def test_an_event_file_without_a_date_is_for_today(capsys: Captured, tmp_path: Path) -> None:
    path = past_night(tmp_path)
    Path(path).write_text(Path(path).read_text("utf-8").replace("date =", "# date ="), "utf-8")
    Path(path).write_text(Path(path).read_text("utf-8").replace("2026-06-13 01", "23"), "utf-8")
    assert "sat 7, 2026-06-14 13:15" in said(capsys, path, "sat", "7")
