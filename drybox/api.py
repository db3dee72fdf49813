"""The only door to planning: an event in, every argument checked once, a typed result out.

Each call is what the command of its name says. Events may be given as the path of their file.
Quantities are text with their unit, as in the event file. Nothing heavy is loaded before a call
needs it. Every call raises `InputError` for what cannot be used, and `NoAnswerError` where the
question has no answer.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from drybox.arguments import (
    Quantity,
    When,
    choice_of,
    clock_s,
    count,
    flag,
    instant_of_day_s,
    instant_s,
    members_of,
    of_kind,
    overrides_of,
    path_of,
    pulled_of,
    quantity,
    seed_of,
    share_frac,
    used_of,
    ways_of,
)
from drybox.details import season_weather
from drybox.errors import InputError
from drybox.said import Asked, under_skies, with_question

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.event.tour import Stop
    from drybox.inputs.notes.note import Note
    from drybox.inputs.weather.weather import Weather
    from drybox.inputs.wet.side import WetSide
    from drybox.planning.aim.event_aim import EventAim
    from drybox.planning.calibration.calibration import Calibration
    from drybox.planning.day.plan import DayPlan
    from drybox.planning.finish.finish import FinishResult
    from drybox.planning.one_print.set_out import SetOutResult
    from drybox.planning.one_print.ways import DryResult
    from drybox.planning.season.season import Season
    from drybox.planning.season.tour import TourStop
    from drybox.planning.wet.baths import BathPlan
    from drybox.planning.wet.wash import Goal, WashPlan
    from drybox.planning.whole_day.moments import DayMoments

DRY_MEMBERS, SET_OUT_MEMBERS, PLAN_MEMBERS = 200, 60, 200
MOST_SET_OUT_MEMBERS = 1000
MOST_SITTINGS = 10_000
GOALS = ("least water", "least time", "best result")


def load_event(
    path: str | Path | None = None,
    overrides: Mapping[str, object] | None = None,
    *,
    calibrated: bool = True,
    notes: str | Path | None = None,
) -> Event:
    """Return the event of a file with options laid over it, as every command takes it.

    Parameters
    ----------
    path : str or Path, optional
        Event file; without one, everything comes from the overrides.
    overrides : mapping of str to object, optional
        By key of an event file: ``{"place.latitude": "48.2", "event.date": "2027-06-12"}``.
    calibrated : bool
        Whether it stands on the fit kept for its box and paper and on the readings of its day.
    notes : str or Path, optional
        The field notes; ``DRYBOX_NOTES`` or the user's data folder by default.

    Returns
    -------
    Event
        Everything checked, in SI, each value recorded with its source.
    """
    from drybox.inputs.event.event import load_event as load
    from drybox.inputs.notes.fitted_event import with_kept_fit

    event = load(None if path is None else path_of(path), overrides_of(overrides))
    kept = None if notes is None else path_of(notes)
    return with_kept_fit(event, calibrated=flag(calibrated, "calibrated"), path=kept)


def read_notes(path: str | Path | None = None) -> list[Note]:
    """Return the field notes standing, in the order written; none where there is no file.

    The file is ``path``, else ``DRYBOX_NOTES`` or the one in the user's data folder.
    """
    from drybox.inputs.notes.store import NoteStore

    return NoteStore(None if path is None else path_of(path)).read()


def aim(
    event: Event | str | Path,
    at: When | None = None,
    *,
    from_: When | None = None,
    until: When | None = None,
    share: Quantity | None = None,
    hold_below: Quantity | None = None,
) -> EventAim:
    """Return which way the box faces, when to turn it, and how to sight it.

    Parameters
    ----------
    event : Event, str or Path
        From `drybox.load_event`, or the path of an event file.
    at : str, datetime or float, optional
        When the sun is asked for: ``"13:20"``, a datetime, or Unix seconds of the event's day;
        the opening by default.
    from_, until : str, datetime or float, optional
        The stretch; the event's hours by default.
    share : str or float, optional
        Share of the always-turned energy that the turns keep: ``"95 %"`` or 0.95. [-]
    hold_below : str, optional
        Aim off the sun to hold the plate below this: ``"55 °C"``.

    Returns
    -------
    EventAim
        Bearings are true.
    """
    from drybox.planning.aim.event_aim import plan_event_aim

    asked = _event(event)
    first = None if from_ is None else instant_s(asked, from_, "from_")
    last = None if until is None else instant_s(asked, until, "until")
    if first is not None and last is not None and last <= first:
        raise InputError(f"the stretch ends at {until}, before it has begun", "argument")
    found = plan_event_aim(
        asked,
        asked.opens_at if at is None else instant_s(asked, at, "at"),
        from_at=first,
        until_at=last,
        share=share_frac(share),
        hold_k=quantity(hold_below, "hold_below"),
    )
    return with_question(found, Asked(asked))


def set_out(
    event: Event | str | Path,
    *,
    wait: str | None = None,
    members: int | None = None,
    seed: int = 1,
) -> SetOutResult:
    """Return when to set the box out, and when prints are first and last worth laying on.

    Where neither cloud nor sun was told it is for a clear sky, and ``other_sky`` for a closed one.

    Parameters
    ----------
    event : Event, str or Path
        From `drybox.load_event`, or the path of an event file.
    wait : str, optional
        Longest useful time on the plate: ``"30 min"``; as the event says by default.
    members, seed : int, optional
        Size of the ensemble, 20 to 1000 (60 by default), and its seed.
    """
    from drybox.planning.one_print.set_out import plan_set_out

    asked = _event(event)
    size = members_of(members, SET_OUT_MEMBERS, MOST_SET_OUT_MEMBERS)
    drawn, wait_s = seed_of(seed), quantity(wait, "wait")

    def found(under: Event) -> SetOutResult:
        result = plan_set_out(under, members=size, seed=drawn, wait_s=wait_s)
        return with_question(result, Asked(under, size, drawn))

    return under_skies(asked, found, lambda clear, error: replace(clear, no_other_sky=error))


def dry(
    event: Event | str | Path,
    at: When,
    *,
    ways: str | Sequence[str] | None = None,
    hold_below: Quantity | None = None,
    members: int | None = None,
    seed: int = 1,
) -> DryResult:
    """Return how one print dries each way, laid on or hung at a time.

    Where neither cloud nor sun was told it is for a clear sky, and ``other_sky`` for a closed one.

    Parameters
    ----------
    event : Event, str or Path
        From `drybox.load_event`, or the path of an event file.
    at : str, datetime or float
        When it is laid on or hung: ``"13:20"``, a datetime, or Unix seconds of the event's day.
    ways : str or sequence of str, optional
        Such as ``("sun plate", "line in the shade")``; all that the event can use by default.
    hold_below : str, optional
        Aim the plate off the sun to hold it below this: ``"55 °C"``.
    members, seed : int, optional
        Size of the ensemble, 20 to 2000 (200 by default), and its seed.
    """
    from drybox.planning.one_print.drying import dry_print, possible_ways

    asked = _event(event)
    chosen, able = ways_of(ways), possible_ways(asked)
    unable = [way for way in chosen or () if way not in able]
    if unable:
        mend = f"choose from: {', '.join(able)}"
        raise InputError(f"way '{unable[0]}' cannot be used here", "", mend)
    laid_on_at, hold_k = instant_s(asked, at, "at"), quantity(hold_below, "hold_below")
    size, drawn = members_of(members, DRY_MEMBERS), seed_of(seed)

    def found(under: Event) -> DryResult:
        result = dry_print(under, laid_on_at, members=size, seed=drawn, ways=chosen, hold_k=hold_k)
        return with_question(result, Asked(under, size, drawn))

    return under_skies(asked, found)


def finish(
    event: Event | str | Path,
    at: When,
    *,
    dried: str | None = None,
    pulled: Quantity | None = None,
    plate_temp: Quantity | None = None,
    prints: int = 1,
    weighed: Quantity | None = None,
    sheet: Quantity | None = None,
    members: int | None = None,
    seed: int = 1,
) -> FinishResult:
    """Return how prints pulled at a time are made flat, each way, and what may enclose them.

    Parameters
    ----------
    event, at, members, seed
        As `dry` takes them; ``[finishing]`` of the event tells boards and blotters.
    dried, pulled, plate_temp
        ``"sun plate"``, the event's first way by default; the humidity that they are in balance
        with, ``"60 %"``, the dry mark by default; the plate then, ``"50 °C"``.
    prints, weighed, sheet
        How many; a print's mass, ``"3.92 g"``, and that of a sheet of its box kept at home.
    """
    from drybox.planning.finish.finish import finish_prints

    asked = _event(event)
    said = {"dried": dried, "pulled": pulled, "plate_temp": plate_temp, "prints": prints}
    told = pulled_of(**said, weighed=weighed, sheet=sheet)
    size, drawn = members_of(members, DRY_MEMBERS), seed_of(seed)
    found = finish_prints(asked, instant_s(asked, at, "at"), told, members=size, seed=drawn)
    return with_question(found, Asked(asked, size, drawn))


def plan_day(
    event: Event | str | Path,
    *,
    members: int | None = None,
    seed: int = 1,
    what_if: bool = True,
    now: When | None = None,
) -> DayPlan:
    """Return a promise for every sitter of an event day, and what limits it.

    Where neither cloud nor sun was told it is for a closed sky, and ``other_sky`` for a clear one.

    Parameters
    ----------
    event : Event, str or Path
        From `drybox.load_event`, or the path of an event file.
    members, seed : int, optional
        Drawn days, 20 to 2000 (200 by default), and their seed.
    what_if : bool
        Also try one more of each thing; not in the middle of the day.
    now : str, datetime or float, optional
        An instant of the event's own day, such as ``"14:10"``: what was noted up to then stands,
        and the rest is promised anew. Before the opening it is the plan of the day.
    """
    from drybox.inputs.notes.day_notes import up_to
    from drybox.planning.day.plan import plan_day as plan
    from drybox.planning.scenario.both_skies import both_skies

    asked = _event(event)
    now_at = None if now is None else instant_of_day_s(asked, now)
    if now_at is not None:
        asked = up_to(asked, now_at)
        now_at = now_at if now_at > asked.opens_at else None
    size, drawn = members_of(members, PLAN_MEMBERS), seed_of(seed)
    also, skies = flag(what_if, "what_if"), both_skies(asked)
    given: dict[str, Any] = {"members": size, "seed": drawn, "now_at": now_at}
    found = plan(skies.overcast if skies else asked, what_if=also, **given)
    if skies:
        clear = plan(skies.clear, what_if=False, **given)
        found = replace(found, other_sky=with_question(clear, Asked(skies.clear, size, drawn)))
    return with_question(found, Asked(found.event, size, drawn))


def day(event: Event | str | Path, *, members: int | None = None, seed: int = 1) -> DayMoments:
    """Return the moments of an event day in order, as plan, aim and setting out find them.

    Where neither cloud nor sun was told it is for a clear sky, and ``other_sky`` for a closed one.
    The arguments are those of `plan_day`.
    """
    from drybox.planning.whole_day.moments import plan_moments

    asked, drawn = _event(event), seed_of(seed)
    size = {"members": members_of(members, PLAN_MEMBERS), "set_out_members": SET_OUT_MEMBERS}

    def found(under: Event) -> DayMoments:
        asked = Asked(under, size["members"], drawn)
        return with_question(plan_moments(under, seed=drawn, **size), asked)

    return under_skies(asked, found)


def keep_promises(plan: DayPlan, path: str | Path | None = None) -> list[Note]:
    """Write what a plan promises into the field notes, as if each had been told; return the notes.

    A ticket promised something already keeps that; ``path`` are the notes, as of `load_event`.
    """
    from drybox.inputs.notes.store import NoteStore
    from drybox.planning.day.told.now import promise_notes

    store, at = NoteStore(None if path is None else path_of(path)), time.time()
    of = of_kind(plan, "DayPlan", "plan")
    notes = promise_notes(of.event, of.tickets, written_at=at, now=of.now)
    return list(store.add(notes, at).notes)


def wash(
    event: Event | WetSide | str | Path | None = None,
    overrides: Mapping[str, object] | None = None,
    *,
    goal: str | None = None,
    sure: bool = False,
    seed: int = 1,
) -> WashPlan:
    """Return how many changes of water, how much and how long.

    Parameters
    ----------
    event : Event, str or Path, optional
        Its paper and process; without one, those of the overrides and defaults.
    overrides : mapping of str to object, optional
        By key of an event file, such as ``{"process.wash.prints": 8}``.
    goal : str, optional
        ``least water``, ``least time`` or ``best result``; by default as the event's day has it.
    sure, seed : bool, int, optional
        Plan for nine prints in ten; of the ensemble, as of `plan_day`.
    """
    from drybox.planning.day.supplies import wash_asked

    wet, drawn = _wet_side(event, overrides), seed_of(seed)
    setup = wet.day_wash()
    wanted = cast("Goal | None", choice_of(goal, GOALS, "goal"))
    size = {"members": PLAN_MEMBERS, "seed": drawn}
    found = wash_asked(wet, setup, wanted, sure=flag(sure, "sure"), **size)
    return with_question(found, Asked(wet.event, seed=drawn, wet=wet, setup=setup))


def baths(
    event: Event | WetSide | str | Path | None = None,
    overrides: Mapping[str, object] | None = None,
    *,
    sittings: int | None = None,
    used: Mapping[str, int] | None = None,
    seed: int = 1,
) -> BathPlan:
    """Return what each tank still takes, what to bring and what to take home.

    Parameters
    ----------
    event : Event, str or Path, optional
        Its paper and process; without one, those of the overrides and defaults.
    overrides : mapping of str to object, optional
        By key of an event file, such as ``{"process.name": "bleach reversal"}``.
    sittings : int, optional
        Pictures still to make; by default as `plan_day` reaches, or by pace and hours.
    used : mapping of str to int, optional
        Sheets a bath has had already, such as ``{"fixer": 12}``.
    seed : int
        As of `plan_day`.
    """
    from drybox.planning.day.supplies import baths_and_water

    wet, drawn = _wet_side(event, overrides), seed_of(seed)
    number = None if sittings is None else count(sittings, "sittings", 0, high=MOST_SITTINGS)
    size = {"members": PLAN_MEMBERS, "seed": drawn}
    setup = wet.day_wash()
    found, source = baths_and_water(wet, setup, sittings=number, used=used_of(used), **size)
    asked = Asked(wet.event, seed=drawn, wet=wet, setup=setup, source=source)
    return with_question(found, asked)


def season(event: Event | str | Path, weather: Weather | None = None, *, seed: int = 1) -> Season:
    """Return how often the plate dries a print in the time a sitter waits, month by hour.

    Parameters
    ----------
    event : Event, str or Path
        Place, box, paper, limits and the fair's hours; its own day is not used.
    weather : Weather, optional
        The year's; by default as `season_weather` finds it.
    seed : int
        Of the draws of cloud, prints and boxes.
    """
    from drybox.planning.season.season import season as year

    asked, drawn = _event(event), seed_of(seed)
    under = season_weather(asked) if weather is None else of_kind(weather, "Weather", "weather")
    found = year(asked, under, seed=drawn)
    return with_question(found, Asked(asked, seed=drawn, weather=under))


def tour(
    stops: Sequence[Stop] | str | Path,
    *,
    seed: int = 1,
    tick: Callable[[], None] = lambda: None,
) -> tuple[TourStop, ...]:
    """Return the season of each fair of a tour at its own date.

    Parameters
    ----------
    stops : sequence of Stop, str or Path
        The fairs, or the path of a table of them.
    seed, tick : int, callable
        Of the draws; called as each is done.
    """
    from drybox.inputs.event.tour import read_tour
    from drybox.planning.season.tour import tour as go

    listed = read_tour(path_of(stops)) if isinstance(stops, str | Path) else stops
    return go([of_kind(one, "Stop", "stop") for one in listed], seed=seed_of(seed), tick=tick)


def calibrate(
    events: Event | str | Path | Sequence[Event],
    notes: Sequence[Note] | None = None,
    *,
    now_at: float | None = None,
    seed: int = 1,
) -> Calibration:
    """Return what the field notes say of a box and a paper; nothing is kept.

    Parameters
    ----------
    events : Event, str, Path or sequence of Event
        The first tells box, paper and place; further ones tell other places or days.
    notes : sequence of Note, optional
        Those standing; by default all of `read_notes`.
    now_at, seed : float, int, optional
        The clock, written into the fit; now by default. [s] Of the draws.
    """
    from drybox.planning.calibration.calibration import calibrate as fit

    one = isinstance(events, str | Path) or not isinstance(events, Sequence)
    every = [events] if one else list(cast("Sequence[Event]", events))
    listed = [_event(cast("Event", event), False) for event in every]
    if not listed:
        raise InputError("there is no event to calibrate", "argument", "give one")
    clock = clock_s(now_at, "now_at")
    told = read_notes() if notes is None else [of_kind(one, "Note", "note") for one in notes]
    found = fit(listed, told, now_at=clock, seed=seed_of(seed))
    return with_question(found, Asked(listed[0], seed=seed))


def _event(event: Event | str | Path, calibrated: bool = True) -> Event:
    """Return the event; that of a file as `load_event` reads it."""
    from drybox.inputs.event.event import Event as Kind

    return event if isinstance(event, Kind) else load_event(path_of(event), calibrated=calibrated)


def _wet_side(
    event: Event | WetSide | str | Path | None, overrides: Mapping[str, object] | None
) -> WetSide:
    from drybox.inputs.event.event import TABLES
    from drybox.inputs.wet.side import WetSide as Kind
    from drybox.inputs.wet.side import read_wet_side

    if isinstance(event, Kind):
        return event
    own = None if event is None else _event(event, False)
    wet = read_wet_side(own, overrides_of(overrides))
    wet.settings.check_tables(TABLES)
    return wet
