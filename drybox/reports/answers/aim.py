"""What is said of the box's aim: which way, how steep, when to turn, how to sight it."""

from __future__ import annotations

from typing import Any

from drybox.inputs.event.event import Event
from drybox.planning.aim.event_aim import EventAim, Sighting, declination_of
from drybox.planning.aim.search import Turn
from drybox.planning.aim.sighting import prop_height_m
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_given
from drybox.reports.text.cautions import cautions
from drybox.reports.text.heat_words import left_out_said, metal_record, metal_said, off_sun_said
from drybox.reports.text.phrases import bearing_said, clock, iso_time, listed, say, sentence
from drybox.reports.text.spot_words import (
    LEVEL_DEG,
    behind_said,
    raise_said,
    raised_edge,
    strip_records,
    strips_said,
    wind_record,
    wind_said,
    wind_warned,
)
from drybox.reports.text.weather_words import source_said, with_weather
from drybox.units import celsius

COLUMNS = (
    Column("at", "from"),
    Column("bearing_magnetic_deg", "compass"),
    Column("bearing_true_deg", "true"),
    Column("tilt_deg", "tilt"),
    Column("prop_height_mm", "prop"),
    Column("plate_irradiance_w_m2", "sun"),
    Column("shadow_mm", "shadow"),
    Column("shadow_points_to", "to"),
)

FACES_AWAY_FRAC = 0.5
"""A plate that gets less of what always turning would give it faces away (judgement). [-]"""


def aim_answer(
    event: Event,
    found: EventAim,
    *,
    units: str = "metric",
    turns: bool = True,
    peg_m: float = 0.05,
    note: str = "",
) -> Answer:
    """Return the answer of ``drybox aim``.

    With ``turns`` it speaks of the list of turns first, else of the single aim. ``note`` tells what
    had to be decided about the time.
    """
    rows = _rows(event, found, peg_m)
    beside = _beside(event, found, turns=turns, units=units)
    lead = _lead(event, found, turns, units=units, peg_m=peg_m, beside=beside)
    rests = found.held_below_k is not None or bool(metal_said(found.metal_k))
    return answer_for(
        event,
        "aim",
        told=_asked(event, found, peg_m),
        result=_result(event, found, rows, peg_m=peg_m),
        lead=[*left_out_said(event), *with_weather(lead, event, units, rests_on_air=rests)],
        tables=[Table("Turn the box", COLUMNS, rows)] if turns else [],
        assumptions=_stands_on(event, found, note),
        warnings=[*wind_warned(found.wind, units), *_warnings(event, found), *event.warnings],
        cautions=cautions("sun"),
        beside=beside,
    )


def _asked(event: Event, found: EventAim, peg_m: float) -> list[dict[str, Any]]:
    held, zone = found.held_below_k, event.place.timezone
    span = "option or event, cut to the hours of sun"
    wished = {} if held is None else {"hold_below": (celsius(held), "°C")}
    first, last = iso_time(found.from_at, zone), iso_time(found.until_at, zone)
    return [
        *echo_given("aim", at=iso_time(found.at, zone)),
        *echo_given("aim", span, from_at=first, until_at=last),
        *echo_given("aim", "option or event", share=(found.share_frac, "frac")),
        *echo_given("aim", peg=(peg_m * 1e3, "mm")),
        *echo_given("aim", "option or event", **wished),
    ]


def _aim_record(event: Event, found: EventAim, turn: Turn) -> dict[str, Any]:
    declination = found.declination.degrees
    magnetic = None if declination is None else (turn.bearing_deg - declination) % 360.0
    return {
        "bearing_true_deg": turn.bearing_deg,
        "bearing_magnetic_deg": magnetic,
        "tilt_deg": turn.tilt_deg,
        "raised_edge": raised_edge(turn.bearing_deg) if turn.tilt_deg >= LEVEL_DEG else None,
        "prop_height_mm": prop_height_m(turn.tilt_deg, event.box.prop_distance_m) * 1e3,
        "plate_irradiance_w_m2": turn.mean_irradiance_w_m2,
    }


def _rows(event: Event, found: EventAim, peg_m: float) -> list[dict[str, Any]]:
    rows = []
    for turn, seen, strips in zip(found.plan.turns, found.sightings, found.strips, strict=True):
        sight = _sight_record(seen, peg_m, turn)
        row = {"at": turn.from_at} | _aim_record(event, found, turn) | sight
        if seen.at != turn.from_at and row["shadow_points_to"] is not None:
            row["shadow_points_to"] += f", {clock(seen.at, event.place.timezone)}"
        rows.append(row | {"wall_shade": strip_records(strips)})
    return rows


def _sight_record(seen: Sighting, peg_m: float, turn: Turn) -> dict[str, Any]:
    level = turn.tilt_deg < LEVEL_DEG  # without a slope there is no 12 to read a shadow by
    if level or seen.length_pegs is None or seen.direction_deg is None:
        towards = None if level else "no sun"
        return {"shadow_mm": None, "shadow_points_to": towards, "shadow_hour": None}
    return {
        "shadow_mm": seen.length_pegs * peg_m * 1e3,
        "shadow_points_to": _on_a_clock(seen.direction_deg),
        "shadow_hour": _hour(seen.direction_deg),
    }


def _hour(direction_deg: float) -> int:
    """Return the hour that a direction on the plate has on a clock face."""
    return round(direction_deg / 30.0) % 12 or 12


def _on_a_clock(direction_deg: float) -> str:
    """Return a direction on the plate as on a clock face, 12 up the slope.

    >>> _on_a_clock(0.0), _on_a_clock(93.0), _on_a_clock(352.0)
    ("12 o'clock", "3 o'clock", "12 o'clock")
    """
    return f"{_hour(direction_deg)} o'clock"


def _result(
    event: Event, found: EventAim, rows: list[dict[str, Any]], *, peg_m: float
) -> dict[str, Any]:
    single = _aim_record(event, found, found.plan.single)
    sights = ("shadow_mm", "shadow_points_to", "shadow_hour")
    return {
        "at": found.at,
        "sun": {
            "elevation_deg": found.sun_elevation_deg,
            "azimuth_true_deg": found.sun_azimuth_deg,
        },
        "from_at": found.from_at,
        "until_at": found.until_at,
        "bearing_true_deg": single.pop("bearing_true_deg"),
        "bearing_magnetic_deg": single.pop("bearing_magnetic_deg"),
        "declination_deg": found.declination.degrees,
        "declination_uncertainty_deg": found.declination.uncertainty_deg,
        **single,
        "off_sun": found.single_off_sun.code,
        "now_off_sun": found.off_sun.code,
        "wall_shade": strip_records(found.single_strips),
        "wind": wind_record(found.wind),
        **metal_record(event.box, found.metal_k),
        "better": None if found.better is None else _aim_record(event, found, found.better),
        "kept_frac": found.plan.kept_frac,
        "turns": [{k: row[k] for k in row if k not in sights} for row in rows],
        "turns_kept_frac": found.plan.turns_kept_frac,
        "sightings": [
            {"at": seen.at} | {k: sight[k] for k in ("shadow_mm", "shadow_points_to")}
            for seen, turn in zip(found.sightings, found.plan.turns, strict=True)
            for sight in (_sight_record(seen, peg_m, turn),)
        ],
    }


def aim_said(event: Event, turn: Turn, units: str, *, why: str = "") -> str:
    """Return one aim as an order to people, and why it does not face the sun, where it does not."""
    if turn.tilt_deg < LEVEL_DEG:
        return "lay the box level" + (f", {why}" if why else "")
    return (
        f"face the box to {bearing_said(turn.bearing_deg, declination_of(event).degrees)}, tilted "
        f"{say('tilt_deg', turn.tilt_deg)}: {raise_said(event.box, turn, units)}"
        + (f"; {why}" if why else "")
    )


def _lead(
    event: Event, found: EventAim, turns: bool, *, units: str, peg_m: float, beside: list[str]
) -> list[str]:
    zone, plan = event.place.timezone, found.plan
    now = found.now if turns else plan.single
    at, until = clock(found.at, zone), clock(now.until_at, zone)
    inside = found.from_at < found.at <= found.until_at
    when = f"At {at}" if inside else f"From {clock(now.from_at, zone)}"
    off_sun = found.off_sun if turns else found.single_off_sun
    why = off_sun_said(off_sun, zone, units)
    order = aim_said(event, now, units, why=why)
    stays = "" if off_sun.code == "stretch" else f" Leave it so until {until}."
    lead = [f"{when} {order}.{stays}", _sun_said(found, at), *beside]
    aims = plan.turns if turns else (plan.single,)
    if any(turn.tilt_deg >= LEVEL_DEG for turn in aims):
        lead.append(_peg_said(found, turns, zone, units=units, peg_m=peg_m))
    return [*lead, *metal_said(found.metal_k, units, event.box)]


def _beside(event: Event, found: EventAim, *, turns: bool, units: str) -> list[str]:
    """Return what the aim keeps, and what of it to mind: its walls' shade and the wind."""
    plan = found.plan
    now = found.now if turns else plan.single
    said = [_kept_said(event, found, turns=turns, units=units)]
    if found.held_below_k is not None:
        said.append(
            f"{_stance(found, now)} on purpose. If haze or cloud comes, turn it to face the sun, "
            "and back when the sun is."
        )
    strips = found.strips[plan.turns.index(now)] if turns else found.single_strips
    level = now.tilt_deg < LEVEL_DEG
    said += strips_said(strips, event.place.timezone, units, level=level)
    return [*said, *wind_said(found.wind, units)]


def _stance(found: EventAim, turn: Turn) -> str:
    gap = abs((turn.bearing_deg - found.sun_azimuth_deg + 180.0) % 360.0 - 180.0)
    if gap > 90.0 and found.sun_elevation_deg > 0.0:
        return "It leans back from the sun"
    return "It is off the sun"


def _sun_said(found: EventAim, at: str) -> str:
    if found.sun_elevation_deg <= 0.0:
        return f"At {at} the sun is down."
    bearing = bearing_said(found.sun_azimuth_deg, found.declination.degrees)
    return f"The sun at {at}: {say('up_deg', found.sun_elevation_deg)} up, {bearing}."


def _kept_said(event: Event, found: EventAim, *, turns: bool, units: str) -> str:
    plan, zone = found.plan, event.place.timezone
    one, many = (say("kept_frac", kept) for kept in (plan.kept_frac, plan.turns_kept_frac))
    count = len(plan.turns) - 1
    if event.box.aim_mode == "fixed" and found.held_below_k is None:
        text = f"Kept so, the plate gets {one} of what always turning would give it"
        better = found.better
        if better is None:
            return f"{text}: hardly less than at any other one aim."
        gain = better.mean_irradiance_w_m2 / plan.single.mean_irradiance_w_m2 - 1.0
        order = aim_said(event, better, units)
        return f"{text}; to gain {say('gain_frac', gain)}, {order}."
    if not count and plan.kept_frac < FACES_AWAY_FRAC:
        return (
            f"At this one aim it faces away from the sun: it keeps {one} of the energy of always "
            "turning."
        )
    if not count:
        return f"No turn is needed: this one aim keeps {one} of the energy of always turning."
    times = "one turn" if count == 1 else f"{count} turns"
    if turns:
        single = plan.single
        true, declination = single.bearing_deg, found.declination.degrees
        facing = "true" if declination is None else "by compass"
        bearing = say("bearing_deg", true - (declination or 0.0))
        aim = f"{bearing} {facing}, tilt {say('tilt_deg', single.tilt_deg)}"
        return (
            f"With {times} the plate gets {many} of what always turning would give it; left all "
            f"the time at its best single aim ({aim}), {one}."
        )
    clocks = listed([clock(turn.from_at, zone) for turn in plan.turns[1:]])
    return (
        f"Left alone it gets {one} of what always turning would give it; with {times} (at "
        f"{clocks}), {many}."
    )


def _peg_said(found: EventAim, turns: bool, zone: str, *, units: str, peg_m: float) -> str:
    peg = say("peg_mm", peg_m * 1e3, units)
    sight = "Sight"
    if found.off_sun.code == "sky":
        sight = "While no shadow falls set it by the compass and the prop. Once one does, sight"
    text = f"{sight} by a shadow, never by eye: stand a {peg} peg square on the plate. "
    if found.held_below_k is None:
        text += "It throws no shadow when the plate faces the sun. "
    if turns:
        return text + (
            "At each time below the shadow is this long and points as on a clock face, 12 up the "
            "slope."
        )
    seen = found.single_sighting
    if seen.length_pegs is None or seen.direction_deg is None:
        return text + "The sun never comes in front of this aim."
    length = say("shadow_mm", seen.length_pegs * peg_m * 1e3, units)
    return text + (
        f"Here it is shortest at {clock(seen.at, zone)}: {length}, towards "
        f"{_on_a_clock(seen.direction_deg)} (12 up the slope)."
    )


def _warnings(event: Event, found: EventAim) -> list[str]:
    zone = event.place.timezone
    said = [sentence(found.declination.caution)] if found.declination.caution else []
    return said + [behind_said(stretch, zone, "the sun") for stretch in found.blocked]


def _stands_on(event: Event, found: EventAim, note: str) -> list[str]:
    zone, declination = event.place.timezone, found.declination
    said = [note] if note else []
    if (found.from_at, found.until_at) != found.asked_s:
        said.append(
            f"The sun is up from {clock(found.from_at, zone)} to {clock(found.until_at, zone)} of "
            "the time asked for; the aims are for that."
        )
    if declination.degrees is not None and declination.uncertainty_deg is not None:
        side = "east" if declination.degrees >= 0 else "west"
        said.append(
            f"A compass points {abs(declination.degrees):.1f}° {side} of true north here, give or "
            f"take {declination.uncertainty_deg:.1f}° (World Magnetic Model 2025, which ends with "
            "2029); the steel plate, magnets and cars turn it further: read it some steps away."
        )
    said.append(source_said(event.weather.source))
    limit = " that the limit allows" if found.held_below_k is not None else ""
    said.append(
        f"The aims give the most light on the plate{limit} over each stretch, obstacles, the "
        "bin's walls and cloud counted in; found by search, not by a rule."
    )
    return [*said, *(text for text in event.assumptions if text not in event.settings.of_print)]
