"""The air, humidity and wind that are usual at a place and time of year, where none is told."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import NamedTuple

from drybox.inputs.event.place import Position
from drybox.tables import load_table
from drybox.units import KELVIN_AT_0_C

GRID_DEG = 10.0
SOUTHMOST_DEG, NORTHMOST_DEG = -60.0, 80.0
LAPSE_K_M = 0.005
TOWN_K = 0.6
TROPICS_DEG = 25.0
DAY_RISE = 0.36
"""The mean of 10 to 17 h over that of the day, as a share of the day's range. [-]"""


@dataclass(frozen=True)
class UsualAir:
    """What is usual at a place and time of year.

    ``mean_temp_k``, ``daily_range_k`` and ``dew_point_k`` are of the whole day; ``day_temp_k``,
    ``day_humidity_frac`` and ``day_wind_m_s`` (at 10 m over open ground) of its hours from 10 to
    17.
    """

    mean_temp_k: float
    daily_range_k: float
    dew_point_k: float
    day_temp_k: float
    day_humidity_frac: float
    day_wind_m_s: float


def usual_air(place: Position, year_frac: float) -> UsualAir:
    """Return the usual air of a place at a time of year, given as the part of it gone by. [-]

    Beyond 60° S and 80° N the place is taken to lie at those latitudes.

    Notes
    -----
    With t0, tc, ts and rh of the table ``climate`` between its nodes (bilinear), φ the latitude,
    z the elevation, p = 2π times the part of the year, A = √(tc² + ts²) and
    e(T) = 6.112 hPa exp(17.62 T/(243.12 °C + T))::

        Ta = t0 - 0.005 K/m z + 0.6 K,   T = Ta + tc cos p + ts sin p
        RH = 0.72 + 0.5 (rh - 0.73) - 0.006 (T - Ta) clip((|φ| - 25°)/15°, 0, 1), 0.3 to 0.92
        R  = 3.5 + 0.39 e(T) (1 - RH) + 0.30 A + 0.002 z,                 3.5 to 17 K
        dew point = mean of that of RH e(T) and T - R/2 - 1 K
        10 to 17 h: air T + 0.36 R, humidity e(dew point)/e(air)
        wind 2.8 m/s within 25° of the equator, else 4.0 m/s

    Range: towns, latitudes -60° to 80°. Worst by the sea with a cold current (too warm by 4 K and
    more), in mountains and in the dry season of a monsoon (dew point off by 6 K).

    References
    ----------
    Recommendations ITU-R P.1510 (monthly temperature at 2 m) and P.836 (water vapour), fitted at
    34 000 towns; range, humidity and wind fitted to 51 typical-year files of hours, over half of
    them European. FAO Irrigation and Drainage Paper 56: the dew point lies near the night's
    lowest temperature (from memory).

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> here = SimpleNamespace(latitude_deg=51.45, longitude_deg=-2.60, elevation_m=50.0)
    >>> july = usual_air(here, 6.5 / 12)
    >>> round(july.day_temp_k - 273.15, 1), round(july.day_humidity_frac, 2), july.day_wind_m_s
    (19.1, 0.63, 4.0)
    """
    latitude_deg, elevation_m = place.latitude_deg, place.elevation_m
    t0_c, tc, ts, rh = _between(latitude_deg, place.longitude_deg)
    year_c = t0_c - LAPSE_K_M * elevation_m + TOWN_K
    phase = 2.0 * math.pi * year_frac
    mean_c = year_c + tc * math.cos(phase) + ts * math.sin(phase)
    far = min(max((abs(latitude_deg) - TROPICS_DEG) / 15.0, 0.0), 1.0)
    humidity = 0.72 + 0.5 * (rh - 0.73) - 0.006 * (mean_c - year_c) * far
    humidity = min(max(humidity, 0.3), 0.92)
    swing = math.hypot(tc, ts)
    range_k = 3.5 + 0.39 * _saturation_hpa(mean_c) * (1.0 - humidity)
    range_k = min(max(range_k + 0.30 * swing + 0.002 * elevation_m, 3.5), 17.0)
    moist_c = _dew_point_c(humidity * _saturation_hpa(mean_c))
    dew_c = 0.5 * (moist_c + mean_c - 0.5 * range_k - 1.0)
    day_c = mean_c + DAY_RISE * range_k
    row = "tropics" if abs(latitude_deg) <= TROPICS_DEG else "beyond the tropics"
    return UsualAir(
        mean_temp_k=mean_c + KELVIN_AT_0_C,
        daily_range_k=range_k,
        dew_point_k=dew_c + KELVIN_AT_0_C,
        day_temp_k=day_c + KELVIN_AT_0_C,
        day_humidity_frac=min(_saturation_hpa(dew_c) / _saturation_hpa(day_c), 1.0),
        day_wind_m_s=load_table("climate", (row,))[row]["wind"].value,
    )


class Usual(NamedTuple):
    """What stands in for air, humidity and wind that nobody told: columns of the weather."""

    values: dict[str, float]
    words: str


def usual_values(place: Position, day: datetime.date) -> Usual:
    """Return the usual air of a place between 10 and 17 h of a day, as columns of the weather."""
    year_frac = (day.timetuple().tm_yday - 0.5) / 365.0
    found = usual_air(place, year_frac)
    values = {
        "air_temp_k": found.day_temp_k,
        "humidity_frac": found.day_humidity_frac,
        "wind_10m_m_s": found.day_wind_m_s,
    }
    return Usual(values, f"usual for this place in {day:%B}")


def stand_in() -> Usual:
    """Return what stands in for air, humidity and wind where there is no place either."""
    assumed = load_table("skies")["assumed"]
    columns = {"air_temp_k": "air_temp", "humidity_frac": "humidity", "wind_10m_m_s": "wind"}
    values = {name: assumed[row].value for name, row in columns.items()}
    return Usual(values, "assumed, for no place is known")


def _between(latitude_deg: float, longitude_deg: float) -> tuple[float, float, float, float]:
    """Return t0 [°C], tc, ts [K] and rh [-] of the table ``climate`` at a place."""
    north = min(max(latitude_deg, SOUTHMOST_DEG), NORTHMOST_DEG)
    south = min(math.floor(north / GRID_DEG) * GRID_DEG, NORTHMOST_DEG - GRID_DEG)
    west = math.floor(longitude_deg / GRID_DEG) * GRID_DEG
    up, right = (north - south) / GRID_DEG, (longitude_deg - west) / GRID_DEG
    corners = {
        f"{latitude:.0f} {_node(longitude)}": along * across
        for latitude, along in ((south, 1.0 - up), (south + GRID_DEG, up))
        for longitude, across in ((west, 1.0 - right), (west + GRID_DEG, right))
    }
    nodes = load_table("climate", tuple(corners))
    t0_k, tc, ts, rh = (
        sum(weight * nodes[node][name].value for node, weight in corners.items())
        for name in ("t0", "tc", "ts", "rh")
    )
    return t0_k - KELVIN_AT_0_C, tc, ts, rh


def _node(longitude_deg: float) -> str:
    """Return the grid's name of a longitude, from -170 to 180."""
    return f"{180.0 - (180.0 - longitude_deg) % 360.0:.0f}"


def _saturation_hpa(temp_c: float) -> float:
    return 6.112 * math.exp(17.62 * temp_c / (243.12 + temp_c))


def _dew_point_c(vapour_hpa: float) -> float:
    log = math.log(vapour_hpa / 6.112)
    return 243.12 * log / (17.62 - log)
