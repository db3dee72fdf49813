"""Hours of sun and shade at the spots of a place, and where they break the day."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.aim.spots import SHORTEST_S, PlaceSpots, place_spots
from drybox.planning.day.simulation import told_day

PLACE = """
[place]
coordinates = "46.95, 13.40"
timezone = "Europe/Vienna"
[[place.spot]]
name = "square"
[[place.spot]]
name = "arcade"
[[place.spot.obstacle]]
name = "hall"
from = "60 deg"
to = "255 deg"
elevation_angle = "80 deg"
[event]
date = "2027-06-12"
"""


def told(tmp_path: Path, event: str = "", sky: str = "clear", place: str = "") -> Event:
    path = tmp_path / "fair.toml"
    text = PLACE.replace("[event]\n", f"{place}[event]\n")
    path.write_text(f'{text}{event}\n[weather]\nsky = "{sky}"\n', encoding="utf-8")
    return load_event(path)


def spots_of(event: Event) -> PlaceSpots:
    return place_spots(event, told_day(event))


def test_sun_and_shade_make_up_the_open_hours(tmp_path: Path) -> None:
    event = told(tmp_path, 'camera_spot = "arcade"\nbox_spot = "square"')
    for spot in spots_of(event).spots:
        open_s = event.closes_at - event.opens_at
        assert spot.sun_s + spot.shade_s == pytest.approx(open_s, abs=61)
        ends = sorted([*spot.sun, *spot.shade])
        assert all(a[1] == b[0] for a, b in itertools.pairwise(ends))


def test_an_open_spot_is_in_the_sun_all_day_and_an_arcade_until_the_sun_is_round(
    tmp_path: Path,
) -> None:
    event = told(tmp_path, 'camera_spot = "arcade"\nbox_spot = "square"')
    found = spots_of(event)
    use = {spot.use: spot for spot in found.spots}
    assert use["box"].shade == ()
    (sun,) = use["camera"].sun
    day = told_day(event)
    at = int(np.argmin(np.abs(day.time_at - sun[0])))
    assert day.sun.azimuth_deg[at] == pytest.approx(255.0, abs=0.5)
    assert [(b.use, b.spot, b.cause) for b in found.breaks] == [("camera", "arcade", "")]
    assert found.breaks[0].from_at == sun[0]


def test_no_sun_through_cloud_breaks_no_sitting(tmp_path: Path) -> None:
    event = told(tmp_path, 'camera_spot = "arcade"\nbox_spot = "square"', sky="overcast")
    assert spots_of(event).breaks == ()


def test_an_obstacle_breaks_the_box_and_is_named(tmp_path: Path) -> None:
    tower = '[[place.obstacle]]\nname = "tower"\nfrom = "200 deg"\nto = "220 deg"\n'
    event = told(tmp_path, place=f'{tower}elevation_angle = "70 deg"\n')
    found = spots_of(event)
    (gap,) = found.breaks
    assert (gap.use, gap.cause) == ("box", "tower")
    assert gap.until_at - gap.from_at > SHORTEST_S
    assert {spot.use for spot in found.spots} == {"", "box"}


def test_a_tree_that_lets_most_of_the_light_through_breaks_nothing(tmp_path: Path) -> None:
    tree = '[[place.obstacle]]\nname = "tree"\nfrom = "200 deg"\nto = "220 deg"\n'
    event = told(tmp_path, place=f'{tree}elevation_angle = "70 deg"\nlets_through = "60 %"\n')
    assert spots_of(event).breaks == ()


def test_after_sunset_the_box_breaks_without_an_obstacle(tmp_path: Path) -> None:
    event = replace(told(tmp_path), closes_at=told(tmp_path).closes_at + 5 * 3600.0)
    gap = spots_of(event).breaks[-1]
    assert (gap.use, gap.cause) == ("box", "")
    assert gap.until_at == pytest.approx(event.closes_at, abs=61)
