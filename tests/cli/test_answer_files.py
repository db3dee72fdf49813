"""What some commands write beside their answer, and answers that lack something."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import click
import pytest

from drybox.cli import group, main, progress
from drybox.cli.option_types import Count
from drybox.errors import InputError, StoreError
from drybox.inputs.event.event import load_event
from drybox.inputs.notes.fitted_event import with_kept_fit
from drybox.inputs.notes.store import notes_path
from drybox.reports.files.write import write_file
from tests.cli.noted_days import FAIR, NOW_S, write_event, write_notes
from tests.running import DEMO, plain, ran, record, said

Captured = pytest.CaptureFixture[str]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("aim",), "always turned"),
        (("dry", "--at", "13:20", "--members", "20"), "print"),
        (("plan", "--no-what-if", "--members", "20", "--every", "1 h"), "plate"),
    ],
)
def test_each_of_these_draws_a_picture(
    tmp_path: Path, capsys: Captured, args: tuple[str, ...], words: str
) -> None:
    picture = tmp_path / "day.svg"
    command, *rest = args
    assert main([command, DEMO, *rest, "--plot", str(picture)]) == 0
    capsys.readouterr()
    text = picture.read_text(encoding="utf-8")
    assert text.count("<text") > 5
    assert words in text


def test_a_sheet_of_the_aim_is_held_below_the_limit_asked_for(
    tmp_path: Path, capsys: Captured
) -> None:
    sheet = tmp_path / "aim.html"
    assert main(["aim", DEMO, "--hold-below", "47C", "--sheet", str(sheet)]) == 0
    assert "47 °C" in " ".join(capsys.readouterr().out.split())
    page = sheet.read_text(encoding="utf-8")
    assert "47 °C" in page
    assert '<section id="aim"' in page


def test_a_file_converted_with_doubts_says_them_beside_it(tmp_path: Path, capsys: Captured) -> None:
    rows = ["time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas"]
    rows += [f"2027-06-12T{h:02d}:00Z,{20 if h != 9 else 900},50,2,1" for h in range(24)]
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert main(["weather", "convert", str(source), str(target), "--timezone", "UTC"]) == 0
    heard = capsys.readouterr()
    assert "Wrote 24 rows" in heard.out
    assert heard.err.startswith("drybox: ")
    assert "1 value outside" in heard.err


def test_on_the_day_itself_an_answer_without_a_time_is_for_now(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setattr("drybox.cli.options.time.time", lambda: 1812799200.0)  # 13:20 there
    assert main(["aim", DEMO]) == 0
    assert "so it is for now" in " ".join(capsys.readouterr().out.split())


def test_without_a_date_the_fit_is_for_the_day_of_the_last_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    said = FAIR.replace('name = "Green at Sallow End"', "").replace('name = "steel box"', "")
    event = write_event(tmp_path)
    event.write_text(said, encoding="utf-8")
    write_notes(event)
    capsys.readouterr()
    place = ("--latitude", "47.2", "--longitude", "12.3", "--timezone", "Europe/Vienna")
    dates = [
        item["value"]
        for item in record("calibrate", *place, "--dry-run")["inputs"]
        if item["key"] == "event.date"
    ]
    assert dates == ["2027-06-13"]


def test_a_wash_that_cannot_be_is_left_out_of_the_baths_and_said(tmp_path: Path) -> None:
    event = tmp_path / "fair.toml"
    text = (
        Path(DEMO)
        .read_text("utf-8")
        .replace("\n[event]", '[process.wash]\ntime = "1 min"\n\n[event]')
    )
    event.write_text(text, encoding="utf-8")
    (tmp_path / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    assert "ash water is not counted: 1 min is too short" in plain("baths", str(event))


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full here")
def test_an_answer_for_a_full_disk_is_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    with open("/dev/full", "w", encoding="utf-8") as full:
        monkeypatch.setattr(sys, "stdout", full)
        status = main(["explain", "sun"])
        monkeypatch.undo()
    assert status == 4
    heard = capsys.readouterr()
    assert heard.err.startswith("drybox: cannot write the answer: No space left")
    assert heard.err.count("\n") == 1


def test_an_answer_for_a_reader_that_left_is_no_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    with os.fdopen(write_end, "w", encoding="utf-8") as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        status = main(["explain", "sun"])
        monkeypatch.undo()
    assert status == 0


def test_help_without_a_standard_output_ends_well(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    status = main(["--help"])
    monkeypatch.undo()
    assert status == 0


def test_there_is_no_command_of_an_unknown_name() -> None:
    assert group.get_command(click.Context(group), "nothing") is None


def test_a_count_outside_a_command_says_what_is_wrong() -> None:
    with pytest.raises(InputError, match="value '-3' is not a whole number"):
        Count()("-3")


def test_a_bar_that_comes_after_the_work_is_not_shown() -> None:
    bar = progress._Bar("Drying", 1)
    bar.close()
    bar.show()
    assert bar.progress is None


def test_a_file_without_a_name_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    assert main(["note", "plate", "46C", "--timezone", "UTC"]) == 0
    status, _, err = ran("note", "export", "/")
    assert (status, err.count("\n")) == (4, 1)
    assert "names a folder" in err


def test_without_a_known_home_there_are_no_notes_to_stand_on_or_to_guard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DRYBOX_NOTES")
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: "nowhere")
    assert notes_path_fault() == "no folder for the field notes was found"
    event = load_event(DEMO)
    assert with_kept_fit(event) is event
    there = tmp_path / "day.csv"
    there.write_text("old", encoding="utf-8")
    write_file(there, "new", force=True)
    assert there.read_text("utf-8") == "new"


def notes_path_fault() -> str:
    with pytest.raises(StoreError) as caught:
        notes_path()
    return caught.value.what


@pytest.mark.parametrize(
    "args",
    [
        ("aim", DEMO),
        ("setout", DEMO, "--members", "20"),
        ("dry", DEMO, "--members", "20"),
        ("day", DEMO, "--members", "20"),
        ("wash", DEMO),
        ("check", DEMO),
    ],
)
def test_the_record_asked_for_is_that_of_the_run_that_gives_the_text(args: tuple[str, ...]) -> None:
    assert json.loads(said(*args, "--format", "json")) == record(*args)
