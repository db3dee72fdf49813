"""From notes to readings: which are passed over and why, and what a scale says of the water."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.note import Note
from drybox.inputs.text.dates import parse_zone, unix_to_local
from drybox.planning.calibration.measured import NotedData, Reading, concerning, read_notes
from tests.planning.invented_boxes import ZONE, event_on


@cache
def event(**more: str) -> Event:
    told = event_on("2027-06-12", "clear", 24, 50, 2.0)
    return load_event(
        None, told.settings.options | {k.replace("__", "."): v for k, v in more.items()}
    )


def note(kind: str, hour: float, on: Event | None = None, **said: object) -> Note:
    at_s = int((on or event()).day_start_at + 3600 * hour)
    return Note(kind=kind, at_s=at_s, timezone=ZONE, **said)  # type: ignore[arg-type]


def read(*notes: Note, **more: str) -> NotedData:
    return read_notes(notes, [event(**more)])


def laid(ticket: str, hour: float, way: str = "") -> Note:
    return note("laid", hour, ticket=ticket, way=way)


def dry(ticket: str, hour: float, way: str = "") -> Note:
    return note("dry", hour, ticket=ticket, way=way)


def weighed(state: str, mass_g: float | None, **said: object) -> Note:
    mass_kg = None if mass_g is None else mass_g / 1e3
    return note("weighed", 11, state=state, mass_kg=mass_kg, **said)


def drying(ticket: str, hour: float, mass_g: float, **said: object) -> Note:
    return note("weighed", hour, ticket=ticket, mass_kg=mass_g / 1e3, **said)


def test_notes_of_another_place_s_people_are_passed_over_without_a_word() -> None:
    """They teach nothing anywhere; a season's promises hid the notes that do."""
    kinds = ("sat", "promised", "handed")
    there = [note(kind, 11, ticket="1", place="elsewhere") for kind in kinds]
    assert read(*there).passed_over == ()


@pytest.mark.parametrize(
    ("notes", "why"),
    [
        ([note("plate", 11, temp_k=330.0, place="elsewhere")], "no event file tells where"),
        ([note("plate", 11, temp_k=330.0)] * 2, "says again"),
        ([note("air-in-box", 11, temp_k=320.0)], "under a cover only"),
        ([dry("7", 11)], "no laying-on of 7"),
        ([laid("7", 12), dry("7", 11)], "no laying-on of 7"),
        ([laid("7", 11, "blotters"), dry("7", 15)], "blotters is not learned from"),
        ([laid("7", 11), dry("7", 11 + 1 / 60)], "no print takes 1 min"),
        ([laid("7", 1), dry("7", 14)], "no print takes 780 min"),
        ([weighed("drained", 6.0)], "laid on squeegeed, not drained"),
        ([weighed("squeegeed", 900.0)], "g/m2 of water"),
        ([weighed("squeegeed", 1.0)], "g/m2 of water"),
        ([drying("7", 11, 5.0)], "no laying-on of 7"),
        ([laid("7", 11), drying("8", 11.1, 5.0)], "no laying-on of 8"),
        ([laid("7", 11), drying("7", 10.9, 5.0)], "no laying-on of 7"),
        ([laid("7", 11, "blotters"), drying("7", 11.1, 5.0)], "blotters is not learned from"),
        ([laid("7", 1), drying("7", 14, 5.0)], "no print takes 780 min"),
        ([laid("7", 11), drying("7", 11.1, 3.0)], "g/m2 lighter than the dry print"),
        ([laid("7", 11), drying("7", 11.1, 50.0)], "g/m2 of water"),
        ([laid("7", 11), drying("7", 11.1, 10.0, sheets=2)], "several sheets"),
    ],
)
def test_a_note_that_teaches_nothing_is_passed_over_with_its_reason(
    notes: list[Note], why: str
) -> None:
    found = read(*notes)
    ((odd, reason),) = found.passed_over
    assert why in reason
    assert odd == notes[-1]
    assert len(found.readings) == len(notes) - 1 if notes[0].kind == "plate" else not found.readings


def test_notes_without_a_number_are_no_readings() -> None:
    found = read(
        note("plate", 11), weighed("squeegeed", None), weighed("dry", 3.0), note("tank", 11)
    )
    assert (found.readings, found.passed_over) == ((), ())


def test_air_in_the_box_is_a_reading_under_a_cover() -> None:
    found = read(note("air-in-box", 11, temp_k=320.0), box__cover="window glass")
    assert [(reading.kind, reading.value) for reading in found.readings] == [("air-in-box", 320.0)]


def test_a_drying_runs_from_the_last_laying_on_by_the_way_noted_last() -> None:
    found = read(
        laid("7", 10), laid("7", 11), dry("7", 11.5, "line_shade"), laid("8", 12), dry("8", 13)
    )
    assert [np.exp(reading.value) for reading in found.readings] == pytest.approx([1800.0, 3600.0])
    assert [reading.way for reading in found.readings] == ["line_shade", "sun_plate"]


def water(*notes: Note, **more: str) -> tuple[float, float]:
    (reading,) = read(*notes, **more).readings
    assert reading.kind == "water"
    return float(np.exp(reading.value)), reading.sd


def test_a_print_weighed_dry_as_well_is_its_own_reference() -> None:
    wet = weighed("squeegeed", 6.0, ticket="7")
    own, other = weighed("dry", 3.2, ticket="7"), weighed("dry", 4.0, ticket="8")
    by_ticket, sure = water(wet, own, other)
    by_size, unsure = water(wet, replace(own, ticket="8"), replace(other, ticket="8"))
    by_table, _ = water(wet)
    assert by_ticket > by_size  # 3.2 g against the mean of 3.2 g and 4.0 g
    assert sure < unsure
    assert by_table == pytest.approx(water(replace(wet, ticket=""))[0])
    heavier, _ = water(weighed("squeegeed", 6.5, ticket="7"), own)
    area_m2, assumed = event().paper.area_m2, event().paper.water_kg_m2
    assert heavier - by_ticket == pytest.approx(0.5e-3 / area_m2 / assumed)


def test_a_dry_print_of_another_size_is_no_reference() -> None:
    wet = weighed("squeegeed", 6.0)
    large = weighed("dry", 12.0, width_m=0.203, height_m=0.254)
    assert water(wet, large) == water(wet)


def run_of(*notes: Note) -> list[Reading]:
    return [reading for reading in read(*notes).readings if reading.kind == "run_water"]


def test_a_print_weighed_while_it_dries_says_what_water_is_left_in_it() -> None:
    paper = event().paper
    masses = (5.6, 5.0, 4.6)
    notes = [laid("7", 11), *(drying("7", 11 + (k + 1) / 20, m) for k, m in enumerate(masses))]
    run = run_of(*notes, dry("7", 11.3))
    expected = [m / 1e3 / paper.area_m2 - paper.dry_mass_kg_m2 for m in masses]
    assert [reading.value for reading in run] == pytest.approx(expected)
    assert {(reading.way, reading.laid_at) for reading in run} == {("sun_plate", notes[0].at_s)}
    assert {reading.sheet for reading in run} == {"default 7"}
    scale = 0.05e-3 / paper.area_m2
    assert all(scale <= reading.sd < 2 * scale for reading in run)
    assert run[0].sd > run[-1].sd  # the clock tells most while it dries fastest
    (line,) = run_of(laid("7", 11), drying("7", 11.1, 5.0), dry("7", 11.5, "line_shade"))
    assert line.way == "line_shade"


def test_its_own_dry_mass_makes_the_shared_error_small_though_weighed_a_day_later() -> None:
    start, during = laid("7", 11), drying("7", 11.1, 5.0)
    name = "dry mass of default 7"
    own, other = (note("weighed", 34, ticket=t, mass_kg=3.8e-3, state="dry") for t in ("7", "8"))
    late = replace(own, at_s=own.at_s + 5 * 86400)
    by_own, by_other, by_late, by_table = (
        run_of(start, during, *dried)[0] for dried in ([own], [other], [late], [])
    )
    assert dict(by_own.shared)[name] < 0.8 * dict(by_table.shared)[name]
    assert dict(by_late.shared)[name] == dict(by_other.shared)[name]
    assert dict(by_other.shared)[name] > dict(by_own.shared)[name]
    # 3.8 g less its moisture is a lighter sheet than the table's, so more of it was water
    assert by_own.value == by_other.value == by_late.value > by_table.value
    assert by_own.sd == pytest.approx(by_table.sd, rel=0.3)


def test_a_dry_print_weighed_again_teaches_nothing_and_the_form_is_shown() -> None:
    found = read(laid("7", 11), dry("7", 11.3), drying("7", 11.4, 3.9))
    ((_, why),) = found.passed_over
    assert why == "7 was dry by then; its dry mass is noted like 'weighed 7 3.6g dry'"


def test_sheets_weighed_together_say_the_mean_and_say_it_better() -> None:
    one, five = weighed("squeegeed", 6.0), weighed("squeegeed", 30.0, sheets=5)
    assert water(five)[0] == pytest.approx(water(one)[0])
    assert water(five)[1] < water(one)[1]


@pytest.mark.parametrize("word", ["drained", "blotted"])
def test_water_is_weighed_in_the_state_in_which_prints_are_laid_on(word: str) -> None:
    found = read(weighed(word, 6.0), weighed("squeegeed", 6.0), paper__water=word)
    assert [reading.note.state for reading in found.readings] == [word]
    assert len(found.passed_over) == 1


def test_a_note_of_another_day_gets_that_day_with_the_hours_by_the_clock() -> None:
    late = event(event__closes="2027-06-13 01:00")
    winter = replace(note("plate", 11, temp_k=300.0), at_s=int(late.opens_at + 180 * 86400))
    (day,) = read_notes([winter], [late]).days
    zone = parse_zone(ZONE)
    opens, closes = (unix_to_local(s, zone) for s in (day.event.opens_at, day.event.closes_at))
    assert day.event.date == datetime.date(2027, 12, 9)
    assert opens == datetime.datetime(2027, 12, 9, 9, tzinfo=zone)
    assert closes == datetime.datetime(2027, 12, 10, 1, tzinfo=zone)
    assert not day.weather_noted


def test_each_day_of_a_place_takes_its_own_event_and_the_first_ones_box() -> None:
    second = event(event__date="2027-06-19", weather__air_temp="31 °C", box__plate_thickness="5 mm")
    events = [event(), second]
    notes = [note("plate", 11, day, temp_k=330.0) for day in (second, events[0])]
    days = read_notes(notes, events).days
    assert [day.event.date.day for day in days] == [12, 19]
    assert [round(day.event.weather.air_temp_k[0] - 273.15) for day in days] == [24, 31]
    assert {day.event.box.plate_thickness_m for day in days} == {event().box.plate_thickness_m}
    assert all(day.weather_noted for day in days)


def test_shadows_are_kept_with_their_day() -> None:
    came = note("shadow", 15, state="came")
    assert read(came).shadows == ((came, 0),)


def test_a_note_of_another_box_or_paper_is_not_about_these() -> None:
    said = [Note(kind="plate", at_s=0, timezone=ZONE, box=b, paper=p) for b in "ab" for p in "cd"]
    said.append(Note(kind="plate", at_s=0, timezone=ZONE))
    assert concerning(said, "a", "c") == [said[0], said[-1]]
