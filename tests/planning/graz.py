"""One year of sun by the minute: a flat-plate field in Graz, 2017 (sunpeek-exampledata, CC BY-SA).

Times are UTC. Irradiance of the beam and on the level, air, humidity and wind of the station.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from drybox.physics.clear_sky import ClearSky, clear_sky
from drybox.physics.sun_position import SunPosition, sun_position

LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M = 47.047, 15.436, 344.0
PRESSURE_PA = 97_250.0

CLEARER = 1.12
"""Full sun at Graz over the clear sky of the climatology, as it is taken in `shares` to bring the
share of unclouded hours to the 0.93 of the tables of minutes."""

SUN_W_M2 = 120.0
"""Direct irradiance over which the sun shines (WMO)."""


@dataclass(frozen=True)
class Minutes:
    """What a station measured by the minute, (minutes,); NaN where nothing was measured."""

    time_at: np.ndarray
    dni_w_m2: np.ndarray
    ghi_w_m2: np.ndarray
    air_temp_k: np.ndarray
    humidity_frac: np.ndarray
    wind_m_s: np.ndarray
    sun: SunPosition
    clear: ClearSky
    longwave_w_m2: np.ndarray | None = None

    @property
    def week(self) -> np.ndarray:
        """Number of the week since 1970, Monday first."""
        return ((self.time_at / 86400.0 + 3.0) // 7.0).astype(int)


def required() -> bool:
    """Whether the study fails without its data instead of being skipped."""
    return os.environ.get("DRYBOX_MEASURED_SKY") == "required"


@cache
def year() -> Minutes:
    """Return the year, or skip where the data are not installed and may be missing."""
    try:
        import sunpeek_exampledata
    except ImportError:
        if required():
            pytest.fail("the measured sun is not installed: pip install '.[study]'")
        pytest.skip("the measured sun is not installed: pip install '.[study]'")
    import pandas as pd

    names = {
        "rd_dni": "dni_w_m2",
        "rd_ghi": "ghi_w_m2",
        "te_amb": "air_temp_k",
        "rh_amb": "humidity_frac",
        "ve_wind": "wind_m_s",
    }
    path = sunpeek_exampledata.DEMO_DATA_PATH_1YEAR
    table = pd.read_csv(path, sep=";", usecols=["timestamps_UTC", *names])
    moments = pd.to_datetime(table.pop("timestamps_UTC"))
    time_at = moments.to_numpy().astype("datetime64[s]").astype(float)
    sun = sun_position(time_at, LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M)
    clear = clear_sky(
        time_at, sun, LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M, np.full(time_at.shape, PRESSURE_PA)
    )
    columns = {ours: table[theirs].to_numpy(dtype=float) for theirs, ours in names.items()}
    return Minutes(time_at=time_at, sun=sun, clear=clear, **columns)


@dataclass(frozen=True)
class Hours:
    """Whole hours with the sun over 15°: share of full sun by the minute, (hours, 60)."""

    share: np.ndarray
    least_share: np.ndarray
    oktas: np.ndarray
    day: np.ndarray


@cache
def hours() -> Hours:
    """Return the hours without a gap."""
    there = year()

    def by_hour(column: np.ndarray) -> np.ndarray:
        return column.reshape(-1, 60)

    clear = by_hour(CLEARER * there.clear.dni_w_m2)
    dni = by_hour(there.dni_w_m2)
    whole = (by_hour(there.sun.elevation_deg) > 15.0).all(axis=1) & np.isfinite(dni).all(axis=1)
    clear, dni = clear[whole], dni[whole]
    return Hours(
        share=np.maximum(dni, 0.0) / clear,
        least_share=SUN_W_M2 / clear,
        oktas=np.rint(8.0 * (dni <= SUN_W_M2).mean(axis=1)).astype(int),
        day=(by_hour(there.time_at)[whole, 0] + 3600.0) // 86400.0,
    )
