"""What ``wash`` and ``baths`` share: paper and process, with or without a place and a day."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.options import Options
from drybox.inputs.wet.process import process_names

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event, Resolved
    from drybox.inputs.event.paper import Paper
    from drybox.inputs.text.settings import Settings
    from drybox.inputs.wet.process import Process
    from drybox.inputs.wet.wash import WashSetup

SHEET_OPTIONS: dict[str, dict[str, Any]] = {
    "--process": {
        "type": click.Choice(process_names(), case_sensitive=False),
        "help": "How the picture is made; else as the event file says.",
    },
    "--stock": {"metavar": "TEXT", "help": 'Paper, like "fibre double weight".'},
    "--size": {"metavar": "SIZE", "help": 'Of the sheet, like "4x5 in".'},
}
SHEET_KEYS = {"process": "process.name", "stock": "paper.stock", "size": "paper.size"}


def sheet_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that say what sheet and process it is about."""
    for flag, settings in reversed(SHEET_OPTIONS.items()):
        function = click.option(flag, **settings)(function)
    return function


@dataclass(frozen=True)
class WetSide:
    """Paper and process of an event, or of the options alone."""

    event: Event | None
    paper: Paper
    process: Process
    settings: Settings

    @property
    def place(self) -> dict[str, Any]:
        """What `Answer.place` says; empty when no place was given."""
        from drybox.reports.text.answer import place_of

        return place_of(self.event.place) if self.event else {}

    @property
    def timezone(self) -> str:
        """Time zone of the event, UTC without one."""
        return self.event.place.timezone if self.event else "UTC"

    @property
    def inputs(self) -> list[dict[str, Any]]:
        """Every value in use."""
        from drybox.reports.text.answer import echo_inputs

        before: tuple[Resolved, ...] = self.event.resolved if self.event else ()
        return echo_inputs([*before, *self.settings.resolved])

    @property
    def assumptions(self) -> list[str]:
        """What was assumed of the paper and the process."""
        return list(self.settings.assumptions)

    @property
    def resin_coated(self) -> bool:
        """Whether the finished print is on resin-coated paper."""
        return (
            self.paper.resin_coated or self.process.sheets[-1] in self.process.resin_coated_sheets
        )

    def wash(self) -> WashSetup:
        """Return the wash of the finished print."""
        from drybox.inputs.wet.wash import read_wash

        return read_wash(
            self.settings,
            sheet_area_m2=self.paper.area_m2,
            dry_mass_kg_m2=self.paper.dry_mass_kg_m2,
            resin_coated=self.resin_coated,
            fixing_s=self.process.fixing_s,
        )


def load_wet_side(options: Options, told: Mapping[str, object]) -> WetSide:
    """Return paper and process; the place is read only when a file or coordinates are given.

    Parameters
    ----------
    options : Options
        The shared options.
    told : mapping of str to object
        The command's own options by key of an event file.
    """
    from drybox.inputs.event.paper import read_paper
    from drybox.inputs.text.settings import Settings
    from drybox.inputs.wet.process import read_process

    options = Options(**{**vars(options), "overrides": {**options.overrides, **_said(told)}})
    placed = options.event is not None or "place.latitude" in options.overrides
    event = options.load(fitted=False) if placed else None
    settings = event.reread() if event else Settings(None, options.overrides)
    paper = event.paper if event else read_paper(settings)
    return WetSide(event, paper, read_process(settings), settings)


def _said(told: Mapping[str, object]) -> dict[str, object]:
    return {key: value for key, value in told.items() if value is not None}
