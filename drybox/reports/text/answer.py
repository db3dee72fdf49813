"""What a command found out, before anyone decides how to lay it out.

One `Answer` feeds the terminal, JSON, CSV and the sheet, so that no two of them disagree.
Numbers in it are metric and named by unit (``plate_temp_c``, ``prop_height_mm``); clock
times are seconds since the Unix epoch under names that end in ``_at``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event, Resolved
    from drybox.inputs.event.place import Place

SCHEMA_VERSION = 1


@dataclass(frozen=True)
class Column:
    """One column: ``key`` names the cell in each row and, by its ending, the unit.

    ``digits`` are those after the point; None prints up to six that matter.
    """

    key: str
    heading: str
    digits: int | None = 0


@dataclass(frozen=True)
class Table:
    """Rows under a title; a cell may be a number, text, None or a p10/p50/p90 range.

    ``on_request`` keeps it from the text of a command until the whole is asked for; ``name`` is
    what the sheet knows it by: ``sitters``, ``bring``, or nothing.
    """

    title: str
    columns: tuple[Column, ...]
    rows: Sequence[Mapping[str, Any]]
    on_request: bool = False
    name: str = ""


@dataclass(frozen=True)
class Answer:
    """All that one command says; ``lead`` holds its sentences, the most important first.

    ``beside`` are those of them that the sheet sets beside its own drawings of the same.
    """

    command: str
    result: dict[str, Any]
    lead: list[str]
    place: dict[str, Any] = field(default_factory=dict)
    inputs: list[dict[str, Any]] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    timezone: str = "UTC"
    beside: list[str] = field(default_factory=list)


def fields_of(found: object, *names: str) -> dict[str, Any]:
    """Return some fields of a result, for the record that holds them under the same names."""
    return {name: getattr(found, name) for name in names}


def place_of(place: Place) -> dict[str, Any]:
    """Return what `Answer.place` says of a place."""
    return fields_of(place, "name", "latitude_deg", "longitude_deg", "elevation_m", "timezone")


def echo_inputs(resolved: Iterable[Resolved]) -> list[dict[str, Any]]:
    """Return every resolved value with its unit and where it came from, for `Answer.inputs`."""
    return [fields_of(item, "key", "value", "unit", "source") for item in resolved]


def echo_given(
    command: str, source: str = "option or default", **given: Any
) -> list[dict[str, Any]]:
    """Return what a command was given, each value alone or with its unit, for `Answer.inputs`."""
    told = {
        name: value if isinstance(value, tuple) else (value, "") for name, value in given.items()
    }
    return [
        {"key": f"{command}.{name}", "value": value, "unit": unit, "source": source}
        for name, (value, unit) in told.items()
    ]


def answer_for(
    event: Event, command: str, *, told: Iterable[dict[str, Any]] = (), **said: Any
) -> Answer:
    """Return what a command says of an event, with its place, its clock and its inputs.

    ``told`` are inputs besides the event's own, ``said`` the other fields of `Answer`.
    """
    return Answer(
        command,
        place=place_of(event.place),
        inputs=[*echo_inputs(event.resolved), *told],
        timezone=event.place.timezone,
        **said,
    )


def is_range(value: object) -> bool:
    """Tell whether a cell is a range of 10th, 50th and 90th percentile.

    >>> is_range({"p10": 31, "p50": 38, "p90": None}), is_range(38)
    (True, False)
    """
    return isinstance(value, Mapping) and set(value) == {"p10", "p50", "p90"}
