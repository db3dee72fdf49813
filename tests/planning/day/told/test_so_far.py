"""What was noted of a day is fixed in every draw, and nothing else happens before now."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.note import Note
from drybox.planning.day.plan import DayPlan, plan_day, usual_resources
from drybox.planning.day.samples import draw_day
from drybox.planning.day.simulation import told_day
from drybox.planning.day.told.so_far import Underway, so_far
from drybox.planning.wet.wash import plan_wash
from tests.planning.short_day import SHORT_DAY

EVERY = SHORT_DAY | {"event.every": "15 min", "event.wait_limit": "4 h"}
MINUTE_S = 60.0


def event(*notes: tuple[str, str, float], **told: object) -> Event:
    """The short day with notes: kind, ticket (or the sun's state), minutes after the opening."""
    found = load_event(None, EVERY | {key.replace("__", "."): v for key, v in told.items()})
    made = []
    for kind, ticket, minute in notes:
        what = {"state": ticket} if kind == "sun" else {"ticket": ticket}
        at_s = int(found.opens_at + MINUTE_S * minute)
        made.append(Note(kind=kind, at_s=at_s, timezone="UTC", **what))  # type: ignore[arg-type]
    return replace(found, noted=tuple(sorted(made, key=lambda note: note.at_s)))


NOTES = (
    ("sat", "1", 2.0),
    ("sat", "2", 17.0),
    ("sat", "4", 47.0),
    ("laid", "1", 58.0),
    ("laid", "2", 66.0),
    ("dry", "1", 80.0),
    ("handed", "1", 95.0),
)
NOW_MIN = 96.0


@cache
def planned() -> DayPlan:
    asked = event(*NOTES)
    now_at = asked.opens_at + NOW_MIN * MINUTE_S
    return plan_day(asked, members=30, what_if=False, now_at=now_at)


def minutes_of(plan: DayPlan, at_s: object) -> np.ndarray:
    return (np.asarray(at_s) - plan.event.opens_at) / MINUTE_S


def test_what_was_noted_stands_in_every_draw() -> None:
    plan = planned()
    run = plan.run
    for column, sat in ((0, 2.0), (1, 17.0), (3, 47.0)):
        np.testing.assert_allclose(
            minutes_of(plan, run.setup.wet.sat_at[:, column]), sat, atol=1e-6
        )
    for column, laid in ((0, 58.0), (1, 66.0)):
        np.testing.assert_allclose(minutes_of(plan, run.dried.laid_at[:, column]), laid, atol=1e-6)
    np.testing.assert_allclose(minutes_of(plan, run.dried.dry_at[:, 0]), 80.0, atol=1e-6)
    np.testing.assert_allclose(minutes_of(plan, run.dried.left_at[:, 0]), 95.0, atol=1e-6)


def test_a_print_laid_on_stands_though_the_day_s_water_washes_none() -> None:
    asked = event(("laid", "1", 58.0), event__water="1 L")
    plan = plan_day(asked, members=20, what_if=False, now_at=asked.opens_at + 70 * MINUTE_S)
    first, second, *_ = plan.tickets
    assert (first.stage, first.hand_over) == ("laid", "dry")
    assert (second.stage, second.why) == ("", "no_water")
    assert 5.0 < minutes_of(plan, first.sitting_at) < 40.0  # as long before as the wet line takes


def test_nothing_that_was_not_noted_comes_before_now() -> None:
    plan = planned()
    sat, laid = (minutes_of(plan, at) for at in (plan.run.setup.wet.sat_at, plan.run.dried.laid_at))
    assert np.isinf(sat[:, 2]).all()  # not noted to have sat though a later one did
    assert plan.now is not None
    assert plan.now.left_out == ("3",)
    assert (sat[:, 4:] >= NOW_MIN).all()
    assert (laid[:, 3:] >= NOW_MIN).all()
    assert (minutes_of(plan, plan.run.dried.dry_at[:, 1]) >= NOW_MIN).all()
    stages = {ticket.ticket: ticket.stage for ticket in plan.tickets}
    assert (stages["1"], stages["2"], stages["4"], stages["5"]) == ("handed", "laid", "sat", "")


def test_later_notes_of_a_kind_count_and_unknown_tickets_are_said() -> None:
    asked = event(("laid", "1", 50.0), ("laid", "1", 58.0), ("dry", "Z", 60.0))
    draws = draw_day(asked, read_day_inputs(asked), told_day(asked), members=4, seed=1)
    found = so_far(asked, draws.tickets, asked.closes_at)
    assert (found.noted_s["laid"][0] - asked.opens_at) / MINUTE_S == 58.0
    assert found.strangers == ("Z",)
    assert found.any.tolist() == [True] + [False] * (len(draws.tickets) - 1)


def underway(asked: Event, minute: float, members: int = 40) -> Underway:
    inputs = read_day_inputs(asked)
    draws = draw_day(asked, inputs, told_day(asked), members=members, seed=1)
    resources = usual_resources(asked, inputs, plan_wash(inputs.wash))
    at_s = asked.opens_at + minute * MINUTE_S
    return Underway(asked, inputs, draws, resources=resources, now_at=at_s)


def test_who_was_laid_on_without_a_word_of_the_sitting_sat_the_usual_time_before() -> None:
    found = underway(event(("laid", "2", 70.0)), 75.0)
    minute = (found.sat_at[1] - found.event.opens_at) / MINUTE_S
    assert 5.0 < minute < 40.0


def test_chance_arrivals_go_on_from_now_at_their_rate() -> None:
    told = {"event__every": None, "event__rate": "6 1/h"}
    found = underway(event(("sat", "1", 5.0), ("sat", "2", 50.0), **told), 60.0, members=200)
    comes = (found.draws.arrive_at - found.event.opens_at) / MINUTE_S
    assert (comes[:, :2] <= [5.0, 50.0]).all()
    after = comes[:, 2:]
    assert (after >= 60.0).all()
    assert np.isfinite(after).sum(axis=1).mean() == pytest.approx(12.0, abs=1.5)


@pytest.mark.parametrize(("state", "sunny"), [("gone", False), ("back", True)])
def test_days_whose_sun_stood_as_noted_count_most(state: str, sunny: bool) -> None:
    """By Bayes, with one slip in twenty: the odds of a day that agrees are twenty to one."""
    asked = event(("sun", state, 60.0), weather__sky="broken cloud")
    found = underway(asked, 61.0, members=200)
    sky = found.sky
    minute = int(np.searchsorted(sky.time_at, asked.opens_at + 60 * MINUTE_S))
    shines = sky.dni_w_m2[:, minute] >= 120.0
    assert 0.1 < shines.mean() < 0.9
    run = plan_day(asked, members=200, what_if=False).run
    rows = found.likely_rows(run, 1)
    share = (shines == sunny).mean()
    odds = 20.0 * share / (1 - share)
    assert (shines[rows] == sunny).mean() == pytest.approx(odds / (1 + odds), abs=0.12)


def dried_first(plan: DayPlan) -> tuple[np.ndarray, np.ndarray]:
    """Return the logarithms of the first four drying times in every draw, and when they began."""
    dried = plan.run.dried
    with np.errstate(invalid="ignore"):
        took = np.log(dried.dry_at[:, :4] - dried.laid_at[:, :4])
    took = np.where(np.isfinite(took), took, np.log(4 * 3600.0))  # gone before it was dry
    return took, np.median(dried.laid_at[:, :4], axis=0)


def test_days_that_dried_as_slowly_as_noted_count_most() -> None:
    plan = plan_day(event(), members=60, what_if=False)
    took, laid = dried_first(plan)
    slow = np.exp(np.quantile(took, 0.9, axis=0))
    notes = []
    for column in range(4):
        minute = (laid[column] - plan.event.opens_at) / MINUTE_S
        ticket = str(column + 1)
        notes += [("laid", ticket, minute), ("dry", ticket, minute + slow[column] / MINUTE_S)]
    rows = underway(event(*notes), 170.0, members=60).likely_rows(plan.run, 1)
    assert took[rows].mean() > took.mean() + 0.3 * took.mean(axis=1).std()


def test_days_whose_prints_lie_as_long_as_those_not_noted_dry_count_most() -> None:
    """By Bayes: a print that still lies there wet has taken so long at least."""
    plan = plan_day(event(), members=60, what_if=False)
    took, laid = dried_first(plan)
    now_min = (laid[3] + np.exp(np.quantile(took[:, 3], 0.8)) - plan.event.opens_at) / MINUTE_S
    begun = [(laid[column] - plan.event.opens_at) / MINUTE_S for column in range(4)]
    notes = [("laid", str(column + 1), begun[column]) for column in range(4)]
    usual = begun[0] + float(np.exp(np.median(took[:, 0]))) / MINUTE_S
    without = underway(event(*notes, ("sat", "5", 60.0)), now_min, members=60)
    assert set(without.likely_rows(plan.run, 1)) == set(range(60))  # nobody notes what is dry
    rows = underway(event(*notes, ("dry", "1", usual)), now_min, members=60)
    rows = rows.likely_rows(plan.run, 1)
    assert took[rows, 1:].mean() > took[:, 1:].mean() + 0.3 * took[:, 1:].mean(axis=1).std()


def test_a_print_laid_on_without_a_way_lies_on_the_sun_plate() -> None:
    """As in what calibration learns from, whatever the plan had for it."""
    found = underway(event(("laid", "1", 58.0), ("laid", "2", 66.0)), 70.0)
    assert found.ways() == {0: "sun_plate", 1: "sun_plate"}


@pytest.mark.parametrize("none", ["plate_slots", "line_slots"])
def test_a_print_noted_on_a_way_without_a_place_dries_on_another(none: str) -> None:
    asked = event(("sat", "1", 2.0), ("laid", "1", 58.0), **{f"event__{none}": 0})
    if none == "line_slots":
        noted = tuple(replace(n, way="line_shade" if n.ticket else "") for n in asked.noted)
        asked = replace(asked, noted=noted)
    now_at = asked.opens_at + 66.0 * MINUTE_S
    first = plan_day(asked, members=20, what_if=False, now_at=now_at).tickets[0]
    assert first.stage == "laid"
    assert first.way == ("line_shade" if none == "plate_slots" else "sun_plate")
    assert first.slot == 1
