"""The weather a day is worked out for: told in words, read from a forecast, or typical.

`event_weather` reads it for an event. What is said beside a file (``air_temp``, ``cloud`` and so
on) takes the place of the file's column.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event.place import Position
from drybox.inputs.weather.words import say
from drybox.tables import load_table

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
NOT_TOLD = (
    "The cloud was not told and is not guessed: what needs one sky takes a clear one, and times "
    "are given for a closed one as well."
)
SUN = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")


class Site(Position, Protocol):
    """What the weather needs to know of a place."""

    @property
    def timezone(self) -> str: ...  # noqa: D102


@dataclass(frozen=True, eq=False)
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
    issued_s : float or None
        When a forecast was made; None where the file does not say. [s since the Unix epoch]
    cloud_told : bool
        Whether cloud or sun was told; if not, ``cloud_frac`` is that of a clear sky and stands for
        nothing: answers are for a clear and for a closed sky.
    wind_told : bool
        Whether the wind was told for that day, by a person or a forecast.
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
    issued_s: float | None = None
    cloud_told: bool = True
    wind_told: bool = True

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
    values, missing = _fill_up(said, ("cloud_frac", "air_temp_k", "humidity_frac", "wind_10m_m_s"))
    told = missing.pop("cloud_frac", None) is None
    known = {name: value for name, value in values.items() if told or name != "cloud_frac"}
    assumed = f"assumed: {say(missing)}."
    start_s, end_s = np.array([day_start_s - DAY_S]), np.array([day_start_s + 3 * DAY_S])
    source = f"steady: {say(known)}"
    sentence = f"Not given, so {assumed}"
    if not said:
        source = f"none given; {assumed.rstrip('.')}"
        sentence = f"No weather was given; {assumed}"
    columns: dict[str, Any] = {name: np.array([values[name]]) for name in SERIES if name in values}
    return Weather(
        kind="steady" if said else "assumed",
        start_s=start_s,
        end_s=end_s,
        source=source,
        linke_turbidity=said.get("linke_turbidity"),
        assumptions=((sentence,) if missing else ()) + (() if told else (NOT_TOLD,)),
        cloud_told=told,
        wind_told="wind_10m_m_s" not in missing,
        **columns,
    )


def series_weather(
    kind: str,
    start_s: Array,
    end_s: Array,
    columns: Mapping[str, Array],
    said: Mapping[str, float],
    *,
    source: str,
    understood: tuple[str, ...] = (),
    doubts: tuple[str, ...] = (),
    issued_s: float | None = None,
) -> Weather:
    """Return a file's rows as weather; what was said beside the file replaces its columns.

    Parameters
    ----------
    kind : str
        ``forecast`` or ``typical_year``.
    start_s, end_s : array of float
        Interval of each row. [s since the Unix epoch]
    columns : mapping of str to array
        The columns the file has, named as in `SERIES`.
    said : mapping of str to float
        What the event says itself, as `read_said` returns it.
    source, understood, doubts, issued_s
        As in `Weather`; the doubts become sentences.

    Returns
    -------
    Weather
        With air temperature, humidity and wind assumed, and that said, where nobody gave
        them; cloud is assumed only where the file has no sun either.
    """
    kept: dict[str, Any] = dict(columns)
    notes = list(understood)
    given = {name: value for name, value in said.items() if name in SERIES}
    if "cloud_frac" in given:
        for name in SUN:
            if kept.pop(name, None) is not None:
                notes.append(f"{name} of the file is not used, because the cloud is given")
    if said:
        notes.append(f"given beside the file, and used instead of it: {say(said)}")
    needed = ["air_temp_k", "humidity_frac", "wind_10m_m_s"]
    if not any(name in kept for name in ("cloud_frac", *SUN)):
        needed.insert(0, "cloud_frac")
    there = {**dict.fromkeys(kept, 0.0), **given}
    _, missing = _fill_up(there, tuple(needed))
    told = "cloud_frac" not in missing
    guessed = {name: value for name, value in missing.items() if name != "cloud_frac"}
    assumptions = (f"The weather file does not say, so assumed: {say(guessed)}.",)
    ones = np.ones_like(start_s)
    kept.update({name: value * ones for name, value in {**given, **missing}.items()})
    return Weather(
        kind=kind,
        start_s=start_s,
        end_s=end_s,
        source=source,
        linke_turbidity=said.get("linke_turbidity"),
        understood=tuple(notes),
        doubts=tuple(f"{doubt[:1].upper()}{doubt[1:]}." for doubt in doubts),
        assumptions=(assumptions if guessed else ()) + (() if told else (NOT_TOLD,)),
        issued_s=issued_s,
        cloud_told=told,
        wind_told="wind_10m_m_s" in (given if kind == "typical_year" else there),
        **kept,
    )


def _fill_up(
    said: Mapping[str, float], needed: tuple[str, ...]
) -> tuple[dict[str, float], dict[str, float]]:
    """Return what was said filled up from the table of assumed weather, and what was missing."""
    assumed = load_table("skies")["assumed"]
    from_table = {
        "cloud_frac": assumed["cloud"].value / 8,
        "air_temp_k": assumed["air_temp"].value,
        "humidity_frac": assumed["humidity"].value,
        "wind_10m_m_s": assumed["wind"].value,
    }
    missing = {name: from_table[name] for name in needed if name not in said}
    return {**said, **missing}, missing
