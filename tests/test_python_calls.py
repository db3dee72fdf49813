from __future__ import annotations

import datetime
import pickle
import pydoc
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import drybox
from drybox.errors import InputError, NoAnswerError
from tests.running import DEMO, record
from tests.running import said as running_said

WAYS = ("sun_plate", "line_sun")


def test_the_calls_give_what_the_commands_say() -> None:
    event = drybox.load_event(DEMO)
    result = drybox.dry(event, "13:20", ways=WAYS, members=40)
    said = record(
        "dry", DEMO, "--at", "13:20", "--members", "40", "--ways", "sun plate,line in sun"
    )
    for way, told in zip(result.ways, said["result"]["ways"], strict=True):
        assert way.way == told["way"]
        assert way.duration_s.p50 is not None
        assert way.duration_s.p50 / 60 == pytest.approx(told["minutes"]["p50"])
    assert result.choice is not None
    assert result.choice.way == said["result"]["choice"]["way"]


def test_a_time_is_a_clock_a_datetime_or_seconds() -> None:
    event = drybox.load_event(DEMO)
    zoned = datetime.datetime(2027, 6, 12, 11, 20, tzinfo=datetime.UTC)
    suns = {
        drybox.aim(event, when, from_="13:00", until="14:00").sun_azimuth_deg
        for when in ("13:20", zoned, datetime.datetime(2027, 6, 12, 13, 20), zoned.timestamp())
    }
    assert len(suns) == 1


def test_results_become_tables_with_zoned_times() -> None:
    event = drybox.load_event(DEMO)
    frame = drybox.to_frame(drybox.dry(event, "13:20", ways=WAYS, members=20), event)
    assert list(frame.index) == list(WAYS)
    assert frame["dry_at_p50"].dt.tz is not None
    assert frame["dry_at_p50"].iloc[0] == frame["pull_from_at"].iloc[0]
    assert "duration_s_p90" in frame
    alone = drybox.to_frame(drybox.dry(event, "13:20", ways=WAYS, members=20))
    assert str(alone["dry_at_p50"].dt.tz) == event.place.timezone
    turns = drybox.to_frame(drybox.aim(event), event)
    assert turns.index.is_monotonic_increasing
    day = drybox.to_frame(drybox.set_out(event, members=20, wait="30 min"), event)
    assert {"plate_temp_k", "sun_elevation_deg"} <= set(day)
    sitters = drybox.to_frame(drybox.plan_day(event, members=20, what_if=False), event)
    assert sitters["promise_at"].dt.tz is not None
    for one in (turns, day, sitters):
        assert str(one.index.tz) == event.place.timezone
    assert (sitters["ready_at_p50"] <= sitters["promise_at"])[sitters["hand_over"] == "dry"].all()
    baths = drybox.to_frame(drybox.wash(event, {"process.wash.prints": 4}))
    assert isinstance(baths, pd.DataFrame)
    assert len(baths) > 1
    tanks = drybox.to_frame(drybox.baths(sittings=10))
    assert "change_after_sheet" in tanks
    assert "fixer" in tanks.index


def test_what_cannot_be_raises_what_the_command_would_say() -> None:
    event = drybox.load_event(DEMO)
    with pytest.raises(InputError, match="cannot be used here"):
        drybox.dry(event, "13:20", ways=("warm_air",))
    with pytest.raises(NoAnswerError, match="the sun is down"):
        drybox.aim(event, from_="23:00", until="23:30")
    with pytest.raises(TypeError, match="no table is known"):
        drybox.to_frame(event)
    with pytest.raises(TypeError, match="no answer is known"):
        drybox.answer(event)
    with pytest.raises(AttributeError, match="no attribute 'drry'"):
        _ = drybox.drry  # type: ignore[attr-defined]


def test_the_public_names_are_listed() -> None:
    assert {"load_event", "aim", "set_out", "dry", "wash", "to_frame"} <= set(dir(drybox))
    assert all(getattr(drybox, name) is not None for name in drybox.__all__)
    page = pydoc.plain(pydoc.render_doc(drybox))
    assert [
        name
        for name in drybox.__all__
        if f"\n    {name}" not in page and f"class {name}" not in page
    ] == []


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (
            lambda e: drybox.dry(e, 1320),
            r'at 1320 is nowhere near 2027-06-12; write it like "13:20"',
        ),
        (lambda e: drybox.dry(e, float("nan")), "at nan is nowhere near"),
        (lambda e: drybox.dry(e, None), "at None is not a time"),
        (lambda e: drybox.dry(e, "13:20", hold_below=55), r'hold_below 55 has no unit.*"55 °C"'),
        (lambda e: drybox.dry(e, "13:20", hold_below="55 °C below"), "hold_below"),
        (lambda e: drybox.dry(e, "13:20", hold_below="500 °C"), "outside 20 °C to 120 °C"),
        (lambda e: drybox.dry(e, "13:20", members=0), "members 0 is outside 20 to 2000"),
        (lambda e: drybox.dry(e, "13:20", members=40.0), "members 40.0 is not a whole number"),
        (lambda e: drybox.dry(e, "13:20", seed=-1), "seed -1 is outside"),
        (lambda e: drybox.dry(e, "13:20", ways=("sun plait",)), "did you mean 'sun plate'"),
        (lambda e: drybox.dry(e, "13:20", ways=()), "ways names no way"),
        (lambda e: drybox.dry(e, "13:20", ways=7), "ways 7 is no list"),
        (lambda e: drybox.dry(7, "13:20"), "7 is neither an event nor a file"),
        (lambda e: drybox.aim(e, share=5), "share 5 is outside 50 % to 100 %"),
        (lambda e: drybox.aim(e, share=float("nan")), "share nan is not a finite number"),
        (lambda e: drybox.aim(e, share="5"), "share"),
        (lambda e: drybox.aim(e, from_="15:00", until="14:00"), "ends at 14:00, before it has"),
        (lambda e: drybox.set_out(e, wait=-5), "wait -5 has no unit"),
        (lambda e: drybox.set_out(e, wait="-5 min"), "wait -5 min is outside"),
        (lambda e: drybox.set_out(e, members=1500), "members 1500 is outside 20 to 1000"),
        (lambda e: drybox.plan_day(e, members=0), "members 0 is outside"),
        (lambda e: drybox.plan_day(e, what_if="no"), "neither True nor False"),
        (lambda e: drybox.wash(e, goal="fast"), "goal 'fast' is not known; choose from: least"),
        (lambda e: drybox.wash(e, sure="no"), "neither True nor False"),
        (lambda e: drybox.baths(e, sittings=-1), "sittings -1 is outside"),
        (lambda e: drybox.baths(e, used={"fixer": 1.5}), "used fixer 1.5 is not a whole number"),
        (lambda e: drybox.season(e, seed="one"), "seed 'one' is not a whole number"),
        (lambda e: drybox.calibrate([]), "no event to calibrate"),
        (lambda e: drybox.calibrate(e, [], now_at="13:20"), "now_at '13:20' is no Unix time"),
        (lambda e: drybox.calibrate(e, "notes.csv"), "note 'n' is no Note"),
        (lambda e: drybox.season(e, "year.epw"), "weather 'year.epw' is no Weather"),
        (lambda e: drybox.dry(e, 10**400), "is nowhere near"),
        (lambda e: drybox.baths(used=["fixer"]), "used are no mapping of keys to values"),
        (lambda e: drybox.wash(e, ["process.name"]), "overrides are no mapping of keys"),
        (lambda e: drybox.wash(e, {"proces.wash.prints": 8}), "table 'proces' is not known"),
        (lambda e: drybox.tour([e]), "is no Stop"),
        (lambda e: drybox.keep_promises(e), "is no DayPlan"),
        (lambda e: drybox.answer(drybox.wash(), "imperial"), "units 'imperial' is not known"),
        (lambda e: drybox.baths(overrides={5: 1}), "overrides are no mapping of keys"),
        (lambda e: drybox.load_event(DEMO, "event.date"), "overrides are no mapping"),
    ],
)
def test_an_argument_that_cannot_be_is_refused_in_one_line(
    call: Callable[[Any], object], said: str
) -> None:
    with pytest.raises(InputError, match=said) as refused:
        call(drybox.load_event(DEMO))
    assert "\n" not in str(refused.value)


def test_words_and_units_are_those_of_the_event_file() -> None:
    event = drybox.load_event(DEMO)
    named = drybox.dry(event, "13:20", ways="sun plate, line in the sun", members=20)
    assert [way.way for way in named.ways] == ["sun_plate", "line_sun"]
    fahrenheit = drybox.aim(event, hold_below="131 °F").held_below_k
    assert fahrenheit == pytest.approx(273.15 + 55)
    assert drybox.aim(event, share="80 %").share_frac == drybox.aim(event, share=0.8).share_frac
    assert drybox.wash(goal="least-time").goal == "least time"


def test_a_path_stands_for_its_event() -> None:
    told = drybox.dry(DEMO, "13:20", ways=WAYS, members=20)
    assert str(told) == str(
        drybox.dry(drybox.load_event(Path(DEMO)), "13:20", ways=WAYS, members=20)
    )


def test_a_result_says_in_one_line_what_its_command_says_first() -> None:
    event = drybox.load_event(DEMO)
    result = drybox.dry(event, "13:20", members=40)
    said = running_said("dry", DEMO, "--at", "13:20", "--members", "40")
    assert " ".join(said.split()).startswith(str(result))
    inside = (result.ways[0], result.told)
    every = (event, result, *inside, drybox.aim(event), drybox.wash(), drybox.baths(sittings=10))
    for one in every:
        assert len(repr(one)) <= 300
        assert "\n" not in repr(one)
        assert "array([" not in repr(one)
    assert escape(str(result)) in " ".join(result._repr_html_().split())
    assert result != drybox.dry(event, "13:20", ways=WAYS, members=20)
    assert str(replace(result)) == repr(result)  # nobody knows what it is the answer to
    assert pickle.loads(pickle.dumps(result)).choice.way == result.choice.way


def test_under_a_sky_that_was_not_told_both_are_given() -> None:
    place = {"place.latitude": 48.2, "place.longitude": 16.4, "event.date": "2027-06-12"}
    result = drybox.dry(drybox.load_event(None, place), "13:20", ways=WAYS, members=20)
    assert result.other_sky is not None
    clear, closed = (one.ways[0].duration_s.p50 for one in (result, result.other_sky))
    assert clear is not None
    assert closed is None or clear < closed
    assert "not told" in str(result) or "Clear sky" in str(result)


def test_the_kept_fit_is_taken_as_the_command_takes_it_unless_told_not_to(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen = []
    monkeypatch.setattr(
        "drybox.inputs.notes.fitted_event.with_kept_fit",
        lambda event, calibrated, path: seen.append((calibrated, path)) or event,
    )
    drybox.load_event(DEMO)
    drybox.load_event(DEMO, calibrated=False, notes="own.sqlite")
    assert seen == [(True, None), (False, Path("own.sqlite"))]


def test_notes_are_read_by_a_public_name(tmp_path: Path) -> None:
    assert drybox.read_notes(tmp_path / "none.sqlite") == []
