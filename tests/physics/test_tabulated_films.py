"""The simulation's tabulated film says what Chilton and Colburn's formula says."""

import numpy as np
import pytest

from drybox.physics import air
from drybox.physics.air_film import vapour_coeff_kg_m2_s_pa
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K


@pytest.mark.parametrize("pressure_pa", [60_000.0, 85_000.0, 101_325.0])
def test_vapour_leaves_by_the_analogy_of_heat_and_mass(pressure_pa: float) -> None:
    temp_k = np.linspace(265.0, 360.0, 60)
    vapour_pa = np.linspace(100.0, 12_000.0, 60)
    ratio = 0.621945 * vapour_pa / (pressure_pa - vapour_pa)
    density = air.moist_air_density_kg_m3(temp_k, vapour_pa, pressure_pa)
    heat_j_m3_k = density * (1006.0 + 1860.0 * ratio) / (1.0 + ratio)
    thermal_m2_s = air.air_conductivity_w_m_k(temp_k) / heat_j_m3_k
    lewis = thermal_m2_s / air.vapour_diffusivity_m2_s(temp_k, pressure_pa)
    speed_m_s = 10.0 / (heat_j_m3_k * lewis ** (2.0 / 3.0))
    wanted = speed_m_s / (GAS_CONSTANT_VAPOUR_J_KG_K * temp_k)
    found = vapour_coeff_kg_m2_s_pa(10.0, temp_k, vapour_pa, pressure_pa)
    assert found == pytest.approx(wanted, rel=1e-6)
    given = vapour_coeff_kg_m2_s_pa(10.0, temp_k, vapour_pa, pressure_pa, lewis_factor=0.9)
    assert given * GAS_CONSTANT_VAPOUR_J_KG_K * temp_k == pytest.approx(10.0 / (heat_j_m3_k * 0.9))
