"""What is said of a fit: of a real one with one thing changed at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drybox.inputs.notes.note import Note
from drybox.planning.calibration.curves import PromiseShown
from drybox.planning.calibration.said import Parameter
from drybox.planning.scenario.percentiles import Range
from drybox.reports.answers.calibrate import calibrate_answer
from tests.planning.calibration.test_calibration import days, taught


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
