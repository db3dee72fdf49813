"""One print laid on or hung: what every run of one needs of paper, limits and forcing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.event import Event
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import DryingRun, run_print
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.scenario.models import PrintDraw, dry_targets, laid_on_water_kg_m2


def lay_print(
    event: Event,
    system: BoxSystem,
    forcing: Forcing,
    *,
    member: Index,
    prints: PrintDraw,
    laid_on_at: Array,
    plate_temp_k: Array,
    horizon_s: float,
    blotter_kg_m2: float = 0.0,
    past_dry: bool = True,
    control: StepControl | None = None,
    record: bool = False,
) -> DryingRun:
    """Return the run of one print per case, (n,), as wet as the event's are and as warm as the air.

    Out of a bath that its gelatin stood: in hotter air it begins no warmer than its limit while
    wet, and what it is kept at is what drying makes of it.

    ``prints`` are those of the system, of one slot; board of ``blotter_kg_m2`` dries with them;
    ``past_dry`` they are followed on to over-dry, and touch dry is told from dry. Resin-coated
    paper neither curls nor turns brittle, and never is over-dry. The rest as in `run.run_print`.
    """
    targets = dry_targets(event.paper, event.limits, blotter_kg_m2)
    run = run_print(
        system,
        forcing,
        member,
        laid_on_at=laid_on_at,
        plate_temp_k=plate_temp_k,
        sheet_temp_k=np.minimum(forcing.at(member, laid_on_at).air_temp_k, event.limits.wet_most_k),
        water_kg_m2=np.broadcast_to(laid_on_water_kg_m2(event.paper, prints), laid_on_at.shape),
        dry_kg_m2=targets.dry_kg_m2,
        over_dry_kg_m2=targets.over_dry_kg_m2 if past_dry else targets.dry_kg_m2,
        horizon_s=horizon_s,
        touch_dry_kg_m2=targets.touch_dry_kg_m2 if past_dry else None,
        limit_k=event.limits.print_limit_k,
        control=control,
        record=record,
    )
    if not event.paper.resin_coated:
        return run
    return replace(run, over_dry_after_s=np.full_like(run.over_dry_after_s, np.inf))


def is_too_hot(over_limit_k: Array) -> Flags:
    """Return whether the median of the draws (last axis) is kept over its limit for a minute."""
    return np.asarray(np.median(over_limit_k, axis=-1) > 0.0)
