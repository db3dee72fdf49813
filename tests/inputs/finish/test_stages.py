"""The stages after drying: common practice, each in its range."""

from __future__ import annotations

import pytest

from drybox.errors import InputError
from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import load_event
from drybox.inputs.finish.finishing import Finishing, read_finishing
from drybox.inputs.finish.stages import STAGES
from drybox.tables import load_table

PLACE = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
BARE = ["flatten", "trim", "spot", "sign", "folder"]


def read(**told: object) -> Finishing:
    keys = {f"finishing.{key}": value for key, value in told.items()}
    return read_finishing(load_event(None, PLACE | keys).reread(), flatten_s=900.0)


# minutes of hands a print, common practice (no source)
PRACTICE = {
    "flatten": (0.5, 1), "trim": (1, 1.5), "spot": (0, 5), "sign": (0.5, 0.5),
    "stamp": (0.2, 0.2), "photo corners": (1, 2), "hinges": (3, 5), "dry mount": (4, 6),
    "folder": (0.5, 0.5), "sleeve": (0.5, 0.5), "hand over": (2, 4),
}  # fmt: skip


def test_each_stage_takes_what_common_practice_says() -> None:
    assert set(PRACTICE) == set(STAGES)
    found = read(stages=list(STAGES), press="600 W").stages
    for stage in found:
        low, high = PRACTICE[stage.name]
        assert low <= stage.hands_s / 60 <= high, stage.name


def test_the_bare_path_and_the_hour_of_hands_are_those_of_common_practice() -> None:
    """Bare path 4 to 6 min, with corners 5 to 8; at 4 prints an hour 16 to 32 min of each hour."""
    bare, corners = (
        sum(stage.hands_s for stage in read(stages=names).stages) / 60
        for names in (BARE, [*BARE, "photo corners"])
    )
    assert 4 <= bare <= 6
    assert 5 <= corners <= 8
    hinged = sum(stage.hands_s for stage in read(stages=[*BARE, "hinges"]).stages) / 60
    assert all(16 <= 4 * minutes <= 36 for minutes in (bare, hinged))


def test_none_listed_is_flat_weight_alone() -> None:
    assert read().stages == ()
    assert read().helpers == 0


def test_boards_bound_how_many_lie_flat_at_once_and_ink_dries_alone() -> None:
    flat, stamp = read(stages=["flatten", "stamp"], boards=2, prints_per_pair=3).stages
    assert (flat.places, flat.alone_s) == (6, 900.0)
    assert (stamp.places, stamp.alone_s) == (0, 900.0)


def test_materials_and_minutes_told() -> None:
    corners, folder = read(
        stages=["photo-corners", "folder"], minutes={"photo_corners": "3 min"}
    ).stages
    assert corners.hands_s == 180.0
    assert corners.materials == (("corner", 4.0),)
    assert folder.materials == (("folder", 1.0),)


@pytest.mark.parametrize(
    ("told", "point"),
    [
        ({"stages": ["varnish"]}, "choose from"),
        ({"stages": "trim"}, "not a list"),
        ({"stages": []}, "not a list"),
        ({"stages": ["trim", "trim"]}, "twice"),
        ({"stages": ["dry mount"]}, "needs power"),
        ({"stages": ["flatten"], "boards": 0}, "no boards"),
        ({"stages": ["trim"], "minutes": {"varnish": "1 min"}}, "no stage 'varnish'"),
        ({"stages": ["trim"], "minutes": {"trim": "1"}}, "no unit"),
        ({"stages": ["trim"], "minutes": {"trim": "1 min", "Trim": "2 min"}}, "minutes twice"),
        ({"stages": ["trim"], "minutes": []}, "not a table"),
        ({"helpers": -1}, "not a whole number from 0"),
    ],
)
def test_what_cannot_be_used_is_refused(told: dict[str, object], point: str) -> None:
    with pytest.raises(InputError, match=point):
        read(**told)


@pytest.mark.parametrize(("stages", "minutes"), [(None, 3.0), (["flatten", "sleeve"], 2.0)])
def test_hands_are_counted_once_where_stages_are_listed(
    stages: list[str] | None, minutes: float
) -> None:
    """Table ``day`` says 2 min besides; boards and folder take 0.5 min each."""
    keys = {} if stages is None else {"finishing.stages": stages}
    day = read_day_inputs(load_event(None, PLACE | keys)).day
    assert day.finishing_s == 60 * minutes
    told = read_day_inputs(load_event(None, PLACE | keys | {"event.finishing": "4 min"})).day
    assert told.finishing_s == 240.0


def test_flat_weight_without_a_word_is_15_min() -> None:
    """Default of 15 (10 to 30) min until stack and air agree."""
    event = load_event(None, PLACE)
    assert event.limits.flatten_s == 900.0
    row = load_table("limits")["flatten"]["time"]
    assert (row.low, row.high) == (600.0, 1800.0)
