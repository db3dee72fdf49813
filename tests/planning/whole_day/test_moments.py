"""The moments of a day are those that plan, aim and setting out found, in order."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

import drybox
from drybox.inputs.event.event import load_event
from drybox.planning.whole_day.moments import CODES, DayMoments
from tests.planning.short_day import SHORT_DAY

DAY = SHORT_DAY | {
    "event.every": "40 min",
    "event.breaks": [["12:30", "12:50"]],
    "weather.humidity": "45 %",
    "weather.wind": "3 m/s",
}
WALL = {"name": "barn", "from": "190 deg", "to": "230 deg", "elevation_angle": "80 deg"}


@cache
def day(kind: str) -> DayMoments:
    told = {
        "open": {},
        "barn": {"place.obstacle": [WALL]},
        "courtyard": {"place.obstacle": [WALL | {"from": "0 deg", "to": "360 deg"}]},
        "guessed": {"weather.sky": None},
    }[kind]
    return drybox.day(load_event(None, DAY | told), members=20)


def test_they_are_in_order_and_each_once_but_turns_breaks_and_shades() -> None:
    for kind in ("open", "barn", "courtyard"):
        found = day(kind)
        assert all(one.begin_at <= other.begin_at for one, other in pairwise(found.moments))
        codes = [moment.code for moment in found.moments]
        assert set(codes) <= set(CODES)
        several = ("turn", "break", "box_in_shade", "camera_in_sun")
        assert all(codes.count(code) == 1 for code in codes if code not in several)
        assert codes[-1] == "pack_up"
        assert len(codes) <= 14


def test_they_say_what_the_other_calls_say() -> None:
    found = day("open")
    event = found.event
    aim, out, plan = (
        drybox.aim(event),
        drybox.set_out(event),
        drybox.plan_day(event, members=20, what_if=False),
    )
    (set_out,), (first,), (last,) = (
        found.of(code) for code in ("set_out", "first_load", "last_load")
    )
    assert (set_out.begin_at, first.begin_at) == (out.set_out_at, out.first_load_at)
    assert last.begin_at == out.sure[-1]
    assert set_out.turn == aim.plan.turns[0]
    assert [moment.turn for moment in found.of("turn")] == list(aim.plan.turns[1:])
    assert found.metal_k == aim.metal_k == out.metal_k == plan.metal_k
    assert found.plan.tickets == plan.tickets
    (dry,) = found.of("last_dry")
    assert dry.ticket == plan.last_dry_ticket


def test_shade_on_the_box_is_a_moment_with_what_to_do_instead() -> None:
    (shade,) = day("barn").of("box_in_shade")
    assert shade.cause == "barn"
    assert shade.end_at is not None
    assert shade.instead == "line_shade"


def test_in_shade_under_a_closed_sky_the_plan_s_prints_dry_on_the_plate_all_the_same() -> None:
    """The day had sent them to the line, where its own plan did not dry them."""
    told = {
        "place.latitude": 68.1,
        "place.longitude": 14.4,
        "place.obstacle": [
            {"name": "hall", "from": "32 deg", "to": "152 deg", "elevation_angle": "46 deg"}
        ],
        "paper.stock": "resin coated",
        "event.date": "2027-03-05",
        "event.opens": "08:00",
        "event.closes": "14:00",
        "event.every": "60 min",
        "weather.sky": "overcast",
        "weather.air_temp": "2.6 °C",
        "weather.humidity": "70 %",
    }
    found = drybox.day(load_event(None, told), members=20)
    (shade,) = found.of("box_in_shade")
    laid = [t for t in found.plan.tickets if t.laid_on_at and t.laid_on_at < (shade.end_at or 0)]
    assert {ticket.way for ticket in laid} == {"sun_plate"}
    assert shade.instead == "sun_plate"
    said = drybox.answer(found)
    assert any("the plan's prints dry on it all the same" in line for line in said.lead)
    plan = drybox.plan_day(load_event(None, told), members=20, what_if=False)
    (gap,) = (one for one in drybox.answer(plan).result["breaks"] if one["use"] == "box")
    assert gap["instead"] == "sun_plate"


def test_without_sun_the_box_stays_at_home_and_the_day_goes_on() -> None:
    found = day("courtyard")
    assert found.aim is None
    assert found.set_out is None
    assert found.no_box is not None
    assert found.no_box.what.endswith("it is behind the barn all the time")
    assert [moment.code for moment in found.moments if moment.code in ("no_box", "set_out")] == [
        "no_box"
    ]
    assert found.metal_k is None
    assert found.wind is None
    assert found.plan.tickets


def test_cloud_that_nobody_told_gives_both_skies() -> None:
    found = day("guessed")
    assert found.other_sky is not None
    assert found.other_sky.plan.tickets
    assert drybox.answer(found).result.keys() >= {"if_clear", "if_overcast"}


def test_a_frame_has_a_row_for_each_moment() -> None:
    found = day("open")
    frame = drybox.to_frame(found)
    assert list(frame.code) == [moment.code for moment in found.moments]
    assert str(frame.begin_at.dt.tz) == "Europe/Vienna"


@pytest.mark.parametrize(
    ("told", "code", "words"),
    [
        ({"event.ways": ["line in the shade"]}, "not_listed", "ways do not list it"),
        ({"event.plate_slots": 0}, "no_place", "plate_slots = 0"),
    ],
)
def test_a_plate_that_the_event_leaves_out_stays_at_home_for_that_reason(
    told: dict[str, object], code: str, words: str
) -> None:
    event = load_event(None, DAY | told)
    found = drybox.day(event, members=20)
    (no_box,) = found.of("no_box")
    assert (no_box.unused, no_box.no_box) == (code, None)
    text = " ".join(drybox.answer(found).lead)
    assert words in text
    assert "stays hot" not in text
    assert words in drybox.answer(drybox.aim(event)).lead[0]
    assert words in drybox.answer(drybox.set_out(event)).lead[0]
    assert "stays hot" in " ".join(drybox.answer(day("open")).lead)


def test_no_way_is_named_where_no_print_of_the_plan_dries() -> None:
    """Washed after the closing: a line in damp air had been named."""
    short = {"event.every": "30 min", "event.breaks": [], "event.closes": "11:50"}
    found = drybox.day(load_event(None, DAY | short | {"weather.humidity": "90 %"}), members=20)
    assert not any(ticket.way for ticket in found.plan.tickets)
    (at_home,) = found.of("no_box")
    assert (at_home.unused, at_home.instead) == ("none_washed", "")
