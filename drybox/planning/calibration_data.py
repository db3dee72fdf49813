"""From field notes to days, each with its weather, and readings that a model can be held to."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drybox.inputs.dates import day_bounds_s, local_to_unix, parse_zone, unix_to_local
from drybox.inputs.event import Event
from drybox.inputs.field_note_kinds import Note
from drybox.planning.models import dry_targets
from drybox.planning.noted_weather import noted_weather
from drybox.tables import load_table

FOLLOWED_WAYS = ("sun_plate", "line_shade", "line_sun", "screen_shade")
"""Ways whose drying times are learned from; felt, weights and fans of the others differ more."""

LEAST_DRYING_S, MOST_DRYING_S = 120.0, 12 * 3600.0
"""A drying time outside these is a note on the wrong print. [s]"""


@dataclass(frozen=True)
class Reading:
    """One thing measured.

    ``kind`` is ``plate`` or ``air-in-box`` [K], ``drying`` [ln s] or ``water`` [ln of a factor on
    the paper's water]. ``sd`` is the error of measuring alone. A drying ran from ``laid_s`` to the
    note's time by ``way``. ``state`` is what was weighed.
    """

    note: Note
    kind: str
    day: int
    value: float
    sd: float
    way: str = ""
    laid_s: float = 0.0
    sheets: int = 1


@dataclass(frozen=True)
class NotedDay:
    """One day at one place: its event with the weather as noted, and how well that is known."""

    event: Event
    spread: Mapping[str, float]
    weather_noted: bool


@dataclass(frozen=True)
class NotedData:
    """Days and readings, and the notes that could not be used with the reason."""

    days: tuple[NotedDay, ...]
    readings: tuple[Reading, ...]
    passed_over: tuple[tuple[Note, str], ...]
    shadows: tuple[tuple[Note, int], ...]


def concerning(notes: Sequence[Note], box: str, paper: str) -> list[Note]:
    """Return the notes about a box and a paper; a note that names none is about them too."""
    return [
        note for note in notes if note.box in (box, "default") and note.paper in (paper, "default")
    ]


def read_notes(notes: Sequence[Note], events: Sequence[Event]) -> NotedData:
    """Return what the notes measured.

    Parameters
    ----------
    notes : sequence of Note
        About one box and one paper, in the order written.
    events : sequence of Event
        The first tells box and paper; each tells its place, and the weather of its own day.

    Returns
    -------
    NotedData
        Days in order of time.

    Notes
    -----
    A note belongs to the event of its place's name. Weather noted takes the place of the event's;
    on a day that no event file and no note tells of, the weather is assumed, with its wide spread.
    """
    gathered: dict[tuple[str, datetime.date], list[Note]] = {}
    passed: list[tuple[Note, str]] = []
    for note in notes:
        event = _event_of(note, events)
        if event is None:
            passed.append((note, f"no event file tells where '{note.place}' is"))
            continue
        date = unix_to_local(note.at_s, parse_zone(event.place.timezone)).date()
        gathered.setdefault((event.place.name, date), []).append(note)
    days: list[NotedDay] = []
    readings: list[Reading] = []
    shadows: list[tuple[Note, int]] = []
    for (place, date), there in sorted(gathered.items(), key=lambda item: item[1][0].at_s):
        days.append(_noted_day(place, date, there, events))
        number = len(days) - 1
        found, odd = _readings(there, number, days[-1].event)
        readings += found
        passed += odd
        shadows += [(note, number) for note in there if note.kind == "shadow"]
    return NotedData(tuple(days), tuple(readings), tuple(passed), tuple(shadows))


def _event_of(note: Note, events: Sequence[Event]) -> Event | None:
    named = [event for event in events if note.place in (event.place.name, "default")]
    for event in named:
        if event.day_start_s <= note.at_s < event.day_end_s:
            return event
    return named[0] if named else None


def _noted_day(
    place: str, date: datetime.date, notes: Sequence[Note], events: Sequence[Event]
) -> NotedDay:
    there = [event for event in events if event.place.name == place]
    same = next((event for event in there if event.date == date), None)
    event = same or _on_date(there[0], date)
    base = event.weather if same else None
    weather, spread, noted = noted_weather(notes, event, base)
    own = events[0]
    return NotedDay(replace(event, weather=weather, box=own.box, paper=own.paper), spread, noted)


def _on_date(event: Event, date: datetime.date) -> Event:
    """Return the event moved to another day, its hours by the clock."""
    zone = parse_zone(event.place.timezone)
    start, end = day_bounds_s(date, zone)
    moved = []
    for moment in (event.opens_s, event.closes_s):
        local = unix_to_local(moment, zone)
        day = date + (local.date() - event.date)
        moved.append(local_to_unix(day, local.time(), zone).time_s)
    return replace(
        event, date=date, day_start_s=start, day_end_s=end, opens_s=moved[0], closes_s=moved[1]
    )


def _readings(
    notes: Sequence[Note], day: int, event: Event
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    noted = load_table("spreads")["noted"]
    seen: set[tuple[str, int, float | None]] = set()
    for note in notes:
        if note.kind not in ("plate", "air-in-box") or note.temp_k is None:
            continue
        same = (note.kind, note.at_s // 60, note.temp_k)
        if same in seen:
            passed.append((note, "it says again what another note of that minute says"))
        elif note.kind == "air-in-box" and event.box.cover is None:
            passed.append((note, "air in a box counts under a cover only"))
        else:
            name = "plate_temp" if note.kind == "plate" else "box_air_temp"
            found.append(Reading(note, note.kind, day, note.temp_k, noted[name].value))
        seen.add(same)
    for more, odd in (_dryings(notes, day), _weighings(notes, day, event)):
        found += more
        passed += odd
    return found, passed


def _dryings(notes: Sequence[Note], day: int) -> tuple[list[Reading], list[tuple[Note, str]]]:
    """Return drying times: each print felt dry, with when it was last laid on before."""
    noted = load_table("spreads")["noted"]
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    for note in notes:
        if note.kind != "dry":
            continue
        laid = [
            other
            for other in notes
            if other.kind == "laid"
            and (other.event, other.ticket) == (note.event, note.ticket)
            and other.at_s < note.at_s
        ]
        if not laid:
            passed.append((note, f"no laying-on of {note.ticket} is noted before it"))
            continue
        start = max(laid, key=lambda other: other.at_s)
        way = note.way or start.way or "sun_plate"
        took = float(note.at_s - start.at_s)
        if way not in FOLLOWED_WAYS:
            passed.append((note, f"drying by {way.replace('_', ' ')} is not learned from"))
        elif not LEAST_DRYING_S <= took <= MOST_DRYING_S:
            passed.append((note, f"no print takes {took / 60:.0f} min to dry"))
        else:
            sd = float(np.hypot(noted["dry_log"].value, np.sqrt(2) * noted["clock"].value / took))
            found.append(Reading(note, "drying", day, np.log(took), sd, way, float(start.at_s)))
    return found, passed


def _weighings(
    notes: Sequence[Note], day: int, event: Event
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    """Return the water left on prints as they are laid on, over what the paper is taken to hold."""
    noted = load_table("spreads")["noted"]
    paper = event.paper
    word = event.tables.get("paper", {}).get("water", "squeegeed")
    wanted = word if word in ("drained", "blotted") else "squeegeed"
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    weighed = [note for note in notes if note.kind == "weighed" and note.mass_kg is not None]
    dry = [note for note in weighed if note.state == "dry"]
    for note in weighed:
        if note.state == "dry":
            continue
        if note.state != wanted:
            passed.append((note, f"prints are laid on {wanted}, not {note.state}"))
            continue
        area, sheets = _area_m2(note, event), note.sheets or 1
        same = [other for other in dry if other.ticket and other.ticket == note.ticket]
        others = same or [other for other in dry if abs(_area_m2(other, event) / area - 1) < 0.02]
        if others:
            mean = float(np.mean([(other.mass_kg or 0) / (other.sheets or 1) for other in others]))
            own = mean / area - dry_targets(paper, event.limits).dry_kg_m2
            error = 0.0 if same else noted["dry_mass_frac"].value * own
        else:
            own = paper.dry_mass_kg_m2
            error = noted["dry_mass_frac"].value * own
        water = (note.mass_kg or 0.0) / (sheets * area) - own
        if not 0.1 * paper.water_kg_m2 < water < 10 * paper.water_kg_m2:
            passed.append((note, f"it would leave {water * 1e3:.0f} g/m2 of water"))
            continue
        error = float(np.hypot(error, noted["mass"].value / (sheets * area)))
        value = float(np.log(water / paper.water_kg_m2))
        found.append(Reading(note, "water", day, value, error / water, sheets=sheets))
    return found, passed


def _area_m2(note: Note, event: Event) -> float:
    if note.width_m and note.height_m:
        return note.width_m * note.height_m
    return event.paper.area_m2
