"""One print laid on at each of many times, on a plate that has been out all along."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event import Event
from drybox.physics.drying_run import run_empty, run_print
from drybox.physics.pace import COARSE_PACE
from drybox.planning.conditions import Conditions
from drybox.planning.draws import Ensemble
from drybox.planning.exposure import plate_forcing
from drybox.planning.models import box_system, dry_targets, laid_on_water_kg_m2

Array = NDArray[np.float64]

QUARTER_S = 900.0
LONGEST_S = 3 * 3600.0
"""A print is followed no longer than this. [s]"""


@dataclass(frozen=True)
class LayOns:
    """What comes of a print laid on at each start, each (starts, members).

    ``dry_after_s`` is infinite where the run ended first.
    """

    starts_s: Array
    dry_after_s: Array
    wet_temp_max_k: Array


def quarter_hours(event: Event, day: Conditions, from_s: float) -> Array:
    """Return the quarter hours of the event, after a time, at which a print can be laid on. [s]

    The last one leaves half an hour of the day.
    """
    until = min(event.closes_s, float(day.time_s[-1]) - 1800.0)
    first = np.ceil(max(from_s, event.opens_s) / QUARTER_S) * QUARTER_S
    return np.arange(first, until + 1.0, QUARTER_S)


def lay_ons(
    event: Event,
    day: Conditions,
    ensemble: Ensemble,
    bearing_deg: Array,
    tilt_deg: Array,
    starts_s: Array,
    *,
    coarse: bool = False,
) -> LayOns:
    """Return how prints dry that are laid on at some times.

    Parameters
    ----------
    event : Event
        Place, box and paper.
    day : Conditions
        As told, (times,); the plate is out from its first minute.
    ensemble : Ensemble
        Drawn around the day.
    bearing_deg, tilt_deg : array
        Aim at each time of the day. [deg]
    starts_s : array
        When a print is laid on, each on a plate that is otherwise empty. [s]
    coarse : bool
        Longer steps, which move a time by under 1 %, for tables read to the minute.

    Returns
    -------
    LayOns
        By start and member.
    """
    members = ensemble.members
    forcing = plate_forcing(ensemble, event.place, event.box, bearing_deg, tilt_deg)
    system = box_system(event.box, event.paper, ensemble.prints)
    every = np.arange(members)
    first = np.full(members, day.time_s[0])
    length = float(day.time_s[-1] - first[0])
    elapsed, warm = run_empty(system, forcing, every, first, length, 120.0)
    rows = np.searchsorted(elapsed, starts_s - first[0]).clip(0, elapsed.size - 1)
    member = np.tile(every, starts_s.size)
    laid = np.repeat(starts_s, members)
    prints = ensemble.prints_for(member)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2
    run = run_print(
        box_system(event.box, event.paper, prints),
        forcing,
        member,
        laid,
        warm[rows].ravel(),
        forcing.at(member, laid).air_temp_k,
        np.broadcast_to(laid_on_water_kg_m2(event.paper, prints), laid.shape),
        dry,
        dry,
        LONGEST_S,
        pace=COARSE_PACE if coarse else None,
    )
    shape = (starts_s.size, members)
    return LayOns(
        starts_s,
        run.dry_after_s.reshape(shape),
        run.wet_temp_max_k.reshape(shape),
    )
