"""What is told to whoever sits down: by the hour, and what was said beside what it looks like."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from drybox.inputs.event.ways import LAID_ON
from drybox.planning.day.plan import DayPlan
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.told.hours import HourRule
from drybox.planning.day.told.so_far import is_slip
from drybox.readable import counted
from drybox.reports.text.answer import Column, Table, fields_of
from drybox.reports.text.phrases import capital, clock, listed, span

MOST_NAMED = 5
IN_SHORT = {
    "dry": "dry",
    "touch_dry": "touch dry",
    "pick_up": "to fetch",
    "damp": "damp",
    "mail": "mail",
}
"""How a print is handed over, in two words at most."""

IF_LUCKY = "dry if lucky, else damp"
STATES = {
    "dry": "dry and flat",
    "touch_dry": "touch dry, carried open",
    "pick_up": "to be fetched",
    "damp": "damp, in a sleeve",
    "mail": "by mail",
}


def lasts(duration_s: float) -> str:
    """Return hours and minutes as people say them.

    >>> lasts(6000.0), lasts(2700.0), lasts(7200.0)
    ('1 h 40 min', '45 min', '2 h')
    """
    hours, minutes = divmod(round(duration_s / 60), 60)
    rest = f"{minutes} min" if minutes or not hours else ""
    return f"{hours} h {rest}".strip() if hours else rest


def hour_table(plan: DayPlan, zone: str) -> list[Table]:
    """Return the rule of each hour, as a table; none where nobody sits."""
    rows = [
        {
            "from": span(rule.from_at, rule.until_at, zone, to="–"),
            "promise": "–" if rule.promise_after_s is None else lasts(rule.promise_after_s),
            "state": _state(rule),
        }
        for rule in plan.hours
    ]
    columns = (Column("from", "Sits"), Column("promise", "promise in"), Column("state", "as"))
    return [Table("Sit now", columns, rows)] if rows else []


def _state(rule: HourRule) -> str:
    if rule.why == "if_lucky":
        return IF_LUCKY
    touch = (rule.hand_over, rule.ready_as) == ("pick_up", "touch_dry")
    return STATES[rule.hand_over] + (", touch dry" if touch else "")


def hour_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return the rule of each hour as the record holds it."""
    return [
        {
            **fields_of(rule, "from_at", "until_at", "sittings_a_day", "hand_over"),
            "ready_as": rule.ready_as or None,
            "after_sitting_minutes": rule.after_sitting_s.minutes(),
            "promise_after_min": minutes_of(rule.promise_after_s),
            "why": rule.why or None,
        }
        for rule in plan.hours
    ]


def minutes_of(duration_s: float | None) -> float | None:
    """Return seconds as minutes, None as None."""
    return None if duration_s is None else duration_s / 60


def by_chance(plan: DayPlan) -> list[str]:
    """Return what to know of the tickets where sitters come by chance."""
    if plan.inputs.day.rate_1_s is None:
        return []
    return [
        "Sitters come by chance: a ticket's times are those of its likely sitting. Promise from "
        "the sitting on, by 'Sit now' below."
    ]


def pull_warning(plan: DayPlan, zone: str) -> list[str]:
    """Return what to do about prints that one pair of hands cannot pull in time."""
    if not plan.missed_pulls:
        return []
    worst = max(plan.missed_pulls, key=lambda one: one.missed_frac)
    at = clock(worst.dry_at, zone)
    off = clock(worst.dry_at + worst.window_s, zone)
    doing = "the sitting of" if worst.sitting else "the print of"
    days = counted(round(10 * worst.missed_frac), "day")
    prints = counted(len(plan.missed_pulls), "print")
    return [
        f"The hands may be busy when {prints} must come off the plate: ticket {worst.ticket}, dry "
        f"at about {at}, is over-dry {max(worst.window_s / 60, 1):.0f} min later ({off}), and in "
        f"{days} of ten it lies on longer, most often for {doing} "
        f"ticket {worst.busy_ticket}. Feel the plate before each sitting: pull what is touch dry "
        "and let it finish between blotters, or let the sitter wait for it."
    ]


def pull_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return the windows that the hands miss as the record holds them."""
    return [
        {
            **fields_of(one, "ticket", "dry_at"),
            "pull_by_at": one.dry_at + one.window_s,
            "pulled_after_minutes_p90": one.late_s / 60,
            "missed_frac": one.missed_frac,
            "busy_with": one.busy_ticket,
            "sitting": one.sitting,
        }
        for one in plan.missed_pulls
    ]


def kept_said(kept: int | None) -> list[str]:
    """Return how many promises were written down."""
    if kept is None:
        return []
    wrote = counted(kept, "promise")
    return [f"{wrote} written into the notes; 'drybox note list --kind promised' shows them."]


def since_noted(plan: DayPlan, zone: str) -> list[str]:
    """Return what comes first in the middle of the day: promises in danger, and what is fixed."""
    if plan.now is None:
        return []
    given = [ticket for ticket in _given(plan) if not _past(ticket, plan)]
    past = [ticket.ticket for ticket in _given(plan) if _past(ticket, plan)]
    danger = [ticket for ticket in given if _in_danger(ticket, plan)]
    counts = Counter(ticket.stage for ticket in plan.tickets)
    noted = [f"{counts[stage]} {said}" for stage, said in SO_FAR.items() if counts[stage]]
    found = []
    if danger:
        first = danger[0]
        sure = first.promised_range_s.p90
        looks = "it is not sure to come" if sure is None else f"now {clock(sure, zone)}"
        found.append(
            f"In danger: {_tickets([ticket.ticket for ticket in danger])}. Tell "
            f"{first.name or f'ticket {first.ticket}'} first: promised for "
            f"{clock(first.promised_at or 0.0, zone)}, {looks}."
        )
    elif given:
        count = "The promise" if len(given) == 1 else f"All {len(given)} promises"
        found.append(f"{count} given and still open {'holds' if len(given) == 1 else 'hold'}.")
    if past:
        found.append(
            f"The time promised is past for {_tickets(past)}, not noted as handed over: drybox "
            "note handed NUMBER."
        )
    at = clock(plan.now.now_at, zone)
    found.append(
        f"As it stands at {at}: {listed(noted) if noted else 'nothing is noted of a ticket'}."
    )
    found += _sun_said(plan, zone)
    if plan.overdue:
        few = len(plan.overdue) == 1
        late = [ticket for ticket in plan.tickets if ticket.ticket in plan.overdue]
        touch = any(ticket.dry_at.p90 is None for ticket in late)
        found.append(
            f"Look now: {_tickets(plan.overdue)} should be {'touch dry or ' if touch else ''}dry "
            f"by this time and {'is' if few else 'are'} not noted so. What is dry: drybox note dry "
            f"NUMBER{'; touch dry: drybox note touch NUMBER' if touch else ''}."
        )
    if plan.now.unlaid:
        found.append(
            f"Noted dry, but not as laid on: {_tickets(plan.now.unlaid)}, taken to be wet still. "
            "If it is dry: drybox note laid NUMBER --at HH:MM; if not: drybox note undo ID."
        )
    if plan.now.left_out:
        found.append(
            f"{capital(_tickets(plan.now.left_out))} not noted to have sat though a later one is: "
            "left out. If one did sit: drybox note sat NUMBER."
        )
    if plan.now.strangers:
        names = ", ".join(plan.now.strangers)
        found.append(f"Noted, but no ticket of this day: {names}.")
    return found


def _sun_said(plan: DayPlan, zone: str) -> list[str]:
    """Return since when the sun is gone, and when it is taken to be back."""
    if plan.now is None or not plan.now.gone_s:
        return []
    gone_at, noted_at = plan.now.gone_s[-1]
    since, back = clock(gone_at, zone), plan.now.back_at
    if math.isfinite(noted_at):
        return [f"The sun was gone from {span(gone_at, noted_at, zone)}, as noted."]
    ends = [clock(at, zone) for at in (back.p50, back.p90) if at is not None]
    return [
        f"The sun is gone since {since}, as noted, in every drawn day; as cloud lasts it is back "
        f"by {ends[0]} in half of them and by {ends[-1]} in nine of ten, and the sky then as "
        "told. Once it is: drybox note sun back. If it stays gone: --cloud 8/8."
    ]


def sun_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return from when until when the sun was noted gone, as the record holds it."""
    if plan.now is None:
        return []
    back = plan.now.back_at.record()
    return [
        {"from_at": gone_at, "noted_back_at": noted_at, "back_at": None}
        if math.isfinite(noted_at)
        else {"from_at": gone_at, "noted_back_at": None, "back_at": back}
        for gone_at, noted_at in plan.now.gone_s
    ]


def noted_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return the notes that a plan of a day under way stands on, as the record holds them."""
    if plan.now is None:
        return []
    return [
        {
            "id": note.id,
            "kind": note.kind,
            "noted_at": note.at_s,
            "ticket": note.ticket,
            "way": note.way or (LAID_ON if note.kind == "laid" else ""),
            "state": note.state,
        }
        for note in plan.event.noted
        if note.kind in (*SO_FAR, "sun") and not is_slip(note, plan.now.unlaid)
    ]


SO_FAR = {
    "sat": "sat",
    "laid": "laid on",
    "touch": "touch dry",
    "dry": "dry",
    "handed": "handed over",
}


def _past(ticket: TicketPlan, plan: DayPlan) -> bool:
    return plan.now is not None and (ticket.promised_at or 0.0) < plan.now.now_at


def _in_danger(ticket: TicketPlan, plan: DayPlan) -> bool:
    return any(risk.ticket == ticket.ticket for risk in plan.broken)


def _tickets(names: Sequence[str]) -> str:
    """Return tickets by their number.

    >>> _tickets(["7"]), _tickets(list("1234567"))
    ('ticket 7', 'tickets 1, 2, 3, 4, 5 and 2 more')
    """
    few = [*names] if len(names) <= MOST_NAMED + 1 else [*names[:MOST_NAMED]]
    few += [f"{len(names) - len(few)} more"] * (len(few) < len(names))
    return f"{'ticket' if len(names) == 1 else 'tickets'} {listed(few)}"


def _given(plan: DayPlan) -> list[TicketPlan]:
    """Return the open promises: in danger, the worst first; that hold; whose time is past."""
    place = {risk.ticket: number for number, risk in enumerate(plan.broken)}
    return sorted(
        (one for one in plan.tickets if one.promised_at is not None and one.stage != "handed"),
        key=lambda one: (_past(one, plan), place.get(one.ticket, len(place))),
    )


def given_table(plan: DayPlan, zone: str) -> list[Table]:
    """Return what was promised beside what it looks like now, in the middle of the day."""
    given = _given(plan) if plan.now is not None else []
    rows = [
        {
            "ticket": ticket.ticket + (f" {ticket.name}" if ticket.name else ""),
            "promised": clock(ticket.promised_at or 0.0, zone),
            "looks": "–".join(
                "" if end is None else clock(end, zone)
                for end in (ticket.promised_range_s.p10, ticket.promised_range_s.p90)
            ),
            "keeps_frac": ticket.promised_keeps_frac,
            "danger": _mark(ticket, plan),
        }
        for ticket in given
    ]
    columns = (
        Column("ticket", "No."),
        Column("promised", "promised"),
        Column("looks", "looks like"),
        Column("keeps_frac", "kept"),
        Column("danger", ""),
    )
    return [Table("Promises given", columns, rows)] if rows else []


def _mark(ticket: TicketPlan, plan: DayPlan) -> str:
    if _past(ticket, plan):
        return "time is past"
    return "in danger" if _in_danger(ticket, plan) else ""


def given_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return what was promised beside what it looks like, those in danger first."""
    return [
        fields_of(ticket, "ticket", "promised_at")
        | {"looks_at": ticket.promised_range_s.record(), "keeps_frac": ticket.promised_keeps_frac}
        for ticket in _given(plan)
    ]
