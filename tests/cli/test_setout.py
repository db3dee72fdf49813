from __future__ import annotations

import csv
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from drybox.api import load_event, set_out
from drybox.reports.answers.setout import setout_answer
from drybox.reports.text.phrases import clock
from drybox.said import answer
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO, golden, plain, ran, record, refused, said, table

FEW = ("--members", "30")
KEYS = {"sunrise_at", "sunset_at", "set_out_at", "first_load_at", "last_load_at", "plate"}
PLATE_KEYS = {"at", "plate_irradiance_w_m2", "plate_temp_c", "air_temp_c"}


def test_the_record_has_the_keys_promised_in_order_of_the_day() -> None:
    result = record("setout", DEMO, *FEW)["result"]
    assert set(result) >= KEYS
    times = [
        result[key]
        for key in ("sunrise_at", "set_out_at", "first_load_at", "last_load_at", "sunset_at")
    ]
    assert times == sorted(times)
    assert all(set(row) == PLATE_KEYS for row in result["plate"])
    moments = [row["at"] for row in result["plate"]]
    assert moments == sorted(moments)
    assert moments[0].endswith(("00+02:00", "15+02:00", "30+02:00", "45+02:00"))


def test_the_plate_is_cold_before_it_is_set_out_and_warm_at_the_first_print() -> None:
    result = record("setout", DEMO, *FEW)["result"]
    before = [row for row in result["plate"] if row["at"] < result["set_out_at"]]
    assert all(row["plate_temp_c"] == pytest.approx(row["air_temp_c"], abs=0.2) for row in before)
    first = next(row for row in result["plate"] if row["at"] >= result["first_load_at"])
    assert first["plate_temp_c"] > first["air_temp_c"] + 10


def test_the_text_gives_the_order_first() -> None:
    text = plain("setout", DEMO, *FEW)
    assert text.startswith("Set the box out at ")
    for words in ("face the box to", "Lay prints on from", "The sun rises at", "clock tower"):
        assert words in text
    assert max(len(line) for line in said("setout", DEMO, *FEW).splitlines()) <= 80


def test_loads_between_first_and_last_are_within_the_wait_or_named() -> None:
    result = record("setout", DEMO, *FEW)["result"]
    closes_at = datetime.fromisoformat("2027-06-12T18:00:00+02:00")
    useful = []
    for load in result["loads"]:
        laid_on_at, minutes = datetime.fromisoformat(load["at"]), load["minutes"]["p50"]
        in_time = minutes is not None and laid_on_at + timedelta(minutes=minutes) <= closes_at
        if in_time and minutes <= result["wait_minutes"]:
            useful.append(laid_on_at)
    # of 30 draws, so the middle of three quarter hours counts
    for ours, told in ((useful[0], result["first_load_at"]), (useful[-1], result["last_load_at"])):
        assert abs(ours - datetime.fromisoformat(told)) <= timedelta(minutes=15)
    assert result["first_load_at"] <= result["sure_from_at"] <= result["sure_until_at"]
    assert result["sure_until_at"] <= result["last_load_at"]


def test_a_shorter_wait_never_lengthens_the_useful_day() -> None:
    long, short = (
        record("setout", DEMO, *FEW, "--wait", wait)["result"] for wait in ("60 min", "25 min")
    )
    for first, last in (("first_load_at", "last_load_at"), ("sure_from_at", "sure_until_at")):
        assert short[first] is None or short[first] >= long[first]
        assert short[last] is None or short[last] <= long[last]


def test_under_a_closed_winter_sky_the_plate_is_of_no_use_and_that_is_said() -> None:
    dull = ("--latitude", "52", "--longitude", "5", "--date", "2027-12-12", "--sky", "overcast")
    assert "of no use that day" in plain("setout", *dull, *FEW)
    assert record("setout", *dull, *FEW)["result"]["first_load_at"] is None


def test_where_nothing_is_sure_the_likely_hours_are_told_with_what_nine_in_ten_take() -> None:
    """A clear evening in the polar summer, 13 °C: half of the prints dry in time, not all."""
    north = str(Path(__file__).parents[1] / "events" / "polar_summer.toml")
    found = record("setout", north, *FEW)["result"]
    assert not found["sure"]
    assert found["set_out_at"] < found["first_load_at"] <= found["last_load_at"]
    assert "half of them then dry within 45 min; nine in ten take" in plain("setout", north, *FEW)


def test_csv_us_units_and_series(tmp_path: Path) -> None:
    assert {"at", "plate_temp_c", "minutes_p50"} <= set(table("setout", DEMO, *FEW)[0])
    us = plain("setout", DEMO, *FEW, "--units", "us").partition("Take care")[0]
    assert "°F" in us
    assert "°C" not in us
    path = tmp_path / "day.csv"
    said("setout", DEMO, *FEW, "--series", str(path))
    with path.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert {"sun_elevation_deg", "plate_irradiance_w_m2", "plate_temp_c"} <= set(rows[0])
    status, _, err = ran("setout", DEMO, *FEW, "--series", str(path))
    assert status == 4
    assert "exists; choose another name or add --force" in err


def test_where_the_sun_does_not_rise_or_set() -> None:
    tromso = ("--latitude", "69.65", "--longitude", "18.96")
    status, out, err = ran("setout", *tromso, "--date", "2027-12-21")
    assert (status, out) == (3, "")
    assert "the sun does not rise" in err
    text = plain("setout", *tromso, "--date", "2027-06-21", "--members", "20")
    assert "The sun does not set that day." in text


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--wait", "soon"], "wait 'soon' is not a quantity"),
        (["--wait", "0 min"], "outside 1 min to 24 h"),
        (["--members", "3"], "members 3 is outside 20 to 1000"),
        (["--cloud", "9"], "cloud 9 is outside 0 to 8"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], words: str) -> None:
    assert words in refused("setout", DEMO, *args)


def test_regression_the_demo_reads_as_before() -> None:
    golden("setout_demo", said("setout", DEMO))


@pytest.mark.parametrize(("seed", "wait"), [(1, "27 min"), (3, "39 min")])
def test_no_laying_on_is_named_useful_and_too_long_at_once(seed: int, wait: str) -> None:
    day = {"event.opens": "10:00", "event.closes": "19:00", "weather.sky": "few clouds"}
    aim = {"box.bearing": "SW", "box.tilt": "40 deg"}
    event = load_event(None, SHORT_DAY | day | aim)
    found = set_out(event, wait=wait, members=20, seed=seed)
    assert found.first_load_at is not None
    assert found.last_load_at is not None
    ends = [clock(at, event.place.timezone) for at in (found.first_load_at, found.last_load_at)]
    (text,) = (line for line in answer(found).lead if "Lay prints on" in line)
    assert f"from {ends[0]} to {ends[1]}: half of them" in text
    assert not [at for at in ends if f"except from {at}" in text]


GLASSED = {
    "place.coordinates": "-54.76, -68.583",
    "place.timezone": "America/Argentina/Ushuaia",
    "event.date": "2027-03-07",
    "event.opens": "17:00",
    "event.closes": "19:30",
    "weather.cloud": "1",
    "weather.wind": "4.5 m/s",
    "paper.hardening": "bleached",
    "box.cover": "window glass",
    "box.back": "plywood",
}


def test_a_plate_that_is_only_cool_at_the_closing_is_of_no_use() -> None:
    event = load_event(None, GLASSED)
    found = set_out(event, members=20)
    assert event.closes_at - 900.0 in found.too_hot
    assert event.closes_at not in found.too_hot
    said = " ".join(answer(found).lead)
    assert "of no use that day" in said
    assert "over its limit of heat" in said


def test_nothing_is_fetched_later_that_dries_after_the_closing() -> None:
    for closes, fetched in (("12:00", False), ("17:00", True)):
        told = {"weather.sky": "overcast", "event.closes": closes, "drying.wait": "20 min"}
        event = load_event(None, SHORT_DAY | told)
        found = set_out(event, members=20)
        assert found.first_load_at is None
        assert any(dry.p50 is not None for _, dry in found.loads)
        assert ("For prints to be fetched later" in answer(found).lead[0]) is fetched


def test_one_quarter_hour_is_no_stretch_and_a_held_box_does_not_follow_the_sun() -> None:
    event = load_event(None, SHORT_DAY)
    found, at = set_out(event, members=30), event.opens_at + 3600.0
    one = replace(found, first_load_at=at, last_load_at=at, likely=(at,), sure=(at,))
    lead = " ".join(setout_answer(event, one, members=30, seed=1).lead)
    assert "Lay prints on at 12:00: nine in ten" in lead
    track = SHORT_DAY | {"box.aim": "track", "drying.hold_below": "45 °C"}
    held = " ".join(answer(set_out(load_event(None, track), members=30)).lead)
    assert "turn it as 'drybox aim' says, off the sun, to keep" in held
    assert "follow the sun" not in held
