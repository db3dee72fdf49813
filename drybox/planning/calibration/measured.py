"""From field notes to days, each with its weather, and readings that a model can be held to."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array
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


TEACH_NOTHING = ("sat", "promised", "handed")
"""Notes of a day's people, from which nothing is learned of box or paper."""

PassedOver = tuple[Note, str]
"""A note that could not be used, and why."""


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


@dataclass(frozen=True)
class NotedDay:
    """One day at one place: its event with the weather as noted, and how well that is known."""

    event: Event
    spread: Mapping[str, float]
    weather_noted: bool


@dataclass(frozen=True)
class NotedData:
    """Days and readings, the notes that could not be used, and shadows with their day's number."""

    days: tuple[NotedDay, ...]
    readings: tuple[Reading, ...]
    passed_over: tuple[PassedOver, ...]
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
    passed: list[PassedOver] = []
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
        number = len(days)
        days.append(_noted_day(place, date, there, events=events))
        every = _DayNotes(there, number, days[-1].event, dry=dry).read()
        readings += [one for one in every if isinstance(one, Reading)]
        passed += [one for one in every if not isinstance(one, Reading)]
        shadows += [(note, number) for note in there if note.kind == "shadow"]
    return NotedData(
        days=tuple(days),
        readings=tuple(readings),
        passed_over=tuple(passed),
        shadows=tuple(shadows),
    )


def _event_of(note: Note, events: Sequence[Event]) -> Event | None:
    named = [event for event in events if note.place in (event.place.name, "default")]
    that_day = (one for one in named if one.day_start_at <= note.at_s < one.day_end_at)
    return next(that_day, named[0] if named else None)


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

    def moved(at: float) -> float:
        local = unix_to_local(at, zone)
        return local_to_unix(date + (local.date() - event.date), local.time(), zone).time_at

    return replace(
        event,
        date=date,
        day_start_at=start,
        day_end_at=end,
        opens_at=moved(event.opens_at),
        closes_at=moved(event.closes_at),
    )


class _DayNotes:
    """The notes of one day at one place, and what they measured.

    What is read of them comes in turn: each reading, and with the reason each note that is none.
    """

    def __init__(self, notes: Sequence[Note], day: int, event: Event, *, dry: _DrySheets) -> None:
        self.notes, self.day, self.event, self.dry = notes, day, event, dry
        self.paper = event.paper
        self.noted = {name: row.value for name, row in load_table("spreads")["noted"].items()}
        self.gone = sun_gone_spans(notes)
        self.of_print: dict[tuple[str, str, str], list[Note]] = defaultdict(list)
        for note in sorted(notes, key=lambda note: note.at_s):
            self.of_print[note.kind, note.event, note.ticket].append(note)

    def read(self) -> list[Reading | PassedOver]:
        """Return all that is read of them."""
        weighed = [one for one in self.notes if one.kind == "weighed" and one.mass_kg is not None]
        return [
            *self._temperatures(),
            *self._dryings(),
            *self._laid_on_wet([note for note in weighed if note.state not in ("", "dry")]),
            *self._while_drying([note for note in weighed if not note.state]),
        ]

    def _temperatures(self) -> Iterator[Reading | PassedOver]:
        sd = {"plate": self.noted["plate_temp"], "air-in-box": self.noted["box_air_temp"]}
        seen: set[tuple[str, int, float | None]] = set()
        for note in self.notes:
            if note.kind not in sd or note.temp_k is None:
                continue
            same = (note.kind, note.at_s // 60, note.temp_k)
            if same in seen:
                yield note, "it says again what another note of that minute says"
            elif note.kind == "air-in-box" and self.event.box.cover is None:
                yield note, "air in a box counts under a cover only"
            elif under_unknown_sun(self.gone, note.at_s):
                yield note, SUN_GONE
            else:
                yield Reading(
                    note=note, kind=note.kind, day=self.day, value=note.temp_k, sd=sd[note.kind]
                )
            seen.add(same)

    def _laid_before(self, note: Note) -> Note | None:
        """Return the last laying-on of a note's print up to the note, as first written."""
        laid = self.of_print.get(("laid", note.event, note.ticket), [])
        before = (one for one in laid if one.at_s <= note.at_s)
        return max(before, key=lambda one: one.at_s, default=None)

    def _felt_dry(self, start: Note) -> Note | None:
        """Return the first note that a print is dry after it was laid on."""
        dry = self.of_print.get(("dry", start.event, start.ticket), [])
        return next((one for one in dry if one.at_s > start.at_s), None)

    def _why_not_followed(self, way: str, start: Note, note: Note) -> str:
        """Return why the drying of a print up to a note tells nothing, or an empty text."""
        took = note.at_s - start.at_s
        if way not in FOLLOWED_WAYS:
            return f"drying by {way.replace('_', ' ')} is not learned from"
        if took > MOST_DRYING_S or (note.kind == "dry" and took < LEAST_DRYING_S):
            return f"no print takes {took / 60:.0f} min to dry"
        unknown = WAY[way].sunny and under_unknown_sun(self.gone, start.at_s, note.at_s)
        return SUN_GONE if unknown else ""

    def _dryings(self) -> Iterator[Reading | PassedOver]:
        """Yield drying times: each print felt dry, with when it was last laid on before."""
        for note in (note for note in self.notes if note.kind == "dry"):
            start = self._laid_before(note)
            if start is None or start.at_s == note.at_s:
                yield note, f"no laying-on of {note.ticket} is noted before it"
                continue
            way = note.way or start.way or LAID_ON
            why = self._why_not_followed(way, start, note)
            if why:
                yield note, why
                continue
            took = float(note.at_s - start.at_s)
            clock = np.sqrt(2) * self.noted["clock"] / took
            yield Reading(
                note=note,
                kind="drying",
                day=self.day,
                value=np.log(took),
                sd=float(np.hypot(self.noted["dry_log"], clock)),
                way=way,
                laid_at=float(start.at_s),
                sheet=_sheet(note),
            )

    def _dry_mass_kg_m2(self, note: Note) -> tuple[float, float]:
        """Return the dry mass of the print that was weighed, and its standard deviation.

        Of that print weighed dry, else of other dry prints of its size, else of the paper. A print
        that feels dry keeps what air of the dry mark leaves it, which is taken off.
        """
        noted, paper = self.noted, self.paper
        area, own = area_m2(note, paper), self.dry.own(note)
        count, mass = (len(own), _mean_mass_kg(own)) if own else self.dry.of_size(area, paper)
        if not count:
            return paper.dry_mass_kg_m2, noted["dry_mass_frac"] * paper.dry_mass_kg_m2
        mean = mass / area - dry_targets(paper, self.event.limits).dry_kg_m2
        share = noted["dry_moisture_frac" if own else "dry_mass_frac"]
        scale = noted["mass"] / (area * count) if own else 0.0
        return mean, float(np.hypot(share * mean, scale))

    def _water_kg_m2(self, note: Note) -> tuple[float, float]:
        """Return the water in the sheets that were weighed, and the error of their dry mass."""
        own, error = self._dry_mass_kg_m2(note)
        return (note.mass_kg or 0.0) / ((note.sheets or 1) * area_m2(note, self.paper)) - own, error

    def _laid_on_wet(self, weighed: Sequence[Note]) -> Iterator[Reading | PassedOver]:
        """Yield the water on prints as they are laid on, over what the paper is taken to hold."""
        usual_kg_m2 = self.paper.water_kg_m2
        word = self.event.tables.get("paper", {}).get("water", "squeegeed")
        wanted = word if word in ("drained", "blotted") else "squeegeed"
        for note in weighed:
            if note.state != wanted:
                yield note, f"prints are laid on {wanted}, not {note.state}"
                continue
            water, error = self._water_kg_m2(note)
            if not 0.1 * usual_kg_m2 < water < 10 * usual_kg_m2:
                yield note, f"it would leave {water * 1e3:.0f} g/m2 of water"
                continue
            sheets, sheet = note.sheets or 1, _sheet(note)
            scale = self.noted["mass"] / (sheets * area_m2(note, self.paper))
            yield Reading(
                note=note,
                kind="water",
                day=self.day,
                value=float(np.log(water / usual_kg_m2)),
                sd=(scale if sheet else float(np.hypot(scale, error))) / water,
                sheets=sheets,
                sheet=sheet,
                shared=((f"dry mass of {sheet}", error / water),) if sheet else (),
            )

    def _why_no_run(self, note: Note, start: Note, *, water: float, error: float) -> str:
        """Return why a print weighed on its way tells nothing, or an empty text."""
        dry, ticket = self._felt_dry(start), note.ticket
        if dry is not None and dry.at_s < note.at_s:
            how = f"its dry mass is noted like 'weighed {ticket} 3.6g dry'"
            return f"{ticket} was dry by then; {how}"
        if (note.sheets or 1) > 1:
            return "several sheets were weighed, and one print dries"
        if water < -2 * error:
            return f"it is {-water * 1e3:.0f} g/m2 lighter than the dry print"
        if water > 10 * self.paper.water_kg_m2:
            return f"it would leave {water * 1e3:.0f} g/m2 of water"
        return self._why_not_followed(self._way(start), start, note)

    def _way(self, start: Note) -> str:
        """Return how a print laid on was dried: as its next note says, or the laying-on."""
        dry = self._felt_dry(start)
        return (dry.way if dry else "") or start.way or LAID_ON

    def _while_drying(self, weighed: Sequence[Note]) -> Iterator[Reading | PassedOver]:
        """Yield the water left in prints that were weighed while they dried.

        What is read is water per area, since the errors of scale, dry mass and clock are near
        normal in it. The clock's own error moves it by as much as the print loses meanwhile, taken
        between the weighings before and after; that of the laying-on is shared by the run, that of
        the dry mass by all weighings of the sheet. A print off the plate for 20 s dries on a little
        slower; that is left out.
        """
        noted, paper = self.noted, self.paper
        runs: dict[tuple[str, str, float], list[tuple[Note, float, float]]] = defaultdict(list)
        for note in weighed:
            start = self._laid_before(note)
            if start is None:
                yield note, f"no laying-on of {note.ticket} is noted before it"
                continue
            water, error = self._water_kg_m2(note)
            why = self._why_no_run(note, start, water=water, error=error)
            if why:
                yield note, why
            else:
                run = _sheet(note), self._way(start), float(start.at_s)
                runs[run].append((note, water, error))
        for (sheet, way, laid_at), weighings in runs.items():
            weighings.sort(key=lambda one: one[0].at_s)
            lost = _losing_kg_m2_s(
                np.array([laid_at, *(note.at_s for note, _, _ in weighings)]),
                np.array([paper.water_kg_m2, *(water for _, water, _ in weighings)]),
            )
            for (note, water, error), rate in zip(weighings, lost.tolist(), strict=True):
                scale = noted["mass"] / area_m2(note, paper)
                yield Reading(
                    note=note,
                    kind="run_water",
                    day=self.day,
                    value=water,
                    sd=float(np.hypot(scale, rate * noted["weighed_clock"])),
                    way=way,
                    laid_at=laid_at,
                    sheet=sheet,
                    shared=(
                        (f"dry mass of {sheet}", error),
                        (f"clock of {sheet} {laid_at:.0f}", rate * noted["clock"]),
                    ),
                )


def _sheet(note: Note) -> str:
    """Return the name of the one print that a note is about, or an empty text."""
    alone = note.ticket and (note.sheets or 1) == 1
    return f"{note.event} {note.ticket}" if alone else ""


class _DrySheets:
    """The prints that were weighed dry, by print and by size."""

    def __init__(self, notes: Sequence[Note]) -> None:
        self._dry = [
            note
            for note in notes
            if note.kind == "weighed" and note.mass_kg is not None and note.state == "dry"
        ]
        self._of_print: dict[tuple[str, str], list[Note]] = defaultdict(list)
        for note in sorted(self._dry, key=lambda note: note.at_s):
            self._of_print[note.event, note.ticket].append(note)
        self._of_size: dict[tuple[float, float], tuple[int, float]] = {}

    def own(self, note: Note) -> list[Note]:
        """Return the dry weighings of the print that a note is about."""
        every = self._of_print.get((note.event, note.ticket), []) if note.ticket else []
        return [one for one in every if abs(one.at_s - note.at_s) <= OWN_DRY_MASS_WITHIN_S]

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


def _losing_kg_m2_s(time_at: Array, water_kg_m2: Array) -> Array:
    """Return how fast a print loses water at each weighing, from those before and after it.

    Of the laying-on and all weighings, (weighings + 1,), for each weighing.
    """
    after = np.minimum(np.arange(2, time_at.size + 1), time_at.size - 1)
    took = np.maximum(time_at[after] - time_at[:-1], 60.0)
    return np.asarray(np.maximum((water_kg_m2[:-1] - water_kg_m2[after]) / took, 0.0))


def area_m2(note: Note, paper: Paper) -> float:
    """Return the area of one weighed sheet: as noted, or the paper's. [m²]"""
    if note.width_m and note.height_m:
        return note.width_m * note.height_m
    return paper.area_m2
