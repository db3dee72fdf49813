"""What is said of odd years and tours, all invented."""

from __future__ import annotations

import pytest

from drybox.inputs.event.event import load_event
from drybox.inputs.weather.weather import steady_weather
from drybox.planning.scenario.percentiles import Range
from drybox.planning.season.aim import MonthAim
from drybox.planning.season.season import Season, SeasonCell, SeasonMonth
from drybox.planning.season.tour import TourStop
from drybox.reports.answers.season import season_answer, tour_answer
from tests.planning.short_day import SHORT_DAY


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
    weather = steady_weather({"cloud_frac": 0.0}, load_event(None, SHORT_DAY).day_start_at)
    answer = season_answer(load_event(None, SHORT_DAY), found, weather)
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
