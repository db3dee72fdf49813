"""The calls behind ``drybox.aim``, ``drybox.dry`` and so on: an event in, a typed result out."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from drybox.errors import InputError
from drybox.inputs.event.event import Event
from drybox.inputs.text.dates import local_to_unix, parse_clock, parse_zone
from drybox.planning.aim.event_aim import EventAim, plan_event_aim
from drybox.planning.one_print.drying import MEMBERS, dry_print
from drybox.planning.one_print.set_out import MEMBERS as SET_OUT_MEMBERS
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.planning.one_print.ways import DryResult
from drybox.planning.wet.wash import Goal, WashPlan, plan_wash
from drybox.units import parse_quantity

When = str | float | datetime.datetime


def moment_s(event: Event, when: When) -> float:
    """Return the Unix time of a clock time on the event's day. [s]

    Parameters
    ----------
    event : Event
        Its date and time zone.
    when : str, float or datetime
        ``"13:20"``, Unix seconds, or a datetime (without a zone: local time there).

    Examples
    --------
    >>> from drybox.inputs.event.event import load_event
    >>> place = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
    >>> moment_s(load_event(None, place), "12:00")
    1812794400.0
    """
    if isinstance(when, int | float):
        return float(when)
    zone = parse_zone(event.place.timezone)
    if isinstance(when, datetime.datetime):
        if when.tzinfo is not None:
            return when.timestamp()
        return local_to_unix(when.date(), when.time(), zone, "time", "argument").time_s
    clock = parse_clock(when, "time", "argument")
    day = clock.date or event.date
    return local_to_unix(day, clock.time, zone, "time", "argument", clock.offset).time_s


def _temp_k(value: str | float | None, name: str) -> float | None:
    """Return a temperature in kelvin, from one with its unit or in kelvin. [K]"""
    if value is None or isinstance(value, int | float):
        return value
    return parse_quantity(value, "temperature", name, "argument")


def aim(
    event: Event,
    at: When | None = None,
    *,
    from_: When | None = None,
    until: When | None = None,
    share: float | None = None,
    hold_below: str | float | None = None,
) -> EventAim:
    """Return which way the box faces, when to turn it, and how to sight it.

    Parameters
    ----------
    event : Event
        From `drybox.load_event`.
    at : str, float or datetime, optional
        When the sun is asked for; the opening by default.
    from_, until : str, float or datetime, optional
        The stretch; the event's hours by default.
    share : float, optional
        Share of the always-turned energy that the turns keep. [-]
    hold_below : str or float, optional
        Aim off the sun to hold the plate below this: ``"55 °C"``, or in kelvin. [K]

    Returns
    -------
    EventAim
        Bearings are true.
    """
    return plan_event_aim(
        event,
        event.opens_s if at is None else moment_s(event, at),
        from_s=None if from_ is None else moment_s(event, from_),
        until_s=None if until is None else moment_s(event, until),
        share=share,
        hold_k=_temp_k(hold_below, "hold_below"),
    )


def set_out(
    event: Event,
    *,
    wait: str | float | None = None,
    members: int = SET_OUT_MEMBERS,
    seed: int = 1,
) -> SetOutResult:
    """Return when to set the box out, and when prints are first and last worth laying on.

    Parameters
    ----------
    event : Event
        From `drybox.load_event`.
    wait : str or float, optional
        Longest useful time on the plate: ``"30 min"``, or in seconds. [s]
    members, seed : int
        Size and seed of the ensemble.
    """
    if isinstance(wait, str):
        wait = parse_quantity(wait, "duration", "wait", "argument")
    return plan_set_out(event, members=members, seed=seed, wait_s=wait)


def dry(
    event: Event,
    at: When,
    *,
    ways: tuple[str, ...] | None = None,
    hold_below: str | float | None = None,
    members: int = MEMBERS,
    seed: int = 1,
) -> DryResult:
    """Return how one print dries each way, laid on or hung at a time.

    Parameters
    ----------
    event : Event
        From `drybox.load_event`.
    at : str, float or datetime
        When it is laid on or hung.
    ways : tuple of str, optional
        Such as ``("sun_plate", "line_shade")``; all that the event can use by default.
    hold_below : str or float, optional
        Aim the plate off the sun to hold it below this: ``"55 °C"``, or in kelvin. [K]
    members, seed : int
        Size and seed of the ensemble.
    """
    from drybox.planning.one_print.drying import possible_ways

    able = possible_ways(event)
    unable = [way for way in ways or () if way not in able]
    if unable:
        raise InputError(
            f"way '{unable[0]}' cannot be used here", "", f"choose from: {', '.join(able)}"
        )
    return dry_print(
        event,
        moment_s(event, at),
        members=members,
        seed=seed,
        ways=ways,
        hold_k=_temp_k(hold_below, "hold_below"),
    )


def wash(
    event: Event | None = None,
    overrides: Mapping[str, object] | None = None,
    *,
    goal: Goal | None = None,
    sure: bool = False,
    seed: int = 1,
) -> WashPlan:
    """Return how many changes of water, how much and how long.

    Parameters
    ----------
    event : Event, optional
        Its paper and process; without one, those of the overrides and defaults.
    overrides : mapping of str to object, optional
        By key of an event file, such as ``{"process.wash.prints": 8}``.
    goal : str, optional
        ``least water``, ``least time`` or ``best result``.
    sure : bool
        Plan for nine prints in ten.
    seed : int
        Of the ensemble.
    """
    from drybox.inputs.event.paper import read_paper
    from drybox.inputs.text.settings import Settings
    from drybox.inputs.wet.process import read_process
    from drybox.inputs.wet.wash import read_wash

    file = event.settings.file if event else None
    before = event.settings.options if event else {}
    settings = Settings(file, {**before, **(overrides or {})})
    paper, process = read_paper(settings), read_process(settings)
    setup = read_wash(
        settings,
        sheet_area_m2=paper.area_m2,
        dry_mass_kg_m2=paper.dry_mass_kg_m2,
        resin_coated=paper.resin_coated or process.sheets[-1] in process.resin_coated_sheets,
        fixing_s=process.fixing_s,
    )
    return plan_wash(setup, goal, sure=sure, seed=seed)
