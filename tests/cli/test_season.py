from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from drybox.cli import main
from drybox.inputs.event.tour import read_tour
from drybox.reports.answers.season import _most_and_least, hour_runs
from tests.running import DEMO, golden, plain, pvlib_data, record, refused, said

GREENSBORO = pvlib_data("723170TYA.CSV")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def greensboro() -> dict[str, Any]:
    """Return the record of one season, worked out once for all tests here."""
    return record("season", "--weather", GREENSBORO)


def test_one_command_and_a_typical_year_are_enough(greensboro: dict[str, Any]) -> None:
    assert greensboro["command"] == "season"
    assert greensboro["place"]["latitude_deg"] == 36.1
    result = greensboro["result"]
    for row in result["rows"]:
        assert {"month", "hour", "minutes", "works_frac"} <= set(row)
        assert set(row["minutes"]) == {"p10", "p50", "p90"}
        assert 0 <= row["works_frac"] <= 1
    assert [month["month"] for month in result["months"]] == list(range(1, 13))
    assert result["weather"]["kind"] == "typical_year"
    assert result["wait_minutes"] == 45
    june = {row["hour"]: row for row in result["rows"] if row["month"] == 6}
    assert june[13]["works_frac"] > 0.8
    assert june[13]["minutes"]["p10"] < june[13]["minutes"]["p50"] < june[13]["minutes"]["p90"]
    assert any("what is usual, not a forecast" in text for text in greensboro["assumptions"])
    assert not any("kept_frac" in row and row["kept_frac"] > 1 for row in result["months"])


def test_a_forecast_named_for_a_season_is_refused(capsys: Captured) -> None:
    forecast = str(Path(DEMO).with_name("forecast.csv"))
    assert main(["season", DEMO, "--weather", forecast]) == 2
    assert "a forecast of days is no year; name a typical year" in capsys.readouterr().err


@pytest.mark.slow
def test_text_csv_sheet_and_plot(capsys: Captured, tmp_path: Path) -> None:
    sheet, plot = tmp_path / "season.html", tmp_path / "season.svg"
    args = ["season", "--weather", pvlib_data("703165TY.csv"), "--wait", "30min"]
    assert main([*args, "--sheet", str(sheet), "--plot", str(plot)]) == 0
    text = capsys.readouterr().out
    assert "dry within 30 min in" in text
    assert text.count("Hour") == 1, "one grid"
    assert "Of 100 laying-ons on the plate, dry within 30 min" in text
    assert "Month by month" not in text
    assert "add --why" in text
    assert main([*args, "--why"]) == 0
    whole = capsys.readouterr().out
    assert "Month by month" in whole
    assert "Minutes on a line in the shade" in whole
    assert max(map(len, (text + whole).splitlines())) <= 80
    page = sheet.read_text(encoding="utf-8")
    assert page.count('<table class="months">') == 3  # thirteen columns fit a phone
    assert "Dec: <bdi>" not in page  # no month hides under its hour
    assert "The season" in page
    assert "Of 100 laying-ons on the plate" in page
    assert "framed: worth it" in plot.read_text(encoding="utf-8")
    assert main([*args, "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {"month", "hour", "minutes_p50", "works_frac", "worth"} <= set(rows[0])
    assert len(rows) > 100


@pytest.mark.parametrize(
    ("args", "why"),
    [
        ([DEMO], "A forecast holds for its own days only"),
        (["--latitude", "47.2", "--longitude", "12.3"], "No typical year was given"),
    ],
    ids=["forecast", "place"],
)
def test_an_event_without_a_typical_year_is_under_a_clear_sky(args: list[str], why: str) -> None:
    found = record("season", *args)
    assert found["result"]["weather"]["kind"] == "steady"
    assert any(why in text for text in found["assumptions"])
    assert not any("forecast" in text.lower() for text in found["warnings"])


def test_air_told_for_the_fair_is_named_in_the_first_lines(capsys: Captured) -> None:
    place = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-07-24"]
    assert main(["season", *place, "--air-temp", "21 °C"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "In every month the air is as told for the fair: 21 °C." in text
    assert text.index("as told for the fair") < text.index("Best month")


def test_a_longer_wait_works_more_often(greensboro: dict[str, Any]) -> None:
    patient = record("season", "--weather", GREENSBORO, "--wait", "2 h")["result"]
    assert patient["wait_minutes"] == 120
    assert patient["works_hours"] > greensboro["result"]["works_hours"]


@pytest.mark.parametrize(
    ("args", "part", "status"),
    [
        (["season"], "latitude is missing", 2),
        (["season", "--weather", GREENSBORO, "--at", "13:00"], "no single time", 2),
        (["season", "--weather", GREENSBORO, "--series", "x.csv"], "no time series", 2),
        (["season", "--weather", GREENSBORO, "--wait", "45"], "", 0),
        (["season", "--weather", GREENSBORO, "--wait", "-5 min"], "outside", 2),
        (["season", "--weather", "nowhere.epw"], "no such file", 4),
        (["season", "--weather", GREENSBORO, "--plot", "x.gif"], "does not end in", 2),
        (["season", DEMO, "--tour", "t.csv"], "both an event and a tour", 2),
        (["season", "--tour", "nowhere.csv"], "no such file", 4),
    ],
)
def test_faults_are_one_line(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: list[str],
    part: str, status: int,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert main(args) == status
    captured = capsys.readouterr()
    assert part in captured.err
    assert len(captured.err.splitlines()) == (1 if status else 0)
    assert list(tmp_path.iterdir()) == []


def tour_file(folder: Path, text: str) -> Path:
    path = folder / "tour.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.slow
def test_a_tour_is_each_fairs_own_season(
    capsys: Captured, tmp_path: Path, greensboro: dict[str, Any]
) -> None:
    (tmp_path / "year.csv").write_bytes(Path(GREENSBORO).read_bytes())
    for file in Path(DEMO).parent.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    path = tour_file(
        tmp_path,
        "name,event,coordinates,elevation,date,weather\n"
        'Green,,"36.1, -79.95",273 m,2027-06-12,year.csv\n'
        "Larkmead,fair.toml,,,,\n"
        "=Lost,,,,2027-06-12,gone.epw\n",
    )
    found = record("season", "--tour", str(path))
    green, larkmead, lost = found["result"]["stops"]
    assert green["works_frac"] == greensboro["result"]["months"][5]["works_frac"]
    assert green["minutes"] == greensboro["result"]["months"][5]["minutes"]
    assert larkmead["date"] == "2027-06-12"
    assert larkmead["works_frac"] > 0.8
    assert "gone.epw" in lost["failed"]
    assert any("row 3" in text for text in found["warnings"])
    assert main(["season", "--tour", str(path), "--format", "csv"]) == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert rows[3][0] == "'=Lost"


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("name,place\na,b\n", "column 'place' is not known"),
        ("event,date\nfair.toml,2027-06-12\n", "a column is missing"),
        ("name,date\nA,2027-06-12\n", "a column is missing"),
        ("name,event,date\n", "nothing under it"),
        ("name,coordinates,date\nA,46.9, 13.4,2027-06-12\n", "more or fewer cells"),
        ("name,coordinates,date\nA\n", "more or fewer cells"),
        ('name,coordinates,date\nA,"46.9, 13.4",12/06/2027\n', "date"),
        ('name,coordinates,date\nA,"46.9, 13.4",\n', "has no date"),
        ("name,event,date\nA,,2027-06-12\n", "neither an event file nor a position"),
        ('name;coordinates;date\nA;"95, 13";2027-06-12\n', "outside -90 to 90"),
        ("name,event,date\n" + "A,x.toml,2027-06-12\n" * 501, "more than 500"),
    ],
)
def test_a_bad_tour_is_refused_with_its_row(tmp_path: Path, text: str, part: str) -> None:
    error = refused("season", "--tour", str(tour_file(tmp_path, text)))
    assert part in error
    assert "tour.csv" in error


def test_a_tour_by_semicolons_keeps_what_each_row_says(tmp_path: Path) -> None:
    text = (
        "# summer\nName; Latitude; Longitude; Elevation; Date\nA; 46,9; 13,4; 450 m; 2027-06-12\n"
    )
    (stop,) = read_tour(tour_file(tmp_path, text))
    assert stop.overrides == {
        "place.latitude": 46.9,
        "place.longitude": 13.4,
        "place.elevation": "450 m",
        "event.date": "2027-06-12",
    }


def test_hours_are_told_as_stretches() -> None:
    assert hour_runs([9]) == "9–10"
    assert hour_runs(range(24)) == "0–24"


def test_fairs_that_work_alike_are_not_told_apart() -> None:
    alike = [{"name": name, "works_frac": share} for name, share in (("A", 1.0), ("B", 0.998))]
    assert "alike at every fair: 100 %" in _most_and_least(alike, "45 min")
    apart = [{"name": name, "works_frac": share} for name, share in (("A", 0.9), ("B", 0.4))]
    assert "most at A (90 % of laying-ons dry in 45 min), least at B (40 %)." in _most_and_least(
        apart, "45 min"
    )


def test_regression_a_station_reads_as_before() -> None:
    golden("season_greensboro", said("season", "--weather", GREENSBORO))


def test_rain_of_the_fair_is_no_rain_of_the_year_and_equal_months_are_not_ranked(
    tmp_path: Path,
) -> None:
    """The plate's share of a rainy sky had stood there without a word of rain."""
    fair = """\
place = { coordinates = "1.2, 103.9" }
event = { date = "2027-06-12", opens = "11:00", closes = "14:00" }
paper = { stock = "resin coated" }
weather = { sky = "rain", air_temp = "28 °C", humidity = "50 %" }
"""
    (tmp_path / "fair.toml").write_text(fair, encoding="utf-8")
    text = plain("season", str(tmp_path / "fair.toml"))
    assert "The rain told for the fair is left out" in text
    assert "From 11:00 to 14:00 100 % of all laying-ons work in every month." in text
    assert "Best month" not in text
