"""Drawings of the box for the sheet: from the side, from above, and the plate with its peg.

They hold numbers and fixed words only; lines take the page's colours by class name.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from drybox.reports.text.phrases import clock, compass_point, printable, say
from drybox.reports.text.spot_words import LEVEL_DEG

STEPS_MIN = (10, 15, 20, 30, 45)
"""Minutes to dry that divide the day strip's densities."""

Point = tuple[float, float]


def svg(size: tuple[float, float], label: str, body: str, *, kind: str = "sketch") -> str:
    """Return a picture of a kind that the page styles, and what a screen reader says of it."""
    width, height = size
    return (
        f'<svg class="{kind}" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{label}">'
        f"{body}</svg>"
    )


def line(start: Point, end: Point, kind: str) -> str:
    """Return a line of a kind that the page styles."""
    (x1, y1), (x2, y2) = start, end
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def words(at: Point, text: str, anchor: str = "start", *, more: str = "") -> str:
    """Return a text that starts, ends or has its middle at a point."""
    (x, y), said = at, escape(printable(text))
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{more}>{said}</text>'


def _arrow(start: Point, end: Point, kind: str) -> str:
    (x1, y1), (x2, y2) = start, end
    turn, size = math.atan2(y2 - y1, x2 - x1), 7.0
    corners = [
        (x2 - size * math.cos(turn + side), y2 - size * math.sin(turn + side))
        for side in (-0.45, 0.45)
    ]
    (ax, ay), (bx, by) = corners
    head = (
        f'<path class="{kind} head" d="M{x2:.1f} {y2:.1f}L{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}z"/>'
    )
    short = (x2 - 0.8 * size * math.cos(turn), y2 - 0.8 * size * math.sin(turn))
    return line(start, short, kind) + head


@dataclass(frozen=True)
class Sun:
    """Where the sun stands: degrees above the horizon, and clockwise from true north."""

    elevation_deg: float
    azimuth_deg: float

    @property
    def up(self) -> bool:
        """Whether there is one to draw."""
        return self.elevation_deg > 0.0


def _disc(x: float, y: float) -> str:
    """Return a sun: a disc with eight rays."""
    rays = ""
    for number in range(8):
        turn = math.radians(45 * number)
        across, up = math.sin(turn), math.cos(turn)
        rays += line((x + 9 * across, y - 9 * up), (x + 13 * across, y - 13 * up), "sun ray")
    return f'<circle class="disc" cx="{x:.1f}" cy="{y:.1f}" r="7"/>{rays}'


def side_view(
    tilt_deg: float, prop: str, bearing_deg: float = 0.0, *, sun: Sun | None = None
) -> str:
    """Return the box from the side, its face to the right, and the sun where it stands.

    The sun is drawn as it is seen along the low edge: to the right when before the box, to the left
    when behind it. ``prop`` is the prop's height with its unit.
    """
    tilt = math.radians(tilt_deg)
    length, ground, hinge, thick = 78.0, 112.0, 112.0, 10.0
    along = (-math.cos(tilt), -math.sin(tilt))
    out = (math.sin(tilt), -math.cos(tilt))
    rim = (hinge + length * along[0], ground + length * along[1])
    front = [(x + thick * out[0], y + thick * out[1]) for x, y in (rim, (hinge, ground))]
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ((hinge, ground), rim, *front)) + "z"
    body = line((4, ground), (166, ground), "ground")
    body += f'<path class="bin" d="{path}"/>' + line((hinge, ground), rim, "plate")
    middle = (hinge + 0.5 * length * along[0], ground + 0.5 * length * along[1])
    if sun is not None and sun.up:
        body += _ray(middle, _seen_along(sun, bearing_deg))
    where = _sun_said(sun)
    if tilt_deg < LEVEL_DEG:
        level = words((middle[0], ground + 17), "level", "middle")
        return svg((170, 134), f"From the side: the box lies level{where}", body + level)
    foot = hinge + 0.92 * length * along[0]
    body += line((foot, ground), (foot, ground + 0.92 * length * along[1]), "prop")
    swing = 26.0
    end = (hinge + swing * along[0], ground + swing * along[1])
    body += (
        f'<path class="mark" d="M{hinge - swing:.1f} {ground:.1f}'
        f'A{swing:g} {swing:g} 0 0 1 {end[0]:.1f} {end[1]:.1f}"/>'
    )
    body += words((2, ground + 17), f"prop {prop}")
    body += words((168, ground + 17), f"{tilt_deg:.0f}°", "end")
    body += words((168, ground - 5), "low", "end")
    body += words((2, max(min(rim[1] - 12, ground - 26), 16)), "raised")
    said = f"From the side: tilted {tilt_deg:.0f}°, the raised edge on a prop of {prop}{where}"
    return svg((170, 134), said, body)


def _seen_along(sun: Sun, bearing_deg: float) -> float:
    """Return the sun's height as seen along the low edge: 0 to the right, 180° to the left."""
    height, aside = math.radians(sun.elevation_deg), math.radians(sun.azimuth_deg - bearing_deg)
    return math.atan2(math.sin(height), math.cos(height) * math.cos(aside))


def _ray(middle: tuple[float, float], height: float) -> str:
    """Return the sun, as far off as the frame allows, and its ray onto the plate."""
    across, up = math.cos(height), math.sin(height)
    x, y = middle
    rooms = [72.0, (y - 15.0) / max(up, 1e-9)]
    rooms.append((155.0 - x if across > 0 else x - 15.0) / max(abs(across), 1e-9))
    far = min(rooms)
    at = (x + far * across, y - far * up)
    start, end = ((x + near * across, y - near * up) for near in (far - 16.0, 15.0))
    ray = _arrow(start, end, "sun") if far > 40.0 else ""
    return _disc(*at) + ray


def _sun_said(sun: Sun | None) -> str:
    if sun is None:
        return ""
    if not sun.up:
        return "; the sun is down"
    point = compass_point(sun.azimuth_deg)
    return f"; the sun {sun.elevation_deg:.0f}° up, {point} {say('bearing_deg', sun.azimuth_deg)}"


def plan_view(bearing_deg: float, tilt_deg: float, sun: Sun | None = None) -> str:
    """Return the box from above, true north up: where its face looks, and where the sun stands.

    A level box needs no bearing; the sun is drawn on the rim.
    """
    middle, reach = 90.0, 58.0

    def at(degrees: float, far: float, aside: float = 0.0) -> tuple[float, float]:
        turn = math.radians(degrees)
        x = middle + far * math.sin(turn) + aside * math.cos(turn)
        return x, middle - far * math.cos(turn) + aside * math.sin(turn)

    body = f'<circle class="rose" cx="{middle:g}" cy="{middle:g}" r="{reach:g}"/>'
    for degrees in range(0, 360, 30):
        body += line(
            at(degrees, reach - (9 if degrees % 90 == 0 else 4)), at(degrees, reach), "rose"
        )
    for name, degrees in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
        x, y = at(degrees, reach + 23)
        body += words((x, y + 5), name, "middle")
    deep = 40 * max(math.cos(math.radians(tilt_deg)), 0.25)
    turned = f'<g transform="rotate({bearing_deg:.1f} {middle:g} {middle:g})">'
    turned += (
        f'<rect class="bin" x="{middle - 17:g}" y="{middle - deep / 2:.1f}" '
        f'width="34" height="{deep:.1f}"/>'
    )
    level = tilt_deg < LEVEL_DEG
    if not level:
        low, raised = middle - deep / 2, middle + deep / 2
        turned += line((middle - 17, low), (middle + 17, low), "edge")
        turned += line((middle - 17, raised), (middle + 17, raised), "plate")
        turned += line((middle - 6, raised + 5), (middle + 6, raised + 5), "prop")
    body += turned + "</g>"
    if sun is not None and sun.up:
        body += _arrow(at(sun.azimuth_deg, reach - 14), at(sun.azimuth_deg, 12), "sun")
        body += _disc(*at(sun.azimuth_deg, reach))
    if level:
        return svg((180, 180), f"From above: lying level, any bearing{_sun_said(sun)}", body)
    body += _arrow(at(bearing_deg, deep / 2 + 2), at(bearing_deg, reach - 14), "mark")
    below, above = (deep / 2, 38.0), (-deep / 2, -46.0)
    if sun is not None and sun.up:
        aside = (sun.azimuth_deg - bearing_deg) % 360.0
        if 20.0 < aside < 110.0:  # the sun's ray where "low" stands: both on the other side
            below, above = (deep / 2, -38.0), (-deep / 2 - 12.0, -46.0)
        elif 205.0 < aside < 295.0:  # where "raised" stands
            below, above = (deep / 2, 38.0), (-deep / 2 - 12.0, 46.0)
    for name, (far, side) in (("low", below), ("raised", above)):
        x, y = at(bearing_deg, far, side)
        body += words((x, y + 5), name, "middle")
    true = say("bearing_deg", bearing_deg)
    said = f"From above: the face looks {compass_point(bearing_deg)}, {true} true"
    return svg((180, 180), said + _sun_said(sun), body)


def plate_face(shadow_pegs: float | None, hour: int | None, said: str) -> str:
    """Return the plate seen square on, its peg in the middle, and where the shadow falls.

    ``shadow_pegs`` is the shadow's length over that of the peg, None without sun; ``hour`` where it
    points, as on a clock face with 12 up the slope; ``said`` the same in words.
    """
    x, y, peg = 60.0, 60.0, 22.0
    body = '<rect class="face" x="15" y="3" width="90" height="114"/>'
    for tick in range(1, 13):
        turn = math.radians(30 * tick)
        across, up = math.sin(turn), -math.cos(turn)
        scale = min(45 / max(abs(across), 1e-9), 57 / max(abs(up), 1e-9))
        inner = scale - (9 if tick % 3 == 0 else 5)
        body += line(
            (x + inner * across, y + inner * up), (x + scale * across, y + scale * up), "tick"
        )
    body += '<text class="onface" x="60" y="26" text-anchor="middle">12</text>'
    if shadow_pegs is not None and hour is not None:
        turn = math.radians(30 * hour)
        far = min(peg * shadow_pegs, 38.0)
        tip = (x + far * math.sin(turn), y - far * math.cos(turn))
        body += line((x, y), tip, "shadow")
        body += f'<circle class="tip" cx="{tip[0]:.1f}" cy="{tip[1]:.1f}" r="6"/>'
    body += f'<circle class="peg" cx="{x:g}" cy="{y:g}" r="3.5"/>'
    return svg((120, 120), f"Looking square at the plate: {said}", body)


def density(minutes: float) -> int:
    """Return a step of the day strip: 5 where a print dries soonest, 0 where it hardly does.

    >>> density(8.0), density(31.0), density(float("inf"))
    (5, 1, 0)
    """
    return sum(minutes <= limit for limit in STEPS_MIN)


def day_strip(loads: Sequence[Mapping[str, Any]], timezone: str) -> str:
    """Return the day as a strip of quarter hours, the stronger the sooner a print dries.

    Loads hold ``laid_on_at`` and the range ``minutes``.
    """
    wide = 600.0 / len(loads)
    body = ""
    for number, row in enumerate(loads):
        step = density(float(row["minutes"]["p50"]))
        body += (
            f'<rect class="d{step}" x="{number * wide:.1f}" y="0" '
            f'width="{wide + 0.3:.1f}" height="46"/>'
        )
        hour = clock(float(row["laid_on_at"]), timezone)
        if hour[3:5] == "00":
            body += line((number * wide, 46), (number * wide, 53), "rose")
            side = "start" if number == 0 else "end" if number == len(loads) - 1 else "middle"
            body += words((number * wide, 72), str(int(hour[:2])), side)
    known = [row for row in loads if math.isfinite(row["minutes"]["p50"])]
    label = "The day by quarter hours: hardly a print dries"
    if known:
        best = min(known, key=lambda row: float(row["minutes"]["p50"]))
        label = (
            "The day by quarter hours, stronger is sooner dry; soonest laid on at "
            f"{clock(float(best['laid_on_at']), timezone)}, {best['minutes']['p50']:.0f} min"
        )
    return svg((600, 78), label, body, kind="strip")
