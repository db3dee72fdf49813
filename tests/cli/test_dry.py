from __future__ import annotations

import csv
import itertools
import re
from pathlib import Path
from typing import Any

import pytest

from tests.running import (
    DEMO,
    event_file,
    golden,
    plain,
    pvlib_data,
    ran,
    record,
    refused,
    said,
    table,
)

ALL = (DEMO, "--at", "13:20", "--members", "40")
ASKED = (*ALL, "--ways", "sun plate, line in shade, line in sun, warm plate")
KEYS = {
    *(
        "way",
        "minutes",
        "touch_dry_at",
        "dry_at",
        "pull_from",
        "pull_before",
        "print_temp_max_c",
        "energy_wh",
    ),
    *("feasible", "why", "print_temp_kept_c"),
}
GREENSBORO, MIAMI = "723170TYA.CSV", "12839.tm2"
PLACE = ("--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12")


def ways(*args: str) -> dict[str, dict[str, Any]]:
    return {way["way"]: way for way in record("dry", *args)["result"]["ways"]}


def test_the_record_has_the_keys_promised() -> None:
    found = record("dry", *ALL)
    assert [*found] == [
        *("command", "version", "schema_version", "place", "inputs", "result"),
        *("assumptions", "warnings", "cautions"),
    ]
    result = found["result"]
    assert set(result["choice"]) == {"way", "why"}
    names = [way["way"] for way in result["ways"]]
    assert names[0] == "sun_plate"
    assert {"line_shade", "line_sun", "screen_shade", "blotters", "warm_plate"} <= set(names)
    assert result["choice"]["way"] in names
    for way in result["ways"]:
        assert set(way) == KEYS
        for part in ("minutes", "touch_dry_at", "dry_at"):
            assert set(way[part]) == {"p10", "p50", "p90"}
        assert way["feasible"] is (way["why"] == "")


def test_times_agree_with_each_other_and_carry_their_offset() -> None:
    result = record("dry", *ASKED)["result"]
    assert result["laid_on_at"] == "2027-06-12T13:20:00+02:00"
    for way in result["ways"]:
        known = [way["minutes"][p] for p in ("p10", "p50", "p90") if way["minutes"][p] is not None]
        assert known == sorted(known)
        if way["pull_from"] is not None:
            assert way["pull_from"] == way["dry_at"]["p50"]
            assert way["pull_from"].endswith("+02:00")
        if way["pull_before"] is not None:
            assert way["pull_before"] > way["pull_from"]
        assert (way["energy_wh"] > 0) is (way["way"] == "warm_plate")


def test_the_inputs_are_enough_to_ask_again() -> None:
    values = {item["key"]: item for item in record("dry", *ASKED)["inputs"]}
    assert values["dry.members"]["value"] == 40
    assert values["dry.seed"]["value"] == 1
    assert values["paper.water"]["unit"] == "kg/m2"
    assert all(item["source"] for item in values.values())


def test_the_text_says_first_which_way_and_when() -> None:
    best = record("dry", *ASKED)["result"]["choice"]
    out = said("dry", *ASKED)
    first = out.splitlines()[0]
    assert first.startswith(("Lay it on", "Hang it", "Put it"))
    assert "at 13:20: dry in" in first
    text = plain("dry", *ASKED)
    assert f"Why: {best['why']}" in text
    order = ["Why: ", "Look at it from ", "Each way", "Take care", "What this stands on"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "These are estimates" in text
    assert max(len(line) for line in out.splitlines()) <= 80


def test_us_units_are_for_the_text_only() -> None:
    text = plain("dry", *ASKED, "--units", "us")
    body = text.partition("Take care")[0]
    assert "°F" in body
    assert "°C" not in body
    metric, us = (record("dry", *ASKED, "--units", u)["result"] for u in ("metric", "us"))
    assert metric == us


def test_csv_gives_a_row_a_way() -> None:
    rows = table("dry", *ASKED)
    assert len(rows) == len(record("dry", *ASKED)["result"]["ways"])
    assert {"way", "minutes_p50", "pull_from", "pull_before", "why"} <= set(rows[0])
    assert float(rows[0]["minutes_p10"]) <= float(rows[0]["minutes_p90"])


def test_the_same_seed_gives_the_same_answer_and_another_one_hardly_another() -> None:
    again = record("dry", *ASKED, "--seed", "1")
    assert again == record("dry", *ASKED)
    other = ways(*ASKED, "--seed", "9")
    for name, way in ways(*ASKED).items():
        if way["minutes"]["p90"] is not None:
            assert other[name]["minutes"]["p50"] == pytest.approx(way["minutes"]["p50"], rel=0.25)


def test_only_the_ways_asked_for_are_looked_at() -> None:
    assert set(ways(*PLACE, "--at", "12:00", "--members", "20", "--ways", "line in sun")) == {
        "line_sun"
    }


def test_the_series_lets_anyone_follow_the_run(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    asked = ("--ways", "sun plate, line in sun", "--members", "20", "--series", str(path))
    said("dry", DEMO, "--at", "13:20", *asked)
    with path.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert rows[0]["at"] == "2027-06-12T11:20:00+02:00"
    for name in (
        *("sun_elevation_deg", "sun_azimuth_deg", "air_temp_c", "plate_irradiance_w_m2"),
        *("plate_temp_c", "sun_plate_print_temp_c", "sun_plate_moisture_g_m2"),
        *("line_sun_print_temp_c", "line_sun_moisture_g_m2"),
    ):
        assert name in rows[0]
    laid = next(i for i, row in enumerate(rows) if row["at"] == "2027-06-12T13:20:00+02:00")
    assert all(row["sun_plate_moisture_g_m2"] == "" for row in rows[:laid])
    wet = [float(r["sun_plate_moisture_g_m2"]) for r in rows if r["sun_plate_moisture_g_m2"]]
    assert wet[0] == pytest.approx(220.0)
    assert all(later < sooner for sooner, later in itertools.pairwise(wet))
    plate = [float(row["plate_temp_c"]) for row in rows[: laid + 1]]
    assert plate[0] < 25.0 < plate[-1]


def test_a_station_file_alone_gives_place_zone_and_elevation() -> None:
    found = record("dry", "--weather", pvlib_data(GREENSBORO), *JUNE)
    assert found["place"]["latitude_deg"] == pytest.approx(36.1)
    assert found["place"]["longitude_deg"] == pytest.approx(-79.95)
    assert found["place"]["elevation_m"] == pytest.approx(273.0)
    assert found["place"]["timezone"] == "America/New_York"
    assert any("the weather file's own is taken" in text for text in found["assumptions"])
    assert any("not a forecast" in text for text in found["assumptions"])


NOON = ("--at", "12:00", "--members", "60", "--ways", "sun plate, line in shade")
JUNE = ("--date", "2027-06-21", *NOON)
JANUARY = ("--date", "2027-01-21", *NOON)


@pytest.mark.slow
def test_june_and_january_and_another_climate_differ_sensibly() -> None:
    june = ways("--weather", pvlib_data(GREENSBORO), *JUNE)
    january = ways("--weather", pvlib_data(GREENSBORO), *JANUARY)
    miami = ways("--weather", pvlib_data(MIAMI), *JUNE)
    # a June noon dries on the plate while the sitter waits, a January noon hardly
    assert 5 < june["sun_plate"]["minutes"]["p50"] < 60
    assert january["sun_plate"]["minutes"]["p50"] > 1.5 * june["sun_plate"]["minutes"]["p50"]
    assert january["line_shade"]["minutes"]["p50"] > 60
    assert january["line_shade"]["print_temp_max_c"] < june["line_shade"]["print_temp_max_c"] - 5
    assert miami["sun_plate"]["minutes"] != june["sun_plate"]["minutes"]
    assert 5 < miami["sun_plate"]["minutes"]["p50"] < 60


def test_in_the_polar_night_the_plate_is_out_and_air_is_left() -> None:
    tromso = ("--latitude", "69.65", "--longitude", "18.96", "--date", "2027-12-21")
    asked = (*tromso, "--at", "12:00", "--members", "20")
    found = ways(*asked, "--ways", "sun plate, line in shade")
    assert found["sun_plate"]["feasible"] is False
    assert "the sun does not rise there" in found["sun_plate"]["why"]
    assert found["sun_plate"]["print_temp_max_c"] is None
    status, out, err = ran("dry", *asked, "--ways", "sun plate")
    assert (status, out) == (3, "")
    assert "the sun does not rise there" in err
    assert err.count("\n") == 1


def test_resin_coated_paper_is_told_to_keep_off_hot_metal(tmp_path: Path) -> None:
    event = tmp_path / "rc.toml"
    event.write_text(
        Path(DEMO).read_text("utf-8").replace("fibre double weight", "resin coated"), "utf-8"
    )
    (tmp_path / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    found = record("dry", str(event), "--at", "13:20", "--members", "20")
    assert "blotters" not in [way["way"] for way in found["result"]["ways"]]
    assert any("soften" in text for text in found["cautions"])
    assert all(way["pull_before"] is None for way in found["result"]["ways"])
    text = plain("dry", str(event), "--at", "13:20", "--members", "20")
    assert "Resin-coated paper lies flat: it needs no weight" in text
    assert "brittle" not in text


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        (["--latitude", "95", "--longitude", "10", "--date", "2027-06-12"], 2, "latitude 95"),
        ([*PLACE[:4], "--date", "2027-02-29"], 2, "date 2027-02-29 does not exist"),
        ([*PLACE[:4], "--date", "06/07/2026"], 2, "year first"),
        (["--date", "2027-06-12"], 2, "the latitude is missing"),
        ([*PLACE, "--at", "25:00"], 2, "not between 00:00 and 23:59 (option --at)"),
        ([*PLACE[:4], "--date", "2027-03-28", "--at", "02:30"], 2, "use 01:59 or 03:00"),
        ([*PLACE, "--ways", "sun dance"], 2, "way 'sun dance' is not known"),
        ([*PLACE, "--ways", "warm plate"], 2, "way 'warm plate' needs power"),
        ([*PLACE, "--ways", ""], 2, "'--ways' is empty"),
        ([*PLACE, "--members", "5"], 2, "members 5 is outside 20 to 2000"),
        ([*PLACE, "--hold-below", "55"], 2, 'has no unit; write it like "55 °C"'),
        ([*PLACE, "--weather", "/no/such.csv"], 4, "such.csv"),
        ([*PLACE, "--weather", "https://example.org/a.csv"], 2, "fetch it first"),
        ([*PLACE, "--sky", "clear", "--cloud", "3"], 2, "both --sky and --cloud are given"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], status: int, words: str) -> None:
    assert words in refused("dry", *args, status=status)


def test_a_time_that_comes_twice_is_said() -> None:
    args = (*PLACE[:4], "--date", "2027-10-31", "--at", "02:30", "--ways", "line in shade")
    assert "comes twice" in plain("dry", *args, "--members", "20")


def test_what_takes_the_night_is_said_in_hours_and_the_next_day() -> None:
    """No 1052 min, and no 09:34 that could be of the same day."""
    air = ("--air-temp", "8C", "--humidity", "66 %", "--cloud", "8/8")
    text = plain("dry", *PLACE, *air, "--at", "20:00", "--members", "40")
    assert " h, between 21:" in text.partition("Why")[0]
    assert " the next day, most likely at 2" in text.partition("Why")[0]
    rows = text.partition("max, °C")[2].partition("too damp")[0]
    assert not [word for word in re.findall(r"\d+", rows) if int(word) > 360]
    assert " h–long" in rows


def test_a_time_typed_without_a_colon_is_the_same_time() -> None:
    asked = (*PLACE, "--ways", "line in shade", "--members", "20", "--at")
    results = [record("dry", *asked, typed)["result"] for typed in ("09:41", "9.41", "0941")]
    assert results[0] == results[1] == results[2]


def test_regression_the_demo_reads_as_before() -> None:
    golden("dry_demo", said("dry", DEMO, "--at", "13:20"))


def test_a_box_set_out_later_is_cooler_at_laying_on_and_the_cures_have_their_minutes() -> None:
    here = (DEMO, "--at", "12:30", "--members", "40", "--ways", "sun plate")
    long, short = (record("dry", *here, *more)["result"] for more in ((), ("--set-out", "12:20")))
    plates = [found["sun_plate"]["plate_temp_at_start_c"]["p50"] for found in (short, long)]
    assert plates[0] < plates[1] - 3.0
    assert {cure["cure"] for cure in long["cures"]} >= {"cooler plate", "lighter aim"}
    for cure in long["cures"]:
        assert set(cure) == {"cure", "minutes", "print_temp_kept_c"}
        assert cure["minutes"]["p10"] <= cure["minutes"]["p50"] <= cure["minutes"]["p90"]
        assert cure["print_temp_kept_c"] < long["ways"][0]["print_temp_kept_c"]
    assert "dry one test sheet first" in plain("dry", *here)
    assert (
        "(off the sun, to keep the empty plate below 50 °C as asked)"
        in plain("dry", *here, "--hold-below", "50C").partition(": dry in")[0]
    )


COLD = """
[place]
coordinates = "47.3, 9.6"
timezone = "Europe/Zurich"
terrain = "town centre"
[event]
date = "2027-12-04"
opens = "11:00"
closes = "15:00"
ways = ["warm air", "warm plate"]
[weather]
sky = "overcast"
air_temp = "3 °C"
humidity = "85 %"
wind = "2 m/s"
[powered]
air_power = "300 W"
plate_power = "120 W"
air_temp = "45 °C"
"""

ROW = """
[place]
coordinates = "39.4, -0.4"
timezone = "Europe/Madrid"
[[place.obstacle]]
name = "the east row"
from = "20 deg"
to = "170 deg"
height = "12 m"
distance = "7 m"
[event]
date = "2027-04-17"
opens = "10:00"
closes = "16:00"
ways = ["line in the sun"]
[weather]
sky = "clear"
air_temp = "22 °C"
humidity = "40 %"
wind = "4 m/s"
"""


def test_a_heater_too_weak_for_the_air_is_called_so(tmp_path: Path) -> None:
    asked = ("dry", str(event_file(tmp_path, COLD)), "--at", "12:00", "--members", "20")
    text = plain(*asked)
    assert (
        "300 W warms this air by 2 K, too little" in text
    )  # 300 W/(1150 J/m³K x 1.5 m/s x 0.1 m²)
    assert "7200" not in text
    energy = {way["way"]: way["energy_wh"] for way in record(*asked)["result"]["ways"]}
    assert energy["warm_air"] is None
    assert energy["warm_plate"] > 10.0


def test_a_line_has_sun_only_while_the_print_hangs_there(tmp_path: Path) -> None:
    event = str(event_file(tmp_path, ROW))
    early = plain("dry", event, "--at", "11:30", "--members", "20")
    assert early.startswith("Hang it on a line in the open at 11:30")
    late = plain("dry", event, "--at", "14:30", "--members", "20")
    assert late.startswith("Hang it on a line in the sun at 14:30")


def test_what_is_saved_is_the_difference_of_the_minutes_beside_it() -> None:
    """At 11:10 it had been 27 min of 50 and 24."""
    asked = ("dry", DEMO, "--members", "40", "--at", "11:10")
    saved = re.search(r"dry (\d+) min sooner", plain(*asked))
    assert saved is not None
    ways = record(*asked)["result"]["ways"]
    first, second = sorted(round(way["minutes"]["p90"]) for way in ways if way["feasible"])[:2]
    assert int(saved[1]) == second - first
