"""The ``[weather]`` table: words, numbers, what is assumed, and what stands beside a file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from drybox.errors import InputError
from drybox.inputs.weather.event_weather import load_weather, weather_site
from drybox.inputs.weather.usual_air import usual_air
from drybox.inputs.weather.weather import NOT_TOLD, Weather, steady_weather
from drybox.inputs.weather.words import read_said, sky_words
from drybox.tables import STATUSES, load_table, shipped_dir


@dataclass(frozen=True)
class Here:
    latitude_deg: float = 47.2
    longitude_deg: float = 12.3
    elevation_m: float = 500.0
    timezone: str = "Europe/Vienna"


DAY_S = datetime(2027, 6, 12, tzinfo=ZoneInfo("Europe/Vienna")).timestamp()


def test_no_weather_is_what_is_usual_at_the_place_and_said() -> None:
    weather = load_weather(None, ".", Here(), day_start_at=DAY_S)
    assert weather.kind == "assumed"
    usual = usual_air(Here(), (31 + 28 + 31 + 30 + 31 + 12 - 0.5) / 365)
    assert weather.air_temp_k.tolist() == [usual.day_temp_k]
    assert weather.humidity_frac.tolist() == [usual.day_humidity_frac]
    assert weather.wind_10m_m_s.tolist() == [4.0]
    assert weather.usual == ("air_temp_k", "humidity_frac", "wind_10m_m_s")
    said, cloud = weather.assumptions
    assert said.startswith("No weather was given; usual for this place in June: ")
    assert said.endswith(" % RH, wind 4 m/s at 10 m.")
    assert cloud == NOT_TOLD
    assert not weather.cloud_told
    assert weather.cloud_frac.tolist() == [0.0]
    assert weather.linke_turbidity is None
    assert weather.ghi_w_m2 is None


def test_steady_weather_spans_the_day_and_its_neighbours() -> None:
    weather = steady_weather({}, DAY_S)
    assert weather.start_at[0] <= DAY_S - 86400
    assert weather.end_at[0] >= DAY_S + 2 * 86400
    assert weather.mid_at.shape == (1,)


def test_all_said_leaves_nothing_assumed() -> None:
    table = {
        "cloud": "3 oktas",
        "haze": 4.5,
        "air_temp": "75.2 °F",
        "humidity": "45 %",
        "wind": "10.8 km/h",
        "pressure": "850 hPa",
    }
    weather = load_weather(table, ".", Here(), day_start_at=DAY_S)
    assert weather.kind == "steady"
    assert weather.assumptions == ()
    numbers = (weather.air_temp_k, weather.humidity_frac, weather.wind_10m_m_s)
    assert [round(float(number[0]), 9) for number in numbers] == [297.15, 0.45, 3.0]
    assert weather.pressure_pa.tolist() == [85000.0]
    assert weather.cloud_frac.tolist() == [0.375]
    assert weather.linke_turbidity == 4.5


@pytest.mark.parametrize(
    ("cloud", "share"),
    [
        ("3 oktas", 0.375),
        ("3/8", 0.375),
        ("3/8 oktas", 0.375),
        ("8", 1.0),
        (0, 0.0),
        (2.5, 0.3125),
        ("40 %", 0.4),
    ],
)
def test_cloud_as_people_write_it(cloud: object, share: float) -> None:
    assert read_said({"cloud": cloud})["cloud_frac"] == pytest.approx(share)


@pytest.mark.parametrize("word", ["Thin cloud", "thin clouds", "thin-cloud", " THIN  CLOUD "])
def test_sky_words_forgive_case_plural_and_hyphen(word: str) -> None:
    assert read_said({"sky": word}) == {"cloud_frac": 2 / 8}


@pytest.mark.parametrize(("sky", "linke"), [("hazy", 5.0), ("very hazy", 7.0)])
def test_hazy_sky_sets_the_turbidity_not_the_cloud(sky: str, linke: float) -> None:
    assert read_said({"sky": sky}) == {"cloud_frac": 0.0, "linke_turbidity": linke}


def test_haze_beside_a_sky_word_wins() -> None:
    assert read_said({"sky": "hazy", "haze": 3})["linke_turbidity"] == 3.0


@pytest.mark.parametrize(
    ("table", "text"),
    [
        ({"sky": "blue-ish"}, "sky 'blue-ish' is not known; choose one of: clear, clean, hazy"),
        ({"sky": 3}, "sky '3' is not known"),
        ({"cloud": "9 oktas"}, "cloud 9 is outside 0 to 8 oktas (weather.cloud)"),
        ({"cloud": "140 %"}, "cloud 140 is outside 0 to 100 %"),
        ({"cloud": True}, "cloud True is not a quantity"),
        ({"haze": "foggy"}, "haze 'foggy' is not known; choose one of: clean, hazy, very hazy"),
        ({"haze": 0.2}, "haze (Linke turbidity) 0.2 is outside 1 to 12"),
        ({"air_temp": 24}, 'air temperature 24 has no unit; write it like "24 °C"'),
        ({"air_temp": "80 °C"}, "air temperature 80 is outside -60 to 60 °C"),
        ({"humidity": "150 %"}, "humidity 150 is outside 0 to 100 %"),
        ({"wind": "-1 m/s"}, "wind -1 is outside 0 to 60 m/s"),
        ({"wind": float("nan")}, "wind nan is not a finite number"),
        ({"pressure": "29.9 Pa"}, "pressure 0.299 is outside 300 to 1100 hPa"),
        ({"temperature": "24 °C"}, "key 'temperature' is not known"),
        ({"clouds": 3}, "did you mean 'cloud'? (weather.clouds)"),
        ({"sky": "clear", "cloud": 3}, "both sky and cloud are given; keep one"),
        ({"file": 7}, "7 is not a file name (weather.file)"),
    ],
)
def test_bad_words_and_numbers_are_refused_in_one_line(table: dict[str, object], text: str) -> None:
    with pytest.raises(InputError) as caught:
        load_weather(table, ".", Here(), day_start_at=DAY_S)
    assert text in str(caught.value)
    assert "\n" not in str(caught.value)


def _forecast(tmp_path: Path, heading: str, *rows: str) -> None:
    (tmp_path / "f.csv").write_text("\n".join([heading, *rows]), encoding="utf-8")


def test_what_is_said_beside_a_file_takes_the_place_of_its_column(tmp_path: Path) -> None:
    rows = ("2027-06-12T06:00,10,300", "2027-06-12T20:00,20,310")
    _forecast(tmp_path, "time,temp_c,ghi", *rows)
    table = {"forecast": "f.csv", "air_temp": "30 °C", "cloud": 4}
    weather = load_weather(table, tmp_path, Here(), day_start_at=DAY_S)
    assert weather.air_temp_k.tolist() == [303.15, 303.15]
    assert weather.ghi_w_m2 is None
    assert weather.cloud_frac.tolist() == [0.5, 0.5]
    assert any("ghi_w_m2 of the file is not used" in note for note in weather.understood)


def test_haze_beside_a_file_keeps_the_files_sun(tmp_path: Path) -> None:
    _forecast(tmp_path, "time,ghi", "2027-06-12T06:00,300", "2027-06-12T20:00,310")
    weather = load_weather({"file": "f.csv", "haze": 4}, tmp_path, Here(), day_start_at=DAY_S)
    assert weather.linke_turbidity == 4.0
    assert weather.ghi_w_m2 is not None


def test_what_a_file_lacks_is_assumed_and_said(tmp_path: Path) -> None:
    _forecast(tmp_path, "time,temp_c", "2027-06-12T06:00,10", "2027-06-12T20:00,20")
    weather = load_weather({"forecast": "f.csv"}, tmp_path, Here(), day_start_at=DAY_S)
    usual = 100 * usual_air(Here(), 162.5 / 365).day_humidity_frac
    assert weather.assumptions == (
        f"The weather file does not say, so usual for this place in June: {usual:.3g} % RH, "
        "wind 4 m/s at 10 m.",
        NOT_TOLD,
    )
    assert weather.usual == ("humidity_frac", "wind_10m_m_s")
    assert not weather.cloud_told
    _forecast(tmp_path, "time,ghi", "2027-06-12T06:00,300", "2027-06-12T20:00,310")
    weather = load_weather({"forecast": "f.csv"}, tmp_path, Here(), day_start_at=DAY_S)
    assert NOT_TOLD not in weather.assumptions
    assert weather.cloud_told
    assert weather.cloud_frac is None


def test_a_forecast_gives_no_coordinates(tmp_path: Path) -> None:
    _forecast(tmp_path, "time,temp_c", "2027-06-12T06:00,10")
    assert weather_site({"forecast": "f.csv"}, tmp_path) is None
    assert weather_site({"sky": "clear"}, tmp_path) is None


def test_weather_with_rows_out_of_order_or_of_unequal_length_is_a_fault() -> None:
    two = np.array([0.0, 1.0])
    with pytest.raises(ValueError, match="not in order"):
        Weather("forecast", two[::-1], two, two, two, two, "test")
    with pytest.raises(ValueError, match="shape"):
        Weather("forecast", two, two, two[:1], two, two, "test")


def test_every_row_of_skies_has_a_status_a_source_and_a_range() -> None:
    for item, rows in load_table("skies").items():
        assert "cloud" in rows, item
        for value in rows.values():
            assert value.status in STATUSES
            assert value.low is not None
            assert value.high is not None
            assert value.low <= value.value <= value.high
    assert {"clear", "hazy", "thin cloud", "broken cloud", "overcast"} <= set(sky_words())


def test_the_demo_forecast_is_read_without_a_doubt() -> None:
    weather = load_weather(
        {"forecast": "forecast.csv"}, shipped_dir("demo"), Here(), day_start_at=DAY_S
    )
    assert weather.kind == "forecast"
    assert weather.doubts == ()
    assert weather.assumptions == ()
    assert weather.start_at.size == 31
    assert weather.start_at[0] == DAY_S + 6 * 3600
    assert "Invented" in weather.source
