"""Water that was not told how warm is as warm as the air of the event, and that is said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.wet.side import read_wet_side
from tests.running import plain, record

HERE = ("--latitude", "51.45", "--longitude", "-2.60", "--elevation", "50 m")
JULY = (*HERE, "--date", "2027-07-15")


def temperatures(*args: str) -> dict[str, tuple[float, str]]:
    keys = ("process.temperature", "process.wash.water_temperature")
    found = record("baths", *args, "--sittings", "10")["inputs"]
    return {row["key"]: (row["value"], row["source"]) for row in found if row["key"] in keys}


def test_baths_and_wash_are_as_warm_as_the_air_told() -> None:
    found = temperatures(*JULY, "--air-temp", "16 °C")
    assert len(found) == 2
    assert all(value == pytest.approx(16.0, abs=0.01) for value, _ in found.values())
    assert all(source.startswith("the air's") for _, source in found.values())
    shown = plain("baths", *JULY, "--air-temp", "16 °C", "--sittings", "10", "--why")
    assert "as warm as the air of the event's hours, 16 °C" in shown
    assert "Times at 16 °C" in shown


@pytest.mark.parametrize(
    ("args", "what"),
    [
        (("wash",), "baths and water"),
        (("wash", "--water-temperature", "14 °C"), "the baths"),
        (("baths", "--sittings", "10", "--temperature", "20 °C"), "the washes"),
    ],
)
def test_only_what_was_not_told_is_said_to_be_so(args: tuple[str, ...], what: str) -> None:
    shown = plain(*args, *JULY, "--air-temp", "16 °C", "--why")
    assert f"How warm {what} are was not told, so they are as warm as the air" in shown


def test_in_the_usual_air_the_first_lines_name_it() -> None:
    # 19.1 °C by the maps of Recommendations ITU-R P.1510 and P.836
    lead = plain("baths", *JULY, "--sittings", "10").partition("Times at")[0]
    assert "Air about 19 °C, 63 %, wind 4 m/s: usual for this place in July, not told." in lead
    told = plain("baths", *JULY, "--sittings", "10", "--temperature", "20 °C")
    assert "Times at 20 °C" in told


def test_without_a_place_it_is_said() -> None:
    for command in (("wash",), ("baths", "--sittings", "10")):
        assert "nor a place was told, so it is at 20 °C" in plain(*command)


def test_air_of_a_file_is_that_of_the_event_s_hours_and_frost_is_no_water(tmp_path: Path) -> None:
    rows = [f"2027-06-12T{h:02d}:00,{h},60,2,3" for h in range(24)]
    path = tmp_path / "f.csv"
    path.write_text("\n".join(["time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas", *rows]))
    event = load_event(
        None,
        {
            "place.latitude": 48.0,
            "place.longitude": 16.0,
            "event.date": "2027-06-12",
            "weather.file": str(path),
        },
    )
    assert read_wet_side(event, {}).process.temp_k == pytest.approx(273.15 + 14.0)  # 10 to 18 h
    frost = load_event(
        None,
        {
            "place.latitude": 48.0,
            "place.longitude": 16.0,
            "event.date": "2027-01-12",
            "weather.air_temp": "-8 °C",
        },
    )
    wet = read_wet_side(frost, {})
    assert np.array([wet.process.temp_k, wet.wash().water_temp_k]) == pytest.approx(
        [273.15, 274.15]
    )
