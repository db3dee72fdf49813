"""Rain that was told takes prints in and stops what dries out of doors, in every command."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.inputs.years.test_layouts import locationforecast
from tests.running import plain, record

HERE = ("--latitude", "48.2", "--longitude", "16.4", "--date", "2027-06-12")
FEW = ("--members", "20")
WAYS = ("--ways", "sun plate, line in the sun, line in the shade")
HEADING = "time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas"
ROW = "20,45,3,1"


def rainy(path: Path, told: dict[int, tuple[float, float]], heads: str = "") -> str:
    """Write a forecast of hours in UTC+2 with a chance [%] and an amount [mm] of rain each."""
    heads = heads or "precipitation probability (%),precipitation (mm)"
    lines = [f"{HEADING},{heads}"]
    for hour in range(4, 22):
        chance, amount = told.get(hour, (5, 0))
        lines.append(f"2027-06-12T{hour:02d}:00+02:00,{ROW},{chance},{amount}")
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return str(path)


@pytest.fixture
def shower(tmp_path: Path) -> str:
    return rainy(tmp_path / "f.csv", {14: (40, 0.1), 15: (80, 1.2), 16: (80, 1.2)})


def by_way(*args: str) -> dict[str, dict[str, object]]:
    return {way["way"]: way for way in record("dry", *HERE, *WAYS, *FEW, *args)["result"]["ways"]}


@pytest.mark.parametrize(
    ("at", "open_air"),
    [("13:00", True), ("14:50", False), ("15:30", False), ("17:10", True)],
)
def test_no_print_is_laid_out_of_doors_into_rain(shower: str, at: str, open_air: bool) -> None:
    found = by_way("--weather", shower, "--at", at)
    assert found["sun_plate"]["feasible"] is open_air
    assert found["line_sun"]["feasible"] is open_air
    assert found["line_shade"]["feasible"]
    if not open_air:
        assert "rain" in str(found["sun_plate"]["why"])


def test_the_first_lines_tell_when_it_rains_and_when_to_stay_by(shower: str) -> None:
    shown = plain("dry", *HERE, *WAYS, *FEW, "--weather", shower, "--at", "13:00")
    assert "Rain 15:00 to 17:00 (80 %, 1.2 mm an hour): nothing dries out of doors" in shown
    assert "Rain may come 14:00 to 15:00 (40 %, 0.1 mm an hour): cover at hand" in shown


def test_setting_out_lays_nothing_on_that_rain_would_reach(shower: str) -> None:
    dry = record("setout", *HERE, *FEW, "--weather", rainy(Path(shower), {}))["result"]
    told = {15: (80.0, 1.2), 16: (80.0, 1.2), 17: (80.0, 1.2)}
    told |= {18: (90.0, 2.0), 19: (90.0, 2.0)}
    wet_file = rainy(Path(shower).with_name("w.csv"), told)
    wet = record("setout", *HERE, *FEW, "--weather", wet_file)["result"]
    assert wet["first_load_at"] == dry["first_load_at"]
    longest = next(r["minutes"]["p90"] for r in wet["loads"] if r["at"] == wet["last_load_at"])
    rain = datetime.fromisoformat("2027-06-12T15:00:00+02:00")
    last, usual = (datetime.fromisoformat(one["last_load_at"]) for one in (wet, dry))
    assert last + timedelta(minutes=longest) <= rain < usual


def test_setting_out_tells_no_minutes_of_a_print_on_which_rain_would_fall(shower: str) -> None:
    """Under rain all day it had named the best quarter hour, for prints to be fetched later."""
    loads = record("setout", *HERE, *FEW, "--weather", shower)["result"]["loads"]
    for load in loads:
        begun = datetime.fromisoformat(load["at"]).hour
        known = [value for value in load["minutes"].values() if value is not None]
        if begun in (15, 16):
            assert not known
        elif begun < 15:
            left = datetime.fromisoformat("2027-06-12T15:00:00+02:00") - datetime.fromisoformat(
                load["at"]
            )
            assert all(60 * value <= left.total_seconds() for value in known)
    all_day = plain("setout", *HERE, *FEW, "--sky", "cloudy", "--rain", "yes")
    assert all_day.startswith("The sun plate is of no use that day")
    assert "at best" not in all_day


def test_no_way_that_rain_stops_comes_nearest(shower: str) -> None:
    ways = ("--ways", "sun plate, blotter book")
    shown = plain("dry", *HERE, *ways, *FEW, "--weather", shower, "--at", "14:50")
    assert "No way dries it for sure" in shown
    assert "The sun plate comes nearest" not in shown


def test_a_plan_has_no_print_out_of_doors_while_it_rains(tmp_path: Path) -> None:
    ways = tmp_path / "e.toml"
    ways.write_text(
        '[place]\ncoordinates = "48.2, 16.4"\n[event]\ndate = "2027-06-12"\n'
        'ways = ["sun plate"]\nevery = "30 min"\nline_slots = 0\n',
        "utf-8",
    )
    rain = rainy(tmp_path / "f.csv", {13: (90, 2.0), 14: (90, 2.0), 15: (90, 2.0)})
    begun, ended = "2027-06-12T13:00", "2027-06-12T16:00"
    plan = ("plan", str(ways), "--no-what-if", *FEW)
    wet = record(*plan, "--weather", rain)["result"]["sitters"]
    dry = record(*plan, "--weather", rainy(tmp_path / "d.csv", {}))["result"]["sitters"]
    laid = [row["laid_on_at"] for row in wet if row["laid_on_at"]]
    assert any(begun < row["laid_on_at"] < ended for row in dry if row["laid_on_at"])
    assert laid
    assert not any(begun <= at < ended for at in laid)
    dried = [row["dry_at"]["p50"] for row in wet if row["dry_at"] and row["dry_at"]["p50"]]
    assert not any(begun < at < ended for at in dried)
    later = [
        one["promise_at"] > other["promise_at"]
        for one, other in zip(wet, dry, strict=True)
        if one["promise_at"] and other["promise_at"] and one["washed_at"] < ended
    ]
    assert sum(later) >= 4  # one every half hour is washed while it rains


@pytest.mark.parametrize(
    ("option", "stops"),
    [
        (("--rain", "60 %"), True),
        (("--rain", "50 %"), False),
        (("--rain", "0.5 mm/h"), True),
        (("--rain", "0.4 mm"), False),
        (("--rain", "no"), False),
        (("--sky", "rain"), True),
        (("--sky", "rain", "--rain", "no"), False),
    ],
)
def test_rain_as_an_option_or_a_word_is_the_same(option: tuple[str, ...], stops: bool) -> None:
    sky = () if "--sky" in option else ("--cloud", "1")
    shown = plain("aim", *HERE, *sky, *option)
    assert ("nothing dries out of doors" in shown) == stops
    maybe = option[1] in ("50 %", "0.4 mm")
    assert ("cover at hand" in shown) == maybe


def test_absent_rain_is_unknown_and_said_only_under_much_cloud(tmp_path: Path) -> None:
    for oktas, said in ((2, False), (8, True)):
        path = tmp_path / f"{oktas}.csv"
        rows = [f"2027-06-12T{h:02d}:00+02:00,20,45,3,{oktas}" for h in range(4, 22)]
        path.write_text("\n".join([HEADING, *rows]), "utf-8")
        shown = plain("dry", *HERE, *WAYS, *FEW, "--weather", str(path), "--at", "13:00")
        assert ("nothing of rain" in shown) == said
    clear = plain("dry", *HERE, *WAYS, *FEW, "--cloud", "1", "--at", "13:00")
    assert "ain " not in clear.partition("Why")[0]


def test_rain_of_the_norwegian_service_is_read_and_kept_through_a_conversion(
    tmp_path: Path,
) -> None:
    # as documented: next_1_hours.details, mm and %; next_6_hours where there are no hours
    told = locationforecast()
    series = told["properties"]["timeseries"]
    for row in series[:12]:
        details = {"precipitation_amount": 1.2, "probability_of_precipitation": 80.0}
        row["data"]["next_1_hours"] = {"summary": {}, "details": details}
    series[12]["data"]["next_6_hours"] = {"details": {"precipitation_amount": 3.6}}
    raw, plain_file = tmp_path / "f.json", tmp_path / "f.csv"
    raw.write_text(json.dumps(told), "utf-8")
    shown = plain("weather", "convert", str(raw), str(plain_file))
    assert shown
    rows = plain_file.read_text("utf-8").splitlines()
    heading = next(row for row in rows if row.startswith("time")).split(",")
    cells = [dict(zip(heading, row.split(","), strict=True)) for row in rows[-len(series) :]]
    assert (cells[0]["rain_mm_h"], cells[0]["rain_chance_pct"]) == ("1.2", "80")
    assert (cells[12]["rain_mm_h"], cells[12]["rain_chance_pct"]) == ("0.6", "")
    assert cells[-1]["rain_mm_h"] == ""
    again = plain("weather", "show", str(plain_file))
    assert "rain: column 'rain_mm_h' in mm/h" in again
