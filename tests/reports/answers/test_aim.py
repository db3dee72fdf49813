"""What is said of rare aims: of a real one with one thing changed at a time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from drybox.inputs.event.event import Event, load_event
from drybox.planning.aim.event_aim import EventAim, Sighting, plan_event_aim
from drybox.reports.answers.aim import aim_answer
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO, plain

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
