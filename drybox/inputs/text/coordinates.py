"""Coordinates and bearings as people write or paste them, turned into decimal degrees.

Understood: ``48.2082``, ``48,2082``, ``48°12'30"N``, ``N 48 12.5``, ``48.2082 N``, and a pair
such as ``48.2082, 16.3738``. Latitude comes first unless letters say otherwise.
"""

from __future__ import annotations

import math
import re

from drybox.errors import InputError, out_of_range
from drybox.units import LONGEST_TEXT, parse_number

COMPASS_POINTS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split()  # noqa: SIM905
_LATITUDE_FORM = """write it like 48.2082 or "48°12'30\\"N\""""
_LONGITUDE_FORM = """write it like 16.3738 or "16°22'26\\"E\""""
_PAIR_FORM = 'write it like "48.2082, 16.3738"'
_MARKS = {"º": "°", "˚": "°", "’": "'", "′": "'", "‘": "'", "”": '"', "″": '"', "“": '"', "−": "-"}
_PARTS = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?P<degrees>\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees?)?|d|\s)?\s*
    (?:(?P<minutes>\d+(?:[.,]\d+)?)\s*(?:'|min|m|\s)?\s*
    (?:(?P<seconds>\d+(?:[.,]\d+)?)\s*(?:"|''|sec|s)?\s*)?)?""",
    re.VERBOSE | re.IGNORECASE,
)


def _tidy(text: str) -> str:
    for mark, plain in _MARKS.items():
        text = text.replace(mark, plain)
    return " ".join(text.split())


def _angle(value: object, name: str, letters: str, *, limit: float, form: str, where: str) -> float:
    """Return a signed angle in degrees; ``letters`` are the positive and negative sides."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{name} {value!r} is not an angle", where, form)
    if isinstance(value, str):
        degrees = _angle_of_text(_tidy(value), name, letters, form=form, where=where)
    else:
        degrees = float(value) if abs(value) < 1e300 else math.inf
    if not math.isfinite(degrees):
        raise InputError(f"{name} {value} is not a finite number", where, form)
    if abs(degrees) > limit:
        raise out_of_range(name, value, (f"-{limit:g}", f"{limit:g}"), where=where)
    return degrees


def _angle_of_text(text: str, name: str, letters: str, *, form: str, where: str) -> float:
    bad = InputError(f"{name} '{text}' is not understood", where, form)
    if len(text) > LONGEST_TEXT:  # before patterns are tried on it
        raise bad
    found = re.fullmatch(r"([NSEWO])?\s*(.*?)\s*([NSEWO])?", text, re.IGNORECASE)
    if found is None or (found[1] and found[3]):
        raise bad
    letter = (found[1] or found[3] or "").upper()
    if letter and letter not in letters:
        raise InputError(
            f"{name} '{text}' has the letter {letter}", where, f"use {letters[0]} or {letters[1]}"
        )
    parts = _PARTS.fullmatch(found[2])
    if parts is None:
        if found[2].lower().lstrip("+-") in ("nan", "inf", "infinity"):
            raise InputError(f"{name} {text} is not a finite number", where, form)
        raise bad
    if parts["sign"] and letter:
        raise InputError(f"{name} '{text}' has both a sign and a letter", where, form)
    degrees = 0.0
    for key, share in (("degrees", 1), ("minutes", 60), ("seconds", 3600)):
        if parts[key] is None:
            continue
        number = parts[key].replace(",", ".")
        whole = key == "seconds" or parts["minutes" if key == "degrees" else "seconds"] is None
        if (share > 1 and float(number) >= 60) or (not whole and "." in number):
            raise bad
        degrees += float(number) / share
    negative = parts["sign"] == "-" or letter == letters[1]
    return -degrees if negative else degrees


def parse_latitude(value: object, where: str = "") -> float:
    r"""Return a latitude, north positive [deg].

    >>> parse_latitude("48°12'30\"N"), parse_latitude("48,2"), parse_latitude("33.5 S")
    (48.208333333333336, 48.2, -33.5)
    >>> parse_latitude(95, "place.latitude in fair.toml, line 3")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: latitude 95 is outside -90 to 90 (place.latitude in fair.toml, line 3)
    """
    return _angle(value, "latitude", "NS", limit=90.0, form=_LATITUDE_FORM, where=where)


def parse_longitude(value: object, where: str = "") -> float:
    """Return a longitude, east positive, never wrapped [deg].

    >>> parse_longitude("W 70 40.5"), parse_longitude(180)
    (-70.675, 180.0)
    """
    return _angle(value, "longitude", "EW", limit=180.0, form=_LONGITUDE_FORM, where=where)


def parse_coordinates(value: object, where: str = "") -> tuple[float, float]:
    """Return latitude and longitude from one pasted text [deg].

    A pair that could be read two ways is refused.

    >>> parse_coordinates("48.2082, 16.3738")
    (48.2082, 16.3738)
    >>> parse_coordinates("16°30'E 48°12'N")
    (48.2, 16.5)
    """
    bad = InputError(f"coordinates '{value}' are not a pair", where, _PAIR_FORM)
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise bad
    text = _tidy(value).strip("() ")
    lettered = re.fullmatch(
        r"(.*?[NS])[\s,;]*(.*?[EW])|([NS].*?)[\s,;]*([EW].*)", text, re.IGNORECASE
    )
    swapped = re.fullmatch(
        r"(.*?[EW])[\s,;]*(.*?[NS])|([EW].*?)[\s,;]*([NS].*)", text, re.IGNORECASE
    )
    if lettered and not re.match(r"[EW]", text, re.IGNORECASE):
        first, second = [part for part in lettered.groups() if part is not None]
    elif swapped:
        second, first = [part for part in swapped.groups() if part is not None]
    else:
        first, second = _split_plain(text, bad)
    return parse_latitude(first, where), parse_longitude(second, where)


def _split_plain(text: str, bad: InputError) -> tuple[str, str]:
    for mark in (";", "/", ", ", ",", " "):
        parts = [part.strip() for part in text.split(mark) if part.strip()]
        if len(parts) == 2:
            if mark == "," and "." not in text:  # 48,2 is one number
                raise bad
            return parts[0].rstrip(","), parts[1]
    raise bad


def parse_bearing(value: object, name: str, where: str = "") -> float:
    """Return a bearing clockwise from true north, 0 up to 360 [deg].

    >>> parse_bearing("SW", "aim"), parse_bearing("230° true", "aim")
    (225.0, 230.0)
    """
    form = 'write it like "230 deg" or "SW", from true north'
    if not isinstance(value, str):
        what = (
            f"{name} {value} has no unit"
            if isinstance(value, int | float)
            else f"{name} {value!r} is no bearing"
        )
        raise InputError(what, where, form)
    text = _tidy(value)
    bad = InputError(f"{name} '{text}' is not a bearing", where, form)
    if len(text) > LONGEST_TEXT:
        raise bad
    if re.search(r"\bmag(netic|\.)?$", text, re.IGNORECASE):
        mend = "give it from true north: 'drybox aim' shows by how much the compass differs"
        raise InputError(f"{name} '{text}' is magnetic", where, mend)
    plain = re.sub(r"\s*\btrue( north)?$", "", text, flags=re.IGNORECASE)
    named = {point: 22.5 * number for number, point in enumerate(COMPASS_POINTS)}
    named |= {"NORTH": 0.0, "EAST": 90.0, "SOUTH": 180.0, "WEST": 270.0}
    if plain.upper() in named:
        return named[plain.upper()]
    found = re.fullmatch(r"([+-]?[\d.,]+)\s*(?:°|deg(?:rees?)?)", plain, re.IGNORECASE)
    if found is None:
        raise bad
    degrees = parse_number(found[1], name, where)
    if not 0 <= degrees <= 360:
        raise out_of_range(name, text, ("0 deg", "360 deg"), where=where)
    return degrees
