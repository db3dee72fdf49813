"""The time series behind an answer as CSV, so that anyone can check it elsewhere."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from drybox.reports.files.csv_table import safe_cell
from drybox.reports.files.json_record import plain_value
from drybox.reports.text.phrases import iso_time


def render_series(time_at: Sequence[float] | Any, columns: Mapping[str, Any], timezone: str) -> str:
    """Return one row an instant: local time, Unix seconds, then each column by its unit name.

    >>> print(render_series([0.0, 60.0], {"plate_temp_c": [20.0, float("nan")]}, "UTC"), end="")
    at,unix_s,plate_temp_c
    1970-01-01T00:00:00+00:00,0,20
    1970-01-01T00:01:00+00:00,60,
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["at", "unix_s", *columns])
    for moment, *values in zip(time_at, *columns.values(), strict=True):
        cells = [_figure(plain_value("", value, timezone)) for value in values]
        writer.writerow([iso_time(float(moment), timezone), f"{float(moment):.10g}", *cells])
    return text.getvalue()


def _figure(value: Any) -> Any:
    if isinstance(value, float):
        return f"{value:.7g}"
    return safe_cell(value)
