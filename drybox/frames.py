"""Typed results as pandas tables, at the very edge."""

from __future__ import annotations

from collections.abc import Mapping
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

if TYPE_CHECKING:
    import pandas as pd

MOMENTS = (
    *("at_s", "from_s", "until_s", "dry_at_s", "pull_from_s", "pull_before_s", "time_s"),
    *("arrives_s", "sitting_s", "wet_end_s", "wash_from_s", "washed_s", "laid_on_s", "dry_s"),
    *("ready_s", "promise_s", "promised_s", "touch_dry_at_s", "touch_dry_s", "flat_at"),
)
"""Fields that are instants; every other one in seconds is a duration."""


def to_frame(result: object, event: Event | None = None) -> pd.DataFrame:
    """Return the main table of a result as a pandas frame.

    Parameters
    ----------
    result : DryResult, FinishResult, EventAim, SetOutResult, DayPlan, Season and so on
        Ways, turns, the day by the minute, sitters, months by hour, the baths of a wash, the
        tanks, or the quantities learned.
    event : Event, optional
        Gives instants its time zone; by default the event that the result is for.

    Returns
    -------
    DataFrame
        One row each; a range becomes three columns, an instant a time with its zone.

    Raises
    ------
    TypeError
        If it is none of these.
    """
    import pandas as pd

    here = event or getattr(getattr(result, "_asked", None), "event", None)
    zone = here.place.timezone if here else "UTC"
    if isinstance(result, DryResult | FinishResult):
        frame = pd.DataFrame([_row(way) for way in result.ways])
    elif isinstance(result, EventAim):
        frame = pd.DataFrame([_row(turn) for turn in result.plan.turns])
    elif isinstance(result, DayPlan):
        frame = pd.DataFrame([_row(ticket) for ticket in result.tickets])
    elif isinstance(result, Season):
        frame = pd.DataFrame([_row(cell) for cell in result.cells])
    elif isinstance(result, BathPlan):
        frame = pd.DataFrame([_row(use) for use in result.baths])
    elif isinstance(result, Calibration):
        frame = pd.DataFrame([_row(parameter) for parameter in result.parameters])
    elif isinstance(result, WashPlan):
        frame = pd.DataFrame([_row(step) for step in result.steps])
    elif isinstance(result, SetOutResult):
        size = result.time_s.size
        columns = {f.name: getattr(result, f.name) for f in fields(result)}
        frame = pd.DataFrame({k: v for k, v in columns.items() if np.shape(v) == (size,)})
    else:
        raise TypeError(f"no table is known for {type(result).__name__}")
    for name in frame.columns:
        if name.removesuffix("_p10").removesuffix("_p50").removesuffix("_p90") in MOMENTS:
            when = pd.to_datetime(frame[name].astype(float), unit="s", utc=True)
            frame[name] = when.dt.tz_convert(zone)
    return frame.rename(columns={name: _renamed(name) for name in frame.columns})


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
