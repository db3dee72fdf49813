"""Aim off the sun so that the plate stays below a limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.errors import NoAnswerError
from drybox.inputs.event import Event
from drybox.physics.drying_run import run_empty
from drybox.physics.forcing import Forcing
from drybox.planning.conditions import Conditions
from drybox.planning.draws import as_told
from drybox.planning.exposure import plate_forcing
from drybox.planning.models import box_system

Array = NDArray[np.float64]

OFFSET_STEP_DEG = 2.5


@dataclass(frozen=True)
class HeldAim:
    """The same bearings with every tilt changed by one angle; the as-told plate's highest reading.

    A negative ``offset_deg`` lays the box flatter, a positive one stands it steeper.
    """

    offset_deg: float
    tilt_deg: Array
    plate_temp_max_k: float


def hold_below(
    event: Event,
    day: Conditions,
    bearing_deg: Array,
    tilt_deg: Array,
    limit_k: float,
    from_s: float,
    until_s: float,
) -> HeldAim:
    """Return the least change of tilt that keeps the empty plate below a temperature.

    Parameters
    ----------
    event : Event
        Place and box.
    day : Conditions
        As told, (times,).
    bearing_deg, tilt_deg : array
        The aim at the sun, (times,). [deg]
    limit_k : float
        Highest plate temperature wanted. [K]
    from_s, until_s : float
        While it must hold. [s]

    Returns
    -------
    HeldAim
        Tilts off the sun; no change where none is needed.

    Raises
    ------
    NoAnswerError
        If the plate passes the limit at every tilt.

    Notes
    -----
    As told: a lull in the wind or a clearer sky may still pass the limit.
    """
    told = as_told(day)
    flatter = np.arange(0.0, -90.1, -OFFSET_STEP_DEG)
    offsets = np.concatenate([flatter, -flatter[1:]])
    tilts = np.clip(tilt_deg[None, :] + offsets[:, None], 0.0, 90.0)
    tables = [plate_forcing(told, event.place, event.box, bearing_deg, tilt) for tilt in tilts]
    forcing = Forcing(
        tables[0].start_s,
        tables[0].step_s,
        np.concatenate([table.values for table in tables], axis=1),
        tables[0].pressure_pa,
    )
    system = box_system(event.box, event.paper)
    start = float(day.time_s[0])
    member = np.arange(offsets.size)
    elapsed, temps = run_empty(
        system, forcing, member, np.full(offsets.size, start), until_s - start, 120.0
    )
    inside = (elapsed + start >= from_s - 1.0) & (elapsed + start <= until_s + 1.0)
    hottest = temps[inside].max(axis=0)
    able = np.flatnonzero(hottest <= limit_k)
    if able.size == 0:
        raise NoAnswerError(
            f"the plate passes {limit_k - 273.15:.0f} °C at every tilt",
            "",
            "shade the box with a board, or lay the print on later",
        )
    best = able[np.argmin(np.abs(offsets[able]))]
    return HeldAim(float(offsets[best]), tilts[best], float(hottest[best]))
