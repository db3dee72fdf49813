"""The event day as told: sitters, spots, hands and vessels, and what cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybox.errors import InputError
from drybox.inputs.event.day import Day, read_day
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.event.spots import read_spots
from drybox.inputs.wet.process import read_process
from tests.running import event_file

START = """
[place]
coordinates = "46.95, 13.40"
timezone = "Europe/Vienna"
[[place.obstacle]]
name = "hill"
from = "0 deg"
to = "360 deg"
elevation_angle = "3 deg"
[[place.spot]]
name = "square"
[[place.spot.obstacle]]
name = "tower"
from = "250 deg"
to = "270 deg"
elevation_angle = "50 deg"
[[place.spot]]
name = "under the arcade"
[[place.spot.obstacle]]
name = "arcade"
from = "90 deg"
to = "270 deg"
elevation_angle = "80 deg"
[weather]
sky = "clear"
[event]
date = "2027-06-12"
"""


def told(tmp_path: Path, text: str = "") -> tuple[Day, Event]:
    path = event_file(tmp_path, START + text)
    event = load_event(path)
    settings = event.reread()
    return read_day(event, read_process(settings), settings), event


def test_sitters_come_at_the_pace_of_the_process_when_nothing_is_said(tmp_path: Path) -> None:
    day, event = told(tmp_path)
    assert len(day.sitters) == 32
    assert day.sitters[1].at - event.opens_at == 900.0
    assert day.slots == {"sun_plate": None, "line_shade": 8}


def test_sitters_by_interval(tmp_path: Path) -> None:
    day, event = told(tmp_path, 'every = "12 min"\nprints = 2')
    assert len(day.sitters) == 40
    assert day.sitters[-1].at < event.closes_at
    assert day.sitters[0].prints == 2


def test_sitters_by_list_are_put_in_order(tmp_path: Path) -> None:
    day, event = told(tmp_path, 'arrivals = ["11:10", "10:05"]')
    assert [(s.ticket, s.at - event.opens_at) for s in day.sitters] == [("1", 300), ("2", 4200)]


def test_sitters_with_names_tickets_and_promises(tmp_path: Path) -> None:
    text = (
        '[[event.sitter]]\nname = "Ada 🙂"\nat = "10:30"\npromised = "11:45"\n'
        '[[event.sitter]]\nat = "10:05"\nticket = "B7"\nprints = 2\n'
    )
    day, event = told(tmp_path, text)
    assert [s.ticket for s in day.sitters] == ["B7", "1"]
    assert day.sitters[1].name == "Ada 🙂"
    assert day.sitters[1].promised_at == event.opens_at + 105 * 60
    assert day.sitters[0].prints == 2


def test_sitters_come_by_a_table_of_their_own(tmp_path: Path) -> None:
    table = "Name;Time;Prints;Ticket\nAnn;10:05;;A1\n# regulars\nBo and Cy;11.30;2;\n"
    (tmp_path / "sitters.csv").write_text(table, encoding="utf-8")
    day, event = told(tmp_path, 'sitters = "sitters.csv"')
    first, second = day.sitters
    assert (first.ticket, first.name, first.prints) == ("A1", "Ann", 1)
    assert (second.ticket, second.name, second.prints) == ("2", "Bo and Cy", 2)
    assert second.at - first.at == 85 * 60
    assert tmp_path / "sitters.csv" in event.files, "no answer may be written over it"


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (
            "name,clock\nAnn,10:05\n",
            "column 'clock' is not known; its heading is like: name,at,prints",
        ),
        ("name,at\n", "there is a heading but nothing under it"),
        ("name,at\nAnn\n", "more or fewer cells than the heading"),
        ("name,at\nAnn,\n", "ticket '1' has no time"),
        ("name,at\nAnn,19:30\n", "19:30 is outside the event's hours"),
        ("at,prints\n10:05,two\n", "prints two is not a whole number from 1 to 20"),
        (
            "at,no\n10:05,4\n10:15,4\n",
            "ticket '4' is there twice, first as ticket in sitters.csv, row 1",
        ),
    ],
)
def test_a_table_of_sitters_that_cannot_be_is_said_with_its_row(
    tmp_path: Path, table: str, said: str
) -> None:
    (tmp_path / "sitters.csv").write_text(table, encoding="utf-8")
    with pytest.raises(InputError) as error:
        told(tmp_path, 'sitters = "sitters.csv"')
    assert said in str(error.value)
    assert "sitters.csv" in str(error.value)


@pytest.mark.parametrize("said", ["4 1/h", "4 /h", "4 an hour", "4 per hour"])
def test_sitters_by_chance(tmp_path: Path, said: str) -> None:
    day, _ = told(tmp_path, f'rate = "{said}"')
    assert day.sitters == ()
    assert day.rate_1_s == pytest.approx(4 / 3600)


def test_an_empty_list_is_an_empty_day(tmp_path: Path) -> None:
    assert told(tmp_path, "arrivals = []")[0].sitters == ()


def test_an_event_after_midnight_has_sitters_after_midnight(tmp_path: Path) -> None:
    text = 'opens = "20:00"\ncloses = "2027-06-13 01:30"\narrivals = ["00:30", "21:00"]'
    day, event = told(tmp_path, text)
    assert [s.at - event.opens_at for s in day.sitters] == [3600.0, 4.5 * 3600]


def test_each_spot_has_the_obstacles_of_the_place_and_its_own(tmp_path: Path) -> None:
    text = 'camera_spot = "Under the arcade"\nbox_spot = "square"'
    _, event = told(tmp_path, text)
    _, camera = read_spots(event.reread(), event.place.obstacles[:1])
    assert [o.name for o in camera.obstacles] == ["hill", "arcade"]
    assert [o.name for o in event.place.obstacles] == ["hill", "tower"]


def test_vessels_ways_and_breaks(tmp_path: Path) -> None:
    text = (
        'vessels = { developer = 2 }\nways = ["line in sun"]\noperators = 2\n'
        'breaks = [["15:00", "15:10"], ["13:00", "13:30"]]'
    )
    day, event = told(tmp_path, text)
    assert day.vessels == {"developer": 2, "stop": 1, "fixer": 1}
    assert (day.slots, day.operators) == ({"line_sun": 8}, 2)
    first, last = day.breaks_s[0]
    assert (first - event.opens_at, last - first) == (3 * 3600, 1800)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('every = "12 min"\nrate = "4 1/h"', "both every and rate are given"),
        ('every = "5 s"', "every 5 s is outside 30 s"),
        ('arrivals = ["19:30"]', "arrival 19:30 is outside the event's hours"),
        ('arrivals = "10:05"', "is not a list"),
        ("prints = 0", "prints 0 is not a whole number from 1"),
        ("operators = 0", "operators 0 is not a whole number from 1 to 100"),
        ("operators = 1.5", "operators 1.5 is not a whole number"),
        ('breaks = [["13:30", "13:00"]]', "ends before it begins"),
        ('breaks = [["13:00", "14:00"], ["13:30", "15:00"]]', "two breaks overlap"),
        ("vessels = { bleach = 2 }", "there is no bath 'bleach'"),
        ('camera_spot = "arcade"', "the place has no spot 'arcade'; its spots are: square"),
        ("[[event.sitter]]\nticket = 4", "ticket '4' has no time"),
        (
            '[[event.sitter]]\nat = "11:00"\npromised = "10:10"',
            "ticket '1' is promised before it sits",
        ),
        ('[[event.sitter]]\nat = "10:05"\nnmae = "x"', "did you mean 'name'?"),
        ("evry = 3", "did you mean 'every'?"),
    ],
)
def test_what_cannot_be_is_said_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        told(tmp_path, text)
    assert said in str(error.value)
    assert "fair.toml" in str(error.value)
    assert "\n" not in str(error.value)


def test_a_ticket_given_twice_names_both_rows(tmp_path: Path) -> None:
    entry = '[[event.sitter]]\nticket = "A1"\nat = "10:05"\n'
    with pytest.raises(InputError) as error:
        told(tmp_path, entry * 2)
    first, last = (START.count("\n") + line for line in (2, 5))
    assert f"first as event.sitter.0.ticket in fair.toml, line {first}" in str(error.value)
    assert f"event.sitter.1.ticket in fair.toml, line {last}" in str(error.value)


def test_a_spot_given_twice_or_without_a_name_is_refused(tmp_path: Path) -> None:
    for extra, said in (
        ('[[place.spot]]\nname = "Square"', "spot 'Square' is there twice"),
        ("[[place.spot]]", "a spot has no name"),
    ):
        with pytest.raises(InputError, match=said):
            told(tmp_path, extra)


def test_a_fault_in_a_spot_s_obstacle_is_said_with_its_own_line(tmp_path: Path) -> None:
    wrong = START.replace('elevation_angle = "80 deg"', 'elevation_angle = "80"')
    path = event_file(tmp_path, wrong + 'box_spot = "square"')
    line = 1 + wrong.splitlines().index('elevation_angle = "80"')
    with pytest.raises(InputError, match=f"elevation_angle in fair.toml, line {line}"):
        load_event(path)
