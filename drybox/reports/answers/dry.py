"""What is said of one print and its ways of drying: the choice first, then all side by side."""

from __future__ import annotations

import math
from typing import Any

from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import ON_PLATE, WAY
from drybox.planning.aim.event_aim import declination_of
from drybox.planning.aim.wind import day_wind
from drybox.planning.one_print.drying import TOO_LARGE
from drybox.planning.one_print.hot_metal import hottest_of_k
from drybox.planning.one_print.ways import DryResult, WayResult
from drybox.planning.scenario.percentiles import Range, or_never
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_given
from drybox.reports.text.cautions import cautions
from drybox.reports.text.heat_words import (
    heat_warnings,
    hold_option,
    metal_record,
    metal_said,
    off_sun_said,
    temp_said,
)
from drybox.reports.text.phrases import bearing_said, capital, clock, clock_after, lasting, say
from drybox.reports.text.readings import echo_readings, outliers, stands_on
from drybox.reports.text.spot_words import LEVEL_DEG, wind_warned
from drybox.reports.text.weather_words import under_both, with_weather
from drybox.units import celsius

TAKE = {
    "sun_plate": "Lay it on the sun plate",
    "line_shade": "Hang it on a line in the shade",
    "screen_shade": "Lay it on a screen in the shade",
    "line_sun": "Hang it on a line in the sun",
    "blotters": "Put it into the blotter book",
    "warm_plate": "Lay it on the powered warm plate",
    "warm_air": "Hang it in the powered warm air",
}
TAKE_OFF = {
    "sun_plate": ("lift it off", "lie"),
    "screen_shade": ("lift it off", "lie"),
    "blotters": ("take it out", "lie"),
    "warm_plate": ("lift it off", "lie"),
}
"""How a print leaves a way of drying, and how it may stay there; the rest hang."""

DAMP_MARGIN = 0.1
"""Air this close below the humidity that stands for dry makes drying slow and unsure. [-]"""

HAND_WARM_K = 303.15
"""A plate below this is not called warm (judgement). [K]"""

OVER_K, ROOM_K = 1.0, 4.0
"""A plate held off the sun and read so much over or under its limit is aimed wrongly
(judgement). [K]"""

ONE_HOUR = 60
COLUMNS = (
    Column("way", "Way"),
    Column("touch_minutes", "touch"),
    Column("minutes", "dry"),
    Column("pull_from", "pull at"),
    Column("pull_before", "before"),
    Column("print_temp_max_c", "max"),
    Column("energy_wh", "Wh"),
    Column("why", "not today"),
)


def dry_answer(
    event: Event,
    result: DryResult,
    *,
    units: str = "metric",
    members: int,
    seed: int,
    note: str = "",
) -> Answer:
    """Return the answer of ``drybox dry``.

    ``note`` tells what had to be decided about the time.
    """
    overcast = result.other_sky
    lead = _lead(event, result, units)
    tables = [_table(result, units)]
    record, found = _result(event, result), _warnings(event, result, units)
    if overcast is not None:
        clear, closed = (f"{TITLE} under {sky}" for sky in ("a clear sky", "a closed sky"))
        lead = under_both(lead, _lead(event, overcast, units))
        tables = [_table(result, units, clear), _table(overcast, units, closed)]
        record |= {"if_clear": _result(event, result), "if_overcast": _result(event, overcast)}
    return answer_for(
        event,
        "dry",
        told=[
            *echo_readings(event, result.readings),
            *echo_given("dry", members=members, seed=seed),
        ],
        result=record,
        lead=[
            *with_weather(lead, event, units, after=1 if overcast is None else 3),
            *metal_said(result.metal_k, units, event.box, powered_k=result.powered_metal_k),
        ],
        tables=tables,
        assumptions=_stands_on(event, result, members, seed=seed, note=note),
        warnings=[*found, *event.warnings],
        cautions=_cautions(event, result),
    )


def way_record(way: WayResult) -> dict[str, Any]:
    """Return one way as the record holds it."""
    followed = way.duration_s.p10 is not None or way.print_temp_max_k > 0.0
    return {
        "way": way.way,
        "minutes": way.duration_s.minutes(math.inf),
        "touch_dry_at": way.touch_dry_at.record(math.inf),
        "dry_at": way.dry_at.record(math.inf),
        "pull_from": way.pull_from_at,
        "pull_before": way.pull_before_at,
        "print_temp_max_c": celsius(way.print_temp_max_k) if followed else None,
        "print_temp_kept_c": celsius(way.print_temp_kept_k) if followed else None,
        "energy_wh": None if WAY[way.way].power and not way.energy_j else way.energy_j / 3600,
        "feasible": way.feasible,
        "why": why_not_said(way),
    }


def why_not_said(way: WayResult, units: str = "metric") -> str:
    """Return why a way cannot be used, empty if it can."""
    code, told = way.why.code, way.why.values

    def temp(name: str) -> str:
        return temp_said(float(told[name]), units)

    def share(name: str) -> str:
        return say("share_frac", float(told[name]))

    if code == "too_hot":
        return (
            f"the print would be kept at {temp('kept_k')} for a minute, and is over its limit "
            f"({temp('wet_most_k')} wet, {temp('print_most_k')} dry) by "
            f"{_rise_said(max(float(told['over_k']), 1.0), units)}"
        )
    if code == "too_damp":
        return f"air of {share('humidity_frac')} humidity is too damp for it: the print stays limp"
    if code == "weak_air":
        power, rise_k = say("power_w", float(told["power_w"])), float(told["rise_k"])
        return f"{power} warms this air by {_rise_said(rise_k, units)}, too little"
    if code == "near_damp":
        return (
            f"air of {share('humidity_frac')} humidity is little drier than what counts as dry "
            f"({share('dry_frac')}): it may never get there"
        )
    if code == "battery":
        needs, holds = (float(told[name]) / 3600 for name in ("needs_j", "holds_j"))
        return f"it needs {needs:.0f} Wh and the battery holds {holds:.0f} Wh"
    if code == "not_out":
        return f"the box is set out {float(told['later_s']) / 60:.0f} min later"
    if code == "never_below":
        return f"the plate passes {temp('limit_k')} at every aim"
    return str(told["what"]) if code == "no_aim" else WHY_NOT[code]


def _rise_said(rise_k: float, units: str) -> str:
    return f"{1.8 * rise_k:.0f} °F" if units == "us" else f"{rise_k:.0f} K"


def _choice_said(result: DryResult, units: str = "metric") -> str:
    best, why, other = result.choice, result.choice_why, result.choice_why.other
    battery = best is not None and best.way in ON_PLATE
    saved = 0  # by the minutes told, of which one is the least
    if why.code == "sooner" and best is not None and other is not None:
        saved = max(round(other.sure_s / 60) - round(best.sure_s / 60), 1)
    return CHOSEN[why.code].format(
        name=other.name if other else "",
        also=f"; the {other.name}: {why_not_said(other, units)}" if other and other.why else "",
        spared="no battery to carry" if battery else "less to carry and to watch",
        sooner=f"{saved} min" if saved < 100 else "hours",
    )


def _result(event: Event, result: DryResult) -> dict[str, Any]:
    plate = next((way for way in result.ways if way.way == "sun_plate"), None)
    warm = result.plate_temp_at_start_k
    record: dict[str, Any] = {
        "laid_on_at": result.laid_on_at,
        **metal_record(event.box, result.metal_k, result.powered_metal_k),
        "ways": [way_record(way) for way in result.ways],
        "choice": {"way": result.choice and result.choice.way, "why": _choice_said(result)},
        "cures": [
            {
                "cure": cure.cure,
                "minutes": cure.duration_s.minutes(math.inf),
                "print_temp_kept_c": celsius(cure.print_temp_kept_k),
            }
            for cure in result.cures
        ],
        "sun_plate": None,
    }
    if plate is not None and warm is not None:
        record["sun_plate"] = {
            "bearing_true_deg": result.bearing_deg,
            "tilt_deg": result.tilt_deg,
            "off_sun": result.off_sun.code,
            "held_below_c": _celsius_or_none(plate.held_below_k),
            "plate_temp_at_start_c": {k: celsius(v) for k, v in warm.record(math.inf).items()},
            "plate_temp_max_c": _celsius_or_none(plate.plate_temp_max_k),
            "wet_print_temp_max_c": _celsius_or_none(plate.wet_temp_max_k),
        }
    return record


def _celsius_or_none(temp_k: float | None) -> float | None:
    return None if temp_k is None or not math.isfinite(temp_k) else celsius(temp_k)


def _in_order(result: DryResult) -> list[WayResult]:
    """Return the choice first, then those that can be used, the soonest before the others."""
    return sorted(
        result.ways,
        key=lambda way: (way is not result.choice, not way.feasible, or_never(way.duration_s.p50)),
    )


WHY_NOT = {
    "": "",
    "not_sure": "not sure to be dry within the time followed",
    "rains": "it rains at that time",
    "rain_comes": "rain comes before it would be dry",
    "too_large": TOO_LARGE,
}
CHOSEN = {
    "only_sure": "It is the only way that dries the print for sure{also}.",
    "nearly_as_quick": "Nearly as quick as the {name}, with {spared}.",
    "as_quick": "As quick as the {name}.",
    "sooner": "Nine prints in ten are dry {sooner} sooner than by the {name}.",
    "only_asked": "It is the only way that was looked at.",
    "none_sure": (
        "No way dries it for sure in the time followed: plan to hand it over damp, or mail it."
    ),
    "touch_soonest": "No way is sure to dry it, and by this one it is touch dry the soonest.",
}
TITLE = "Each way"


def _table(result: DryResult, units: str, title: str = TITLE) -> Table:
    rows = [
        way_record(way)
        | {
            "way": way.name,
            "touch_minutes": way.touch_dry_at.scaled(1 / 60, -result.laid_on_at / 60).record(
                math.inf
            ),
            "why": why_not_said(way, units),
        }
        for way in _in_order(result)
    ]
    powered = any(way.energy_j > 0 for way in result.ways)
    columns = [column for column in COLUMNS if powered or column.key != "energy_wh"]
    return Table(
        f"{title}: likely minutes to touch dry and to dry (range of eight in ten), hottest print",
        tuple(columns),
        rows,
    )


def _lead(event: Event, result: DryResult, units: str) -> list[str]:
    zone, best = event.place.timezone, result.choice
    begun = clock(result.laid_on_at, zone)
    if best is None:
        return [f"Wet at {begun}: {_choice_said(result)}", *_nearest(result, zone)]
    if best.duration_s.p90 is None:
        return _touch_lead(event, result, best)
    low = clock_after(best.dry_at.p10 or 0.0, result.laid_on_at, zone)
    lead = [
        f"{_take(best)}{_off_sun(event, result, best, units=units)} at {begun}: dry in "
        f"{lasting(best.duration_s.p10, best.duration_s.p90)}, "
        f"{_between(best.dry_at, result.laid_on_at, zone)}.",
        f"Why: {_choice_said(result, units)}",
        _pull(event, best, low),
    ]
    if best.energy_j > 0.0:
        lead.append(f"It takes about {say('energy_wh', best.energy_j / 3600)}.")
    if best.way == "sun_plate" and result.bearing_deg is not None:
        lead.append(_aim_said(event, result, best, units=units))
    return lead


def _touch_lead(event: Event, result: DryResult, best: WayResult) -> list[str]:
    """Return what to do with a print that can be promised touch dry only."""
    zone = event.place.timezone
    begun = clock(result.laid_on_at, zone)
    carried = (
        "Touch dry, it may be handled and taken along open, between blotters, with the note to "
        "let it dry face up tonight; never in a folder nor in plastic."
    )
    if event.paper.resin_coated:
        carried = (
            "Touch dry, it may be handled and taken along open, face up; folder or sleeve once "
            "its face feels dry."
        )
    took = best.touch_dry_at.scaled(1.0, -result.laid_on_at)
    return [
        f"{_take(best)} at {begun}: touch dry in {lasting(took.p10, took.p90)}, "
        f"{_between(best.touch_dry_at, result.laid_on_at, zone)}.",
        f"Why: {_choice_said(result)}",
        carried,
    ]


def _take(way: WayResult) -> str:
    return TAKE[way.way] if way.in_sun else f"Hang it on a {way.name}"


def _off_sun(event: Event, result: DryResult, best: WayResult, *, units: str) -> str:
    """Return in brackets why the plate does not face the sun, if by more than between turns."""
    if best.way != "sun_plate" or result.off_sun.code == "stretch":
        return ""
    why = off_sun_said(result.off_sun, event.place.timezone, units)
    if result.off_sun.code == "wind" and (result.tilt_deg or 0.0) < LEVEL_DEG:
        why = f"level, {why}"
    return f" ({why})" if why else ""


def _nearest(result: DryResult, zone: str) -> list[str]:
    """Return what comes nearest where no way is sure."""
    able = [
        (way.dry_at.p50, way.name)
        for way in result.ways
        if way.dry_at.p50 is not None and not (way.too_hot or way.without_power or way.rained_on)
    ]
    if not able:
        return []
    dry_at, soonest = min(able, key=lambda found: found[0])
    likely = clock_after(dry_at, result.laid_on_at, zone)
    return [f"The {soonest} comes nearest: one print in two is dry by {likely}."]


def _between(found: Range, from_at: float, zone: str) -> str:
    low, likely, high = (
        clock_after(moment or 0.0, from_at, zone) for moment in (found.p10, found.p50, found.p90)
    )
    return f"between {low} and {high}, most likely at {likely}"


def _pull(event: Event, way: WayResult, look_at: str) -> str:
    """Return when to look and to pull, in words that fit how and on what paper it dries."""
    assert way.pull_from_at is not None
    zone = event.place.timezone
    pull_from = clock(way.pull_from_at, zone)
    takes, stays = TAKE_OFF.get(way.way, ("take it down", "hang"))
    look = f"Look at it from {look_at}"
    if event.paper.resin_coated:
        return (
            f"{look}; {takes} from {pull_from}, its face dry and no longer tacky. Resin-coated "
            "paper lies flat: it needs no weight, and a sleeve may follow."
        )
    if way.pull_before_at is None:
        return (
            f"{look}; {takes} from {pull_from}, limp and hardly cool to the lip. It may {stays} "
            "on: it will not over-dry soon."
        )
    before = clock(way.pull_before_at, zone)
    window = f"between {pull_from} and {before}" if before != pull_from else f"at {pull_from}"
    return (
        f"{look}, pull it {window}, while it is limp and flat; left longer it curls and turns "
        "brittle. Then lay it under a flat weight."
    )


def _aim_said(event: Event, result: DryResult, plate: WayResult, *, units: str) -> str:
    assert result.bearing_deg is not None
    assert result.tilt_deg is not None
    warm = result.plate_temp_at_start_k
    assert warm is not None
    assert warm.p50 is not None
    tilt = say("tilt_deg", result.tilt_deg)
    aim = f"{bearing_said(result.bearing_deg, declination_of(event).degrees)}, tilted {tilt}"
    if result.tilt_deg < LEVEL_DEG:
        aim = "straight up: it lies level"
    text = f"The plate faces {aim}"
    if result.off_sun.code == "stretch":
        text += f", {off_sun_said(result.off_sun, event.place.timezone, units)}"
    warmed = "once warm it is" if warm.p50 > HAND_WARM_K else "it is"
    text += f"; {warmed} at about {say('plate_temp_c', celsius(warm.p50), units)}."
    if plate.held_below_k is None or not result.readings.used:
        return text
    over_k = warm.p50 - plate.held_below_k
    hold = hold_option(plate.held_below_k - over_k, units)
    further = f"as 'drybox aim --hold-below {hold}' says"
    if over_k > OVER_K:
        return f"{text} By what was read it passes that: aim it further off the sun, {further}."
    if over_k < -ROOM_K:
        return f"{text} By what was read it may face the sun more, {further}."
    return text


def _warnings(event: Event, result: DryResult, units: str) -> list[str]:
    found = heat_warnings(event, result, units)
    on_plate = any(way.way == "sun_plate" and way.feasible for way in result.ways)
    found += wind_warned(day_wind(event, result.aim) if on_plate else None, units)
    found += [
        f"{capital(way.name)}: resin-coated paper softens above about "
        f"{temp_said(event.limits.print_most_k, units)}; it dries by itself in air."
        for way in result.ways
        if event.paper.resin_coated and way.feasible and way.plate_temp_max_k is not None
    ]
    return [*found, *outliers(event, result.readings, units), *_damp(event, result)]


def _damp(event: Event, result: DryResult) -> list[str]:
    """Say it where the air itself is nearly too damp for what counts as dry.

    It is the air that rules ways out, where it does, else that of the hour from laying on.
    """
    dry = event.limits.dry_activity_frac
    held = result.told.time_at >= result.laid_on_at
    named = [way.why.values for way in result.ways if way.why.code in ("too_damp", "near_damp")]
    of_hour = result.told.humidity_frac[held][:ONE_HOUR].mean()
    humidity = float(named[0]["humidity_frac"] if named else of_hour)
    if humidity < dry - DAMP_MARGIN:
        return []
    if humidity < dry:
        return [
            f"The air ({100 * humidity:.0f} % humidity) is little drier than what counts as dry "
            f"({100 * dry:.0f} %): paper hung in it gets there late. Only heat brings it lower."
        ]
    return [
        f"The air is damp ({100 * humidity:.0f} % humidity): paper hung in it ends up no drier "
        "than what counts as dry here, or never gets there. Only heat brings it lower."
    ]


def _cautions(event: Event, result: DryResult) -> list[str]:
    on_plate = {way.way for way in result.ways if way.feasible} & set(ON_PLATE)
    unknown = hottest_of_k(result.metal_k, result.powered_metal_k) is None
    return cautions(
        bool(on_plate) and unknown and "hot_metal",
        any(way.energy_j > 0.0 for way in result.ways) and "electricity",
        "sun_plate" in on_plate and "magnets",
        bool(on_plate) and event.paper.resin_coated and "plastics",
        result.choice is not None and result.choice.way == "line_sun" and "wind",
        "estimate",
    )


def _stands_on(event: Event, result: DryResult, members: int, *, seed: int, note: str) -> list[str]:
    dry = 100 * event.limits.dry_activity_frac
    over = 100 * event.limits.over_dry_activity_frac
    return stands_on(
        event,
        f"Dry is what paper keeps in air of {dry:.0f} % humidity, over-dry in {over:.0f} %. "
        f"Ranges: {members} draws (seed {seed}) of weather, squeegee, contact and "
        "losses; how wide these spread is judgement.",
        readings=result.readings,
        note=note,
    )
