"""From field notes to days, each with its weather, and readings that a model can be held to."""

from __future__ import annotations

import datetime
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drybox.inputs.event.event import Event
from drybox.inputs.event.paper import Paper
from drybox.inputs.event.ways import LAID_ON, WAY
from drybox.inputs.notes.day_notes import sun_gone_spans, under_unknown_sun
from drybox.inputs.notes.note import Note
from drybox.inputs.text.dates import day_bounds_s, local_to_unix, parse_zone, unix_to_local
from drybox.planning.calibration.noted_weather import noted_weather
from drybox.planning.scenario.models import dry_targets
from drybox.tables import load_table

FOLLOWED_WAYS = ("sun_plate", "line_shade", "line_sun", "screen_shade")
"""Ways whose drying times are learned from; felt, weights and fans of the others differ more."""

SUN_GONE = "the sun was noted gone, or back for less than half an hour: it was under unknown sun"

LEAST_DRYING_S, MOST_DRYING_S = 120.0, 12 * 3600.0
"""A drying time outside these is a note on the wrong print. [s]"""


OWN_DRY_MASS_WITHIN_S = 2 * 86400.0
"""A ticket weighed dry so long before or after is the same print (judgement). [s]"""


@dataclass(frozen=True)
class Reading:
    """One thing measured.

    ``kind`` is ``plate`` or ``air-in-box`` [K], ``drying`` [ln s], ``water`` [ln of a factor on the
    paper's water] or ``run_water``, what is left in a print that dries [kg/m²]. ``sd`` is the error
    of measuring that is its own; ``shared`` are errors that it has in common with others, by name
    and standard deviation. A drying, and a print weighed while it dries, was laid on at ``laid_at``
    by ``way``. ``sheet`` names the print, empty where it is not known which.
    """

    note: Note
    kind: str
    day: int
    value: float
    sd: float
    way: str = ""
    laid_at: float = 0.0
    sheets: int = 1
    sheet: str = ""
    shared: tuple[tuple[str, float], ...] = ()


TEACH_NOTHING = ("sat", "promised", "handed")
"""Notes of a day's people, from which nothing is learned of box or paper."""


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

    def columns_by_day(self) -> list[list[int]]:
        """Return which readings are of each day."""
        found: list[list[int]] = [[] for _ in self.days]
        for k, reading in enumerate(self.readings):
            found[reading.day].append(k)
        return found


def concerning(notes: Sequence[Note], box: str, paper: str) -> list[Note]:
    """Return the notes about a box and a paper; a note that names none is about them too."""
    return [
        note for note in notes if note.box in (box, "default") and note.paper in (paper, "default")
    ]


def read_notes(notes: Sequence[Note], events: Sequence[Event]) -> NotedData:
    """Return what the notes measured.

    In order of time. Notes are about one box and one paper, in the order written; the first event
    tells these, and each its place and the weather of its own day.

    A note belongs to the event of its place's name. Weather noted takes the place of the event's;
    on a day that no event file and no note tells of, the weather is assumed, with its wide spread.
    """
    gathered: dict[tuple[str, datetime.date], list[Note]] = {}
    dry = _DrySheets(notes)
    passed: list[tuple[Note, str]] = []
    for note in notes:
        event = _event_of(note, events)
        if event is None and note.kind in TEACH_NOTHING:
            continue
        if event is None:
            passed.append((note, f"no event file tells where '{note.place}' is"))
            continue
        date = unix_to_local(note.at_s, parse_zone(event.place.timezone)).date()
        gathered.setdefault((event.place.name, date), []).append(note)
    days: list[NotedDay] = []
    readings: list[Reading] = []
    shadows: list[tuple[Note, int]] = []
    for (place, date), there in sorted(gathered.items(), key=lambda item: item[1][0].at_s):
        days.append(_noted_day(place, date, there, events=events))
        number = len(days) - 1
        found, odd = _readings(there, number, days[-1].event, dry=dry)
        readings += found
        passed += odd
        shadows += [(note, number) for note in there if note.kind == "shadow"]
    return NotedData(
        days=tuple(days),
        readings=tuple(readings),
        passed_over=tuple(passed),
        shadows=tuple(shadows),
    )


def _event_of(note: Note, events: Sequence[Event]) -> Event | None:
    named = [event for event in events if note.place in (event.place.name, "default")]
    for event in named:
        if event.day_start_at <= note.at_s < event.day_end_at:
            return event
    return named[0] if named else None


def _noted_day(
    place: str, date: datetime.date, notes: Sequence[Note], *, events: Sequence[Event]
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
    for moment in (event.opens_at, event.closes_at):
        local = unix_to_local(moment, zone)
        day = date + (local.date() - event.date)
        moved.append(local_to_unix(day, local.time(), zone).time_at)
    return replace(
        event, date=date, day_start_at=start, day_end_at=end, opens_at=moved[0], closes_at=moved[1]
    )


def _readings(
    notes: Sequence[Note], day: int, event: Event, *, dry: _DrySheets
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    noted = load_table("spreads")["noted"]
    seen: set[tuple[str, int, float | None]] = set()
    gone = sun_gone_spans(notes)
    for note in notes:
        if note.kind not in ("plate", "air-in-box") or note.temp_k is None:
            continue
        same = (note.kind, note.at_s // 60, note.temp_k)
        if same in seen:
            passed.append((note, "it says again what another note of that minute says"))
        elif note.kind == "air-in-box" and event.box.cover is None:
            passed.append((note, "air in a box counts under a cover only"))
        elif under_unknown_sun(gone, note.at_s):
            passed.append((note, SUN_GONE))
        else:
            name = "plate_temp" if note.kind == "plate" else "box_air_temp"
            found.append(
                Reading(note=note, kind=note.kind, day=day, value=note.temp_k, sd=noted[name].value)
            )
        seen.add(same)
    prints = _Prints(notes)
    for more, odd in (
        _dryings(notes, day, prints),
        _weighings(notes, day, event, dry=dry),
        _runs_weighed(notes, day, event, dry=dry, prints=prints),
    ):
        found += more
        passed += odd
    return found, passed


def _dryings(
    notes: Sequence[Note], day: int, prints: _Prints
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    """Return drying times: each print felt dry, with when it was last laid on before."""
    noted = load_table("spreads")["noted"]
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    gone = sun_gone_spans(notes)
    for note in notes:
        if note.kind != "dry":
            continue
        start = prints.laid_before(note)
        if start is None or start.at_s == note.at_s:
            passed.append((note, f"no laying-on of {note.ticket} is noted before it"))
            continue
        way = note.way or start.way or LAID_ON
        took = float(note.at_s - start.at_s)
        if way not in FOLLOWED_WAYS:
            passed.append((note, f"drying by {way.replace('_', ' ')} is not learned from"))
        elif not LEAST_DRYING_S <= took <= MOST_DRYING_S:
            passed.append((note, f"no print takes {took / 60:.0f} min to dry"))
        elif WAY[way].sunny and under_unknown_sun(gone, start.at_s, note.at_s):
            passed.append((note, SUN_GONE))
        else:
            sd = float(np.hypot(noted["dry_log"].value, np.sqrt(2) * noted["clock"].value / took))
            laid_at = float(start.at_s)
            found.append(
                Reading(
                    note=note,
                    kind="drying",
                    day=day,
                    value=np.log(took),
                    sd=sd,
                    way=way,
                    laid_at=laid_at,
                    sheet=_sheet(note),
                )
            )
    return found, passed


class _Prints:
    """When each print of a day was laid on and felt dry, in order of time."""

    def __init__(self, notes: Sequence[Note]) -> None:
        self._gone = sun_gone_spans(notes)
        self._of: dict[tuple[str, str, str], list[Note]] = defaultdict(list)
        for note in notes:
            if note.kind in ("laid", "dry"):
                self._of[note.kind, note.event, note.ticket].append(note)
        for each in self._of.values():
            each.sort(key=_time_s)

    def _after(self, kind: str, note: Note) -> list[Note]:
        """Return the notes of a kind on a note's print after the note."""
        every = self._of.get((kind, note.event, note.ticket), [])
        return every[bisect_right(every, note.at_s, key=_time_s) :]

    def laid_before(self, note: Note) -> Note | None:
        """Return the last laying-on of a note's print up to the note."""
        every = self._of.get(("laid", note.event, note.ticket), [])
        count = bisect_right(every, note.at_s, key=_time_s)
        if not count:
            return None
        return every[bisect_left(every, every[count - 1].at_s, key=_time_s)]  # as first written

    def dry_between(self, start: Note, note: Note) -> bool:
        """Return whether a print felt dry after it was laid on and before a note of it."""
        return any(other.at_s < note.at_s for other in self._after("dry", start)[:1])

    def way(self, start: Note) -> str:
        """Return how a print laid on was dried: as its next note says, or the laying-on."""
        later = self._after("dry", start)
        return (later[0].way if later else "") or start.way or LAID_ON

    def why_not_followed(self, start: Note, note: Note) -> str:
        """Return why a print weighed on its way tells nothing, or an empty text."""
        way, took = self.way(start), note.at_s - start.at_s
        if way not in FOLLOWED_WAYS:
            return f"drying by {way.replace('_', ' ')} is not learned from"
        if took > MOST_DRYING_S:
            return f"no print takes {took / 60:.0f} min to dry"
        unknown = WAY[way].sunny and under_unknown_sun(self._gone, start.at_s, note.at_s)
        return SUN_GONE if unknown else ""


def _time_s(note: Note) -> int:
    return note.at_s


def _sheet(note: Note) -> str:
    """Return the name of the one print that a note is about, or an empty text."""
    alone = note.ticket and (note.sheets or 1) == 1
    return f"{note.event} {note.ticket}" if alone else ""


def _weighings(
    notes: Sequence[Note], day: int, event: Event, *, dry: _DrySheets
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    """Return the water left on prints as they are laid on, over what the paper is taken to hold."""
    noted = load_table("spreads")["noted"]
    paper = event.paper
    word = event.tables.get("paper", {}).get("water", "squeegeed")
    wanted = word if word in ("drained", "blotted") else "squeegeed"
    found: list[Reading] = []
    passed: list[tuple[Note, str]] = []
    for note in notes:
        if note.kind != "weighed" or note.mass_kg is None or note.state in ("", "dry"):
            continue
        if note.state != wanted:
            passed.append((note, f"prints are laid on {wanted}, not {note.state}"))
            continue
        area, sheets = area_m2(note, event.paper), note.sheets or 1
        own, error = _dry_mass_kg_m2(note, event, dry)
        water = note.mass_kg / (sheets * area) - own
        if not 0.1 * paper.water_kg_m2 < water < 10 * paper.water_kg_m2:
            passed.append((note, f"it would leave {water * 1e3:.0f} g/m2 of water"))
            continue
        scale, sheet = noted["mass"].value / (sheets * area), _sheet(note)
        shared = ((f"dry mass of {sheet}", error / water),) if sheet else ()
        sd = scale if sheet else float(np.hypot(scale, error))
        value = float(np.log(water / paper.water_kg_m2))
        found.append(
            Reading(
                note=note,
                kind="water",
                day=day,
                value=value,
                sd=sd / water,
                sheets=sheets,
                sheet=sheet,
                shared=shared,
            )
        )
    return found, passed


class _DrySheets:
    """The prints that were weighed dry, by print and by size."""

    def __init__(self, notes: Sequence[Note]) -> None:
        self._dry = [
            note
            for note in notes
            if note.kind == "weighed" and note.mass_kg is not None and note.state == "dry"
        ]
        self._of_print: dict[tuple[str, str], list[Note]] = defaultdict(list)
        for note in self._dry:
            self._of_print[note.event, note.ticket].append(note)
        for each in self._of_print.values():
            each.sort(key=_time_s)
        self._of_size: dict[tuple[float, float], tuple[int, float]] = {}

    def own(self, note: Note) -> list[Note]:
        """Return the dry weighings of the print that a note is about."""
        every = self._of_print.get((note.event, note.ticket), []) if note.ticket else []
        first = bisect_left(every, note.at_s - OWN_DRY_MASS_WITHIN_S, key=_time_s)
        return every[first : bisect_right(every, note.at_s + OWN_DRY_MASS_WITHIN_S, key=_time_s)]

    def of_size(self, area: float, paper: Paper) -> tuple[int, float]:
        """Return how many dry sheets of an area there are, and their mean mass. [m²], [kg]"""
        size = area, paper.area_m2
        if size not in self._of_size:
            like = [one for one in self._dry if abs(area_m2(one, paper) / area - 1) < 0.02]
            self._of_size[size] = len(like), _mean_mass_kg(like)
        return self._of_size[size]


def _mean_mass_kg(dry: Sequence[Note]) -> float:
    masses = [(one.mass_kg or 0.0) / (one.sheets or 1) for one in dry]
    return float(np.mean(masses)) if masses else 0.0


def _dry_mass_kg_m2(note: Note, event: Event, dry: _DrySheets) -> tuple[float, float]:
    """Return the dry mass of the print that was weighed, and its standard deviation.

    Of that print weighed dry, else of other dry prints of its size, else of the paper. A print
    that feels dry keeps what air of the dry mark leaves it, which is taken off.
    """
    noted, paper = load_table("spreads")["noted"], event.paper
    area, own = area_m2(note, event.paper), dry.own(note)
    count, mass = (len(own), _mean_mass_kg(own)) if own else dry.of_size(area, paper)
    if not count:
        return paper.dry_mass_kg_m2, noted["dry_mass_frac"].value * paper.dry_mass_kg_m2
    mean = mass / area - dry_targets(paper, event.limits).dry_kg_m2
    share = noted["dry_moisture_frac" if own else "dry_mass_frac"].value
    scale = noted["mass"].value / (area * count) if own else 0.0
    return mean, float(np.hypot(share * mean, scale))


def _runs_weighed(
    notes: Sequence[Note], day: int, event: Event, *, dry: _DrySheets, prints: _Prints
) -> tuple[list[Reading], list[tuple[Note, str]]]:
    """Return the water left in prints that were weighed while they dried.

    What is read is water per area, since the errors of scale, dry mass and clock are near normal in
    it. The clock's own error moves it by as much as the print loses meanwhile, taken between the
    weighings before and after; that of the laying-on is shared by the run, that of the dry mass by
    all weighings of the sheet. A print off the plate for 20 s dries on a little slower; that is
    left out.
    """
    noted = load_table("spreads")["noted"]
    limit = 10 * event.paper.water_kg_m2
    passed: list[tuple[Note, str]] = []
    runs: dict[tuple[str, str, float], list[tuple[Note, float, float]]] = defaultdict(list)
    for note in notes:
        if note.kind != "weighed" or note.mass_kg is None or note.state:
            continue
        start, why = prints.laid_before(note), ""
        own, error = _dry_mass_kg_m2(note, event, dry)
        water = note.mass_kg / area_m2(note, event.paper) - own
        if start is None:
            why = f"no laying-on of {note.ticket} is noted before it"
        elif prints.dry_between(start, note):
            ticket = note.ticket
            why = (
                f"{ticket} was dry by then; its dry mass is noted like 'weighed {ticket} 3.6g dry'"
            )
        elif (note.sheets or 1) > 1:
            why = "several sheets were weighed, and one print dries"
        elif water < -2 * error:
            why = f"it is {-water * 1e3:.0f} g/m2 lighter than the dry print"
        elif water > limit:
            why = f"it would leave {water * 1e3:.0f} g/m2 of water"
        else:
            why = prints.why_not_followed(start, note)
        if why or start is None:
            passed.append((note, why))
        else:
            runs[_sheet(note), prints.way(start), float(start.at_s)].append((note, water, error))
    found: list[Reading] = []
    for (sheet, way, laid_at), weighed in runs.items():
        weighed.sort(key=lambda one: one[0].at_s)
        times = [float(note.at_s) for note, _, _ in weighed]
        lost = _losing_kg_m2_s(
            laid_at, event.paper.water_kg_m2, times, water=[w for _, w, _ in weighed]
        )
        for (note, water, error), rate in zip(weighed, lost, strict=True):
            scale = noted["mass"].value / area_m2(note, event.paper)
            sd = float(np.hypot(scale, rate * noted["weighed_clock"].value))
            shared = (
                (f"dry mass of {sheet}", error),
                (f"clock of {sheet} {laid_at:.0f}", rate * noted["clock"].value),
            )
            found.append(
                Reading(
                    note=note,
                    kind="run_water",
                    day=day,
                    value=water,
                    sd=sd,
                    way=way,
                    laid_at=laid_at,
                    sheet=sheet,
                    shared=shared,
                )
            )
    return found, passed


def _losing_kg_m2_s(
    laid_at: float, laid_kg_m2: float, times: Sequence[float], *, water: Sequence[float]
) -> list[float]:
    """Return how fast a print loses water at each weighing, from those before and after it."""
    at = np.array([laid_at, *times])
    left = np.array([laid_kg_m2, *water])
    found = []
    for k in range(1, at.size):
        before, after = k - 1, min(k + 1, at.size - 1)
        took = max(float(at[after] - at[before]), 60.0)
        found.append(max(float(left[before] - left[after]) / took, 0.0))
    return found


def area_m2(note: Note, paper: Paper) -> float:
    """Return the area of one weighed sheet: as noted, or the paper's. [m²]"""
    if note.width_m and note.height_m:
        return note.width_m * note.height_m
    return paper.area_m2
