"""Evaporation, wet surfaces and drying times against worked examples of the textbooks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from scipy.optimize import brentq

from drybox.physics import air, evaporation, humidity, nusselt, radiation
from tests.reference import Row, rows

ICE_POINT_K = 273.15
MOLAR_GAS_CONSTANT_J_MOL_K = 8.314


def settles_at_c(excess_k: Callable[[float], Any], low_k: float, high_k: float) -> float:
    return brentq(lambda temp_k: float(excess_k(temp_k)), low_k, high_k) - ICE_POINT_K


def agent_surface(
    air_temp_k: float,
    molar_mass_kg_mol: float,
    latent_heat_j_kg: float,
    saturation_pressure_pa: float,
    **ratio_inputs: float,
) -> float:
    ratio = evaporation.heat_mass_ratio_j_m3_k(**ratio_inputs)

    def excess(temp_k: float) -> Any:
        gas = MOLAR_GAS_CONSTANT_J_MOL_K * temp_k
        dense = saturation_pressure_pa * molar_mass_kg_mol / gas
        return (
            temp_k - air_temp_k + evaporation.evaporative_cooling_k(latent_heat_j_kg, dense, ratio)
        )

    return settles_at_c(excess, 250.0, air_temp_k)


def can_surface(
    air_temp_k: float,
    surface_pressure_pa: float,
    air_pressure_pa: float,
    latent_heat_j_kg: float,
    **diffusivities: float,
) -> Any:
    """The book takes both vapours and the air at one temperature."""
    dense = air.moist_air_density_kg_m3(air_temp_k, 0.0, 101325.0)
    ratio = evaporation.heat_mass_ratio_j_m3_k(dense * 1007.0, **diffusivities)
    drive = air.vapour_density_kg_m3(surface_pressure_pa - air_pressure_pa, air_temp_k)
    cooling = evaporation.evaporative_cooling_k(latent_heat_j_kg, drive, ratio)
    return air_temp_k - cooling - ICE_POINT_K


def bath_nusselt(grashof: float, group: float) -> Any:
    return nusselt.hot_up_turbulent_nusselt(grashof * group)


def bath_evaporation(
    mass_transfer_coeff_m_s: float,
    area_m2: float,
    water_temp_k: float,
    air_temp_k: float,
    humidity_frac: float,
) -> Any:
    """The book leaves out the vapour's own flow."""
    wet = air.vapour_density_kg_m3(air.saturation_pressure_pa(water_temp_k), water_temp_k)
    dry = air.vapour_density_kg_m3(air.vapour_pressure_pa(air_temp_k, humidity_frac), air_temp_k)
    return mass_transfer_coeff_m_s * area_m2 * (wet - dry)


def psychrometer(surface_temp_k: float, surface_pressure_pa: float, lewis: float) -> Any:
    """Return vapour density and kelvin of cooling per kg/m³ at a wet bulb in air of 1 atm."""
    dense = air.moist_air_density_kg_m3(surface_temp_k, 0.0, 101325.0)
    ratio = evaporation.heat_mass_ratio_j_m3_k(dense * 1005.0, lewis, 1.0)
    latent = air.latent_heat_j_kg(surface_temp_k)
    wet = air.vapour_density_kg_m3(surface_pressure_pa, surface_temp_k)
    return wet, evaporation.evaporative_cooling_k(latent, 1.0, ratio)


def dry_air_over_wet_bulb(surface_temp_k: float, **bulb: float) -> Any:
    wet, per_density = psychrometer(surface_temp_k, **bulb)
    return surface_temp_k + wet * per_density - ICE_POINT_K


def humidity_of_psychrometer(air_temp_k: float, surface_temp_k: float, **bulb: float) -> Any:
    wet, per_density = psychrometer(surface_temp_k, **bulb)
    vapour = wet - (air_temp_k - surface_temp_k) / per_density
    saturated = air.vapour_density_kg_m3(air.saturation_pressure_pa(air_temp_k), air_temp_k)
    return vapour / saturated


def humidity_of(air_temp_k: float, humidity_ratio: float, pressure_pa: float) -> Any:
    vapour = pressure_pa * humidity_ratio / (0.621945 + humidity_ratio)
    return vapour / air.saturation_pressure_pa(air_temp_k)


def pan_wet_bulb(**pan: float) -> Any:
    return humidity.wet_bulb_k(pan["air_temp_k"], humidity_of(**pan), pan["pressure_pa"])


def pan_rate(heat_transfer_coeff_w_m2_k: float, **pan: float) -> Any:
    wet = pan_wet_bulb(**pan)
    heat = heat_transfer_coeff_w_m2_k * (pan["air_temp_k"] - wet)
    return heat / air.latent_heat_j_kg(wet) * 3600


def heated_pan(
    air_temp_k: float,
    humidity_ratio: float,
    pressure_pa: float,
    heat_transfer_coeff_w_m2_k: float,
    base_w_m2_k: float,
    radiator_temp_k: float,
    emittance: float,
) -> tuple[float, float]:
    """Heat from air, base and radiator evaporates water; the book sets the Lewis number to 1."""
    humid_heat = humidity.moist_air_specific_heat_j_kg_k(humidity_ratio) * (1 + humidity_ratio)

    def rate_kg_m2_s(temp_k: float) -> Any:
        wet = humidity.humidity_ratio(air.saturation_pressure_pa(temp_k), pressure_pa)
        return heat_transfer_coeff_w_m2_k / humid_heat * (wet - humidity_ratio)

    def excess(temp_k: float) -> Any:
        from_air = (heat_transfer_coeff_w_m2_k + base_w_m2_k) * (air_temp_k - temp_k)
        coeff = radiation.radiation_coeff_w_m2_k(radiator_temp_k, temp_k, emittance)
        gained = from_air + coeff * (radiator_temp_k - temp_k)
        return rate_kg_m2_s(temp_k) * air.latent_heat_j_kg(temp_k) - gained

    surface_c = settles_at_c(excess, 290.0, 330.0)
    return surface_c, float(rate_kg_m2_s(surface_c + ICE_POINT_K)) * 3600


QUANTITIES = {
    "heat_mass_ratio_j_m3_k": evaporation.heat_mass_ratio_j_m3_k,
    "agent_surface_temp_c": agent_surface,
    "can_surface_temp_c": can_surface,
    "vapour_diffusivity_m2_s": air.vapour_diffusivity_m2_s,
    "bath_nusselt": bath_nusselt,
    "bath_mass_transfer_m_s": lambda diffusivity_m2_s, length_m, **numbers: (
        bath_nusselt(**numbers) * diffusivity_m2_s / length_m
    ),
    "bath_evaporation_kg_s": bath_evaporation,
    "latent_heat_flow_w": lambda evaporation_kg_s, temp_k: (
        evaporation_kg_s * air.latent_heat_j_kg(temp_k)
    ),
    "dry_air_over_wet_bulb_c": dry_air_over_wet_bulb,
    "humidity_of_psychrometer_frac": humidity_of_psychrometer,
    "wet_bulb_of_ratio_c": lambda **pan: pan_wet_bulb(**pan) - ICE_POINT_K,
    "pan_rate_kg_m2_h": pan_rate,
    "pan_total_kg_h": lambda area_m2, **pan: area_m2 * pan_rate(**pan),
    "heated_pan_surface_temp_c": lambda **pan: heated_pan(**pan)[0],
    "heated_pan_rate_kg_m2_h": lambda **pan: heated_pan(**pan)[1],
}


@pytest.mark.parametrize("row", rows("evaporation"))
def test_published_evaporation(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))


@pytest.mark.parametrize("row", rows("drying_curves"))
def test_published_drying_curve(row: Row) -> None:
    """The rate is in kilograms per hour or per kilosecond, and so then is the time."""
    assert row.quantity.startswith("constant_plus_falling_rate_time_s")
    row.check(evaporation.constant_plus_falling_rate_time_s(**row.inputs))
