"""Why the box is not faced at the sun, where it is not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.inputs.event.event import Event
from drybox.physics.geometry import cos_incidence
from drybox.planning.aim.search import SAME_AIM_DEG, AimPlan
from drybox.planning.aim.wind import AT_CAP_DEG, gust_at_box_m_s
from drybox.planning.scenario.conditions import SUNSHINE_W_M2, Conditions

FACING_DEG = 15.0
"""A plate whose axis is so near the sun faces it, as a hand sets it (judgement). [deg]"""

CODES = ("", "fixed", "held", "wind", "prop", "sky", "behind", "stretch")


@dataclass(frozen=True)
class OffSun:
    """One of `CODES`, empty where the box faces the sun, with the figures that go with it.

    ``until_at`` is how long the aim is kept, ``most_tilt_deg`` how steep the box may stand,
    ``gust_m_s`` the strongest gust reckoned at the box, ``held_below_k`` what the plate is held
    below as wished. [s], [deg], [m/s], [K]
    """

    code: str = ""
    until_at: float | None = None
    most_tilt_deg: float | None = None
    gust_m_s: float | None = None
    held_below_k: float | None = None


FACING = OffSun()


def why_off_sun(
    event: Event, plan: AimPlan | None, day: Conditions, *, aim: tuple[float, float], at: float
) -> OffSun:
    """Return why a plate does not face the sun at an instant.

    The plan is None for a fixed aim; the day is as told, the aim bearing and tilt then. [deg]
    """
    if plan is None or event.box.aim_mode == "fixed":
        return OffSun(code="fixed")
    if plan.held_below_k is not None:
        return OffSun(code="held", held_below_k=plan.held_below_k)
    row = day.row_at(at)
    height, azimuth = float(day.sun.elevation_deg[row]), float(day.sun.azimuth_deg[row])
    bearing, tilt = aim
    off_deg = float(np.rad2deg(np.arccos(cos_incidence(height, azimuth, tilt, bearing))))
    if height <= 0.0 or off_deg <= SAME_AIM_DEG:
        return FACING
    most = plan.most_tilt_deg
    if tilt >= most - AT_CAP_DEG and height < 90.0 - most:
        if most < event.box.most_tilt_deg - AT_CAP_DEG:
            gust = gust_at_box_m_s(event, (plan.single.from_at, plan.single.until_at))
            return OffSun(code="wind", most_tilt_deg=most, gust_m_s=gust)
        return OffSun(code="prop", most_tilt_deg=most)
    if off_deg <= FACING_DEG:
        return FACING
    held = [turn for turn in plan.turns if turn.from_at <= at < turn.until_at]
    kept = plan.single if event.box.aim_mode == "best" or not held else held[0]
    if float(day.dni_w_m2[row]) < SUNSHINE_W_M2 and not _sun_later(
        day, aim, kept_at=(at, kept.until_at)
    ):
        return OffSun(code="sky")
    if not day.in_sun(event.place.obstacles)[row]:
        return OffSun(code="behind")
    return OffSun(code="stretch", until_at=kept.until_at)


def _sun_later(day: Conditions, aim: tuple[float, float], *, kept_at: tuple[float, float]) -> bool:
    """Return whether the sun gives a plate more than the sky does while its aim is kept. [s]"""
    kept = (day.time_at >= kept_at[0]) & (day.time_at < kept_at[1])
    elevation_deg, azimuth_deg = day.sun.elevation_deg[kept], day.sun.azimuth_deg[kept]
    onto = np.maximum(cos_incidence(elevation_deg, azimuth_deg, aim[1], aim[0]), 0.0)
    return float((day.dni_w_m2[kept] * onto - day.dhi_w_m2[kept]).sum()) > 0.0
