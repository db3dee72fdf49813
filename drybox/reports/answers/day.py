"""What is said of an event day as a whole: its moments in order, a line each."""

from __future__ import annotations

from typing import Any

from drybox.inputs.event.ways import WAY, WAY_NAMES
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plan import DayPlan
from drybox.planning.one_print.lay_ons import quarters_joined
from drybox.planning.one_print.ways import OPEN_LINE
from drybox.planning.whole_day.moments import DayMoments, Moment
from drybox.reports.answers.aim import aim_said
from drybox.reports.answers.dry import NOT_TOLD
from drybox.reports.text.answer import Answer, Column, Table, echo_inputs, place_of
from drybox.reports.text.cautions import cautions
from drybox.reports.text.heat_words import (
    LEFT_OUT,
    clocks_said,
    metal_record,
    metal_words,
    no_plate_said,
    off_sun_said,
    parts_said,
    spans_said,
)
from drybox.reports.text.phrases import clock, say, sentence, the
from drybox.reports.text.plan_words import (
    counts_said,
    lucky_said,
    stands_on,
    warnings,
    water_short_said,
)
from drybox.reports.text.promise_words import IN_SHORT
from drybox.reports.text.spot_words import raised_edge, wind_record, wind_said, wind_warned
from drybox.reports.text.weather_words import with_weather

WATER_KG_M3 = 1000.0
COLUMNS = (
    Column("at", "At"),
    Column("until_at", "until"),
    Column("what", "what"),
    Column("said", "to do"),
)


def day_answer(found: DayMoments, *, units: str = "metric", table: bool = False) -> Answer:
    """Return the answer of ``drybox day``.

    ``units`` are those of the sentences: the record is metric. ``table`` adds a table, for a
    spreadsheet; the sentences say the same.
    """
    plan, event = found.plan, found.event
    zone = event.place.timezone
    record = _result(found)
    said = [_first(found, zone), *_lines(found, units), *_needs(found, units)]
    other = found.other_sky
    if other is not None:
        closed = f"Closed sky. {_first(other, zone)}"
        hours = "By the hour, under a clear sky:"
        said = [NOT_TOLD, f"Clear sky. {said[0]}", closed, hours, *said[1:]]
        record |= {"if_clear": _result(found), "if_overcast": _result(other)}
    rows = [
        _record(moment) | {"what": moment.code, "said": _said(found, moment, units)}
        for moment in found.moments
    ]
    return Answer(
        command="day",
        place=place_of(event.place),
        inputs=[
            *echo_inputs(event.resolved),
            *echo_inputs(plan.inputs.resolved),
            *(
                {"key": f"day.{key}", "value": value, "unit": "", "source": "option or default"}
                for key, value in (("members", plan.members), ("seed", plan.seed))
            ),
        ],
        result=record,
        lead=with_weather(said, event, units, after=1 if other is None else 3),
        tables=[Table("The day", COLUMNS, rows)] if table else [],
        assumptions=stands_on(plan, units)[:2],
        warnings=[
            *warnings(plan, zone, units),
            *wind_warned(found.wind, units),
            *event.warnings,
        ],
        cautions=cautions("sun", *(["electricity"] if _powered(plan) else []), "estimate"),
        timezone=zone,
    )


def _powered(plan: DayPlan) -> bool:
    """Tell whether a print of the day lies on the powered plate or hangs in its warm air."""
    return any(WAY[ticket.way].power for ticket in plan.tickets if ticket.way)


def _record(moment: Moment) -> dict[str, Any]:
    """Return a moment as the record holds it."""
    turn = moment.turn
    return {
        "code": moment.code,
        "at": moment.begin_at,
        "until_at": moment.end_at,
        "ticket": moment.ticket or None,
        "promise_at": moment.promise_at,
        "hand_over": moment.hand_over or None,
        "bearing_true_deg": None if turn is None else turn.bearing_deg,
        "tilt_deg": None if turn is None else turn.tilt_deg,
        "raised_edge": None if turn is None else raised_edge(turn.bearing_deg),
        "off_sun": moment.off_sun.code,
        "spot": moment.spot,
        "cause": moment.cause if moment.no_box is None else str(moment.no_box),
        "unused": moment.unused,
        "instead": moment.instead,
    }


def _result(found: DayMoments) -> dict[str, Any]:
    return {
        "moments": [_record(moment) for moment in found.moments],
        "no_box": "" if found.no_box is None else str(found.no_box),
        **metal_record(found.event.box, found.metal_k, found.plan.powered_metal_k),
        "water_kg": found.water_m3 * WATER_KG_M3,
        "wind": wind_record(found.wind),
        "last_dry_ticket": found.plan.last_dry_ticket,
    }


def _first(found: DayMoments, zone: str) -> str:
    """Return the day in one sentence: the box, the last dry print, the counts."""
    out, dry = found.of("set_out"), found.of("last_dry")
    box = f"Set the box out at {clock(out[0].begin_at, zone)}" if out else "Leave the box at home"
    last = "no print can be promised dry"
    if dry:
        last = f"who sits at {clock(dry[0].begin_at, zone)} is the last to go home with a dry print"
    count = f" {counts_said(found.plan)}" if found.plan.tickets else ""
    return f"{box}; {last}.{count}"


def _lines(found: DayMoments, units: str) -> list[str]:
    zone = found.event.place.timezone
    lines = []
    for moment in found.moments:
        span = clock(moment.begin_at, zone)
        if moment.end_at is not None:
            span += f" to {clock(moment.end_at, zone)}"
        lines.append(f"{span} {sentence(_said(found, moment, units))}")
    return lines


def _said(found: DayMoments, moment: Moment, units: str) -> str:
    """Return what is to be done at a moment."""
    event, zone = found.event, found.event.place.timezone
    # where the box has no sun, neither has a line beside it
    other = OPEN_LINE if moment.instead == "line_sun" else WAY_NAMES.get(moment.instead, "")
    instead = f"dry by the {other}" if other else "dry nowhere else here"
    if moment.instead == PLATE:
        instead = "the plan's prints dry on it all the same"
    promise = "" if moment.promise_at is None else f", promise {clock(moment.promise_at, zone)}"
    if promise and moment.hand_over not in ("", "dry"):
        promise += f" ({IN_SHORT[moment.hand_over]})"
    wait = say("minutes", event.limits.wait_s / 60)
    order = "let the box follow the sun"
    if moment.turn is not None and found.aim is not None:
        why = off_sun_said(moment.off_sun, zone, units)
        order = aim_said(event, moment.turn, found.aim.declination.degrees, units=units, why=why)
    cause = {
        "too_slow": f"at no time do even half of the prints dry on it within {wait}",
        "too_hot": f"it is too hot for a print {_hot_spans(found)}",
        "none_washed": "no print is washed soon enough to dry by the closing",
        "none_lies": "each print of the plan dries sooner elsewhere, or too late",
    }.get(moment.unused, LEFT_OUT.get(moment.unused, ""))
    if moment.no_box is not None:
        cause = no_plate_said(moment.no_box, units)
    last = "; the plate is the last to be touched, it stays hot"
    hot = last if metal_words(found.hottest_k) else ""
    behind = f"behind {the(moment.cause)}" if moment.cause else "down"
    laid_before = found.plan.lies_on_plate_before(moment.begin_at)
    return {
        "set_out": f"set the box out: {order}",
        "no_box": f"no sun plate, for {cause}; {instead}",
        "first_sitter": f"the first sitter, ticket {moment.ticket}{promise}",
        "first_load": (
            f"the first print that is likely to dry within {wait} on the plate"
            if laid_before
            else "the plate is warm: prints on it from now on"
        ),
        "break": "break, no sitting begins",
        "turn": f"turn the box: {order}",
        "camera_in_sun": (
            f"sun on the sitter at the camera ({moment.spot}): move it into open shade, or hang a "
            "white cloth"
        ),
        "box_in_shade": f"no sun on the box, it is {behind}: {instead}",
        "last_load": f"the last print that is sure to dry within {wait} on the plate{_gaps(found)}",
        "last_likely_load": f"the last print that is likely to dry within {wait} on the plate",
        "last_dry": f"the last sitter for a dry print, ticket {moment.ticket}{promise}",
        "pack_up": f"pack up{hot}",
    }[moment.code]


def _gaps(found: DayMoments) -> str:
    """Return when prints are sure to dry on the plate, where that is not all the time before."""
    out = found.set_out
    if out is None or len(quarters_joined(sorted({*out.sure, *out.too_hot}))) < 2:
        return ""
    return f" (sure only {clocks_said(out.sure, found.event.place.timezone)})"


def _hot_spans(found: DayMoments) -> str:
    spans = spans_said(found.plan.too_hot_s, found.event.place.timezone)
    return f"from {spans}" if spans else "all day"


def _needs(found: DayMoments, units: str) -> list[str]:
    """Return one line for what is hot, heavy or missing, and one for the wind."""
    hot = metal_words(found.hottest_k, units)
    heavy = say("water_kg", found.water_m3 * WATER_KG_M3, units)
    parts = [hot] if hot else []
    parts.append(f"heavy: {heavy} of water")
    if found.lacks_kg > 0.0:
        parts.append(f"missing: {say('ballast_kg', found.lacks_kg, units, digits=1)} of ballast")
    box, said = found.event.box, [sentence("; ".join(parts))]
    said += [*parts_said(box, found.metal_k, units), *wind_said(found.wind, units)]
    too_hot = found.plan.too_hot_s if found.metal_k is not None else ()
    if too_hot:
        spans = spans_said(too_hot, found.event.place.timezone)
        said.append(f"Lay nothing on the plate from {spans}: a print would be kept too hot.")
    return [*said, *lucky_said(found.plan), *water_short_said(found.plan, units)]
