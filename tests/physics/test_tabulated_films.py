"""The simulation's tabulated film says what the published formula says."""

import numpy as np
import pytest

from drybox.physics.air_film import vapour_coeff_kg_m2_s_pa
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K
from drybox.physics.evaporation import mass_transfer_coeff_m_s


@pytest.mark.parametrize("pressure_pa", [60_000.0, 85_000.0, 101_325.0])
def test_vapour_leaves_by_the_analogy_that_the_published_rows_hold(pressure_pa: float) -> None:
    temp_k = np.linspace(265.0, 360.0, 60)
    vapour_pa = np.linspace(100.0, 12_000.0, 60)
    speed = mass_transfer_coeff_m_s(10.0, temp_k, vapour_pa, pressure_pa)
    wanted = speed / (GAS_CONSTANT_VAPOUR_J_KG_K * temp_k)
    found = vapour_coeff_kg_m2_s_pa(10.0, temp_k, vapour_pa, pressure_pa)
    assert found == pytest.approx(wanted, rel=1e-6)
