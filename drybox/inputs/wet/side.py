"""The wet side of an event, or of options alone: paper and process, with or without a day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drybox.inputs.event.paper import Paper, read_paper
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.process import Process, read_process
from drybox.inputs.wet.wash import WashSetup, carry_over_m3, of_the_day, read_wash

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event

HOURS_WITHOUT_EVENT = 8


@dataclass(frozen=True, eq=False)
class WetSide:
    """Paper and process of an event, or of the options alone."""

    event: Event | None
    paper: Paper
    process: Process
    settings: Settings

    @property
    def resin_coated(self) -> bool:
        """Whether the finished print is on resin-coated paper."""
        return (
            self.paper.resin_coated or self.process.sheets[-1] in self.process.resin_coated_sheets
        )

    @property
    def day_s(self) -> float:
        """How long the day lasts. [s]"""
        if self.event is None:
            return HOURS_WITHOUT_EVENT * 3600.0
        return self.event.closes_at - self.event.opens_at

    @property
    def paced(self) -> bool:
        """Whether the pace of the sittings was told, and stands for who comes."""
        return "pace" in self.settings.tables.get("process", {})

    def wash(self) -> WashSetup:
        """Return the wash of the finished print."""
        return read_wash(
            self.settings,
            sheet_area_m2=self.paper.area_m2,
            dry_mass_kg_m2=self.paper.dry_mass_kg_m2,
            resin_coated=self.resin_coated,
            fixing_s=self.process.fixing_s,
        )

    def day_wash(self) -> WashSetup:
        """Return the wash as an event's day has it, in which prints are washed together."""
        return self.wash() if self.event is None else of_the_day(self.settings, self.wash())

    def carry_over_m3(self) -> dict[str, float]:
        """Return what each kind of sheet takes along, and record where it is from. [m³]"""
        carried = {}
        for sheet in self.process.sheets:
            last = sheet == self.process.sheets[-1]
            coated = self.resin_coated if last else sheet in self.process.resin_coated_sheets
            carried[sheet], source = carry_over_m3(
                self.paper.area_m2, self.paper.dry_mass_kg_m2, coated
            )
            key = f"process.carry_over.{sheet}"
            self.settings.record(key, carried[sheet] * 1e6, "ml", source=source)
        return carried


def read_wet_side(event: Event | None, overrides: Mapping[str, object]) -> WetSide:
    """Return paper and process.

    Overrides, by key of an event file, are laid over the event's own; without an event, over the
    defaults.
    """
    if event is None:
        settings = Settings(None, overrides)
        paper = read_paper(settings)
    else:
        settings = Settings(event.settings.file, {**event.settings.options, **overrides})
        settings.air_temp_k = event.reread().air_temp_k
        paper = read_paper(settings) if overrides else event.paper
        event = replace(event, settings=settings, paper=paper)
    return WetSide(event=event, paper=paper, process=read_process(settings), settings=settings)
