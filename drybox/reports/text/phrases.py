"""Numbers and clock times in words and units that people read.

The ending of a key says what its number is (``_c`` degrees Celsius, ``_mm`` millimetres,
``_at`` seconds since the Unix epoch, and so on); the same key gives the unit shown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any

from drybox.readable import Figure, MetricText
from drybox.reports.text.answer import is_range
from drybox.units import KELVIN_AT_0_C

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from drybox.reports.text.answer import Column

MISSING = "–"
LONG_MIN = 360.0
"""Longer durations are said in hours (judgement). [min]"""
TIME_KEYS = ("pull_from", "pull_before")
COMPASS_POINTS = [
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
]


@dataclass(frozen=True)
class ShownUnit:
    """A unit for people: the number shown is ``(number + offset) * scale + shift``."""

    name: str
    scale: float = 1.0
    offset: float = 0.0
    shift: float = 0.0
    more_digits: int = 0


_SAME: dict[str, ShownUnit] = {
    "w_m2_k": ShownUnit("W/m²K"),
    "w_m2": ShownUnit("W/m²"),
    "g_m2": ShownUnit("g/m²"),
    "kg_m2": ShownUnit("g/m²", 1e3),
    "pa": ShownUnit("hPa", 1e-2),
    "wh": ShownUnit("Wh"),
    "w": ShownUnit("W"),
    "deg": ShownUnit("°"),
    "frac": ShownUnit("%", 100.0),
    "minutes": ShownUnit("min"),
    "min": ShownUnit("min"),
    "s": ShownUnit("s"),
    "h": ShownUnit("h"),
    "at": ShownUnit(""),
}
_METRIC: dict[str, ShownUnit] = _SAME | {
    "m_s": ShownUnit("m/s"),
    "c": ShownUnit("°C"),
    "k": ShownUnit("°C", 1.0, -KELVIN_AT_0_C),
    "mm": ShownUnit("mm"),
    "cm": ShownUnit("cm"),
    "m": ShownUnit("m"),
    "ml": ShownUnit("mL"),
    "l": ShownUnit("L"),
    "g": ShownUnit("g"),
    "kg": ShownUnit("kg"),
}
_US: dict[str, ShownUnit] = _SAME | {
    "m_s": ShownUnit("mph", 1 / 0.44704),
    "c": ShownUnit("°F", 1.8, 0.0, 32.0),
    "k": ShownUnit("°F", 1.8, -KELVIN_AT_0_C, 32.0),
    "mm": ShownUnit("in", 1 / 25.4, more_digits=2),
    "cm": ShownUnit("in", 1 / 2.54, more_digits=1),
    "m": ShownUnit("ft", 1 / 0.3048),
    "ml": ShownUnit("fl oz", 1 / 29.5735295625, more_digits=1),
    "l": ShownUnit("gal", 1 / 3.785411784, more_digits=1),
    "g": ShownUnit("oz", 1 / 28.349523125, more_digits=2),
    "kg": ShownUnit("lb", 1 / 0.45359237),
}


def suffix_of(key: str) -> str:
    """Return the unit ending of a key, the longest that fits, or an empty text.

    >>> suffix_of("back_loss_w_m2_k"), suffix_of("plate_temp_c"), suffix_of("ticket")
    ('w_m2_k', 'c', '')
    """
    if key in TIME_KEYS:
        return "at"
    parts = key.split("_")
    for start in range(len(parts)):
        ending = "_".join(parts[start:])
        if ending in _METRIC and (start > 0 or ending in ("minutes", "at")):
            return ending
    return ""


def unit_of(key: str, units: str = "metric") -> str:
    """Return the unit shown for a key, or an empty text.

    >>> unit_of("plate_temp_c", "us"), unit_of("promise_at")
    ('°F', '')
    """
    shown = _shown(key, units)
    return shown.name if shown else ""


def heading_of(column: Column, units: str) -> str:
    """Return a column's heading, with its unit where it does not name that itself."""
    unit = unit_of(column.key, units)
    known = unit.lower() in column.heading.lower()
    return column.heading if known else f"{column.heading}, {unit}"


def _shown(key: str, units: str) -> ShownUnit | None:
    return (_US if units == "us" else _METRIC).get(suffix_of(key))


@cache
def _zone(timezone: str) -> ZoneInfo:
    from zoneinfo import ZoneInfo

    return ZoneInfo(timezone)


def clock(time_at: float, timezone: str) -> str:
    """Return the local clock time, rounded to the minute; starred where it comes a second time.

    >>> clock(1812885600.0, "Europe/Vienna")
    '13:20'
    """
    from drybox.inputs.text.dates import clock_text

    return clock_text(datetime.fromtimestamp(math.floor(time_at / 60 + 0.5) * 60, _zone(timezone)))


def iso_time(time_at: float, timezone: str) -> str:
    """Return ISO 8601 with the offset in force then, rounded to the second.

    >>> iso_time(1812885600.0, "Europe/Vienna")
    '2027-06-13T13:20:00+02:00'
    """
    moment = datetime.fromtimestamp(math.floor(time_at + 0.5), _zone(timezone))
    return moment.isoformat(timespec="seconds")


def local_day(time_at: float, timezone: str) -> str:
    """Return the local date of a moment, as ISO."""
    return datetime.fromtimestamp(time_at, _zone(timezone)).date().isoformat()


def span(begin_at: float, end_at: float, timezone: str, *, to: str = " to ") -> str:
    """Return a stretch of clock time.

    >>> span(1812885600.0, 1812886500.0, "Europe/Vienna")
    '13:20 to 13:35'
    """
    return f"{clock(begin_at, timezone)}{to}{clock(end_at, timezone)}"


def compass_point(bearing_deg: float) -> str:
    """Return the nearest of the sixteen points.

    >>> compass_point(181.0), compass_point(355.0), compass_point(247.5)
    ('S', 'N', 'WSW')
    """
    return COMPASS_POINTS[round(bearing_deg / 22.5) % 16]


def coordinates(latitude_deg: float, longitude_deg: float) -> str:
    """Return a position as people write it.

    >>> coordinates(-33.8568, 151.2153)
    '33.8568° S, 151.2153° E'
    """
    north, east = "NS"[latitude_deg < 0], "EW"[longitude_deg < 0]
    return f"{abs(latitude_deg):.4f}° {north}, {abs(longitude_deg):.4f}° {east}"


def _eighths(inches: float) -> str:
    whole, part = divmod(round(abs(inches) * 8), 8)
    sign = "-" if inches < 0 else ""
    if part == 0:
        return f"{sign}{whole}"
    shrink = math.gcd(part, 8)
    fraction = f"{part // shrink}/{8 // shrink}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def figure(
    key: str, value: Any, units: str = "metric", *, digits: int | None = 0, timezone: str = "UTC"
) -> str:
    """Return a value as printed in a table, its unit left to the heading.

    A range is printed as its middle with the ends behind it; an infinite time or duration
    means that it lies past the time followed.

    >>> figure("plate_temp_c", 61.24), figure("plate_temp_c", 61.24, "us")
    ('61', '142')
    >>> figure("minutes", {"p10": 31.2, "p50": 38.0, "p90": float("inf")})
    '38 (31–long)'
    >>> figure("minutes", {"p10": 62.0, "p50": 992.0, "p90": float("inf")})
    '17 h (1 h–long)'
    >>> figure("minutes", {"p10": 1344.0, "p50": float("inf"), "p90": float("inf")})
    '22 h–long'
    >>> figure("curl_mm", {"p10": -7.0, "p50": -5.0, "p90": -2.0})
    '-5 (-7 to -2)'
    >>> figure("bearing_true_deg", 359.6), figure("bearing_deg", 87.2)
    ('0', '87')
    >>> figure("prop_height_mm", 342.0, "us"), figure("plate_mm", 3.0, "us")
    ('13 1/2', '0.12')
    """
    if value is None or value != value:  # NaN is not itself
        return MISSING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if is_range(value):
        low, middle, high = (
            figure(key, value[p], units, digits=digits, timezone=timezone)
            for p in ("p10", "p50", "p90")
        )
        if low == middle == high:
            return middle
        if low[-1].isdigit() and " h" in middle + high:  # what is over an hour in the same unit
            hours = f"{float(low) / 60:.2g}" + ("" if high.endswith(" h") else " h")
            low = hours if float(low) >= 60 and " h" in middle else f"{low} min"
        span = f"{low} to {high}" if "-" in low + high else f"{low}–{high}"
        return span if middle == high else f"{middle} ({span})"
    if isinstance(value, Sequence):
        return ", ".join(
            figure(key, item, units, digits=digits, timezone=timezone) for item in value
        )
    number = float(value)
    if math.isinf(number):
        return "long"
    if suffix_of(key) == "at":
        return clock(number, timezone)
    shown = _shown(key, units)
    if shown is not None:
        number = (number + shown.offset) * shown.scale + shown.shift
        if shown.name == "in" and not digits and abs(number) >= 1.0:
            return _eighths(number)
        if key.startswith("bearing") and not digits:
            return f"{round(number) % 360}"
        if shown.name == "min" and number > LONG_MIN:
            return f"{number / 60.0:.2g} h"
        digits = None if digits is None else digits + shown.more_digits
    if digits is None:
        return f"{number:.6g}"
    text = f"{number:.{digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def say(
    key: str, value: Any, units: str = "metric", *, digits: int | None = 0, timezone: str = "UTC"
) -> str:
    """Return a value with its unit, for a sentence.

    >>> say("tilt_deg", 34.2), say("plate_temp_c", 61.24, "us"), say("kept_frac", 0.973)
    ('34°', '142 °F', '97 %')
    >>> say("minutes", {"p10": 31.2, "p50": 38.0, "p90": 52.4}), say("minutes", 543.0)
    ('38 min (31–52)', '9.1 h')
    >>> say("amount_ml", 6400.0, "us"), say("amount_ml", 900.0, "us"), say("water_l", 0.2, "us")
    ('1.7 gal', '30 fl oz', '6.8 fl oz')
    """
    if units == "us" and suffix_of(key) in ("ml", "l") and isinstance(value, int | float):
        return _us_volume(value * (1.0 if suffix_of(key) == "ml" else 1e3))
    text = figure(key, value, units, digits=digits, timezone=timezone)
    unit = unit_of(key, units)
    if not unit or text in (MISSING, "long") or isinstance(value, str) or text.endswith(" h"):
        return text
    head, bracket, tail = text.partition(" (") if isinstance(value, Mapping) else (text, "", "")
    return head + ("" if unit == "°" else " ") + unit + bracket + tail


def lasting(first_s: float | None, last_s: float | None) -> str:
    """Return a span of durations, None for one longer than followed.

    >>> lasting(1440.0, 3060.0), lasting(5100.0, 48840.0), lasting(44400.0, None)
    ('24 to 51 min', '85 min to 14 h', '12 h to longer than followed')
    """
    first, last = (
        "longer than followed" if end is None else say("minutes", end / 60)
        for end in (first_s, last_s)
    )
    number, _, unit = first.partition(" ")
    return f"{number if last.endswith(f' {unit}') else first} to {last}"


def clock_after(time_at: float, from_at: float, timezone: str) -> str:
    """Return the local clock time of a moment, and that it is the next day where it is.

    >>> clock_after(1812885600.0, 1812828000.0, "Europe/Vienna")
    '13:20 the next day'
    """
    same = local_day(time_at, timezone) == local_day(from_at, timezone)
    return clock(time_at, timezone) + ("" if same else " the next day")


def said_below(key: str, value: float, units: str = "metric", *, borne: float | None = None) -> str:
    """Return the whole number that a value does not fall short of, with its unit: for a limit.

    Where that falls short of what is ``borne`` below the limit, it is said of that.

    >>> said_below("gust_m_s", 10.8), said_below("gust_m_s", 10.8, "us")
    ('10 m/s', '24 mph')
    >>> said_below("gust_m_s", 10.27, borne=10.26)
    '10.3 m/s'
    """
    shown = _shown(key, units) or ShownUnit("")
    number, least = (
        (at + shown.offset) * shown.scale + shown.shift for at in (value, borne or -math.inf)
    )
    whole = math.floor(number)
    return f"{f'{least:.1f}' if whole < least <= number else whole} {shown.name}".strip()


def liquid_said(amount: float, unit: str, units: str) -> str:
    """Return an amount of ``ml`` or ``l`` for people, an empty text for other goods.

    >>> liquid_said(1.25, "l", "metric"), liquid_said(3.0, "pieces", "metric")
    ('1.2 L', '')
    """
    if unit not in ("ml", "l"):
        return ""
    return say(f"amount_{unit}", amount, units, digits=int(unit == "l"))


_FL_OZ_ML, _QUART_FL_OZ, _GALLON_FL_OZ = 29.5735295625, 32.0, 128.0


def _us_volume(volume_ml: float) -> str:
    """Return a volume in the US measure that a person would take for it."""
    ounces = volume_ml / _FL_OZ_ML
    if ounces < _QUART_FL_OZ:
        return f"{ounces:.{0 if ounces >= 10.0 else 1}f} fl oz"
    if ounces < _GALLON_FL_OZ:
        return f"{ounces / _QUART_FL_OZ:.1f} qt"
    return f"{ounces / _GALLON_FL_OZ:.1f} gal"


def retold(text: str, units: str = "metric") -> str:
    """Return a text of the inputs with the values in it in the units shown.

    >>> wind = Figure("wind_m_s", 2.0, "2.0 m/s")
    >>> retold(MetricText("air ", Figure("temp_c", 20.0, "20 °C"), ", wind ", wind), "us")
    'air 68 °F, wind 4 mph'
    """
    if units == "metric" or not isinstance(text, MetricText):
        return text
    return "".join(
        say(part.key, part.value, units) if isinstance(part, Figure) else part
        for part in text.parts
    )


def bearing_said(true_deg: float, declination_deg: float | None) -> str:
    """Return a bearing as people set it: by compass where a declination is known, and true.

    >>> bearing_said(2.0, 4.7), bearing_said(162.5, None)
    ('357° by compass (2° true, N)', '162° true (SSE)')
    """
    point = compass_point(true_deg)
    true = say("bearing_deg", true_deg)
    if declination_deg is None:
        return f"{true} true ({point})"
    by_compass = say("bearing_deg", true_deg - declination_deg)
    return f"{by_compass} by compass ({true} true, {point})"


def sentence(text: str) -> str:
    """Return words as a sentence: a capital first and a full stop.

    >>> sentence("the plate is level"), sentence("Done.")
    ('The plate is level.', 'Done.')
    """
    text = text.strip()
    return capital(text) + ("" if text.endswith((".", "?", "!")) else ".")


def capital(text: str) -> str:
    """Return words with a capital first."""
    return text[:1].upper() + text[1:]


def the(name: str) -> str:
    """Return a name with the article it needs, once.

    >>> the("clock tower"), the("the houses"), the("The old mill")
    ('the clock tower', 'the houses', 'the old mill')
    """
    first, _, rest = name.partition(" ")
    return f"the {rest if rest and first.lower() == 'the' else name}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return words in a row, the last joined by a word.

    >>> listed(["plate", "line", "blotters"]), listed(["line"])
    ('plate, line and blotters', 'line')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def cut(text: str, most: int) -> str:
    """Return a text in one line of at most so many letters, a mark for what is left out.

    >>> cut("Upper Larkmead", 8)
    'Upper L…'
    """
    words = " ".join(printable(text).split())
    return words if len(words) <= most else words[: most - 1] + "…"


_ASCII = str.maketrans("–—−·²³×µ’‘“”", "----23xu''\"\"") | str.maketrans(
    {"°": " deg ", "±": "+-", "→": "->", "≤": "<=", "≥": ">=", "…": "..."}
)
_DIRECTION_MARKS = [0x061C, *range(0x200E, 0x2010), *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
_UNPRINTABLE = dict.fromkeys(
    [*range(32), *range(127, 160), 0x2028, 0x2029, 0xFEFF, *_DIRECTION_MARKS], " "
)


def printable(text: str, encoding: str = "utf-8") -> str:
    """Return text that a terminal can neither misread nor fail on.

    Control characters and marks that turn the reading direction become spaces; signs that the
    encoding lacks are written in plain letters.

    >>> printable("fair" + chr(27) + "[2J"), printable("21 °C, 3–5 m²", "ascii")
    ('fair [2J', '21 deg C, 3-5 m2')
    """
    clean = str(text).translate(_UNPRINTABLE)
    try:
        clean.encode(encoding)
    except UnicodeEncodeError:
        import unicodedata

        plain = clean.replace(" °", " deg ").replace("deg  ", "deg ").translate(_ASCII)
        plain = re.sub(r"deg (?=[\s,.;:)]|$)", "deg", plain)
        plain = unicodedata.normalize("NFKD", plain)
        plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
        return plain.encode(encoding, "replace").decode(encoding)
    return clean
