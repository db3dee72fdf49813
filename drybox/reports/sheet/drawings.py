"""Drawings of the box for the sheet: from the side, from above, and the plate with its peg.

They hold numbers and fixed words only; lines take the page's colours by class name.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from drybox.reports.text.phrases import clock, compass_point

LEVEL_DEG = 2.0
STEPS_MIN = (10, 15, 20, 30, 45)
"""Minutes to dry that divide the day strip's densities."""


def _svg(width: float, height: float, label: str, body: str, kind: str = "sketch") -> str:
    return (
        f'<svg class="{kind}" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{label}">'
        f"{body}</svg>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _words(x: float, y: float, text: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{text}</text>'


def _arrow(x1: float, y1: float, x2: float, y2: float, kind: str, size: float = 7.0) -> str:
    """Return a line with a head at its second end."""
    turn = math.atan2(y2 - y1, x2 - x1)
    corners = [
        (x2 - size * math.cos(turn + side), y2 - size * math.sin(turn + side))
        for side in (-0.45, 0.45)
    ]
    (ax, ay), (bx, by) = corners
    head = (
        f'<path class="{kind} head" d="M{x2:.1f} {y2:.1f}L{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}z"/>'
    )
    return (
        _line(x1, y1, x2 - 0.8 * size * math.cos(turn), y2 - 0.8 * size * math.sin(turn), kind)
        + head
    )


def side_view(tilt_deg: float, prop: str) -> str:
    """Return the box from the side, its low edge towards the sun.

    Parameters
    ----------
    tilt_deg : float
        From level.
    prop : str
        Height of the prop, with its unit.
    """
    tilt = math.radians(tilt_deg)
    length, ground, hinge, thick = 82.0, 98.0, 98.0, 11.0
    along = (-math.cos(tilt), -math.sin(tilt))
    out = (math.sin(tilt), -math.cos(tilt))
    rim = (hinge + length * along[0], ground + length * along[1])
    front = [(x + thick * out[0], y + thick * out[1]) for x, y in (rim, (hinge, ground))]
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ((hinge, ground), rim, *front)) + "z"
    body = _line(4, ground, 146, ground, "ground")
    body += f'<path class="bin" d="{path}"/>' + _line(hinge, ground, *rim, "plate")
    middle = (hinge + 0.5 * length * along[0], ground + 0.5 * length * along[1])
    start, end = ((middle[0] + far * out[0], middle[1] + far * out[1]) for far in (46.0, 15.0))
    body += _arrow(*start, *end, "sun")
    if tilt_deg < LEVEL_DEG:
        level = _words(57, ground + 16, "level")
        return _svg(150, 120, "From the side: the box lies level", body + level)
    foot = hinge + 0.92 * length * along[0]
    body += _line(foot, ground, foot, ground + 0.92 * length * along[1], "prop")
    swing = 26.0
    end = (hinge + swing * along[0], ground + swing * along[1])
    body += (
        f'<path class="mark" d="M{hinge - swing:.1f} {ground:.1f}'
        f'A{swing:g} {swing:g} 0 0 1 {end[0]:.1f} {end[1]:.1f}"/>'
    )
    body += _words(hinge + 4, ground + 16, f"{tilt_deg:.0f}°", "start")
    flat = foot < 56
    body += _words(2 if flat else hinge - 6, ground + 16, prop, "start" if flat else "end")
    return _svg(150, 120, f"From the side: tilted {tilt_deg:.0f}°, prop {prop}", body)


def plan_view(bearing_deg: float, tilt_deg: float) -> str:
    """Return the box from above, true north up, with where its face looks.

    Parameters
    ----------
    bearing_deg : float
        True bearing the face looks to.
    tilt_deg : float
        From level; a level box needs no bearing.
    """
    middle, reach = 60.0, 44.0

    def at(degrees: float, far: float) -> tuple[float, float]:
        turn = math.radians(degrees)
        return middle + far * math.sin(turn), middle - far * math.cos(turn)

    body = f'<circle class="rose" cx="{middle:g}" cy="{middle:g}" r="{reach:g}"/>'
    for degrees in range(0, 360, 30):
        body += _line(
            *at(degrees, reach - (9 if degrees % 90 == 0 else 4)), *at(degrees, reach), "rose"
        )
    for name, degrees in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
        x, y = at(degrees, reach + 8)
        body += _words(x, y + 4.5, name)
    deep = 40 * max(math.cos(math.radians(tilt_deg)), 0.2)
    body += (
        f'<g transform="rotate({bearing_deg:.1f} {middle:g} {middle:g})">'
        f'<rect class="bin" x="{middle - 20:g}" y="{middle - deep / 2:.1f}" '
        f'width="40" height="{deep:.1f}"/>'
        f'<line class="plate" x1="{middle - 20:g}" x2="{middle + 20:g}" '
        f'y1="{middle - deep / 2:.1f}" y2="{middle - deep / 2:.1f}"/></g>'
    )
    if tilt_deg < LEVEL_DEG:
        return _svg(120, 120, "From above: lying level, any bearing", body)
    body += _arrow(*at(bearing_deg, deep / 2), *at(bearing_deg, reach - 2), "mark")
    said = f"From above: the face looks {compass_point(bearing_deg)}, {bearing_deg:.0f}° true"
    return _svg(120, 120, said, body)


def plate_face(shadow_pegs: float | None, hour: int | None, said: str) -> str:
    """Return the plate seen square on, its peg in the middle, and where the shadow falls.

    Parameters
    ----------
    shadow_pegs : float or None
        Length of the shadow over that of the peg; None without sun.
    hour : int or None
        Where it points, as on a clock face with 12 up the slope.
    said : str
        The same in words.
    """
    x, y, peg = 60.0, 60.0, 22.0
    body = '<rect class="face" x="15" y="3" width="90" height="114"/>'
    for tick in range(1, 13):
        turn = math.radians(30 * tick)
        across, up = math.sin(turn), -math.cos(turn)
        scale = min(45 / max(abs(across), 1e-9), 57 / max(abs(up), 1e-9))
        inner = scale - (9 if tick % 3 == 0 else 5)
        body += _line(
            x + inner * across, y + inner * up, x + scale * across, y + scale * up, "tick"
        )
    body += '<text class="onface" x="60" y="26" text-anchor="middle">12</text>'
    if shadow_pegs is not None and hour is not None:
        turn = math.radians(30 * hour)
        far = min(peg * shadow_pegs, 38.0)
        tip = (x + far * math.sin(turn), y - far * math.cos(turn))
        body += _line(x, y, *tip, "shadow")
        body += f'<circle class="tip" cx="{tip[0]:.1f}" cy="{tip[1]:.1f}" r="6"/>'
    body += f'<circle class="peg" cx="{x:g}" cy="{y:g}" r="3.5"/>'
    return _svg(120, 120, f"Looking square at the plate: {said}", body)


def density(minutes: float) -> int:
    """Return a step of the day strip: 5 where a print dries soonest, 0 where it hardly does.

    Examples
    --------
    >>> density(8.0), density(31.0), density(float("inf"))
    (5, 1, 0)
    """
    return sum(minutes <= limit for limit in STEPS_MIN)


def day_strip(loads: Sequence[Mapping[str, Any]], timezone: str) -> str:
    """Return the day as a strip of quarter hours, the stronger the sooner a print dries.

    Parameters
    ----------
    loads : sequence of mapping
        ``laid_on_at`` and the range ``minutes``.
    timezone : str
        Of the hours below it.
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
        if hour.endswith(":00"):
            body += _line(number * wide, 46, number * wide, 53, "rose")
            side = "start" if number == 0 else "end" if number == len(loads) - 1 else "middle"
            body += _words(number * wide, 72, str(int(hour[:2])), side)
    known = [row for row in loads if math.isfinite(row["minutes"]["p50"])]
    label = "The day by quarter hours: hardly a print dries"
    if known:
        best = min(known, key=lambda row: float(row["minutes"]["p50"]))
        label = (
            "The day by quarter hours, stronger is sooner dry; soonest laid on at "
            f"{clock(float(best['laid_on_at']), timezone)}, {best['minutes']['p50']:.0f} min"
        )
    return _svg(600, 78, label, body, "strip")
