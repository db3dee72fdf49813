"""Weather noted takes the place of what was told, and the rest stays as told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drybox.inputs.event.event import Event
from drybox.inputs.notes.note import Note
from drybox.inputs.weather.weather import Weather
from drybox.planning.calibration.noted_weather import HAND_HEIGHT_M, noted_weather
from drybox.planning.scenario.samples import weather_spreads
from tests.planning.hourly import hourly
from tests.planning.invented_boxes import ZONE, event_on


@pytest.fixture(scope="module")
def event() -> Event:
    return event_on("2027-06-12", "3 oktas", 24, 50, 2.0)


def sky(event: Event, hour: float, **said: object) -> Note:
    at_s = int(event.day_start_at + 3600 * hour)
    return Note(kind="sky", at_s=at_s, timezone=ZONE, **said)  # type: ignore[arg-type]


def at_hour(event: Event, weather: Weather, name: str, hour: float) -> float:
    values = getattr(weather, name)
    return float(np.interp(event.day_start_at + 3600 * hour, weather.mid_at, values))


def test_nothing_noted_is_what_the_event_tells_or_else_assumed(event: Event) -> None:
    plate = Note(kind="plate", at_s=int(event.opens_at), timezone=ZONE, temp_k=330.0)
    weather, spread, told = noted_weather([plate], event, event.weather)
    assert weather is event.weather
    assert told
    assert spread == weather_spreads("steady", np.zeros(1))
    weather, wide, told = noted_weather([plate], event, None)
    assert (weather.kind, told) == ("assumed", False)
    assert all(wide[name] > spread[name] for name in ("air_temp", "wind_log", "cloud", "beam_log"))
    assert wide["diffuse"] == spread["diffuse"]
    assert {"dew_point", "dew_air"} <= wide.keys()


def test_values_noted_are_joined_by_lines_and_held_at_the_ends(event: Event) -> None:
    notes = [sky(event, 14, temp_k=300.0), sky(event, 10, temp_k=290.0)]
    weather, _, told = noted_weather(notes, event, event.weather)
    found = [at_hour(event, weather, "air_temp_k", hour) for hour in (2, 10, 12, 14, 22)]
    assert found == pytest.approx([290, 290, 295, 300, 300])
    assert told
    assert at_hour(event, weather, "humidity_frac", 12) == pytest.approx(0.5)  # as told


def test_only_what_is_noted_is_known_as_well_as_steady_weather(event: Event) -> None:
    _, before, _ = noted_weather([], event, None)
    _, after, _ = noted_weather([sky(event, 12, humidity_frac=0.4)], event, None)
    known = weather_spreads("steady", np.zeros(1))
    assert after == {k: v for k, v in before.items() if k != "dew_point"} | {
        "humidity": known["humidity"]
    }


@pytest.mark.parametrize(
    ("said", "cloud_frac", "hazy"),
    [
        ({"sky": "overcast"}, 1.0, False),
        ({"sky": "hazy"}, 0.0, True),
        ({"sky": "hazy", "cloud_frac": 0.5}, 0.5, True),  # a figure goes before the word
        ({"cloud_frac": 0.25}, 0.25, False),
    ],
)
def test_a_word_for_the_sky_says_cloud_and_haze(
    event: Event, said: dict[str, object], cloud_frac: float, hazy: bool
) -> None:
    weather, spread, _ = noted_weather([sky(event, 12, **said)], event, None)
    assert at_hour(event, weather, "cloud_frac", 12) == cloud_frac
    assert (weather.linke_turbidity is not None) == hazy
    beam = weather_spreads("steady" if hazy else "assumed", np.zeros(1))["beam_log"]
    assert spread["beam_log"] == beam


def test_wind_felt_by_hand_is_more_wind_higher_up(event: Event) -> None:
    weather, _, _ = noted_weather([sky(event, 12, wind_m_s=2.0)], event, None)
    assert at_hour(event, weather, "wind_10m_m_s", 12) > 2.0
    rough = replace(event.place, roughness_length_m=HAND_HEIGHT_M)
    high = noted_weather([sky(event, 12, wind_m_s=2.0)], replace(event, place=rough), None)[0]
    assert at_hour(event, high, "wind_10m_m_s", 12) > at_hour(event, weather, "wind_10m_m_s", 12)


def test_sun_that_the_forecast_tells_stays_until_the_cloud_is_noted(event: Event) -> None:
    base = hourly(event, ghi_w_m2=500.0, air_temp_k=295.0)
    kept, _, _ = noted_weather([sky(event, 12, temp_k=300.0)], event, base)
    assert at_hour(event, kept, "ghi_w_m2", 12) == 500.0
    assert kept.cloud_frac is None
    seen, _, _ = noted_weather([sky(event, 12, cloud_frac=1.0)], event, base)
    assert seen.ghi_w_m2 is None
    assert at_hour(event, seen, "cloud_frac", 12) == 1.0


def test_gaps_of_the_weather_told_are_bridged(event: Event) -> None:
    base = hourly(event, cloud_frac=0.0, humidity_frac=0.4)
    assert base.humidity_frac is not None
    base.humidity_frac[6:12] = np.nan
    weather, _, _ = noted_weather([sky(event, 12, temp_k=300.0)], event, base)
    assert np.allclose(weather.humidity_frac, 0.4)
