"""How hot the bare metal of the day may get: one figure for all who touch it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event import Event
from drybox.physics.drying_run import run_empty
from drybox.planning.draws import Ensemble
from drybox.planning.exposure import box_out_s, plate_forcing
from drybox.planning.models import box_system

Array = NDArray[np.float64]

STEP_S = 120.0
MOST_MEMBERS = 60


def hottest_metal_k(
    event: Event, ensemble: Ensemble, bearing_deg: Array, tilt_deg: Array
) -> float | None:
    """Return the ninth decile of the hottest the empty plate gets while the event is open. [K]

    Parameters
    ----------
    event : Event
        Place, box and hours.
    ensemble : Ensemble
        Drawn over the day's times; of many members the first `MOST_MEMBERS` are taken.
    bearing_deg, tilt_deg : array
        Aim at each time of the day. [deg]

    Returns
    -------
    float or None
        None where the day drawn does not reach into the event's hours.
    """
    members = np.arange(min(ensemble.members, MOST_MEMBERS))
    forcing = plate_forcing(ensemble, event.place, event.box, bearing_deg, tilt_deg)
    day = ensemble.conditions.time_s
    start = float(np.clip(box_out_s(event), day[0], day[-1]))
    end = float(min(event.closes_s, day[-1]))
    if end <= max(start, event.opens_s):
        return None
    system = box_system(event.box, event.paper, ensemble.prints)
    if ensemble.members > members.size:
        system = system.some(members, ensemble.members)
    elapsed, temps = run_empty(
        system, forcing, members, np.full(members.size, start), end - start, STEP_S
    )
    open_hours = start + elapsed >= event.opens_s
    return float(np.quantile(temps[open_hours].max(axis=0), 0.9))
