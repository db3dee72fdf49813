"""From notes to a fit, and what every command then makes of it."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from drybox.cli import main
from drybox.inputs.notes.fits import OWN
from tests.cli.noted_days import NOW_S, write_event, write_notes
from tests.running import golden

Captured = pytest.CaptureFixture[str]


@dataclass(frozen=True)
class Fitted:
    """What calibrate said once, in every form, and where it stands."""

    folder: Path
    event: str
    text: str
    record: dict[str, Any]

    @property
    def result(self) -> dict[str, Any]:
        return dict(self.record["result"])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Fitted:
    folder = tmp_path_factory.mktemp("fitted")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DRYBOX_NOTES", str(folder / "notes.sqlite"))
        patch.setenv("COLUMNS", "80")
        patch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
        event = write_event(folder)
        write_notes(event)
        files = [
            *("--sheet", str(folder / "fit.html"), "--series", str(folder / "fit.csv")),
            *("--table", str(folder / "ranges.csv"), "--plot", str(folder / "fit.svg")),
        ]
        text = answer("calibrate", str(event), *files)
        record = json.loads(answer("calibrate", str(event), "--format", "json"))
        return Fitted(folder, str(event), text, record)


@pytest.fixture
def fitted(made: Fitted, monkeypatch: pytest.MonkeyPatch) -> Fitted:
    monkeypatch.setenv("DRYBOX_NOTES", str(made.folder / "notes.sqlite"))
    return made


def answer(*args: str) -> str:
    """Return what a command that succeeds says."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(list(args))
    assert status == 0, err.getvalue()
    return out.getvalue()


def test_the_answer_says_before_and_after_and_what_it_stands_on(fitted: Fitted) -> None:
    words = " ".join(fitted.text.split())
    assert "14 notes of 2 days were used" in words
    assert "where it was" in words
    assert "narrower" in words
    assert "however many notes of other days there are" in words
    assert "every command now stands on it; --uncalibrated leaves it out" in words
    assert "Promises kept: 1 of 2 (50 %" in words


def test_ranges_before_and_after_are_in_the_record_and_narrower(fitted: Fitted) -> None:
    result = fitted.result
    assert result["learned"] is True
    by_name = {row["name"]: row for row in result["parameters"]}
    water = by_name["water left on a print"]
    widths = [water[when]["p90"] - water[when]["p10"] for when in ("before", "after")]
    assert widths[1] < 0.8 * widths[0]
    assert result["residual_rms"] < result["residual_rms_before"]
    shown = result["promise_shown"]
    assert shown["minutes_after"]["p10"] < shown["minutes_after"]["p90"]
    assert 0 < shown["narrower_frac"] < 1
    width = [
        shown[f"minutes_{when}"]["p90"] - shown[f"minutes_{when}"]["p10"]
        for when in ("before", "after", "floor")
    ]
    assert width[0] > width[1] > width[2] > 0


def test_which_note_moved_what_and_which_disagrees_is_named(fitted: Fitted) -> None:
    readings = fitted.result["readings"]
    names = {row["name"] for row in fitted.result["parameters"]}
    assert all(row["moved"] in names for row in readings)
    assert any(abs(row["moved_sd"]) > 0.1 for row in readings)
    (odd,) = (row for row in readings if row["disagrees"])
    assert odd["measured_c"] == pytest.approx(28.0)
    assert odd["at"] == "2027-06-12T14:00:00+02:00"
    assert odd["weight_frac"] < 0.5
    (said,) = (text for text in fitted.record["warnings"] if odd["id"] in text)
    assert "plate 28.0 °C" in said
    assert "'drybox note undo ID' takes back a slip" in said
    (passed,) = fitted.result["passed_over"]
    assert "no laying-on of B3 is noted" in passed["why"]


def test_dry_stands_on_the_fit_says_so_and_can_leave_it_out(fitted: Fitted) -> None:
    ask = ("dry", fitted.event, "--at", "12:30", "--format", "json")
    taught = json.loads(answer(*ask))
    plain = json.loads(answer(*ask, "--uncalibrated"))
    name = "fit of 2027-06-18, 14 notes"
    assert any(name in text for text in taught["assumptions"])
    assert {item["source"] for item in taught["inputs"] if item["key"].startswith("fit.")} == {name}
    assert not any(item["key"].startswith("fit.") for item in plain["inputs"])
    assert any(f"Uncalibrated: the {name}, is left out" in text for text in plain["assumptions"])
    width = [
        found["result"]["ways"][0]["minutes"]["p90"] - found["result"]["ways"][0]["minutes"]["p10"]
        for found in (taught, plain)
    ]
    assert taught["result"]["ways"][0]["way"] == plain["result"]["ways"][0]["way"] == "sun_plate"
    assert width[0] < width[1]


def test_plan_names_the_fit_in_its_text(fitted: Fitted) -> None:
    text = " ".join(answer("plan", fitted.event, "--no-what-if", "--members", "20").split())
    assert "It stands on the fit of 2027-06-18, 14 notes of 2 days" in text, "without --why"


def test_another_plate_is_not_promised_by_this_ones_notes(fitted: Fitted) -> None:
    thick = fitted.folder / "thick.toml"
    told = Path(fitted.event).read_text("utf-8")
    thick.write_text(told.replace("tilt =", 'plate_thickness = "6 mm"\ntilt ='), "utf-8")
    found = json.loads(answer("dry", str(thick), "--at", "12:30", "--format", "json"))
    assert any("for another box plate thickness. 'drybox" in t for t in found["warnings"])
    assert not any(item["key"].startswith("fit.") for item in found["inputs"])


def test_the_series_holds_the_curves_and_the_readings(fitted: Fitted) -> None:
    with (fitted.folder / "fit.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    read = {row["at"]: float(row["plate_temp_read_c"]) for row in rows if row["plate_temp_read_c"]}
    assert len(read) == 7
    assert read["2027-06-13T13:00:00+02:00"] == pytest.approx(66.0)
    moments = [float(row["unix_s"]) for row in rows]
    assert moments == sorted(moments)
    for row in rows:
        for when in ("before", "after"):
            low, middle, high = (
                float(row[f"plate_temp_{part}_c"]) for part in (f"{when}_low", when, f"{when}_high")
            )
            assert low <= middle <= high


def test_the_sheet_shows_curves_ranges_and_tables(fitted: Fitted) -> None:
    page = (fitted.folder / "fit.html").read_text("utf-8")
    assert page.count('role="img"') == 3
    for label in ("Each range after the fit", "The plate of each day as read", "Drying times as"):
        assert f'aria-label="{label}' in page
    assert page.count("<summary>The same as a table</summary>") == 2
    assert "disagrees" in page
    assert (fitted.folder / "fit.svg").read_text("utf-8").startswith("<?xml")
    assert len((fitted.folder / "ranges.csv").read_text("utf-8").splitlines()) == 2 + len(OWN)


def test_a_dry_run_keeps_nothing_and_forgetting_takes_the_fit_away(
    fitted: Fitted, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notes = tmp_path / "notes.sqlite"
    notes.write_bytes((fitted.folder / "notes.sqlite").read_bytes())
    monkeypatch.setenv("DRYBOX_NOTES", str(notes))
    assert "Forgotten: the fit of box 'steel box'" in answer("calibrate", fitted.event, "--forget")
    assert "Not kept (--dry-run)" in answer("calibrate", fitted.event, "--dry-run")
    assert "No fit of box 'steel box'" in answer("calibrate", fitted.event, "--forget")


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        (["plate 51C --at 11:00"], "there is only 1 reading"),
        (["plate 51C --at 11:00", "plate 57C --at 12:00"], "there are only 2 readings"),
        ([f"plate 51C --at 11:{minute:02}" for minute in range(6)], "is the thermometer stuck?"),
    ],
)
def test_too_little_to_learn_is_said_and_changes_nothing(
    lines: list[str], why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    event = write_event(tmp_path)
    for line in lines:
        answer("note", *line.split(), "--date", "2027-06-12", "--event", str(event))
    sheet, series = tmp_path / "fit.html", tmp_path / "fit.csv"
    ask = ["calibrate", str(event), "--sheet", str(sheet), "--series", str(series)]
    words = " ".join(answer(*ask).split())
    assert "Too little to learn box and paper from" in words
    assert why in words
    assert "The usual values stay" in words
    assert "Kept for" not in words
    assert "What the measurements say" in sheet.read_text("utf-8")
    assert series.read_text("utf-8").startswith("at,unix_s,plate_temp_read_c")
    found = json.loads(answer("check", str(event), "--format", "json"))
    assert not any("fit of" in text for text in found["assumptions"])


def test_a_picture_of_no_plate_is_refused_before_a_fit_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    event = write_event(tmp_path)
    for mass in ("5.7g", "5.9g", "6.0g"):
        line = ["note", "weighed", "squeegeed", mass, "--date", "2027-06-12", "--at", "11:00"]
        answer(*line, "--event", str(event))
    plot = tmp_path / "fit.png"
    assert main(["calibrate", str(event), "--plot", str(plot)]) == 3
    assert "no plate reading was fitted" in capsys.readouterr().err
    assert not plot.exists()
    assert "No fit of" in answer("calibrate", str(event), "--forget")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--series", "notes.csv"], "notes.csv holds the field notes"),
        (["--table", "notes.csv"], "notes.csv holds the field notes"),
        (["--series", "forecast.csv"], "forecast.csv is also read for this answer"),
        (["--series", "curves.txt"], "curves.txt does not end in .csv"),
        (["--forget", "--dry-run"], "both --forget and --dry-run are given"),
        (["--uncalibrated"], "calibrate stands on no fit"),
    ],
)
def test_calibrate_replaces_nothing_that_it_reads(
    more: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Captured,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRYBOX_NOTES", "notes.csv")
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    assert main(["init", "."]) == 0
    answer("note", "plate", "51C", "--date", "2027-06-12", "--at", "11:00", "--event", "fair.toml")
    capsys.readouterr()
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert main(["calibrate", "fair.toml", *more, "--force"]) in (2, 4)
    assert said in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_print_is_dry_after_it_was_laid_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
    day = ("--date", "2027-06-12", "--timezone", "UTC")
    answer("note", "laid", "50", "--at", "12:00", *day)
    assert "No laying-on of 50" in answer("note", "dry", "50", "--at", "11:00", *day)
    assert "laid on before" in answer("note", "laid", "50", "--at", "12:10", *day)
    assert "No laying-on" in answer("note", "dry", "50", "--at", "12:30", "--box", "red", *day)
    assert "No laying-on" not in answer("note", "dry", "50", "--at", "12:30", *day)
    assert "laid on before" not in answer("note", "laid", "50", "--at", "13:00", *day)


def test_a_plate_reading_of_the_day_counts_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: NOW_S + 100_000.0)
    event = str(write_event(tmp_path))
    asked = ("dry", event, "--at", "13:30", "--ways", "sun plate", "--format", "json")

    def dried(*options: str) -> dict[str, Any]:
        return dict(json.loads(answer(*asked, *options)))

    def likely(found: dict[str, Any]) -> float:
        return float(found["result"]["ways"][0]["minutes"]["p50"])

    untold = dried()
    for at, read in (("13:00", "57C"), ("13:20", "58C"), ("13:25", "110C")):
        answer("note", "plate", read, "--at", at, "--date", "2027-06-19", "--event", event)
    cooler = dried()
    assert likely(cooler) > likely(untold)
    echoed = [one["value"] for one in cooler["inputs"] if one["key"].startswith("note.")]
    assert echoed == [57.0, 58.0, 110.0]
    assert any("of the plate, 13:00, 13:20, the box" in said for said in cooler["assumptions"])
    odd = [said for said in cooler["warnings"] if "for nothing" in said]
    assert len(odd) == 1
    assert "110 °C at 13:25" in odd[0]
    without = dried("--uncalibrated")
    assert without["result"] == untold["result"]
    assert any("of the box is left out" in said for said in without["assumptions"])


def test_regression_two_noted_days_read_as_before(made: Fitted) -> None:
    golden("calibrate", re.sub(r"\b[0-9a-f]{12}\b", "0123456789ab", made.text))  # ids are drawn
