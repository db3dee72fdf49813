"""What stands where on the day sheet, taken from answers; parts without an answer are left out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple, TypeGuard

from drybox.reports.sheet.day_view import sun_at
from drybox.reports.sheet.drawings import plan_view, plate_face, side_view
from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import (
    MISSING,
    clock,
    compass_point,
    figure,
    heading_of,
    iso_time,
    local_day,
    say,
    the,
    unit_of,
)
from drybox.reports.text.promise_words import IN_SHORT
from drybox.reports.text.spot_words import LEVEL_DEG

NEVER = "no"
PLACES = {
    "sun_plate": "plate",
    "line_shade": "line",
    "line_sun": "line",
    "screen_shade": "screen",
    "warm_plate": "warm plate",
    "warm_air": "warm air",
    "blotters": "blotter book",
}
BOX_GOODS = (
    "Drying box, prop, weights and guys",
    "Peg, compass, tilt gauge",
    "This sheet on paper, pencil",
)
DRYING_GOODS = (
    "Plate thermometer, watch",
    "HOT sign, gloves or tongs",
    "Magnets or corner weights, squeegee, towels",
    "Flat boards with a weight, blotters",
)
TICKET_COLUMNS = (
    Column("ticket", "Ticket"),
    Column("name", "who"),
    Column("promise_at", "promise"),
    Column("pull_at", "pull"),
    Column("where", "where"),
    Column("laid_on_at", "lay on"),
    Column("sitting_at", "sits"),
)
ROWS_WITH_ROOM, ROWS_WITHOUT = 34, 44
"""Tickets that stand on one page of paper, with room to write and with little."""

PAPER_ORDER = ("ticket", "name", "sitting_at", "laid_on_at", "where", "pull_at", "promise_at")


def finite_time(at: Any) -> TypeGuard[float]:
    """Tell whether a value is a moment, and not a gap or a never."""
    return isinstance(at, int | float) and math.isfinite(at)


def moment(at: Any, timezone: str) -> dict[str, Any] | None:
    """Return a moment as the sheet shows it, or None where there is none."""
    if not finite_time(at):
        return None
    return {
        "s": round(float(at)),
        "iso": iso_time(float(at), timezone),
        "clock": clock(float(at), timezone),
    }


def grid(table: Table, units: str, timezone: str) -> dict[str, Any]:
    """Return a table as headings and cells of text, and which columns are words."""
    columns = [
        column
        for column in table.columns
        if any(row.get(column.key) not in (None, "") for row in table.rows)
    ]
    headings = [heading_of(column, units) for column in columns]
    rows = [
        [figure(c.key, row.get(c.key), units, digits=c.digits, timezone=timezone) for c in columns]
        for row in table.rows
    ]
    words = [any(isinstance(row.get(c.key), str) for row in table.rows) for c in columns]
    return {"title": table.title, "headings": headings, "rows": rows, "words": words}


def pull_rows(lookups: Answer) -> list[dict[str, Any]]:
    """Return the lay-on lookup: one row a quarter hour, one cell a sky."""
    zone = lookups.timezone
    return [
        {
            "at": moment(loads[0]["laid_on_at"], zone),
            "cells": [_pull_cell(load, zone) for load in loads],
        }
        for loads in zip(*(sky["loads"] for sky in lookups.result["skies"]), strict=True)
    ]


def _pull_cell(load: Mapping[str, Any], timezone: str) -> dict[str, Any]:
    likely = load["pull_at"]["p50"]
    return {
        "likely": clock(likely, timezone) if math.isfinite(likely) else NEVER,
        "range": _minutes_cell(load["minutes"])["range"],
        "hot": bool(load["too_hot"]),
    }


def meter(
    pairs: Sequence[Mapping[str, Any]],
) -> tuple[list[float], list[float], dict[tuple[float, float], Mapping[str, Any]]]:
    """Return the thermometer lookup's readings, its dampnesses, and its pairs by these two."""
    found = {(pair["humidity_frac"], pair["plate_temp_c"]): pair for pair in pairs}
    damp, readings = (sorted(set(part)) for part in zip(*found, strict=True))
    return readings, damp, found


def thermometer_rows(lookups: Answer, units: str) -> dict[str, Any]:
    """Return the thermometer lookup: readings across, dampness down, minutes in the cells."""
    readings, damp, by_pair = meter(lookups.result["thermometer"])
    return {
        "unit": unit_of("plate_temp_c", units),
        "readings": [
            {
                "text": figure("plate_temp_c", reading, units),
                "hot": by_pair[damp[0], reading]["too_hot"],
            }
            for reading in readings
        ],
        "rows": [
            {
                "damp": figure("humidity_frac", share),
                "cells": [
                    _minutes_cell(by_pair[share, reading]["minutes"]) for reading in readings
                ],
            }
            for share in damp
        ],
    }


def _minutes_cell(minutes: Mapping[str, float]) -> dict[str, str]:
    low, likely, high = (
        f"{minutes[p]:.0f}" if math.isfinite(minutes[p]) else "" for p in ("p10", "p50", "p90")
    )
    return {"likely": likely or MISSING, "range": f"{low}–{high or '?'}" if low else ""}


def turn_cards(aim: Answer, units: str, lookups: Answer | None = None) -> list[dict[str, Any]]:
    """Return each aim with its words and drawings; the lookups know where the sun stands."""
    rows = aim.tables[0].rows if aim.tables else [_one_aim(aim.result)]
    peg_mm, cards = peg_of(aim), []
    for row in rows:
        tilt, bearing = float(row["tilt_deg"]), float(row["bearing_true_deg"])
        compass = row["bearing_magnetic_deg"]
        prop = say("prop_height_mm", row["prop_height_mm"], units)
        length, towards = row.get("shadow_mm"), row.get("shadow_points_to")
        sun = sun_at(lookups, float(row["at"]))
        shadow = "no sun on it then" if towards else ""  # nothing where it lies level
        if length is not None:
            shadow = f"{say('shadow_mm', length, units)} to {towards}"
        cards.append(
            {
                "at": moment(row["at"], aim.timezone),
                "level": tilt < LEVEL_DEG,
                "words": turn_words(row, units),
                "face": f"{compass_point(bearing)} {say('bearing_deg', bearing)}",
                "compass": None if compass is None else say("bearing_deg", compass),
                "tilt": f"{tilt:.0f}°",
                "prop": prop,
                "raised": row.get("raised_edge") or "raised",
                "shadow": shadow,
                "lit": length is not None,
                "sun": f"{sun.elevation_deg:.0f}° up" if sun and sun.up else "",
                "side": side_view(tilt, prop, bearing, sun=sun),
                "plan": plan_view(bearing, tilt, sun),
                "plate": plate_face(
                    None if length is None else length / peg_mm,
                    row["shadow_hour"] if length is not None else None,
                    shadow,
                ),
            }
        )
    return cards


def peg_of(aim: Answer) -> float:
    """Return the length of the peg whose shadow is sighted by. [mm]"""
    return next(float(i["value"]) for i in aim.inputs if i["key"] == "aim.peg")


def _one_aim(result: Mapping[str, Any]) -> dict[str, Any]:
    """Return the aim of a box that is left alone; where its peg's shadow falls is said in words."""
    keys = ("bearing_true_deg", "bearing_magnetic_deg", "tilt_deg", "prop_height_mm")
    one = {key: result[key] for key in keys} | {"raised_edge": result.get("raised_edge")}
    return one | {"at": result["from_at"], "shadow_mm": None, "shadow_points_to": ""}


def agenda(
    answers: Mapping[str, Answer], cards: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return what is to be done at the box, in the order of the day."""
    steps: list[_Step] = []
    setout, plan = answers.get("setout"), answers.get("plan")
    begin = -math.inf
    if setout is not None:
        result = setout.result
        begin = result["set_out_at"] if result.get("set_out_at") is not None else begin
        aim = f": {cards[0]['words']}" if cards else ""
        steps += [
            _Step(result[key], words, more, again)
            for key, words, more, again in (
                ("set_out_at", "Set the box out", aim, False),
                ("first_load_at", "First print may go on", "", False),
                ("last_load_at", "Last print that is worth laying on", "", True),
            )
            if result.get(key) is not None
        ]
        for row in result.get("blocked", ()):
            steps.append(_Step(row["from_at"], f"Shadow of {the(row['name'])} comes"))
            steps.append(_Step(row["until_at"], f"Shadow of {the(row['name'])} goes"))
        if result.get("sunset_at") is not None:
            steps.append(_Step(result["sunset_at"], "Sunset"))
    steps += [_Step(card["at"]["s"], "Turn the box", f": {card['words']}") for card in cards[1:]]
    if plan is not None:
        steps += [_Step(row["at"], row["what"]) for row in plan.result.get("tank_changes", ())]
        for row in plan.result.get("pauses", ()):
            steps.append(_Step(row["from_at"], "Break: no sitting begins", again=True))
            steps.append(_Step(row["until_at"], "Break over", again=True))
        for row in plan.result.get("breaks", ()):
            if row["use"] == "camera":
                sun, at = "Sun on the sitter", f"({row['spot']})"
                steps.append(_Step(row["from_at"], f"{sun} comes {at}", again=True))
                steps.append(_Step(row["until_at"], f"{sun} goes {at}", again=True))
    zone = next(iter(answers.values())).timezone
    return [
        {"at": moment(step.at, zone), "again": step.again, "what": step.what, "more": step.more}
        for step in sorted(steps, key=lambda step: (step.at, step.again))
        if step.at >= begin
    ]


class _Step(NamedTuple):
    """One thing to do at the box; the aim in ``more`` stands on its card too.

    What is ``again`` is said by the facts as well, which paper has no room for.
    """

    at: float
    what: str
    more: str = ""
    again: bool = False


def turn_words(turn: Mapping[str, Any], units: str) -> str:
    """Return an aim in a few words: bearing by compass and true, tilt and prop.

    >>> turn_words({"tilt_deg": 40, "bearing_true_deg": 121.7, "bearing_magnetic_deg": 117.2,
    ...             "prop_height_mm": 321.4}, "metric")
    'face 117° by compass (ESE 122° true), tilt 40°, prop 321 mm'

    Where it is known which edge is raised, that is said too.
    """
    if turn["tilt_deg"] < LEVEL_DEG:
        return "lay it level"
    bearing, compass = float(turn["bearing_true_deg"]), turn["bearing_magnetic_deg"]
    face = f"{compass_point(bearing)} {say('bearing_deg', bearing)} true"
    if compass is not None:
        face = f"{say('bearing_deg', compass)} by compass ({face})"
    raised = f" under the {turn['raised_edge']} edge" if turn.get("raised_edge") else ""
    prop = say("prop_height_mm", turn["prop_height_mm"], units)
    return f"face {face}, tilt {turn['tilt_deg']:.0f}°, prop {prop}{raised}"


def tickets(plan: Answer) -> dict[str, Any]:
    """Return the tickets' columns, and a row of texts for each.

    A print that goes home damp or by mail says so with its promise.
    """
    sitters = plan.result.get("sitters", ())
    named = any(sitter.get("name") for sitter in sitters)
    columns = [column for column in TICKET_COLUMNS if column.key != "name" or named]
    rows = [_ticket(sitter, columns, plan) for sitter in sitters]
    by_key = {column.key: column for column in columns}
    on_paper = [by_key[key] for key in PAPER_ORDER if key in by_key]
    return {"columns": columns, "on_paper": on_paper, "rows": rows, "named": named}


def to_write(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the tickets of each page of paper; more than one takes have room on several.

    Examples
    --------
    >>> [(len(page["rows"]), page["tight"]) for page in to_write([{}] * 40)]
    [(40, True)]
    >>> [(len(page["rows"]), page["tight"]) for page in to_write([{}] * 60)]
    [(30, False), (30, False)]
    """
    most = ROWS_WITH_ROOM if len(rows) > ROWS_WITHOUT else ROWS_WITHOUT
    pages = max(-(-len(rows) // most), 1)
    each = -(-len(rows) // pages)
    return [
        {"rows": part, "tight": len(part) > ROWS_WITH_ROOM}
        for part in (rows[first : first + each] for first in range(0, len(rows), each or 1))
    ]


def _ticket(sitter: Mapping[str, Any], columns: Sequence[Column], plan: Answer) -> dict[str, Any]:
    dry = sitter.get("dry_at") or {}
    row = dict(sitter) | {"pull_at": dry.get("p50"), "where": place_of_print(sitter)}
    cells = {
        c.key: figure(c.key, row.get(c.key), "metric", digits=0, timezone=plan.timezone)
        for c in columns
    }
    ends = [dry.get("p10"), dry.get("p90")]
    window = [clock(float(end), plan.timezone) if finite_time(end) else "" for end in ends]
    cells["pull_range"] = "–".join(window) if finite_time(row["pull_at"]) else ""
    how = IN_SHORT[sitter.get("hand_over") or "dry"]
    promise = moment(sitter.get("promise_at"), plan.timezone)
    told = f"{cells['promise_at']} {how}" if promise else "by mail" if how == "mail" else how
    if how != "dry":
        cells["promise_at"] = told
    return {"cells": cells, "promise": promise, "told": told}


def place_of_print(sitter: Mapping[str, Any]) -> str | None:
    """Return where a ticket's print lies or hangs, None for one that does neither."""
    if sitter.get("way") is None:
        return None
    return f"{PLACES.get(sitter['way'], sitter['way'])} {sitter.get('slot') or ''}".strip()


def pull_windows(plan: Answer) -> list[dict[str, Any]]:
    """Return when each print lies where, and when it is to be pulled, for a picture."""
    found = []
    for sitter in plan.result.get("sitters", ()):
        dry = sitter.get("dry_at") or {}
        if finite_time(sitter.get("laid_on_at")) and finite_time(dry.get("p50")):
            high = dry["p90"] if finite_time(dry.get("p90")) else dry["p50"]
            where = {"lane": place_of_print(sitter), "laid_on_at": sitter["laid_on_at"]}
            found.append(where | dry | {"p90": high})
    return found


def packing(answers: Mapping[str, Answer]) -> list[str]:
    """Return what to pack: the box, then the plan's or the baths' list, else the usual."""
    found = list(BOX_GOODS) if {"setout", "aim", "plan"} & set(answers) else []
    for command in ("plan", "baths"):
        for table in answers[command].tables if command in answers else ():
            if table.name == "bring" and table.rows:
                return [*found, *(f"{row['what']}: {row['amount']}" for row in table.rows)]
    return [*found, *DRYING_GOODS] if found else []


def gathered(answers: Sequence[Answer], name: str) -> list[str]:
    """Return the sentences of one kind over all answers, each once."""
    return list(dict.fromkeys(text for answer in answers for text in getattr(answer, name)))


def day_of(answers: Sequence[Answer]) -> float | None:
    """Return a moment of the day that the answers are for."""
    for answer in answers:
        for key in ("set_out_at", "sunrise_at", "at", "laid_on_at"):
            value = answer.result.get(key)
            if isinstance(value, int | float):
                return float(value)
        for row in answer.result.get("sitters", ()):
            return float(row["sitting_at"])
    return None


def long_day(time_at: float, timezone: str) -> str:
    """Return a date as people write it.

    >>> long_day(1812885600.0, "Europe/Vienna")
    'Sunday 13 June 2027'
    """
    from datetime import date

    day = date.fromisoformat(local_day(time_at, timezone))
    return f"{day:%A} {day.day} {day:%B} {day.year}"
