from __future__ import annotations

import csv
from datetime import datetime
from pathlib import Path

import pytest

from tests.running import DEMO, golden, plain, ran, record, refused, said, table

KEYS = (
    "changes",
    "water_per_change_l",
    "water_total_l",
    "minutes",
    "residual_g_m2",
    "target_g_m2",
    "reached",
)


def test_the_record_has_the_keys_promised_and_they_agree() -> None:
    result = record("wash", DEMO, "--prints", "4", "--wash-aid")["result"]
    assert set(KEYS) <= set(result)
    assert len(result["residual_g_m2"]) == result["changes"]
    total = result["changes"] * result["water_per_change_l"]
    assert result["water_total_l"] == pytest.approx(total, rel=1e-6)
    assert result["reached"] is (result["residual_g_m2"][-1] <= result["target_g_m2"])
    assert set(result["residual_end_g_m2"]) == {"p10", "p50", "p90"}


def test_an_event_short_of_water_is_washed_as_its_plan_washes(tmp_path: Path) -> None:
    """It had been told the least time, in more water than the day has."""
    event = """\
place = { coordinates = "47.2, 12.3" }
event = { date = "2027-06-12", opens = "10:00", closes = "13:00", every = "45 min", water = "3 L" }
weather = { sky = "clear" }
"""
    (tmp_path / "fair.toml").write_text(event, encoding="utf-8")
    asked = str(tmp_path / "fair.toml")
    washed = record("wash", asked)["result"]
    first = record("plan", asked, "--members", "20", "--no-what-if")["result"]["sitters"][0]
    begins, ends = (datetime.fromisoformat(first[key]) for key in ("wash_from_at", "washed_at"))
    assert washed["goal"] == "least water"
    assert (ends - begins).total_seconds() / 60 == pytest.approx(washed["minutes"], abs=0.05)
    assert (
        record("wash", asked, "--time", "2 h", "--goal", "least-time")["result"]["minutes"]
        < (washed["minutes"])
    )


def test_it_works_without_an_event_and_echoes_every_value_with_its_source() -> None:
    found = record("wash", "--water", "3 l", "--target", "0.03 g/m2", "--size", "8x10 in")
    values = {item["key"]: item for item in found["inputs"]}
    assert values["process.wash.water"]["source"] == "option --water"
    assert values["process.wash.water"]["value"] == pytest.approx(3000.0)
    assert values["process.wash.water"]["unit"] == "ml"
    assert values["process.wash.time_constant"]["source"].startswith("table washing: short_fix")
    assert found["result"]["target_g_m2"] == pytest.approx(0.03)


def test_the_text_begins_with_what_wet_hands_need() -> None:
    out = plain("wash", "--prints", "8")
    assert out.startswith("Wash 8 prints together in ")
    assert "Never add a freshly fixed" in out
    assert "no published limit for paper prints" in plain("wash", "--prints", "8", "--why")


def test_an_under_washed_print_comes_with_a_note_for_home() -> None:
    found = record("wash", "--fixing", "long", "--time", "15 min")
    assert found["result"]["reached"] is False
    assert found["result"]["rewash_changes"] > 0
    assert "Within two weeks" in found["result"]["hand_over_text"]
    assert any("out of reach" in warning for warning in found["warnings"])


def test_us_units_are_for_the_text_only() -> None:
    text = said("wash", "--prints", "8", "--time", "20 min", "--units", "us")
    assert " gal" in text
    assert " L " not in text
    metric, us = (record("wash", "--prints", "8", "--units", u)["result"] for u in ("metric", "us"))
    assert metric == us


def test_csv_gives_bath_by_bath() -> None:
    rows = table("wash", "--wash-aid")
    assert [row["step"] for row in rows[:3]] == ["change 1", "wash aid", "change 2"]


def test_a_series_follows_the_wash_from_the_time_given(tmp_path: Path) -> None:
    series = tmp_path / "wash.csv"
    found = record("wash", DEMO, "--at", "13:00", "--series", str(series))
    rows = list(csv.DictReader(series.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == found["result"]["changes"]
    assert float(rows[-1]["residual_g_m2"]) == pytest.approx(
        found["result"]["residual_g_m2"][-1], rel=1e-4
    )


@pytest.mark.parametrize(
    ("args", "status", "said"),
    [
        (["--water", "3"], 2, 'has no unit; write it like "3 l" (option --water)'),
        (["--target", "museum"], 2, "target 'museum' is not known"),
        (["--fixing", "medium"], 2, "write short or long (option --fixing)"),
        (["--water", "50 ml"], 3, "too little for a wash"),
        (["--time", "1 min"], 3, "too short for a wash"),
        (["--series", "x.csv"], 2, "needs a day to stand on"),
        (["--prints", "0"], 2, "whole number from 1"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], status: int, said: str) -> None:
    assert said in refused("wash", *args, status=status)


def test_the_same_seed_gives_the_same_answer() -> None:
    first, again = (ran("wash", "--seed", "7", "--format", "json") for _ in range(2))
    assert first[0] == 0
    assert first == again


def test_warm_water_comes_with_its_caution() -> None:
    """As baths and plan have it: wet gelatin is softer in it."""
    for temp, warned in (("31C", True), ("18C", False)):
        text = " ".join(said("wash", "--water-temperature", temp).split())
        assert ("wet gelatin is softer" in text) is warned


def test_prints_that_will_fade_are_said_by_their_share() -> None:
    found = record("wash", "--prints", "8")
    over = 10 - round(10 * found["result"]["chance_frac"])
    assert over >= 2
    said = f"About {over} prints in 10 keep more fixer salt than the aim and will fade or stain"
    assert any(text.startswith(said) for text in found["warnings"])
    assert not any("fade" in text for text in record("wash", "--sure")["warnings"])


def test_the_wash_aid_counts_among_the_water_at_hand() -> None:
    args = ("--water", "6 l", "--wash-aid", "--goal", "best", "--prints", "4")
    found = record("wash", *args)["result"]
    assert found["wash_aid_l"] > 0
    assert found["water_total_l"] + found["wash_aid_l"] <= 6.0 + 1e-9


def test_regression_the_demo_reads_as_before() -> None:
    golden("wash_demo", said("wash", DEMO))
