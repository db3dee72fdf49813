from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from drybox.inputs.event.event import load_event
from drybox.physics.earth_magnetism import declination_deg
from tests.running import DEMO, event_file, golden, plain, ran, record, refused, said, table

KEYS = {
    *("sun", "bearing_true_deg", "bearing_magnetic_deg", "declination_deg", "tilt_deg"),
    *("prop_height_mm", "plate_irradiance_w_m2", "kept_frac", "turns"),
}
TURN_KEYS = {
    *("at", "bearing_true_deg", "bearing_magnetic_deg", "tilt_deg", "prop_height_mm"),
    *("plate_irradiance_w_m2", "raised_edge", "wall_shade"),
}
MUNICH = ("--latitude", "48.1", "--longitude", "11.6", "--elevation", "520")
CAPE = ("--latitude", "-33.9", "--longitude", "18.4")


def test_the_record_has_the_keys_promised() -> None:
    result = record("aim", DEMO)["result"]
    assert set(result) >= KEYS
    assert set(result["sun"]) == {"elevation_deg", "azimuth_true_deg"}
    assert result["turns"]
    for turn in result["turns"]:
        assert set(turn) == TURN_KEYS
    assert 0.0 < result["kept_frac"] <= result["turns_kept_frac"] <= 1.0


def test_compass_and_prop_follow_from_bearing_and_tilt() -> None:
    result = record("aim", DEMO)["result"]
    reach_mm = {item["key"]: item["value"] for item in record("aim", DEMO)["inputs"]}[
        "box.prop_distance"
    ] * 1e3
    for aim in (result, *result["turns"]):
        turned = (aim["bearing_true_deg"] - aim["bearing_magnetic_deg"]) % 360
        assert turned == pytest.approx(result["declination_deg"], abs=1e-9)
        prop = reach_mm * math.sin(math.radians(aim["tilt_deg"]))
        assert aim["prop_height_mm"] == pytest.approx(prop)


def fixed(folder: Path, bearing: str) -> str:
    """Return the demo's event under a clear sky, its box fixed at a bearing."""
    text = Path(DEMO).read_text("utf-8").replace("forecast = ", 'sky = "clear" #')
    aim = f'bearing = "{bearing}"\ntilt = "30 deg" #'
    return str(event_file(folder, text.replace('aim = "turns"', aim)))


def test_one_bearing_is_one_number_whatever_the_hour_and_the_command(tmp_path: Path) -> None:
    """A needle drifts by 0.0001° in a day: enough to say 247° here and 248° there."""
    event = load_event(DEMO)
    place = (event.place.latitude_deg, event.place.longitude_deg, event.place.elevation_m)
    year = 2027 + (event.opens_at - 1_798_761_600) / (365 * 86400)
    drifts = [declination_deg(*place, year + hours / 8760).degrees or 0.0 for hours in (0.0, 7.0)]
    true = f"{247.5 + sum(drifts) / 2:.6f} deg"
    aimed = fixed(tmp_path, true)
    exact = record("aim", aimed)["result"]["bearing_magnetic_deg"]
    assert exact == pytest.approx(247.5, abs=1e-4)
    told = f"{exact:.0f}° by compass"
    late = ("--at", "17:05", "--ways", "sun plate", "--members", "20")
    for text in (plain("aim", aimed), plain("setout", aimed), plain("dry", aimed, *late)):
        assert told in text


def test_the_text_gives_the_order_first_and_sights_by_shadow() -> None:
    text = plain("aim", DEMO)
    assert text.startswith("From 10:00 face the box to ")
    assert " by compass (" in text
    assert "never by eye" in text
    assert "Never look at the sun" in text
    assert "which ends with 2029" in plain("aim", DEMO, "--why")
    assert max(len(line) for line in said("aim", DEMO).splitlines()) <= 80


def test_at_a_time_it_speaks_of_the_sun_and_the_aim_then() -> None:
    text = plain("aim", DEMO, "--at", "13:20")
    assert text.startswith("At 13:20 face the box to ")
    assert "The sun at 13:20: 66° up" in text
    result = record("aim", DEMO, "--at", "13:20")["result"]
    assert result["at"] == "2027-06-12T13:20:00+02:00"
    assert 180 < result["sun"]["azimuth_true_deg"] < 195


def test_a_single_aim_says_what_it_loses() -> None:
    text = plain("aim", DEMO, "--single", "--from", "12:00", "--until", "15:00")
    assert "of what always turning would give it" in text or "No turn is needed" in text
    assert "Turn the box" not in text.partition("Take care")[0][200:]
    wide, narrow = (
        record("aim", DEMO, "--from", first, "--until", last)["result"]["kept_frac"]
        for first, last in (("10:00", "18:00"), ("12:30", "13:30"))
    )
    assert narrow > wide


def test_a_larger_share_takes_more_turns() -> None:
    few, many = (record("aim", DEMO, "--share", share)["result"] for share in ("85", "99 %"))
    assert len(few["turns"]) < len(many["turns"])
    assert few["turns_kept_frac"] >= 0.85
    assert many["turns_kept_frac"] > few["turns_kept_frac"]


def test_the_other_hemisphere_faces_north() -> None:
    south = record("aim", *CAPE, "--date", "2027-03-21")["result"]
    north = record("aim", *MUNICH, "--date", "2027-03-21")["result"]
    assert math.cos(math.radians(south["bearing_true_deg"])) > 0.7
    assert math.cos(math.radians(north["bearing_true_deg"])) < -0.7


def test_aimed_at_the_sun_a_peg_hardly_throws_a_shadow() -> None:
    found = record("aim", *MUNICH, "--date", "2027-06-12", "--peg", "100 mm")["result"]
    assert all(turn["shadow_mm"] < 60 for turn in found["sightings"])
    twice = record("aim", *MUNICH, "--date", "2027-06-12", "--peg", "200 mm")["result"]
    assert twice["sightings"][0]["shadow_mm"] == pytest.approx(
        2 * found["sightings"][0]["shadow_mm"]
    )


def test_holding_below_a_temperature_takes_light_away() -> None:
    held = record("aim", *MUNICH, "--date", "2027-06-12", "--hold-below", "45C")["result"]
    free = record("aim", *MUNICH, "--date", "2027-06-12")["result"]
    assert held["plate_irradiance_w_m2"] < free["plate_irradiance_w_m2"]
    text = plain("aim", *MUNICH, "--date", "2027-06-12", "--hold-below", "113F", "--units", "us")
    first = text.partition(". ")[0]
    assert "off the sun, to keep the empty plate below 113 °F as asked" in first
    assert "and back when the sun is" in text


def test_a_low_winter_sun_is_not_faced_more_steeply_than_the_box_stands() -> None:
    found = record("aim", *MUNICH, "--date", "2027-12-21")["result"]
    assert all(turn["tilt_deg"] <= 60.0 for turn in found["turns"])
    first = plain("aim", *MUNICH, "--date", "2027-12-21").partition(". ")[0]
    assert "no steeper than 60°, which is what stands on a prop" in first


def test_a_box_kept_level_by_the_wind_has_no_edge_slope_nor_front() -> None:
    where = (*MUNICH, "--date", "2027-05-16", "--sky", "clear", "--wind", "12 m/s")
    found = record("aim", *where)["result"]
    assert all(turn["tilt_deg"] < 2.0 for turn in found["turns"])
    assert {seen["shadow_mm"] for seen in found["sightings"]} == {None}
    text = plain("aim", *where)
    assert "lay the box level, for gusts of" in text.partition(". ")[0]
    for words in ("steeper than 0°", "raised edge", "low edge", "seen from the front", "slope"):
        assert words not in text
    assert "The bin's walls towards the sun shade the plate up to" in text


def test_hot_metal_is_one_line_with_the_figure_of_the_day() -> None:
    few = ("--members", "20")
    alone = (*few, "--no-what-if")
    for command, fewer in (("aim", ()), ("setout", few), ("dry", few), ("plan", alone)):
        text = plain(command, DEMO, *fewer)
        assert "Bare metal burns" not in text
        assert text.count("Metal today up to") == 1
        assert "°C: burns in 1 s; gloves or tongs" in text


def test_under_a_closed_sky_the_box_lies_level_and_no_shadow_is_spoken_of() -> None:
    text = plain("aim", *MUNICH, "--date", "2027-06-12", "--sky", "overcast")
    assert text.startswith(
        "From 10:00 lay the box level, since the light comes from the whole sky."
    )
    assert "peg" not in text


def test_what_stands_before_the_sun_is_named() -> None:
    assert any("clock tower" in warning for warning in record("aim", DEMO)["warnings"])


def test_after_the_magnetic_model_only_true_bearings_are_given() -> None:
    found = record("aim", *MUNICH, "--date", "2031-06-12")
    assert found["result"]["declination_deg"] is None
    assert found["result"]["bearing_magnetic_deg"] is None
    assert any("2025 to 2029" in warning for warning in found["warnings"])
    assert " by compass" not in plain("aim", *MUNICH, "--date", "2031-06-12")


def test_csv_lists_the_turns_and_us_units_touch_only_the_text() -> None:
    rows = table("aim", DEMO)
    assert len(rows) == len(record("aim", DEMO)["result"]["turns"])
    assert rows[0]["at"].endswith("+02:00")
    assert record("aim", DEMO, "--units", "us") == record("aim", DEMO)
    assert " in, the south-east edge stays down" in plain("aim", DEMO, "--units", "us")


def test_the_series_compares_turning_with_standing(tmp_path: Path) -> None:
    path = tmp_path / "aim.csv"
    said("aim", DEMO, "--series", str(path))
    with path.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    mean = {
        name: sum(float(row[f"plate_irradiance_{name}_w_m2"]) for row in rows) / len(rows)
        for name in ("turned", "single")
    }
    assert mean["turned"] > mean["single"]


def test_in_the_polar_day_and_night() -> None:
    tromso = ("--latitude", "69.65", "--longitude", "18.96")
    status, out, err = ran("aim", *tromso, "--date", "2027-12-21")
    assert (status, out) == (3, "")
    assert "the sun does not rise there on 2027-12-21" in err
    hours = ("--from", "00:00", "--until", "23:59")
    assert len(record("aim", *tromso, "--date", "2027-06-21", *hours)["result"]["turns"]) > 3


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        (["--from", "22:30", "--until", "23:30"], 3, "the sun is down all the time asked for"),
        (["--from", "15:00", "--until", "12:00"], 2, "before it has begun"),
        (["--from", "noon"], 2, "from 'noon' is not a clock time"),
        (["--share", "20"], 2, "share 20 % is outside 50 % to 100 %"),
        (["--peg", "5"], 2, "has no unit"),
        (["--hold-below", "5C"], 2, "outside 20 °C to 120 °C"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], status: int, words: str) -> None:
    assert words in refused("aim", DEMO, *args, status=status)


def test_regression_the_demo_reads_as_before() -> None:
    golden("aim_demo", said("aim", DEMO))


STREET = """
[place]
coordinates = "39.4, -0.4"
timezone = "Europe/Madrid"
[[place.obstacle]]
name = "the east row"
from = "20 deg"
to = "160 deg"
height = "12 m"
distance = "7 m"
[event]
date = "2027-04-17"
opens = "10:00"
closes = "16:00"
[weather]
sky = "clear"
"""


def test_a_peg_throws_its_shadow_once_the_sun_is_out(tmp_path: Path) -> None:
    event = event_file(tmp_path, STREET)
    result = record("aim", str(event))["result"]
    (first, *_) = result["sightings"]
    assert first["at"][11:16] > "12:00"  # behind the row up to then
    assert f"o'clock, {first['at'][11:16]}" in plain("aim", str(event))


def test_an_aim_that_faces_away_is_called_so(tmp_path: Path) -> None:
    event = tmp_path / "fair.toml"
    fixed = '[box]\nbearing = "10 deg"\ntilt = "55 deg"\n[drying]\nhold_below = "70 °C"\n'
    event.write_text(STREET + fixed, "utf-8")
    text = plain("aim", str(event))
    assert "No turn is needed" not in text
