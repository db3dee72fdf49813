"""What a weather column may hold: missing codes and impossible values are masked and counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.errors import InputError
from drybox.readable import counted

MISSING_CODES = (99.0, 99.9, 999.0, 9999.0, 99999.0, 999999.0, -99.0, -999.0, -9900.0, -9999.0)


@dataclass(frozen=True)
class ColumnRange:
    """What a quantity is called and the range it is kept to.

    Values between ``taken_from`` and ``low``, or between ``high`` and ``taken_to``, are set to
    the nearer limit; all beyond is masked.
    """

    label: str
    low: float
    high: float
    taken_from: float
    taken_to: float
    shown: str


LIMITS: dict[str, ColumnRange] = {
    "air_temp_k": ColumnRange("air temperature", 213.15, 333.15, 213.15, 333.15, "-60 to 60 °C"),
    "humidity_frac": ColumnRange("humidity", 0.0, 1.0, 0.0, 1.0501, "0 to 105 %"),
    "wind_10m_m_s": ColumnRange("wind", 0.0, 60.0, 0.0, 60.0, "0 to 60 m/s"),
    "gust_10m_m_s": ColumnRange("gusts", 0.0, 90.0, 0.0, 90.0, "0 to 90 m/s"),
    "pressure_pa": ColumnRange("pressure", 3e4, 1.1e5, 3e4, 1.1e5, "300 to 1100 hPa"),
    "cloud_frac": ColumnRange("cloud", 0.0, 1.0, 0.0, 1.001, "0 to 8 oktas or 0 to 100 %"),
    "ghi_w_m2": ColumnRange("GHI", 0.0, 1500.0, -20.0, 1500.0, "0 to 1500 W/m2"),
    "dni_w_m2": ColumnRange("DNI", 0.0, 1500.0, -20.0, 1500.0, "0 to 1500 W/m2"),
    "dhi_w_m2": ColumnRange("DHI", 0.0, 1500.0, -20.0, 1500.0, "0 to 1500 W/m2"),
    "rain_kg_m2_s": ColumnRange("rain", 0.0, 0.1, 0.0, 0.1, "0 to 360 mm/h"),
    "rain_frac": ColumnRange("chance of rain", 0.0, 1.0, 0.0, 1.001, "0 to 100 %"),
}


def mask_column(
    name: str, printed: Array, values: Array, *, where: str = ""
) -> tuple[Array | None, tuple[str, ...]]:
    """Return a column with only possible values, and what was done to it.

    ``printed`` are the numbers as they stand in the file, ``values`` the same in SI, NaN for an
    empty cell. Impossible ones become NaN, and the column None where nothing is left; each doubt is
    a kind of mending with its count. More than half impossible without being missing codes is an
    error: the unit or the column is not what it seems.

    >>> sun = np.array([-3.0, 812.0, 9999.0, 1800.0])
    >>> column, doubts = mask_column("ghi_w_m2", sun, sun)
    >>> column.tolist()
    [0.0, 812.0, nan, nan]
    >>> doubts[0]
    'GHI: 1 missing-value code left out'
    """
    limits = LIMITS[name]
    empty = np.isnan(values)
    outside = ~empty & ((values < limits.taken_from) | (values > limits.taken_to))
    coded = outside & np.isin(printed, MISSING_CODES)
    wrong = outside & ~coded
    clipped = ~empty & ~outside & ((values < limits.low) | (values > limits.high))
    if np.count_nonzero(wrong) * 2 > np.count_nonzero(~empty & ~coded):
        worst = float(printed[wrong][0])
        raise InputError(
            f"{limits.label} {worst:g} and most others are outside {limits.shown}",
            where,
            "check the column's unit",
        )
    column = np.clip(np.where(outside, np.nan, values), limits.low, limits.high)
    said = (
        (empty, "empty cell", "left out"),
        (coded, "missing-value code", "left out"),
        (wrong, "value", f"outside {limits.shown} left out"),
        (clipped, "value", f"just outside {limits.shown} set to the limit"),
    )
    doubts = [
        f"{limits.label}: {counted(int(np.count_nonzero(which)), one)} {rest}"
        for which, one, rest in said
        if which.any()
    ]
    if np.isnan(column).all():
        return None, (f"{limits.label}: no usable value, so the column is not used",)
    return column, tuple(doubts)
