from __future__ import annotations

import datetime
import re
import shutil
from pathlib import Path

import pytest

from drybox.cli import main
from drybox.inputs.event.event import load_event
from drybox.tables import shipped_dir
from tests.running import event_file, record

Captured = pytest.CaptureFixture[str]


def test_the_demo_is_copied_and_can_be_checked(tmp_path: Path, capsys: Captured) -> None:
    folder = tmp_path / "a new" / "fair"
    assert main(["init", str(folder)]) == 0
    said = capsys.readouterr().out
    demo = shipped_dir("demo")
    assert sorted(p.name for p in folder.iterdir()) == sorted(p.name for p in demo.iterdir())
    for path in folder.iterdir():
        assert path.read_bytes() == (demo / path.name).read_bytes()
        assert path.name in said
    (event,) = folder.glob("*.toml")
    assert f"drybox check '{event}'" in said
    assert main(["check", str(event)]) == 0


def test_the_tanks_and_the_wash_written_as_remarks_can_be_used(tmp_path: Path) -> None:
    text = (shipped_dir("demo") / "fair.toml").read_text(encoding="utf-8")
    head, tail = text.split("[process]")
    process, tail = tail.split("[event]", 1)
    told = re.sub(r"(?m)^# (?=\[|\w+ = )", "", process)
    shutil.copy(shipped_dir("demo") / "forecast.csv", tmp_path)
    event = event_file(tmp_path, f"{head}[process]{told}[event]{tail}")
    inputs = {row["key"]: row["value"] for row in record("check", str(event))["inputs"]}
    assert inputs["process.bath.0.name"] == "fixer"
    assert inputs["process.bath.0.volume"] == 1200.0
    assert inputs["process.wash.vessel"] == 2000.0
    assert inputs["process.wash.water_temperature"] == 12.0
    assert inputs["process.temperature"] == 18.0


def test_nothing_is_replaced_and_nothing_is_added(tmp_path: Path, capsys: Captured) -> None:
    name = sorted(path.name for path in shipped_dir("demo").iterdir())[-1]
    (tmp_path / name).write_text("mine")
    assert main(["init", str(tmp_path)]) == 4
    out, err = capsys.readouterr()
    assert (out, "exists" in err) == ("", True)
    assert (tmp_path / name).read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_folder_named_like_an_event_file_is_refused(tmp_path: Path, capsys: Captured) -> None:
    assert main(["init", str(tmp_path / "fair.toml")]) == 2
    assert "is named like a file; name a folder: fair (DIR)" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_this_folder_is_called_so(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["init", "."]) == 0
    assert "into this folder.\n" in capsys.readouterr().out


def test_a_file_in_the_way_of_the_folder_is_named(tmp_path: Path, capsys: Captured) -> None:
    (tmp_path / "fair").write_text("mine")
    assert main(["init", str(tmp_path / "fair")]) == 4
    assert "cannot make folder" in capsys.readouterr().err


def test_the_demo_says_that_it_is_invented(tmp_path: Path) -> None:
    (event,) = shipped_dir("demo").glob("*.toml")
    assert "invented" in event.read_text("utf-8").lower()


def test_the_names_that_notes_are_kept_by_stand_ready_in_the_demo(tmp_path: Path) -> None:
    (demo,) = shipped_dir("demo").glob("*.toml")
    text = demo.read_text("utf-8").replace("\n# name = ", "\nname = ")
    (tmp_path / demo.name).write_text(text, "utf-8")
    shutil.copy(demo.with_name("forecast.csv"), tmp_path)
    event = load_event(tmp_path / demo.name, {})
    assert (event.box.name, event.paper.name) == ("long bin", "warm matt")


def test_a_practice_fair_is_on_its_last_day_past(tmp_path: Path, capsys: Captured) -> None:
    folder = tmp_path / "fair"
    assert main(["init", str(folder), "--practice"]) == 0
    event = load_event(folder / "fair.toml")
    assert (event.date.month, event.date.day) == (6, 12)
    assert -366 <= (event.date - datetime.date.today()).days < 0
    assert event.weather.kind == "forecast"
    assert not event.warnings, "the forecast is of its day"


def test_a_name_that_commands_a_terminal_is_said_without_its_signs(
    tmp_path: Path, capsys: Captured
) -> None:
    assert main(["init", str(tmp_path / "x\x1b[2J\u202ey")]) == 0
    said = capsys.readouterr().out
    assert "x [2J y" in said
    assert all(sign.isprintable() or sign == "\n" for sign in said)
