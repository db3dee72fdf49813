"""Cloud that is not told is not guessed: a clear and a closed sky stand side by side."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import plain, record, said

PLACE = ("--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12")
FEW = ("--members", "20")
NORTH = """\
place = { coordinates = "67.2, 15.0" }
event = { date = "2027-01-19", opens = "09:00", closes = "11:20" }
"""
ASKED = {
    "dry": ("--at", "13:00", "--ways", "sun plate, line in the shade", *FEW),
    "setout": FEW,
    "plan": ("--every", "60 min", "--no-what-if", *FEW),
}
FIRST = {"dry": "if_clear", "setout": "if_clear", "plan": "if_overcast"}


@pytest.mark.parametrize("command", list(ASKED))
def test_both_skies_stand_in_the_record_and_one_of_them_first(command: str) -> None:
    result = record(command, *PLACE, *ASKED[command])["result"]
    assert result["if_clear"] != result["if_overcast"]
    first = {key: value for key, value in result.items() if key not in ("if_clear", "if_overcast")}
    assert first == result[FIRST[command]]


@pytest.mark.parametrize("command", list(ASKED))
@pytest.mark.parametrize("told", [("--sky", "clear"), ("--cloud", "8")])
def test_a_sky_that_is_told_stands_alone(command: str, told: tuple[str, str]) -> None:
    result = record(command, *PLACE, *told, *ASKED[command])["result"]
    assert "if_clear" not in result
    assert "if_overcast" not in result


def test_each_is_the_answer_to_the_sky_when_it_is_told() -> None:
    both = record("dry", *PLACE, *ASKED["dry"])["result"]
    closed = both["if_overcast"]["ways"][0]["minutes"]["p50"]
    clear = both["if_clear"]["ways"][0]["minutes"]["p50"]
    for sky, found in (("overcast", closed), ("clear", clear)):
        told = record("dry", *PLACE, "--sky", sky, *ASKED["dry"])["result"]
        assert found == pytest.approx(told["ways"][0]["minutes"]["p50"], rel=0.25)
    assert closed > 1.5 * clear


def test_the_first_lines_name_both() -> None:
    assert "The cloud is not told" in said("dry", *PLACE, *ASKED["dry"])
    lines = said("plan", *PLACE, *ASKED["plan"])
    assert "holds under a closed sky" in lines
    assert "Under a clear sky:" in lines


def test_what_is_said_of_one_sky_stands_with_it() -> None:
    """The clear sky's times had stood after the closed sky's, without its name."""
    for command, each in (
        ("dry", "Why: "),
        ("dry", "Look at it from "),
        ("setout", "Lay prints on"),
    ):
        clear, closed = plain(command, *PLACE, *ASKED[command]).split(" Closed sky. ")
        assert clear.count(each) == 1
        assert closed.count(each) == (1 if command == "dry" else 0)


def test_the_hours_of_the_day_are_those_of_the_sky_named_above_them() -> None:
    text = plain("day", *PLACE, *FEW)
    assert text.index("Closed sky. ") < text.index("Under the clear sky, in order: ")
    assert text.index("Under the clear sky, in order: ") < text.index("The first sitter")
    assert "Under the clear sky" not in plain("day", *PLACE, *FEW, "--sky", "clear")


def test_setout_answers_for_a_clear_sky_where_a_closed_one_has_no_daylight(tmp_path: Path) -> None:
    """67° north in January, until 20 past eleven; aim and day answer there too."""
    (tmp_path / "north.toml").write_text(NORTH, encoding="utf-8")
    asked = (str(tmp_path / "north.toml"), *FEW)
    text = plain("setout", *asked)
    assert "Clear sky." in text
    assert "Closed sky. No daylight reaches the plate" in text
    assert record("setout", *asked)["result"]["if_overcast"] is None
