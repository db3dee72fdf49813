"""What keeps a print on the sun plate cooler, in the order in which it is offered, and its cost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from drybox.inputs.event.event import Event
from drybox.planning.one_print.ways import Cure, WayResult
from drybox.tables import load_table

COOLER_PLATE_S = 600.0
"""A box set out, or uncovered, only so long before the print has not settled. [s]"""

Lay = Callable[[Event, float | None, float | None], WayResult | None]
"""Lays the print on under an event, a hold and a setting out, None for those that were asked for;
gives None where no aim can be held."""


def cures(event: Event, found: WayResult, lay: Lay, laid_on_s: float) -> tuple[Cure, ...]:
    """Return what keeps the print cooler, each worked out for this event and laying-on.

    A cooler plate first, a cloth, a lighter aim, off the sun last; without those that bring the
    print ``found`` without a cure no lower. ``lay`` runs the same print once more.
    """
    if not found.too_hot and found.print_temp_kept_k <= event.limits.wet_careful_k:
        return ()
    tried = _tried(event, found, lay, laid_on_s)
    return tuple(cure for cure in tried if cure.print_temp_kept_k < found.print_temp_kept_k - 0.1)


def _tried(event: Event, found: WayResult, lay: Lay, laid_on_s: float) -> Iterator[Cure]:
    cooler = lay(event, None, laid_on_s - COOLER_PLATE_S)
    if cooler is not None:
        yield _cure("cooler plate", cooler)
    clothed = over_a_cloth(event)
    laid = None if clothed is None else lay(clothed, None, None)
    if laid is not None:
        yield _cure("cloth under the print", laid)
    limits, plate_k = event.limits, found.plate_temp_max_k or 0.0
    between_k = 0.5 * (plate_k + limits.wet_careful_k)
    turned = replace(
        event, box=replace(event.box, aim_mode="turns", aim_bearing_deg=None, aim_tilt_deg=None)
    )
    aimed = event if event.box.aim_mode != "fixed" else turned
    for name, holds_k in (
        ("lighter aim", (between_k,)),
        ("off the sun", (limits.wet_careful_k, limits.wet_most_k)),
    ):
        for hold_k in holds_k:
            held = lay(aimed, hold_k, None)
            if held is not None:
                yield replace(_cure(name, held), hold_k=hold_k)
                break


def _cure(name: str, found: WayResult) -> Cure:
    return Cure(
        cure=name,
        duration_s=found.duration_s,
        print_temp_kept_k=found.print_temp_kept_k,
        feasible=not found.too_hot,
    )


def over_a_cloth(event: Event) -> Event | None:
    """Return the event with a cloth under its prints, or None where there is one already."""
    if event.paper.cloth_w_m2_k is not None:
        return None
    cloth = load_table("contact")["cloth"]["conductance"].value
    return replace(event, paper=replace(event.paper, cloth_w_m2_k=cloth))
