"""Quantities as people write them, turned into SI numbers.

``"3 mm"``, ``"1/8 in"``, ``"3,5 mm"``, ``"95 °F"``, ``"40x30 cm"`` are understood.
A bare number where a unit is needed is refused with the right form shown.
Formulas elsewhere use kelvin, SI and radians only.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from drybox.errors import InputError

KELVIN_AT_0_C = 273.15
LONGEST_TEXT = 100
LARGEST_NUMBER = 1e300


@dataclass(frozen=True)
class Dimension:
    """One kind of quantity: its units as factor (and offset) to SI, and an example."""

    name: str
    example: str
    units: dict[str, tuple[float, float]]


_PER_M2 = {"g/m2": (1e-3, 0.0), "kg/m2": (1.0, 0.0), "gsm": (1e-3, 0.0), "ug/cm2": (1e-5, 0.0)}
_DEGREES = math.pi / 180.0

DIMENSIONS: dict[str, Dimension] = {
    dimension.name: dimension
    for dimension in (
        Dimension(
            "length",
            "3 mm",
            {
                "mm": (1e-3, 0),
                "cm": (1e-2, 0),
                "m": (1.0, 0),
                "km": (1e3, 0),
                "um": (1e-6, 0),
                "in": (0.0254, 0),
                "inch": (0.0254, 0),
                "inches": (0.0254, 0),
                '"': (0.0254, 0),
                "ft": (0.3048, 0),
                "'": (0.3048, 0),
                "mi": (1609.344, 0),
            },
        ),
        Dimension(
            "temperature",
            "24 °C",
            {
                "degc": (1.0, KELVIN_AT_0_C),
                "c": (1.0, KELVIN_AT_0_C),
                "degf": (5 / 9, KELVIN_AT_0_C - 32 * 5 / 9),
                "f": (5 / 9, KELVIN_AT_0_C - 32 * 5 / 9),
                "k": (1.0, 0.0),
            },
        ),
        Dimension(
            "temperature_difference",
            "2 K",
            {"k": (1.0, 0), "degc": (1.0, 0), "c": (1.0, 0), "degf": (5 / 9, 0), "f": (5 / 9, 0)},
        ),
        Dimension("angle", "30 deg", {"deg": (_DEGREES, 0), "rad": (1.0, 0)}),
        Dimension(
            "speed",
            "3 m/s",
            {
                "m/s": (1.0, 0),
                "km/h": (1 / 3.6, 0),
                "kmh": (1 / 3.6, 0),
                "kph": (1 / 3.6, 0),
                "mph": (0.44704, 0),
                "kn": (1852 / 3600, 0),
                "kt": (1852 / 3600, 0),
                "knots": (1852 / 3600, 0),
            },
        ),
        Dimension("fraction", "45 %", {"%": (0.01, 0), "frac": (1.0, 0), "1": (1.0, 0)}),
        Dimension(
            "duration",
            "10 min",
            {"s": (1.0, 0), "sec": (1.0, 0), "min": (60.0, 0), "h": (3600.0, 0), "d": (86400.0, 0)},
        ),
        Dimension("areal_mass", "200 g/m2", _PER_M2),
        Dimension(
            "mass",
            "2 g",
            {"g": (1e-3, 0), "kg": (1.0, 0), "mg": (1e-6, 0), "oz": (0.028349523125, 0)},
        ),
        Dimension(
            "volume",
            "400 ml",
            {
                "ml": (1e-6, 0),
                "cl": (1e-5, 0),
                "l": (1e-3, 0),
                "m3": (1.0, 0),
                "gal": (3.785411784e-3, 0),
                "floz": (2.95735295625e-5, 0),
            },
        ),
        Dimension("area", "0.5 m2", {"m2": (1.0, 0), "cm2": (1e-4, 0), "in2": (0.0254**2, 0)}),
        Dimension("area_per_volume", "1 m2/l", {"m2/l": (1e3, 0), "1/m": (1.0, 0)}),
        Dimension(
            "concentration", "90 g/l", {"g/l": (1.0, 0), "kg/m3": (1.0, 0), "mg/l": (1e-3, 0)}
        ),
        Dimension("density", "7854 kg/m3", {"kg/m3": (1.0, 0), "g/cm3": (1e3, 0)}),
        Dimension("specific_heat", "434 J/kgK", {"j/kgk": (1.0, 0), "kj/kgk": (1e3, 0)}),
        Dimension("conductivity", "60 W/mK", {"w/mk": (1.0, 0)}),
        Dimension("heat_transfer_coeff", "3 W/m2K", {"w/m2k": (1.0, 0)}),
        Dimension("vapour_resistance", "1e8 m2sPa/kg", {"m2spa/kg": (1.0, 0)}),
        Dimension("irradiance", "800 W/m2", {"w/m2": (1.0, 0), "kw/m2": (1e3, 0)}),
        Dimension("power", "150 W", {"w": (1.0, 0), "kw": (1e3, 0)}),
        Dimension(
            "energy",
            "500 Wh",
            {"wh": (3600.0, 0), "kwh": (3.6e6, 0), "j": (1.0, 0), "kj": (1e3, 0), "mj": (1e6, 0)},
        ),
        Dimension(
            "pressure",
            "1013 hPa",
            {
                "pa": (1.0, 0),
                "hpa": (100.0, 0),
                "mbar": (100.0, 0),
                "kpa": (1e3, 0),
                "inhg": (3386.389, 0),
            },
        ),
        Dimension(
            "rate",
            "20 1/h",
            {"1/s": (1.0, 0.0), "1/min": (1 / 60, 0.0)}
            | dict.fromkeys(("1/h", "/h", "/hour", "perhour", "anhour"), (1 / 3600, 0.0)),
        ),
        Dimension("extinction", "16 1/m", {"1/m": (1.0, 0)}),
        Dimension("oktas", "3 oktas", {"oktas": (1.0, 0), "okta": (1.0, 0), "/8": (1.0, 0)}),
        Dimension("number", "1.5", {"1": (1.0, 0), "": (1.0, 0)}),
    )
}

_NUMBER = re.compile(
    r"""^\s*(?P<number>[+-]?(?:
        \d+\s+\d+\s*/\s*\d+        # 1 1/2
      | \d+\s*/\s*[1-9]\d*(?!\d)    # 1/8
      | (?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?
    ))\s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)


def parse_number(text: str, name: str, where: str = "") -> float:
    """Return the number in ``text``: decimal point or comma, or a fraction.

    One in which a comma could mean thousands is refused.

    >>> parse_number("3,5", "length"), parse_number("1 1/2", "length")
    (3.5, 1.5)
    """
    _check_length(text, name, where)
    cleaned = text.strip()
    try:
        if "/" in cleaned:
            from fractions import Fraction  # only here: it takes a twentieth of an error's time

            parts = re.split(r"\s+(?=\d+\s*/)", cleaned)
            return float(sum(Fraction(part.replace(" ", "")) for part in parts))
        if "," in cleaned:
            if re.search(r",\d{3}$", cleaned) or cleaned.count(",") > 1 or "." in cleaned:
                raise InputError(
                    f"{name} '{cleaned}' could be read two ways",
                    where,
                    "write it with a decimal point and no thousands mark",
                )
            cleaned = cleaned.replace(",", ".")
        number = float(cleaned)
    except (ValueError, ZeroDivisionError):
        raise InputError(f"{name} '{text.strip()}' is not a number", where) from None
    if not math.isfinite(number):
        raise InputError(f"{name} '{text.strip()}' is not a finite number", where)
    return number


def _check_length(text: str, name: str, where: str) -> None:
    """Refuse what no one writes, before patterns are tried on it."""
    if len(text) > LONGEST_TEXT:
        raise InputError(f"{name} is longer than {LONGEST_TEXT} characters", where)


def written_unit(text: str) -> str:
    """Return the unit behind the number as it was written, empty where there is none.

    >>> written_unit("1 1/2 in"), written_unit("4 /h"), written_unit("0")
    ('in', '/h', '')
    """
    match = _NUMBER.match(text)
    return match["unit"] if match else ""


_SPELT = {
    "celsius": "c", "degcelsius": "c", "fahrenheit": "f", "degfahrenheit": "f", "foot": "ft",
    "feet": "ft", "gram": "g", "ounce": "oz", "litre": "l", "liter": "l", "gallon": "gal",
    "sec": "s", "second": "s", "min": "min", "minute": "min", "hr": "h", "hour": "h",
}  # fmt: skip
"""Units written out, without the ending of several."""


def _plain_unit(unit: str) -> str:
    plain = unit.strip().replace("²", "2").replace("³", "3").replace("µ", "u").replace("μ", "u")
    plain = (
        plain.replace("°", "deg")
        .replace("º", "deg")
        .replace("·", "")
        .replace("^", "")
        .replace("″", '"')
        .replace("′", "'")
    )
    plain = re.sub(r"[\s()]", "", plain).lower()
    plain = plain.replace("degrees", "deg").replace("degree", "deg")
    return _SPELT.get(plain) or _SPELT.get(plain.removesuffix("s"), plain)


def parse_quantity(value: object, dimension: str, name: str, *, where: str = "") -> float:
    """Return a quantity in SI (temperatures in kelvin, angles in radians).

    A plain number passes only where the dimension, a key of `DIMENSIONS`, is ``"number"``; ``name``
    and ``where`` are for the error text.

    >>> round(parse_quantity("1/8 in", "length", "plate thickness") * 1000, 3)
    3.175
    >>> round(parse_quantity("95 °F", "temperature", "air") - 273.15, 6)
    35.0
    >>> parse_quantity("16 minutes", "duration", "every")
    960.0
    >>> parse_quantity(3, "length", "plate thickness")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: plate thickness 3 has no unit; write it like "3 mm"
    """
    kind = DIMENSIONS[dimension]
    form = f'write it like "{kind.example}"'
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{name} {value!r} is not a quantity", where, form)
    if isinstance(value, int | float):
        if abs(value) > LARGEST_NUMBER or value != value:
            raise InputError(f"{name} {value} is not a finite number", where)
        if "" not in kind.units:
            raise InputError(
                f"{name} {value:g} has no unit",
                where,
                f'write it like "{with_unit(f"{value:g}", dimension)}"',
            )
        return float(value)
    _check_length(value, name, where)
    match = _NUMBER.match(value.replace("−", "-").replace("℃", "°C").replace("℉", "°F"))
    if match is None:
        raise InputError(f"{name} '{value}' is not a quantity", where, form)
    unit = _plain_unit(match["unit"])
    number = parse_number(match["number"], name, where)
    if unit == "" and "" not in kind.units:
        raise InputError(
            f"{name} {value.strip()} has no unit",
            where,
            f'write it like "{with_unit(match["number"], dimension)}"',
        )
    if unit not in kind.units:
        raise InputError(
            f"{name} '{value}' has a unit that is no {kind.name.replace('_', ' ')}", where, form
        )
    factor, offset = kind.units[unit]
    return number * factor + offset


def with_unit(number: str, dimension: str, usual: str = "") -> str:
    """Return a bare number as it should have been written; fractions are of an inch.

    >>> with_unit("3", "length"), with_unit("1/8", "length"), with_unit("3", "length", "m")
    ('3 mm', '1/8 in', '3 m')
    """
    unit = usual or DIMENSIONS[dimension].example.split(maxsplit=1)[-1]
    return f"{number.strip()} {'in' if dimension == 'length' and '/' in number else unit}"


def parse_size(value: object, name: str, where: str = "") -> tuple[float, float]:
    """Return a size such as ``"4x5 in"`` as two lengths [m].

    >>> [round(side, 4) for side in parse_size("4x5 in", "paper size")]
    [0.1016, 0.127]
    """
    form = 'write it like "4x5 in" or "40 x 30 cm"'
    if not isinstance(value, str):
        raise InputError(f"{name} {value!r} is not a size", where, form)
    _check_length(value, name, where)
    match = re.match(
        r"^\s*([\d.,/ ]+?)\s*([a-zA-Z\"]*)\s*[x×*]\s*([\d.,/ ]+?)\s*([a-zA-Z\"]+)\s*$", value
    )
    if match is None:
        raise InputError(f"{name} '{value}' is not a size", where, form)
    first, first_unit, second, unit = match.groups()
    return (
        parse_quantity(f"{first} {first_unit or unit}", "length", name, where=where),
        parse_quantity(f"{second} {unit}", "length", name, where=where),
    )


def plain_number(number: float) -> str:
    """Return a number in four figures or more, below ten million without an exponent.

    >>> plain_number(9e5), plain_number(12.3456), plain_number(4e-5), plain_number(1.3e8)
    ('900000', '12.35', '0.00004', '1.3e8')
    """
    if abs(number) >= 1e7:
        return f"{number:.4g}".replace("e+0", "e").replace("e+", "e")
    if abs(number) >= 1e4:
        return f"{number:.0f}"
    if 1e-12 <= abs(number) < 1e-4:
        return f"{number:.12f}".rstrip("0")
    return f"{number:.4g}"


def celsius(temp_k: float) -> float:
    """Return a temperature in °C."""
    return temp_k - KELVIN_AT_0_C
