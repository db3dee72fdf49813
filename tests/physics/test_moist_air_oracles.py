"""Moist air against two independent libraries, over the whole range the planner meets."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drybox.physics import air, air_film
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K
from tests.boxes import wet_sheet_temps_k

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    psychrolib = pytest.importorskip("psychrolib")
    CoolProp = pytest.importorskip("CoolProp.CoolProp")

psychrolib.SetUnitSystem(psychrolib.SI)

ICE_POINT_K = 273.15
CELSIUS = np.arange(-20.0, 61.0, 2.5)
WARM = np.arange(10.0, 51.0, 5.0)
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
    ours = air.saturation_pressure_pa(kelvin) / (GAS_CONSTANT_VAPOUR_J_KG_K * kelvin)
    assert worst(ours, theirs) < 7e-3
    assert np.all(ours < theirs)


@pytest.mark.parametrize("pressure_pa", PRESSURES_PA)
def test_a_wet_sheet_settles_at_the_wet_bulb_where_vapour_spreads_as_fast_as_heat(
    pressure_pa: float,
) -> None:
    celsius, shares = WARM[:, None], HUMIDITY[None, :]
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    wet = wet_sheets_k(celsius, vapour, pressure_pa, 1.0)
    theirs = swept(psychrolib.GetTWetBulbFromRelHum, celsius, shares, np.array(pressure_pa))
    # the film's mean state in place of the saturated one: 1 % less cooling where air is hot
    water = theirs > 0.5  # below, the library's bulb is iced
    near = 0.01 * (celsius - theirs)
    assert np.all((np.abs(wet - ICE_POINT_K - theirs) < 0.02 + near)[water])
    mixture = swept(
        lambda temp, share: CoolProp.HAPropsSI(
            "B", "T", temp + ICE_POINT_K, "R", share, "P", pressure_pa
        ),
        celsius,
        shares,
    )
    assert np.all((np.abs(wet - mixture) < 0.05 + near)[water])


def wet_sheets_k(celsius: Any, vapour: Any, pressure_pa: float, lewis: float | None) -> Any:
    airs = np.broadcast_to(celsius + ICE_POINT_K, vapour.shape)
    found = wet_sheet_temps_k(airs.ravel(), vapour.ravel(), pressure_pa, lewis)
    return found.reshape(vapour.shape)


def test_dew_point_against_psychrolib() -> None:
    celsius, shares = CELSIUS[:, None], HUMIDITY[None, :]
    theirs = swept(psychrolib.GetTDewPointFromRelHum, celsius, shares)
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    assert np.max(np.abs(air.dew_point_k(vapour) - ICE_POINT_K - theirs)) < 0.005


@pytest.mark.parametrize("pressure_pa", PRESSURES_PA)
def test_density_against_psychrolib(pressure_pa: float) -> None:
    celsius, shares = CELSIUS[:, None], HUMIDITY[None, :]
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    pressures = np.array(pressure_pa)
    ratio = swept(psychrolib.GetHumRatioFromVapPres, vapour, pressures)
    densities = swept(psychrolib.GetMoistAirDensity, celsius, ratio, pressures)
    ours = air.moist_air_density_kg_m3(celsius + ICE_POINT_K, vapour, pressure_pa)
    assert worst(ours, densities) < 1e-4


def test_transport_properties_of_air_against_coolprop() -> None:
    kelvin = np.arange(250.0, 401.0, 5.0)

    def dry(output: str) -> np.ndarray:
        return swept(
            lambda temp_k: CoolProp.PropsSI(output, "T", temp_k, "P", 101325, "Air"), kelvin
        )

    assert worst(air.air_viscosity_pa_s(kelvin), dry("V")) < 0.009
    assert worst(air.air_conductivity_w_m_k(kelvin), dry("L")) < 0.0165
    assert worst(air_film.prandtl_number(kelvin), dry("PRANDTL")) < 0.021


def test_a_wet_sheet_settles_a_little_below_the_wet_bulb_as_vapour_spreads_faster_than_heat() -> (
    None
):
    celsius, shares = WARM[:, None], HUMIDITY[None, :]
    vapour = air.vapour_pressure_pa(celsius + ICE_POINT_K, shares)
    wet = wet_sheets_k(celsius, vapour, 101325.0, None) - ICE_POINT_K
    theirs = swept(psychrolib.GetTWetBulbFromRelHum, celsius, shares, np.array(101325.0))
    below = theirs - wet
    assert np.all(below > -0.001)
    assert np.all(below < 0.1 * (celsius - wet) + 0.001)


def test_dew_point_undoes_saturation() -> None:
    kelvin = np.linspace(213.0, 420.0, 500)
    assert np.max(np.abs(air.dew_point_k(air.saturation_pressure_pa(kelvin)) - kelvin)) < 1e-5
