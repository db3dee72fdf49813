"""What is told to whoever sits down: by the hour, and what was said beside what it looks like."""

from __future__ import annotations

from typing import Any

from drybox.planning.day.plan import DayPlan
from drybox.planning.day.told.hours import HourRule
from drybox.reports.text.answer import Column, Table
from drybox.reports.text.phrases import clock

STATES = {
    "dry": "dry and flat",
    "touch_dry": "touch dry, between blotters",
    "pick_up": "to be fetched",
    "damp": "damp, in a sleeve",
    "mail": "by mail",
}


def lasts(time_s: float) -> str:
    """Return hours and minutes as people say them.

    Examples
    --------
    >>> lasts(6000.0), lasts(2700.0), lasts(7200.0)
    ('1 h 40 min', '45 min', '2 h')
    """
    hours, minutes = divmod(round(time_s / 60), 60)
    parts = [f"{hours} h"] if hours else []
    return " ".join([*parts, *([f"{minutes} min"] if minutes or not hours else [])])


def hour_table(plan: DayPlan, zone: str) -> list[Table]:
    """Return the rule of each hour, as a table; none where nobody sits."""
    rows = [
        {
            "from": f"{clock(rule.from_at_s, zone)}–{clock(rule.until_at_s, zone)}",
            "promise": "–" if rule.promise_after_s is None else lasts(rule.promise_after_s),
            "state": _state(rule),
        }
        for rule in plan.hours
    ]
    columns = (Column("from", "Sits"), Column("promise", "promise in"), Column("state", "as"))
    return [Table("Sit now", columns, rows)] if rows else []


def _state(rule: HourRule) -> str:
    said = STATES[rule.hand_over]
    return (
        f"{said}, touch dry"
        if (rule.hand_over, rule.ready_as) == ("pick_up", "touch_dry")
        else said
    )


def hour_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return the rule of each hour as the record holds it."""
    return [
        {
            "from_at": rule.from_at_s,
            "until_at": rule.until_at_s,
            "sittings_a_day": rule.sittings_a_day,
            "hand_over": rule.hand_over,
            "ready_as": rule.ready_as or None,
            "after_sitting_minutes": rule.after_sitting_s.minutes(),
            "promise_after_min": minutes_of(rule.promise_after_s),
        }
        for rule in plan.hours
    ]


def minutes_of(time_s: float | None) -> float | None:
    """Return seconds as minutes, None as None."""
    return None if time_s is None else time_s / 60


def by_chance(plan: DayPlan) -> list[str]:
    """Return what to know of the tickets where sitters come by chance."""
    if plan.inputs.day.rate_1_s is None:
        return []
    return [
        "Sitters come by chance: a ticket's times are those of its likely sitting. Promise from "
        "the sitting on, by 'Sit now' below."
    ]
