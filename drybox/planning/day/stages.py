"""The wet line of a process, and sitters led through it and the wash."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.day import DayInputs
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY
from drybox.planning.day.samples import HandDraws
from drybox.planning.scenario.models import slots_on_plate
from drybox.planning.wet.baths import stage_times
from drybox.planning.wet.line import Run, Use, WashTimes, WetLine, WetTimes, serve, wash_in_batches
from drybox.planning.wet.wash import WashPlan
from drybox.planning.wet.water import WaterLimit

CAMERA = 0
"""Number of the camera among the vessels; the baths follow in order of use."""


@dataclass(frozen=True)
class Resources:
    """What there is to work with; what-ifs change one of them. Times in seconds.

    ``slots`` are the places on each way of drying that takes part. ``helpers`` are pairs of hands
    for finishing and ``boards`` pairs of them, more than the event tells. ``water`` is what of the
    day's is left for washing, None where it sets no limit; ``more_battery_j`` comes on top of the
    event's battery. [J]
    """

    hands: int
    vessels: tuple[int, ...]
    sitting_s: float
    wash_trays: int
    wash_together: int
    wash_s: float
    slots: Mapping[str, int]
    helpers: int = 0
    boards: int = 0
    water: WaterLimit | None = None
    more_battery_j: float = 0.0


@dataclass(frozen=True, eq=False)
class WetDay:
    """The wet part of some members: sitting, stages, wash; (n, tickets), infinite if not reached.

    ``lay_at`` is when a print could be laid on or hung. ``short`` tells which are not washed, for
    the day's water is used up: their wash is when it would have been.
    """

    line: WetLine
    wet: WetTimes
    wash: WashTimes
    lay_at: Array
    short: Flags

    @property
    def washed_at(self) -> Array:
        """When each print is washed, infinite where there is no water for it. [s]"""
        return np.where(self.short, np.inf, self.wash.washed_at)

    @property
    def sat_at(self) -> Array:
        """When each sitting begins. [s]"""
        return np.asarray(self.wet.begun_at[0])

    def of(self, rows: slice | Index) -> WetDay:
        """Return that of some members, in the order given."""
        begun, off = (each[:, rows] for each in (self.wet.begun_at, self.wet.hands_off_s))
        return replace(
            self,
            wet=WetTimes(begun, off, self.wet.done_s[rows]),
            wash=WashTimes(**{name: each[rows] for name, each in vars(self.wash).items()}),
            lay_at=self.lay_at[rows],
            short=self.short[rows],
        )


@dataclass(frozen=True)
class SetUp:
    """One set of resources and the wet part of the first members under it.

    ``wait_s`` is how long sitters wait from their sitting, where that is not as told; ``moved_s``
    from when until when the box stands where nothing is before the sun.
    """

    resources: Resources
    wet: WetDay
    wait_s: float | None = None
    moved_s: tuple[float, float] | None = None

    @property
    def members(self) -> int:
        """How many members run under it."""
        return int(self.wet.lay_at.shape[0])


def usual_resources(event: Event, inputs: DayInputs, wash: WashPlan) -> Resources:
    """Return what there is to work with, as told."""
    day, paper = inputs.day, event.paper
    fit = slots_on_plate(event.box, paper)
    return Resources(
        hands=day.operators,
        vessels=(1, *(day.vessels[bath.name] for bath in inputs.process.baths)),
        sitting_s=day.sitting_s,
        wash_trays=day.wash_trays,
        wash_together=inputs.wash.prints,
        wash_s=wash.duration_s,
        slots={
            way: (fit if count is None else min(count, fit)) if WAY[way].metal else count or 0
            for way, count in day.slots.items()
        },
    )


def _wet_line(
    inputs: DayInputs,
    resources: Resources,
    draws: HandDraws,
    *,
    members: int | None,
    closes_at: float,
) -> WetLine:
    """Return the runs of attended stages of each ticket in the first members of the draws.

    A sitting is a run of its own: an exposed sheet may wait. Attended stages after it are carried
    through; an unattended stage ends a run, and the sheet may wait in it for the hands.
    """
    process, factor = inputs.process, draws.stage_factor[:members]
    sitting = resources.sitting_s * draws.sitting_factor[:members]
    baths = [bath.name for bath in process.baths]
    drafts = [_Draft(sitting, np.zeros_like(sitting), {CAMERA: (np.zeros_like(sitting), sitting)})]
    for stage, timed in zip(process.stages, stage_times(process), strict=True):
        lasts = timed.duration_s * factor
        if stage.attended and (len(drafts) == 1 or drafts[-1].rest_s.any()):
            drafts.append(_Draft(np.zeros_like(lasts), np.zeros_like(lasts), {}))
        own = stage.bath is not None and not stage.shares_vessel
        drafts[-1].add(lasts, stage.attended, 1 + baths.index(stage.bath or "") if own else None)
    return WetLine(
        runs=tuple(draft.run() for draft in drafts),
        hands=resources.hands,
        vessels=resources.vessels,
        finishing_s=inputs.day.finishing_s,
        breaks_s=inputs.day.breaks_s,
        closes_at=closes_at,
    )


@dataclass(eq=False)
class _Draft:
    """A run while its stages are put together; vessels by number: held from, until."""

    hands_s: Array
    rest_s: Array
    held: dict[int, tuple[Array, Array]]

    def add(self, lasts_s: Array, attended: bool, vessel: int | None) -> None:
        before = self.hands_s + self.rest_s
        if vessel is not None:
            first = self.held[vessel][0] if vessel in self.held else before
            self.held[vessel] = (first, before + lasts_s)
        if attended:
            self.hands_s = self.hands_s + lasts_s
        else:
            self.rest_s = self.rest_s + lasts_s

    def run(self) -> Run:
        uses = tuple(Use(vessel, *span) for vessel, span in self.held.items())
        return Run(self.hands_s, self.rest_s, uses)


def wet_day(
    inputs: DayInputs,
    resources: Resources,
    draws: HandDraws,
    *,
    closes_at: float,
    members: int | None = None,
    sat_at: Array | None = None,
) -> WetDay:
    """Return when the sitters of the first members, or of all, are sat, developed and washed.

    The last sitting begins before ``closes_at``; ``sat_at`` are sittings known, as of `serve`. [s]
    """
    line = _wet_line(inputs, resources, draws, members=members, closes_at=closes_at)
    wet = serve(draws.arrive_at[:members], line, sat_at)
    wash = wash_in_batches(
        wet.done_s, resources.wash_s, resources.wash_trays, together=resources.wash_together
    )
    lay_at, short = wash.washed_at + inputs.day.squeegee_s, no_water(resources, wash)
    return WetDay(
        line=line, wet=wet, wash=wash, lay_at=np.where(short, np.inf, lay_at), short=short
    )


def no_water(resources: Resources, wash: WashTimes) -> Flags:
    """Return which prints the day's water does not last for, (n, tickets)."""
    if resources.water is None:
        return np.zeros(wash.begun_at.shape, dtype=np.bool_)
    return resources.water.runs_out(wash)


def hands_free(wet: WetDay, start_at: float, step_s: float, *, steps: int) -> NDArray[np.bool_]:
    """Return whether a pair of hands is between runs at each step, (n, steps).

    Hands lay prints on and take them off between runs, in breaks as well; the time this takes is
    the ``finishing`` after each print's last run. A run that begins within a step leaves the hands
    free to its end, so that they have a moment even where run follows on run.
    """
    begun, off = wet.wet.begun_at, wet.wet.hands_off_s
    n = begun.shape[1]
    known = np.isfinite(begun)
    member = np.broadcast_to(np.arange(n)[None, :, None], begun.shape)[known]
    change = np.zeros((n, steps + 1), dtype=np.int16)
    for moments, late, by in ((begun[known], 1, 1), (off[known], 0, -1)):
        place = np.ceil((moments - start_at) / step_s - 1e-9) + late
        at = np.clip(place, 0, steps).astype(np.intp)
        np.add.at(change, (member, at), by)
    busy = np.cumsum(change[:, :steps], axis=1)
    return np.asarray(busy < wet.line.hands)


def more_slots(resources: Resources, way: str, by: int = 1) -> Resources:
    """Return the resources with so many more places on a way.

    Examples
    --------
    >>> resources = Resources(1, (1, 1), 360.0, 2, 4, 1500.0, {"sun_plate": 9})
    >>> more_slots(resources, "line_sun", 4).slots
    {'sun_plate': 9, 'line_sun': 4}
    """
    return replace(resources, slots={**resources.slots, way: resources.slots.get(way, 0) + by})
