"""One print laid on at each of many times, on a plate that has been out all along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drybox.arrays import AimDeg, Array, Flags
from drybox.inputs.event.event import Event
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.step_control import COARSE_STEPS
from drybox.planning.one_print.lay_print import is_too_hot, lay_print
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import PrintDraw, box_system
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import Ensemble

QUARTER_S = 900.0
EMPTY_STEP_S = 120.0
LONGEST_S = 3 * 3600.0
"""A print is followed no longer than this. [s]"""


@dataclass(frozen=True, eq=False)
class LayOns:
    """What comes of a print laid on at each start, each (starts, members).

    ``dry_after_s`` is infinite where the run ended first, and so is ``over_dry_after_s`` where
    the run was not to go on past dry; ``over_limit_k`` is how far the print is kept over its limit
    by water, see `run.DryingRun`.
    """

    dry_after_s: Array
    over_limit_k: Array
    over_dry_after_s: Array

    @property
    def too_hot(self) -> Flags:
        """Whether the median print of each start is kept over its limit, (starts,)."""
        return is_too_hot(self.over_limit_k)


def quarter_hours(event: Event, day: Conditions, from_at: float) -> Array:
    """Return the quarter hours of the event, after a time, at which a print can be laid on. [s]

    The last one leaves half an hour of the day.
    """
    until = min(event.closes_at, float(day.time_at[-1]) - 1800.0)
    first = np.ceil(max(from_at, event.opens_at) / QUARTER_S) * QUARTER_S
    return np.arange(first, until + 1.0, QUARTER_S)


def quarters_joined(quarters_at: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Return quarter hours as stretches from the first to the end of the last. [s]

    >>> quarters_joined([900.0, 1800.0, 5400.0])
    ((900.0, 2700.0), (5400.0, 6300.0))
    """
    found: list[tuple[float, float]] = []
    for at in quarters_at:
        if found and at <= found[-1][1]:
            found[-1] = found[-1][0], at + QUARTER_S
        else:
            found.append((at, at + QUARTER_S))
    return tuple(found)


def lay_ons(
    event: Event,
    day: Conditions,
    ensembles: Sequence[Ensemble],
    *,
    aim_deg: AimDeg,
    starts_s: Array,
    coarse: bool = False,
    past_dry: bool = False,
    longest_s: float = LONGEST_S,
) -> list[LayOns]:
    """Return how prints dry that are laid on at some times, one answer an ensemble.

    The plate is out from the first minute of the day as told, and otherwise empty; ensembles, drawn
    over these times, go through one simulation. ``coarse`` steps are longer, which moves a time by
    under 1 %, for tables read to the minute; ``past_dry`` follows each print until it is over-dry.
    [deg], [s]
    """
    sizes = [ensemble.members for ensemble in ensembles]
    every = np.arange(sum(sizes))
    forcing = Forcing.joined(
        [plate_forcing(ensemble, event.place, event.box, aim_deg=aim_deg) for ensemble in ensembles]
    )
    drawn = PrintDraw.joined([ensemble.prints for ensemble in ensembles])
    system = box_system(event.box, event.paper, drawn)
    first = np.full(every.size, day.time_at[0])
    length = float(starts_s[-1] - first[0]) + EMPTY_STEP_S
    elapsed, warm, _ = run_empty(
        system, forcing, every, start_at=first, horizon_s=length, step_s=EMPTY_STEP_S
    )
    rows = np.searchsorted(elapsed, starts_s - first[0]).clip(0, elapsed.size - 1)
    member = np.tile(every, starts_s.size)
    laid = np.repeat(starts_s, every.size)
    prints = drawn.of(member)
    run = lay_print(
        event,
        box_system(event.box, event.paper, prints),
        forcing,
        member=member,
        prints=prints,
        laid_on_at=laid,
        plate_temp_k=warm[rows].ravel(),
        horizon_s=longest_s,
        past_dry=past_dry,
        control=COARSE_STEPS if coarse else None,
    )
    shape = (starts_s.size, every.size)
    cuts = np.cumsum(sizes)[:-1]
    parts = (
        np.split(values.reshape(shape), cuts, axis=1)
        for values in (run.dry_after_s, run.over_limit_k, run.over_dry_after_s)
    )
    return [
        LayOns(dry_after_s=dry, over_limit_k=over, over_dry_after_s=past)
        for dry, over, past in zip(*parts, strict=True)
    ]
