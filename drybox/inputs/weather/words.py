"""What the ``[weather]`` table of an event says in words and numbers."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from functools import partial

from drybox.errors import InputError, did_you_mean, out_of_range
from drybox.inputs.text.near_names import plain_name
from drybox.readable import Figure, MetricText
from drybox.tables import TableValue, load_table
from drybox.units import KELVIN_AT_0_C, celsius, parse_quantity, plain_number

KEYS = (
    *("forecast", "file", "sky", "cloud", "haze", "air_temp", "humidity", "wind"),
    *("wind_at_plate", "gust", "pressure", "rain"),
)

MOST_AT_PLATE_M_S = 20.8
"""No wind felt at the plate is stronger than a strong gale, as none at 10 m that is believed is
(judgement; table ``limits``, ``weather_told``). [m/s]"""

HOTTEST_C, HOTTEST_F = 60.0, 130.0
"""Air is never hotter than the first in °C, nor than the second in °F (judgement)."""


def sky_words() -> dict[str, dict[str, TableValue]]:
    """Return the sky words and what each stands for.

    >>> {"clear", "partly cloudy", "fog", "overcast"} <= set(sky_words())
    True
    """
    return {word: rows for word, rows in load_table("skies").items() if word != "assumed"}


_BARE_OKTAS = re.compile(r"^\s*([\d.,]+)\s*(/\s*8\s*)?(oktas?\s*)?$")
_SAYINGS: dict[str, Callable[[float], str | Figure]] = {
    "cloud_frac": lambda value: (
        f"{value * 8:.3g} okta{'s' if value != 0.125 else ''} of cloud" if value else "a clear sky"
    ),
    "linke_turbidity": lambda value: f"Linke turbidity {value:.3g}",
    "air_temp_k": lambda value: Figure("temp_c", celsius(value), f"{celsius(value):.3g} °C"),
    "humidity_frac": lambda value: f"{value * 100:.3g} % RH",
    "felt_wind_m_s": lambda value: MetricText(
        "wind ", Figure("wind_m_s", value, f"{value:.3g} m/s"), " at the plate"
    ),
    "wind_10m_m_s": lambda value: MetricText(
        "wind ", Figure("wind_m_s", value, f"{value:.3g} m/s"), " at 10 m"
    ),
    "gust_10m_m_s": lambda value: MetricText(
        "gusts of ", Figure("wind_m_s", value, f"{value:.3g} m/s")
    ),
    "pressure_pa": lambda value: f"{value / 100:.4g} hPa",
    "rain_kg_m2_s": lambda value: f"{value * 3600:.3g} mm/h of rain" if value else "no rain",
    "rain_frac": lambda value: f"{value * 100:.3g} % chance of rain",
}


def say(values: Mapping[str, float]) -> MetricText:
    """Return weather values in words for people; of a wind felt at the plate that one alone.

    >>> say({"wind_10m_m_s": 2.0, "cloud_frac": 0.0})
    'a clear sky, wind 2 m/s at 10 m'
    >>> say({"wind_10m_m_s": 6.2, "felt_wind_m_s": 0.8})
    'wind 0.8 m/s at the plate'
    """
    said: list[str | Figure] = []
    for name, words in _SAYINGS.items():
        if name == "wind_10m_m_s" and "felt_wind_m_s" in values:
            continue
        if name in values:
            said += [", ", words(values[name])] if said else [words(values[name])]
    return MetricText(*said)


def check_keys(table: Mapping[str, object]) -> None:
    """Refuse a key that is not known, and two keys that say the same."""
    for key in table:
        if key not in KEYS:
            mend = did_you_mean(str(key), KEYS, "use one of: " + ", ".join(KEYS))
            raise InputError(f"key '{key}' is not known", f"weather.{key}", mend)
    for one, other in (("forecast", "file"), ("sky", "cloud"), ("wind", "wind_at_plate")):
        if one in table and other in table:
            raise InputError(f"both {one} and {other} are given", f"weather.{one}", "keep one")


def _ranged(value: float, name: str, limits: tuple[float, float, str], *, where: str) -> float:
    low, high, unit = limits
    if not low <= value <= high:
        ends = f"{low:g}", f"{high:g} {unit}".strip()
        raise out_of_range(name, plain_number(value), ends, where=where)
    return value


def _read_air_temp(value: object, where: str) -> float:
    """Return an air temperature that can be, or ask whether it is in °F. [K]"""
    temp_c = celsius(parse_quantity(value, "temperature", "air temperature", where=where))
    if HOTTEST_C < temp_c <= HOTTEST_F:
        shown = plain_number(temp_c)
        raise InputError(
            f"air temperature {shown} is outside -60 to {HOTTEST_C:g} °C",
            where,
            f'is it in °F? write it like "{shown} °F"',
        )
    return KELVIN_AT_0_C + _ranged(temp_c, "air temperature", (-60, HOTTEST_C, "°C"), where=where)


def _read_speed(value: object, where: str, name: str, *, most_m_s: float) -> float:
    speed_m_s = parse_quantity(value, "speed", name, where=where)
    return _ranged(speed_m_s, name, (0, most_m_s, "m/s"), where=where)


def bare_number(value: object) -> float | None:
    """Return a number that stands without a unit, or None."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return None
    try:
        return float(str(value).strip().replace(",", "."))
    except ValueError:
        return None


def _share(value: object, name: str, where: str) -> float:
    """Return a share of 0 to 100 % that is written with its unit. [-]"""
    frac = parse_quantity(value, "fraction", name, where=where)
    return _ranged(frac * 100, name, (0, 100, "%"), where=where) / 100


def _read_humidity(value: object, where: str) -> float:
    """Return relative humidity; a bare number up to 1 is a share, over it per cent. [-]"""
    bare = bare_number(value)
    if bare is None or not math.isfinite(bare):
        return _share(value, "humidity", where)
    percent = 100 * (bare if bare <= 1.0 else bare / 100.0)
    return _ranged(percent, "humidity", (0, 100, "%"), where=where) / 100


def _read_pressure(value: object, where: str) -> float:
    hpa = parse_quantity(value, "pressure", "pressure", where=where) / 100
    return _ranged(hpa, "pressure", (300, 1100, "hPa"), where=where) * 100


def read_said(table: Mapping[str, object], plate_wind_frac: float = 1.0) -> dict[str, float]:
    """Return what the table says in numbers and words, in SI.

    ``plate_wind_frac`` is the share of the wind at 10 m that reaches the plate: ``wind_at_plate``
    over it is returned, beside what was felt.

    >>> read_said({"sky": "overcast", "air_temp": "68 °F"})
    {'cloud_frac': 1.0, 'air_temp_k': 293.15}
    """
    said = _read_sky(table["sky"], "weather.sky") if "sky" in table else {}
    for key, name, read in _READERS:
        if key in table:
            said[name] = read(table[key], f"weather.{key}")
    if "felt_wind_m_s" in said:
        said["wind_10m_m_s"] = said["felt_wind_m_s"] / plate_wind_frac
    if "rain" in table:
        said.pop("rain_frac", None)
        said |= _read_rain(table["rain"], "weather.rain")
    return said


def _read_rain(value: object, where: str) -> dict[str, float]:
    """Return rain all day: ``yes``, ``no``, a chance, or an amount an hour."""
    word = str(value).strip().lower()
    if word in ("no", "none", "false", "dry"):
        return {"rain_kg_m2_s": 0.0}
    if word in ("yes", "true", "rain"):
        return {"rain_frac": 1.0}
    if isinstance(value, str) and "%" in value:
        return {"rain_frac": _share(value, "chance of rain", where)}
    amount = re.sub(r"\s*(/|per)\s*(h|hr|hour)$", "", value) if isinstance(value, str) else value
    try:
        mm = parse_quantity(amount, "length", "rain", where=where) * 1e3
    except InputError as error:
        raise InputError(error.what, where, 'write it like "40 %", "0.5 mm/h" or "no"') from None
    return {"rain_kg_m2_s": _ranged(mm, "rain", (0, 360, "mm/h"), where=where) / 3600}


def plain_sky(words: str) -> str:
    """Return sky words as they are compared: small, singular, without ``sky`` at the end.

    >>> plain_sky("Thin-Clouds"), plain_sky("clear sky")
    ('thin cloud', 'clear')
    """
    return plain_name(words).removesuffix(" sky").rstrip("s")


def _find_word(value: object, words: Mapping[str, object], name: str, *, where: str) -> str:
    if isinstance(value, str):
        plain = {plain_sky(word): word for word in words}
        if plain_sky(value) in plain:
            return plain[plain_sky(value)]
    raise InputError(
        f"{name} '{value!s:.60}' is not known", where, "choose one of: " + ", ".join(words)
    )


def _read_sky(value: object, where: str) -> dict[str, float]:
    words = sky_words()
    rows = words[_find_word(value, words, "sky", where=where)]
    columns = {"linke_turbidity": "linke_turbidity", "rain_chance": "rain_frac"}
    told = {name: rows[column].value for column, name in columns.items() if column in rows}
    return {"cloud_frac": rows["cloud"].value / 8, **told}


def _read_cloud(value: object, where: str) -> float:
    """Return the share of sky under cloud; a bare number, or one over 8, is oktas."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        value = f"{value} oktas"
    elif isinstance(value, str) and (bare := _BARE_OKTAS.match(value)):
        value = f"{bare[1]} oktas"
    if isinstance(value, str) and "%" in value:
        return _share(value, "cloud", where)
    oktas = parse_quantity(value, "oktas", "cloud", where=where)
    return _ranged(oktas, "cloud", (0, 8, "oktas"), where=where) / 8


def _read_haze(value: object, where: str) -> float:
    if isinstance(value, str) and not any(letter.isdigit() for letter in value):
        words = {word: rows for word, rows in sky_words().items() if "linke_turbidity" in rows}
        return words[_find_word(value, words, "haze", where=where)]["linke_turbidity"].value
    turbidity = parse_quantity(value, "number", "haze", where=where)
    return _ranged(turbidity, "haze (Linke turbidity)", (1, 12, ""), where=where)


_READERS: tuple[tuple[str, str, Callable[[object, str], float]], ...] = (
    ("cloud", "cloud_frac", _read_cloud),
    ("haze", "linke_turbidity", _read_haze),
    ("humidity", "humidity_frac", _read_humidity),
    ("air_temp", "air_temp_k", _read_air_temp),
    ("wind", "wind_10m_m_s", partial(_read_speed, name="wind", most_m_s=60.0)),
    (
        *("wind_at_plate", "felt_wind_m_s"),
        partial(_read_speed, name="wind at the plate", most_m_s=MOST_AT_PLATE_M_S),
    ),
    ("gust", "gust_10m_m_s", partial(_read_speed, name="gust", most_m_s=90.0)),
    ("pressure", "pressure_pa", _read_pressure),
)
"""Key of the table, what it tells, and how it is read."""
