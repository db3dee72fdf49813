"""What keeps a print on the sun plate cooler, in the order in which it is offered, and its cost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from drybox.inputs.event.event import Event
from drybox.planning.one_print.ways import Cure, WayResult
from drybox.tables import load_table

COOLER_PLATE_S = 600.0
"""A box set out, or uncovered, only so long before the print has not settled. [s]"""


WORTH_K = 1.0
"""By so much a cure is cooler than none, and off the sun than a lighter aim, to be worth a word
(judgement). [K]"""


class Trial(NamedTuple):
    """What to try: an event, a hold and a setting out, None for those that were asked for."""

    cure: str
    event: Event
    hold_k: float | None = None
    out_at: float | None = None


Lay = Callable[[Sequence[Trial]], Sequence[tuple[Trial, WayResult]]]
"""Lays the print on for the first trial of each cure for which there is an aim."""


def cures(event: Event, found: WayResult, lay: Lay, *, laid_on_at: float) -> tuple[Cure, ...]:
    """Return what keeps the print cooler, each worked out for this event and laying-on.

    A cooler plate first, a cloth, a lighter aim, off the sun last; without those that bring the
    print ``found`` without a cure hardly lower and not below its limit, nor off the sun where that
    is hardly cooler than the lighter aim. ``lay`` runs the same print once more.
    """
    limits, plate_k = event.limits, found.plate_temp_max_k or 0.0
    if not found.too_hot and found.print_temp_kept_k <= limits.wet_careful_k:
        return ()
    trials = [Trial("cooler plate", event, out_at=laid_on_at - COOLER_PLATE_S)]
    clothed = over_a_cloth(event)
    if clothed is not None:
        trials.append(Trial("cloth under the print", clothed))
    aimed = event if event.box.aim_mode != "fixed" else turned_with_the_sun(event)
    trials += [
        Trial("lighter aim", aimed, 0.5 * (plate_k + limits.wet_careful_k)),
        Trial("off the sun", aimed, limits.wet_careful_k),
        Trial("off the sun", aimed, limits.wet_most_k),
    ]
    tried = lay(trials)
    lighter_k = min(
        (laid.print_temp_kept_k for trial, laid in tried if trial.cure == "lighter aim"),
        default=np.inf,
    )
    return tuple(
        Cure(
            cure=trial.cure,
            duration_s=laid.duration_s,
            print_temp_kept_k=laid.print_temp_kept_k,
            feasible=not laid.too_hot,
            hold_k=trial.hold_k,
        )
        for trial, laid in tried
        if (
            laid.print_temp_kept_k < found.print_temp_kept_k - WORTH_K
            or (found.too_hot and not laid.too_hot)
        )
        and (trial.cure != "off the sun" or laid.print_temp_kept_k < lighter_k - WORTH_K)
    )


def turned_with_the_sun(event: Event) -> Event:
    """Return the event with no aim of its own: the box is turned."""
    box = replace(event.box, aim_mode="turns", aim_bearing_deg=None, aim_tilt_deg=None)
    return replace(event, box=box)


def over_a_cloth(event: Event) -> Event | None:
    """Return the event with a cloth under its prints, or None where there is one already."""
    if event.paper.cloth_w_m2_k is not None:
        return None
    cloth = load_table("contact")["cloth"]["conductance"].value
    return replace(event, paper=replace(event.paper, cloth_w_m2_k=cloth))
