"""Longwave radiation against published formulas and worked examples."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from drybox.physics import radiation
from tests.reference import Row, rows


def net_radiation(
    direct_w_m2: float,
    incidence_rad: float,
    diffuse_w_m2: float,
    absorptance: float,
    surface_temp_k: float,
    sky_k: float,
    emittance: float,
) -> Any:
    sun = absorptance * (direct_w_m2 * np.cos(incidence_rad) + diffuse_w_m2)
    return sun - radiation.longwave_loss_w_m2(surface_temp_k, sky_k, sky_k, emittance, 0.0)


def absorber_heat(
    irradiance_w_m2: float, air_temp_k: float, convection_factor: float, **surface: float
) -> Any:
    gained = net_radiation(irradiance_w_m2, 0.0, 0.0, **surface)
    return gained - convection_factor * (surface["surface_temp_k"] - air_temp_k) ** (4 / 3)


QUANTITIES = {
    "swinbank_sky_temp_k": radiation.swinbank_sky_temp_k,
    "sky_temp_k": radiation.sky_temp_k,
    "clear_sky_emissivity": radiation.clear_sky_emissivity,
    "cloudy_sky_emissivity": radiation.cloudy_sky_emissivity,
    "parallel_plate_radiation_coeff_w_m2_k": radiation.parallel_plate_radiation_coeff_w_m2_k,
    "radiation_coeff_w_m2_k": radiation.radiation_coeff_w_m2_k,
    "longwave_loss_of_area_w": lambda area_m2, **surface: (
        area_m2 * radiation.longwave_loss_w_m2(**surface)
    ),
    "net_radiation_w_m2": net_radiation,
    "absorber_heat_w_m2": absorber_heat,
}


@pytest.mark.parametrize("row", rows("radiation"))
def test_published_radiation(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
