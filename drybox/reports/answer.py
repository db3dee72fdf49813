"""What a command found out, before anyone decides how to lay it out.

One `Answer` feeds the terminal, JSON, CSV and the sheet, so that no two of them disagree.
Numbers in it are metric and named by unit (``plate_temp_c``, ``prop_height_mm``); clock
times are seconds since the Unix epoch under names that end in ``_at``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

SCHEMA_VERSION = 1


class ResolvedValue(Protocol):
    """A value with the place it came from, as the inputs room keeps it."""

    @property
    def key(self) -> str:
        """Dotted name, such as ``box.plate_thickness``."""

    @property
    def value(self) -> Any:
        """The value in SI, or text, or None."""

    @property
    def unit(self) -> str:
        """Its unit."""

    @property
    def source(self) -> str:
        """File and line, option, table, fit or default."""


@dataclass(frozen=True)
class Column:
    """One column: ``key`` names the cell in each row and, by its ending, the unit."""

    key: str
    heading: str
    digits: int = 0


@dataclass(frozen=True)
class Table:
    """Rows under a title; a cell may be a number, text, None or a p10/p50/p90 range."""

    title: str
    columns: tuple[Column, ...]
    rows: Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Answer:
    """All that one command says; ``lead`` holds its sentences, the most important first."""

    command: str
    place: dict[str, Any]
    inputs: list[dict[str, Any]]
    result: dict[str, Any]
    lead: list[str]
    tables: list[Table] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    timezone: str = "UTC"


def echo_inputs(resolved: Iterable[ResolvedValue]) -> list[dict[str, Any]]:
    """Return every resolved value with its unit and where it came from, for `Answer.inputs`."""
    return [
        {"key": item.key, "value": item.value, "unit": item.unit, "source": item.source}
        for item in resolved
    ]


def is_range(value: object) -> bool:
    """Tell whether a cell is a range of 10th, 50th and 90th percentile.

    Examples
    --------
    >>> is_range({"p10": 31, "p50": 38, "p90": None}), is_range(38)
    (True, False)
    """
    return isinstance(value, Mapping) and set(value) == {"p10", "p50", "p90"}
