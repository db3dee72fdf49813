"""The weather a day is worked out for: told in words, read from a forecast, or typical.

`load_weather` reads the ``[weather]`` table of an event. A file is known by what stands in
it, not by its key or ending. What is said beside the file (``air_temp``, ``cloud`` and so on)
takes the place of the file's column.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from drybox.errors import InputError, out_of_range
from drybox.tables import TableValue, load_table
from drybox.units import celsius, parse_quantity

Array = NDArray[np.float64]
DAY_S = 86400.0
WIND_HEIGHT_M = 10.0
SERIES = (
    "air_temp_k",
    "humidity_frac",
    "wind_10m_m_s",
    "pressure_pa",
    "cloud_frac",
    "ghi_w_m2",
    "dni_w_m2",
    "dhi_w_m2",
)
KEYS = (
    "sky",
    "cloud",
    "haze",
    "air_temp",
    "humidity",
    "wind",
    "pressure",
)
ASSUMED_SENTENCE = (
    "No weather was given: a clear sky, 20 °C, 50 % relative humidity and 2 m/s of wind at 10 m "
    "are assumed."
)


class Site(Protocol):
    """What the weather needs to know of a place."""

    @property
    def latitude_deg(self) -> float: ...  # noqa: D102
    @property
    def longitude_deg(self) -> float: ...  # noqa: D102
    @property
    def elevation_m(self) -> float: ...  # noqa: D102
    @property
    def timezone(self) -> str: ...  # noqa: D102


@dataclass(frozen=True)
class Weather:
    """Weather as rows in time order, each over an interval.

    Parameters
    ----------
    kind : str
        ``assumed``, ``steady``, ``forecast`` or ``typical_year``.
    start_s, end_s : array of float
        Interval of each row in seconds since the Unix epoch; equal where the row is an
        instant. Steady weather is one row. [s]
    air_temp_k, humidity_frac, wind_10m_m_s : array of float
        Air temperature [K], relative humidity [-] and wind at `wind_height_m` [m/s];
        NaN is a gap.
    source : str
        Where it comes from, in one line for people.
    pressure_pa, cloud_frac, ghi_w_m2, dni_w_m2, dhi_w_m2 : array of float or None
        Station pressure [Pa], share of the sky under cloud [-], irradiance on the level,
        of the beam, and diffuse [W/m2]. None where not known; NaN is a gap.
    linke_turbidity : float or None
        Haze; None leaves it to the climatology. [-]
    understood : tuple of str
        Which column became what, in which unit and time zone.
    doubts : tuple of str
        What was masked, mended, missing or far away, with counts.
    assumptions : tuple of str
        What was not said and so was assumed.
    wind_height_m : float
        Height of the wind above open ground. [m]
    """

    kind: str
    start_s: Array
    end_s: Array
    air_temp_k: Array
    humidity_frac: Array
    wind_10m_m_s: Array
    source: str
    pressure_pa: Array | None = None
    cloud_frac: Array | None = None
    ghi_w_m2: Array | None = None
    dni_w_m2: Array | None = None
    dhi_w_m2: Array | None = None
    linke_turbidity: float | None = None
    understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    wind_height_m: float = WIND_HEIGHT_M

    def __post_init__(self) -> None:
        """Check that the rows are in order and all columns are as long as the times."""
        rows = self.start_s.shape
        for name in ("end_s", *SERIES):
            column = getattr(self, name)
            if column is not None and column.shape != rows:
                raise ValueError(f"{name} has shape {column.shape}, the times {rows}")
        if self.start_s.size == 0 or np.any(np.diff(self.start_s) <= 0):
            raise ValueError("weather rows are missing or not in order")

    @property
    def mid_s(self) -> Array:
        """Return the middle of each row's interval [s]."""
        return (self.start_s + self.end_s) / 2


def sky_words() -> dict[str, dict[str, TableValue]]:
    """Return the sky words and what each stands for.

    Examples
    --------
    >>> sorted(sky_words())  # doctest: +NORMALIZE_WHITESPACE
    ['broken cloud', 'clean', 'clear', 'hazy', 'overcast', 'thin cloud', 'very hazy']
    """
    return {word: rows for word, rows in load_table("skies").items() if word != "assumed"}


def load_weather(
    table: Mapping[str, object] | None,
    base_dir: str | Path,
    place: Site,
    day_start_s: float,
    where: str = "",
) -> Weather:
    """Return the weather of the day that starts at `day_start_s`.

    Parameters
    ----------
    table : mapping or None
        The ``[weather]`` table; any of `KEYS`. None or empty assumes the weather and says so.
    base_dir : str or Path
        Folder that file names in the table are relative to.
    place : Site
        Its time zone dates the rows; its coordinates are compared with the file's.
    day_start_s : float
        Local midnight that opens the day. [s since the Unix epoch]
    where : str
        Name of the event file, for error texts.

    Returns
    -------
    Weather
        Steady weather as one row over the day and its neighbours, else the file's rows.

    Raises
    ------
    InputError
        If a key, word, unit, number or the file's content cannot be used.
    StoreError
        If the file cannot be opened.
    """
    table = dict(table or {})
    _check_keys(table, where)
    said = _read_said(table, where)
    return steady_weather(said, day_start_s)


def steady_weather(said: Mapping[str, float], day_start_s: float) -> Weather:
    """Return weather that does not change, as one row over the day and its neighbours.

    Parameters
    ----------
    said : mapping
        Any of ``air_temp_k``, ``humidity_frac``, ``wind_10m_m_s``, ``pressure_pa``,
        ``cloud_frac`` and ``linke_turbidity``. What is missing is assumed and said.
    day_start_s : float
        Local midnight that opens the day. [s since the Unix epoch]

    Returns
    -------
    Weather
        Kind ``steady``, or ``assumed`` where nothing was said.

    Examples
    --------
    >>> weather = steady_weather({"cloud_frac": 0.375}, 0.0)
    >>> weather.kind, float(weather.cloud_frac[0]), weather.assumptions
    ('steady', 0.375, ('Not given, so assumed: 20 °C, 50 % RH, wind 2 m/s at 10 m.',))
    """
    values, missing = _with_assumed(said, ("air_temp_k", "humidity_frac", "wind_10m_m_s"))
    if said:
        source = f"steady weather: {_say(values)}"
        assumptions = (f"Not given, so assumed: {_say(missing)}.",) if missing else ()
    else:
        source, assumptions = ASSUMED_SENTENCE, (ASSUMED_SENTENCE,)
    pressure_pa = said.get("pressure_pa")
    return Weather(
        kind="steady" if said else "assumed",
        start_s=np.array([day_start_s - DAY_S]),
        end_s=np.array([day_start_s + 3 * DAY_S]),
        air_temp_k=np.array([values["air_temp_k"]]),
        humidity_frac=np.array([values["humidity_frac"]]),
        wind_10m_m_s=np.array([values["wind_10m_m_s"]]),
        pressure_pa=None if pressure_pa is None else np.array([pressure_pa]),
        cloud_frac=np.array([values.get("cloud_frac", 0.0)]),
        linke_turbidity=said.get("linke_turbidity"),
        source=source,
        assumptions=assumptions,
    )


def _with_assumed(
    said: Mapping[str, float], needed: tuple[str, ...]
) -> tuple[dict[str, float], dict[str, float]]:
    """Return what was said filled up from the table, and the part filled in."""
    assumed = load_table("skies")["assumed"]
    from_table = {
        "air_temp_k": assumed["air_temp"].value,
        "humidity_frac": assumed["humidity"].value,
        "wind_10m_m_s": assumed["wind"].value,
    }
    missing = {name: from_table[name] for name in needed if name not in said}
    return {**said, **missing}, missing


_SAYINGS: dict[str, Callable[[float], str]] = {
    "cloud_frac": lambda value: f"{value * 8:.3g} oktas of cloud",
    "linke_turbidity": lambda value: f"Linke turbidity {value:.3g}",
    "air_temp_k": lambda value: f"{celsius(value):.3g} °C",
    "humidity_frac": lambda value: f"{value * 100:.3g} % RH",
    "wind_10m_m_s": lambda value: f"wind {value:.3g} m/s at 10 m",
    "pressure_pa": lambda value: f"{value / 100:.4g} hPa",
}


def _say(values: Mapping[str, float]) -> str:
    return ", ".join(say(values[name]) for name, say in _SAYINGS.items() if name in values)


def _at(key: str, where: str) -> str:
    return f"weather.{key} in {where}" if where else f"weather.{key}"


def _check_keys(table: Mapping[str, object], where: str) -> None:
    for key in table:
        if key not in KEYS:
            near = difflib.get_close_matches(str(key), KEYS, n=1)
            mend = f"did you mean '{near[0]}'?" if near else "use one of: " + ", ".join(KEYS)
            raise InputError(f"key '{key}' is not known", _at(str(key), where), mend)
    for one, other in (("sky", "cloud"),):
        if one in table and other in table:
            raise InputError(f"both {one} and {other} are given", _at(one, where), "keep one")


def _ranged(value: float, name: str, low: float, high: float, unit: str, where: str) -> float:
    if not low <= value <= high:
        raise out_of_range(name, f"{value:.4g}", f"{low:g}", f"{high:g} {unit}".strip(), where)
    return value


def _read_said(table: Mapping[str, object], where: str) -> dict[str, float]:
    """Return what the table says in numbers and words, in SI."""
    said: dict[str, float] = {}
    if "sky" in table:
        said.update(_read_sky(table["sky"], _at("sky", where)))
    if "cloud" in table:
        said["cloud_frac"] = _read_cloud(table["cloud"], _at("cloud", where))
    if "haze" in table:
        said["linke_turbidity"] = _read_haze(table["haze"], _at("haze", where))
    if "air_temp" in table:
        at = _at("air_temp", where)
        temp_k = parse_quantity(table["air_temp"], "temperature", "air temperature", at)
        said["air_temp_k"] = 273.15 + _ranged(celsius(temp_k), "air temperature", -60, 60, "°C", at)
    if "humidity" in table:
        at = _at("humidity", where)
        frac = parse_quantity(table["humidity"], "fraction", "humidity", at)
        said["humidity_frac"] = _ranged(frac * 100, "humidity", 0, 100, "%", at) / 100
    if "wind" in table:
        at = _at("wind", where)
        speed = parse_quantity(table["wind"], "speed", "wind", at)
        said["wind_10m_m_s"] = _ranged(speed, "wind", 0, 60, "m/s", at)
    if "pressure" in table:
        at = _at("pressure", where)
        pressure_pa = parse_quantity(table["pressure"], "pressure", "pressure", at)
        said["pressure_pa"] = _ranged(pressure_pa / 100, "pressure", 300, 1100, "hPa", at) * 100
    return said


def _word(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").split()).removesuffix(" sky").rstrip("s")


def _find_word(value: object, words: Mapping[str, Any], name: str, where: str) -> str:
    if isinstance(value, str):
        plain = {_word(word): word for word in words}
        if _word(value) in plain:
            return plain[_word(value)]
    raise InputError(f"{name} '{value}' is not known", where, "choose one of: " + ", ".join(words))


def _read_sky(value: object, where: str) -> dict[str, float]:
    words = sky_words()
    rows = words[_find_word(value, words, "sky", where)]
    said = {"cloud_frac": rows["cloud"].value / 8}
    if "linke_turbidity" in rows:
        said["linke_turbidity"] = rows["linke_turbidity"].value
    return said


def _read_cloud(value: object, where: str) -> float:
    """Return the share of sky under cloud; a bare number is oktas."""
    bare = isinstance(value, int | float) or (
        isinstance(value, str) and value.strip().replace(".", "", 1).isdigit()
    )
    if bare and not isinstance(value, bool):
        value = f"{value} oktas"
    if isinstance(value, str) and "%" in value:
        frac = parse_quantity(value, "fraction", "cloud", where)
        return _ranged(frac * 100, "cloud", 0, 100, "%", where) / 100
    oktas = parse_quantity(value, "oktas", "cloud", where)
    return _ranged(oktas, "cloud", 0, 8, "oktas", where) / 8


def _read_haze(value: object, where: str) -> float:
    if isinstance(value, str) and not any(letter.isdigit() for letter in value):
        words = {word: rows for word, rows in sky_words().items() if "linke_turbidity" in rows}
        return words[_find_word(value, words, "haze", where)]["linke_turbidity"].value
    turbidity = parse_quantity(value, "number", "haze", where)
    return _ranged(turbidity, "haze (Linke turbidity)", 1, 12, "", where)
