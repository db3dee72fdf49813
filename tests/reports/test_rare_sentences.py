"""What is said on odd days: of real answers with one thing changed at a time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.note import Note
from drybox.inputs.weather.weather import steady_weather
from drybox.planning.aim.event_aim import EventAim, Sighting, plan_event_aim
from drybox.planning.calibration.curves import PromiseShown
from drybox.planning.calibration.said import Parameter
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.planning.scenario.percentiles import Range
from drybox.planning.season.aim import MonthAim
from drybox.planning.season.season import Season, SeasonCell, SeasonMonth
from drybox.planning.season.tour import TourStop
from drybox.reports.answers.aim import aim_answer
from drybox.reports.answers.calibrate import calibrate_answer
from drybox.reports.answers.dry import dry_answer
from drybox.reports.answers.season import season_answer, tour_answer
from drybox.reports.answers.setout import setout_answer
from tests.planning.calibration.test_calibration import days, taught
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO, plain

WAIT = {"drying.wait": "60 min"}
FIXED = {"box.bearing": "180 deg", "box.tilt": "25 deg"}


def event(**told: object) -> Event:
    return load_event(None, SHORT_DAY | told)


@cache
def aimed() -> EventAim:
    return plan_event_aim(event(), event().opens_at)


def test_an_aim_asked_for_at_night_says_that_the_sun_is_down() -> None:
    assert "At 02:00 the sun is down." in plain("aim", DEMO, "--at", "02:00")


def test_an_aim_that_the_sun_never_faces_says_so() -> None:
    behind = replace(aimed(), single_sighting=Sighting(aimed().at, None, None))
    said = " ".join(aim_answer(event(), behind, turns=False).lead)
    assert "The sun never comes in front of this aim." in said
    assert "never comes in front" not in " ".join(aim_answer(event(), aimed(), turns=False).lead)


def test_a_turn_that_the_sun_never_faces_has_no_shadow_to_sight_by() -> None:
    found = aimed()
    dark = tuple(Sighting(turn.from_at, None, None) for turn in found.plan.turns)
    rows = aim_answer(event(), replace(found, sightings=dark)).tables[0].rows
    assert {row["shadow_points_to"] for row in rows} == {"no sun"}
    assert all(row["shadow_mm"] is None for row in rows)


def test_a_fixed_aim_is_told_what_it_keeps() -> None:
    there = event(**FIXED)
    lead = aim_answer(there, plan_event_aim(there, there.opens_at)).lead
    assert any("Kept so, the plate gets" in text for text in lead)
    assert not any("Kept so" in text for text in aim_answer(event(), aimed()).lead)


def test_a_plate_that_lies_level_faces_straight_up() -> None:
    there = event()
    found = dry_print(there, there.opens_at, members=20, ways=("sun_plate",))
    level, leaning = (
        " ".join(dry_answer(there, replace(found, tilt_deg=tilt), members=20, seed=1).lead)
        for tilt in (0.5, 30.0)
    )
    assert "faces straight up: it lies level" in level
    assert "straight up" not in leaning


@cache
def set_out_of(*box: tuple[str, object]) -> tuple[Event, SetOutResult]:
    there = event(**dict(box), **{"event.opens": "12:00", "event.closes": "13:00"})
    return there, plan_set_out(there, members=20)


def set_out(**told: object) -> tuple[Event, SetOutResult]:
    return set_out_of(*told.items())


@pytest.mark.parametrize(
    ("box", "words"),
    [
        (FIXED, "180° true (S), tilted 25°"),
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


# calibrate


def shown(narrower: float | None) -> PromiseShown:
    before = Range(600.0, 900.0, 1200.0)
    after = Range(600.0, 700.0, None if narrower is None else 600.0 + 600.0 * (1 - narrower))
    return PromiseShown("sun_plate", days()[0].event.opens_at, before, after, before)


@pytest.mark.parametrize(
    ("narrower", "words"),
    [
        (0.4, "were used, a range 40 % narrower."),
        (-0.5, "were used, a range 50 % wider."),
        (0.001, "were used, a range as wide as before."),
        (None, "of 3 days were used."),
    ],
)
def test_how_the_range_changed_is_said_as_far_as_it_is_known(
    narrower: float | None, words: str
) -> None:
    assert shown(narrower).narrower_frac == pytest.approx(narrower)
    said = calibrate_answer(
        days()[0].event, taught(), shown=shown(narrower), curves=[], stored=True
    )
    assert words in said.lead[0]


def test_a_range_without_width_has_no_share_of_it() -> None:
    point = Range(600.0, 600.0, 600.0)
    assert replace(shown(0.4), before_s=point).narrower_frac is None


def test_a_fit_without_a_print_to_show_says_how_many_notes_it_stands_on() -> None:
    said = calibrate_answer(days()[0].event, taught(), shown=None, stored=True)
    assert said.lead[0] == f"Fitted to {taught().notes_used} notes of 3 days."


def test_what_was_not_known_before_has_no_range_before() -> None:
    inn = Parameter("height of the inn", "deg", None, Range(9.0, 10.0, 11.0))
    found = replace(taught(), parameters=(*taught().parameters, inn), effective_draws=25.0)
    said = calibrate_answer(days()[0].event, found, shown=None, stored=True)
    (row,) = [row for row in said.result["parameters"] if row["name"] == inn.name]
    assert row["before"] == {"p10": None, "p50": None, "p90": None}
    assert any("The draws are thin (25 count)" in text for text in said.warnings)


def test_notes_not_used_for_one_reason_are_listed_under_it_together() -> None:
    def note(ticket: str) -> Note:
        return Note(kind="dry", at_s=1_781_435_700, timezone="UTC", ticket=ticket, id=f"id{ticket}")

    passed = [(note(f"{n}"), "the sun was gone") for n in range(7)]
    passed += [(note(f"x{n}"), f"no laying-on of x{n} is noted") for n in range(6)]
    found = replace(taught(), passed_over=tuple(passed))
    said = calibrate_answer(days()[0].event, found, shown=None, stored=True).warnings
    (sun,) = [text for text in said if "the sun was gone" in text]
    assert sun.startswith("Not used: dry 0 (2026-06-14 11:15, id0)"), "the clock it was noted by"
    assert "id4) and 2 more, because the sun was gone" in sun
    assert "Not used: 2 more; --format json lists them." in said


# season


def month(number: int, works: float, worth: tuple[int, ...], **aim: float) -> SeasonMonth:
    took = Range(900.0, 1200.0, 1500.0)
    best = MonthAim(number, **({"bearing_deg": 180.0, "tilt_deg": 30.0} | aim),
                    plate_irradiance_w_m2=500.0)  # fmt: skip
    return SeasonMonth(best, works, works, 0.0, took, took, worth)


def year(works: float, worth: tuple[int, ...], **aim: float) -> Season:
    took = Range(900.0, 1200.0, 1500.0)
    cell = SeasonCell(6, 12, 30, took, works, took, 0.0, works, bool(worth), took, 0.0)
    months = tuple(month(n, works, worth, **({"kept_frac": 0.9} | aim)) for n in range(1, 13))
    return Season(2700.0, (cell,), months, works * 4000.0, 4000.0, 30, 7200.0, 36000.0, "fixed")


def told(found: Season) -> tuple[str, list[str]]:
    weather = steady_weather({"cloud_frac": 0.0}, event().day_start_at)
    answer = season_answer(event(), found, weather)
    return " ".join(answer.lead), [row["aim"] for row in answer.tables[0].rows]


@pytest.mark.parametrize(
    ("works", "worth", "words", "silent"),
    [
        (0.9, (12,), "90 % of all laying-ons work in every month", "In no hour"),
        (0.0, (), "In no hour is a plate worth carrying", "Best month"),
    ],
)
def test_a_season_says_when_the_plate_is_worth_carrying(
    works: float, worth: tuple[int, ...], words: str, silent: str
) -> None:
    said, _ = told(year(works, worth))
    assert words in said
    assert silent not in said


@pytest.mark.parametrize(
    ("aim", "words"),
    [({}, "S 30°"), ({"tilt_deg": 1.0}, "level"), ({"kept_frac": 0.0}, "no light")],
)
def test_a_month_s_aim_is_said_in_a_word(aim: dict[str, float], words: str) -> None:
    assert set(told(year(0.5, (), **aim))[1]) == {words}


def stop(name: str, works: float | None) -> TourStop:
    if works is None:
        return TourStop(name, failed="no such place")
    return TourStop(name, "2027-06-12", 47.2, 12.3, month(6, works, (), kept_frac=0.9), "typical")


@pytest.mark.parametrize(
    ("stops", "said", "silent"),
    [
        ((("a", 0.9), ("b", 0.2)), ("most at a", "least at b", "drying to b."), ()),
        ((("a", 0.9),), ("most at a",), ("least at", "Bring another")),
        ((("a", None),), ("1 fair of tour.csv",), ("works most", "Bring another")),
    ],
)
def test_a_tour_names_where_the_plate_works_and_where_it_does_not(
    stops: tuple[tuple[str, float | None], ...], said: tuple[str, ...], silent: tuple[str, ...]
) -> None:
    fairs = [stop(*one) for one in stops]
    lead = " ".join(tour_answer(fairs, wait_s=2700.0, table_name="tour.csv").lead)
    assert all(words in lead for words in said)
    assert not any(words in lead for words in silent)


# wash


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--target", "until rewash"), "This wash is only a loan"),
        (("--water-temperature", "5 C"), "washes slowly; warming it"),
    ],
)
def test_a_wash_warns_of_what_it_is_not(options: tuple[str, ...], words: str) -> None:
    assert words in plain("wash", DEMO, *options)
    assert words not in plain("wash", DEMO)
