"""How a print is made flat: what sets while it is held, what blotters take up, what weight does.

The set law is judgement (its form is that of glassy polymers, its constants chosen so that two
weeks under cold weight come out as workers accept); stack balance, pressures and cooling are not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drybox.arrays import Array
from drybox.physics.sorption import SheetSorption


@dataclass(frozen=True, eq=False)
class SetLaw:
    """How fast gelatin held flat forgets its stress: numbers, or arrays over members.

    ``at_softening_s`` is the time constant at the softening temperature, which falls to a tenth
    for each ``decade_k`` above it; ``exponent`` stretches the approach.
    """

    at_softening_s: float
    decade_k: Array | float
    exponent: float

    def time_constant_s(self, softening_k: ArrayLike, temp_k: ArrayLike) -> Array:
        """Return the time constant of gelatin that softens at one temperature, at another. [s]

        Examples
        --------
        >>> SetLaw(100.0, 8.0, 0.4).time_constant_s([318.15, 326.15], 318.15)
        array([ 100., 1000.])
        """
        short = np.asarray(softening_k, dtype=float) - np.asarray(temp_k, dtype=float)
        return np.asarray(self.at_softening_s * 10.0 ** np.clip(short / self.decade_k, -15.0, 15.0))

    def forgotten_frac(self, reduced_ratio: ArrayLike) -> Array:
        """Return the share forgotten after a time over its time constant. [-]

        ``f = 1 - exp(-(t / tau)^p)``: none at once, all in the end.

        Examples
        --------
        >>> SetLaw(100.0, 8.0, 0.4).forgotten_frac([0.0, 1.0]).round(3)
        array([0.   , 0.632])
        """
        return np.asarray(1 - np.exp(-(np.asarray(reduced_ratio, dtype=float) ** self.exponent)))


@dataclass(frozen=True, eq=False)
class HeldStep:
    """A stretch of being held flat: how long, how warm, from one humidity to another."""

    duration_s: Array | float
    temp_k: Array | float
    begin_activity: Array | float
    end_activity: Array | float


def flat_activity_after(
    law: SetLaw, softening_k: Sequence[ArrayLike], steps: Sequence[HeldStep], flat_activity: Array
) -> Array:
    """Return the humidity at which a print is flat and free of stress once it was held. [-]

    Parameters
    ----------
    law : SetLaw
        How fast stress is forgotten.
    softening_k : sequence of array_like
        Softening temperature of the gelatin in each step. [K]
    steps : sequence of HeldStep
        In their order; humidity moves evenly through each.
    flat_activity : array
        That at which it was flat before. [-]

    Returns
    -------
    array
        ``a_end - sum da exp(-(xi_end - xi)^p)`` with ``xi`` the time over its time constant since
        the start: each change of humidity is forgotten by how long and how warm it was held
        after it; the first is how far it was from flat. [-]

    Examples
    --------
    Ten minutes at 45 °C and 0.60 from 0.75 (row FF2 of ``data/reference/finishing.csv``), of
    gelatin that softens at 53 °C there:

    >>> ten = HeldStep(600.0, 318.15, 0.6, 0.6)
    >>> law, flat = SetLaw(100.0, 8.0, 0.4), np.array(0.75)
    >>> round(float(flat_activity_after(law, [325.73], [ten], flat)), 3)
    0.664
    """
    lasted = [
        step.duration_s / law.time_constant_s(soft, step.temp_k)
        for step, soft in zip(steps, softening_k, strict=True)
    ]
    left = np.cumsum(np.array(np.broadcast_arrays(*lasted))[::-1], axis=0)[::-1]
    first, last = steps[0], steps[-1]
    kept = (first.begin_activity - flat_activity) * (1 - law.forgotten_frac(left[0]))
    for step, whole, own in zip(steps, left, lasted, strict=True):
        change = np.asarray(step.end_activity) - np.asarray(step.begin_activity)
        kept = kept + change * (1 - law.forgotten_frac(whole - own / 2))
    return np.asarray(last.end_activity - kept)


def stack_activity(
    sheet: SheetSorption, blotter: SheetSorption, sheet_activity: float, blotter_activity: float
) -> float:
    """Return the humidity that a print and its blotters settle at. [-]

    Parameters
    ----------
    sheet, blotter : SheetSorption
        The print, and the blotting board that it has to itself.
    sheet_activity, blotter_activity : float
        That each is in balance with by itself. [-]

    Returns
    -------
    float
        Where they hold together the water that they held apart, found by halving. [-]

    Examples
    --------
    One blotter of 250 g/m², at 0.50, to a double-weight print pulled at 0.65 (row FF3 of
    ``data/reference/finishing.csv``):

    >>> from drybox.physics.sorption import GabIsotherm
    >>> fibre = GabIsotherm(0.0522, 13.65, 0.721)
    >>> sheet = SheetSorption([(fibre, 0.243), (GabIsotherm(0.0905, 27.2, 0.859), 0.008)])
    >>> round(stack_activity(sheet, SheetSorption([(fibre, 0.25)]), 0.65, 0.50), 2)
    0.58
    """
    held = sheet.water_kg_m2(sheet_activity) + blotter.water_kg_m2(blotter_activity)
    low, high = sorted((sheet_activity, blotter_activity))
    for _ in range(50):
        middle = (low + high) / 2
        if sheet.water_kg_m2(middle) + blotter.water_kg_m2(middle) < held:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def stack_time_constant_s(
    resistance_m2_s_pa_kg: float, print_kg_m2_pa: float, blotter_kg_m2_pa: float
) -> float:
    """Return how fast print and blotters come to balance. [s]

    Parameters
    ----------
    resistance_m2_s_pa_kg : float
        Between the two. [m² s Pa/kg]
    print_kg_m2_pa, blotter_kg_m2_pa : float
        Water that each takes up for a pascal of vapour pressure. [kg/(m² Pa)]

    Notes
    -----
    ``tau = R C1 C2 / (C1 + C2)``, as of two capacitors through a resistor.

    Examples
    --------
    >>> round(stack_time_constant_s(5e7, 1e-5, 1e-5))
    250
    """
    both = print_kg_m2_pa * blotter_kg_m2_pa / (print_kg_m2_pa + blotter_kg_m2_pa)
    return resistance_m2_s_pa_kg * both


def rigidity_n_m(modulus_pa: float, thickness_m: float) -> float:
    """Return the bending stiffness of a sheet, for each metre of width. [N m]

    ``D = E h³ / 12``.

    Examples
    --------
    >>> round(rigidity_n_m(3.5e9, 0.26e-3), 5)
    0.00513
    """
    return modulus_pa * thickness_m**3 / 12


def cockle_pressure_pa(rigidity_n_m: float, amplitude_m: float, wave_m: float) -> float:
    """Return the pressure that presses out waves of a sheet. [Pa]

    Parameters
    ----------
    rigidity_n_m : float
        Bending stiffness. [N m]
    amplitude_m, wave_m : float
        Half the height of a wave, and its length. [m]

    Notes
    -----
    ``p = D A (2 pi / l)^4``: plate bent into a sine.

    Examples
    --------
    >>> round(cockle_pressure_pa(5.13e-3, 1e-3, 0.05))
    1279
    """
    return rigidity_n_m * amplitude_m * (2 * np.pi / wave_m) ** 4


def cooling_time_constant_s(heat_j_m2_k: float, loss_w_m2_k: float) -> float:
    """Return how fast what was warmed cools, ``C / h``, both of one face. [s]

    Examples
    --------
    A bare double-weight sheet (372 J/m²K) from both faces; 6 mm of fibreboard from one:

    >>> cooling_time_constant_s(372, 24), round(cooling_time_constant_s(6e-3 * 900 * 1700, 10) / 60)
    (15.5, 15)
    """
    return heat_j_m2_k / loss_w_m2_k
