"""The wet process as data: stages, sheets and baths, shipped or the user's own.

A shipped process is named in ``[process]``; each of its stages and baths may be changed in
``[[process.stage]]`` and ``[[process.bath]]``. A process with a name of its own is written
down stage by stage. Every figure is recorded with its source.
"""

from __future__ import annotations

from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.text.near_names import plain_name
from drybox.inputs.text.settings import Section, Settings, row_source
from drybox.tables import TableValue, load_table, look_up

DEFAULT_PROCESS = "direct positive"
VESSELS = ("slot tank", "open tray", "none")
_PROCESS_KEYS = (
    "name", "stage", "bath", "wash", "temperature", "top_up", "level_loss", "spare", "spoilt",
    "copied_wet", "drain", "pace",
)  # fmt: skip
_STAGE_KEYS = (
    "name", "sheet", "bath", "duration", "rate_per_k", "vessel", "volume", "attended",
    "shares_vessel", "resin_coated",
)  # fmt: skip
_BATH_KEYS = (
    "name", "kind", "volume", "capacity", "life", "least_strength", "silver_bearing", "hazardous",
)  # fmt: skip
_DURATION = (1.0, 7200.0)
_VOLUME = (20e-6, 0.2)


@dataclass(frozen=True)
class Stage:
    """One step of one sheet; ``bath`` is None where no liquid is used."""

    name: str
    sheet: str
    bath: str | None
    duration_s: float
    reference_temp_k: float
    rate_per_k: float
    drain_s: float
    vessel: str
    attended: bool
    shares_vessel: bool


@dataclass(frozen=True)
class Bath:
    """One filled vessel; ``capacity_m2_m3`` is None where area does not end it."""

    name: str
    kind: str
    vessel: str
    volume_m3: float
    capacity_m2_m3: float | None
    life_s: float
    least_strength_frac: float
    silver_bearing: bool
    hazardous: bool


@dataclass(frozen=True)
class Process:
    """How one picture is made: sheets, stages in order, baths, rules; ``pace_1_s`` is sittings."""

    name: str
    sheets: tuple[str, ...]
    resin_coated_sheets: frozenset[str]
    stages: tuple[Stage, ...]
    baths: tuple[Bath, ...]
    temp_k: float
    pace_1_s: float
    top_up: bool
    level_loss_frac: float
    spare_frac: float
    spoilt_frac: float
    silver_kg_m2: float
    best_keeping_silver_kg_m3: float
    coldest_temp_k: float
    warmest_temp_k: float

    def passes(self, bath: str) -> tuple[str, ...]:
        """Return the sheets of one sitting that go through a bath, once for each pass."""
        return tuple(stage.sheet for stage in self.stages if stage.bath == bath)

    def enters_dry(self, bath: str) -> bool:
        """Return whether some sheet meets this bath first, so that its level falls."""
        first = {stage.sheet: stage.bath for stage in reversed(self.stages) if stage.bath}
        return bath in first.values()

    @property
    def fixing_s(self) -> float:
        """How long the finished print is fixed, in seconds; 0 when it is not fixed."""
        last = self.sheets[-1]
        return sum(
            s.duration_s for s in self.stages if s.sheet == last and "fixer" in (s.bath or "")
        )


@dataclass(frozen=True)
class _Draft:
    """A stage before its figures: shipped (with table rows) or the user's own.

    The section of one that the user left alone is empty.
    """

    name: str
    sheet: str
    bath: str | None
    rows: dict[str, TableValue]
    item: str
    section: Section


def process_names() -> list[str]:
    """Return the names of the shipped processes.

    >>> process_names()
    ['bleach reversal', 'direct positive', 'paper negative and copy']
    """
    return sorted({_plain(item.split("/")[0]) for item in load_table("processes") if item != "any"})


def tank_names() -> list[str]:
    """Return the names of the baths that have figures of their own.

    >>> tank_names()[:4]
    ['developer', 'first developer', 'second developer', 'stop']
    """
    return [_plain(name) for name in load_table("baths") if name != "any"]


def read_process(settings: Settings) -> Process:
    """Return the process of an event, the shipped direct positive when none is named."""
    section = settings.section("process")
    for key in section.table:
        if key not in _PROCESS_KEYS and _plain(key) in tank_names():
            form = f'[[process.bath]] with name = "{_plain(key)}" and volume = "1.2 L"'
            raise section.error(key, f"{key} is not a key of [process]", f"write it under {form}")
    section.only(*_PROCESS_KEYS)
    given = section.text("name", DEFAULT_PROCESS, "default (practice)")
    entries = section.entries("stage")
    for entry in entries:
        entry.only(*_STAGE_KEYS)
    own = plain_name(given) not in process_names()
    if own and not entries:
        mend = (
            f"choose one of: {', '.join(process_names())}; or write its stages as [[process.stage]]"
        )
        raise section.error("name", f"process '{given}' is not known", mend)
    drafts = [_own_draft(entry) for entry in entries] if own else _shipped(given, section, entries)
    drain = section.property("drain", "duration", (0.0, 120.0), row=("processes", "any"))
    stages = tuple(_stage(draft, drain) for draft in drafts)
    sheets = tuple(dict.fromkeys(stage.sheet for stage in stages))
    rules = load_table("baths")["any"]
    return Process(
        name=_plain(given),
        sheets=sheets,
        resin_coated_sheets=_resin_coated(given, own, sheets, entries=entries, section=section),
        stages=stages,
        baths=_baths(drafts, stages, section),
        temp_k=section.water_temperature(
            "temperature", (273.15, 318.15), row=("processes", "any", "reference")
        ),
        pace_1_s=section.property(
            "pace",
            "rate",
            (0.1 / 3600, 60 / 3600),
            row=("processes", "any" if own else _key(given)),
        ),
        top_up=section.flag("top_up", True, "default (judgement: the operator tops up)"),
        level_loss_frac=section.property(
            "level_loss", "fraction", (0.01, 0.9), row=("baths", "any")
        ),
        spare_frac=section.property("spare", "fraction", (0.0, 3.0), row=("baths", "any")),
        spoilt_frac=section.property(
            "spoilt", "fraction", (0.0, 2.0), row=("baths", "any", "spoilt_share")
        ),
        silver_kg_m2=rules["fibre_silver"].value,
        best_keeping_silver_kg_m3=rules["best_keeping_silver"].value,
        coldest_temp_k=rules["coldest"].value,
        warmest_temp_k=rules["warmest"].value,
    )


def _key(name: str) -> str:
    return plain_name(name).replace(" ", "_")


def _plain(key: str) -> str:
    return key.replace("_", " ")


def _shipped(given: str, section: Section, entries: list[Section]) -> list[_Draft]:
    """Return the stages of a shipped process, with the user's entries laid over by name."""
    table = load_table("processes")
    parts = [item.split("/") for item in table if item.startswith(f"{_key(given)}/")]
    parts = [part for part in parts if len(part) == 3]
    several = len({sheet for _, sheet, _ in parts}) > 1
    if "copied_wet" in table.get(_key(given), {}) and section.flag(
        "copied_wet", True, "table processes: copied_wet (practice)"
    ):
        parts = [part for part in parts if part[2] != "dry"]
    names = {"/".join(p): _plain(f"{p[1]} {p[2]}" if several else p[2]) for p in parts}
    over: dict[str, Section] = {}
    for entry in entries:
        name = plain_name(_required_name(entry))
        if name not in names.values() or name in over:
            what = (
                "is given twice" if name in over else f"is not in the process {plain_name(given)}"
            )
            mend = f"its stages are: {', '.join(names.values())}"
            raise entry.error("name", f"stage '{name}' {what}", mend)
        over[name] = entry
    drafts = []
    for item, name in names.items():
        _, sheet, step = item.split("/")
        rows = table[item]
        wet = "slot_tank" in rows or "open_tray" in rows
        alone = Section(section.settings, f"process.stage.{_key(name)}", {})
        entry = over.get(name, alone)
        bath = _key(str(entry.raw("bath"))) if entry.raw("bath") else (step if wet else None)
        drafts.append(
            _Draft(name=name, sheet=sheet, bath=bath, rows=rows, item=item, section=entry)
        )
    return drafts


def _own_draft(entry: Section) -> _Draft:
    name = _required_name(entry)
    if "duration" not in entry:
        raise entry.error("duration", f"stage '{name}' has no duration", 'write duration = "2 min"')
    sheet, bath = entry.text("sheet", "print"), entry.text("bath", None)
    return _Draft(
        name=name,
        sheet=sheet,
        bath=_key(bath) if bath else None,
        rows={},
        item="any",
        section=entry,
    )


def _required_name(entry: Section) -> str:
    text = entry.text("name", None)
    if text is None:
        raise entry.error("name", "name is missing", 'write name = "..."')
    return text


def _row(draft: _Draft, column: str) -> tuple[float, str]:
    """Return a stage's own figure in the table, else the one for any stage, and its source."""
    item = draft.item if column in draft.rows else "any"
    row = load_table("processes")[item][column]
    return row.value, row_source("processes", item, row)


def _figure(draft: _Draft, key: str, dimension: str, *, limits: tuple[float, float]) -> float:
    told = key == "duration" and not draft.rows  # an own stage has its duration
    default, source = (0.0, "") if told else _row(draft, key)
    return draft.section.quantity(key, dimension, limits, default=default, source=source)


def _truth(draft: _Draft, key: str) -> bool:
    usual, source = _row(draft, key)
    return draft.section.flag(key, bool(usual), source)


def _stage(draft: _Draft, drain_s: float) -> Stage:
    section = draft.section
    shipped = next((v for v in ("slot tank", "open tray") if _key(v) in draft.rows), "none")
    default = shipped if shipped != "none" or not draft.bath else "slot tank"
    vessel = section.text("vessel", default, "table processes" if draft.rows else "default")
    if vessel not in VESSELS:
        raise section.error(
            "vessel", f"vessel '{vessel}' is not known", f"choose one of: {', '.join(VESSELS)}"
        )
    if (vessel == "none") != (draft.bath is None):
        raise section.error(
            "vessel", f"stage '{draft.name}' needs both a bath and a vessel, or neither"
        )
    return Stage(
        name=draft.name,
        sheet=draft.sheet,
        bath=_plain(draft.bath) if draft.bath else None,
        duration_s=_figure(draft, "duration", "duration", limits=_DURATION),
        reference_temp_k=load_table("processes")["any"]["reference"].value,
        rate_per_k=_figure(draft, "rate_per_k", "fraction", limits=(0.0, 0.5)),
        drain_s=drain_s if draft.bath else 0.0,
        vessel=vessel,
        attended=_truth(draft, "attended"),
        shares_vessel=_truth(draft, "shares_vessel"),
    )


def _resin_coated(
    given: str, own: bool, sheets: tuple[str, ...], *, entries: list[Section], section: Section
) -> frozenset[str]:
    table = load_table("processes")
    coated = set()
    for sheet in () if own else sheets:
        row = table.get(f"{_key(given)}/{sheet}", {}).get("resin_coated")
        if row and row.value:
            coated.add(sheet)
            section.record(
                f"{sheet}_resin_coated", True, "", source=row_source("processes", sheet, row)
            )
    for entry in entries:
        if "resin_coated" in entry:
            sheet = str(entry.raw("sheet") or (sheets[0] if own or len(sheets) == 1 else ""))
            if sheet not in sheets:
                raise entry.error(
                    "sheet", "resin_coated needs its sheet", f"one of: {', '.join(sheets)}"
                )
            (coated.add if entry.flag("resin_coated", False) else coated.discard)(sheet)
    return frozenset(coated)


def _baths(drafts: list[_Draft], stages: tuple[Stage, ...], section: Section) -> tuple[Bath, ...]:
    """Return each bath once, in order of use."""
    first: dict[str, tuple[_Draft, Stage]] = {}
    for draft, stage in zip(drafts, stages, strict=True):
        if draft.bath is not None:
            first.setdefault(draft.bath, (draft, stage))
    given: dict[str, Section] = {}
    for entry in section.entries("bath"):
        entry.only(*_BATH_KEYS)
        name = _key(_required_name(entry))
        if name not in first or name in given:
            what = "is given twice" if name in given else "is used by no stage"
            mend = f"the baths are: {', '.join(map(_plain, first))}"
            raise entry.error("name", f"bath '{_plain(name)}' {what}", mend)
        given[name] = entry
    return tuple(
        _bath(
            name,
            draft,
            stage,
            entry=given.get(name, Section(section.settings, f"process.bath.{name}", {})),
        )
        for name, (draft, stage) in first.items()
    )


def _bath(name: str, draft: _Draft, stage: Stage, *, entry: Section) -> Bath:
    table = load_table("baths")
    known = name if name in table and name != "any" else "any"
    kind = _key(entry.text("kind", known, "default: as its name"))
    rows = look_up("baths", kind, "kind", where=entry.where("kind"))

    def figure(key: str, dimension: str, limits: tuple[float, float]) -> float:
        return entry.property(key, dimension, limits, row=("baths", kind if key in rows else "any"))

    volume_row = draft.rows.get(_key(stage.vessel)) or table["any"]["volume"]
    usual_m3, source = volume_row.value, f"table processes ({volume_row.status})"
    if "volume" in draft.section:
        usual_m3 = draft.section.quantity("volume", "volume", _VOLUME, default=usual_m3)
        source = "its stage"
    capacity_row = rows.get("capacity")
    return Bath(
        name=_plain(name),
        kind=_plain(kind),
        vessel=stage.vessel,
        volume_m3=entry.quantity("volume", "volume", _VOLUME, default=usual_m3, source=source),
        capacity_m2_m3=entry.quantity(
            "capacity",
            "area_per_volume",
            (10.0, 1e5),
            default=capacity_row.value if capacity_row else None,
            source=row_source("baths", kind, capacity_row) if capacity_row else "no figure known",
        ),
        life_s=figure("life", "duration", (600.0, 60 * 86400.0)),
        least_strength_frac=figure("least_strength", "fraction", (0.05, 0.99)),
        silver_bearing=_mark(entry, rows, kind, key="silver_bearing"),
        hazardous=_mark(entry, rows, kind, key="hazardous"),
    )


def _mark(entry: Section, rows: dict[str, TableValue], kind: str, *, key: str) -> bool:
    row = rows.get(key)
    return entry.flag(
        key, bool(row and row.value), row_source("baths", kind, row) if row else "default"
    )


def find_bath(process: Process, name: str) -> Bath:
    """Return a bath by name."""
    for bath in process.baths:
        if _key(bath.name) == _key(name):
            return bath
    names = ", ".join(bath.name for bath in process.baths)
    raise InputError(f"the process {process.name} has no bath '{name}'", mend=f"it has: {names}")
