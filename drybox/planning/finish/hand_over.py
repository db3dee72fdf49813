"""What a print may be enclosed in, and what its weight says of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.errors import InputError
from drybox.inputs.event.paper import Paper
from drybox.physics.air import saturation_pressure_pa
from drybox.physics.sorption import SheetSorption
from drybox.planning.finish.sheet import Curling
from drybox.planning.finish.ways import SEEN_ACTIVITY, DryPrint, FinishWay, uptake_kg_m2
from drybox.planning.scenario.models import sheet_sorption
from drybox.tables import load_table


@dataclass(frozen=True, kw_only=True)
class Enclosure:
    """Whether a print may be put into something, and from when.

    ``enclosed_in`` is ``folder``, ``plastic``, ``mail`` or ``blotters``, these with a note for the
    evening. ``from_at`` is in Unix seconds, None where it may not; then ``why`` is ``too_damp`` or
    ``too_hot``. ``most_activity`` is the dampest that may go in.
    """

    enclosed_in: str
    from_at: float | None
    most_activity: float
    why: str


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """What the scale said of a print: the humidity it is in balance with, and how long to wait.

    ``more_s`` is how long it lies free in today's air until it may go into a folder: 0 where it
    may, None where this air never gets it there. ``doubt_activity`` is what a step of the scale
    is in humidity.
    """

    mass_kg: float
    dry_mass_kg: float
    activity: float
    doubt_activity: float
    ready: bool
    more_s: float | None


DAMPEST = 0.9
"""Humidity above whose balance a print is wet yet, as the most that `pulled` tells (judgement)."""

SCALE_KG = 1e-5
"""Step of a scale that tells anything of a 4x5 (judgement). [kg]"""


def plastic_activity(curling: Curling, hottest: str) -> float:
    """Return the dampest that may go into smooth plastic, by the hottest place it meets. [-]

    By the law alone, with the middle softening; ``hottest`` is an item of table ``flattening`` with
    a temperature.
    """
    table = load_table("flattening")
    margin_k = table["enclose"]["plastic_margin"].value
    stiff_at_k = table[hottest]["temp"].value + margin_k
    free = float(np.median(curling.left_free(stiff_at_k)))
    return min(table["enclose"]["plastic"].value, free)


def enclosures(
    curling: Curling, state: DryPrint, way: FinishWay, *, folder_activity: float, hottest: str
) -> tuple[Enclosure, ...]:
    """Return what a print may go into once a way of flattening is done with it.

    ``curling`` is by the law alone, ``state`` as it was pulled, ``folder_activity`` what counts as
    dry [-], ``hottest`` as in `plastic_activity`.
    """
    row, dry = load_table("flattening")["enclose"], folder_activity

    def into(name: str, most: float, from_at: float | None = way.flat_at.p90) -> Enclosure:
        fits, hot = (way.activity <= limit + SEEN_ACTIVITY for limit in (most, dry))
        return Enclosure(
            enclosed_in=name,
            from_at=from_at if fits else None,
            most_activity=most,
            why="" if fits else "too_hot" if hot and name == "plastic" else "too_damp",
        )

    return (
        into("folder", dry),
        into("plastic", min(plastic_activity(curling, hottest), dry)),
        into("mail", min(row["mail"].value, dry)),
        into("blotters", row["damp"].value, state.pulled_at),
    )


def weigh(paper: Paper, state: DryPrint, *, mass_kg: float, sheet_kg: float) -> Weighed:
    """Return what a print's mass says of it.

    ``state`` has the air it lies in and that of the room at home, with which another sheet of the
    same box and size, of ``sheet_kg``, is in balance. `InputError` if no print of the paper can
    weigh that.
    """
    sorption = sheet_sorption(paper)
    held = 1 + sorption.water_kg_m2(state.home_activity) / paper.dry_mass_kg_m2
    dry_kg = sheet_kg / held
    usual_kg = paper.dry_mass_kg_m2 * paper.area_m2
    if not 0.5 * usual_kg <= dry_kg <= 2 * usual_kg:
        what = f"a sheet of {1e3 * sheet_kg:.2f} g is no {paper.stock}, of which one this size has "
        raise InputError(
            f"{what}about {1e3 * usual_kg * held:.2f} g", "", "give the paper's dry_mass or size"
        )
    water = (mass_kg - dry_kg) / dry_kg * paper.dry_mass_kg_m2
    if water < 0:
        what = f"{1e3 * mass_kg:.2f} g is lighter than the sheet bone-dry, {1e3 * dry_kg:.2f} g"
        raise InputError(what, "", "weigh both on one scale, out of the wind")
    activity = _activity(sorption, water)
    if activity > DAMPEST:
        what = f"{1e3 * mass_kg:.2f} g is damper than in air of {100 * DAMPEST:.0f} % humidity"
        raise InputError(what, "", "let it dry on, and weigh the print alone")
    more_kg_m2 = SCALE_KG / dry_kg * paper.dry_mass_kg_m2
    folder = load_table("flattening")["enclose"]["folder"].value
    return Weighed(
        mass_kg=mass_kg,
        dry_mass_kg=dry_kg,
        activity=activity,
        doubt_activity=_activity(sorption, water + more_kg_m2) - activity,
        ready=activity <= folder,
        more_s=_lying_free_s(paper, state, activity, until=folder),
    )


def _activity(sorption: SheetSorption, water_kg_m2: float) -> float:
    (activity, _), _ = sorption.bound_water(np.array(water_kg_m2))
    return float(activity)


def _lying_free_s(paper: Paper, state: DryPrint, activity: float, *, until: float) -> float | None:
    """Return how long a print lies in the air until it is so dry, None where it never is. [s]

    One resistance, of the air over both faces and half the way through the sheet, and one
    capacity: an exponential towards the air.
    """
    if activity <= until:
        return 0.0
    if state.air_activity >= until:
        return None
    film = load_table("flattening")["air"]["film_resistance"].value / 2
    inside = paper.vapour_resistance_m2_s_pa_kg / np.pi**2
    capacity = uptake_kg_m2(sheet_sorption(paper), min(activity, 0.9))
    tau_s = (film + inside) * capacity / float(saturation_pressure_pa(state.air_k))
    far = (activity - state.air_activity) / (until - state.air_activity)
    return float(tau_s * np.log(far))
