"""The free cures of a plate: those of one too hot for a print, and of one that faces away."""

from __future__ import annotations

from functools import cache

import pytest

from drybox.inputs.event.event import load_event
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.reports.answers.plan import plan_answer
from tests.planning.short_day import SHORT_DAY

TOLD = SHORT_DAY | {"event.every": "30 min", "event.line_slots": 0, "weather.wind": "1 m/s"}
HOT = {"box.cover": "acrylic", "weather.air_temp": "34 °C"}
AWAY = {"box.bearing": "0 deg", "box.tilt": "50 deg", "weather.air_temp": "12 °C"}


@cache
def planned(kind: str) -> DayPlan:
    told = {"hot": HOT, "away": AWAY}[kind]
    return plan_day(load_event(None, TOLD | told), members=20)


@pytest.mark.slow
def test_a_plate_too_hot_for_a_print_offers_its_free_cures() -> None:
    plan = planned("hot")
    assert plan.too_hot_s
    found = {tried.change: tried for tried in plan.what_if}
    assert {"the cover off", "a cloth under the print", "a lighter aim"} <= found.keys()
    best = max(found[cure].more_dry_prints for cure in ("the cover off", "a lighter aim"))
    assert best > 0.25
    assert plan.bottleneck == "heat"
    hold_k = found["a lighter aim"].hold_k
    assert hold_k is not None
    assert plan.event.limits.wet_careful_k < hold_k < (plan.metal_k or 0.0)
    text = " ".join(plan_answer(plan).lead)
    assert "the plate, too hot for a print" in text
    assert found["the cover off"].costs == ()


def test_a_fixed_aim_away_from_the_sun_offers_to_face_it() -> None:
    plan = planned("away")
    faced = next(one for one in plan.what_if if one.change == "the box faced at the sun")
    assert faced.more_dry_prints + faced.more_touch_dry_prints > 0.25


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["hot", "away"])
def test_a_cure_is_offered_once(kind: str) -> None:
    changes = [tried.change for tried in planned(kind).what_if]
    assert len(changes) == len(set(changes))
