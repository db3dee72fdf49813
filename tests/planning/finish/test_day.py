"""A day's dry prints through the stages that an event lists."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.inputs.event.event import load_event
from drybox.planning.finish.day import DayFinish, day_finish
from drybox.planning.finish.queue import FreeTime

PLACE = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
STAGES = ["flatten", "trim", "photo corners", "folder"]
ALWAYS = FreeTime(np.ones((2, 600), dtype=bool), 0.0, 60.0)


def read(**told: object) -> DayFinish:
    keys = {f"finishing.{key}": value for key, value in told.items()}
    return day_finish(load_event(None, PLACE | {"drying.flatten": "15 min"} | keys))


def test_none_listed_is_flat_weight_and_nothing_else() -> None:
    found = read()
    pulled = np.array([[0.0, 100.0], [np.inf, 50.0]])
    through = found.finished(pulled, np.ones((2, 2)), ALWAYS)
    assert through.ready_at.tolist() == [[900.0, 1000.0], [np.inf, 950.0]]
    assert through.hands_s.tolist() == [0.0, 0.0]
    assert (found.lone_s, found.hands_s, found.materials(4)) == (900.0, 0.0, ())


def test_a_lone_print_takes_what_the_stages_say() -> None:
    found = read(stages=STAGES)
    through = found.finished(np.array([[0.0], [60.0]]), np.ones((2, 1)), ALWAYS)
    # 0.5 and 15, 1.25, 1.5, 0.5 min: common practice
    assert found.lone_s / 60 == pytest.approx(18.75)
    assert through.ready_at[:, 0] == pytest.approx([found.lone_s, 60.0 + found.lone_s])


def test_materials_are_counted_for_each_print() -> None:
    assert dict(read(stages=STAGES).materials(6)) == {"blotter": 6, "corner": 24, "folder": 6}


def test_a_helper_is_quicker_than_hands_that_sitters_keep() -> None:
    busy = FreeTime(np.tile([True, False, False], (1, 200)), 0.0, 60.0)
    pulled = np.arange(8.0)[None, :] * 300
    own, helped = (
        read(stages=STAGES, helpers=n).finished(pulled, np.ones((1, 8)), busy).ready_at
        for n in (0, 1)
    )
    assert (helped <= own + 1e-6).all()
    assert helped.mean() < own.mean() - 120


def test_one_more_pair_of_boards_lets_more_lie_flat_at_once() -> None:
    found = read(stages=["flatten"], helpers=2, prints_per_pair=1)
    pulled = np.zeros((1, 4))
    one, two = (
        each.finished(pulled, np.ones((1, 4)), ALWAYS).ready_at.max()
        for each in (found, found.with_more(pairs=1))
    )
    assert one / 60 == pytest.approx(4 * 15.5)
    assert two / 60 == pytest.approx(2 * 15.5)
    assert found.with_more(helpers=1).helpers == 3
