"""Weather as people say it on the line, and what stands in for what they do not say."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from drybox.cli import main
from tests.running import plain, ran, record, refused, said

HERE = ("--latitude", "51.45", "--longitude", "-2.60", "--elevation", "50 m")
JULY = (*HERE, "--date", "2027-07-15")
CLEAR = (*JULY, "--sky", "clear")
ASKED = {
    "dry": ("--at", "13:00", "--ways", "sun plate", "--members", "20"),
    "setout": ("--members", "20"),
    "plan": ("--every", "60 min", "--no-what-if", "--members", "20"),
    "aim": (),
}


def inputs(*args: str) -> dict[str, tuple[object, str]]:
    found = record("check", *args)["inputs"]
    return {row["key"]: (row["value"], row["source"]) for row in found}


@pytest.mark.parametrize("command", list(ASKED))
def test_the_first_lines_say_what_is_usual_and_was_not_told(command: str) -> None:
    # Recommendations ITU-R P.1510 and P.836 by the rule of usual_air: 19.1 °C and 63 % in July
    lead = said(command, *CLEAR, *ASKED[command]).partition("\n\n")[0]
    line = "Air about 19 °C, 63 %, wind 4 m/s: usual for this place in July, not told."
    assert line in " ".join(lead.split())
    assert "20 °C" not in lead


def test_what_is_told_is_not_called_usual() -> None:
    lead = plain("dry", *CLEAR, "--air-temp", "24C", "--humidity", "45 %", *ASKED["dry"])
    assert "Wind about 4 m/s: usual for this place in July, not told." in lead
    assert "24 °C" in lead
    all_told = ("--air-temp", "24C", "--humidity", "45 %", "--wind", "3 m/s")
    assert "usual for this place" not in plain("dry", *CLEAR, *all_told, *ASKED["dry"])


def test_units_of_the_line_follow_the_answer() -> None:
    lead = plain("dry", *CLEAR, *ASKED["dry"], "--units", "us")
    assert "Air about 66 °F, 63 %, wind 9 mph: usual for this place in July" in lead


def test_seasons_of_the_south_and_the_tropics() -> None:
    # check rows of the same rule: Sydney 26.3 °C in January, Singapore 29.2 °C
    for place, date, kelvin in (
        (("--latitude", "-33.95", "--longitude", "151.18"), "2027-01-16", 299.45),
        (("--latitude", "1.37", "--longitude", "103.98"), "2027-01-16", 302.35),
    ):
        value, source = inputs(*place, "--date", date)["weather.air_temp"]
        assert value == pytest.approx(kelvin, abs=0.25)
        assert "usual for this place" in source


@pytest.mark.parametrize(
    ("word", "oktas"),
    [("sunny", 0), ("Partly cloudy", 4), ("mostly-cloudy", 6), ("cloudy", 8), ("fog", 8)],
)
def test_words_of_public_forecasts(word: str, oktas: int) -> None:
    # eighths of cloud by the words of the National Weather Service (from memory)
    weather = plain("check", *JULY, "--sky", word)
    assert (f"{oktas} oktas of cloud" if oktas else "a clear sky") in weather
    assert "1 okta of cloud" in plain("check", *JULY, "--cloud", "1")


def test_options_go_before_the_file(tmp_path: Path) -> None:
    event = tmp_path / "e.toml"
    event.write_text(
        '[place]\ncoordinates = "51.45, -2.60"\n[event]\ndate = "2027-07-15"\n[weather]\n'
        'air_temp = "10 °C"\nhumidity = "80 %"\nwind_at_plate = "1 m/s"\n',
        "utf-8",
    )
    found = inputs(str(event), "--air-temp", "75F", "--wind", "7 mph", "--humidity", "0.45")
    assert found["weather.air_temp"] == ("75F", "option --air-temp")
    assert found["weather.humidity"] == ("0.45", "option --humidity")
    assert found["weather.wind"][1] == "option --wind"
    assert "weather.wind_at_plate" not in found
    shown = plain("check", str(event), "--air-temp", "75F", "--wind", "7 mph", "--humidity", "0.45")
    assert "23.9 °C, 45 % RH, wind 3.13 m/s" in shown


@pytest.mark.parametrize(("told", "share"), [("0.6", 60), ("60", 60), ("60 %", 60), ("1", 100)])
def test_humidity_as_a_share_or_in_per_cent(told: str, share: int) -> None:
    shown = plain("check", *JULY, "--humidity", told)
    assert f"steady: {share} % RH" in shown
    assert ("has no unit and is taken as" in shown) == (not told.endswith("%"))


@pytest.mark.parametrize(
    ("option", "text"),
    [
        (("--air-temp", "75 °C"), 'is it in °F? write it like "75 °F" (option --air-temp)'),
        (("--air-temp", "24"), 'has no unit; write it like "24 °C" (option --air-temp)'),
        (("--air-temp", "400 K"), "is it in °F?"),
        (("--humidity", "450"), "humidity 450 is outside 0 to 100 % (option --humidity)"),
        (("--wind", "5"), 'has no unit; write it like "5 m/s" (option --wind)'),
        (("--sky", "blueish"), "choose one of: clear,"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(option: tuple[str, str], text: str) -> None:
    assert text in refused("check", *JULY, *option)


def test_without_a_date_it_is_for_today(monkeypatch: pytest.MonkeyPatch) -> None:
    noon = datetime.datetime(2027, 7, 15, 12, tzinfo=datetime.UTC).timestamp()
    monkeypatch.setattr("time.time", lambda: noon)
    assert inputs(*HERE)["event.date"] == ("2027-07-15", "today")
    assert "No date was given, so it is for today, 2027-07-15." in plain("check", *HERE)
    east = ("--latitude", "-36.8", "--longitude", "174.8")  # it is past midnight there
    assert inputs(*east)["event.date"] == ("2027-07-16", "today")


def forecast(path: Path, heading: str, rows: list[str], issued: str = "") -> str:
    path.write_text("\n".join([*([f"# issued {issued}"] if issued else []), heading, *rows]))
    return str(path)


def test_sun_in_kilowatts_is_read_by_its_heading_and_doubted_without(tmp_path: Path) -> None:
    hours = [f"2027-07-15T{h:02d}:00Z,{0.9 if 8 < h < 16 else 0.1}" for h in range(3, 21)]
    named = forecast(tmp_path / "k.csv", "time,ghi (kW/m²)", hours)
    assert "GHI: column 'ghi (kW/m²)' in kW/m2" in plain("weather", "show", named)
    watts = forecast(tmp_path / "w.csv", "time,ghi_w_m2", hours)
    for command in (["check"], ["dry", "--ways", "line in the shade", "--members", "20"]):
        shown = plain(*command, *JULY, "--weather", watts)
        assert "reaches only 0.9 W/m2: if it is in kW/m2, head it ghi_kw_m2" in shown
    bare = forecast(tmp_path / "b.csv", "time,ghi", hours)
    status, _, error = ran("check", *JULY, "--weather", bare)
    assert status == 2
    assert "names no unit, and 0.9 could be several; name it, such as ghi_w_m2" in error


@pytest.mark.parametrize("command", list(ASKED))
def test_every_command_says_that_its_forecast_is_old(tmp_path: Path, command: str) -> None:
    hours = [f"2027-07-15T{h:02d}:00Z,18,60,3,2" for h in range(3, 21)]
    heading = "time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas"
    old = forecast(tmp_path / "old.csv", heading, hours, "2027-07-08T06:00Z")
    shown = plain(command, *JULY, "--weather", old, *ASKED[command])
    assert "The forecast was issued 7 days before the day" in shown


def test_the_options_are_in_the_help_of_what_rests_on_the_weather(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for command in ("dry", "setout", "plan", "check", "season"):
        assert main([command, "--help"]) == 0
        text = capsys.readouterr().out
        assert all(option in text for option in ("--air-temp", "--humidity", "--wind"))
