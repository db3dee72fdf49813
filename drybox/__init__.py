"""Solar drying box and print finishing estimator.

inputs → physics → planning → reports: data flows, and imports point, in that order;
`drybox.api` holds the calls below, and `drybox.cli` is the command line over them. Importing
`drybox` loads nothing heavy; a call loads what it needs when it is first used.

Quantities are text with their unit, as in the event file; an event may be given as its path. A
result prints in one line, `str` of it is the sentence its command begins with, and
`drybox.to_frame` makes a table of it.

Examples
--------
>>> import drybox
>>> place = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
>>> event = drybox.load_event(None, place | {"weather.sky": "clear"})
>>> drybox.aim(event, "13:20", hold_below="55 °C").held_below_k
328.15
>>> [way.way for way in drybox.dry(event, "13:20", ways="sun plate", members=20).ways]
['sun_plate']
>>> drybox.set_out(event, wait="30 min", members=20).wait_s
1800.0
>>> few = drybox.load_event(None, place | {"weather.sky": "clear", "event.every": "4 h"})
>>> [ticket.ticket for ticket in drybox.plan_day(few, members=20, what_if=False).tickets]
['1', '2']
>>> print(drybox.wash(overrides={"process.wash.prints": 8}))  # doctest: +ELLIPSIS
Wash 8 prints together in ...
>>> drybox.to_frame(drybox.baths(sittings=30)).index.to_list()
['developer', 'stop', 'fixer']
>>> drybox.calibrate(event, []).notes_used
0
>>> drybox.dry(event, 1320)
Traceback (most recent call last):
...
drybox.errors.InputError: at 1320 is nowhere near 2027-06-12; write it like "13:20" (argument)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drybox.api import aim as aim
    from drybox.api import baths as baths
    from drybox.api import calibrate as calibrate
    from drybox.api import day as day
    from drybox.api import dry as dry
    from drybox.api import finish as finish
    from drybox.api import keep_promises as keep_promises
    from drybox.api import load_event as load_event
    from drybox.api import plan_day as plan_day
    from drybox.api import read_notes as read_notes
    from drybox.api import season as season
    from drybox.api import set_out as set_out
    from drybox.api import tour as tour
    from drybox.api import wash as wash
    from drybox.details import time_series as time_series
    from drybox.errors import InputError as InputError
    from drybox.errors import NoAnswerError as NoAnswerError
    from drybox.errors import StoreError as StoreError
    from drybox.frames import to_frame as to_frame
    from drybox.inputs.event.event import Event as Event
    from drybox.inputs.notes.fitted_event import with_kept_fit as with_kept_fit
    from drybox.inputs.notes.note import Note as Note
    from drybox.planning.aim.event_aim import EventAim as EventAim
    from drybox.planning.calibration.calibration import Calibration as Calibration
    from drybox.planning.day.plan import DayPlan as DayPlan
    from drybox.planning.finish.finish import FinishResult as FinishResult
    from drybox.planning.one_print.set_out import SetOutResult as SetOutResult
    from drybox.planning.one_print.ways import DryResult as DryResult
    from drybox.planning.scenario.percentiles import Range as Range
    from drybox.planning.season.season import Season as Season
    from drybox.planning.wet.baths import BathPlan as BathPlan
    from drybox.planning.wet.wash import WashPlan as WashPlan
    from drybox.planning.whole_day.moments import DayMoments as DayMoments
    from drybox.said import answer as answer

__version__ = "0.1.0"

MODEL_VERSION = 3
"""Raised when the same inputs come to give other drying times; a fit stands on one of them."""

PUBLIC = {
    "drybox.api": (
        *("load_event", "aim", "set_out", "dry", "finish", "plan_day", "day", "keep_promises"),
        *("wash", "baths", "season", "tour", "read_notes", "calibrate"),
    ),
    "drybox.details": ("time_series",),
    "drybox.said": ("answer",),
    "drybox.frames": ("to_frame",),
    "drybox.inputs.notes.fitted_event": ("with_kept_fit",),
    "drybox.inputs.event.event": ("Event",),
    "drybox.inputs.notes.note": ("Note",),
    "drybox.planning.scenario.percentiles": ("Range",),
    "drybox.planning.aim.event_aim": ("EventAim",),
    "drybox.planning.one_print.set_out": ("SetOutResult",),
    "drybox.planning.one_print.ways": ("DryResult",),
    "drybox.planning.finish.finish": ("FinishResult",),
    "drybox.planning.day.plan": ("DayPlan",),
    "drybox.planning.whole_day.moments": ("DayMoments",),
    "drybox.planning.wet.wash": ("WashPlan",),
    "drybox.planning.wet.baths": ("BathPlan",),
    "drybox.planning.season.season": ("Season",),
    "drybox.planning.calibration.calibration": ("Calibration",),
    "drybox.errors": ("InputError", "NoAnswerError", "StoreError"),
}
"""Module → the public calls, and below them the public types, that it holds."""

_WHERE = {name: module for module, names in PUBLIC.items() for name in names}

__all__ = [*_WHERE]


def __getattr__(name: str) -> Any:
    where = _WHERE.get(name)
    if where is None:
        raise AttributeError(f"module 'drybox' has no attribute '{name}'")
    import importlib

    found = getattr(importlib.import_module(where), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *_WHERE})
