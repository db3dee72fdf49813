"""Drawn days conditioned on what the plate read on the day itself."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.fitted_event import use_readings
from drybox.inputs.notes.note import Note
from drybox.planning.aim.schedule import aim_schedule
from drybox.planning.day.plan import plan_day
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.set_out import plan_set_out
from drybox.planning.one_print.ways import DryResult
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.percentiles import Range
from drybox.planning.scenario.readings import (
    LEAST_APART,
    Readings,
    chosen,
    days_read_k,
    draw_seen,
    runs,
    shares,
    usable,
)
from drybox.planning.scenario.samples import Ensemble, draw, draw_on, nominal
from drybox.reports.answers.dry import dry_answer
from drybox.reports.text.readings import conditioned_on, echo_readings, outliers
from drybox.tables import shipped_dir
from tests.planning.invented_boxes import ZONE, event_on

LAID_S = 4.0 * 3600.0  # after the opening at 9


@cache
def day() -> Event:
    return event_on("2027-06-19", "clear", 24, 50, 2.5)


def plate(temp_c: float, before_s: float = 300.0, **said: Any) -> Note:
    at_s = int(day().opens_at + LAID_S - before_s)
    return Note(
        **{"kind": "plate", "at_s": at_s, "timezone": ZONE, "temp_k": temp_c + 273.15} | said
    )


def aim_of(event: Event, told: Conditions) -> tuple[np.ndarray, np.ndarray]:
    return aim_schedule(event, told, event.opens_at, until_at=event.closes_at)[0]


def dried(*notes: Note) -> DryResult:
    event = use_readings(day(), notes)
    return dry_print(event, event.opens_at + LAID_S, ways=("sun_plate",))


def likely_s(found: DryResult) -> float:
    return float(found.ways[0].duration_s.p50 or np.nan)


def warm_k(found: DryResult) -> Range:
    assert found.plate_temp_at_start_k is not None
    return found.plate_temp_at_start_k


def width_k(found: DryResult) -> float:
    warm = warm_k(found)
    return float(warm.p90 or np.nan) - float(warm.p10 or np.nan)


def test_without_readings_nothing_changes() -> None:
    told = conditions(day().weather, day().place, day().opens_at, end_at=day().closes_at)
    plain, seen = draw_on(day(), told, 20, seed=1), draw_seen(day(), told, 20, seed=1).ensemble
    assert np.array_equal(plain.conditions.dni_w_m2, seen.conditions.dni_w_m2)
    assert np.array_equal(plain.shelter_factor, seen.shelter_factor)


@pytest.mark.slow
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


@pytest.mark.slow
def test_a_reading_that_no_weather_told_explains_counts_for_nothing_and_is_named() -> None:
    odd = plate(120)
    found = dried(odd)
    assert found.readings.outliers == (odd,)
    assert likely_s(found) == pytest.approx(likely_s(dried()), rel=0.06)  # other draws, no more
    assert dried(plate(65)).readings.outliers == ()


@pytest.mark.slow
def test_set_out_and_the_event_day_hold_to_the_readings_too() -> None:
    odd, right = plate(120), plate(58)
    assert plan_set_out(use_readings(day(), [odd]), members=20).readings.outliers == (odd,)
    assert plan_day(use_readings(day(), [odd]), members=20, what_if=False).readings.outliers == (
        odd,
    )
    laid = day().opens_at + LAID_S
    cool, untold = (
        dict(plan_set_out(event, members=60).loads)[laid].p50
        for event in (use_readings(day(), [right]), day())
    )
    assert cool is not None
    assert untold is not None
    assert cool > untold


def test_shares_are_the_closed_form_of_two_normals() -> None:
    """Gelman and others, Bayesian Data Analysis, 3rd ed., eq. 2.10 (from memory)."""
    rng = np.random.default_rng(5)
    box, weather = 3.0 * rng.standard_normal(900), 2.0 * rng.standard_normal(900)
    noise, read = 1.5, 4.0
    share, _ = shares(
        [box[:, None] + weather],
        np.array([read]),
        np.array([noise]),
        in_fit=np.array([False]),
    )
    of_box = share.sum(axis=1)
    whole = np.var(box) + np.var(weather) + noise**2
    mean = float(of_box @ box)
    assert mean == pytest.approx(read * np.var(box) / whole, abs=0.15)
    spread = np.sqrt(float(of_box @ (box - mean) ** 2))
    assert spread == pytest.approx(np.std(box) * np.sqrt(1 - np.var(box) / whole), rel=0.05)


def test_a_reading_that_the_fit_knows_says_no_more_of_the_box_but_all_of_the_weather() -> None:
    """The weather's part alone, as of one normal (Gelman and others, from memory)."""
    rng = np.random.default_rng(6)
    box, weather = 3.0 * rng.standard_normal(40), 2.0 * rng.standard_normal(900)
    noise, read = 1.5, 3.0
    share, slip = shares(
        [box[:, None] + weather],
        np.array([read]),
        np.array([noise]),
        in_fit=np.array([True]),
    )
    assert share.sum(axis=1) == pytest.approx(np.full(40, 1 / 40))
    gain = np.var(weather) / (np.var(weather) + noise**2)
    for one in np.argsort(box)[[15, 20, 25]]:
        mean = float(share[one] @ weather / share[one].sum())
        assert mean == pytest.approx(gain * (read - box[one]), abs=0.25)
    assert slip[0] < 0.2


def test_boxes_and_weathers_are_taken_as_evenly_as_their_shares_allow() -> None:
    temps = np.arange(40.0)
    box, weather = chosen(np.full((40, 40), 1 / 1600), temps, temps, members=200, seed=1)
    assert np.bincount(box).tolist() == [5] * 40
    assert np.bincount(weather, minlength=40).max() < 15
    assert np.any(np.diff(box) < 0)  # not in order of the box


@pytest.mark.slow
@pytest.mark.parametrize("known", [False, True])
def test_a_logger_with_a_thousand_readings_leaves_days_enough_for_a_range(known: bool) -> None:
    rng = np.random.default_rng(7)
    day_k = 320.0 + 3.0 * rng.standard_normal(400)[:, None] + 4.0 * rng.standard_normal(400)
    each = np.ones(1000)
    share, _ = shares([day_k] * 1000, 335.0 * each, 1.5 * each, in_fit=np.full(1000, known))
    assert share.sum() == pytest.approx(1.0)
    for axis in (0, 1):
        assert 1 / (share.sum(axis=axis) ** 2).sum() >= LEAST_APART


def test_what_a_box_reads_in_a_weather_is_near_what_its_own_run_gives() -> None:
    """Taking the product of the two rises for granted against the simulation of each pair."""
    event = day()
    told = conditions(event.weather, event.place, event.opens_at - 1800.0, end_at=event.closes_at)
    wide = draw(told, "steady", 300, seed=4)
    notes = [plate(60, 1800.0)]
    middle, aim = nominal(told), aim_of(event, told)
    shelter = np.repeat(middle.shelter_factor, 300)
    weathers = runs(event, Ensemble(wide.conditions, middle.prints, shelter), notes, aim_deg=aim)
    boxes = runs(
        event, Ensemble(middle.conditions, wide.prints, wide.shelter_factor), notes, aim_deg=aim
    )
    usual = runs(event, middle, notes, aim_deg=aim)
    usual_k, usual_air_k = usual.read_k[0, 0], usual.air_k[0, 0]
    apart = boxes.read_k[0], weathers.read_k[0], weathers.air_k[0]
    pairs = days_read_k(*apart, usual_k=usual_k, usual_air_k=usual_air_k)
    off_k = np.diagonal(pairs) - runs(event, wide, notes, aim_deg=aim).read_k[0]
    assert np.sqrt((off_k**2).mean()) < 0.8
    assert abs(off_k.mean()) < 0.3


@pytest.mark.parametrize(
    "other",
    [
        {"box": "another"},
        {"place": "another"},
        {"at_s": int(day().opens_at) - 86400},
    ],
)
def test_readings_of_something_else_are_left_alone(other: dict[str, Any]) -> None:
    assert use_readings(day(), [plate(46, **other)]) is day()


def test_the_answer_says_which_readings_it_holds_to() -> None:
    early = plate(20, LAID_S + 3000)  # before the box is taken to be out
    event = use_readings(day(), [early, plate(46, 300), plate(47, 900), plate(46, 300)])
    assert len(event.seen) == 3
    readings = Readings(used=event.seen[1:], out_at=day().opens_at - 1800.0)
    said, left = conditioned_on(event, readings)
    assert "read that day of the plate, 12:45, 12:55, the box out from 08:30" in said
    assert left.startswith("Left out: what was read at 08:10")
    shown = [(one["value"], one["unit"], one["source"]) for one in echo_readings(event, readings)]
    assert shown == [(47.0, "°C", "field note of 12:45"), (46.0, "°C", "field note of 12:55")]
    without = use_readings(day(), [plate(46)], calibrated=False)
    assert without.seen == ()
    assert without.assumptions[-1].endswith("of the box is left out.")


def test_many_readings_are_not_named_one_by_one() -> None:
    event = use_readings(day(), [plate(40 + k, 60.0 * k) for k in range(60)])
    readings = Readings(used=event.seen, outliers=event.seen)
    assert "the plate, 60 times from 12:01 to 13:00," in conditioned_on(event, readings)[0]
    assert "97 °C at 12:03 and 57 more" in outliers(event, readings, "metric")[0]
    assert len(usable(event, event.closes_at)) == 40


def test_a_reading_while_the_plate_warms_is_one_of_a_warming_plate() -> None:
    event = day()
    told = conditions(event.weather, event.place, event.opens_at - 1800.0, end_at=event.closes_at)
    note = plate(40, LAID_S + 1200)  # ten minutes after setting out
    aim = aim_of(event, told)
    warming = runs(event, nominal(told), [note], aim_deg=aim).read_k[0, 0]
    warm = runs(event, nominal(told), [plate(40, LAID_S - 3600)], aim_deg=aim).read_k[0, 0]
    assert 300.0 < warming < warm - 12.0
    right = plate(warming - 273.15, LAID_S + 1200)
    found = dried(right)
    assert found.readings.outliers == ()
    assert abs(warm_k(found).p50 - warm_k(dried()).p50) < 2.5  # type: ignore[operator]


@pytest.mark.slow
def test_the_air_under_a_cover_counts_as_the_plate_does() -> None:
    covered = event_on("2027-06-19", "clear", 24, 50, 2.5, **{"box.cover": "acrylic"})
    at_s = int(covered.opens_at + LAID_S - 300)
    air = Note(kind="air-in-box", at_s=at_s, timezone=ZONE, temp_k=273.15 + 52)
    readings, untold = (
        dry_print(event, covered.opens_at + LAID_S, members=60, ways=("sun_plate",), cured=False)
        for event in (use_readings(covered, [air]), covered)
    )
    assert use_readings(day(), [air]) is day()  # there is no air in an open box
    assert (warm_k(readings).p50 or 0) < (warm_k(untold).p50 or 0)
    assert likely_s(readings) > likely_s(untold)


def test_a_plate_read_after_dark_scales_no_rise() -> None:
    event = event_on("2027-06-19", "clear", 24, 50, 2.5, **{"event.closes": "23:30"})
    late = Note(kind="plate", at_s=int(event.closes_at - 600), timezone=ZONE, temp_k=295.0)
    told = conditions(event.weather, event.place, event.opens_at, end_at=event.closes_at)
    readings = draw_seen(use_readings(event, [late]), told, 20, seed=1).readings
    assert readings.used == (late,)
    assert readings.rise_frac == 1.0


def test_a_plan_without_daylight_passes_over_a_reading() -> None:
    place = {"place.latitude": "69.65", "place.longitude": "18.96", "place.timezone": "UTC"}
    event = load_event(None, place | {"event.date": "2027-12-21", "event.every": "30 min"})
    late = Note(kind="plate", at_s=int(event.opens_at) + 3600, timezone="UTC", temp_k=270.0)
    assert plan_day(use_readings(event, [late]), members=20, what_if=False).readings == Readings()


def test_readings_in_polar_night_or_after_the_day_followed_change_nothing() -> None:
    place = {"place.latitude": "69.65", "place.longitude": "18.96", "place.timezone": "UTC"}
    event = load_event(None, place | {"event.date": "2027-12-21"})
    late = Note(kind="plate", at_s=int(event.opens_at) + 7200, timezone="UTC", temp_k=270.0)
    told = conditions(event.weather, event.place, event.opens_at, end_at=event.closes_at)
    short = conditions(event.weather, event.place, event.opens_at, end_at=event.opens_at + 3600.0)
    for day_told in (told, short):
        seen = draw_seen(use_readings(event, [late]), day_told, 20, seed=1)
        assert seen.readings == Readings()
        assert seen.ensemble.members == 20
        assert np.array_equal(seen.ensemble.conditions.time_at, day_told.time_at)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("temp_c", "says"),
    [
        (56.0, "By what was read it passes that: aim it further off"),
        (41.0, "it may face the sun more"),
        (49.0, ""),
    ],
)
def test_an_aim_that_a_reading_shows_to_be_wrong_is_pointed_out(temp_c: float, says: str) -> None:
    readings = {"drying.hold_below": "50 °C"}
    event = load_event(next(shipped_dir("demo").glob("*.toml")), readings)
    noon = event.opens_at + 2 * 3600.0
    note = Note(kind="plate", at_s=int(noon - 900), timezone=ZONE, temp_k=temp_c + 273.15)
    said = []
    for each in (use_readings(event, [note]), event):
        found = dry_print(each, noon, ways=("sun_plate",))
        said.append(" ".join(dry_answer(each, found, members=200, seed=1).lead))
    assert says in said[0]
    assert ("By what was read" in said[0]) is bool(says)
    assert "By what was read" not in said[1]


def test_set_out_shows_the_plate_as_it_was_read() -> None:
    read, untold = (
        plan_set_out(event, members=20) for event in (use_readings(day(), [plate(52)]), day())
    )
    at = int(np.searchsorted(read.time_at, day().opens_at + LAID_S - 300))
    assert read.plate_temp_k[at] == pytest.approx(52 + 273.15, abs=2.5)
    assert untold.plate_temp_k[at] > read.plate_temp_k[at] + 5.0
    assert np.array_equal(read.air_temp_k, untold.air_temp_k)
