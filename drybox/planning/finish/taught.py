"""What lifts that were noted teach of a paper's curl."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import WAY
from drybox.inputs.finish.curls import NotedCurl
from drybox.physics.curl import curvature_of_lift, humidity_strain_frac
from drybox.planning.finish.sheet import Curling, curling_law, usual_factor_log
from drybox.tables import load_table


@dataclass(frozen=True, kw_only=True)
class Taught:
    """Mean and standard deviation of the logarithm of the factor on the law, and from how many."""

    mean_log: float
    deviation_log: float
    notes_used: int

    @property
    def factor_log(self) -> tuple[float, float]:
        """Mean and standard deviation together."""
        return self.mean_log, self.deviation_log


def taught_curl(event: Event) -> Taught:
    """Return what the notes of an event's paper say of how far it curls.

    It is the usual spread narrowed by each note in turn, as normal distributions of the logarithm
    are: precisions add. A note tells nothing where its print should lie flat anyhow, or bows the
    other way.
    """
    mean, deviation = usual_factor_log()
    precision, weighed, used = deviation**-2, mean * deviation**-2, 0
    law = curling_law(event.paper)
    for noted in event.curled:
        told = _told(law, noted, event.limits.dry_activity_frac)
        if told is None:
            continue
        log, spread = told
        precision += spread**-2
        weighed += log * spread**-2
        used += 1
    return Taught(
        mean_log=weighed / precision, deviation_log=float(precision**-0.5), notes_used=used
    )


def _told(law: Curling, noted: NotedCurl, dry_activity: float) -> tuple[float, float] | None:
    """Return the logarithm of measured over reckoned curvature, and its spread."""
    row, air, damp = load_table("curl")["noted"], noted.humidity_frac, "humidity"
    if air is None:
        air, damp = load_table("flattening")["home"]["humidity"].value, "humidity_unknown"
    flat = _flat_activity(law, noted, dry_activity)
    reckoned = law.curvature_1_m * float(humidity_strain_frac(law.strains, flat, air))
    lift_m = row["flat_lift"].value if noted.lift_m is None else noted.lift_m
    measured = curvature_of_lift(lift_m, law.arc_m)
    gone = flat - air
    if reckoned <= 0 or gone <= row["flat_activity"].value:
        return None
    own = float(np.hypot(row["lift_log"].value, row["lift"].value / lift_m))
    if noted.lift_m is None:
        if measured >= reckoned:
            return None
        own = row["flat_log"].value
    apart = float(np.hypot(row[damp].value, row["flat_activity"].value)) / gone
    return float(np.log(measured / reckoned)), float(np.hypot(own, apart))


def _flat_activity(law: Curling, noted: NotedCurl, dry_activity: float) -> float:
    """Return the humidity at which a print of a way of drying was last flat. [-]"""
    usual = load_table("flattening")
    if noted.way is not None and WAY[noted.way].metal:
        plate_k = usual["plate"]["temp"].value if noted.plate_k is None else noted.plate_k
        held = law.dried_flat(plate_k, dry_activity, usual["plate"]["hold"].value)
        return float(held[0])
    return float(law.left_free(usual["home"]["temp"].value)[0])
