"""Which column of a forecast table is which quantity, in which unit, told by its heading."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from drybox.errors import InputError
from drybox.units import KELVIN_AT_0_C

_SPEEDS = {
    "m/s": ("m/s", 1.0, 0.0),
    "km/h": ("km/h", 1 / 3.6, 0.0),
    "mph": ("mph", 0.44704, 0.0),
    "kn": ("kn", 1852 / 3600, 0.0),
}
_SUNLIGHT = {"w/m2": ("W/m2", 1.0, 0.0), "kw/m2": ("kW/m2", 1e3, 0.0)}
# heading unit as people write it → (shown, factor, offset to SI)
_UNITS: dict[str, dict[str, tuple[str, float, float]]] = {
    "air_temp_k": {
        "c": ("°C", 1.0, KELVIN_AT_0_C),
        "f": ("°F", 5 / 9, KELVIN_AT_0_C - 160 / 9),
        "k": ("K", 1.0, 0.0),
    },
    "humidity_frac": {"%": ("%", 0.01, 0.0), "frac": ("fraction", 1.0, 0.0)},
    "wind_10m_m_s": _SPEEDS,
    "gust_10m_m_s": _SPEEDS,
    "pressure_pa": {
        "hpa": ("hPa", 100.0, 0.0),
        "pa": ("Pa", 1.0, 0.0),
        "kpa": ("kPa", 1000.0, 0.0),
        "inhg": ("inHg", 3386.389, 0.0),
    },
    "cloud_frac": {
        "%": ("%", 0.01, 0.0),
        "oktas": ("oktas", 0.125, 0.0),
        "tenths": ("tenths", 0.1, 0.0),
        "frac": ("fraction", 1.0, 0.0),
    },
    "ghi_w_m2": _SUNLIGHT,
    "dni_w_m2": _SUNLIGHT,
    "dhi_w_m2": _SUNLIGHT,
    "rain_kg_m2_s": {
        "mm": ("mm", 1 / 3600, 0.0),
        "mm/h": ("mm/h", 1 / 3600, 0.0),
        "in": ("in", 25.4 / 3600, 0.0),
    },
    "rain_frac": {"%": ("%", 0.01, 0.0), "frac": ("fraction", 1.0, 0.0)},
}
PER_ROW = ("mm", "in")
"""Units of rain that are of a row's whole interval; their factor is that of an hour."""

_SPELLINGS = {
    "c": ("°c", "degc", "deg_c", "celsius", "c", "ºc", "grad"),
    "f": ("°f", "degf", "deg_f", "fahrenheit", "f", "ºf"),
    "k": ("kelvin", "k"),
    "%": ("%", "percent", "pct", "per_cent"),
    "frac": ("frac", "fraction", "0-1", "ratio"),
    "m/s": ("m/s", "m_s", "ms", "mps", "m_per_s", "ms-1", "m_s-1", "meter/sec"),
    "km/h": ("km/h", "km_h", "kmh", "kph", "kmph", "km_per_h"),
    "mph": ("mph", "mp/h", "mi/h", "miles/h"),
    "kn": ("knots", "knot", "kts", "kt", "kn"),
    "hpa": ("hpa", "mbar", "millibar", "mb"),
    "kpa": ("kpa",),
    "pa": ("pa",),
    "inhg": ("inhg", "in_hg"),
    "mm/h": ("mm/h", "mm_h", "mm/hr", "mm_per_h"),
    "mm": ("mm",),
    "in": ("inch", "inches"),
    "oktas": ("oktas", "okta", "eighths", "/8"),
    "tenths": ("tenths", "tenth", "/10"),
    "kw/m2": ("kw/m2", "kw_m2", "kwm2", "kw_m-2", "kw/m^2"),
    "w/m2": ("w/m2", "w_m2", "wm2", "w_m-2", "wm-2", "w/m^2", "w_per_m2"),
}
_UNIT_OF = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}
_BY_LENGTH = sorted(_UNIT_OF, key=len, reverse=True)
_NOT_USED = re.compile(
    r"direction|\bdir\b|rain|precip|snow|shower|probab|\bpop\b|feels|apparent|dew|wet|"
    r"\buv\b|visib|code|symbol|icon|summary|condition|description|\bmin\b|\bmax\b|\bsea\b|\bmsl\b|"
    r"soil|\blow\b|\bmid\b|\bhigh\b|tilted|\bgti\b|terrestrial|sunshine|leaf|vapou?r|chill|index|"
    r"heat|base|type|extra|clear"
)
_RAIN_CHANCE = re.compile(
    r"\bpop\b|(rain|precip\w*) (prob\w*|chance)|(prob\w*|chance) (of )?(rain|precip\w*)"
)
_RAIN = re.compile(r"^(total )?(rain|rainfall|precip|precipitation)( amount| intensity)?$")
_QUANTITIES = (
    ("dni_w_m2", re.compile(r"\bdni\b|direct normal|beam normal")),
    ("dhi_w_m2", re.compile(r"\bdhi\b|diffuse")),
    ("ghi_w_m2", re.compile(r"\bghi\b|global|short ?wave|solar radiation")),
    ("cloud_frac", re.compile(r"cloud|\btcc\b|sky cover|total sky|\boktas?\b")),
    ("humidity_frac", re.compile(r"humid|\brh\b|\brhum\b|\brel ?hum")),
    ("gust_10m_m_s", re.compile(r"\bgusts?\b|\bwindgusts?\b|\bwgust\b")),
    ("wind_10m_m_s", re.compile(r"wind|\bws\b|\bwspd\b")),
    ("pressure_pa", re.compile(r"press")),
    ("air_temp_k", re.compile(r"temp|dry ?bulb|\bt2m\b|^air$")),
)
HOTTEST_C = 45.0
FASTEST_M_S = 25.0
BRIGHTEST_KW_M2 = 1.5
_TIME = re.compile(r"^(valid|local|date|forecast)? ?time|^timestamp$|^valid$")
_DATE = re.compile(r"^(local |valid )?(date|day)$")
_SIDE = re.compile(r"\b(start|begin|beginning|end|ending)$")
_HEIGHT = re.compile(r"(\d+) ?m\b")
_BRACKET = re.compile(r"^(?P<base>.*?)\s*[(\[{]\s*(?P<inside>[^)\]}]*?)\s*[)\]}]\s*$")
USUAL_HEIGHT_M = 10


@dataclass(frozen=True)
class Column:
    """One column of a table: what it is, and how its numbers become SI.

    ``quantity`` is a column of the weather, or ``time``, ``start``, ``end`` or ``date``, or
    empty where the column is not used. ``unit`` is empty where the heading names none; for
    times it is ``UTC`` where the heading says so.
    """

    index: int
    heading: str
    quantity: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0


def read_heading(index: int, heading: str, where: str = "") -> Column:
    """Return what a column is, told by its heading.

    >>> read_heading(1, "Temp (°F)").quantity, read_heading(1, "Temp (°F)").unit
    ('air_temp_k', '°F')
    >>> read_heading(3, "wind_kmh").unit, read_heading(4, "wind gust km/h").quantity
    ('km/h', 'gust_10m_m_s')
    """
    base, unit = _split_unit(heading)
    words = " ".join(re.sub(r"[^a-z0-9]+", " ", base).split())
    when = _when(words)
    if when:
        zone = "UTC" if re.search(r"\b(utc|gmt|zulu)\b", f"{words} {unit}") else ""
        return Column(index=index, heading=heading, quantity=when, unit=zone)
    quantity = _rain(words) or ("" if _NOT_USED.search(words) else _quantity(words))
    column = Column(index, heading, quantity)
    return with_unit(column, unit, where) if quantity and unit else column


def _when(words: str) -> str:
    """Return what a heading tells of the time: ``time``, ``start``, ``end``, ``date`` or nothing.

    >>> [_when(words) for words in ("time", "period end", "hour beginning", "local date", "wind")]
    ['time', 'end', 'start', 'date', '']
    """
    side = _SIDE.search(words)
    if side and re.search(r"^(period|interval|time|hour|start|end|begin)", words):
        return "end" if side[1].startswith("end") else "start"
    if _TIME.search(words) or words in ("clock", "hour"):
        return "time"
    return "date" if _DATE.search(words.removesuffix(" utc")) else ""


def with_unit(column: Column, unit: str, where: str = "") -> Column:
    """Return the column with a unit, one of the plain spellings such as ``km/h``."""
    units = _UNITS[column.quantity]
    if unit not in units:
        mend = "use " + ", ".join(shown for shown, _, _ in units.values())
        raise InputError(f"column '{column.heading}' has a unit that does not fit", where, mend)
    shown, factor, offset = units[unit]
    return replace(column, unit=shown, factor=factor, offset=offset)


def guess_unit(column: Column, highest: float, where: str = "") -> tuple[Column, str]:
    """Return a column without a named unit with the one its numbers allow, and a doubt.

    ``highest`` is its highest number; the doubt is what was taken for granted, empty where nothing
    was.
    """
    unit, sure = {
        "air_temp_k": ("c" if highest <= HOTTEST_C else "", False),
        "humidity_frac": ("%" if highest > 1.5 else "frac", True),
        "wind_10m_m_s": ("m/s" if highest <= FASTEST_M_S else "", False),
        "gust_10m_m_s": ("m/s" if highest <= FASTEST_M_S else "", False),
        "cloud_frac": ("%" if highest > 10 else "", True),
        "rain_frac": ("%" if highest > 1.5 else "frac", True),
        "rain_kg_m2_s": ("mm", False),
        "pressure_pa": ("pa" if highest > 2e4 else "hpa" if highest > 300 else "", True),
    }.get(column.quantity, ("" if 0.0 < highest <= BRIGHTEST_KW_M2 else "w/m2", True))
    if not unit:
        sun = f"{column.quantity[:3]}_w_m2 or {column.quantity[:3]}_kw_m2"
        example = {"cloud_frac": "cloud_oktas", "wind_10m_m_s": "wind_kmh", "air_temp_k": "temp_f"}
        example |= {"pressure_pa": "pressure_hpa", "gust_10m_m_s": "gust_kmh"}
        raise InputError(
            f"column '{column.heading}' names no unit, and {highest:g} could be several",
            where,
            f"name it, such as {example.get(column.quantity, sun)}",
        )
    found = with_unit(column, unit, where)
    doubt = "" if sure else f"column '{column.heading}' names no unit; {found.unit} is assumed"
    return found, doubt


def _split_unit(heading: str) -> tuple[str, str]:
    """Return a heading without its unit, and the plain spelling of the unit."""
    plain = heading.strip().lower().replace("²", "2").replace("⁻", "-").replace("¹", "1")
    bracket = _BRACKET.match(plain)
    if bracket:
        inside = re.sub(r"\s+", " ", bracket["inside"])
        spelling = inside.replace(" ", "_").replace("·", "_")
        if spelling in _UNIT_OF:
            return bracket["base"], _UNIT_OF[spelling]
        if "/" in inside:
            return bracket["base"], inside
        return f"{bracket['base']} {inside}", ""
    for spelling in _BY_LENGTH:
        if plain.endswith(spelling) and plain != spelling:
            base = plain.removesuffix(spelling)
            if base[-1] in " _,:;-." or spelling[0] in "%°º/":
                return base, _UNIT_OF[spelling]
    return plain, "oktas" if plain in ("oktas", "okta") else ""


def _rain(words: str) -> str:
    """Return what a heading tells of rain, or nothing.

    >>> _rain("precipitation probability"), _rain("rain"), _rain("rain code")
    ('rain_frac', 'rain_kg_m2_s', '')
    """
    if _RAIN_CHANCE.search(words):
        return "rain_frac"
    return "rain_kg_m2_s" if _RAIN.search(words) else ""


def _quantity(words: str) -> str:
    if any(int(height) > USUAL_HEIGHT_M for height in _HEIGHT.findall(words)):
        return ""
    return next((quantity for quantity, pattern in _QUANTITIES if pattern.search(words)), "")
