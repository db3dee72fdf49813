"""Typed results as pandas tables, at the very edge."""

from __future__ import annotations

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

MOMENTS = (
    *("at_s", "from_s", "until_s", "dry_at_s", "pull_from_s", "pull_before_s", "time_s"),
    *("arrives_s", "sitting_s", "wet_end_s", "wash_from_s", "washed_s", "laid_on_s", "dry_s"),
    *("ready_s", "promise_s", "promised_s", "touch_dry_at_s", "touch_dry_s", "flat_at"),
    *("begin_at", "end_at", "promise_at"),
)
"""Fields that are instants; every other one in seconds is a duration."""

ROWS: tuple[tuple[Any, Callable[[Any], Iterable[Any]], str], ...] = (
    (DryResult, lambda found: found.ways, "way"),
    (FinishResult, lambda found: found.ways, ""),
    (EventAim, lambda found: found.plan.turns, "from"),
    (DayPlan, lambda found: found.tickets, "sitting"),
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
    for kind, rows, _ in ROWS:
        if isinstance(result, kind):
            each = [_moment(one) if isinstance(one, Moment) else _row(one) for one in rows(result)]
            frame = pd.DataFrame(each)
            break
    else:
        frame = _minutes(result)
    for name in frame.columns:
        if name.removesuffix("_p10").removesuffix("_p50").removesuffix("_p90") in MOMENTS:
            when = pd.to_datetime(frame[name].astype(float), unit="s", utc=True)
            frame[name] = when.dt.tz_convert(zone)
    frame = frame.rename(columns={name: _renamed(name) for name in frame.columns})
    index = next((index for kind, _, index in ROWS if isinstance(result, kind)), "time")
    return frame.set_index(index) if index and not frame.empty else frame


def _minutes(result: object) -> pd.DataFrame:
    """Return the day by the minute, of which a result holds a column each."""
    import pandas as pd

    if not isinstance(result, SetOutResult):
        raise TypeError(f"no table is known for {type(result).__name__}")
    columns = {f.name: getattr(result, f.name) for f in fields(result)}
    size = result.time_s.size
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


def _renamed(name: str) -> str:
    """Return an instant's name without its unit, since a datetime has none."""
    for moment in MOMENTS:
        if name == moment or name.startswith(f"{moment}_p"):
            return name.replace(moment, moment.removesuffix("_s"))
    return name


def _row(record: Any) -> Mapping[str, Any]:
    row: dict[str, Any] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        if isinstance(value, Range):
            row |= {f"{field.name}_{p}": part for p, part in value.record().items()}
        else:
            row[field.name] = value
    return row
