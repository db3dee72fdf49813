"""The Norwegian Meteorological Institute's point forecast (JSON) as a forecast table.

Locationforecast 2.0, compact or complete: an object whose ``properties`` hold ``meta``
(``updated_at`` and ``units``) and ``timeseries``, a list of instants, each with
``data.instant.details`` (gusts in the complete form alone) and rain in
``data.next_1_hours.details``: absent is unknown, not 0.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from drybox.errors import InputError

# theirs: (our heading, the unit it must have)
_DETAILS = {
    "air_temperature": ("air_temp_c", "celsius"),
    "relative_humidity": ("humidity_pct", "%"),
    "wind_speed": ("wind_m_s", "m/s"),
    "wind_speed_of_gust": ("gust_m_s", "m/s"),
    "cloud_area_fraction": ("cloud_pct", "%"),
}
# theirs, of the hours to come: (our heading, the unit it must have)
_AHEAD = {
    "precipitation_amount": ("rain_mm_h", "mm"),
    "probability_of_precipitation": ("rain_chance_pct", "%"),
}
_HOURS = {"next_1_hours": 1.0, "next_6_hours": 6.0}
REMARK = "Forecast of the Norwegian Meteorological Institute (Locationforecast 2.0, CC BY 4.0)"
AGAIN = "it may be cut short or damaged; fetch it again"


def table_of(text: str, name: str = "forecast") -> str:
    """Return a point forecast as the plain table that `parse_forecast` reads.

    >>> when = '{"time": "2027-06-12T06:00:00Z", "data": {"instant": {"details": %s}}}'
    >>> details = '{"air_temperature": 11.8, "cloud_area_fraction": 25.0}'
    >>> meta = '{"updated_at": "2027-06-11T18:30:00Z", "units": {}}'
    >>> forecast = '{"properties": {"meta": %s, "timeseries": [%s]}}' % (meta, when % details)
    >>> print(table_of(forecast).split("# ", 2)[2], end="")
    issued 2027-06-11T18:30:00Z
    time,air_temp_c,cloud_pct
    2027-06-12T06:00:00Z,11.8,25
    """
    known = _DETAILS | _AHEAD
    try:
        properties = json.loads(text)["properties"]
        series, meta = properties["timeseries"], properties.get("meta", {})
        rows = [
            (str(row["time"]), {**row["data"]["instant"]["details"], **_ahead(row["data"])})
            for row in series
        ]
        issued = str(meta.get("updated_at", ""))
        units = dict(meta.get("units", {}))
        names = [theirs for theirs in known if any(theirs in found for _, found in rows)]
        cells = [[_cell(found, theirs) for theirs in names] for _, found in rows]
        if not rows or not names:
            raise ValueError("it holds no instants")
        times = [datetime.fromisoformat(at).isoformat().replace("+00:00", "Z") for at, _ in rows]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        why = f"no {error}" if isinstance(error, KeyError) else str(error).split("\n")[0]
        raise InputError(
            f"this cannot be read as a point forecast: {why[:100]}", name, AGAIN
        ) from None
    for theirs in names:
        if units.get(theirs, known[theirs][1]) != known[theirs][1]:
            raise InputError(f"{theirs} in {units[theirs]!r} is not understood", name)
    head = [f"# {REMARK}", *([f"# issued {issued}"] if issued else [])]
    heading = ",".join(["time", *(known[theirs][0] for theirs in names)])
    body = [",".join([at, *row]) for at, row in zip(times, cells, strict=True)]
    return "\n".join([*head, heading, *body]) + "\n"


def _ahead(data: Mapping[str, Any]) -> dict[str, float]:
    """Return rain by the hour and its chance over the hours to come, where they are told."""
    for name, hours in _HOURS.items():
        details = data.get(name, {}).get("details", {})
        found = {theirs: float(details[theirs]) for theirs in _AHEAD if theirs in details}
        if found:
            if "precipitation_amount" in found:
                found["precipitation_amount"] /= hours
            return found
    return {}


def _cell(details: Mapping[str, Any], name: str) -> str:
    value = details.get(name)
    if value is None:
        return ""
    number = float(value)
    return f"{number:.6g}" if math.isfinite(number) else ""
