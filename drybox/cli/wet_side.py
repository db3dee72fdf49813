"""What ``wash`` and ``baths`` share: paper and process, with or without a place and a day."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.options import Options, with_options
from drybox.inputs.wet.process import process_names

if TYPE_CHECKING:
    from drybox.inputs.wet.side import WetSide

SHEET_OPTIONS: dict[str, dict[str, Any]] = {
    "--process": {
        "type": click.Choice(process_names(), case_sensitive=False),
        "help": "How the picture is made; else as the event file says.",
    },
    "--stock": {"metavar": "TEXT", "help": 'Paper, like "fibre double weight".'},
    "--size": {"metavar": "SIZE", "help": 'Of the sheet, like "4x5 in".'},
}
SHEET_KEYS = {"process": "process.name", "stock": "paper.stock", "size": "paper.size"}
"""Keys of an event file that those options override."""


def sheet_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that say what sheet and process it is about."""
    return with_options(function, SHEET_OPTIONS)


def load_wet_side(options: Options, table: str, told: Mapping[str, object]) -> WetSide:
    """Return paper and process; the place is read only when a file or coordinates are given.

    What else is told than the sheet stands under a table of an event file.
    """
    from drybox.inputs.wet.side import read_wet_side

    keys = {name: SHEET_KEYS.get(name, f"{table}.{name}") for name in told}
    options = options.told({keys[name]: value for name, value in told.items()})
    placed = options.event is not None or "place.latitude" in options.overrides
    event = options.load(fitted=False) if placed else None
    return read_wet_side(event, {} if event else options.overrides)
