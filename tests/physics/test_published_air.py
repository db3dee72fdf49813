"""Moist air against ASHRAE, IAPWS, FAO and textbook values."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.physics import air
from tests.reference import Row, rows


def volume(temp_k: float, ratio: float, pressure_pa: float) -> float:
    return (1 + ratio) / density(temp_k, ratio, pressure_pa)


def density(temp_k: float, ratio: float, pressure_pa: float) -> float:
    vapour = vapour_of_ratio(ratio, pressure_pa)
    return float(air.moist_air_density_kg_m3(temp_k, vapour, pressure_pa))


def vapour_of_ratio(ratio: float, pressure_pa: float) -> float:
    return pressure_pa * ratio / (0.621945 + ratio)


def mean_pressure(temp_k: list[float], humidity_frac: list[float]) -> float:
    return float(np.mean(air.vapour_pressure_pa(np.array(temp_k), np.array(humidity_frac))))


QUANTITIES = {
    "saturation_pressure_pa": air.saturation_pressure_pa,
    "latent_heat_j_kg": air.latent_heat_j_kg,
    "standard_atmosphere_pressure_pa": air.standard_atmosphere_pressure_pa,
    "vapour_pressure_pa": air.vapour_pressure_pa,
    "vapour_diffusivity_m2_s": air.vapour_diffusivity_m2_s,
    "moist_air_volume_m3_kg": volume,
    "moist_air_density_of_ratio_kg_m3": density,
    "mean_vapour_pressure_pa": mean_pressure,
    "mean_vapour_deficit_pa": lambda temp_k, humidity_frac: (
        mean_pressure(temp_k, [1.0] * len(temp_k)) - mean_pressure(temp_k, humidity_frac)
    ),
    "humidity_of_ratio_frac": lambda temp_k, ratio, pressure_pa: (
        vapour_of_ratio(ratio, pressure_pa) / air.saturation_pressure_pa(temp_k)
    ),
}


@pytest.mark.parametrize("row", rows("air"))
def test_published_air(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
