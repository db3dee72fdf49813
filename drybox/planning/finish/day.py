"""What becomes of an event day's dry prints, from being pulled to their folder."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.finish.finishing import read_finishing
from drybox.inputs.finish.stages import FinishStage
from drybox.inputs.text.settings import Resolved
from drybox.planning.finish.queue import Finished, FreeTime, through_stages


@dataclass(frozen=True, kw_only=True)
class DayFinish:
    """The stages after drying of one event; none listed is flat weight alone, no hands counted.

    ``pairs`` of boards each take ``prints_per_pair``; a paper that ``lies_flat`` needs none.
    """

    stages: tuple[FinishStage, ...]
    helpers: int
    pairs: int
    prints_per_pair: int
    flatten_s: float
    resolved: tuple[Resolved, ...]
    lies_flat: bool = False

    @property
    def lone_s(self) -> float:
        """How long one print takes from being pulled, with hands for it at once. [s]"""
        if not self.stages:
            return self.flatten_s
        return sum(stage.hands_s + stage.alone_s for stage in self.stages)

    @property
    def hands_s(self) -> float:
        """How long one print keeps hands. [s]"""
        return sum(stage.hands_s for stage in self.stages)

    def with_more(self, *, helpers: int = 0, pairs: int = 0) -> DayFinish:
        """Return the same with more hands or boards."""
        helpers, pairs = self.helpers + helpers, self.pairs + pairs
        places = pairs * self.prints_per_pair
        stages = (replace(one, places=places) if one.places else one for one in self.stages)
        return replace(self, stages=tuple(stages), helpers=helpers, pairs=pairs)

    def finished(self, pulled_at: Array, factor: Array, own: FreeTime) -> Finished:
        """Return when each print is ready for its sitter, (n, tickets).

        ``pulled_at`` is infinite where a print never is; ``factor`` is on the hands' time of each
        ticket. ``own`` is when the photographer's own hands are free, who works where there is no
        helper.
        """
        if not self.stages:
            return Finished(
                ready_at=pulled_at + self.flatten_s, hands_s=np.zeros(pulled_at.shape[0])
            )
        return through_stages(pulled_at, self.stages, factor, helpers=self.helpers, own=own)

    def materials(self, prints: float) -> tuple[tuple[str, float], ...]:
        """Return what so many prints use up, by name in order of use."""
        total: dict[str, float] = {}
        for stage in self.stages:
            for name, count in stage.materials:
                total[name] = total.get(name, 0.0) + count * prints
        return tuple(total.items())


def needed_stages(event: Event, stages: tuple[FinishStage, ...]) -> tuple[FinishStage, ...]:
    """Return the stages that the event's paper needs: resin-coated paper lies flat by itself."""
    if not event.paper.resin_coated:
        return stages
    return tuple(stage for stage in stages if stage.name != "flatten")


def day_finish(event: Event) -> DayFinish:
    """Return the stages after drying that an event lists.

    `InputError` if its ``[finishing]`` cannot be used.
    """
    settings, flatten_s = event.reread(), event.limits.flatten_s
    told = read_finishing(settings, flatten_s=flatten_s)
    return DayFinish(
        stages=needed_stages(event, told.stages),
        helpers=told.helpers,
        pairs=told.pairs,
        prints_per_pair=told.prints_per_pair,
        flatten_s=flatten_s,
        resolved=tuple(settings.resolved),
        lies_flat=event.paper.resin_coated,
    )
