"""Moist air against two independent libraries, over the whole range the planner meets."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.physics import air, air_film, evaporation, humidity

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    psychrolib = pytest.importorskip("psychrolib")
    CoolProp = pytest.importorskip("CoolProp.CoolProp")

psychrolib.SetUnitSystem(psychrolib.SI)

ICE_POINT_K = 273.15
CELSIUS = np.arange(-20.0, 61.0, 2.5)
WARM_CELSIUS = np.arange(1.0, 101.0)
HUMIDITY = np.array([0.05, 0.2, 0.4, 0.6, 0.8, 1.0])
PRESSURES_PA = (101325.0, 80000.0)


def swept(oracle: Callable[..., float], *axes: np.ndarray) -> np.ndarray:
    """Call a scalar oracle on broadcast arrays."""
    broadcast = np.broadcast_arrays(*axes)
    flat = [
        oracle(*(float(each) for each in point))
        for point in zip(*map(np.ravel, broadcast), strict=True)
    ]
    return np.array(flat).reshape(broadcast[0].shape)


def water(output: str, temp_k: float, quality: int) -> float:
    return float(CoolProp.PropsSI(output, "T", temp_k, "Q", quality, "Water"))


def worst(ours: Any, theirs: np.ndarray) -> float:
    return float(np.max(np.abs(ours / theirs - 1)))


def test_saturation_pressure_against_both() -> None:
    celsius = np.arange(-40.0, 121.0)
    ashrae = swept(psychrolib.GetSatVapPres, celsius)  # Hyland and Wexler over water too
    assert worst(air.saturation_pressure_pa(celsius + ICE_POINT_K), ashrae) < 2.5e-4
    kelvin = np.arange(274.0, 474.0)
    iapws = swept(lambda temp_k: water("P", temp_k, 1), kelvin)
    assert worst(air.saturation_pressure_pa(kelvin), iapws) < 1e-4


def test_latent_heat_against_iapws_to_150_c() -> None:
    kelvin = np.arange(273.2, 423.2, 0.5)
    theirs = swept(lambda temp_k: water("H", temp_k, 1) - water("H", temp_k, 0), kelvin)
    assert worst(air.latent_heat_j_kg(kelvin), theirs) < 1e-4


def test_ideal_vapour_is_at_most_0_7_percent_light_at_saturation_to_60_c() -> None:
    kelvin = np.arange(274.0, 334.0)
    theirs = swept(lambda temp_k: water("D", temp_k, 1), kelvin)
    ours = air.vapour_density_kg_m3(air.saturation_pressure_pa(kelvin), kelvin)
    assert worst(ours, theirs) < 7e-3
    assert np.all(ours < theirs)


@pytest.mark.parametrize("pressure_pa", PRESSURES_PA)
def test_wet_bulb_against_psychrolib(pressure_pa: float) -> None:
    celsius, shares = CELSIUS[:, None], HUMIDITY[None, :]
    theirs = swept(psychrolib.GetTWetBulbFromRelHum, celsius, shares, np.array(pressure_pa))
    ours = humidity.wet_bulb_k(celsius + ICE_POINT_K, shares, pressure_pa) - ICE_POINT_K
    # At 0 °C the library may take either side, water or ice: 0.35 K apart at most.
    certain = np.abs(theirs) > 0.5
    assert np.max(np.abs(ours - theirs)[certain]) < 0.005


def test_wet_bulb_against_the_real_mixture() -> None:
    celsius, shares = np.arange(5.0, 61.0, 5.0)[:, None], HUMIDITY[None, :]
    theirs = swept(
        lambda temp, share: CoolProp.HAPropsSI(
            "B", "T", temp + ICE_POINT_K, "R", share, "P", 101325
        ),
        celsius,
        shares,
    )
    ours = humidity.wet_bulb_k(celsius + ICE_POINT_K, shares, 101325.0)
    assert np.max(np.abs(ours - theirs)) < 0.05


def test_dew_point_against_psychrolib() -> None:
    celsius, shares = CELSIUS[:, None], HUMIDITY[None, :]
    theirs = swept(psychrolib.GetTDewPointFromRelHum, celsius, shares)
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    assert np.max(np.abs(air.dew_point_k(vapour) - ICE_POINT_K - theirs)) < 0.005


@pytest.mark.parametrize("pressure_pa", PRESSURES_PA)
def test_density_and_enthalpy_against_psychrolib(pressure_pa: float) -> None:
    celsius, shares = CELSIUS[:, None], HUMIDITY[None, :]
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    ratio = humidity.humidity_ratio(vapour, pressure_pa)
    densities = swept(psychrolib.GetMoistAirDensity, celsius, ratio, np.array(pressure_pa))
    ours = air.moist_air_density_kg_m3(celsius + ICE_POINT_K, vapour, pressure_pa)
    assert worst(ours, densities) < 1e-4
    enthalpies = swept(psychrolib.GetMoistAirEnthalpy, celsius, ratio)
    ours = humidity.moist_air_enthalpy_j_kg(celsius + ICE_POINT_K, ratio)
    assert np.max(np.abs(ours - enthalpies)) < 1.0


def test_transport_properties_of_air_against_coolprop() -> None:
    kelvin = np.arange(250.0, 401.0, 5.0)

    def dry(output: str) -> np.ndarray:
        return swept(
            lambda temp_k: CoolProp.PropsSI(output, "T", temp_k, "P", 101325, "Air"), kelvin
        )

    assert worst(air.air_viscosity_pa_s(kelvin), dry("V")) < 0.009
    assert worst(air.air_conductivity_w_m_k(kelvin), dry("L")) < 0.0165
    assert worst(air_film.prandtl_number(kelvin), dry("PRANDTL")) < 0.021


def test_a_wet_surface_settles_a_little_below_the_thermodynamic_wet_bulb() -> None:
    celsius, shares = np.arange(10.0, 51.0, 5.0)[:, None], HUMIDITY[None, :]
    kelvin = celsius + ICE_POINT_K
    vapour = air.vapour_pressure_pa(kelvin, shares)
    wet = evaporation.wet_surface_temp_k(kelvin, vapour, 101325.0)
    below = humidity.wet_bulb_k(kelvin, shares, 101325.0) - wet
    assert np.all(below > -1e-6)
    assert np.all(below < 0.1 * (kelvin - wet) + 1e-6)
