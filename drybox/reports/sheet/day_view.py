"""The sheet's first screen: what is to be known at once; and the page of the evening before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from drybox.inputs.event.ways import WAY_NAMES
from drybox.planning.aim.wind import LEAST_TILT_DEG
from drybox.planning.day.drying_table import PLATE
from drybox.reports.sheet.drawings import Sun
from drybox.reports.text.answer import Answer
from drybox.reports.text.heat_words import metal_parts
from drybox.reports.text.phrases import clock, liquid_said, listed, said_below, say, span, the
from drybox.units import KELVIN_AT_0_C

CHARGE = ("Phone and a spare battery", "Thermometer and scales: fresh batteries")
BEFORE = (
    "Look at the forecast once more and make this sheet anew",
    "Put this file on the phone, open it once, tap a ticket for a try and take it back",
    "Print the day: one page for the hands, one to write on",
)


def sun_at(lookups: Answer | None, when: float) -> Sun | None:
    """Return where the sun stands at a time, read between the quarter hours that are known."""
    rows = lookups.result.get("quarters", ()) if lookups else ()
    for before, after in pairwise(rows):
        if before["at"] <= when <= after["at"]:
            share = (when - before["at"]) / (after["at"] - before["at"])
            turn = after["sun_azimuth_true_deg"] - before["sun_azimuth_true_deg"]
            turn = (turn + 180.0) % 360.0 - 180.0
            rise = after["sun_elevation_deg"] - before["sun_elevation_deg"]
            return Sun(
                before["sun_elevation_deg"] + share * rise,
                (before["sun_azimuth_true_deg"] + share * turn) % 360.0,
            )
    return None


def facts(answers: Mapping[str, Answer], units: str = "metric") -> list[dict[str, str]]:
    """Return what is to be known at once, each a few words and what they mean.

    The last sitter for a dry print, the hours without sun and what to do then, sun on the
    sitter, breaks, until when the plate is of use, how hot its metal gets, and the gust that takes
    the box.
    """
    plan, setout = answers.get("plan"), answers.get("setout")
    found = _last_dry(plan) if plan else []
    zone = next(iter(answers.values())).timezone
    found += _no_sun(plan, setout, zone)
    if plan:
        found += [
            _fact(
                f"Sun on the sitter {_span(gap, zone)}",
                f"{gap['spot']}: into open shade, or hang a white cloth",
            )
            for gap in plan.result.get("breaks", ())
            if gap["use"] == "camera"
        ]
        rests = [_span(gap, zone) for gap in plan.result.get("pauses", ())]
        if rests:
            found.append(_fact(f"Break {listed(rests)}", "no sitting begins then"))
    if setout and setout.result.get("last_load_at") is not None:
        last = clock(setout.result["last_load_at"], zone)
        later = f"later none {'dries there for sure' if setout.result['sure'] else 'is likely to'}"
        found.append(_fact(f"Last print on the plate {last}", later))
    return [*found, *_dangers(plan, setout, units)]


def _dangers(plan: Answer | None, setout: Answer | None, units: str) -> list[dict[str, str]]:
    """Return how hot the metal of the day gets, and above which gust the box cannot stand.

    Of the plates in use: the sun plate that is set out, a powered one on which a print lies.
    """
    out = setout if setout and setout.result.get("set_out_at") is not None else None
    sitters = plan.result.get("sitters", ()) if plan else ()
    using = [plan] if any(row.get("way") == "warm_plate" for row in sitters) else []
    temps = [used.result.get("metal_temp_c") for used in (*using, out) if used]
    hot_c = max((temp for temp in temps if temp is not None), default=None)
    hot = () if hot_c is None else metal_parts(hot_c + KELVIN_AT_0_C, units)
    found = [_fact(*(_unbroken(part) for part in hot))] if hot else []
    wind = out.result.get("wind") if out else None
    if wind is not None and wind["tilt_deg"] >= LEAST_TILT_DEG:
        lets_go = min(wind["tips_m_s"], wind["slides_m_s"])
        gust = said_below("gust_m_s", lets_go, units, borne=wind.get("gust_m_s"))
        found.append(_fact(f"Gusts over {gust}", "lay the box flat or close it, set it back after"))
    return found


def _unbroken(text: str) -> str:
    """Return a text whose seconds and minutes stay beside their figure on a narrow phone."""
    return text.replace(" s;", "\u00a0s;").replace(" min;", "\u00a0min;")


def _fact(what: str, more: str) -> dict[str, str]:
    return {"what": what, "more": more}


def _span(gap: Mapping[str, Any], zone: str) -> str:
    return span(gap["from_at"], gap["until_at"], zone, to="–")


def _last_dry(plan: Answer) -> list[dict[str, str]]:
    sitters = plan.result.get("sitters", ())
    if not sitters:
        return []
    last = plan.result.get("last_dry_ticket")
    row = next((sitter for sitter in sitters if str(sitter["ticket"]) == str(last)), None)
    if row is None or row.get("promise_at") is None:
        return [_fact("No print can be promised dry", "the tickets say how each goes home")]
    sits, by = clock(row["sitting_at"], plan.timezone), clock(row["promise_at"], plan.timezone)
    return [_fact(f"Last sitter for a dry print {sits}", f"ticket {last}, promised for {by}")]


def _no_sun(plan: Answer | None, setout: Answer | None, zone: str) -> list[dict[str, str]]:
    """Return the stretches without sun on the box, and what to do with the prints meanwhile."""
    gaps: list[dict[str, Any]] = []
    if plan:
        gaps = [dict(gap) for gap in plan.result.get("breaks", ()) if gap["use"] == "box"]
    elif setout:
        rows = setout.result.get("blocked", ())
        gaps = [row | {"cause": row["name"]} for row in rows if row.get("passed_frac", 0.0) < 0.5]
    way = (plan.result.get("off_plate_way") if plan else None) or ""
    found = []
    for gap in gaps:
        cause = f"behind {the(gap['cause'])}: " if gap.get("cause") else ""
        until = clock(gap["until_at"], zone)
        last_at = gap["until_at"] if setout is None else setout.result.get("last_load_at") or 0.0
        after = gap["until_at"] <= last_at  # a print laid on then still dries
        todo = f"keep new prints wet until {until}" if after else "no print dries on it any more"
        if gap.get("instead") == PLATE:
            todo = "prints dry on it all the same"
        elif way:
            other = "hang new prints on the line"
            if way not in ("line_shade", "line_sun"):
                other = f"dry new prints by the {WAY_NAMES[way]}"
            todo = f"{other}, or wait with them until {until}" if after else other
        found.append(_fact(f"No sun on the box {_span(gap, zone)}", f"{cause}{todo}"))
    return found


def charging(answers: Mapping[str, Answer]) -> list[str]:
    """Return what is to be charged the evening before."""
    told = {row["key"]: row["value"] for answer in answers.values() for row in answer.inputs}
    found = list(CHARGE)
    battery = told.get("powered.battery")
    if isinstance(battery, int | float):
        watts = told.get("powered.plate_power") or told.get("powered.air_power")
        lasts = ""
        if isinstance(watts, int | float) and watts > 0:
            lasts = f", enough for {say('minutes', 60 * battery / watts)} of {watts:.0f} W"
        found.insert(0, f"Battery of the powered drier: {battery:g} Wh, full{lasts}")
        found.insert(1, "Its inverter and residual-current breaker, tried once under load")
    return found


def evening(answers: Mapping[str, Answer], units: str, goods: Sequence[str]) -> dict[str, Any]:
    """Return the page of the evening before: pack, mix, charge, and what else is done then."""
    baths = answers.get("baths")
    return {
        "pack": list(goods),
        "charge": charging(answers) if goods else [],
        "before": list(BEFORE) if goods else [],
        "mix": [
            f"{row['what']}: {_amount(row, units)}"
            for row in (baths.result.get("bring") or () if baths else ())
        ],
    }


def _amount(row: Mapping[str, Any], units: str) -> str:
    plain = f"{row['amount']:g} {row.get('unit') or ''}".strip()
    return liquid_said(row["amount"], str(row.get("unit")), units) or plain
