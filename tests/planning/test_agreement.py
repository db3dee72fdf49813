"""No two calls contradict one another: aim, reasons, ways, times, in words and in the record.

What `dry` says of a print at a laying-on is what the day's plan says of it, to one per cent.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

import drybox
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from drybox.planning.day.plan import plan_day
from drybox.planning.one_print.drying import dry_print, possible_ways
from drybox.reports.answers.dry import why_not_said
from drybox.reports.sheet.day_view import facts
from drybox.reports.text.answer import Answer
from drybox.reports.text.phrases import clock
from tests.planning.short_day import SHORT_DAY

HIGH_PLAIN = {
    "place.latitude": 40.0,
    "place.longitude": -105.0,
    "place.elevation": "1600 m",
    "place.timezone": "Etc/GMT+7",
    "event.date": "2027-06-12",
    "event.opens": "10:00",
    "event.closes": "16:00",
    "event.sitter": [{"at": "12:00"}],
    "weather.sky": "clear",
    "weather.humidity": "35 %",
    "weather.air_temp": "20 °C",
    "weather.wind": "3 m/s",
}


def event(slots: int) -> Event:
    return load_event(None, HIGH_PLAIN | {"event.plate_slots": slots})


@cache
def planned_s(slots: int) -> tuple[float, float]:
    """Return when the one print is laid on, and the median time it takes. [s]"""
    plan = plan_day(event(slots), what_if=False)
    (ticket,) = plan.tickets
    assert ticket.way == "sun_plate"
    dried = plan.run.dried
    return ticket.laid_on_at or 0.0, float(np.median(dried.dry_at - dried.laid_at))


def test_one_sitter_s_print_takes_as_long_in_the_plan_as_alone() -> None:
    laid_on_at, took_s = planned_s(9)
    (way,) = dry_print(event(9), laid_on_at, ways=("sun_plate",)).ways
    assert way.duration_s.p50 == pytest.approx(took_s, rel=0.01)


@pytest.mark.parametrize("slots", [1, 3])
def test_slots_that_nobody_uses_change_nothing(slots: int) -> None:
    assert planned_s(slots)[1] == pytest.approx(planned_s(9)[1], rel=0.01)


DAY = SHORT_DAY | {
    "event.opens": "10:30",
    "event.closes": "13:30",
    "event.every": "45 min",
    "weather.humidity": "45 %",
    "weather.wind": "2 m/s",
}
YARD = {"name": "yard", "from": "0 deg", "to": "360 deg", "elevation_angle": "85 deg"}
HOUSE = {"name": "house", "from": "150 deg", "to": "175 deg", "elevation_angle": "80 deg"}
EVENTS: dict[str, dict[str, object]] = {
    "clear": {},
    "behind a house": {"place.obstacle": [HOUSE]},
    "fixed aim": {"box.bearing": "SW", "box.tilt": "30 deg"},
    "gusts": {"weather.wind": "10.5 m/s", "event.date": "2027-03-02"},
    "fixed aim in gusts": {
        "box.bearing": "SW",
        "box.tilt": "30 deg",
        "weather.wind": "10.5 m/s",
        "event.date": "2027-03-02",
    },
    "courtyard": {"place.obstacle": [YARD]},
}
SUNNY = [name for name in EVENTS if name != "courtyard"]
FEW = 20


@dataclass(frozen=True)
class Calls:
    """What the five calls say of one event."""

    event: Event
    aim: drybox.EventAim
    out: drybox.SetOutResult
    dry: drybox.DryResult
    plan: drybox.DayPlan
    day: drybox.DayMoments


def invented(name: str) -> Event:
    return load_event(None, DAY | EVENTS[name])


@cache
def calls(name: str) -> Calls:
    event = invented(name)
    return Calls(
        event=event,
        aim=drybox.aim(event),
        out=drybox.set_out(event),
        dry=drybox.dry(event, "11:00", members=FEW, ways=("sun plate", "line in the shade")),
        plan=drybox.plan_day(event, members=FEW, what_if=False),
        day=drybox.day(event, members=FEW),
    )


def words(answer: Answer) -> str:
    return " ".join([*answer.lead, *answer.warnings])


@pytest.mark.parametrize("name", SUNNY)
def test_one_aim_and_one_reason(name: str) -> None:
    found = calls(name)
    assert found.day.aim is not None
    turns = found.aim.plan.turns
    assert found.day.aim.plan.turns == turns
    assert found.day.aim.off_sun == found.aim.off_sun
    if found.event.box.aim_mode == "fixed":
        assert found.out.aim is None
        assert found.plan.aim is None
        assert found.out.off_sun.code == found.dry.off_sun.code == found.aim.off_sun.code == "fixed"
    else:
        assert found.out.aim is not None
        assert found.plan.aim is not None
        assert found.out.aim.turns == found.plan.aim.turns == turns
    held = next(turn for turn in reversed(turns) if turn.from_at <= found.dry.laid_on_at)
    assert (found.dry.bearing_deg, found.dry.tilt_deg) == (held.bearing_deg, held.tilt_deg)
    (set_out,) = found.day.of("set_out")
    assert set_out.off_sun == found.out.off_sun
    assert set_out.turn == turns[0]


@pytest.mark.parametrize("at", ["10:10", "13:10"])
@pytest.mark.parametrize("mode", ["turns", "best"])
def test_near_opening_and_closing_a_print_lies_at_the_aim_of_the_day(mode: str, at: str) -> None:
    event = load_event(None, DAY | {"box.aim": mode})
    plan = drybox.aim(event).plan
    held = plan.aims(mode)[0 if at < "10:30" else -1]
    dry = drybox.dry(event, at, members=FEW, ways="sun plate")
    assert (dry.bearing_deg, dry.tilt_deg) == (held.bearing_deg, held.tilt_deg)
    assert dry.aim == plan


LAST_LOADS = ("last_load", "last_likely_load")


@pytest.mark.parametrize("name", SUNNY)
def test_one_heat_one_wind_and_one_set_of_times(name: str) -> None:
    found = calls(name)
    assert found.aim.metal_k == found.out.metal_k == found.plan.metal_k == found.day.metal_k
    assert found.aim.metal_k is not None
    assert found.dry.metal_k is None or found.dry.metal_k >= found.aim.metal_k
    assert found.aim.wind == found.out.wind == found.day.wind
    (first,), lasts = found.day.of("first_load"), (found.day.of(c) for c in LAST_LOADS)
    times = [first.begin_at, max(moment.begin_at for last in lasts for moment in last)]
    assert times == [found.out.first_load_at, found.out.last_load_at]
    assert found.day.plan.tickets == found.plan.tickets
    assert {ticket.way for ticket in found.plan.tickets} <= {None, *possible_ways(found.event)}


def test_metal_is_as_hot_for_one_print_in_the_event_s_hours_as_for_the_day() -> None:
    """Few draws of one print's hour had passed those of the day by 3 K."""
    dull = {"weather.sky": "overcast", "weather.humidity": "30 %"}
    event = load_event(None, SHORT_DAY | dull | {"event.opens": "10:00", "event.closes": "18:00"})
    dry = drybox.dry(event, "12:00", members=FEW, seed=5, ways="sun plate")
    assert dry.metal_k == drybox.aim(event).metal_k


def test_a_print_laid_on_late_lies_as_the_day_s_aims_say() -> None:
    """Nobody turns the box for a print that goes on drying after the closing."""
    found = calls("clear")
    last = found.aim.plan.turns[-1]
    for at in ("13:00", "13:25"):
        late = drybox.dry(found.event, at, members=FEW, ways=("sun plate",))
        assert (late.bearing_deg, late.tilt_deg) == (last.bearing_deg, last.tilt_deg)


def test_metal_burns_also_where_the_plate_is_too_hot_for_the_print() -> None:
    bare = load_event(None, DAY | {"paper.hardening": "none"})
    dry = drybox.dry(bare, "11:00", members=FEW, ways=("sun plate", "line in the shade"))
    assert dry.ways[0].too_hot
    assert dry.metal_k is not None
    assert dry.metal_k >= (drybox.aim(bare).metal_k or 0.0) > 324.0
    assert "Metal today up to" in words(drybox.answer(dry))


@pytest.mark.parametrize("name", SUNNY)
def test_words_and_record_say_the_same(name: str) -> None:
    found = calls(name)
    zone = found.event.place.timezone
    aim, out, plan, day = (
        drybox.answer(one) for one in (found.aim, found.out, found.plan, found.day)
    )
    first = found.aim.plan.turns[0]
    for said in (aim, out, day):
        assert f"tilted {first.tilt_deg:.0f}°" in words(said)
        assert f"{first.bearing_deg:.0f}° true" in words(said)
    assert found.out.set_out_at is not None
    begun = clock(found.out.set_out_at, zone)
    assert words(out).startswith(f"Set the box out at {begun}")
    assert words(day).startswith(f"Set the box out at {begun}")
    (set_out,) = (moment for moment in day.result["moments"] if moment["code"] == "set_out")
    assert out.result["set_out_at"] == set_out["at"]
    assert out.result["off_sun"] == set_out["off_sun"]
    record = aim.result["wind"]
    assert record == out.result["wind"] == plan.result["wind"] == day.result["wind"]
    hot = {said.result["metal_temp_c"] for said in (aim, out, plan, day)}
    assert len(hot) == 1
    metal = [text for text in day.lead if text.startswith("Metal today")]
    burns = metal[0].partition(";")[0] if metal else ""
    for said in (aim, out, plan):
        assert burns in words(said)


def test_a_market_until_23_h_can_be_planned() -> None:
    """Prints are followed an hour past the closing: that day had broken down, a minute short."""
    late = {"event.opens": "19:00", "event.closes": "23:00", "event.every": "60 min"}
    plan = drybox.plan_day(load_event(None, SHORT_DAY | late), members=FEW, what_if=False)
    assert len(plan.tickets) == 4


@pytest.mark.parametrize("way", ["line in the shade", "line in the sun", "powered warm plate"])
def test_before_the_box_is_set_out_prints_dry_on_every_other_way(way: str) -> None:
    """They had waited for the box, wet, until it was set out."""
    told = SHORT_DAY | {"event.every": "60 min", "event.ways": [way], "weather.humidity": "40 %"}
    told |= {"powered.plate_power": "150 W"}
    early, late = (
        drybox.plan_day(load_event(None, told | {"event.set_out": out}), members=FEW, what_if=False)
        for out in ("10:30", "13:30")
    )
    assert [t.laid_on_at for t in late.tickets] == [t.laid_on_at for t in early.tickets]
    assert [t.promise_at for t in late.tickets] == [t.promise_at for t in early.tickets]
    assert late.tickets[0].laid_on_at < late.event.opens_at + 3600.0


def test_no_print_lies_on_the_sun_plate_before_the_box_is_set_out() -> None:
    told = SHORT_DAY | {"event.every": "40 min", "event.set_out": "12:30", "event.opens": "10:00"}
    told |= {"weather.humidity": "40 %", "weather.wind": "3 m/s"}
    event = load_event(None, told | {"event.ways": ["sun plate", "line in the shade"]})
    plan = drybox.plan_day(event, members=FEW, what_if=False)
    laid = {t.laid_on_at: t.way for t in plan.tickets if t.laid_on_at is not None}
    out = event.set_out_at or 0.0
    assert {way for at, way in laid.items() if at < out} == {"line_shade"}
    assert "sun_plate" in laid.values()
    assert min(at for at, way in laid.items() if way == "sun_plate") >= out


def test_a_reason_for_no_box_is_the_same_everywhere() -> None:
    event = invented("courtyard")
    whats = set()
    for call in (drybox.aim, drybox.set_out):
        with pytest.raises(NoAnswerError) as error:
            call(event)
        assert error.value.mend == "leave the box at home"
        whats.add(error.value.what)
    (what,) = whats
    dry = drybox.dry(event, "11:00", members=FEW, ways=("sun plate", "line in the shade"))
    assert why_not_said(dry.ways[0]) == what
    assert dry.choice is not None
    assert dry.choice.way == "line_shade"
    plan = drybox.plan_day(event, members=FEW, what_if=False)
    day = drybox.day(event, members=FEW)
    for reason in (plan.no_plate, day.no_box):
        assert reason is not None
        assert reason.what == what
    assert all(ticket.way != "sun_plate" for ticket in plan.tickets)
    for said in (drybox.answer(dry), drybox.answer(plan), drybox.answer(day)):
        assert "Metal today" not in words(said)
        assert any(what in text for text in (words(said), str(said.result)))
    assert words(drybox.answer(day)).startswith("Leave the box at home")


POWERED = {
    "place.coordinates": "48.2, 16.4",
    "event.opens": "10:00",
    "event.closes": "14:00",
    "event.every": "1 h",
    "weather.sky": "overcast",
    "powered.plate_power": "300 W",
}


def test_a_powered_plate_burns_in_dry_plan_day_and_on_the_sheet_alike() -> None:
    """Held at 60 °C on an overcast day: a metal surface burns in seconds (ISO 13732-1)."""
    told = load_event(
        None,
        POWERED
        | {
            "event.date": "2027-10-13",
            "weather.air_temp": "10 °C",
            "weather.humidity": "60 %",
            "powered.plate_temp": "60 °C",
        },
    )
    answers = [
        drybox.answer(drybox.dry(told, "12:00", members=20)),
        drybox.answer(drybox.plan_day(told, members=20)),
        drybox.answer(drybox.day(told, members=20)),
    ]
    for found in answers:
        assert found.result["metal_temp_c"] == pytest.approx(60.0)
        assert "Metal today up to 60 °C: burns in" in " ".join(found.lead)
    box = drybox.answer(drybox.set_out(told, members=20))
    first_screen = facts({"plan": answers[1], "setout": box})
    assert "Metal today up to 60 °C" in {row["what"] for row in first_screen}


def test_a_wash_and_the_day_s_plan_wash_as_many_prints_together_in_the_same_changes() -> None:
    told = load_event(None, HIGH_PLAIN)
    alone, of_day = drybox.wash(told), drybox.plan_day(told, members=20).wash
    assert (alone.prints, len(alone.steps)) == (of_day.prints, len(of_day.steps))
    assert alone.water_total_m3 == pytest.approx(of_day.water_total_m3)
    assert drybox.wash().prints == 1  # without an event


def test_a_powered_plate_harms_no_cover_of_the_box_beside_it() -> None:
    """Polyethylene film stands about 70 °C; held at 80 °C the other plate lies apart from it."""
    told = load_event(
        None,
        POWERED
        | {
            "event.date": "2027-12-13",
            "box.cover": "polyethylene film",
            "drying.wet_most": "89 °C",
            "drying.print_most": "89 °C",
            "powered.plate_temp": "80 °C",
        },
    )
    found = drybox.answer(drybox.dry(told, "12:00", members=20, ways=("warm plate",)))
    assert found.result["metal_temp_c"] == pytest.approx(80.0)
    assert found.result["metal_too_hot_for"] == []
