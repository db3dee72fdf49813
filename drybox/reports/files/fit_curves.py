"""A fit's plate curves as columns of a file and as rows of the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from drybox.planning.calibration.curves import DayCurves
from drybox.planning.scenario.percentiles import Range
from drybox.units import KELVIN_AT_0_C

WHEN, ENDS = ("before", "after"), ("_low", "", "_high")
NAMES = tuple(f"{when}{end}" for when in WHEN for end in ENDS)
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
        each = (curve for when in WHEN for curve in _between(day, when, at))
        for name, curve in zip(NAMES, each, strict=True):
            columns[name].append(curve)
    whole = {f"plate_temp_{name}_c": np.concatenate(parts) for name, parts in columns.items()}
    return np.concatenate(times), whole


def curve_rows(curves: Sequence[DayCurves]) -> list[dict[str, Any]]:
    """Return the days with a plate reading, each with rows of its plate before and after."""
    return [{"rows": _rows(day)} for day in curves if day.read_s.size]


def _rows(day: DayCurves) -> list[dict[str, Any]]:
    begin = max(day.read_s.min() - BEFORE_FIRST_S, day.time_at[0])
    end = min(day.read_s.max() + RECORD_STEP_S, day.time_at[-1])
    at = np.append(np.arange(begin, end, RECORD_STEP_S), end)
    plate = {when: _between(day, when, at) for when in WHEN}
    return [
        {
            "at": float(moment),
            **{
                f"plate_temp_{when}_c": Range(*(float(curve[k]) for curve in plate[when])).record()
                for when in WHEN
            },
        }
        for k, moment in enumerate(at)
    ]


def _between(day: DayCurves, when: str, at: Any) -> list[Any]:
    """Return a day's P10, P50 and P90 ``before`` or ``after`` the fit, at some times. [°C]"""
    curves = getattr(day, f"{when}_k") - KELVIN_AT_0_C
    return [np.interp(at, day.time_at, curve) for curve in curves]
