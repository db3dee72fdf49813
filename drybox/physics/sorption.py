"""Water held by a print in balance with air: sorption of paper and gelatin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.errors import InputError
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K
from drybox.physics.lookup import Lookup

REFERENCE_TEMP_K = 298.15
"""Temperature of the isotherms. [K]"""

HEAT_OF_SORPTION_DRY_J_KG = 1.1e6
"""Net heat of sorption as moisture goes to zero, 1.0 to 1.2 MJ/kg from memory. [J/kg]"""

HEAT_OF_SORPTION_SCALE_FRAC = 0.065
"""Moisture over which it falls by e, so that it is below 0.05 MJ/kg at 0.2 (memory). [kg/kg]"""


@dataclass(frozen=True)
class GabIsotherm:
    """Guggenheim-Anderson-de Boer isotherm: monolayer (dry basis) and two constants."""

    monolayer_frac: float
    c: float
    k: float

    def moisture_frac(self, activity: Array | float) -> Array | float:
        """Return equilibrium moisture. [kg/kg dry]

        Parameters
        ----------
        activity : array or float
            Water activity, 0 to 1 (relative humidity of the air in balance). [-]

        Returns
        -------
        array or float
            Moisture, dry basis, same shape. [kg/kg]

        Notes
        -----
        ``M = m C K a / ((1 - K a)(1 - K a + C K a))``. Fitted up to 0.9; above that it is an
        extrapolation, ended at ``a = 1`` where free water begins.

        References
        ----------
        van den Berg, C. and Bruin, S. (1981), in *Water Activity: Influences on Food Quality*.

        Examples
        --------
        Wood-pulp writing paper at 50 % (row M4-writing of ``data/reference/sorption.csv``):

        >>> round(float(GabIsotherm(0.0522, 13.65, 0.721).moisture_frac(0.5)), 4)
        0.0722
        """
        ka = self.k * activity
        return self.monolayer_frac * self.c * ka / ((1 - ka) * (1 - ka + self.c * ka))


def heat_of_sorption_j_kg(moisture_frac: Array | float) -> Array | float:
    """Return the net heat of sorption, above that of free water. [J/kg]

    Parameters
    ----------
    moisture_frac : array or float
        Moisture, dry basis. [kg/kg]

    Returns
    -------
    array or float
        Extra heat to free a kilogram of water. [J/kg]

    Notes
    -----
    ``q = 1.1e6 exp(-X / 0.065)``: from memory for cellulose; hysteresis is left out.
    """
    return HEAT_OF_SORPTION_DRY_J_KG * np.exp(
        -np.asarray(moisture_frac) / HEAT_OF_SORPTION_SCALE_FRAC
    )


class SheetSorption:
    """Water activity of a whole print from the water it holds, by a table made once.

    Parameters
    ----------
    parts : sequence of (isotherm, kg/m²)
        Each sorbing layer with its dry mass per area of sheet; minerals sorb nothing.

    Raises
    ------
    InputError
        If nothing in the sheet sorbs water.

    Notes
    -----
    The net heat of sorption is taken less its value at saturation, so that it ends where free
    water begins and bound water never evaporates more easily than free water.
    """

    _NODES = 4096

    def __init__(self, parts: list[tuple[GabIsotherm, float]]) -> None:
        self.sorbing_kg_m2 = sum(mass for _, mass in parts)
        if self.sorbing_kg_m2 <= 0:
            raise InputError("the sheet has no paper or gelatin that takes up water")
        activity = 1 - np.linspace(1, 0, 2000) ** 1.5  # nodes crowd towards dryness and saturation
        activity = np.union1d(activity, np.linspace(0, 0.05, 400))
        water = np.zeros_like(activity)
        for isotherm, mass in parts:
            water += mass * np.asarray(isotherm.moisture_frac(activity))
        self.saturated_kg_m2 = float(water[-1])
        free = heat_of_sorption_j_kg(self.saturated_kg_m2 / self.sorbing_kg_m2)
        self._at_activity = activity, water
        self.by_water = Lookup(
            0.0,
            self.saturated_kg_m2,
            self.saturated_kg_m2 / self._NODES,
            lambda held: np.interp(held, water, activity),
            lambda held: heat_of_sorption_j_kg(held / self.sorbing_kg_m2) - free,
        )

    def bound_water(self, water_kg_m2: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """Return water activity at 25 °C and net heat of sorption, each with its slope.

        Parameters
        ----------
        water_kg_m2 : array
            Water in the sheet; below zero counts as none. [kg/m²]

        Returns
        -------
        (activity, slope), (heat, slope) : arrays
            Activity 0 to 1, 1 while free water remains; heat 0 then. [-], [m²/kg], [J/kg],
            [J m²/kg²]
        """
        activity, heat = self.by_water.with_slopes(water_kg_m2)
        return activity, heat

    def water_kg_m2(self, activity: float) -> float:
        """Return the water held in balance with an activity at 25 °C. [kg/m²]"""
        return float(np.interp(activity, *self._at_activity))


def activity_temperature_exponent(heat_j_kg: Array | float, temp_k: Array) -> Array:
    """Return the logarithm of the factor by which warmth raises the activity of bound water.

    Parameters
    ----------
    heat_j_kg : array or float
        Net heat of sorption. [J/kg]
    temp_k : array
        Temperature of the sheet. [K]

    Returns
    -------
    array
        Logarithm of the factor on the activity at 25 °C. [-]

    Notes
    -----
    Clausius and Clapeyron: ``q/R_w (1/298.15 - 1/T)``, so that the isotherm and the heat of
    sorption say the same thing.

    Examples
    --------
    >>> round(float(activity_temperature_exponent(np.array(5e5), np.array(323.15))), 3)
    0.281
    """
    warmer = 1 / REFERENCE_TEMP_K - 1 / temp_k
    return np.asarray(heat_j_kg * warmer / GAS_CONSTANT_VAPOUR_J_KG_K)
