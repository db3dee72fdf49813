from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from drybox.cli import main
from drybox.inputs.event.event import load_event
from drybox.reports.answers.check import check_answer
from drybox.tables import shipped_dir
from tests.running import DEMO, golden, plain, record, refused, said, table

Captured = pytest.CaptureFixture[str]
HERE = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12"]


def test_the_demo_is_read_and_every_value_has_its_source() -> None:
    found = record("check", DEMO)
    values = {item["key"]: item for item in found["inputs"]}
    assert values["place.latitude"]["source"].startswith(f"file {Path(DEMO).name}, line ")
    assert values["place.latitude"]["unit"] == "deg"
    assert all(item["source"] for item in found["inputs"])
    result = found["result"]
    assert result["values_given"] + result["values_assumed"] == len(found["inputs"])
    assert result["opens_at"] < result["closes_at"]
    assert result["opens_at"].startswith(result["date"])


def test_the_text_says_first_whether_it_can_be_used() -> None:
    out = said("check", DEMO)
    assert out.startswith(f"{Path(DEMO).name} can be used: ")
    for part in ("Weather:", "What this stands on"):
        assert part in out
    assert "place.latitude" not in out
    assert "'drybox check' lists them" not in out, "it does so itself"
    assert len(out.splitlines()) <= 30


def test_every_value_is_listed_where_it_is_asked_for() -> None:
    out = said("check", DEMO, "--values")
    assert "Every value in use" in out
    assert "place.latitude" in out


def test_a_time_which_would_do_nothing_is_refused() -> None:
    assert "check is for the whole day" in refused("check", DEMO, "--at", "13:20")


def test_csv_lists_every_value() -> None:
    rows = table("check", *HERE)
    latitude = next(row for row in rows if row["key"] == "place.latitude")
    assert latitude == {
        "key": "place.latitude",
        "value": "47.2",
        "unit": "deg",
        "source": "option --latitude",
    }


def test_an_option_takes_the_place_of_the_file() -> None:
    args = ["--latitude", "46.9", "--longitude", "13.5", "--elevation", "900", "--sky", "hazy"]
    found = record("check", DEMO, *args)
    assert found["place"]["latitude_deg"] == 46.9
    assert found["place"]["elevation_m"] == 900.0
    values = {item["key"]: item for item in found["inputs"]}
    assert values["place.elevation"]["source"] == "option --elevation"
    assert values["weather.sky"]["source"] == "option --sky"


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        ([], 2, "the latitude is missing"),
        (["no.toml"], 4, "there is no file no.toml"),
        (["https://example.org/fair.toml"], 2, "is a web address"),
        (["--latitude", "95", "--longitude", "3", "--date", "2027-06-12"], 2, "-90 to 90"),
        (["--latitude", "nan", "--longitude", "3", "--date", "2027-06-12"], 2, "latitude"),
        (["--latitude", "1e400", "--longitude", "3", "--date", "2027-06-12"], 2, "latitude"),
        (["--latitude", "48", "--date", "2027-06-12"], 2, "longitude"),
        ([*HERE, "--date", "06/07/2027"], 2, "option --date"),
        ([*HERE, "--date", "2027-02-29"], 2, "option --date"),
        ([*HERE, "--timezone", "Mars/X"], 2, "option --timezone"),
        ([*HERE, "--sky", "clera"], 2, "clear"),
        ([*HERE, "--weather", "nothing.csv"], 4, "nothing.csv"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_line(args: list[str], status: int, words: str) -> None:
    assert words in refused("check", *args, status=status)


def test_a_forecast_named_by_an_option_is_found_from_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    (forecast,) = shipped_dir("demo").glob("*.csv")
    (tmp_path / "sky.csv").write_bytes(forecast.read_bytes())
    monkeypatch.chdir(tmp_path)
    assert main(["check", DEMO, "--weather", "sky.csv", "--format", "json"]) == 0
    assert "sky.csv" in json.loads(capsys.readouterr().out)["result"]["weather"]["source"]


def test_an_event_all_of_whose_figures_are_ones_own_is_asked_for_none() -> None:
    event = load_event(DEMO)
    own = tuple(replace(value, source="file fair.toml, line 1") for value in event.resolved)
    asked, none = (
        " ".join(check_answer(one).lead) for one in (event, replace(event, resolved=own))
    )
    assert "box.back_loss 6.5 W/m²K" in asked
    assert "common practice" not in none


def test_regression_the_demo_reads_as_before() -> None:
    golden("check_demo", said("check", DEMO))


def test_us_units_reach_the_weather_and_the_figures_of_the_box() -> None:
    text = plain("check", *HERE, "--air-temp", "20 °C", "--units", "us")
    assert "68 °F" in text
    assert "box.back_most_temp 212 °F" in text
    assert "°C" not in text
