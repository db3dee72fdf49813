"""Moist air against ASHRAE, IAPWS, FAO and textbook values."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from drybox.physics import air, humidity
from tests.reference import Row, rows


def of_wet_bulb(temp_k: float, wet_bulb_temp_k: float, pressure_pa: float) -> tuple[float, float]:
    ratio = humidity.humidity_ratio_from_wet_bulb(temp_k, wet_bulb_temp_k, pressure_pa)
    return float(ratio), float(pressure_pa * ratio / (0.621945 + ratio))


def saturated_ratio(temp_k: float, pressure_pa: float) -> Any:
    return humidity.humidity_ratio(air.saturation_pressure_pa(temp_k), pressure_pa)


def volume(temp_k: float, ratio: float, pressure_pa: float) -> float:
    return (1 + ratio) / density(temp_k, ratio, pressure_pa)


def density(temp_k: float, ratio: float, pressure_pa: float) -> float:
    vapour = pressure_pa * ratio / (0.621945 + ratio)
    return float(air.moist_air_density_kg_m3(temp_k, vapour, pressure_pa))


def mean_pressure(temp_k: list[float], humidity_frac: list[float]) -> float:
    return float(np.mean(air.vapour_pressure_pa(np.array(temp_k), np.array(humidity_frac))))


QUANTITIES = {
    "saturation_pressure_pa": air.saturation_pressure_pa,
    "latent_heat_j_kg": air.latent_heat_j_kg,
    "standard_atmosphere_pressure_pa": air.standard_atmosphere_pressure_pa,
    "vapour_pressure_pa": air.vapour_pressure_pa,
    "humidity_ratio": humidity.humidity_ratio,
    "moist_air_enthalpy_j_kg": humidity.moist_air_enthalpy_j_kg,
    "vapour_diffusivity_m2_s": air.vapour_diffusivity_m2_s,
    "wet_bulb_k": humidity.wet_bulb_k,
    "humidity_ratio_from_wet_bulb": humidity.humidity_ratio_from_wet_bulb,
    "saturated_humidity_ratio": saturated_ratio,
    "moist_air_volume_m3_kg": volume,
    "moist_air_density_of_ratio_kg_m3": density,
    "mean_vapour_pressure_pa": mean_pressure,
    "mean_vapour_deficit_pa": lambda temp_k, humidity_frac: (
        mean_pressure(temp_k, [1.0] * len(temp_k)) - mean_pressure(temp_k, humidity_frac)
    ),
    "vapour_pressure_from_wet_bulb_pa": lambda **inputs: of_wet_bulb(**inputs)[1],
    "dew_point_from_wet_bulb_k": lambda **inputs: air.dew_point_k(of_wet_bulb(**inputs)[1]),
    "humidity_from_wet_bulb_frac": lambda **inputs: (
        of_wet_bulb(**inputs)[1] / air.saturation_pressure_pa(inputs["temp_k"])
    ),
    "enthalpy_from_wet_bulb_j_kg": lambda **inputs: humidity.moist_air_enthalpy_j_kg(
        inputs["temp_k"], of_wet_bulb(**inputs)[0]
    ),
    "volume_from_wet_bulb_m3_kg": lambda **inputs: volume(
        inputs["temp_k"], of_wet_bulb(**inputs)[0], inputs["pressure_pa"]
    ),
}


@pytest.mark.parametrize("row", rows("air"))
def test_published_air(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
