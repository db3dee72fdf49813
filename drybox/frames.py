"""Typed results as pandas tables, at the very edge."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.aim.event_aim import EventAim
from drybox.planning.calibration.calibration import Calibration
from drybox.planning.day.plan import DayPlan
from drybox.planning.finish.finish import FinishResult
from drybox.planning.one_print.set_out import SetOutResult
from drybox.planning.one_print.ways import DryResult
from drybox.planning.scenario.percentiles import Range
from drybox.planning.season.season import Season
from drybox.planning.wet.baths import BathPlan
from drybox.planning.wet.wash import WashPlan
from drybox.planning.whole_day.moments import DayMoments, Moment

if TYPE_CHECKING:
    import pandas as pd

INSTANT = re.compile(r"(^|_)at(_p(10|50|90))?$")
"""Fields that are instants end in this; of a range each of its parts."""

ROWS: tuple[tuple[Any, Callable[[Any], Iterable[Any]], str], ...] = (
    (DryResult, lambda found: found.ways, "way"),
    (FinishResult, lambda found: found.ways, ""),
    (EventAim, lambda found: found.plan.turns, "from_at"),
    (DayPlan, lambda found: found.tickets, "sitting_at"),
    (DayMoments, lambda found: found.moments, ""),
    (Season, lambda found: found.cells, ""),
    (BathPlan, lambda found: found.baths, "bath"),
    (Calibration, lambda found: found.parameters, "name"),
    (WashPlan, lambda found: found.steps, ""),
)
"""Kind of result, its rows, and the column that they are found by; the day by the minute has none
here, and is found by its time."""


def to_frame(result: object, event: Event | None = None) -> pd.DataFrame:
    """Return the main table of a result as a pandas frame.

    Parameters
    ----------
    result : DryResult, FinishResult, EventAim, SetOutResult, DayPlan, DayMoments and so on
        Ways, turns, the day by the minute, sitters, moments, months by hour, the baths of a
        wash, the tanks, or the quantities learned.
    event : Event, optional
        Gives instants its time zone; by default the event that the result is for.

    Returns
    -------
    DataFrame
        One row each, found by its instant (with its zone) or its name; a range becomes three
        columns.

    Raises
    ------
    TypeError
        If it is none of these.
    """
    import pandas as pd

    here = event or getattr(getattr(result, "_asked", None), "event", None)
    zone = here.place.timezone if here else "UTC"
    for kind, rows, found_by in ROWS:
        if isinstance(result, kind):
            each = [_moment(one) if isinstance(one, Moment) else _row(one) for one in rows(result)]
            frame, index = pd.DataFrame(each), found_by
            break
    else:
        frame, index = _minutes(result), "time_at"
    for name in frame.columns:
        if INSTANT.search(name):
            when = pd.to_datetime(frame[name].astype(float), unit="s", utc=True)
            frame[name] = when.dt.tz_convert(zone)
    return frame.set_index(index) if index and not frame.empty else frame


def _minutes(result: object) -> pd.DataFrame:
    """Return the day by the minute, of which a result holds a column each."""
    import pandas as pd

    if not isinstance(result, SetOutResult):
        raise TypeError(f"no table is known for {type(result).__name__}")
    columns = {f.name: getattr(result, f.name) for f in fields(result)}
    size = result.time_at.size
    return pd.DataFrame({k: v for k, v in columns.items() if np.shape(v) == (size,)})


def _moment(moment: Moment) -> Mapping[str, Any]:
    """Return a moment as a row, its aim in two columns."""
    row = {name: value for name, value in _row(moment).items() if name not in ("turn", "off_sun")}
    turn = moment.turn
    return row | {
        "bearing_deg": None if turn is None else turn.bearing_deg,
        "tilt_deg": None if turn is None else turn.tilt_deg,
        "off_sun": moment.off_sun.code,
    }


def _row(record: Any) -> Mapping[str, Any]:
    row: dict[str, Any] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        if isinstance(value, Range):
            row |= {f"{field.name}_{p}": part for p, part in value.record().items()}
        else:
            row[field.name] = value
    return row
