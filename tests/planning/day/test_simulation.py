"""Every way takes part in the day: powered and open ones, and prints that cannot lie on metal."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.one_print.drying import dry_print
from drybox.planning.one_print.set_out import plan_set_out
from drybox.reports.answers.dry import dry_answer
from drybox.reports.answers.plan import plan_answer

MARKET = {
    "place.latitude": 47.2,
    "place.longitude": 12.3,
    "place.timezone": "Europe/Vienna",
    "event.date": "2027-11-13",
    "event.opens": "10:00",
    "event.closes": "14:00",
    "event.every": "30 min",
}
COLD = MARKET | {
    "weather.sky": "overcast",
    "weather.air_temp": "6 °C",
    "weather.humidity": "85 %",
    "weather.wind": "2 m/s",
    "process.temperature": "20 °C",
    "process.wash.water_temperature": "20 °C",
}
DAMP = MARKET | {
    "event.date": "2027-09-13",
    "weather.sky": "overcast",
    "weather.air_temp": "18 °C",
    "weather.humidity": "55 %",
    "weather.wind": "2 m/s",
    "event.ways": ["line in the shade"],
    "event.every": "20 min",
    "event.closes": "15:00",
}
POWER = {"powered.plate_power": "200 W", "powered.plate_temp": "45 °C"}


@cache
def cold(battery: str = "", power: bool = True) -> DayPlan:
    told = COLD | (POWER if power else {})
    return plan_day(
        load_event(None, told | ({"powered.battery": battery} if battery else {})),
        members=20,
        what_if=False,
    )


def check_rows(plan: DayPlan) -> None:
    """No row tells of a print without a place, or of one that has gone before it was laid on."""
    for row in plan.tickets:
        lies = (row.way is None, row.slot is None, row.laid_on_at is None)
        assert len(set(lies)) == 1
        if row.way is not None:
            assert row.slot is not None
            assert 1 <= row.slot <= plan.run.setup.resources.slots[row.way]
            assert row.laid_on_at is not None
            assert row.laid_on_at >= row.washed_at
            assert row.promise_at is None or row.promise_at > row.laid_on_at
        else:
            assert row.hand_over in ("damp", "mail")


def test_a_powered_plate_dries_on_a_cold_day_that_nothing_else_dries_on() -> None:
    without, powered = cold(power=False), cold()
    assert {row.hand_over for row in without.tickets} <= {"damp", "mail"}
    ways = {row.way for row in powered.tickets if row.hand_over in ("dry", "touch_dry", "pick_up")}
    assert ways == {"warm_plate"}
    given_dry = [row for row in powered.tickets if row.way == "warm_plate"]
    assert len(given_dry) >= 0.6 * len(powered.tickets)
    assert powered.run.energy_j.min() > 0.0
    for plan in (without, powered):
        check_rows(plan)


def test_the_battery_is_never_overdrawn_and_a_small_one_dries_fewer() -> None:
    small = cold("60 Wh")
    step_j = 200.0 * 60.0
    assert small.run.energy_j.max() <= 60.0 * 3600.0 + step_j
    dried = [np.isfinite(plan.run.dried.dry_at).sum() for plan in (small, cold())]
    assert dried[0] < dried[1]
    check_rows(small)


def test_one_sitter_s_print_on_the_powered_plate_takes_as_long_in_the_plan_as_alone() -> None:
    told = load_event(
        None,
        COLD
        | POWER
        | {"event.ways": ["powered warm plate"], "event.sitter": [{"at": "10:05"}]}
        | {"event.every": None, "weather.air_temp": "15 °C", "event.closes": "15:00"},
    )
    plan = plan_day(told, members=40, what_if=False)
    (ticket,) = plan.tickets
    dried = plan.run.dried
    took_s = float(np.median((dried.dry_at - dried.laid_at)[:, 0]))
    (way,) = dry_print(told, ticket.laid_on_at or 0.0, members=40, ways=("warm_plate",)).ways
    # steps of a minute here, steps by their error there; in both the plate is warm
    assert way.duration_s.p50 == pytest.approx(took_s, rel=0.03)


def test_in_damp_air_prints_go_home_touch_dry_and_make_room_on_the_line() -> None:
    plan = plan_day(load_event(None, DAMP | {"event.line_slots": 2}), members=20, what_if=False)
    check_rows(plan)
    hung = [row for row in plan.tickets if row.way == "line_shade"]
    assert len(hung) > 4  # more than there are clips
    assert {row.hand_over for row in hung} <= {"touch_dry", "pick_up", "damp", "dry"}
    assert any(row.hand_over in ("touch_dry", "pick_up") for row in hung)


def test_rows_of_an_overloaded_plate_of_one_place_can_be_kept() -> None:
    told = MARKET | {"event.date": "2027-06-12", "weather.sky": "clear", "event.every": "6 min"}
    one = load_event(None, told | {"event.ways": ["sun plate"], "event.plate_slots": 1})
    check_rows(plan_day(one, members=20, what_if=False))


@given(
    sky=st.sampled_from(["clear", "broken cloud", "overcast"]),
    ways=st.sampled_from(
        [["sun plate"], ["line in the shade", "line in the sun"], ["sun plate", "warm plate"]]
    ),
    slots=st.integers(0, 2),
    every=st.sampled_from(["5 min", "12 min"]),
    humidity=st.sampled_from(["40 %", "70 %"]),
    seed=st.integers(0, 1000),
)
@settings(max_examples=6, deadline=None)
def test_no_small_day_has_an_impossible_row(
    sky: str, ways: list[str], slots: int, every: str, humidity: str, seed: int
) -> None:
    told = MARKET | POWER | {"weather.sky": sky, "weather.humidity": humidity}
    told |= {"event.date": "2027-06-12", "event.closes": "12:30", "event.every": every}
    told |= {"event.ways": ways, "event.plate_slots": slots, "event.line_slots": slots}
    told |= {"event.warm_plate_slots": 1, "powered.battery": "80 Wh"}
    check_rows(plan_day(load_event(None, told), members=20, seed=seed, what_if=False))


def test_a_print_larger_than_the_plate_lies_on_it_in_no_command() -> None:
    told = MARKET | {"event.date": "2027-06-12", "weather.sky": "clear"}
    large: Event = load_event(None, told | POWER | {"paper.size": "16x20 in"})
    on_metal = dry_print(large, large.opens_at, members=20, ways=("sun_plate", "warm_plate"))
    assert [way.feasible for way in on_metal.ways] == [False, False]
    assert {way.why.code for way in on_metal.ways} == {"too_large"}
    with pytest.raises(NoAnswerError, match="larger than the plate"):
        plan_set_out(large)
    plan = plan_day(large, members=20, what_if=False)
    assert not {"sun_plate", "warm_plate"} & {row.way for row in plan.tickets}
    assert any("larger than the plate" in text for text in plan_answer(plan).lead)


@pytest.mark.parametrize(
    ("sky", "at_h", "name"),
    [
        ("clear", 3.0, "line in the sun"),
        ("overcast", 3.0, "line in the open"),
        ("clear", 13.5, "line in the open"),
    ],
)
def test_a_line_in_the_sun_needs_sun(sky: str, at_h: float, name: str) -> None:
    told = MARKET | {"event.date": "2027-06-12", "weather.sky": sky, "weather.wind": "3 m/s"}
    event = load_event(None, told)
    at_s = event.opens_at + 3600.0 * at_h  # 23:30 the last
    found = dry_print(event, at_s, members=20, ways=("line_sun",))
    assert found.ways[0].name == name
    said = dry_answer(event, found, members=20, seed=1)
    assert name in said.lead[0] + str(said.tables[0].rows[0]["way"])
