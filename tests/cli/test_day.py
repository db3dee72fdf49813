from __future__ import annotations

import re
from pathlib import Path

import pytest

import drybox
from tests.running import DEMO, golden, plain, record, refused, said, table

FEW = ("--members", "20")


def test_the_record_has_the_moments_in_order_with_codes() -> None:
    result = record("day", DEMO, *FEW)["result"]
    times = [moment["at"] for moment in result["moments"]]
    assert times == sorted(times)
    codes = {moment["code"] for moment in result["moments"]}
    assert codes >= {"set_out", "first_sitter", "break", "turn", "box_in_shade", "camera_in_sun"}
    assert codes >= {"last_load", "pack_up"}
    assert result["metal_temp_c"] > 50.0
    assert result["water_kg"] > 1.0
    assert result["wind"]["gust_m_s"] > 0.0


def test_the_text_is_the_day_in_about_a_dozen_lines() -> None:
    text = said("day", DEMO, *FEW)
    assert max(len(line) for line in text.splitlines()) <= 80
    flat = plain("day", DEMO, *FEW)
    assert flat.startswith("Set the box out at ")
    for words in ("13:00 to 13:30 Break", "behind the clock tower", "sun on the sitter", "Metal"):
        assert words.lower() in flat.lower()
    assert len(record("day", DEMO, *FEW)["result"]["moments"]) <= 14


@pytest.mark.slow
def test_setout_and_day_agree_where_prints_lie_on_the_plate_with_luck_only() -> None:
    """A damp, closed sky: not even half are dry in time, yet nothing else there dries them."""
    market = str(Path(__file__).parents[1] / "events" / "damp_overcast_market.toml")
    moments = record("day", market, *FEW)["result"]["moments"]
    (out,) = [one for one in moments if one["code"] == "set_out"]
    found = record("setout", market, *FEW)["result"]
    assert out["at"] == found["set_out_at"]
    assert found["first_load_at"] is None
    said_out, said_day = (plain(one, market, *FEW) for one in ("setout", "day"))
    assert "No print is likely to dry on the sun plate" in said_out
    assert "one in ten is dry after" in said_out
    assert "Dry only with luck by the time promised: tickets" in said_day
    assert "it stays hot" not in said_day


def test_a_cool_plate_is_not_said_to_stay_hot() -> None:
    """A plate kept level by the wind in March takes hours, and burns nobody."""
    told = {
        "place.latitude": 55.0,
        "place.longitude": 0.0,
        "place.timezone": "UTC",
        "event.date": "2027-03-16",
        "event.ways": ["sun plate"],
        "event.wait_limit": "6 h",
        "weather.sky": "clear",
        "weather.air_temp": "8 °C",
        "weather.humidity": "40 %",
        "weather.wind": "12 m/s",
    }
    flat = " ".join(drybox.answer(drybox.day(drybox.load_event(None, told), members=20)).lead)
    assert "Set the box out at" in flat
    assert "burns in" not in flat
    assert "Pack up." in flat
    assert "it stays hot" in plain("day", DEMO, *FEW)


def test_a_day_by_the_powered_plate_says_how_it_is_promised_and_minds_its_current() -> None:
    told = {
        "place.latitude": 47.0,
        "place.longitude": 13.0,
        "place.timezone": "Europe/Vienna",
        "event.date": "2027-10-17",
        "event.closes": "13:00",
        "weather.sky": "overcast",
        "weather.air_temp": "9 °C",
        "weather.humidity": "75 %",
        "powered.plate_power": "150 W",
        "powered.battery": "500 Wh",
    }
    found = drybox.answer(drybox.day(drybox.load_event(None, told), members=20))
    assert any(text.startswith("Electricity and wet baths") for text in found.cautions)
    (first,) = (one for one in found.result["moments"] if one["code"] == "first_sitter")
    assert first["hand_over"] in ("touch_dry", "pick_up")
    said = " ".join(found.lead)
    assert re.search(
        r"The first sitter, ticket 1, promise \d\d:\d\d \((touch dry|to fetch)\)", said
    )


def test_csv_and_a_table_have_a_row_for_each_moment(tmp_path: Path) -> None:
    rows = table("day", DEMO, *FEW)
    assert len(rows) == len(record("day", DEMO, *FEW)["result"]["moments"])
    assert {"at", "until_at", "what", "said"} <= set(rows[0])
    path = tmp_path / "day.csv"
    said("day", DEMO, *FEW, "--table", str(path))
    assert path.read_text("utf-8-sig").count("\n") >= len(rows)


@pytest.mark.parametrize(
    ("args", "words"),
    [(["--members", "3"], "outside 20 to 2000"), (["--at", "12:00"], "a day is the whole day")],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], words: str) -> None:
    assert words in refused("day", DEMO, *args)


def test_regression_the_demo_reads_as_before() -> None:
    golden("day_demo", said("day", DEMO, *FEW))
