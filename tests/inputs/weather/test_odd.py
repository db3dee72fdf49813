"""What is hard to believe of a day's weather."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.weather.odd import sine_of_sun

PLACE = {"place.latitude": "47.2", "place.longitude": "12.3", "event.date": "2027-06-12"}


def warned(**weather: str) -> str:
    told = {f"weather.{key}": value for key, value in weather.items()}
    return " ".join(load_event(None, PLACE | told).warnings)


@pytest.mark.parametrize(
    ("key", "odd", "fair", "said"),
    [
        ("air_temp", "50 °C", "40 °C", "Air of 50 °C is above 45 °C: is that right"),
        ("air_temp", "-30 °C", "-10 °C", "Air of -30 °C is below -25 °C"),
        ("humidity", "0.6 %", "12 %", "Humidity of 0.6 % is below 5 %"),
        ("wind", "45 m/s", "15 m/s", "Wind of 45 m/s is above 20.8 m/s"),
    ],
)
def test_a_value_that_is_hard_to_believe_is_said(key: str, odd: str, fair: str, said: str) -> None:
    sky = {"sky": "clear"}
    assert said in warned(**sky, **{key: odd})
    assert "is that right" not in warned(**sky, **{key: fair})


def forecast(tmp_path: object, ghi_at_2: int) -> str:
    rows = [
        f"2027-06-12T{hour:02d}:00+02:00,18,55,2,{ghi_at_2 if hour == 2 else 700 * (7 < hour < 17)}"
        for hour in range(24)
    ]
    path = f"{tmp_path}/sky.csv"
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join(["time,air_temp_c,humidity_pct,wind_m_s,ghi_w_m2", *rows]))
    return path


def test_sun_at_night_is_said(tmp_path: object) -> None:
    said = warned(file=forecast(tmp_path, 1400))
    assert "GHI: 1 row with more than any sky gives" in said
    assert "such as 1400 W/m², at night" in said
    assert "any sky gives" not in warned(file=forecast(tmp_path, 0))


def sunny(tmp_path: object, *, ghi: int, dni: int, dhi: int) -> str:
    rows = [f"2027-06-12T{hour:02d}:00+02:00,18,55,2,{ghi},{dni},{dhi}" for hour in range(9, 17)]
    path = f"{tmp_path}/sun.csv"
    head = "time,air_temp_c,humidity_pct,wind_m_s,ghi_w_m2,dni_w_m2,dhi_w_m2"
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join([head, *rows]))
    return path


def test_columns_of_sun_that_contradict_each_other_are_named(tmp_path: object) -> None:
    diffuse = warned(file=sunny(tmp_path, ghi=300, dni=0, dhi=500))
    assert "DHI and GHI: 8 rows with more diffuse light than all light" in diffuse
    assert "times in the zone" not in diffuse
    beam = warned(file=sunny(tmp_path, ghi=200, dni=800, dhi=100))
    assert "GHI and DNI: 8 rows with less light on the level" in beam
    assert "such as GHI 200 and DNI 800 W/m²" in beam
    assert "one of these" not in warned(file=sunny(tmp_path, ghi=620, dni=700, dhi=100))


def test_ice_is_spoken_of_and_frost_at_night_is_not(tmp_path: object) -> None:
    assert "baths, wash water and wet prints freeze" in warned(sky="clear", air_temp="-8 °C")
    assert "freeze" not in warned(sky="clear", air_temp="2 °C")
    assert "In air of 0 °C baths" in warned(sky="clear", air_temp="-0.3 °C")


def test_the_sun_stands_where_the_report_puts_it() -> None:
    """Reda and Andreas (2008), NREL/TP-560-34302: zenith 50.11162 deg in their example."""
    golden = type("Golden", (), {"latitude_deg": 39.742476, "longitude_deg": -105.1786})()
    at = np.array([1066419030.0])  # 17 October 2003, 12:30:30 at UTC - 7 h
    assert sine_of_sun(at, golden)[0] == pytest.approx(np.cos(np.radians(50.11162)), abs=0.002)
