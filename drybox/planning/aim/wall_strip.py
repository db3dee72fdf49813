"""The strip of the plate that the bin's own wall shades: how wide, on which side, and when."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.inputs.event.event import Event
from drybox.physics.shading import recess_strips_m
from drybox.planning.aim.search import Turn
from drybox.planning.scenario.conditions import Conditions

LEAST_M = 0.025
"""A narrower strip needs no word (judgement). [m]"""

LEAST_LASTS_S = 600.0
"""Nor does one that is there for less than this (judgement). [s]"""

LEAST_COSINE = 0.17
"""With the sun further than 80° off its axis the plate is as good as unlit
(judgement). [-]"""


@dataclass(frozen=True)
class WallStrip:
    """A strip along one edge of the plate, as seen from the front; the raised edge is ``upper``."""

    edge: str
    widest_m: float
    widest_at: float
    begin_at: float
    end_at: float


def wall_strips(event: Event, day: Conditions, turn: Turn) -> tuple[WallStrip, ...]:
    """Return the strips that the bin's walls shade under one aim, while the sun shines as told."""
    box = event.box
    inside = (day.time_at >= turn.from_at) & (day.time_at <= turn.until_at)
    inside &= day.shone_on(event.place.obstacles)
    height, azimuth = day.sun.elevation_deg[inside], day.sun.azimuth_deg[inside]
    times = day.time_at[inside]
    across, along, lit = recess_strips_m(
        box.wall_depth_m, (height, azimuth), (turn.tilt_deg, turn.bearing_deg)
    )
    seen = lit >= LEAST_COSINE
    found = []
    for edge, width, most in (
        ("left", across, box.plate_width_m),
        ("right", -across, box.plate_width_m),
        ("upper", along, box.plate_height_m),
        ("lower", -along, box.plate_height_m),
    ):
        wide = seen & (width >= LEAST_M)
        if wide.any() and times[wide][-1] - times[wide][0] >= LEAST_LASTS_S:
            widest = int(np.argmax(np.where(wide, width, 0.0)))
            found.append(
                WallStrip(
                    edge=edge,
                    widest_m=float(min(width[widest], most)),
                    widest_at=float(times[widest]),
                    begin_at=float(times[wide][0]),
                    end_at=float(times[wide][-1]),
                )
            )
    return tuple(found)
