"""A print's gelatin and paper as the curl sees them, over members drawn from what is not known."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from drybox.arrays import Array
from drybox.inputs.event.paper import Paper
from drybox.physics.curl import (
    Strains,
    bilayer_curvature,
    edge_lift_m,
    gelatin_thickness_m,
    humidity_strain_frac,
    softening_activity,
    softening_temp_k,
)
from drybox.physics.flattening import HeldStep, SetLaw, flat_activity_after
from drybox.physics.sorption import GabIsotherm
from drybox.planning.scenario.models import isotherm
from drybox.tables import load_table

MIDDLE_ACTIVITY = 0.5
"""Humidity at which the gelatin's thickness is taken. [-]"""

DRYING_STEPS = 20


@dataclass(frozen=True, eq=False)
class Curling:
    """One paper's curl: the law's own figures, and what differs from member to member.

    ``curvature_1_m`` is that for a strain of one, by the law; ``factor`` is (members,) on it.
    ``arc_m`` is the longer side, taken across the grain.
    """

    gelatin: GabIsotherm
    strains: Strains
    arc_m: float
    curvature_1_m: float
    factor: Array
    dry_k: float
    plasticiser: Array | float
    law: SetLaw

    def softening_k(self, activity: ArrayLike) -> Array:
        """Return the temperature at which the gelatin softens in balance with a humidity. [K]"""
        moisture = self.gelatin.moisture_frac(np.asarray(activity, dtype=float))
        return softening_temp_k(moisture, self.dry_k, self.plasticiser)

    def left_free(self, temp_k: ArrayLike) -> Array:
        """Return the humidity at which a sheet left free at a temperature is flat. [-]"""
        free = softening_activity(self.gelatin, temp_k, self.dry_k, self.plasticiser)
        return np.broadcast_to(free, self.factor.shape)

    def held(self, steps: list[HeldStep], flat_activity: Array) -> Array:
        """Return the humidity at which it is flat after it was held flat for some steps. [-]"""
        softening = [
            self.softening_k((np.asarray(step.begin_activity) + np.asarray(step.end_activity)) / 2)
            for step in steps
        ]
        return flat_activity_after(self.law, softening, steps, flat_activity)

    def dried_flat(self, temp_k: float, activity: float, hold_s: float) -> Array:
        """Return the humidity at which it is flat, held flat while its last water left it. [-]

        ``activity`` is that in balance with which it was pulled; ``hold_s`` how long it lies from
        damp to 0.55, which sets the pace.
        """
        begins = load_table("flattening")["plate"]["begins"].value
        if activity >= begins:
            return np.full_like(self.factor, activity)
        pace_s = hold_s / (begins - 0.55)
        edges = np.linspace(begins, activity, DRYING_STEPS + 1)
        each_s = pace_s * (begins - activity) / DRYING_STEPS
        steps = [
            HeldStep(
                duration_s=each_s,
                temp_k=temp_k,
                begin_activity=float(first),
                end_activity=float(last),
            )
            for first, last in itertools.pairwise(edges)
        ]
        return self.held(steps, np.full_like(self.factor, begins))

    def lift_m(self, flat_activity: ArrayLike, activity: ArrayLike) -> Array:
        """Return how high its edges stand in air of a humidity; inward is positive. [m]"""
        strain = humidity_strain_frac(self.strains, flat_activity, activity)
        return edge_lift_m(self.factor * self.curvature_1_m * strain, self.arc_m)


def curling_law(paper: Paper) -> Curling:
    """Return the curl of a paper by the law alone, one member, nothing drawn."""
    table = load_table("curl")
    gelatin, base, held = table["gelatin"], table["paper"], table["set"]
    water = isotherm("gelatin")
    moisture = float(water.moisture_frac(MIDDLE_ACTIVITY))
    layer_m = float(gelatin_thickness_m(paper.gelatin_kg_m2, moisture, gelatin["density"].value))
    ratio = gelatin["modulus"].value / base["modulus"].value
    return Curling(
        gelatin=water,
        strains=Strains(
            gelatin_damp=gelatin["strain_damp"].value,
            gelatin_dry=gelatin["strain_dry"].value,
            bend_activity=gelatin["bend_at"].value,
            paper=base["strain"].value,
        ),
        arc_m=max(paper.width_m, paper.height_m),
        curvature_1_m=float(bilayer_curvature(1.0, layer_m, paper.thickness_m - layer_m, ratio))
        if paper.gelatin_kg_m2
        else 0.0,
        factor=np.ones(1),
        dry_k=gelatin["dry_softening"].value,
        plasticiser=gelatin["plasticiser"].value,
        law=SetLaw(
            at_softening_s=held["at_softening"].value,
            decade_k=held["decade"].value,
            exponent=held["exponent"].value,
        ),
    )


def drawn_curling(
    paper: Paper, members: int, seed: int, *, factor_log: tuple[float, float] | None = None
) -> Curling:
    """Return the curl of a paper over members.

    ``factor_log`` is mean and standard deviation of the logarithm of the factor on the law, as
    notes taught them; None takes those of table ``curl``.
    """
    law, spread = curling_law(paper), load_table("curl")["spread"]
    mean, deviation = factor_log or usual_factor_log()
    draws = np.random.default_rng(seed).standard_normal((3, members))
    decade_k = law.law.decade_k * np.exp(spread["decade_log"].value * draws[2])
    return replace(
        law,
        factor=np.exp(mean + deviation * draws[0]),
        plasticiser=law.plasticiser * np.exp(spread["plasticiser_log"].value * draws[1]),
        law=replace(law.law, decade_k=decade_k),
    )


def usual_factor_log() -> tuple[float, float]:
    """Return mean and standard deviation of the logarithm of the factor before any note."""
    spread = load_table("curl")["spread"]
    return float(np.log(spread["slope_centre"].value)), spread["slope_log"].value
