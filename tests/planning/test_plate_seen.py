"""Drawn days held to what the plate read on the day itself."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from drybox.inputs.calibrated_event import use_readings
from drybox.inputs.event import Event, load_event
from drybox.inputs.field_note_kinds import Note
from drybox.planning.conditions import conditions
from drybox.planning.draws import draw
from drybox.planning.drying import dry_print
from drybox.planning.event_day import plan_day
from drybox.planning.plate_seen import LEAST_SHARE, agreement, chosen_rows, draw_seen
from drybox.planning.ranges import Range
from drybox.planning.set_out import plan_set_out
from drybox.planning.ways import DryResult
from drybox.reports.phrases import doubted_readings
from drybox.tables import load_table
from tests.planning.invented_boxes import ZONE, event_on

LAID_S = 4.0 * 3600.0  # after the opening at 9


@cache
def day() -> Event:
    return event_on("2027-06-19", "3 oktas", 24, 50, 2.5)


def plate(temp_c: float, before_s: float = 300.0, **said: Any) -> Note:
    at_s = int(day().opens_s + LAID_S - before_s)
    return Note(
        **{"kind": "plate", "at_s": at_s, "timezone": ZONE, "temp_k": temp_c + 273.15} | said
    )


def dried(*notes: Note) -> DryResult:
    event = use_readings(day(), notes)
    return dry_print(event, event.opens_s + LAID_S, ways=("sun_plate",))


def likely_s(found: DryResult) -> float:
    return float(found.ways[0].duration_s.p50 or np.nan)


def warm_k(found: DryResult) -> Range:
    assert found.plate_temp_at_start_k is not None
    return found.plate_temp_at_start_k


def width_k(found: DryResult) -> float:
    warm = warm_k(found)
    return float(warm.p90 or np.nan) - float(warm.p10 or np.nan)


def test_without_readings_nothing_changes() -> None:
    told = conditions(day().weather, day().place, day().opens_s, day().closes_s)
    plain, seen = draw(told, "steady", 20, 1), draw_seen(day(), told, 20, 1).ensemble
    assert np.array_equal(plain.conditions.dni_w_m2, seen.conditions.dni_w_m2)
    assert np.array_equal(plain.shelter_factor, seen.shelter_factor)


def test_a_cool_plate_dries_later_and_a_hot_one_sooner_than_untold() -> None:
    untold = dried()
    usual = warm_k(untold).p50 or np.nan
    cool, hot = (
        likely_s(dried(*(plate(usual + off - 273.15, before) for before in (900, 300))))
        for off in (-10, 10)
    )
    assert hot < likely_s(untold) < cool


def test_a_reading_says_how_warm_the_plate_is() -> None:
    assert width_k(dried(plate(65))) < 0.6 * width_k(dried())


def test_a_reading_that_no_weather_told_explains_counts_for_nothing_and_is_named() -> None:
    odd = plate(120)
    found = dried(odd)
    assert found.doubted == (odd,)
    assert likely_s(found) == pytest.approx(likely_s(dried()), rel=0.06)  # other draws, no more
    assert dried(plate(65)).doubted == ()


def test_set_out_and_the_event_day_hold_to_the_readings_too() -> None:
    odd, right = plate(120), plate(42)
    assert plan_set_out(use_readings(day(), [odd]), members=20).doubted == (odd,)
    assert plan_day(use_readings(day(), [odd]), members=20, what_if=False).doubted == (odd,)
    laid = day().opens_s + LAID_S
    cool, untold = (
        dict(plan_set_out(event, members=60).loads)[laid].p50
        for event in (use_readings(day(), [right]), day())
    )
    assert cool is not None
    assert untold is not None
    assert cool > untold


def test_agreement_is_the_closed_form_of_two_normals() -> None:
    """Gelman and others, Bayesian Data Analysis, 3rd ed., eq. 2.10 (from memory)."""
    rng = np.random.default_rng(5)
    box, weather = 3.0 * rng.standard_normal(200_000), 2.0 * rng.standard_normal(200_000)
    noise = load_table("spreads")["noted"]["plate_temp"].value
    read = 4.0
    given = np.array([read]), np.array([noise]), np.array([False])
    share, _ = agreement((box + weather)[None], *given, box)
    whole = 3.0**2 + 2.0**2 + noise**2
    mean = float(share @ box)
    assert mean == pytest.approx(read * 3.0**2 / whole, abs=0.03)
    spread = np.sqrt(float(share @ (box - mean) ** 2))
    assert spread == pytest.approx(3.0 * np.sqrt(1 - 3.0**2 / whole), rel=0.02)


def test_a_reading_that_the_fit_knows_says_no_more_of_the_box_but_all_of_the_weather() -> None:
    rng = np.random.default_rng(6)
    box = np.repeat(3.0 * rng.standard_normal(400), 500)
    weather = 2.0 * rng.standard_normal(box.size)
    noise = load_table("spreads")["noted"]["plate_temp"].value
    given = np.array([3.0]), np.array([noise]), np.array([True])
    share, _ = agreement((box + weather)[None], *given, box)
    assert share.reshape(400, 500).sum(axis=1) == pytest.approx(np.full(400, 1 / 400))
    gain = 2.0**2 / (2.0**2 + noise**2)
    for one in np.unique(box)[[150, 200, 250]]:
        here = box == one
        mean = float(share[here] @ weather[here] / share[here].sum())
        assert mean == pytest.approx(gain * (3.0 - one), abs=0.35)


def test_boxes_are_taken_as_evenly_as_their_shares_allow() -> None:
    own = np.tile(np.arange(50.0), 8)
    even = chosen_rows(np.full(400, 1 / 400), own, 100, 1)
    assert np.bincount(own[even].astype(int)).tolist() == [2] * 50
    assert np.any(np.diff(own[even]) < 0)  # not in order of the box


@pytest.mark.parametrize(
    "other",
    [
        {"box": "another"},
        {"place": "another"},
        {"at_s": int(day().opens_s) - 86400},
    ],
)
def test_readings_of_something_else_are_left_alone(other: dict[str, Any]) -> None:
    assert use_readings(day(), [plate(46, **other)]) is day()


def test_the_answer_says_which_readings_it_holds_to() -> None:
    said = use_readings(day(), [plate(46, 300), plate(47, 900), plate(46, 300)])
    assert [note.temp_k for note in said.seen] == [47 + 273.15, 46 + 273.15]
    assert "read that day of the plate, 12:45, 12:55: drawn days" in said.assumptions[-1]
    shown = [(one.value, one.unit, one.source) for one in said.resolved[-2:]]
    assert shown == [(47.0, "°C", "field note of 12:45"), (46.0, "°C", "field note of 12:55")]
    left = use_readings(day(), [plate(46)], calibrated=False)
    assert left.seen == ()
    assert left.assumptions[-1].endswith("without what was read that day of the plate, 12:55.")


def test_many_readings_are_not_named_one_by_one() -> None:
    said = use_readings(day(), [plate(40 + k, 60.0 * k) for k in range(60)])
    assert "the plate, 60 times from 12:01 to 13:00:" in said.assumptions[-1]
    words = doubted_readings(said.seen, "metric", ZONE)[0]
    assert "97 °C at 12:03 and 57 more" in words


def test_the_air_under_a_cover_counts_as_the_plate_does() -> None:
    covered = event_on("2027-06-19", "3 oktas", 24, 50, 2.5, **{"box.cover": "acrylic"})
    at_s = int(covered.opens_s + LAID_S - 300)
    air = Note(kind="air-in-box", at_s=at_s, timezone=ZONE, temp_k=273.15 + 58)
    held, untold = (
        dry_print(event, covered.opens_s + LAID_S, ways=("sun_plate",))
        for event in (use_readings(covered, [air]), covered)
    )
    assert use_readings(day(), [air]) is day()  # there is no air in an open box
    assert (warm_k(held).p50 or 0) < (warm_k(untold).p50 or 0)
    assert likely_s(held) > likely_s(untold)


@pytest.mark.parametrize("known", [False, True])
def test_a_logger_with_a_thousand_readings_leaves_days_enough_for_a_range(known: bool) -> None:
    rng = np.random.default_rng(7)
    own = np.repeat(rng.standard_normal(40), 40)
    plate_k = 320.0 + 3.0 * own + 4.0 * rng.standard_normal(own.size) + np.zeros((1000, 1))
    given = np.full(1000, 345.0), np.full(1000, 1.5), np.full(1000, known)
    share, _ = agreement(plate_k, *given, own)
    assert share.sum() == pytest.approx(1.0)
    assert 1 / (share**2).sum() >= LEAST_SHARE * own.size


def test_readings_in_polar_night_or_after_the_day_followed_change_nothing() -> None:
    place = {"place.latitude": "69.65", "place.longitude": "18.96", "place.timezone": "UTC"}
    event = load_event(None, place | {"event.date": "2027-12-21"})
    late = Note(kind="plate", at_s=int(event.opens_s) + 7200, timezone="UTC", temp_k=270.0)
    told = conditions(event.weather, event.place, event.opens_s, event.closes_s)
    short = conditions(event.weather, event.place, event.opens_s, event.opens_s + 3600.0)
    for day_told in (told, short):
        seen = draw_seen(use_readings(event, [late]), day_told, 20, 1)
        assert seen.doubted == ()
        assert seen.ensemble.members == 20
        assert np.array_equal(seen.ensemble.conditions.time_s, day_told.time_s)
