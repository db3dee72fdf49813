"""The strip that the bin's wall shades is the one that its light leaves out."""

from __future__ import annotations

import numpy as np
import pytest

import drybox
from drybox.inputs.event.event import load_event
from drybox.physics.shading import recess_lit_frac, recess_strips_m
from tests.planning.short_day import SHORT_DAY

FIXED = {"box.bearing": "E", "box.tilt": "20 deg", "box.wall_depth": "60 mm"}


def test_strip_and_lit_share_make_up_the_plate() -> None:
    """Conservation: what the two strips leave is the lit share, by the same rim."""
    height, azimuth = np.array([30.0, 50.0, 66.0]), np.array([110.0, 150.0, 200.0])
    across, along, cosine = recess_strips_m(0.06, (height, azimuth), (30.0, 140.0))
    turn, slope = np.deg2rad(azimuth - 140.0), np.deg2rad(30.0)
    up, flat = np.sin(np.deg2rad(height)), np.cos(np.deg2rad(height))
    lit = recess_lit_frac(
        0.4,
        0.5,
        0.06,
        flat * np.sin(turn),
        up * np.sin(slope) - flat * np.cos(turn) * np.cos(slope),
        cosine,
    )
    left = (1 - np.abs(across) / 0.4) * (1 - np.abs(along) / 0.5)
    assert left == pytest.approx(lit)


def test_a_sun_that_moves_to_the_left_of_the_plate_shades_its_left() -> None:
    """A plate that faces east has the midday sun on the left of who stands before it."""
    event = load_event(None, SHORT_DAY | FIXED)
    (strips,) = drybox.aim(event).strips
    edges = {strip.edge: strip for strip in strips}
    assert "left" in edges
    assert "right" not in edges
    left = edges["left"]
    assert left.widest_m > 0.025
    assert event.opens_at <= left.begin_at <= left.widest_at <= left.end_at <= event.closes_at


def test_without_walls_or_sun_there_is_no_strip() -> None:
    flat = load_event(None, SHORT_DAY | FIXED | {"box.wall_depth": "0 mm"})
    dull = load_event(None, SHORT_DAY | FIXED | {"weather.sky": "overcast"})
    assert [drybox.aim(event).strips for event in (flat, dull)] == [((),), ((),)]
