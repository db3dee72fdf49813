"""The event day as told: who comes and when, hands, vessels, slots, breaks."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drybox.errors import InputError
from drybox.inputs.event.sitters import SITTER_KEYS, Sitter, moment_at, read_sitters
from drybox.inputs.event.spots import BOX, CAMERA, chosen_spot, read_spots
from drybox.inputs.event.ways import WAY
from drybox.inputs.text.near_names import plain_name
from drybox.inputs.text.settings import Section, row_source
from drybox.tables import load_table

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.text.settings import Resolved, Settings
    from drybox.inputs.wet.process import Process
    from drybox.inputs.wet.wash import WashSetup

DAY_KEYS = (
    *SITTER_KEYS, "operators", "breaks", "sitting", "finishing", "wait_limit", "vessels",
    "wash_trays", "plate_slots", "line_slots", "screen_slots", "blotter_slots",
    "warm_plate_slots", "warm_air_slots", "water", BOX, CAMERA,
)  # fmt: skip
COUNTS = (0, 100)
COUNTS_FROM_1 = (1, 100)
WATER_LIMITS_M3 = (1e-4, 10.0)
LINES = ("line_shade", "line_sun")
USUAL_WAYS = ("sun_plate", "line_shade")
"""Those that take part in a day without being listed or powered."""
SLOT_KEYS = {
    "sun_plate": "plate_slots",
    "line_shade": "line_slots",
    "line_sun": "line_slots",
    "screen_shade": "screen_slots",
    "blotters": "blotter_slots",
    "warm_plate": "warm_plate_slots",
    "warm_air": "warm_air_slots",
}
"""Key of ``[event]`` with the places on each way; every line has so many clips."""


@dataclass(frozen=True)
class Day:
    """What `plan` needs beyond place, box, paper, process and weather; times in seconds.

    ``sitters`` are in order of arrival; with ``rate_1_s`` they come by chance and the list is
    empty, each with ``prints``. ``slots`` are the places on each way of drying that takes part,
    by its key; on metal None means as many as fit. ``line_slots`` are the clips of one line, of
    which one more could be hung. ``water_m3`` is what there is to rinse and wash with all day,
    None without a limit. ``vessels`` counts each bath's tanks or trays.
    """

    sitters: tuple[Sitter, ...]
    rate_1_s: float | None
    prints: int
    operators: int
    breaks_s: tuple[tuple[float, float], ...]
    sitting_s: float
    finishing_s: float
    squeegee_s: float
    blotting_s: float
    wait_limit_s: float
    vessels: Mapping[str, int]
    wash_trays: int
    slots: Mapping[str, int | None]
    line_slots: int
    water_m3: float | None
    sitting_spread_log: float
    stage_spread_log: float


FINISHED_BY_HAND = ("flatten", "folder")
"""Stages after drying that every print goes through where none are listed."""


def _besides_s(section: Section, settings: Settings) -> float:
    """Return how long each print keeps hands besides timed and listed stages. [s]

    Where no stages after drying are listed, pulling it between boards and its folder are in it;
    where some are, hands are counted there.
    """
    row = load_table("day")["hands"]["finishing"]
    usual_s, stages = row.value, load_table("finish_stages")
    if "stages" not in settings.section("finishing"):
        usual_s += sum(stages[name]["hands"].value for name in FINISHED_BY_HAND)
    source = row_source("day", "hands", row)
    return section.quantity("finishing", "duration", (0.0, 7200.0), default=usual_s, source=source)


def read_day(event: Event, process: Process, settings: Settings) -> Day:
    """Return the day of ``[event]``, every figure from there or from the table ``day``.

    What is used is recorded in the settings, from ``event.reread()``.
    """
    section = settings.section("event")
    table = load_table("day")
    sitters, rate, prints = read_sitters(section, event, process.pace_1_s)
    chosen_spot(settings, read_spots(event.reread(), ()), CAMERA)

    def lasts(key: str, item: str, most_s: float) -> float:
        return section.property(key, "duration", (0.0, most_s), row=("day", item))

    line_slots = section.count("line_slots", COUNTS, row=("day", "line", "slots"))
    return Day(
        sitters=sitters,
        rate_1_s=rate,
        prints=prints,
        operators=section.whole_number(
            "operators", COUNTS_FROM_1, 1, source="default: one pair of hands"
        ),
        breaks_s=_breaks(section, event),
        sitting_s=max(lasts("sitting", "sitter", 7200.0), 1.0),
        finishing_s=_besides_s(section, settings),
        squeegee_s=table["hands"]["squeegee"].value,
        blotting_s=table["hands"]["blotting"].value,
        wait_limit_s=lasts("wait_limit", "sitter", 86400.0),
        vessels=_vessels(section, process),
        wash_trays=section.count("wash_trays", COUNTS_FROM_1, row=("day", "wash", "trays")),
        slots=_slots(section, event, line_slots),
        line_slots=line_slots,
        water_m3=section.quantity(
            "water", "volume", WATER_LIMITS_M3, default=None, source="default: no limit"
        ),
        sitting_spread_log=table["spread"]["sitting_log"].value,
        stage_spread_log=table["spread"]["stage_log"].value,
    )


def _slots(section: Section, event: Event, line_slots: int) -> dict[str, int | None]:
    """Return the places on each way that takes part; None on metal for as many as fit.

    Those listed under ``ways``; else the sun plate, a line in the shade, the powered ways that
    have their power, and those whose places are told.
    """
    found: dict[str, int | None] = {}
    for way, kind in WAY.items():
        key = SLOT_KEYS[way]
        if kind.power and not getattr(event.powered, f"{kind.power}_w", 0.0):
            continue
        usual = way in USUAL_WAYS or bool(kind.power) or (key in section and way not in LINES)
        if not (usual if event.ways is None else way in event.ways):
            continue
        if way in LINES:
            found[way] = line_slots
        elif not kind.metal:
            found[way] = section.count(key, COUNTS, row=("day", way, "slots"))
        elif key in section:
            found[way] = section.whole_number(key, COUNTS, 0, source="")
        else:
            section.record(key, "as many as fit", "", source="default")
            found[way] = None
    return found


def plate_left_out(event: Event) -> str:
    """Return why the event has no use for a sun plate: ``not_listed``, ``no_place`` or nothing.

    Its ``ways`` do not list one, or it has no place for a print.
    """
    if event.ways is not None and "sun_plate" not in event.ways:
        return "not_listed"
    section = event.reread().section("event")
    places = section.whole_number(SLOT_KEYS["sun_plate"], COUNTS, 1, source="")
    return "" if places else "no_place"


def _breaks(section: Section, event: Event) -> tuple[tuple[float, float], ...]:
    given = section.raw("breaks")
    form = 'write it like breaks = [["13:00", "13:30"]]'
    if given is None:
        section.record("breaks", "none", "", source="default")
        return ()
    pairs = isinstance(given, list) and all(isinstance(p, list) and len(p) == 2 for p in given)
    if not pairs:
        raise section.error("breaks", f"breaks {given!r} is not a list of pairs", form)
    found = []
    for begins, ends in given:
        first, last = (moment_at(section, "breaks", value, event=event) for value in (begins, ends))
        if last <= first:
            raise section.error("breaks", f"the break {begins} to {ends} ends before it begins")
        found.append((first, last))
    found.sort()
    for (_, before), (after, _) in itertools.pairwise(found):
        if after < before:
            raise section.error("breaks", "two breaks overlap", "join them into one")
    section.record("breaks", ", ".join(f"{a} to {b}" for a, b in given) or "none")
    return tuple(found)


def _vessels(section: Section, process: Process) -> dict[str, int]:
    """Return how many tanks or trays there are of each bath, one where nothing is said."""
    given = section.raw("vessels")
    given = {} if given is None else given
    if not isinstance(given, dict):
        form = "write it like vessels = { developer = 2 }"
        raise section.error("vessels", f"vessels {given!r} is not a table", form)
    names = [bath.name for bath in process.baths]
    inner = Section(section.settings, "event.vessels", given)
    counts = dict.fromkeys(names, 1)
    for key in given:
        name = plain_name(key)
        if name not in counts:
            mend = f"the baths are: {', '.join(names)}"
            raise InputError(f"there is no bath '{key}'", inner.where(key), mend)
        counts[name] = inner.whole_number(key, COUNTS_FROM_1, 1, source="")
    return counts


@dataclass(frozen=True)
class DayInputs:
    """All that `plan` reads besides the event itself, and the record of it."""

    process: Process
    day: Day
    wash: WashSetup
    resolved: tuple[Resolved, ...]
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def read_day_inputs(event: Event) -> DayInputs:
    """Return process, day and wash of an event."""
    from drybox.inputs.wet.process import read_process
    from drybox.inputs.wet.side import WetSide

    settings = event.reread()
    process = read_process(settings)
    day = read_day(event, process, settings)
    wet = WetSide(event=event, paper=event.paper, process=process, settings=settings)
    return DayInputs(
        process=process,
        day=day,
        wash=wet.day_wash(),
        resolved=tuple(settings.resolved),
        assumptions=tuple(settings.assumptions),
        warnings=tuple(settings.warnings),
    )
