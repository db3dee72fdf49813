"""Calibration from notes at odd hours, of shadows, and of days on which nothing dries."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.note import Note
from drybox.planning.calibration.calibration import calibrate
from drybox.planning.calibration.curves import promise_shown
from drybox.planning.calibration.shadow_lines import learn_outlines
from tests.planning.calibration.test_calibration import NOW_S, taught
from tests.planning.invented_boxes import ZONE, event_on


def turned(date: str = "2027-06-12", **told: object) -> Event:
    """An event whose box is turned with the sun."""
    options = dict(event_on(date, "clear", 24, 50, 2.0).settings.options)
    for key in ("box.bearing", "box.tilt", "box.aim"):
        del options[key]
    return load_event(None, options | {key.replace("__", "."): v for key, v in told.items()})


def plates(event: Event, hours: tuple[float, ...], temp_c: float) -> list[Note]:
    return [
        Note(kind="plate", at_s=int(event.day_start_at + 3600 * hour), timezone=ZONE,
             temp_k=273.15 + temp_c + k, id=f"p{k}")
        for k, hour in enumerate(hours)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("hours", "temp_c"),
    [((6.0, 6.25, 6.5, 6.75), 28.0), ((1.0, 1.5, 2.0, 2.5), 20.0)],
)
def test_readings_before_the_opening_or_in_the_dark_are_learned_from(
    hours: tuple[float, ...], temp_c: float
) -> None:
    event = turned()
    found = calibrate([event], plates(event, hours, temp_c), now_at=NOW_S)
    assert not found.too_little
    assert len(found.standings) == len(hours)
    modelled = np.array([one.after for one in found.standings])
    assert np.isfinite(modelled).all()


def shadow(event: Event, state: str, hour: float) -> Note:
    at_s = int(event.day_start_at + 3600 * hour)
    return Note(kind="shadow", at_s=at_s, timezone=ZONE, state=state, remark="the inn")


def test_shadows_alone_are_a_day_s_lesson_of_the_place() -> None:
    event = turned()
    notes = [shadow(event, "came", 15.0), shadow(event, "went", 16.25)]
    found = calibrate([event], notes, now_at=NOW_S)
    assert found.too_little
    assert (found.days, found.notes_used) == (1, 2)
    assert found.fit is not None
    assert [obstacle.name for obstacle in found.fit.obstacles] == ["the inn"]


def test_a_shadow_that_went_as_it_came_is_no_obstacle() -> None:
    event = turned()
    came = shadow(event, "came", 15.0)
    went = replace(shadow(event, "went", 15.0), at_s=came.at_s + 5)
    outlines, passed = learn_outlines([came, went], event.place)
    assert outlines == []
    assert len(passed) >= 1


def test_where_nothing_dries_no_promise_is_shown() -> None:
    fit = taught().fit
    assert fit is not None
    night = turned("2027-12-21", place__latitude=78.0, place__timezone="UTC",
                   weather__humidity="100 %", weather__air_temp="-5 °C")  # fmt: skip
    assert promise_shown(night, fit, members=20, seed=1) is None
