"""Files named on the command line: written whole, refused early, never over what was read."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from icalendar import Calendar

from drybox.cli import main

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo" / "fair.toml"
PLAIN = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12", "--sky", "clear"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("out")
    files = [
        *("--sheet", str(folder / "day.html"), "--calendar", str(folder / "day.ics")),
        *("--table", str(folder / "day.csv"), "--plot", str(folder / "day.svg")),
    ]
    assert main(["setout", str(DEMO), "--members", "20", *files]) == 0
    return folder


def test_all_four_files_are_whole(written: Path) -> None:
    assert {path.name for path in written.iterdir()} == {
        *("day.html", "day.ics", "day.csv", "day.svg")
    }
    page = (written / "day.html").read_text(encoding="utf-8")
    assert page.rstrip().endswith("</html>")
    assert len(page.encode()) < 300_000
    for part in ("next", "aim", "day", "pull", "thermometer", "cautions", "sources"):
        assert f'<section id="{part}"' in page
    assert "Early summer fair" in page
    assert Calendar.from_ical((written / "day.ics").read_bytes()).walk("VEVENT")
    rows = list(csv.DictReader((written / "day.csv").read_text(encoding="utf-8").splitlines()))
    assert rows
    assert set(rows[0]) >= {"at", "plate_temp_c"}
    assert (written / "day.svg").read_text(encoding="utf-8").count("<text") > 5


@pytest.mark.parametrize(
    ("option", "name", "status", "said"),
    [
        ("--sheet", "day.txt", 2, "does not end in .html"),
        ("--plot", "day.gif", 2, "does not end in .png or .svg"),
        ("--sheet", "con.html", 4, "reserved on Windows"),
        ("--sheet", "a:b.html", 4, "holds a sign that some systems forbid"),
        ("--sheet", "nowhere/day.html", 4, "No such file or directory"),
        ("--sheet", "there.html", 4, "exists; choose another name or add --force"),
    ],
)
def test_a_bad_name_is_refused_before_the_work(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    option: str,
    name: str,
    status: int,
    said: str,
) -> None:
    (tmp_path / "there.html").write_text("mine", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(
        "drybox.planning.one_print.set_out.plan_set_out", None
    )  # would fault with 1
    assert main(["setout", *PLAIN, option, name]) == status
    heard = capsys.readouterr()
    assert said in heard.err
    assert heard.out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["there.html"]
    assert (tmp_path / "there.html").read_text(encoding="utf-8") == "mine"


def test_one_name_for_two_files_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    same = str(tmp_path / "day.csv")
    assert main(["aim", *PLAIN, "--table", same, "--series", same]) == 2
    assert "named twice" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_what_was_read_is_never_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    event = tmp_path / "fair.toml"
    event.write_bytes(DEMO.read_bytes())
    forecast = tmp_path / "forecast.csv"
    forecast.write_bytes(DEMO.with_name("forecast.csv").read_bytes())
    before = forecast.read_bytes()
    assert main(["aim", str(event), "--table", str(forecast), "--force"]) == 4
    assert "also read for this answer" in capsys.readouterr().err
    assert forecast.read_bytes() == before


def test_a_sheet_without_sun_still_says_how_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    night = ["--latitude", "69.6", "--longitude", "18.9", "--date", "2027-12-21", "--sky", "clear"]
    sheet = tmp_path / "night.html"
    status = main(
        ["dry", *night, "--ways", "line in shade", "--members", "20", "--sheet", str(sheet)]
    )
    assert status == 0
    page = sheet.read_text(encoding="utf-8")
    assert '<section id="dry"' in page
    assert '<section id="aim"' not in page
    assert "line in the shade" in page
    capsys.readouterr()
