"""The sentences of a day's plan."""

from __future__ import annotations

import math
from collections import Counter
from itertools import groupby
from typing import Any

import numpy as np

from drybox.inputs.event.ways import WAY
from drybox.inputs.wet.process import Process
from drybox.inputs.wet.wash import WashSetup
from drybox.planning.day.plan import DayPlan
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.supplies import liquids_kg, water_l
from drybox.planning.day.what_if import WhatIf
from drybox.planning.wet.baths import BathPlan, BathUse, BathWarning, Supply
from drybox.planning.wet.wash import WashPlan
from drybox.planning.wet.words import grams, minutes
from drybox.readable import counted
from drybox.reports.text.heat_words import metal_said, no_plate_said, spans_said, temp_said
from drybox.reports.text.phrases import capital, clock, listed, say, sentence, span
from drybox.reports.text.readings import outliers
from drybox.reports.text.readings import stands_on as about
from drybox.reports.text.spot_words import break_said
from drybox.tables import load_table
from drybox.units import celsius

ON = {
    "sun_plate": "plate",
    "line_shade": "line",
    "line_sun": "open line",
    "screen_shade": "screen",
    "blotters": "blotter",
    "warm_plate": "w. plate",
    "warm_air": "warm air",
}
LINES = {
    "line_shade": "a line in the shade",
    "line_sun": "a line in the open",
    "screen_shade": "screens in the shade",
}
TOUCH_WORDS = (
    'Say with a touch-dry print: "It is still drying inside. Carry it open between these blotters, '
    'lay it face up tonight; no folder and no plastic before tomorrow."'
)
TOUCH_WORDS_COATED = (
    'Say with a touch-dry print: "Its face is still drying. Carry it open, face up; folder or '
    'sleeve once it feels dry and slides under a finger, within the hour."'
)
COUNTED = ("pieces", "times")
NO_PRINT = {
    "not_washed": "none is sure to be washed in time",
    "no_water": "the day's water does not last to wash one",
    "no_place": "no place to dry comes free in time",
}
"""Why none can be promised, where that holds for each and is no matter of drying."""

LONG_WAIT_S = 1200.0
"""Wait for a sitting above which a warning is given. [s]"""

LONG_RUN = 4
"""So many tickets in a row are said by the first and the last (judgement)."""

FETCHED_WORTH = 0.5
"""Prints to be fetched dry that a change must bring for a word of it."""


def lead(plan: DayPlan, zone: str, units: str) -> list[str]:
    """Return what to know first: the last dry print, the counts, what holds the day up."""
    if not plan.tickets:
        if plan.not_reached:
            return ["Nobody is reached before the closing."]
        return ["Nobody comes: there is nothing to promise."]
    water = litres(water_l(plan.bring), units)
    heavy = f"{say('liquids_kg', liquids_kg(plan.bring), units)} of liquids to carry in all"
    found = [_last(plan, zone), counts_said(plan), _holds_up(plan)]
    found += [f"Water: {water} to rinse and wash; {heavy}.", *water_short_said(plan, units)]
    if any(ticket.hand_over == "touch_dry" for ticket in plan.tickets):
        found.append(TOUCH_WORDS_COATED if plan.event.paper.resin_coated else TOUCH_WORDS)
    found += lucky_said(plan)
    if plan.run.energy_j.any():
        needs = say("energy_wh", float(np.mean(plan.run.energy_j)) / 3600.0)
        found.append(f"The powered drier takes about {needs} over the day.")
    found += [break_said(gap, zone) for gap in plan.spots.breaks]
    found += [f"{change['what']}." for change in tank_changes(plan)]
    if plan.no_plate is not None:
        found.append(sentence(f"No sun plate: {no_plate_said(plan.no_plate, units, mend=True)}"))
    if plan.aim is not None and plan.aim.held_below_k is not None:
        held = say("held_temp_c", celsius(plan.aim.held_below_k), units)
        found.append(
            f"The box is aimed off the sun, to keep the empty plate below {held} as asked; "
            "'drybox aim' says how."
        )
    if plan.too_hot_s and plan.no_plate is None:
        found.append(
            f"Lay nothing on the plate from {spans_said(plan.too_hot_s, zone)}: a print "
            "would be kept over its limit of heat. 'drybox dry' then says what keeps it cooler."
        )
    if plan.kept_frac is not None:
        p90, rounded = (f"{100 * share:.0f} %" for share in plan.kept_frac)
        found.append(
            "Promises are given at the sitting: times that nine prints in ten keep, rounded up to "
            f"5 min. {rounded} of the drawn prints are ready by then ({p90} before rounding)."
        )
    return [
        *found,
        *metal_said(plan.metal_k, units, plan.event.box, powered_k=plan.powered_metal_k),
    ]


def lucky_said(plan: DayPlan) -> list[str]:
    """Return which prints lie there to the last with luck."""
    names: list[str] = []
    for lucky, run in groupby(plan.tickets, key=lambda ticket: ticket.why == "if_lucky"):
        tickets = [ticket.ticket for ticket in run if lucky]
        names += tickets if len(tickets) < LONG_RUN else [f"{tickets[0]} to {tickets[-1]}"]
    if not names:
        return []
    one = sum(ticket.why == "if_lucky" for ticket in plan.tickets) == 1
    who = "ticket" if one else "tickets"
    return [
        f"Dry only with luck by the time promised: {who} {listed(names)}. Whoever cannot wait "
        f"takes {'it' if one else 'theirs'} damp."
    ]


def litres(amount_l: float, units: str) -> str:
    """Return water as the packing list has it, whole litres without a tenth."""
    return say("amount_l", amount_l, units, digits=int(round(amount_l, 6) % 1.0 > 0.0))


def water_short_said(plan: DayPlan, units: str) -> list[str]:
    """Return for how many prints the day's water lasts, where it does not for all."""
    needs, limit = water_l(plan.bring), plan.inputs.day.water_m3
    if limit is None or needs <= limit * 1e3:
        return []
    there, needed = litres(limit * 1e3, units), litres(needs, units)
    away = [ticket.ticket for ticket in plan.tickets if ticket.why == "no_water"]
    washed = f"{len(plan.tickets) - len(away)} of {len(plan.tickets)} prints"
    first = f"; from ticket {away[0]} on prints go unwashed by mail" if away else ""
    aid = "" if plan.inputs.wash.wash_aid else ", or wash aid"
    return [
        f"The water does not last: {there} at hand, {needed} needed, enough for {washed}{first}. "
        f"Bring more{aid}."
    ]


def _last(plan: DayPlan, zone: str) -> str:
    last = next((t for t in reversed(plan.tickets) if t.hand_over == "dry"), None)
    if last is None or last.promise_at is None:
        (why, *others) = {ticket.why for ticket in plan.tickets}
        if NO_PRINT.get(why) and not others:
            return f"No print can be promised dry: {NO_PRINT[why]}."
        wait = minutes(plan.inputs.day.wait_limit_s)
        return (
            "No print can be promised dry: nine in ten are not ready within "
            f"{wait} of the sitting, or by the closing."
        )
    name = f" ({last.name})" if last.name else ""
    return (
        f"The last sitter to go home with a dry print is ticket {last.ticket}{name}: sits at "
        f"{clock(last.sitting_at, zone)}, promised for {clock(last.promise_at, zone)}."
    )


def counts_said(plan: DayPlan) -> str:
    """Return how many prints there are, by how they are handed over."""
    coated = {"touch_dry": "touch dry, carried open"} if plan.event.paper.resin_coated else {}
    counts: Counter[str] = Counter(ticket.hand_over for ticket in plan.tickets)
    parts = [f"{counts[kind]} {said}" for kind, said in (KINDS | coated).items() if counts[kind]]
    text = f"{counted(len(plan.tickets), 'print')}: {listed(parts)}."
    away = plan.not_reached
    if away:
        text += (
            f" {len(away)} more would not be reached before the closing: turn people away from "
            f"ticket {away[0]} on."
        )
    return text


KINDS = {
    "dry": "handed over dry",
    "touch_dry": "touch dry between blotters",
    "pick_up": "to be fetched later",
    "damp": "damp in a sleeve",
    "mail": "by mail",
}


ENDS = {
    "nothing": "Nothing holds the day up",
    "water": "What holds the day up: the water",
    "battery": "What holds the day up: the battery",
    "heat": "What holds the day up: the plate, too hot for a print",
    "aim": "What holds the day up: the aim, away from the sun",
    "drying": "What ends the day: drying takes longer than sitters wait",
    "closing": "What ends the day: the closing comes before the last prints are dry",
    "places": "What holds the day up: no place to dry comes free in time",
}
"""What holds the day up, or ends it, where no one thing is busy."""


def _holds_up(plan: DayPlan) -> str:
    name = plan.bottleneck
    assert name is not None  # there are tickets
    best = [tried for tried in plan.what_if if tried.more_dry_prints > 0.05][:3]
    zone = plan.event.place.timezone
    more = "; ".join(f"{cure_said(tried, zone)}: {tried.more_dry_prints:.1f}" for tried in best)
    gain = (f" More dry prints by {more}." if more else "") + _fetched_gain(plan)
    if name in ENDS:
        return f"{ENDS[name]}.{gain}"
    share = plan.utilisation[name]
    return f"What holds the day up: the {name}, busy {100 * share:.0f} % of the time.{gain}"


def _fetched_gain(plan: DayPlan) -> str:
    """Return what would bring most prints to be fetched dry, of what brings none in time."""
    late = [tried for tried in plan.what_if if tried.more_dry_prints <= 0.05]
    best = max(late, key=lambda tried: tried.more_by_closing_prints, default=None)
    if best is None or best.more_by_closing_prints < FETCHED_WORTH:
        return ""
    cure = cure_said(best, plan.event.place.timezone)
    return f" More prints dry by the closing by {cure}: {best.more_by_closing_prints:.1f}."


def cure_said(tried: WhatIf, zone: str) -> str:
    """Return a change in words, with its time, or how an aim is got."""
    if tried.hold_k is not None:
        return f"{tried.change} (hold_below {celsius(tried.hold_k):.0f}C)"
    if tried.span_s is None:
        return tried.change
    return f"{tried.change} {span(*tried.span_s, zone)}"


def costs_said(tried: WhatIf, units: str) -> str:
    """Return what a change costs, and what it spares with a minus."""

    def amount(cost: Supply) -> str:
        if cost.unit == "l":
            return say("amount_l", cost.amount, units, digits=1)
        return f"{cost.amount:g}{'' if cost.unit in COUNTED else f' {cost.unit}'}"

    return ", ".join(f"{amount(cost)} {cost.what}" for cost in tried.costs)


def warnings(plan: DayPlan, zone: str, units: str) -> list[str]:
    """Return what of the day is likely to go wrong."""
    found = [_risk(risk, zone) for risk in plan.broken if plan.now is None]  # else in the table
    found += _wait_said(plan, zone)
    if not plan.wash.reached:
        why = wash_why_said(plan.inputs.wash, plan.wash)
        found.append(sentence(f"Wash: {why}; hand the rewash note over with each print"))
    found += bath_warnings(plan.inputs.process, plan.baths, units)
    found += _too_much_finishing(plan)
    return found + outliers(plan.event, plan.readings, units)


def _wait_said(plan: DayPlan, zone: str) -> list[str]:
    """Return who waits long to be sat, and whether a break is why."""
    if plan.longest_wait is None:
        return []
    worst, pause = plan.longest_wait
    wait_s = worst.sitting_at - worst.arrives_at
    if wait_s <= LONG_WAIT_S:
        return []
    waits = f"ticket {worst.ticket} waits {say('minutes', wait_s / 60)} to be sat"
    if pause is None:
        return [
            f"Sitters come faster than they can be served: {waits}. Let fewer come, or shorten "
            "the sittings."
        ]
    return [f"{capital(waits)}, for the break from {span(*pause, zone)}: ask nobody to come in it."]


def wash_why_said(setup: WashSetup, plan: WashPlan) -> str:
    """Return why this wash was chosen, or that none meets the aim."""
    whose = "your" if setup.target.name == "your own" else f"the {setup.target.name}"
    aim = f"{whose} aim of {grams(plan.target_kg_m2)}"
    at_hand = ["the water at hand"] if setup.water_m3 else []
    at_hand += [minutes(setup.time_s)] if setup.time_s else []
    within = f" with {' and '.join(at_hand)}" if at_hand else ""
    if not plan.reached:
        longest = minutes(setup.rules.longest_wash_s)
        limit = within or f" in {longest}, the longest wash that makes sense"
        return f"{aim} is out of reach{limit}; this is the best that can be had"
    if plan.goal == "best result":
        return f"this gets the most out of the print{within}, and meets {aim}"
    return f"the {plan.goal} that meets {aim}{within}"


def bath_why_said(process: Process, use: BathUse) -> str:
    """Return what ends a bath's fill."""
    bath = next(bath for bath in process.baths if bath.name == use.bath)
    return {
        "area": "the paper it has worked on",
        "dilution": f"carry-over thins it to {100 * bath.least_strength_frac:.0f} %",
        "level": f"its level is down by {100 * process.level_loss_frac:.0f} %",
        "life": f"it keeps for {bath.life_s / 3600:.0f} h once poured",
        "none": "nothing today",
    }[use.limit]


def bath_warnings(process: Process, plan: BathPlan, units: str) -> list[str]:
    """Return what is amiss with the baths, a sentence each."""
    return [_bath_warning(process, found, units) for found in plan.warnings]


def _bath_warning(process: Process, found: BathWarning, units: str) -> str:
    if found.use is not None:
        return f"The {found.use.bath} is spent now: {bath_why_said(process, found.use)}."
    temp, limit = temp_said(found.temp_k, units), temp_said(found.limit_k, units)
    if found.code == "too_cold":
        return f"At {temp} developer nearly stops: warm the tanks above {limit}."
    if temp == limit:
        temp = say("temp_c", celsius(found.temp_k), units, digits=1)
    near = "5 °F" if units == "us" else "3 °C"
    return (
        f"At {temp} gelatin swells and softens: cool the tanks below {limit} and keep all baths "
        f"within {near}."
    )


HANDLING = {
    "damp": "A print handed over damp goes between blotters into a stiff sleeve, never into closed "
    "plastic, with the note to dry it face up that night.",
    "touch_dry": "Touch dry: no longer tacky, taken along open between blotters, never in plastic "
    "nor a folder, with the note to let it dry face up that night.",
}


def handling(plan: DayPlan) -> list[str]:
    """Return how prints that are not dry are handed over, where there are such."""
    states = {ticket.hand_over for ticket in plan.tickets}
    if plan.event.paper.resin_coated:
        states -= {"touch_dry"}  # what to say with it is all that is to be known
    return [said for state, said in HANDLING.items() if state in states]


def _too_much_finishing(plan: DayPlan) -> list[str]:
    """Say it where finishing alone keeps hands longer than an hour of work has."""
    finish, day = plan.finish, plan.inputs.day
    if finish is None or not finish.stages:
        return []
    hours = (plan.event.closes_at - plan.event.opens_at) / 3600
    dry = sum(ticket.hand_over in ("dry", "pick_up") for ticket in plan.tickets)
    each_hour = dry / hours * finish.hands_s / 60
    camera = 0.0 if finish.helpers else plan.utilisation["hands"] * 60 * day.operators
    most = load_table("finish_stages")["hands"]["most_an_hour"].value / 60
    hands = finish.helpers or day.operators
    over = camera - most * hands
    if each_hour < 0.5 or each_hour <= abs(over):  # it fits, or is the least of what is too much
        return []
    own = "" if finish.helpers else f", beside {camera:.0f} min for sittings and baths"
    return [
        f"Finishing takes {each_hour:.0f} min of each hour{own}: more than {most * hands:.0f} min "
        "that hands have. A helper, or fewer stages."
    ]


def _risk(risk: TicketPlan, zone: str) -> str:
    promised_at, ready = risk.promised_at or 0.0, risk.promised_range_s
    text = f"Ticket {risk.ticket} was promised for {clock(promised_at, zone)}"
    if ready.p10 is not None and promised_at < ready.p10:
        return f"{text}, before it can be ready: {clock(ready.p10, zone)} at the earliest."
    if ready.p90 is None:
        return f"{text}, but it is not sure to be dry in time."
    return f"{text}; nine in ten are ready only by {clock(ready.p90, zone)}."


def stands_on(plan: DayPlan, units: str) -> list[str]:
    """Return what the plan takes for granted."""
    event, day, wash = plan.event, plan.inputs.day, plan.wash
    resources = plan.run.setup.resources
    hands = counted(day.operators, "pair", "one")
    several = f"up to {wash.prints} prints" if wash.prints > 1 else "one print"
    trays = "tray" if resources.wash_trays == 1 else "trays"
    found = [
        f"{plan.members} drawn days (seed {plan.seed}) of weather, hands, squeegee, contact and "
        "paper; stage times are likely ones, the range of dry is that of eight prints in ten laid "
        "on at the likely time. A promise counts from the sitting: who sits later comes later.",
        f"Hands: {hands}. A sitting takes {minutes(resources.sitting_s)}, and each print "
        f"{minutes(day.finishing_s)} more between sittings, in which prints are laid on and "
        "pulled as well. What has begun is finished before the next sitter.",
        f"Wash: {resources.wash_trays} {trays} of {several}, {minutes(wash.duration_s)} in "
        f"{counted(wash.changes, 'change')}; a late print waits for the next tray and never joins.",
        f"A sitter waits {minutes(day.wait_limit_s)} from the sitting at most; a print counts as "
        f"ready after {_after_drying(plan)}. Nothing is promised after the closing.",
        "A print for the mail is washed at base.",
        "All prints on the plate are one simulation: a cold wet print cools its neighbours. So one "
        "more slot lets prints on sooner but makes the plate colder for those that lie there.",
    ]
    lines = [LINES[way] for way, count in resources.slots.items() if count and way in LINES]
    if lines:
        found.append(f"Beside the plate: {listed(lines)}; prints on it do not touch each other.")
    if any(WAY[way].power for way in resources.slots):
        found.append(
            "The powered drier, a plate like the sun plate or a duct of warm air, is on while a "
            "print is in it, the plate 20 min before as well, until the battery is spent."
        )
    if day.operators > 1:
        found.append("There is one camera, free again when the sitting ends.")
    return about(event, *found, *plan.inputs.assumptions, readings=plan.readings)


def _after_drying(plan: DayPlan) -> str:
    """Return what a print goes through once it is dry, in words."""
    flat = f"{minutes(plan.event.limits.flatten_s)} under flat weight"
    if plan.event.limits.flatten_s == 0.0:
        flat = "drying alone, since it lies flat" if plan.event.paper.resin_coated else "drying"
    finish = plan.finish
    if finish is None or not finish.stages:
        return flat
    names = [flat if stage.name == "flatten" else stage.name for stage in finish.stages]
    helpers = counted(finish.helpers, "helper", "a")
    who = helpers if finish.helpers else "your own hands between sittings"
    return f"{listed(names)}, {minutes(finish.hands_s)} of hands a print, by {who}"


def tank_changes(plan: DayPlan) -> list[dict[str, Any]]:
    """Return when each tank is to be changed, in order of time."""
    found, made = [], 1.0 + plan.inputs.process.spoilt_frac
    for use in plan.baths.baths:
        passes = len(plan.inputs.process.passes(use.bath))
        for number in range(1, use.fills):
            sheets = number * use.change_after_sheet - use.sheets_used
            ticket = math.ceil(sheets / (passes * made))
            if use.limit == "life" or not 0 < ticket < len(plan.tickets):  # none after the last
                continue
            last = plan.tickets[ticket - 1]
            why = bath_why_said(plan.inputs.process, use)
            what = f"Change the {use.bath} after ticket {last.ticket}: {why}"
            found.append({"at": last.wet_end_at, "what": what})
    return sorted(found, key=lambda change: change["at"])
