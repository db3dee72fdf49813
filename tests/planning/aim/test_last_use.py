"""Turns that a person can make: by a shadow, while prints are laid on; and no sun, no box."""

from __future__ import annotations

from pathlib import Path

import pytest

import drybox
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from tests.planning.short_day import SHORT_DAY
from tests.running import event_file, plain, ran

LONG_DAY = SHORT_DAY | {"event.opens": "09:00", "event.closes": "18:00", "weather.sky": "clear"}
COURTYARD = """
[place]
latitude = 47.2
longitude = 12.3
timezone = "Europe/Vienna"
{obstacle}
[box]
{aim}
[event]
date = "2027-06-12"
opens = "10:00"
closes = "14:00"
arrivals = ["10:05", "11:00"]
[weather]
sky = "clear"
"""
WALLS = '[[place.obstacle]]\nname = "courtyard"\nfrom = "0 deg"\nto = "360 deg"\n' + (
    'elevation_angle = "80 deg"\n'
)
FIXED = 'bearing = "S"\ntilt = "30 deg"\n'


def event(**told: object) -> Event:
    return load_event(None, LONG_DAY | {key.replace("__", "."): told[key] for key in told})


def test_no_turn_while_the_sun_is_behind_something() -> None:
    free = drybox.aim(event())
    assert len(free.plan.turns) > 1
    at = free.plan.turns[1].from_at
    azimuth = float(free.day.sun.azimuth_deg[free.day.time_at.searchsorted(at)])
    wall = {
        "name": "barn",
        "from": f"{azimuth - 8} deg",
        "to": f"{azimuth + 8} deg",
        "elevation_angle": "85 deg",
    }
    behind = drybox.aim(event(place__obstacle=[wall]))
    assert len(behind.plan.turns) > 1
    for turn in behind.plan.turns[1:]:
        assert not any(one.from_at <= turn.from_at < one.until_at for one in behind.blocked)


def test_no_turn_once_no_print_is_worth_laying_on() -> None:
    usual = drybox.aim(event())
    assert len(usual.plan.turns) > 1
    hasty = drybox.aim(event(drying__wait="5 min"))  # no print dries so quickly
    assert len(hasty.plan.turns) == 1
    last = drybox.set_out(event(), members=20).last_load_at
    assert last is not None
    assert all(turn.from_at <= last for turn in usual.plan.turns)


@pytest.mark.parametrize("aim", ["", FIXED])
def test_where_the_sun_never_comes_the_box_stays_at_home(tmp_path: Path, aim: str) -> None:
    path = event_file(tmp_path, COURTYARD.format(obstacle=WALLS, aim=aim))
    for command in ("aim", "setout"):
        status, out, err = ran(command, str(path))
        assert (status, out) == (3, "")
        assert "the sun never reaches the plate: it is behind the courtyard" in err
        assert "leave the box at home" in err
    dry = plain("dry", str(path), "--at", "11:00", "--members", "20")
    assert "the sun never reaches the plate" in dry
    plan = plain("plan", str(path), "--members", "20", "--no-what-if")
    assert "No sun plate: the sun never reaches the plate" in plan
    assert "Metal today" not in plan
    path.write_text(COURTYARD.format(obstacle=WALLS.replace("80", "20"), aim=aim), "utf-8")
    assert "face the box" in plain("aim", str(path))


def test_a_night_market_leaves_the_box_at_home() -> None:
    night = event(event__opens="23:00", event__closes="23:50")
    for call in (drybox.aim, drybox.set_out):
        with pytest.raises(NoAnswerError) as error:
            call(night)
        assert error.value.mend == "leave the box at home"
