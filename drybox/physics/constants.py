"""Constants of nature and of air and water, each with its source; and the type of a quantity."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = float | NDArray[np.float64]
"""One number or an array of them; every formula takes either and broadcasts."""

GRAVITY_M_S2 = 9.80665
"""Standard gravity. BIPM, The International System of Units."""

STEFAN_BOLTZMANN_W_M2_K4 = 5.670374419e-8
"""CODATA 2018."""

STANDARD_PRESSURE_PA = 101325.0
"""Standard atmosphere at sea level. ICAO Doc 7488."""

GAS_CONSTANT_DRY_AIR_J_KG_K = 287.042
"""ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 1."""

GAS_CONSTANT_VAPOUR_J_KG_K = 461.524
"""ASHRAE Handbook of Fundamentals (2017), ch. 1, eq. 2."""

DRY_AIR_SPECIFIC_HEAT_J_KG_K = 1006.0
"""At constant pressure, 0 to 100 °C. ASHRAE (2017), ch. 1, eq. 30."""

VAPOUR_SPECIFIC_HEAT_J_KG_K = 1860.0
"""At constant pressure, 0 to 100 °C. ASHRAE (2017), ch. 1, eq. 30."""

WATER_SPECIFIC_HEAT_J_KG_K = 4186.0
"""Liquid water. ASHRAE (2017), ch. 1, eq. 33."""

TRIPLE_POINT_K = 273.16
"""Triple point of water. IAPWS."""
