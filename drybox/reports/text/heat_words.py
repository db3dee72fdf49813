"""What is said of heat and of an aim off the sun: today's figures, the cures, the reasons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drybox.errors import NoAnswerError
from drybox.inputs.event.box import Box
from drybox.inputs.event.day import plate_left_out
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import ON_PLATE
from drybox.planning.aim.hold import NeverBelowError
from drybox.planning.aim.off_sun import OffSun
from drybox.planning.one_print.hot_metal import hottest_of_k, passed_parts
from drybox.planning.one_print.lay_ons import QUARTER_S, quarters_joined
from drybox.planning.one_print.ways import Cure, DryResult, WayResult
from drybox.reports.text.phrases import capital, clock, figure, lasting, listed, say
from drybox.reports.text.spot_words import LEVEL_DEG
from drybox.tables import load_table
from drybox.units import celsius

CURE_WORDS = {
    "cooler plate": "set the box out, or uncover it, only 10 min before the print",
    "cloth under the print": "lay a cloth under the print",
    "lighter aim": "aim it lighter, as 'drybox aim --hold-below {hold}' says",
    "off the sun": "last of all hold it off the sun, as 'drybox aim --hold-below {hold}' says",
}


def temp_said(temp_k: float, units: str) -> str:
    """Return a temperature in the units shown."""
    return say("temp_c", celsius(temp_k), units)


def no_plate_said(why: NoAnswerError, units: str, *, mend: bool = False) -> str:
    """Return why there is no plate, and what could be done about it."""
    what = why.what
    if isinstance(why, NeverBelowError):
        what = f"the plate passes {temp_said(why.limit_k, units)} at every aim"
    return f"{what}; {why.mend}" if mend and why.mend else what


LEFT_OUT = {
    "not_listed": "the event's ways do not list it",
    "no_place": "the event gives it no place (plate_slots = 0)",
}
"""Why an event has no use for a sun plate."""


def left_out_said(event: Event) -> list[str]:
    """Return a line where the event has no use for the plate that is asked about."""
    why = plate_left_out(event)
    return [f"The plan has no use for the sun plate: {LEFT_OUT[why]}."] if why else []


def metal_said(
    temp_k: float | None,
    units: str = "metric",
    box: Box | None = None,
    *,
    powered_k: float | None = None,
) -> list[str]:
    """Return the line on hot metal with today's figure; none where it burns nobody.

    ``powered_k`` is that of a powered plate beside the box.

    With the box it goes on with the parts that do not stand such metal.

    >>> metal_said(341.15)
    ['Metal today up to 68 °C: burns in 1 s; gloves or tongs, children off.']
    >>> metal_said(315.0), metal_said(None)
    ([], [])
    """
    words = metal_words(hottest_of_k(temp_k, powered_k), units)
    said = [f"{words}.", *([] if box is None else parts_said(box, temp_k, units))]
    return [" ".join(said)] if words else []


def parts_said(box: Box, metal_k: float | None, units: str) -> list[str]:
    """Return what of the box today's metal is too hot for, and what to do."""
    words = {
        True: "{name} behind it stands about {most}: put what stands more.",
        False: "{name} stands about {most}: keep the cover off the metal.",
    }
    return [
        words[part == "back"].format(name=capital(name), most=temp_said(most_k, units))
        for part, name, most_k in passed_parts(box, metal_k)
    ]


def metal_record(box: Box, metal_k: float | None, powered_k: float | None = None) -> dict[str, Any]:
    """Return how hot the metal gets, and the same parts, as the record holds it.

    ``powered_k`` is that of a powered plate beside the box.
    """
    hottest_k = hottest_of_k(metal_k, powered_k)
    return {
        "metal_temp_c": None if hottest_k is None else celsius(hottest_k),
        "metal_too_hot_for": [
            {"part": part, "name": name, "most_temp_c": celsius(most_k)}
            for part, name, most_k in passed_parts(box, metal_k)
        ],
    }


def metal_words(temp_k: float | None, units: str = "metric") -> str:
    """Return the same to stand among other words, without its full stop."""
    return ": ".join(metal_parts(temp_k, units))


def metal_parts(temp_k: float | None, units: str = "metric") -> tuple[str, ...]:
    """Return how hot metal gets, and what that means; nothing where it burns nobody."""
    metal = load_table("limits")["bare_metal"]
    for row, words in (("touch_1_s", "1 s"), ("touch_10_s", "10 s"), ("touch_1_min", "1 min")):
        if temp_k is not None and temp_k >= metal[row].value:
            hot = f"Metal today up to {temp_said(temp_k, units)}"
            return hot, f"burns in {words}; gloves or tongs, children off"
    return ()


def off_sun_said(found: OffSun, zone: str, units: str) -> str:
    """Return why the box is not faced at the sun, to follow the order to aim it; else nothing.

    >>> off_sun_said(OffSun(code="prop", most_tilt_deg=60.0), "UTC", "metric")
    'no steeper than 60°, which is what stands on a prop'
    >>> off_sun_said(OffSun(code="wind", most_tilt_deg=0.0, gust_m_s=13.0), "UTC", "metric")
    'for gusts of 13 m/s at the box'
    >>> off_sun_said(OffSun(), "UTC", "metric")
    ''
    """
    most = say("tilt_deg", found.most_tilt_deg)
    steep = "" if (found.most_tilt_deg or 0.0) < LEVEL_DEG else f"no steeper than {most}, "
    words = {
        "": "",
        "fixed": "fixed so by the event file",
        "held": "off the sun, to keep the empty plate below {held} as asked",
        "wind": f"{steep}for gusts of {{gust}} at the box",
        "prop": f"no steeper than {most}, which is what stands on a prop",
        "sky": "since the light comes from the whole sky",
        "behind": "for the hours after the sun has come out from what hides it",
        "stretch": "one aim for the whole stretch until {until}",
    }[found.code]
    return words.format(
        held="" if found.held_below_k is None else temp_said(found.held_below_k, units),
        gust=say("gust_m_s", found.gust_m_s, units),
        until="" if found.until_at is None else clock(found.until_at, zone),
    )


def hold_option(temp_k: float, units: str) -> str:
    """Return a temperature as the option --hold-below takes it.

    >>> hold_option(331.15, "metric"), hold_option(331.15, "us")
    ('58C', '136F')
    """
    return figure("temp_c", celsius(temp_k), units) + ("F" if units == "us" else "C")


def spans_said(quarters_s: Sequence[float], zone: str) -> str:
    """Return quarter hours as stretches of clock time."""
    spans = quarters_joined(quarters_s)
    return listed([f"{clock(begin, zone)} to {clock(end, zone)}" for begin, end in spans])


def clocks_said(quarters_at: Sequence[float], zone: str) -> str:
    """Return laying-on times as stretches from the first to the last."""
    spans = [(begin, end - QUARTER_S) for begin, end in quarters_joined(quarters_at)]
    said = [
        f"at {clock(begin, zone)}"
        if begin == end
        else f"from {clock(begin, zone)} to {clock(end, zone)}"
        for begin, end in spans
    ]
    return listed(said)


def heat_warnings(event: Event, result: DryResult, units: str) -> list[str]:
    """Return what to do about a print that gets hot: a test sheet, and each cure with its cost.

    Cures are for a plate that is chosen, or would be but for its heat.
    """
    careful_k, found = event.limits.wet_careful_k, []
    for way in result.ways:
        if way.way not in ON_PLATE or not (way.too_hot or way.print_temp_kept_k > careful_k):
            continue
        if way.feasible:
            found.append(_test_sheet(event, way, units))
        chosen = result.choice is not None and result.choice.way == way.way
        if way.way == "sun_plate" and (chosen or way.too_hot):
            found += [_cure_said(cure, units) for cure in result.cures]
    return found


def _test_sheet(event: Event, way: WayResult, units: str) -> str:
    on = "sun plate" if way.way == "sun_plate" else "warm plate"
    wet = temp_said(event.limits.wet_most_k, units)
    return (
        f"On the {on} a print may be kept at {temp_said(way.print_temp_kept_k, units)} for a "
        f"minute (limit {wet} while wet): dry one test sheet first."
    )


def _cure_said(cure: Cure, units: str) -> str:
    hold = "" if cure.hold_k is None else hold_option(cure.hold_k, units)
    still = "" if cure.feasible else ", still over its limit"
    what, took = CURE_WORDS[cure.cure].format(hold=hold), cure.duration_s
    sure = took.p10 is not None and took.p90 is not None
    dry = f"dry in {lasting(took.p10, took.p90)}" if sure else "not sure to dry"
    kept = temp_said(cure.print_temp_kept_k, units)
    return f"Cooler: {what}: {dry}, the print kept at up to {kept}{still}."
