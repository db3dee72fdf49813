"""What is said of setting out: when, how the plate warms, first and last useful laying-on."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.aim.search import Turn
from drybox.planning.one_print.lay_ons import QUARTER_S
from drybox.planning.one_print.set_out import SetOutResult
from drybox.planning.scenario.percentiles import Range
from drybox.reports.answers.aim import aim_said
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_given, fields_of
from drybox.reports.text.cautions import cautions
from drybox.reports.text.heat_words import (
    clocks_said,
    left_out_said,
    metal_record,
    metal_said,
    no_plate_said,
    off_sun_said,
    spans_said,
    temp_said,
)
from drybox.reports.text.phrases import clock, lasting, listed, say, sentence
from drybox.reports.text.readings import echo_readings, outliers, stands_on
from drybox.reports.text.spot_words import (
    behind_said,
    break_records,
    break_said,
    spot_records,
    spot_table,
    wind_record,
    wind_said,
    wind_warned,
)
from drybox.reports.text.weather_words import under_both, with_weather
from drybox.units import celsius

HOUR_S = 3600.0

COLUMNS = (
    Column("at", "At"),
    Column("plate_irradiance_w_m2", "sun on the plate"),
    Column("plate_temp_c", "empty plate"),
    Column("air_temp_c", "air"),
    Column("minutes", "print dry after"),
)


def setout_answer(
    event: Event,
    found: SetOutResult,
    *,
    units: str = "metric",
    members: int,
    seed: int,
) -> Answer:
    """Return the answer of ``drybox setout``."""
    overcast = found.other_sky
    record = _result(event, found)
    said = _lead(event, found, units)
    closed = []
    if overcast is not None:
        closed = _lead(event, overcast, units)
    elif found.no_other_sky is not None:
        closed = [sentence(no_plate_said(found.no_other_sky, units))]
    if closed:
        said = under_both(said, closed)
        of_closed = None if overcast is None else _result(event, overcast)
        record |= {"if_clear": _result(event, found), "if_overcast": of_closed}
    windy, zone = wind_said(found.wind, units), event.place.timezone
    return answer_for(
        event,
        "setout",
        told=[
            *echo_readings(event, found.readings),
            *echo_given("setout", "as resolved", wait=(found.wait_s / 60, "min")),
            *echo_given("setout", members=members, seed=seed),
        ],
        result=record,
        lead=[
            *left_out_said(event),
            *with_weather(said, event, units, after=3 if closed else 1),
            _sun_said(found, zone),
            *metal_said(found.metal_k, units, event.box),
            *(windy if found.set_out_at is not None else []),
            *(break_said(gap, zone) for gap in found.spots.breaks if gap.use == "camera"),
        ],
        tables=[
            Table("Through the day", COLUMNS, _hours(event, found)),
            *([spot_table(found.spots, zone)] if found.spots.named else []),
        ],
        assumptions=_stands_on(event, found, members, seed=seed),
        warnings=[*_warnings(event, found, units), *event.warnings],
        cautions=cautions(
            found.metal_k is None and "hot_metal", "sun", not windy and "wind"
        ),  # hot metal and wind only where no line has the day's figures of them
    )


def _plate_at(found: SetOutResult, at: float) -> dict[str, Any]:
    def value(series: Any) -> float:
        return float(np.interp(at, found.time_at, series))

    return {
        "at": at,
        "plate_irradiance_w_m2": value(found.plate_irradiance_w_m2),
        "plate_temp_c": celsius(value(found.plate_temp_k)),
        "air_temp_c": celsius(value(found.air_temp_k)),
    }


def _result(event: Event, found: SetOutResult) -> dict[str, Any]:
    first, last = float(found.time_at[0]), float(found.time_at[-1])
    quarters = np.arange(math.ceil(first / QUARTER_S) * QUARTER_S, last + 1.0, QUARTER_S)
    return {
        **fields_of(found, "sunrise_at", "sunset_at", "set_out_at"),
        **fields_of(found, "first_load_at", "last_load_at"),
        "wait_minutes": found.wait_s / 60,
        "sure": _all_sure(found),
        "sure_from_at": found.sure[0] if found.sure else None,
        "sure_until_at": found.sure[-1] if found.sure else None,
        "plate": [_plate_at(found, float(at)) for at in quarters],
        "loads": [{"at": at, "minutes": dry.minutes(math.inf)} for at, dry in found.loads],
        "off_sun": found.off_sun.code,
        **metal_record(event.box, found.metal_k),
        "wind": wind_record(found.wind),
        "spots": spot_records(found.spots),
        "breaks": break_records(found.spots),
        "blocked": [
            fields_of(stretch, "from_at", "until_at", "name", "passed_frac")
            for stretch in found.blocked
        ],
    }


def _hours(event: Event, found: SetOutResult) -> list[dict[str, Any]]:
    """Return the plate at each hour from setting out to closing, and a print laid on then."""
    dry = dict(found.loads)
    begin = found.set_out_at if found.set_out_at is not None else event.opens_at
    end = min(event.closes_at, float(found.time_at[-1]))
    whole = np.arange(math.ceil((begin + 1.0) / QUARTER_S) * QUARTER_S, end + 1.0, QUARTER_S)
    hours = [float(at) for at in whole if (at - event.day_start_at) % HOUR_S == 0.0]
    rows = [] if begin in hours else [_plate_at(found, begin) | {"minutes": None}]
    for at in hours:
        took = dry[at].minutes(math.inf) if at in dry else None
        rows.append(_plate_at(found, at) | {"minutes": took})
    return rows


def _lead(event: Event, found: SetOutResult, units: str) -> list[str]:
    zone, wait = event.place.timezone, say("minutes", found.wait_s / 60)
    if found.set_out_at is None:
        why = "at no time does even one print in ten dry on it"
        if found.too_hot:
            why += " without being kept over its limit of heat"
        return [f"The sun plate is of no use that day: {why}. Ask 'drybox dry' for another way."]
    aim = _first_aim(event, found)
    why = off_sun_said(found.off_sun, zone, units)
    order = f"turn it as 'drybox aim' says, {why}" if why else "let it follow the sun"
    if aim:
        order = aim_said(event, aim, units, why=why)
    if found.first_load_at is None or found.last_load_at is None:
        return [
            f"{_at_best_said(event, found, wait)} set the box out at "
            f"{clock(found.set_out_at, zone)}: {order}."
        ]
    warm = _plate_at(found, found.first_load_at)["plate_temp_c"]
    first, last = clock(found.first_load_at, zone), clock(found.last_load_at, zone)
    span = f"at {first}" if first == last else f"from {first} to {last}"
    lead = [
        f"Set the box out at {clock(found.set_out_at, zone)}: {order}.",
        f"At {first} the plate is at {say('plate_temp_c', warm, units)}. Lay prints on {span}: "
        f"{_share_said(found, wait, zone)}.",
    ]
    turns = found.aim.turns[1:] if found.aim and event.box.aim_mode == "turns" else ()
    if turns:
        clocks = listed([clock(turn.from_at, zone) for turn in turns])
        lead.append(f"Turn it at {clocks}; 'drybox aim' says how.")
    return lead


def _at_best_said(event: Event, found: SetOutResult, wait: str) -> str:
    """Return how soon prints dry where none is likely to in time, and what the box is for."""
    zone, shut = event.place.timezone, {*found.too_hot, event.closes_at}
    loads = [(dry, at) for at, dry in found.loads if at not in shut]
    known = [(dry.p50, at) for dry, at in loads if dry.p50 is not None]
    half = [(dry_s, at) for dry_s, at in known if at + dry_s <= event.closes_at]
    lucky = [(dry.p10, at) for dry, at in loads if dry.p10 is not None]
    dry_s, at = min(half or lucky)
    cool = " without being kept over its limit of heat" if found.too_hot else ""
    said = f"No print is likely to dry on the sun plate within {wait} and by the closing{cool}: at "
    said += f"best, laid on at {clock(at, zone)}, "
    took = say("minutes", dry_s / 60)
    if half:
        return f"{said}half of them take {took}. For prints to be fetched later"
    return (
        f"{said}one in ten is dry after {took}. 'drybox dry' says what dries it "
        "sooner; where nothing does,"
    )


def _first_aim(event: Event, found: SetOutResult) -> Turn | None:
    box = event.box
    if box.aim_bearing_deg is not None and box.aim_tilt_deg is not None:
        return Turn(
            from_at=event.opens_at,
            until_at=event.closes_at,
            bearing_deg=box.aim_bearing_deg,
            tilt_deg=box.aim_tilt_deg,
            mean_irradiance_w_m2=0.0,
        )
    if found.aim is None or box.aim_mode == "track":
        return None
    return found.aim.aims(box.aim_mode)[0]


def _between(found: SetOutResult) -> list[tuple[float, Range]]:
    """Return the laying-on times from the first to the last useful one."""
    assert found.first_load_at is not None
    assert found.last_load_at is not None
    return [load for load in found.loads if found.first_load_at <= load[0] <= found.last_load_at]


def _all_sure(found: SetOutResult) -> bool:
    """Return whether nine in ten dry within the wait at every useful laying-on."""
    if found.first_load_at is None:
        return False
    return {at for at, _ in _between(found)} <= {*found.sure, *found.too_hot}


def _share_said(found: SetOutResult, wait: str, zone: str) -> str:
    """Return how many prints dry in the time, when nine in ten do, or how long they take."""
    if _all_sure(found):
        return f"nine in ten then dry within {wait}{_gaps_said(found, zone)}"
    half = f"half of them then dry within {wait}{_gaps_said(found, zone)}; nine in ten"
    if found.sure:
        return f"{half} {clocks_said(found.sure, zone)}"
    known = [dry.p90 for _, dry in _between(found) if dry.p90 is not None]
    least, most = (say("minutes", end(known, default=0.0) / 60) for end in (min, max))
    if len(known) < len(_between(found)):
        return f"{half} take {f'{least} at best' if known else 'more than this day shows'}"
    return f"{half} take {least if least == most else lasting(min(known), max(known))}"


def _gaps_said(found: SetOutResult, zone: str) -> str:
    """Return the stretches between first and last in which a laying-on takes too long."""
    slow = [at for at, _ in _between(found) if at not in found.likely]
    return f", except from {spans_said(slow, zone)}" if slow else ""


def _sun_said(found: SetOutResult, zone: str) -> str:
    moments = {"rises": found.sunrise_at, "sets": found.sunset_at}
    parts = [f"{does} at {clock(at, zone)}" for does, at in moments.items() if at is not None]
    text = f"The sun {listed(parts)}."
    if found.sun_status == "up_all_day":
        text = "The sun does not set that day."
    return " ".join([text, *(behind_said(stretch, zone, "it") for stretch in found.blocked)])


def _warnings(event: Event, found: SetOutResult, units: str) -> list[str]:
    odd = [*wind_warned(found.wind, units), *outliers(event, found.readings, units)]
    if not found.too_hot:
        return odd
    zone, wet = event.place.timezone, temp_said(event.limits.wet_most_k, units)
    spans = spans_said(found.too_hot, zone)
    first = clock(found.too_hot[0], zone)
    return [
        f"From {spans} a print laid on is kept over its limit ({wet} while wet): 'drybox dry --at "
        f"{first}' says what keeps it cooler.",
        *odd,
    ]


def _stands_on(event: Event, found: SetOutResult, members: int, *, seed: int) -> list[str]:
    read = ", the plate's rise over the air as it was read that day" if found.readings.used else ""
    return stands_on(
        event,
        f"Minutes: likely time, and the range of eight prints in ten, from {members} draws (seed "
        f"{seed}) of weather, squeegee, contact and losses, whose spread is judgement. Sun and "
        f"plate: as told, without draws{read}.",
        "Rise and set are over a level horizon.",
        readings=found.readings,
    )
