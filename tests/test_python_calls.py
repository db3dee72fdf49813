from __future__ import annotations

import datetime

import pandas as pd
import pytest

import drybox
from drybox.errors import InputError, NoAnswerError
from tests.running import DEMO, record

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
    assert list(frame["way"]) == list(WAYS)
    assert frame["dry_at_p50"].dt.tz is not None
    assert frame["dry_at_p50"][0] == frame["pull_from"][0]
    assert "duration_s_p90" in frame
    turns = drybox.to_frame(drybox.aim(event), event)
    assert turns["from"].is_monotonic_increasing
    day = drybox.to_frame(drybox.set_out(event, members=20, wait="30 min"), event)
    assert {"time", "plate_temp_k", "sun_elevation_deg"} <= set(day)
    sitters = drybox.to_frame(drybox.plan_day(event, members=20, what_if=False), event)
    assert sitters["promise"].dt.tz is not None
    assert (sitters["ready_p50"] <= sitters["promise"])[sitters["hand_over"] == "dry"].all()
    baths = drybox.to_frame(drybox.wash(event, {"process.wash.prints": 4}))
    assert isinstance(baths, pd.DataFrame)
    assert len(baths) > 1


def test_what_cannot_be_raises_what_the_command_would_say() -> None:
    event = drybox.load_event(DEMO)
    with pytest.raises(InputError, match="cannot be used here"):
        drybox.dry(event, "13:20", ways=("warm_air",))
    with pytest.raises(NoAnswerError, match="the sun is down"):
        drybox.aim(event, from_="23:00", until="23:30")
    with pytest.raises(TypeError, match="no table is known"):
        drybox.to_frame(event)
    with pytest.raises(AttributeError, match="no attribute 'drry'"):
        _ = drybox.drry  # type: ignore[attr-defined]


def test_the_public_names_are_listed() -> None:
    assert {"load_event", "aim", "set_out", "dry", "wash", "to_frame"} <= set(dir(drybox))
