"""The sun box's day under one aim that its wet prints bear: what the day sheet is made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from drybox.inputs.event.event import Event
from drybox.planning.aim.event_aim import EventAim, plan_event_aim
from drybox.planning.one_print.lay_ons import LONGEST_S
from drybox.planning.one_print.lookups import (
    LayOnLookup,
    ThermometerLookup,
    lay_on_lookup,
    thermometer_lookup,
)
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.outside import horizon_s


@dataclass(frozen=True)
class SheetDay:
    """All parts under the same aim; ``aim.held_below_k`` says how far it is off the sun."""

    aim: EventAim
    set_out: SetOutResult
    lay_on: LayOnLookup
    thermometer: ThermometerLookup


def plan_sheet_day(
    event: Event,
    at: float,
    *,
    hold_k: float | None = None,
    seed: int = 1,
    tick: Callable[[], None] = lambda: None,
) -> SheetDay:
    """Return the day of the box, aimed off the sun as far as its wet prints need it.

    The sun is asked for at ``at``; the plate is held below ``hold_k``, by default as the event
    wishes. ``tick`` is called after each of four steps of work. `NoAnswerError` if no daylight
    reaches the plate all day. [s], [K]
    """
    fixed = event.box.aim_mode == "fixed"
    aim = plan_event_aim(event, at, hold_k=None if fixed else hold_k)
    # from an hour before the aim to the last print's end
    start, last = float(aim.day.time_at[0]), max(event.closes_at, aim.until_at)
    day = conditions(
        event.weather, event.place, start, end_at=last + horizon_s(event, last, LONGEST_S)
    )
    aim_deg = aim.plan.schedule(day.time_at, "best" if fixed else event.box.aim_mode)
    tick()
    found = plan_set_out(event, seed=seed, aim=aim.plan)
    tick()
    out = found.set_out_at if found.set_out_at is not None else event.opens_at
    lay_on = lay_on_lookup(event, day, aim_deg=aim_deg, from_at=out, seed=seed)
    tick()
    thermometer = thermometer_lookup(event, day, seed=seed)
    tick()
    return SheetDay(aim=aim, set_out=found, lay_on=lay_on, thermometer=thermometer)
