"""A fit's plate curves as columns of a file and as rows of the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from drybox.planning.calibration.curves import DayCurves
from drybox.units import KELVIN_AT_0_C

NAMES = ("before_low", "before", "before_high", "after_low", "after", "after_high")
RECORD_STEP_S, BEFORE_FIRST_S = 720.0, 1800.0
"""Of the rows in the record; and how long before the first reading they begin. [s]"""


def curve_columns(curves: Sequence[DayCurves]) -> tuple[Any, dict[str, Any]]:
    """Return times and columns of all days for a file, a row for each step and each reading."""
    times, columns = [np.zeros(0)], {name: [np.zeros(0)] for name in ("read", *NAMES)}
    for day in curves:
        at = np.union1d(day.time_at, day.read_s)
        read = np.full(at.size, np.nan)
        read[np.searchsorted(at, day.read_s)] = day.read_k
        times.append(at)
        columns["read"].append(read - KELVIN_AT_0_C)
        for name in NAMES:
            columns[name].append(_between(day, name, at))
    whole = {f"plate_temp_{name}_c": np.concatenate(parts) for name, parts in columns.items()}
    return np.concatenate(times), whole


def curve_rows(curves: Sequence[DayCurves]) -> list[dict[str, Any]]:
    """Return the days with a plate reading, each with rows of its plate before and after."""
    return [{"rows": _rows(day)} for day in curves if day.read_s.size]


def _rows(day: DayCurves) -> list[dict[str, Any]]:
    begin = max(day.read_s.min() - BEFORE_FIRST_S, day.time_at[0])
    end = min(day.read_s.max() + RECORD_STEP_S, day.time_at[-1])
    at = np.append(np.arange(begin, end, RECORD_STEP_S), end)
    plate = {name: _between(day, name, at) for name in NAMES}
    return [
        {
            "at": float(moment),
            **{
                f"plate_temp_{when}_c": {
                    "p10": float(plate[f"{when}_low"][k]),
                    "p50": float(plate[when][k]),
                    "p90": float(plate[f"{when}_high"][k]),
                }
                for when in ("before", "after")
            },
        }
        for k, moment in enumerate(at)
    ]


def _between(day: DayCurves, name: str, at: Any) -> Any:
    """Return one of a day's curves at some times. [°C]"""
    return np.interp(at, day.time_at, getattr(day, f"{name}_k")) - KELVIN_AT_0_C
