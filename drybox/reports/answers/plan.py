"""What the plan of an event day says: a table to work from, and what holds the day up."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybox.inputs.event.ways import ON_PLATE
from drybox.planning.aim.wind import WindOnBox, day_wind
from drybox.planning.day.plan import DayPlan
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.supplies import liquids_kg, water_l
from drybox.planning.day.what_if import WhatIf
from drybox.planning.wet.baths import Supply
from drybox.reports.answers.baths import supply_record
from drybox.reports.answers.finish import stage_record
from drybox.reports.text import plan_words, promise_words
from drybox.reports.text.answer import (
    Answer,
    Column,
    Table,
    answer_for,
    echo_given,
    echo_inputs,
    fields_of,
)
from drybox.reports.text.cautions import WARM_BATH_K, cautions
from drybox.reports.text.heat_words import metal_record
from drybox.reports.text.phrases import capital, clock, liquid_said
from drybox.reports.text.readings import echo_readings
from drybox.reports.text.spot_words import (
    break_records,
    spot_records,
    spot_table,
    wind_record,
    wind_warned,
)
from drybox.reports.text.weather_words import with_weather

LONGEST_NAME = 10
WIDE = (
    Column("ticket", "Ticket"),
    Column("name", "name"),
    Column("arrives_at", "arrives"),
    Column("sitting_at", "sits"),
    Column("wet_end_at", "fixed"),
    Column("wash_from_at", "in the wash"),
    Column("washed_at", "washed"),
    Column("way", "way"),
    Column("slot", "slot"),
    Column("laid_on_at", "on at"),
    Column("touch_dry_at", "touch dry"),
    Column("dry_at", "dry"),
    Column("ready_at", "dry and flat"),
    Column("promise_at", "promise"),
    Column("promise_after_min", "after the sitting"),
    Column("hand_over", "hand over"),
    Column("keeps_frac", "kept"),
    Column("why", "because"),
)
NAME = Column("who", "who")
WASH = Column("wash_from_at", "wash")
NARROW = (
    Column("ticket", "No."),
    Column("sitting_at", "sits"),
    Column("wet_end_at", "fixed"),
    WASH,
    Column("washed_at", "out"),
    Column("laid_on_at", "on at"),
    Column("where", "where"),
    Column("dry_range", "dry/touch"),
    Column("promise", "promise"),
)
SHORT_STATES = {"damp": " damp", "touch_dry": " touch", "pick_up": " fetch"}
WHY = {
    "": "",
    "touch_dry": "not sure to be dry in time",
    "fetched_dry": "dry only after the wait; to be fetched then",
    "fetched_touch_dry": "touch dry only after the wait; to be fetched then",
    "not_washed": "not sure to be washed in time",
    "no_water": "the day's water does not last for its wash",
    "no_place": "no place came free for it in time",
    "no_way": "no way dries it in time",
    "if_lucky": "not sure to be dry in time; dry if lucky",
}
"""Why a print is handed over otherwise than dry."""

PICK_UP = (
    Column("ticket", "No."),
    Column("name", "name"),
    Column("from_at", "from"),
    Column("state", "then"),
)
NO_GAIN = "no more prints by it"
FEWER = " (below zero: fewer)"
ONE = {"pieces": "piece", "sheets": "sheet", "tickets": "ticket", "pairs": "pair"}
GOODS = (Column("what", "What"), Column("amount", "amount"))
UNDER_CLOSED = (
    "The cloud is not told: what is promised here holds under a closed sky; --sky or --cloud says "
    "which it is."
)


def plan_answer(
    plan: DayPlan,
    *,
    units: str = "metric",
    wide: bool = False,
    kept: int | None = None,
) -> Answer:
    """Return the answer of ``drybox plan``.

    ``wide`` begins with the table of all columns, for a spreadsheet, not the one that fits a page.
    ``kept`` tells how many promises were written into the notes.
    """
    clear = plan.other_sky
    event, zone = plan.event, plan.event.place.timezone
    rows = [_record(ticket) for ticket in plan.tickets]
    tables = [Table("Sitters", WIDE, rows, name="sitters")] if wide else [_page(plan, zone)]
    first = [] if wide else promise_words.given_table(plan, zone)
    record = _result(plan, rows)
    said = [
        *promise_words.since_noted(plan, zone),
        *plan_words.lead(plan, zone, units),
        *promise_words.by_chance(plan),
        *promise_words.kept_said(kept),
    ]
    if clear is not None:
        said = [UNDER_CLOSED, *said, f"Under a clear sky: {plan_words.lead(clear, zone, units)[0]}"]
        of_clear = _result(clear, [_record(ticket) for ticket in clear.tickets])
        record |= {"if_clear": of_clear, "if_overcast": _result(plan, rows)}
    wind, stages = _wind(plan), {row["stage"] for row in stage_records(plan)}
    return answer_for(
        event,
        "plan",
        told=[
            *echo_inputs(plan.inputs.resolved),
            *echo_inputs(plan.finish.resolved if plan.finish and plan.finish.stages else ()),
            *echo_readings(event, plan.readings),
            *echo_given("plan", members=plan.members, seed=plan.seed),
        ],
        result=record,
        lead=with_weather(said, event, units, after=1 if clear is None else 2),
        tables=[*first, *tables, *promise_words.hour_table(plan, zone), *_more(plan, units, zone)],
        assumptions=plan_words.stands_on(plan, units),
        warnings=[
            *plan_words.warnings(plan, zone, units),
            *promise_words.pull_warning(plan, zone),
            *wind_warned(wind, units),
            *event.warnings,
            *plan.inputs.warnings,
        ],
        cautions=plan_words.handling(plan)
        + cautions(
            "chemicals",
            "silver_waste",
            wind is not None and plan.hottest_k is None and "hot_metal",
            event.powered is not None and "electricity",
            any(ticket.way in ON_PLATE for ticket in plan.tickets) and "magnets",
            "trim" in stages and "blades",
            "dry mount" in stages and "press",
            "dry mount" in stages and event.powered is None and "electricity",
            not stages.isdisjoint({"spot", "hinges", "dry mount"}) and "solvents",
            plan.inputs.process.temp_k > WARM_BATH_K and "warm_baths",
            "sun",
            "estimate",
        ),
    )


def _wind(plan: DayPlan) -> WindOnBox | None:
    """Return what the wind does to the box, where there is one."""
    if plan.no_plate or not plan.plate_slots:
        return None
    return day_wind(plan.event, plan.aim)


def _record(ticket: TicketPlan) -> dict[str, Any]:
    return {
        **fields_of(ticket, "ticket", "sitting_at", "wet_end_at", "washed_at"),
        **fields_of(ticket, "way", "slot", "laid_on_at"),
        "touch_dry_at": ticket.touch_dry_at.record(),
        "dry_at": ticket.dry_at.record(),
        "promise_at": ticket.promise_at,
        "promise_after_min": promise_words.minutes_of(ticket.promise_after_s),
        **fields_of(ticket, "hand_over", "name", "arrives_at", "wash_from_at"),
        "ready_at": ticket.ready_at.record(),
        "ready_as": ticket.ready_as or None,
        "after_sitting_minutes": ticket.after_sitting_s.minutes(),
        "after_arrival_minutes": ticket.after_arrival_s.minutes(),
        **fields_of(ticket, "keeps_frac", "promised_at", "promised_keeps_frac"),
        "stage": ticket.stage or None,
        "why": WHY[ticket.why] + (f"as ticket {ticket.waits_for}" if ticket.waits_for else ""),
    }


def _result(plan: DayPlan, rows: list[dict[str, Any]]) -> dict[str, Any]:
    kept = plan.kept_frac
    return {
        "sitters": rows,
        "sit_now": promise_words.hour_records(plan),
        "now_at": None if plan.now is None else plan.now.now_at,
        "noted": promise_words.noted_records(plan),
        "overdue": list(plan.overdue),
        "sun_gone": promise_words.sun_records(plan),
        "promises_given": promise_words.given_records(plan),
        "missed_pulls": promise_words.pull_records(plan),
        **fields_of(plan, "last_dry_ticket", "bottleneck", "utilisation"),
        "what_if": [_what_if_record(tried) for tried in plan.what_if],
        "water": _water_record(plan),
        "pick_up": [_pick_up_record(ticket) for ticket in _fetched(plan)],
        "energy_wh": float(np.mean(plan.run.energy_j)) / 3600.0,
        "finishing": stage_records(plan),
        "dry_to_ready_minutes": plan.run.lone_s / 60,
        "bring": [supply_record(supply) for supply in plan.bring],
        "take_home": [supply_record(supply) for supply in plan.baths.take_home],
        "not_reached": list(plan.not_reached),
        "kept_frac": None if kept is None else {"by_p90": kept[0], "by_promise": kept[1]},
        "spots": spot_records(plan.spots),
        "breaks": [
            row | {"instead": plan.way_between(row["from_at"], row["until_at"]) or None}
            for row in break_records(plan.spots)
        ],
        **metal_record(plan.event.box, plan.metal_k, plan.powered_metal_k),
        "wind": wind_record(_wind(plan)),
        "pauses": [{"from_at": a, "until_at": b} for a, b in plan.inputs.day.breaks_s],
        "tank_changes": plan_words.tank_changes(plan),
        "promises_at_risk": [
            fields_of(risk, "ticket", "promised_at")
            | {"earliest_at": risk.promised_range_s.p10, "sure_at": risk.promised_range_s.p90}
            | {"keeps_frac": risk.promised_keeps_frac}
            for risk in plan.broken
        ],
        "slots": slot_records(plan),
        "off_plate_way": plan.off_plate_way or None,
    }


def _water_record(plan: DayPlan) -> dict[str, Any]:
    limit = plan.inputs.day.water_m3
    return {
        "needed_l": water_l(plan.bring),
        "at_hand_l": None if limit is None else limit * 1e3,
        "liquids_kg": liquids_kg(plan.bring),
    }


def _what_if_record(tried: WhatIf) -> dict[str, Any]:
    first, last = tried.span_s or (None, None)
    return {
        **fields_of(tried, "change", "more_dry_prints"),
        **fields_of(tried, "more_touch_dry_prints", "more_by_closing_prints"),
        "costs": [supply_record(supply) for supply in tried.costs],
        "from_at": first,
        "until_at": last,
        "why": tried.why,
    }


def slot_records(plan: DayPlan) -> dict[str, int]:
    """Return the places on each way that takes part, the plate and the line by their short name."""
    slots = plan.run.setup.resources.slots
    short = {"sun_plate": "plate", "line_shade": "line"}
    return {"plate": 0, "line": 0} | {short.get(way, way): n for way, n in slots.items()}


def _page(plan: DayPlan, zone: str) -> Table:
    """Return the table that fits 80 columns; with names it leaves out when the wash begins."""
    named = any(ticket.name for ticket in plan.tickets)
    first, *others = NARROW
    columns = (first, NAME, *(one for one in others if one is not WASH)) if named else NARROW
    rows = [_short(ticket, zone) for ticket in plan.tickets]
    for row in rows:
        if row["ticket"] in plan.overdue:
            row["dry_range"] = "look now"
    return Table("Sitters", columns, rows, name="sitters")


def _short(ticket: TicketPlan, zone: str) -> dict[str, Any]:
    name = ticket.name
    place = "–" if ticket.way is None else f"{plan_words.ON[ticket.way]} {ticket.slot}"
    at_touch = "touch_dry" in (ticket.hand_over, ticket.ready_as)
    mark = ticket.touch_dry_at if at_touch else ticket.dry_at
    ends = ["" if end is None else clock(end, zone) for end in (mark.p10, mark.p90)]
    span = "–".join(dict.fromkeys(ends)) if ends[0] else "–"  # one time where it is noted
    told = "mail" if ticket.promise_at is None else clock(ticket.promise_at, zone)
    return _record(ticket) | {
        "who": name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…",
        "where": place,
        "dry_range": span,
        "promise": told + SHORT_STATES.get(ticket.hand_over, ""),
    }


def _fetched(plan: DayPlan) -> list[TicketPlan]:
    """Return those who come back for their print later, in order of time."""
    found = [ticket for ticket in plan.tickets if ticket.hand_over == "pick_up"]
    return sorted(found, key=lambda ticket: ticket.promise_at or 0.0)


def _pick_up_record(ticket: TicketPlan) -> dict[str, Any]:
    return {
        "ticket": ticket.ticket,
        "name": ticket.name,
        "from_at": ticket.promise_at,
        "state": ticket.ready_as,
    }


def _more(plan: DayPlan, units: str, zone: str) -> list[Table]:
    if not plan.tickets:
        return []
    fetched = [
        _pick_up_record(ticket) | {"state": promise_words.IN_SHORT.get(ticket.ready_as, "")}
        for ticket in _fetched(plan)
    ]
    busy = [{"what": name, "busy_frac": share} for name, share in plan.utilisation.items()]
    shares = (Column("what", "What"), Column("busy_frac", "of open hours"))
    there = plan.now is not None  # at the fair nothing is packed any more
    return [
        *([Table("Who comes back, and when", PICK_UP, fetched)] if fetched else []),
        *_what_if_table(plan, units, zone),
        Table("How busy", shares, busy, on_request=True),
        *_finish_table(plan),
        spot_table(plan.spots, zone),
        _goods("Bring", plan.bring, units, name="bring", there=there),
        _goods("Take home", plan.baths.take_home, units, name="", there=there),
    ]


def _goods(title: str, goods: tuple[Supply, ...], units: str, *, name: str, there: bool) -> Table:
    rows = [_said(supply, units) for supply in goods]
    return Table(title, GOODS, rows, on_request=there, name=name)


def _what_if_table(plan: DayPlan, units: str, zone: str) -> list[Table]:
    """Return what each change brings, with prints to be fetched later where those gain more."""
    fetched = any(ticket.hand_over == "pick_up" for ticket in plan.tickets)
    rows, fewer = [], False
    for tried in plan.what_if:
        gains = [tried.more_dry_prints, tried.more_touch_dry_prints, tried.more_by_closing_prints]
        said = [f"{round(gain, 1) + 0.0:+.1f}" for gain in gains[: 3 if fetched else 2]]
        idle = tried.why or (all(gain <= 0.0 for gain in map(float, said)) and NO_GAIN)
        fewer |= not idle and any(gain.startswith("-") for gain in said)
        more, touch, *later = ["none", "", ""] if idle else said
        cells = {"more": more, "touch": touch, "later": "".join(later)}
        why = idle or plan_words.costs_said(tried, units)
        rows.append({"change": plan_words.cure_said(tried, zone), **cells, "why": why})
    columns = (
        *(Column("change", "What if"), Column("more", "dry"), Column("touch", "touch")),
        *((Column("later", "by closing"),) if fetched else ()),
        Column("why", "costs"),
    )
    title = "What one more would bring" + (FEWER if fewer else "")
    return [Table(title, columns, rows)] if rows else []


def _finish_table(plan: DayPlan) -> list[Table]:
    rows = stage_records(plan)
    columns = (
        Column("stage", "After drying"),
        Column("hands_min", "hands", digits=1),
        Column("alone_min", "alone"),
        Column("at_once", "at once"),
    )
    return [Table("Stages after drying, each print", columns, rows)] if rows else []


def stage_records(plan: DayPlan) -> list[dict[str, Any]]:
    """Return the stages after drying as the record holds them."""
    return [
        stage_record(stage) | {"at_once": stage.places or None}
        for stage in (plan.finish.stages if plan.finish else ())
    ]


def _said(supply: Supply, units: str) -> dict[str, Any]:
    amount = liquid_said(supply.amount, supply.unit, units)
    if not amount:
        unit = ONE.get(supply.unit, supply.unit) if supply.amount == 1.0 else supply.unit
        amount = f"{supply.amount:g} {unit}"
    return {"what": capital(supply.what), "amount": amount}
