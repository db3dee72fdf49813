"""The weather a day is worked out for: told in words, read from a forecast, or typical.

`event_weather` reads it for an event. What is said beside a file (``air_temp``, ``cloud`` and so
on) takes the place of the file's column.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.place import Position
from drybox.inputs.weather.usual_air import Usual, stand_in
from drybox.inputs.weather.words import say
from drybox.readable import MetricText

DAY_S = 86400.0
SERIES = (
    *("air_temp_k", "humidity_frac", "wind_10m_m_s", "pressure_pa", "cloud_frac", "ghi_w_m2"),
    *("dni_w_m2", "dhi_w_m2", "rain_kg_m2_s", "rain_frac", "gust_10m_m_s"),
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

    ``kind`` is ``assumed``, ``steady``, ``forecast`` or ``typical_year``. ``start_at`` and
    ``end_at`` are in seconds since the Unix epoch, equal where a row is an instant; steady weather
    is one row. NaN in a column is a gap; the columns that may be None are then not known, which for
    rain is not 0. ``wind_10m_m_s`` is the wind 10 m above open ground, ``gust_10m_m_s`` its gusts;
    ``ghi_w_m2``, ``dni_w_m2`` and ``dhi_w_m2`` are irradiance on the level, of the beam, and
    diffuse; rain (1 kg/m² is 1 mm) and its chance are of instants over the time to the next row.
    Without ``linke_turbidity``, the haze, it is that of cloudless hours. ``understood`` tells which
    column became what, in which unit and zone, ``doubts`` what was masked, mended, missing or far
    away, ``assumptions`` what was not said. ``issued_at`` is when a forecast was made. Without
    ``cloud_told`` the cloud is that of a clear sky and stands for nothing: answers are for a clear
    and for a closed sky. ``usual`` are the columns that nobody told and that are what is usual at
    the place; ``wind_told`` says whether the wind was told for that day, ``felt_wind_m_s`` is what
    was felt at the plate, where that is what was told.
    """

    kind: str
    start_at: Array
    end_at: Array
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
    felt_wind_m_s: float | None = None
    understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    issued_at: float | None = None
    cloud_told: bool = True
    usual: tuple[str, ...] = ()
    wind_told: bool = True
    rain_kg_m2_s: Array | None = None
    rain_frac: Array | None = None
    gust_10m_m_s: Array | None = None

    def __post_init__(self) -> None:
        """Check that the rows are in order and all columns are as long as the times."""
        rows = self.start_at.shape
        for name in ("end_at", *SERIES):
            column = getattr(self, name)
            if column is not None and column.shape != rows:
                raise ValueError(f"{name} has shape {column.shape}, the times {rows}")
        if self.start_at.size == 0 or np.any(np.diff(self.start_at) <= 0):
            raise ValueError("weather rows are missing or not in order")

    @property
    def mid_at(self) -> Array:
        """Return the middle of each row's interval [s]."""
        return (self.start_at + self.end_at) / 2

    def mean_air_temp_k(self, begin_at: float, end_at: float) -> float:
        """Return the mean air temperature between two times; gaps are bridged. [K]"""
        known = np.isfinite(self.air_temp_k)
        times = np.linspace(begin_at, end_at, 49)
        return float(np.interp(times, self.mid_at[known], self.air_temp_k[known]).mean())


def steady_weather(
    said: Mapping[str, float], day_start_at: float, usual: Usual | None = None
) -> Weather:
    """Return weather that does not change, as one row over the day and its neighbours.

    What is missing in ``said`` is what is usual at the place, or without it at no place in
    particular. Of kind ``assumed`` where nothing was said.

    >>> weather = steady_weather({"cloud_frac": 0.375}, 0.0)
    >>> weather.kind, float(weather.cloud_frac[0]), weather.usual
    ('steady', 0.375, ('air_temp_k', 'humidity_frac', 'wind_10m_m_s'))
    """
    usual = usual or stand_in()
    missing = {name: value for name, value in usual.values.items() if name not in said}
    told = "cloud_frac" in said
    values = {"cloud_frac": 0.0, **said, **missing}
    taken = MetricText(f"{usual.words}: ", say(missing))
    source = MetricText("steady: ", say(said), *(("; ", taken) if missing else ()))
    sentence = MetricText("Air, humidity or wind were not told, so ", taken, ".")
    if not said:
        source = MetricText("none given; ", taken)
        sentence = MetricText("No weather was given; ", taken, ".")
    columns: dict[str, Any] = {name: np.array([values[name]]) for name in SERIES if name in values}
    return Weather(
        kind="steady" if said else "assumed",
        start_at=np.array([day_start_at - DAY_S]),
        end_at=np.array([day_start_at + 3 * DAY_S]),
        source=source,
        linke_turbidity=said.get("linke_turbidity"),
        felt_wind_m_s=said.get("felt_wind_m_s"),
        assumptions=((sentence,) if missing else ()) + (() if told else (NOT_TOLD,)),
        cloud_told=told,
        usual=tuple(missing),
        wind_told="wind_10m_m_s" not in missing,
        **columns,
    )


def series_weather(
    kind: str,
    start_at: Array,
    end_at: Array,
    *,
    columns: Mapping[str, Array],
    said: Mapping[str, float],
    source: str,
    understood: tuple[str, ...] = (),
    doubts: tuple[str, ...] = (),
    issued_at: float | None = None,
    usual: Usual | None = None,
) -> Weather:
    """Return a file's rows as weather; what was said beside the file replaces its columns.

    Where nobody gave air temperature, humidity and wind, the usual stand in; a clear sky stands in
    for cloud where the file has no sun either. The doubts become sentences.
    """
    kept: dict[str, Any] = dict(columns)
    notes = list(understood)
    given = {name: value for name, value in said.items() if name in SERIES}
    if "cloud_frac" in given:
        for name in SUN:
            if kept.pop(name, None) is not None:
                notes.append(f"{name} of the file is not used, because the cloud is given")
    if said:
        notes.append(MetricText("given beside the file, and used instead of it: ", say(said)))
    usual = usual or stand_in()
    missing = {name: value for name, value in usual.values.items() if name not in {*kept, *given}}
    told = not {*kept, *given}.isdisjoint({"cloud_frac", *SUN})
    clear = {} if told else {"cloud_frac": 0.0}
    why = f"The weather file does not say, so {usual.words}: "
    assumptions = (MetricText(why, say(missing), "."),)
    ones = np.ones_like(start_at)
    kept |= {name: value * ones for name, value in (given | missing | clear).items()}
    return Weather(
        kind=kind,
        start_at=start_at,
        end_at=end_at,
        source=source,
        linke_turbidity=said.get("linke_turbidity"),
        felt_wind_m_s=said.get("felt_wind_m_s"),
        understood=tuple(notes),
        doubts=tuple(f"{doubt[:1].upper()}{doubt[1:]}." for doubt in doubts),
        assumptions=(assumptions if missing else ()) + (() if told else (NOT_TOLD,)),
        issued_at=issued_at,
        cloud_told=told,
        usual=tuple(missing),
        wind_told="wind_10m_m_s" in given
        or (kind != "typical_year" and "wind_10m_m_s" not in missing),
        **kept,
    )
