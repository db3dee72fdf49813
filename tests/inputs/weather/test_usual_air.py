"""The air that is usual at a place and time of year, against its maps and typical-year files.

The figures of the files were worked out apart from this program, from the same files: root mean
square over the months of mean, range, dew point, air and humidity of 10 to 17 h.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from drybox.inputs.event.place import Position
from drybox.inputs.weather.usual_air import UsualAir, usual_air
from drybox.tables import load_table
from tests.reference import Row, rows
from tests.running import pvlib_data
from tests.weather_years import read_typical_year

# file: mean air, range, dew point, day's air [K], day's humidity [%]
SCORES = {
    "723170TYA.CSV": (1.9, 2.5, 2.1, 1.8, 7.0),
    "703165TY.csv": (3.0, 2.2, 4.8, 2.7, 15.0),
    "12839.tm2": (0.6, 1.7, 0.9, 1.0, 5.0),
}
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def at(latitude_deg: float, longitude_deg: float, elevation_m: float = 0.0) -> Position:
    return SimpleNamespace(
        latitude_deg=latitude_deg, longitude_deg=longitude_deg, elevation_m=elevation_m
    )


def in_month(month: int, **place: float) -> UsualAir:
    return usual_air(at(**place), (month - 0.5) / 12)


@pytest.mark.parametrize("row", rows("climate"))
def test_published_usual_air(row: Row) -> None:
    found = in_month(**row.inputs)
    if row.quantity == "day_humidity_pct":
        row.check(100 * found.day_humidity_frac)
        return
    kelvin = np.array([found.mean_temp_k, found.dew_point_k, found.day_temp_k]) - 273.15
    row.check([kelvin[0], found.daily_range_k, *kelvin[1:]])


def monthly(file: str) -> tuple[np.ndarray, np.ndarray, float]:
    """Return by month what a file holds and what is usual, and the wind of its days."""
    year = read_typical_year(pvlib_data(file))
    air, humidity, wind = (
        year.columns[name].reshape(365, 24)
        for name in ("air_temp_k", "humidity_frac", "wind_10m_m_s")
    )
    hour = (np.arange(24) + year.start_shift_s / 3600.0 + 0.5) % 24
    by_day = (hour >= 10) & (hour < 17)
    saturated = 6.112 * np.exp(17.62 * (air - 273.15) / (air - 30.03))
    vapour = saturated * humidity
    told, usual = [], []
    for month, (first, days) in enumerate(zip(np.cumsum(DAYS) - DAYS, DAYS, strict=True), 1):
        of = slice(first, first + days)
        log = np.log(np.nanmean(vapour[of]) / 6.112)
        told.append(
            [
                np.nanmean(air[of]),
                np.nanmean(np.nanmax(air[of], axis=1) - np.nanmin(air[of], axis=1)),
                243.12 * log / (17.62 - log) + 273.15,
                np.nanmean(air[of][:, by_day]),
                100 * np.nanmean(humidity[of][:, by_day]),
            ]
        )
        found = usual_air(year, (month - 0.5) / 12)
        usual.append(
            [
                found.mean_temp_k,
                found.daily_range_k,
                found.dew_point_k,
                found.day_temp_k,
                100 * found.day_humidity_frac,
            ]
        )
    return np.array(told), np.array(usual), float(np.nanmean(wind[:, by_day]))


@pytest.mark.parametrize("file", list(SCORES))
def test_it_misses_typical_years_by_no_more_than_was_found(file: str) -> None:
    told, usual, _ = monthly(file)
    miss = np.sqrt(((usual - told) ** 2).mean(axis=0))
    assert miss == pytest.approx(SCORES[file], abs=0.25, rel=0.1)
    stand_in = np.sqrt(((told[:, 3] - 293.15) ** 2).mean())
    assert miss[3] < 0.5 * stand_in


def test_opposite_seasons_and_the_grid_s_edges() -> None:
    north, south = ({m: in_month(m, **p).day_temp_k for m in (1, 7)} for p in (NORTH, SOUTH))
    assert north[7] > north[1] + 8
    assert south[1] > south[7] + 8
    east, west = (usual_air(at(64.0, degrees), 0.4).day_temp_k for degrees in (179.999, -179.999))
    assert east == pytest.approx(west, abs=0.01)
    for degrees in (-90.0, -60.0, 80.0, 90.0):
        found = usual_air(at(degrees, 180.0), 0.0)
        assert 200 < found.day_temp_k < 300
        assert 0.2 < found.day_humidity_frac < 1.0


NORTH = {"latitude_deg": 51.0, "longitude_deg": 0.0, "elevation_m": 0.0}
SOUTH = {"latitude_deg": -35.0, "longitude_deg": 149.0, "elevation_m": 600.0}


def test_higher_is_cooler_and_the_year_joins_its_end() -> None:
    low, high = (usual_air(at(47.0, 11.0, z), 0.5) for z in (200.0, 2200.0))
    assert low.mean_temp_k - high.mean_temp_k == pytest.approx(10.0)
    assert usual_air(at(47.0, 11.0, 0.0), 1.0).day_temp_k == pytest.approx(
        usual_air(at(47.0, 11.0, 0.0), 0.0).day_temp_k
    )


def test_every_node_of_the_grid_is_there() -> None:
    table = load_table("climate")
    nodes = {f"{lat} {lon}" for lat in range(-60, 81, 10) for lon in range(-170, 181, 10)}
    assert nodes == {item for item in table if "tropics" not in item}
    assert all({"t0", "tc", "ts", "rh"} == set(table[node]) for node in nodes)
