"""What of a day's weather is possible but hard to believe: it is said, and nothing is changed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from drybox.arrays import Array, Flags
from drybox.inputs.event.place import Position
from drybox.inputs.weather.weather import DAY_S, Weather
from drybox.readable import Figure, MetricText, counted
from drybox.tables import load_table
from drybox.units import celsius

J2000_AT = 946728000.0
"""Noon of 1 January 2000, UTC. [s since the Unix epoch]"""

SOLAR_CONSTANT_W_M2 = 1361.0
UNLIKE, UNLIKE_W_M2 = 1.3, 50.0
"""Columns of sun differ by so much in hours of moving sun and broken cloud without being wrong:
factor and what is added (judgement). [-], [W/m²]"""

# column: (label, SI → shown, unit, its key, rows of the table for the least and the most)
_RARE: dict[str, tuple[str, Callable[[float], float], str, str, tuple[str, ...]]] = {
    "air_temp_k": ("Air", celsius, "°C", "temp_c", ("air_least", "air_most")),
    "humidity_frac": ("Humidity", lambda frac: 100 * frac, "%", "", ("humidity_least",)),
    "wind_10m_m_s": ("Wind", float, "m/s", "wind_m_s", ("wind_most",)),
}
# factor and power of the sine of the sun's height, and what is added
_SUN_MOST = {
    "ghi_w_m2": ("GHI", 1.5, 1.2, 100.0),
    "dni_w_m2": ("DNI", 0.95, 0.2, 10.0),
    "dhi_w_m2": ("DHI", 0.95, 1.2, 50.0),
}


def odd_weather(weather: Weather, place: Position, day_start_at: float) -> tuple[str, ...]:
    """Return sentences on what is hard to believe of a day."""
    day = (weather.end_at >= day_start_at) & (weather.start_at <= day_start_at + DAY_S)
    if not day.any():
        return ()
    unlike = _unlike_each_other(weather, place, day)
    return (*_rare(weather, day), *(unlike or _too_much_sun(weather, place, day)))


def _rare(weather: Weather, day: Flags) -> list[str]:
    limits, said = load_table("limits")["weather_told"], list[str]()
    for name, (label, shown, unit, ending, keys) in _RARE.items():
        values = getattr(weather, name)[day]
        if name in weather.usual or (name == "wind_10m_m_s" and weather.felt_wind_m_s is not None):
            continue
        for key in keys:
            limit, least = limits[key].value, key.endswith("_least")
            beyond = int(np.count_nonzero(values < limit if least else values > limit))
            if not beyond:
                continue
            worst, word = (np.fmin, "below") if least else (np.fmax, "above")
            rows = "" if values.size == 1 else f" in {counted(beyond, 'row')}"
            said.append(
                MetricText(
                    f"{label} of ",
                    _figure(ending, shown(float(worst.reduce(values))), unit),
                    f" is {word} ",
                    _figure(ending, shown(limit), unit),
                    f"{rows}: is that right, and is its unit?",
                )
            )
    return said


def _figure(ending: str, value: float, unit: str) -> str | Figure:
    """Return a value as part of a text; humidity is the same in all units."""
    text = f"{value:.3g} {unit}"
    return Figure(ending, value, text) if ending else text


def _too_much_sun(weather: Weather, place: Position, day: Flags) -> list[str]:
    """Return what is more than a sky can give at the sun's height.

    The physically possible limits of GHI and DHI and the extremely rare one of DNI of the Baseline
    Surface Radiation Network: Long, C. N. and Dutton, E. G. (2002), BSRN Global Network recommended
    QC tests, V2.0.
    """
    instants = (weather.start_at[day], weather.mid_at[day], weather.end_at[day])
    height = np.max([sine_of_sun(at, place) for at in instants], axis=0)
    said = []
    for name, (label, factor, power, added) in _SUN_MOST.items():
        column = getattr(weather, name)
        if column is None:
            continue
        lit = np.maximum(height, 0.0)
        most = SOLAR_CONSTANT_W_M2 * factor * lit**power + added
        over = column[day] > most
        if over.any():
            worst = int(np.argmax(np.where(over, column[day] - most, -np.inf)))
            low = ", at night" if height[worst] < 0.0 else ""
            said.append(
                f"{label}: {counted(int(over.sum()), 'row')} with more than any sky gives at the "
                f"sun's height then, such as {column[day][worst]:.0f} W/m²{low}: are its times in "
                "the zone taken?"
            )
    return said


def _unlike_each_other(weather: Weather, place: Position, day: Flags) -> list[str]:
    """Return which columns of sun contradict each other, whatever the clock.

    Diffuse over global, and global against beam and diffuse: the comparisons of the Baseline
    Surface Radiation Network (Long and Dutton 2002), wider since rows are hours and the sun moves.
    """
    ghi, dni, dhi = (
        None if column is None else column[day]
        for column in (weather.ghi_w_m2, weather.dni_w_m2, weather.dhi_w_m2)
    )
    said: list[str] = []
    if ghi is None:
        return said
    if dhi is not None:
        over = dhi > UNLIKE * ghi + UNLIKE_W_M2
        said += _contrast(
            over, ("DHI", dhi), ("GHI", ghi), what="more diffuse light than all light"
        )
    if dni is not None:
        instants = (weather.start_at[day], weather.mid_at[day], weather.end_at[day])
        least = np.maximum(np.min([sine_of_sun(at, place) for at in instants], axis=0), 0.0)
        brought = dni * least + (0.0 if dhi is None else dhi)
        short = brought > UNLIKE * ghi + UNLIKE_W_M2
        what = "less light on the level than beam and diffuse bring there"
        said += _contrast(short, ("GHI", ghi), ("DNI", dni), what=what)
    return said


def _contrast(
    rows: Flags, one: tuple[str, Array], other: tuple[str, Array], *, what: str
) -> list[str]:
    """Return the sentence on two columns that do not go together in some rows."""
    if not rows.any():
        return []
    worst = int(np.argmax(np.where(rows, np.abs(other[1] - one[1]), -np.inf)))
    return [
        f"{one[0]} and {other[0]}: {counted(int(rows.sum()), 'row')} with {what}, such as "
        f"{one[0]} {one[1][worst]:.0f} and {other[0]} {other[1][worst]:.0f} W/m²: one of these "
        "columns is not what its heading says."
    ]


def sine_of_sun(seen_at: Array, place: Position) -> Array:
    """Return the sine of the sun's height, within 0.01, for a look at a file's rows. [-]

    Low-precision formulas of the Astronomical Almanac (Michalsky 1988, Solar Energy 40, 227).

    >>> from types import SimpleNamespace
    >>> equator = SimpleNamespace(latitude_deg=0.0, longitude_deg=0.0)
    >>> sine_of_sun(np.array([1806321600.0]), equator).round(2).tolist()  # noon, March 2027
    [1.0]
    """
    days = (seen_at - J2000_AT) / DAY_S
    anomaly = np.radians(357.528 + 0.9856003 * days)
    longitude = np.radians(
        280.460 + 0.9856474 * days + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly)
    )
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(longitude), np.cos(longitude))
    declination = np.arcsin(np.sin(tilt) * np.sin(longitude))
    sidereal = np.radians(15.0 * (18.697374558 + 24.06570982441908 * days) + place.longitude_deg)
    latitude = np.radians(place.latitude_deg)
    hour_angle = sidereal - ascension
    sine: Array = np.sin(latitude) * np.sin(declination) + (
        np.cos(latitude) * np.cos(declination) * np.cos(hour_angle)
    )
    return sine
