from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.ways import Cure, DryResult, Reason, WayResult, choose
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.percentiles import Range
from drybox.reports.answers.dry import dry_answer, why_not_said
from drybox.reports.text.answer import Answer
from drybox.reports.text.terminal import render_text
from tests.planning.short_day import SHORT_DAY

TOUCH = (40.0, 60.0, 80.0)
AT_S = 1812799200.0  # 13:20 in Vienna on 12 June 2027


@pytest.fixture(scope="module")
def event() -> Event:
    place = {"place.latitude": 47.2, "place.longitude": 12.3, "place.timezone": "Europe/Vienna"}
    return load_event(None, place | {"event.date": "2027-06-12"})


def way(name: str, minutes: tuple[float | None, ...], **other: object) -> WayResult:
    low, middle, high = (None if part is None else 60.0 * part for part in minutes)
    duration = Range(low, middle, high)
    usual = WayResult(
        way=name,
        duration_s=duration,
        touch_dry_at=duration.scaled(0.8, AT_S),
        dry_at=duration.scaled(1.0, AT_S),
        pull_from_at=None if middle is None else AT_S + middle,
        pull_before_at=None,
        print_temp_max_k=300.0,
        wet_temp_max_k=298.0,
        plate_temp_max_k=None,
        energy_j=0.0,
        feasible=high is not None,
        why=Reason() if high is not None else Reason("not_sure"),
    )
    return replace(usual, **other)  # type: ignore[arg-type]


def answer(
    event: Event,
    *ways: WayResult,
    humidity: float = 0.4,
    units: str = "metric",
    cures: tuple[Cure, ...] = (),
) -> Answer:
    told = conditions(event.weather, event.place, AT_S - 7200.0, end_at=AT_S + 7200.0)
    told = replace(told, humidity_frac=np.full(told.time_at.shape, humidity))
    choice, why = choose(ways)
    plates = [one.plate_temp_max_k for one in ways if one.feasible and one.plate_temp_max_k]
    metal_k = max(plates, default=None)
    result = DryResult(
        AT_S, ways, choice, why, None, None, None, None, told, cures=cures, metal_k=metal_k
    )
    return dry_answer(event, result, members=20, seed=1, units=units)


def test_a_print_that_hangs_is_not_hurried(event: Event) -> None:
    found = answer(event, way("line_shade", (30, 40, 55)))
    assert found.lead[0] == (
        "Hang it on a line in the shade at 13:20: dry in 30 to 55 min, between 13:50 and 14:15, "
        "most likely at 14:00."
    )
    assert any("It may hang on" in text for text in found.lead)
    assert found.warnings == [*event.warnings]


def test_a_print_on_the_plate_has_a_window_and_an_energy(event: Event) -> None:
    hot = way(
        "warm_plate",
        (17, 21, 27),
        pull_before_at=AT_S + 25 * 60.0,
        plate_temp_max_k=339.15,
        wet_temp_max_k=317.15,
        print_temp_kept_k=320.15,
        energy_j=23 * 3600.0,
    )
    found = answer(event, hot)
    pull = "Look at it from 13:37, pull it between 13:41 and 13:45"
    assert any(text.startswith(pull) for text in found.lead)
    assert "It takes about 23 Wh." in found.lead
    assert any("kept at 47 °C for a minute" in text for text in found.warnings)
    assert any("dry one test sheet first" in text for text in found.warnings)
    burns = "Metal today up to 66 °C: burns in 1 s; gloves or tongs, children off."
    assert found.lead[-1] == burns
    assert not any("HOT label" in text for text in found.cautions)
    us = answer(event, hot, units="us")
    assert "151 °F" in us.lead[-1]
    assert any("117 °F" in text for text in us.warnings)
    assert us.result == found.result


@pytest.mark.parametrize(
    ("plate_temp_k", "words"), [(329.15, "10 s"), (325.15, "1 min"), (320.15, None)]
)
def test_the_touch_that_burns_goes_with_the_temperature(
    event: Event, plate_temp_k: float, words: str | None
) -> None:
    found = answer(event, way("warm_plate", (17, 21, 27), plate_temp_max_k=plate_temp_k))
    burns = [text for text in found.lead if "Metal today" in text]
    assert [f"burns in {words};" in text for text in burns] == ([True] if words else [])
    assert not any("HOT label" in text for text in found.cautions)  # today's figure is known


CURES = (
    Cure("cooler plate", Range(600.0, 720.0, 960.0), 325.15, False),
    Cure("lighter aim", Range(900.0, 1200.0, 1500.0), 320.15, True, 328.15),
    Cure("off the sun", Range(1200.0, 1500.0, 1800.0), 313.15, True, 318.15),
)


def test_a_plate_that_is_ruled_out_has_its_cures_in_order_each_with_minutes_and_heat(
    event: Event,
) -> None:
    hot = way("sun_plate", (8, 10, 14), feasible=False, too_hot=True, why=Reason("rains"))
    found = answer(event, hot, way("line_shade", (30, 40, 55)), cures=CURES)
    said = [text for text in found.warnings if text.startswith("Cooler: ")]
    assert said == [
        "Cooler: set the box out, or uncover it, only 10 min before the print: dry in 10 to 16 "
        "min, the print kept at up to 52 °C, still over its limit.",
        "Cooler: aim it lighter, as 'drybox aim --hold-below 55C' says: dry in 15 to 25 min, the "
        "print kept at up to 47 °C.",
        "Cooler: last of all hold it off the sun, as 'drybox aim --hold-below 45C' says: dry in "
        "20 to 30 min, the print kept at up to 40 °C.",
    ]
    assert [cure["cure"] for cure in found.result["cures"]] == [cure.cure for cure in CURES]
    assert found.result["cures"][0]["minutes"]["p50"] == 12.0
    assert found.result["cures"][0]["print_temp_kept_c"] == pytest.approx(52.0)


def test_a_limit_of_heat_is_passed_by_degrees_of_the_units_asked_for() -> None:
    heat = {"kept_k": 309.15, "wet_most_k": 303.15, "print_most_k": 343.15, "over_k": 5.0}
    hot = way("warm_plate", (29, 40, 57), feasible=False, why=Reason("too_hot", heat))
    assert why_not_said(hot).endswith("its limit (30 °C wet, 70 °C dry) by 5 K")
    assert why_not_said(hot, "us").endswith("its limit (86 °F wet, 158 °F dry) by 9 °F")


def test_a_plate_that_is_not_chosen_has_no_cures(event: Event) -> None:
    warm = way("sun_plate", (38, 44, 89), print_temp_kept_k=319.15)
    found = answer(event, way("line_shade", (30, 40, 55)), warm, cures=CURES)
    assert not any(text.startswith("Cooler: ") for text in found.warnings)


def test_no_print_hangs_in_a_book_or_on_a_plate(event: Event) -> None:
    book = answer(event, way("blotters", (300, 400, 500)))
    assert any("take it out from" in text and "It may lie on" in text for text in book.lead)


def test_when_nothing_is_sure_the_nearest_is_named(event: Event) -> None:
    found = answer(
        event,
        way("line_shade", (60, 90, None)),
        way("sun_plate", (20, 30, 40), feasible=False, too_hot=True, why=Reason("rains")),
    )
    assert found.result["choice"]["way"] is None
    nearest = "The line in the shade comes nearest: one print in two is dry by 14:50."
    assert nearest in found.lead
    assert "hand it over damp, or mail it" in found.lead[0]


def test_a_print_that_can_only_be_promised_touch_dry_says_how_to_take_it_along(
    event: Event,
) -> None:
    damp = way("line_shade", (60, 90, None), touch_dry_at=Range(*(AT_S + 60 * m for m in TOUCH)))
    found = answer(event, damp, way("screen_shade", (80, None, None)))
    assert found.result["choice"]["way"] == "line_shade"
    assert found.lead[0] == (
        "Hang it on a line in the shade at 13:20: touch dry in 40 to 80 min, between 14:00 and "
        "14:40, most likely at 14:20."
    )
    assert any("never in a folder nor in plastic" in text for text in found.lead)


def test_reasons_stand_below_the_table_once(event: Event) -> None:
    found = answer(
        event,
        way("line_sun", (20, 30, 40)),
        way("line_shade", (60, 90, None)),
        way("screen_shade", (80, None, None)),
    )
    text = " ".join(render_text(found, width=80).split())  # too narrow for a column of reasons
    table = text[text.index("Each way") :]
    assert table.count("not sure to be dry within the time followed") == 1
    assert "line in the shade and screen in the shade: not sure" in text


def test_damp_air_is_named(event: Event) -> None:
    assert any(
        "The air is damp (72 % humidity)" in text
        for text in answer(event, way("line_sun", (20, 30, 40)), humidity=0.72).warnings
    )


def test_a_plate_that_lies_level_faces_straight_up() -> None:
    there = load_event(None, SHORT_DAY)
    found = dry_print(there, there.opens_at, members=20, ways=("sun_plate",))
    level, leaning = (
        " ".join(dry_answer(there, replace(found, tilt_deg=tilt), members=20, seed=1).lead)
        for tilt in (0.5, 30.0)
    )
    assert "faces straight up: it lies level" in level
    assert "straight up" not in leaning
