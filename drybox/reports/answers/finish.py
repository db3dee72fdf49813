"""What is said of a dry print until it is flat and in its folder."""

from __future__ import annotations

import math
from typing import Any

from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY_NAMES
from drybox.inputs.finish.stages import FinishStage
from drybox.planning.finish.finish import FinishResult
from drybox.planning.finish.hand_over import Enclosure
from drybox.planning.finish.ways import FinishWay
from drybox.planning.scenario.percentiles import Range
from drybox.readable import counted
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_given, echo_inputs
from drybox.reports.text.cautions import cautions
from drybox.reports.text.phrases import clock, figure, listed, say, sentence
from drybox.reports.text.weather_words import source_said
from drybox.tables import load_table
from drybox.units import celsius

NAMES = {
    "none": "left as it is",
    "cold_boards": "cold boards",
    "warm_boards": "warmed boards",
    "blotters": "blotters",
    "press": "warm press",
}
TAKE = {
    "none": "Lay {it} face up on a clean sheet",
    "cold_boards": "Lay {it} between cold boards under {mass}",
    "warm_boards": "Lay {it}, still warm, between boards warmed beside the plate under {mass}",
    "blotters": "Lay {it} between blotters and boards under {mass}",
    "press": "Press {it} at {temp} for {hot}, then leave {it} under weight on cold metal",
}
WHY_NOT = {
    "no_boards": "no boards: [finishing] boards = 1",
    "no_warm_plate": "no warm plate to warm them by",
    "no_blotters": "no blotters: [finishing] blotters = 1",
    "damp_blotters": "blotters too damp today: warm them on the plate first",
    "no_press": "no press listed",
    "too_wet_to_press": "too damp, it would stick",
    "too_dry_to_press": "too dry, the emulsion would crack",
}
ENCLOSED = {
    "folder": "card folder",
    "plastic": "smooth plastic sleeve",
    "mail": "stiff mailer",
    "blotters": "blotters, with the note",
}
NOT_IN = {
    "too_damp": "still too damp",
    "too_hot": "gelatin would soften and stick where it gets hot",
}
HOTTEST = {
    "in the hand": "carried in the shade",
    "bag in the sun": "in a bag in the sun",
    "parked car": "in a parked car",
}
COLUMNS = (
    Column("way", "Way"),
    Column("minutes", "time"),
    Column("out_by_at", "out by"),
    Column("curl_now_mm", "edges now"),
    Column("curl_mm", "at home"),
    Column("why", "not today"),
)
WASH_FINGERS = "wash the fingers, not only wipe; three towels in turn, wet and dry sides"
CHECKS = [
    {"fault": fault, "prevent": how, "each_s": seconds}
    for fault, how, seconds in (
        ("finger stain", WASH_FINGERS, 20),
        ("drying mark", "squeegee; wipe edges and magnet spots before heat", 10),
        ("dry-down", "judge tone from a dried strip, one to a box of paper", 0),
        ("dust, lint", "gauze, a blower before the boards, lintless blotters", 5),
        ("gloss patch", "a matte release sheet on its face", 5),
    )
]
"""Fault, how it is prevented, seconds a print; common practice, no source."""

CHECKS_TABLE = Table(
    "Before it is handed over",
    (Column("fault", "Look for"), Column("prevent", "prevented by"), Column("each_s", "time")),
    CHECKS,
)

HOME_NOTE = (
    "Open tonight, and take it out of any sleeve. Let it lie face up for 24 hours, then for a "
    "week under a heavy book between clean paper. It bows {side} in {kind} rooms; never force it. "
    "For two weeks then no plastic on its face. Frame it off the glass."
)
HOME_NOTE_COATED = (
    "Open it tonight if its face still feels cool or tacky; else it may stay in its sleeve. Frame "
    "it off the glass."
)


def finish_answer(
    event: Event,
    result: FinishResult,
    *,
    units: str = "metric",
    members: int,
    seed: int,
    note: str = "",
) -> Answer:
    """Return the answer of ``drybox finish``.

    ``note`` tells what had to be decided about the time.
    """
    pressed = any(way.way == "press" and way.feasible for way in result.ways)
    stages = {stage.name for stage in result.finishing.stages}
    hot, zone = pressed or "dry mount" in stages, event.place.timezone
    return answer_for(
        event,
        "finish",
        told=[*echo_inputs(result.resolved), *_told(result, members, seed)],
        result=_record(result),
        lead=[
            *(_flat_lead(result, zone) if _lies_flat(result) else _lead(event, result, units)),
            *_after_said(result, zone),
            f"To say at hand-over: {_home_note(result)}",
        ],
        tables=[*_ways_tables(result), _enclose_table(result), CHECKS_TABLE],
        assumptions=_stands_on(event, result, members=members, seed=seed, note=note, units=units),
        warnings=[*_warnings(result, units), *event.warnings],
        cautions=cautions(
            hot and "press",
            hot and "electricity",
            "trim" in stages and "blades",
            not stages.isdisjoint({"spot", "dry mount", "hinges"}) and "solvents",
            "estimate",
        ),
    )


def _told(result: FinishResult, members: int, seed: int) -> list[dict[str, Any]]:
    state = result.state
    return echo_given(
        "finish",
        dried=state.dried,
        pulled=(state.pulled_activity, "frac"),
        plate_temp=(None if state.plate_k is None else celsius(state.plate_k), "°C"),
        prints=state.prints,
        air_humidity=(state.air_activity, "frac"),
        air_temp=(celsius(state.air_k), "°C"),
        curl_factor=math.exp(result.taught.mean_log),
        members=members,
        seed=seed,
    )


def way_record(way: FinishWay) -> dict[str, Any]:
    """Return one way as the record holds it."""
    return {
        "way": way.way,
        "minutes": way.duration_s.minutes(),
        "flat_at": way.flat_at.record(),
        "curl_mm": way.lift_home_m.scaled(1e3).record(),
        "curl_now_mm": way.lift_now_m.scaled(1e3).record(),
        "flat_in_frac": way.flat_activity,
        "damp_frac": way.activity,
        "temp_c": celsius(way.temp_k),
        "at_once": way.at_once or None,
        "loads": way.loads,
        "blotters": way.blotters,
        "energy_wh": way.energy_j / 3600,
        "feasible": way.feasible,
        "why": WHY_NOT.get(way.why, ""),
    }


def stage_record(stage: FinishStage) -> dict[str, Any]:
    """Return a stage after drying as the record holds it."""
    return {
        "stage": stage.name,
        "hands_min": stage.hands_s / 60,
        "alone_min": stage.alone_s / 60,
    }


def _record(result: FinishResult) -> dict[str, Any]:
    scale, state = result.weighed, result.state
    return {
        "pulled_at": state.pulled_at,
        "ways": [way_record(way) for way in result.ways],
        "choice": {"way": result.choice.way, "why": _why(result)},
        "enclose": [
            {
                "in": one.enclosed_in,
                "from_at": one.from_at,
                "most_damp_frac": one.most_activity,
                "why": NOT_IN.get(one.why, ""),
            }
            for one in result.enclose
        ],
        "pull": {
            "damp_frac": result.pull.activity,
            "gain_mm": 1e3 * result.pull.gain_m,
            "hold_gain_mm": 1e3 * result.pull.hold_gain_m,
            "hold_helps": result.pull.hold_helps,
        },
        "weighed": None
        if scale is None
        else {
            "mass_g": 1e3 * scale.mass_kg,
            "dry_mass_g": 1e3 * scale.dry_mass_kg,
            "damp_frac": scale.activity,
            "doubt_frac": scale.doubt_activity,
            "ready": scale.ready,
            "more_min": None if scale.more_s is None else scale.more_s / 60,
        },
        "stages": [
            stage_record(stage) | {"materials": dict(stage.materials)}
            for stage in result.finishing.stages
        ],
        "done_at": result.done_at,
        "flat_enough_mm": 1e3 * result.flat_enough_m,
        "weight_needed_kg": result.mass_needed_kg,
        "home_note": _home_note(result),
        "checks": CHECKS,
    }


def _lead(event: Event, result: FinishResult, units: str) -> list[str]:
    zone, best, state = event.place.timezone, result.choice, result.state
    begun = clock(state.pulled_at, zone)
    hot_s = load_table("flattening")["press"]["time"].value
    take = TAKE[best.way].format(
        it="it" if state.prints == 1 else "them",
        mass=_mass_said(result.finishing.board_mass_kg, units),
        temp=say("temp_c", celsius(result.finishing.press_temp_k), units),
        hot=f"{hot_s:.0f} s",
    )
    done = clock(best.flat_at.p90 or state.pulled_at, zone)
    lasts = "" if best.way == "none" else f"; out by {done}"
    lead = [
        f"{take} at {begun}{lasts}: {_lift_said(best.lift_now_m, units)} in today's air "
        f"({_percent(state.air_activity)} humidity), {_lift_said(best.lift_home_m, units)} at home "
        f"({_percent(state.home_activity)}).",
        f"Why: {_why(result)}",
        _pull_said(event, result, units),
        *_scale_said(result),
        _enclose_said(result, zone),
    ]
    if best.loads > 1:
        lead.append(
            f"{state.prints} prints go in {best.loads} loads of {best.at_once}, each "
            f"{say('minutes', (best.duration_s.p90 or 0.0) / 60)} at most."
        )
    return lead


def _lies_flat(result: FinishResult) -> bool:
    return result.choice_why == "lies_flat"


def _flat_lead(result: FinishResult, zone: str) -> list[str]:
    """Return what to do with paper that lies flat by itself."""
    they, them = ("They lie", "them") if result.state.prints > 1 else ("It lies", "it")
    lead = [f"{they} flat: trim {them} and hand {them} over.", f"Why: {_why(result)}"]
    return [*lead, *_scale_said(result), _enclose_said(result, zone)]


def _after_said(result: FinishResult, zone: str) -> list[str]:
    """Return the stages that follow flattening, and when the last print is through them."""
    after = [stage.name for stage in result.finishing.stages if stage.name != "flatten"]
    if not after or result.done_at is None:
        return []
    which = "it is" if result.state.prints == 1 else "the last is"
    return [f"Then {listed(after)}: {which} done by {clock(result.done_at, zone)}."]


def _mass_said(mass_kg: float, units: str) -> str:
    """Return a mass to a tenth, a whole one without."""
    whole = float(figure("mass_kg", mass_kg, units, digits=1)).is_integer()
    return say("mass_kg", mass_kg, units, digits=0 if whole else 1)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _lift_said(lift: Range, units: str) -> str:
    """Return how far edges stand over the middle, and which way."""
    low, high = sorted((lift.p10 or 0.0, lift.p90 or 0.0), key=abs)
    if low * high < 0:
        low, high = lift.p10 or 0.0, lift.p90 or 0.0
        ends = f"{say('lift_mm', -1e3 * low, units)} outward to {say('lift_mm', 1e3 * high, units)}"
        return f"edges from {ends} inward"
    side = "inward" if high >= 0 else "outward"
    first = figure("lift_mm", abs(1e3 * low), units)
    return f"edges {first} to {say('lift_mm', abs(1e3 * high), units)} up, bowed {side}"


def _why(result: FinishResult) -> str:
    best, ways = result.choice, result.ways
    others = [way for way in ways if way.feasible and way.way not in (best.way, "none")]
    left = next(way for way in ways if way.way == "none")
    gain = 1e3 * (abs(left.lift_home_m.p50 or 0.0) - abs(best.lift_home_m.p50 or 0.0))
    if _lies_flat(result):
        return "Resin-coated paper dries flat by itself, and is not brittle when it is dry."
    evens = "it evens out the moisture of its two faces, which bends a sheet as far as gelatin does"
    than = "" if gain < 1 else f", {gain:.0f} mm flatter than left alone"
    soonest = f"; of {len(others) + 1} ways it is the soonest" if others else ""
    why = {
        "nothing_else": "nothing that would press it flat can be used",
        "driest": "it is too damp for a folder, and this dries it most while it is held",
        "only_flat": f"no other way leaves it flat enough at home; {evens}",
        "flattest": (
            f"no way makes it quite flat at home, none as quick leaves it flatter{than}; {evens}"
        ),
    }
    enough = f"the middle print is then flat enough at home{soonest}, and {evens}"
    return sentence(why.get(result.choice_why, enough))


def _pull_said(event: Event, result: FinishResult, units: str) -> str:
    state, advice = result.state, result.pull
    wished, dry = _percent(advice.activity), _percent(event.limits.dry_activity_frac)
    if not state.flat:
        text = (
            f"Pull it once it is dry ({dry}), no later: hung free it set its curl while it was "
            "still damp, and drier it only turns brittle."
        )
    elif wished == dry:
        text = f"Pull it once it is dry ({dry}): later brings nothing here."
    else:
        gain = say("gain_mm", 1e3 * advice.gain_m, units, digits=1)
        over = _percent(event.limits.over_dry_activity_frac)
        text = (
            f"Pull it a little late, at {wished} rather than {dry}: set on the warm metal, its "
            f"edges stand {gain} lower at home; below {over} it cracks."
        )
    if result.choice.way == "none":
        return text
    if advice.hold_helps:
        held = say("gain_mm", 1e3 * advice.hold_gain_m, units)
        return f"{text} The hold itself takes {held} off its curl at home."
    return (
        f"{text} The hold keeps it from cockling but hardly sets the gelatin: at home it curls as "
        "it would have."
    )


def _scale_said(result: FinishResult) -> list[str]:
    scale = result.weighed
    if scale is None:
        return []
    found = (
        f"By its weight it is in balance with {_percent(scale.activity)} "
        f"(a step of the scale is {100 * scale.doubt_activity:.1f} %)"
    )
    if scale.ready:
        return [f"{found}: dry enough for a folder."]
    if scale.more_s is None:
        return [f"{found}: too damp for a folder, and this air never dries it; use warm blotters."]
    more = say("minutes", max(math.ceil(scale.more_s / 60), 1))
    return [f"{found}: lying free in today's air it wants about {more} more for a folder."]


def _enclose_said(result: FinishResult, zone: str) -> str:
    closed = [one for one in result.enclose if one.enclosed_in != "blotters"]
    inside = [one for one in closed if one.from_at is not None]
    text = "into nothing yet: it is not touch dry"
    if inside:
        from_at = clock(max(one.from_at or 0.0 for one in inside), zone)
        text = f"from {from_at} into a {listed([_into(one, result) for one in inside], 'or')}"
    elif any(one.from_at is not None for one in result.enclose):
        text = "only between blotters, with the note"
    barred = [_not_in(one, result) for one in closed if one.from_at is None]
    if barred and any(one.from_at is not None for one in result.enclose):
        text += f"; not in a {listed(barred)}"
    return sentence(f"it may go {text}")


def _into(one: Enclosure, result: FinishResult) -> str:
    home = one.enclosed_in == "plastic" and not _lies_flat(result)
    return ENCLOSED[one.enclosed_in] + (" (for the way home only)" if home else "")


def _not_in(one: Enclosure, result: FinishResult) -> str:
    where = f", {HOTTEST[result.finishing.hottest]}" if one.why == "too_hot" else ""
    return f"{ENCLOSED[one.enclosed_in]} (at most {_percent(one.most_activity)}{where})"


def _home_note(result: FinishResult) -> str:
    if _lies_flat(result):
        return HOME_NOTE_COATED
    inward = (result.choice.lift_home_m.p50 or 0.0) >= 0
    side, kind = ("inward", "dry") if inward else ("outward", "damp")
    return HOME_NOTE.format(side=side, kind=kind)


def _ways_tables(result: FinishResult) -> list[Table]:
    if _lies_flat(result):
        return []
    first = [result.choice, *(way for way in result.ways if way is not result.choice)]
    rows = [
        way_record(way) | {"way": NAMES[way.way], "out_by_at": way.flat_at.p90} for way in first
    ]
    title = "Each way: likely minutes a load (range of eight in ten), how high edges then stand"
    ends = [one[key]["p10"] for one in rows for key in ("curl_now_mm", "curl_mm")]
    if any(end is not None and round(end) < 0 for end in ends):
        title += "; below 0 bowed outward"
    return [Table(title, COLUMNS, rows)]


def _enclose_table(result: FinishResult) -> Table:
    rows = [
        {
            "in": ENCLOSED[one.enclosed_in],
            "from_at": one.from_at,
            "most_frac": one.most_activity,
            "why": NOT_IN.get(one.why, ""),
        }
        for one in result.enclose
    ]
    columns = (
        Column("in", "Into"),
        Column("from_at", "from"),
        Column("most_frac", "at most"),
        Column("why", "why not"),
    )
    return Table("What it may be enclosed in", columns, rows)


def _warnings(result: FinishResult, units: str) -> list[str]:
    needed = say("mass_kg", result.mass_needed_kg, units, digits=1)
    state = result.state
    said = {
        "cracks": f"In balance with {_percent(state.pulled_activity)} it is brittle: so dry an "
        "emulsion cracks when it is bent or pressed; let it lie in the air first.",
        "sticks": "So damp its face sticks to whatever it is pressed on: a matte release sheet, "
        "never two faces together.",
        "gloss": "Its gelatin is soft at that heat and takes the gloss of whatever smooth lies on "
        "it: a matte release sheet on its face, and let it cool under the weight.",
        "damp_blotters": "Blotters as damp as this dry nothing, and wet a dry print: warm them on "
        "the plate first, or keep them closed up.",
        "light_weight": f"So light a weight leaves cockles of 1 mm over 5 cm: they want {needed}.",
        "damp_air": f"The air ({_percent(state.air_activity)}) is as damp as what counts as dry: a "
        "print lying free takes the air's moisture again.",
        "tears": "So damp it tears along the trimmer: let it dry first.",
        "ink": "The stamp's ink offsets on the next print's face: lay it face up by itself until "
        "it is dry, never stack it.",
        "sleeve": "No sleeve yet: its gelatin would stick to smooth plastic on the way home.",
        "mould": "Enclosed so damp for weeks it grows mould; it has to be opened tonight.",
    }
    return [said[name] for name in result.warnings]


def _stands_on(
    event: Event, result: FinishResult, *, members: int, seed: int, note: str, units: str
) -> list[str]:
    state = result.state
    found = [note] if note else []
    held = "held flat" if state.flat else "left free"
    plate = ""
    if state.plate_k is not None:
        whence = {"told": "told", "read": "read off it", "usual": "usual; --plate tells yours"}
        plate = f", metal at {say('temp_c', celsius(state.plate_k), units)}"
        plate += f" ({whence[result.plate_from]})"
    found.append(
        f"Dried by: {WAY_NAMES[state.dried]}, {held}{plate}; in balance with "
        f"{_percent(state.pulled_activity)} when it is pulled."
    )
    found.append(source_said(event.weather.source))
    if _lies_flat(result):
        return [*found, *event.assumptions]
    found.append(
        f"Ranges: {members} draws (seed {seed}); how far gelatin bends a print is known to about a "
        "factor of two, and how holding sets it is judgement that nobody has measured on this "
        "paper: 'drybox explain curl'. Edges are measured with the print standing on edge."
    )
    taught = result.taught
    if taught.notes_used:
        found.append(
            f"Its curl stands on {counted(taught.notes_used, 'lift', 'one')} noted of this paper: "
            f"{math.exp(taught.mean_log):.2f} times the law; --uncalibrated leaves that out."
        )
    return [*found, *event.assumptions]
