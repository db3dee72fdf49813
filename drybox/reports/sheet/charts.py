"""Curves of the sheet as the page's own vector graphics: the plate's day, the thermometer.

They take the page's colours by class name. A unit of theirs is a pixel of a phone, so that
letters of 15 are read as 15.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape
from typing import Any

from drybox.reports.sheet.drawings import Point, line, svg, words
from drybox.reports.text.phrases import clock, cut, figure, printable, unit_of
from drybox.reports.text.plan_words import ON

WIDE, RIGHT = 358.0, 8.0
LETTER = 9.6
"""Width of a letter, at most."""

LANE = 21.0
Scale = Callable[[float], float]


def _scale(known: Point, shown: Point) -> Scale:
    """Return where values of a range are drawn within another."""
    (low, high), (start, end) = known, shown
    span = (high - low) or 1.0
    return lambda value: start + (value - low) / span * (end - start)


def _chart(height: float, label: str, body: str) -> str:
    return svg((WIDE, height), escape(printable(label)), body, kind="chart")


def _rect(start: Point, end: Point, kind: str, *, fill: str = "") -> str:
    (x1, y1), (x2, y2) = start, end
    paint = f' fill="{fill}"' if fill else ""
    return (
        f'<rect class="{kind}"{paint} x="{x1:.1f}" y="{y1:.1f}" '
        f'width="{max(x2 - x1, 0.0):.1f}" height="{max(y2 - y1, 0.0):.1f}"/>'
    )


def _curve(points: Iterable[tuple[float, float]], kind: str) -> str:
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return f'<path class="{kind}" d="M{path}"/>' if path else ""


def _short(text: str, room: float) -> str:
    """Return a text no longer than a room of so many units."""
    return cut(text, max(int(room / LETTER), 1))


def _lane(place: str, room: float) -> str:
    """Return where a print lies, as in the plan's table; cut before its number if that is too long.

    >>> _lane("warm plate 2", 10.5 * LETTER), _lane("blotter book 2", 9.5 * LETTER)
    ('w. plate 2', 'blotte… 2')
    """
    place = place.replace("warm plate", ON["warm_plate"])
    if _short(place, room) == place:
        return place
    name, _, number = place.rpartition(" ")
    return f"{_short(name, room - (len(number) + 1) * LETTER)} {number}".strip()


def _ticks(low: float, high: float) -> list[float]:
    """Return round numbers within a range, at most seven."""
    step = next(s for s in (5, 10, 20, 50, 100, 1000) if (high - low) / s <= 7)
    return [step * n for n in range(math.ceil(low / step), int(high // step) + 1)]


def _key(entries: Sequence[tuple[str, str]]) -> str:
    """Return what each kind of line is, in one row."""
    body, x, y = "", 2.0, 13.0
    for kind, said in entries:
        body += line((x, y - 4), (x + 18, y - 4), kind) + words((x + 22, y), said)
        x += 22 + LETTER * len(said) + 4
    return body


def day_chart(
    plate: Sequence[Mapping[str, Any]],
    *,
    timezone: str,
    units: str,
    label: str,
    shadows: Sequence[Mapping[str, Any]] = (),
    limit_c: float | None = None,
    windows: Sequence[Mapping[str, Any]] = (),
) -> str:
    """Return the empty plate and the air through the day, and below where each print lies.

    Rows are those of `drybox.reports.pictures.day.day_figure`; ``label`` is what a screen reader
    says.
    """
    lanes = sorted({str(row["lane"]) for row in windows})
    names = max((len(lane) for lane in lanes), default=3)
    left = min(max(LETTER * names + 6, 34.0), 120.0)
    top, bottom = 28.0, 192.0
    start, end = float(plate[0]["at"]), float(plate[-1]["at"])
    x = _scale((start, end), (left, WIDE - RIGHT))
    temps = {
        key: [float(figure(key, row[key], units, digits=1)) for row in plate]
        for key in ("plate_temp_c", "air_temp_c")
    }
    limit = None if limit_c is None else float(figure("plate_temp_c", limit_c, units, digits=1))
    low = min(temps["air_temp_c"]) - 3
    high = 1.05 * max(*temps["plate_temp_c"], limit or low, low + 20)
    y = _scale((low, high), (bottom, top))
    floor = bottom + (LANE * len(lanes) + 8 if lanes else 0)
    body = _shadows(shadows, x, span=(start, end), height=(top, bottom))
    for tick in _ticks(low, high):
        body += line((left, y(tick)), (WIDE - RIGHT, y(tick)), "grid")
        body += words((left - 5, y(tick) + 4), f"{tick:.0f}", "end")
    at = [x(float(row["at"])) for row in plate]
    for key, kind in (("air_temp_c", "air"), ("plate_temp_c", "hot-line")):
        body += _curve(zip(at, map(y, temps[key]), strict=True), kind)
    entries = [("hot-line", f"plate, {unit_of('plate_temp_c', units)}"), ("air", "air")]
    if limit is not None and limit < high:
        body += line((left, y(limit)), (WIDE - RIGHT, y(limit)), "limit")
        entries.append(("limit", "wet limit"))
    body += _key(entries)
    body += _lanes(windows, lanes, x, corner=(left, bottom + 12))
    body += _hours((start, end), x, timezone, floor=floor)
    return _chart(floor + 26, label, body)


def _shadows(shadows: Sequence[Mapping[str, Any]], x: Scale, *, span: Point, height: Point) -> str:
    top, bottom = height
    body = ""
    for row in shadows:
        begin, stop = max(float(row["from_at"]), span[0]), min(float(row["until_at"]), span[1])
        if stop <= begin:
            continue
        body += _rect((x(begin), top), (x(stop), bottom), "hatch", fill="url(#hatch)")
        if x(stop) - x(begin) > 17:
            middle = (x(begin) + x(stop)) / 2 + 4.5
            turned = f' transform="rotate(-90 {middle:.1f} {bottom - 6:g})" class="over"'
            name = _short(str(row["name"]), bottom - top - 12)
            body += words((middle, bottom - 6), name, more=turned)
    if not body:
        return ""
    return (
        '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<path class="grid" d="M0 6L6 0"/></pattern></defs>{body}'
    )


def _lanes(
    windows: Sequence[Mapping[str, Any]], lanes: list[str], x: Scale, *, corner: Point
) -> str:
    """Return each print from laying on, thick while it is to be looked at, a stroke to pull."""
    body, (left, top) = "", corner
    for number, lane in enumerate(lanes):
        middle = top + LANE * (number + 0.5)
        body += words((left - 5, middle + 4), _lane(lane, left - 5), "end")
        for row in (row for row in windows if str(row["lane"]) == lane):
            laid, low, likely, high = (
                min(x(float(row[key])), WIDE - 2) for key in ("laid_on_at", "p10", "p50", "p90")
            )
            body += line((laid, middle), (low, middle), "lies")
            body += _rect((low, middle - 5), (high, middle + 5), "look-at")
            body += line((likely, middle - 7), (likely, middle + 7), "pull-at")
    return body


def _hours(span: Point, x: Scale, timezone: str, *, floor: float) -> str:
    """Return the whole hours below a picture, as many as have room."""
    start, end = span
    whole = [
        at
        for at in range(-(-int(start) // 900) * 900, int(end) + 1, 900)
        if clock(float(at), timezone)[3:5] == "00"
    ]
    step = -(-len(whole) * 28 // int(WIDE - 60)) or 1
    body = line((x(start), floor), (x(end), floor), "axis")
    for at in whole[::step]:
        body += line((x(at), floor), (x(at), floor + 5), "axis")
        body += words((x(at), floor + 20), str(int(clock(float(at), timezone)[:2])), "middle")
    return body


def thermometer_chart(pairs: Sequence[Mapping[str, Any]], units: str, label: str) -> str:
    """Return minutes to dry over the plate's reading, one line for each dampness of the air.

    Pairs hold ``humidity_frac``, ``plate_temp_c`` and the range ``minutes``; ``label`` is what a
    screen reader says.
    """
    left, top, bottom, most = 30.0, 28.0, 180.0, 90.0
    damp = sorted({float(row["humidity_frac"]) for row in pairs})
    shown = list(dict.fromkeys((damp[0], damp[len(damp) // 2], damp[-1])))
    readings = sorted({float(row["plate_temp_c"]) for row in pairs})
    x = _scale((readings[0], readings[-1]), (left + 8, WIDE - 24))
    y = _scale((0.0, most), (bottom, top))
    body = ""
    for tick in range(0, 91, 30):
        body += line((left, y(tick)), (WIDE - RIGHT, y(tick)), "grid")
        body += words((left - 5, y(tick) + 4), str(tick), "end")
    step = -(-len(readings) * 38 // int(WIDE - 60)) or 1
    for reading in readings[::step]:
        said = figure("plate_temp_c", reading, units)
        body += words((x(reading), bottom + 19), said, "middle")
    entries = []
    for share, kind in zip(shown, ("hot-line", "air", "dotted"), strict=False):
        rows = [row for row in pairs if row["humidity_frac"] == share]
        found = [(row["plate_temp_c"], row["minutes"]["p50"]) for row in rows]
        inside = [(x(reading), y(wait)) for reading, wait in sorted(found) if wait <= most]
        body += _curve(inside, kind)
        entries.append((kind, f"{100 * share:.0f} %"))
    body += _key([*entries[:-1], (entries[-1][0], f"{entries[-1][1]} damp")])
    unit = unit_of("plate_temp_c", units)
    body += words((2, bottom + 39), f"minutes to dry; below, the plate in {unit}")
    return _chart(bottom + 46, label, body)


_STYLE = re.compile(r'style="([^"]*)"')
_FONT = re.compile(r"font: (\S+) (.+)")


def without_styles(picture: str) -> str:
    """Return a picture with its styles as attributes, which the page's policy lets stand.

    >>> without_styles('<path style="fill: none; stroke: var(--ink)"/>')
    '<path fill="none" stroke="var(--ink)"/>'
    """
    picture = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>\s*", "", picture, flags=re.DOTALL)
    picture = picture.replace("<svg ", '<svg stroke-linejoin="round" stroke-linecap="butt" ', 1)
    return _STYLE.sub(lambda found: " ".join(map(_attribute, found[1].split(";"))).strip(), picture)


def _attribute(said: str) -> str:
    font = _FONT.fullmatch(said.strip())
    if font:
        return f'font-size="{font[1]}" font-family="sans-serif"'
    name, _, value = said.partition(":")
    return f'{name.strip()}="{value.strip()}"' if value.strip() else ""
