"""The event day as told: who comes and when, hands, vessels, slots, breaks."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drybox.errors import InputError, out_of_range
from drybox.inputs.event.place import read_obstacle
from drybox.inputs.event.sitters import SITTER_KEYS, Sitter, moment_s, read_sitters
from drybox.inputs.event.spots import BOX, CAMERA, Spot, chosen_spot, read_spots
from drybox.inputs.event.ways import LINE_WAYS
from drybox.inputs.text.settings import Section, row_source
from drybox.tables import load_table

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.text.settings import Resolved, Settings
    from drybox.inputs.wet.process import Process
    from drybox.inputs.wet.wash import WashSetup

DAY_KEYS = (
    *SITTER_KEYS, "operators", "breaks", "sitting", "finishing", "wait_limit", "vessels",
    "wash_trays", "plate_slots", "line_slots", BOX, CAMERA,
)  # fmt: skip
MOST_OF_ANYTHING = 100


@dataclass(frozen=True)
class Day:
    """What `plan` needs beyond place, box, paper, process and weather; times in seconds.

    ``sitters`` are in order of arrival; with ``rate_1_s`` they come by chance and the list is
    empty, each with ``prints``. ``plate_slots`` None means as many as fit. ``line_way`` is the
    way of drying that the line stands for. ``vessels`` counts each bath's tanks or trays.
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
    wash_together: int
    plate_slots: int | None
    line_slots: int
    line_way: str
    sitting_spread_log: float
    stage_spread_log: float
    camera_spot: Spot | None
    box_spot: Spot | None


def read_day(event: Event, process: Process, settings: Settings) -> Day:
    """Return the day of ``[event]``, every figure from there or from the table ``day``.

    Parameters
    ----------
    event : Event
        Its hours, place and ways.
    process : Process
        Its baths and pace.
    settings : Settings
        From ``event.reread()``; what is used is recorded there.

    Raises
    ------
    InputError
        Naming the key, its line and what would be right.
    """
    section = settings.section("event")
    table = load_table("day")
    sitters, rate, prints = read_sitters(section, event, process.pace_1_s)
    camera, box = _spots(event, settings)

    def lasts(key: str, item: str, most_s: float) -> float:
        return section.property(key, "duration", (0.0, most_s), "day", item)

    def count(key: str, item: str, column: str, low: int) -> int:
        row = table[item][column]
        return whole_number(section, key, low, int(row.value), row_source("day", item, row))

    line_way = next((way for way in event.ways or LINE_WAYS if way in LINE_WAYS), "")
    on_plate = event.ways is None or "sun_plate" in event.ways
    return Day(
        sitters=sitters,
        rate_1_s=rate,
        prints=prints,
        operators=whole_number(section, "operators", 1, 1, "default: one pair of hands"),
        breaks_s=_breaks(section, event),
        sitting_s=max(lasts("sitting", "sitter", 7200.0), 1.0),
        finishing_s=lasts("finishing", "hands", 7200.0),
        squeegee_s=table["hands"]["squeegee"].value,
        blotting_s=table["hands"]["blotting"].value,
        wait_limit_s=lasts("wait_limit", "sitter", 86400.0),
        vessels=_vessels(section, process),
        wash_trays=count("wash_trays", "wash", "trays", 1),
        wash_together=int(table["wash"]["together"].value),
        plate_slots=_plate_slots(section) if on_plate else 0,
        line_slots=count("line_slots", "line", "slots", 0) if line_way else 0,
        line_way=line_way or LINE_WAYS[0],
        sitting_spread_log=table["spread"]["sitting_log"].value,
        stage_spread_log=table["spread"]["stage_log"].value,
        camera_spot=camera,
        box_spot=box,
    )


def _spots(event: Event, settings: Settings) -> tuple[Spot | None, Spot | None]:
    """Return the spots of camera and box; the box's obstacles are those the event stands on."""
    fresh = event.reread()
    common = [read_obstacle(entry) for entry in fresh.section("place").entries("obstacle")]
    spots = read_spots(fresh, common)
    box = chosen_spot(fresh, spots, BOX)
    if box is not None:
        box = Spot(box.name, event.place.obstacles)
    return chosen_spot(settings, spots, CAMERA), box


def whole_number(section: Section, key: str, low: int, default: int, source: str) -> int:
    """Return a count given under a key, or the default.

    Raises
    ------
    InputError
        If it is no whole number from ``low`` to `MOST_OF_ANYTHING`.
    """
    value = section.raw(key)
    if value is None:
        section.record(key, default, "", source)
        return default
    if isinstance(value, bool) or not isinstance(value, int):
        raise section.error(key, f"{key} {value} is not a whole number", f"write {key} = {default}")
    if not low <= value <= MOST_OF_ANYTHING:
        raise out_of_range(key, value, low, MOST_OF_ANYTHING, section.where(key))
    section.record(key, value)
    return value


def _plate_slots(section: Section) -> int | None:
    if "plate_slots" not in section:
        section.record("plate_slots", "as many as fit", "", "default")
        return None
    return whole_number(section, "plate_slots", 0, 0, "")


def _breaks(section: Section, event: Event) -> tuple[tuple[float, float], ...]:
    given = section.raw("breaks")
    form = 'write it like breaks = [["13:00", "13:30"]]'
    if given is None:
        section.record("breaks", "none", "", "default")
        return ()
    pairs = isinstance(given, list) and all(isinstance(p, list) and len(p) == 2 for p in given)
    if not pairs:
        raise section.error("breaks", f"breaks {given!r} is not a list of pairs", form)
    found = []
    for begins, ends in given:
        first, last = (moment_s(section, "breaks", value, event) for value in (begins, ends))
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
        name = key.replace("_", " ").lower()
        if name not in counts:
            mend = f"the baths are: {', '.join(names)}"
            raise InputError(f"there is no bath '{key}'", inner.where(key), mend)
        counts[name] = whole_number(inner, key, 1, 1, "")
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
    """Return process, day and wash of an event.

    Raises
    ------
    InputError
        Naming the key, its line and what would be right.
    """
    from drybox.inputs.wet.process import read_process
    from drybox.inputs.wet.wash import read_wash

    settings = event.reread()
    process = read_process(settings)
    day = read_day(event, process, settings)
    paper = event.paper
    coated = paper.resin_coated or process.sheets[-1] in process.resin_coated_sheets
    wash = read_wash(
        settings,
        sheet_area_m2=paper.area_m2,
        dry_mass_kg_m2=paper.dry_mass_kg_m2,
        resin_coated=coated,
        fixing_s=process.fixing_s,
    )
    if "prints" not in settings.tables.get("process", {}).get("wash", {}):
        row = load_table("day")["wash"]["together"]
        wash = replace(wash, prints=day.wash_together)
        settings.record("process.wash.prints", wash.prints, "", row_source("day", "wash", row))
    return DayInputs(
        process=process,
        day=day,
        wash=wash,
        resolved=tuple(settings.resolved),
        assumptions=tuple(settings.assumptions),
        warnings=tuple(settings.warnings),
    )
