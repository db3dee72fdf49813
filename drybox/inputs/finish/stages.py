"""Stages of the day after drying: what each asks of hands, places and materials."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drybox.inputs.text.near_names import plain_name
from drybox.inputs.text.settings import Section, row_source
from drybox.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drybox.tables import TableValue

STAGES = tuple(name for name in load_table("finish_stages") if name != "hands")
"""Every stage that an event may list; a print goes through those listed, in the file's order."""

POWERED = ("dry mount",)
NO_MATERIAL = ("hands", "alone")
LONGEST_S = 7200.0


@dataclass(frozen=True, kw_only=True)
class FinishStage:
    """One stage: hands are kept for ``hands_s``, then the print lies alone for ``alone_s``.

    ``places`` is how many prints it takes at once, from when hands turn to one until it has lain;
    0 where it does not matter. ``materials`` are counts for each print, by name.
    """

    name: str
    hands_s: float
    alone_s: float
    places: int
    materials: tuple[tuple[str, float], ...]


def read_stages(
    section: Section, *, flatten_s: float, places: int, powered: bool
) -> tuple[FinishStage, ...]:
    """Return the stages that ``[finishing]`` lists, none where it lists none.

    ``flatten_s`` is how long a print lies under flat weight [s], ``places`` how many prints lie
    between all pairs of boards, ``powered`` whether there is a press.
    """
    listed, form = section.raw("stages"), 'write it like stages = ["flatten", "trim", "folder"]'
    minutes = _minutes(section)
    if listed is None:
        section.record("stages", "flat weight alone", "", source="default")
        return ()
    if not isinstance(listed, list) or not listed:
        raise section.error("stages", f"stages {listed!r} is not a list of stages", form)
    found = []
    for said in listed:
        name = plain_name(str(said))
        if name not in STAGES:
            mend = f"choose from: {', '.join(STAGES)}"
            raise section.error("stages", f"stage '{said}' is not known", mend)
        if name in POWERED and not powered:
            raise section.error("stages", f"{name} needs power", 'give press = "600 W"')
        if name == "flatten" and not places:
            what = "flatten is listed, but there are no boards"
            raise section.error("stages", what, "boards = 1")
        found.append(_stage(name, minutes, flatten_s=flatten_s, places=places))
    names = [stage.name for stage in found]
    if len(set(names)) < len(names):
        raise section.error("stages", "a stage is listed twice", "keep one")
    section.record("stages", ", ".join(names))
    return tuple(found)


def _minutes(section: Section) -> Section:
    """Return hands' minutes by stage as told, checked for names."""
    given = section.raw("minutes")
    given = {} if given is None else given
    if not isinstance(given, dict):
        form = 'write it like minutes = { trim = "2 min" }'
        raise section.error("minutes", f"minutes {given!r} is not a table", form)
    plain: dict[str, object] = {}
    for key, value in given.items():
        name = plain_name(key)
        if name in plain:
            raise section.error("minutes", f"stage '{name}' has minutes twice", "keep one")
        if name not in STAGES:
            mend = f"the stages are: {', '.join(STAGES)}"
            raise section.error("minutes", f"there is no stage '{key}'", mend)
        plain[name] = value
    return Section(section.settings, f"{section.name}.minutes", plain)


def _stage(name: str, minutes: Section, *, flatten_s: float, places: int) -> FinishStage:
    rows: Mapping[str, TableValue] = load_table("finish_stages")[name]
    source = row_source("finish_stages", name, rows["hands"])
    usual_s, limits = rows["hands"].value, (0.0, LONGEST_S)
    flat = name == "flatten"
    return FinishStage(
        name=name,
        hands_s=minutes.quantity(
            name, "duration", limits, default=usual_s, source=source, usual_unit="min"
        ),
        alone_s=flatten_s if flat else rows["alone"].value if "alone" in rows else 0.0,
        places=places if flat else 0,
        materials=tuple((key, row.value) for key, row in rows.items() if key not in NO_MATERIAL),
    )
