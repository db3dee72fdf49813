"""Everything one day's question needs, with where each value came from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybox.inputs.box import Box, PoweredDrier
from drybox.inputs.paper import Paper
from drybox.inputs.place import Place

if TYPE_CHECKING:
    from drybox.inputs.weather import Weather


@dataclass(frozen=True)
class Resolved:
    """One value in use: its key, its value in the unit shown, and where it came from."""

    key: str
    value: float | str | bool | None
    unit: str
    source: str


@dataclass(frozen=True)
class Event:
    """One day at one place with one box and one paper."""

    name: str
    place: Place
    box: Box
    paper: Paper
    weather: Weather
    powered: PoweredDrier | None
    date: datetime.date
    day_start_s: float
    day_end_s: float
    opens_s: float
    closes_s: float
    ways: tuple[str, ...] | None
    path: Path | None
    resolved: tuple[Resolved, ...]
    tables: dict[str, Any] = field(repr=False)
    assumptions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
