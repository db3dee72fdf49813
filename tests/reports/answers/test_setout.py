"""What is said of setting out on odd days: of a real one with one thing changed at a time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.reports.answers.setout import setout_answer
from tests.planning.short_day import SHORT_DAY

WAIT = {"drying.wait": "60 min"}
FIXED = {"box.bearing": "180 deg", "box.tilt": "25 deg"}


@cache
def set_out_of(*box: tuple[str, object]) -> tuple[Event, SetOutResult]:
    there = load_event(
        None, SHORT_DAY | dict(box) | {"event.opens": "12:00", "event.closes": "13:00"}
    )
    return there, plan_set_out(there, members=20)


def set_out(**told: object) -> tuple[Event, SetOutResult]:
    return set_out_of(*told.items())


@pytest.mark.parametrize(
    ("box", "words"),
    [
        (FIXED, "(180° true, S), tilted 25°"),
        ({"box.aim": "track"}, "let it follow the sun"),
        ({"box.aim": "best"}, "true"),
    ],
)
def test_the_box_is_set_out_as_it_is_aimed(box: dict[str, object], words: str) -> None:
    there, found = set_out(**box, **WAIT)
    lead = setout_answer(there, found, members=20, seed=1).lead
    assert lead[0].startswith("Set the box out at ")
    assert words in lead[0]
    assert not any("Turn it at" in text for text in lead)


def test_a_plate_too_hot_for_prints_is_warned_of_with_its_hours() -> None:
    there, found = set_out(**WAIT)
    noon = there.day_start_at + 12 * 3600.0
    hot = replace(found, too_hot=(noon, noon + 900.0, noon + 2700.0))
    one, other = (setout_answer(there, each, members=20, seed=1) for each in (hot, found))
    assert any(
        "From 12:00 to 12:30 and 12:45 to 13:00 a print laid on is kept" in text
        for text in one.warnings
    )
    assert any("'drybox dry --at 12:00'" in text for text in one.warnings)
    assert not any("over its limit" in text for text in other.warnings)


def test_a_box_off_the_sun_says_why_in_the_first_sentence() -> None:
    held = {"drying.hold_below": "50 °C"}
    for told, words in ((FIXED, "fixed so by the event file"), (held, "below 50 °C as asked")):
        there, found = set_out(**told, **WAIT)
        answer = setout_answer(there, found, members=20, seed=1)
        assert words in answer.lead[0], answer.lead
    there, found = set_out(**WAIT)
    first = setout_answer(there, found, members=20, seed=1).lead[0]
    assert "off the sun" not in first
    assert "fixed" not in first


@pytest.mark.parametrize(
    ("sunrise", "sunset", "words"),
    [(True, False, "The sun rises at 05:"), (False, True, "The sun sets at 21:")],
)
def test_a_day_may_have_only_one_of_rise_and_set(sunrise: bool, sunset: bool, words: str) -> None:
    there, found = set_out()
    part = replace(
        found,
        sunrise_at=found.sunrise_at if sunrise else None,
        sunset_at=found.sunset_at if sunset else None,
    )
    said = " ".join(setout_answer(there, part, members=20, seed=1).lead)
    assert words in said
    assert ("sets at" in said) == sunset
