"""One month of sun by the minute: Payerne, June 2016 (Baseline Surface Radiation Network).

L. Vuilleumier, Basic and other measurements of radiation at station Payerne (2016-06). The file is
in the wheel of pvlib 0.10.3, where it serves that library's tests; DRYBOX_MEASURED_MONTH names the
wheel. The network measures no wind: that of Graz on the same days of 2017 stands in.
"""

from __future__ import annotations

import os
import tempfile
import zipfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from drybox.physics.clear_sky import clear_sky
from drybox.physics.sun_position import sun_position
from tests.planning import graz

LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M = 46.815, 6.944, 491.0
PRESSURE_PA = 95_800.0
INSIDE = "pvlib/data/bsrn-pay0616.dat.gz"
YEAR_S = 365 * 86400.0
LOWEST_SIN = 0.05
"""Of the sun's elevation, for direct light worked out where it alone is missing."""


@cache
def month() -> graz.Minutes:
    """Return the month, or skip where the file is not at hand."""
    wheel = os.environ.get("DRYBOX_MEASURED_MONTH", "")
    if not Path(wheel).is_file():
        pytest.skip("DRYBOX_MEASURED_MONTH does not name the wheel of pvlib 0.10.3")
    import pandas as pd
    from pvlib.iotools import read_bsrn

    with zipfile.ZipFile(wheel) as archive, tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pay0616.dat.gz"
        path.write_bytes(archive.read(INSIDE))
        table, _ = read_bsrn(path, logical_records=("0100",))
    moments = pd.DatetimeIndex(table.index).tz_convert("UTC").tz_localize(None)
    time_at = moments.to_numpy().astype("datetime64[s]").astype(float)
    sun = sun_position(time_at + 30.0, LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M)
    pressure_pa = np.full(time_at.shape, PRESSURE_PA)
    clear = clear_sky(time_at + 30.0, sun, LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M, pressure_pa)
    up = np.maximum(np.sin(np.deg2rad(sun.elevation_deg)), 0.0)
    ghi, dhi, dni = (table[name].to_numpy(dtype=float) for name in ("ghi", "dhi", "dni"))
    dni = np.where(np.isfinite(dni), dni, (ghi - dhi) / np.maximum(up, LOWEST_SIN))
    dni = np.where(up > 0.0, np.clip(dni, 0.0, 1100.0), 0.0)
    wind = graz.year()
    there = np.searchsorted(wind.time_at, time_at + YEAR_S)
    gusty = pd.Series(wind.wind_m_s[there]).interpolate().bfill().to_numpy()
    return graz.Minutes(
        time_at=time_at,
        dni_w_m2=dni,
        ghi_w_m2=dhi + dni * up,
        air_temp_k=table["temp_air"].to_numpy(dtype=float) + 273.15,
        humidity_frac=np.clip(table["relative_humidity"].to_numpy(dtype=float) / 100.0, 0.0, 1.0),
        wind_m_s=gusty,
        sun=sun,
        clear=clear,
        longwave_w_m2=table["lwd"].to_numpy(dtype=float),
    )
