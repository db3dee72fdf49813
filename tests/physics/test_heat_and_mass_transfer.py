"""Properties that hold whatever the figures: limits, signs, symmetry, arrays."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.physics import (
    air,
    air_film,
    convection,
    cover,
    cover_gap,
    inclined_plate,
    nusselt,
)
from drybox.physics.box_heat import box_vapour_pressure_pa
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K
from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.state import BoxSystem
from tests.boxes import COVERED, GLASS, HANGING, OPEN, STEEL, outside, steady

SEA_LEVEL_PA = 101325.0
PLATE = {"length_m": 0.48, "natural_length_m": 0.12, "height_m": 0.4, "pressure_pa": SEA_LEVEL_PA}
celsius = st.floats(-10.0, 90.0)
tilts = st.floats(0.0, float(np.pi / 2))


def inclined(delta_k: float, film_k: float, tilt_rad: float) -> float:
    film, warm = air_film.air_film(film_k, SEA_LEVEL_PA), float(delta_k > 0.0)
    found = inclined_plate.inclined_plate_w_m2_k(film, abs(delta_k), warm, 0.12, 0.4, tilt_rad)
    return float(found)


@given(delta_k=st.floats(0.5, 80.0))
def test_a_level_and_an_upright_plate_are_each_form_alone(delta_k: float) -> None:
    film_k = 300.0 + 0.5 * delta_k
    conductivity = air.air_conductivity_w_m_k(film_k)
    level = air_film.rayleigh_number(delta_k, 0.12, film_k, SEA_LEVEL_PA)
    up = max(nusselt.hot_up_laminar_nusselt(level), nusselt.hot_up_turbulent_nusselt(level))
    assert inclined(delta_k, film_k, 0.0) == pytest.approx(float(up * conductivity / 0.12))
    upright = air_film.rayleigh_number(delta_k, 0.4, film_k, SEA_LEVEL_PA)
    number = nusselt.vertical_plate_nusselt(upright, air_film.prandtl_number(film_k))
    assert inclined(delta_k, film_k, np.pi / 2) == pytest.approx(float(number * conductivity / 0.4))


@given(delta_k=st.floats(0.5, 40.0), tilt_rad=tilts)
def test_a_cold_face_up_never_convects_more_than_a_warm_one(
    delta_k: float, tilt_rad: float
) -> None:
    assert inclined(-delta_k, 300.0, tilt_rad) <= inclined(delta_k, 300.0, tilt_rad)


@given(surface=celsius, air_c=celsius, wind=st.floats(0.0, 15.0), tilt_rad=tilts)
def test_wind_never_lowers_the_coefficient(
    surface: float, air_c: float, wind: float, tilt_rad: float
) -> None:
    temps = (surface + 273.15, air_c + 273.15)
    calm = convection.plate_convection_w_m2_k(*temps, 0.0, tilt_rad=tilt_rad, **PLATE)
    windy = convection.plate_convection_w_m2_k(*temps, wind, tilt_rad=tilt_rad, **PLATE)
    assert 0.0 <= calm <= windy * (1 + 1e-12)


@given(tilt_rad=tilts, delta_k=st.floats(0.0, 80.0))
def test_a_gap_conducts_at_least_as_still_air_and_jumps_nowhere(
    tilt_rad: float, delta_k: float
) -> None:
    def number(slope_rad: float) -> float:
        rayleigh = air_film.rayleigh_number(delta_k, 0.03, 320.0, SEA_LEVEL_PA)
        return float(cover_gap.gap_nusselt(rayleigh, slope_rad, 13.0))

    assert number(tilt_rad) >= 1.0
    assert number(tilt_rad + 1e-6) == pytest.approx(number(tilt_rad), rel=1e-3)


@given(angle=st.floats(0.0, 1.57), extinction=st.floats(0.0, 60.0))
def test_a_cover_makes_no_light(angle: float, extinction: float) -> None:
    shares = cover.cover_optics(angle, 1.5, extinction, 0.003)
    assert sum(float(each) for each in shares) == pytest.approx(1.0)
    assert min(float(each) for each in shares) >= -1e-12


@given(temp=celsius)
@pytest.mark.parametrize("system", [OPEN, COVERED], ids=["open", "covered"])
def test_a_box_as_warm_as_all_it_sees_neither_gains_nor_loses(
    system: BoxSystem, temp: float
) -> None:
    kelvin = temp + 273.15
    dark = dict.fromkeys(("front_sun_w_m2", "back_sun_w_m2", "cover_sun_w_m2"), 0.0)
    around = dict.fromkeys(("air_temp_k", "front_radiant_temp_k", "back_radiant_temp_k"), kelvin)
    day = steady(**dark, **around, vapour_pressure_pa=0.0)
    state, empty = system.start(np.array([kelvin])), np.zeros((1, 1), dtype=bool)
    now = rates(system, state, outside(day), occupied=empty)
    flows = np.concatenate([now.plate_w_m2, now.patch_w_m2[0], now.cover_w_m2])
    assert flows == pytest.approx(np.zeros(3), abs=1e-9)


def test_arrays_give_what_numbers_give() -> None:
    temps = np.array([[280.0, 300.0], [320.0, 340.0]])
    tilt = np.array([0.2, 1.2])
    together = convection.plate_convection_w_m2_k(temps, 293.15, 0.7, tilt_rad=tilt, **PLATE)
    for row in range(2):
        for column in range(2):
            alone = convection.plate_convection_w_m2_k(
                temps[row, column], 293.15, 0.7, tilt_rad=tilt[column], **PLATE
            )
            assert together[row, column] == pytest.approx(float(alone), rel=1e-12)


def test_a_steep_gap_lies_in_proportion_between_75_degrees_and_upright() -> None:
    def number(tilt_deg: float) -> float:
        return float(cover_gap.gap_nusselt(2e5, np.radians(tilt_deg), 8.0))

    assert number(75.0) == pytest.approx(float(cover_gap.hollands_nusselt(2e5, np.radians(75.0))))
    assert number(90.0) == pytest.approx(float(cover_gap.vertical_gap_nusselt(2e5, 8.0)))
    assert number(80.0) == pytest.approx((2.0 * number(75.0) + number(90.0)) / 3.0)


def test_a_face_says_how_its_coefficient_grows_with_its_temperature() -> None:
    def film(surface_k: float, wind_m_s: float) -> convection.Film:
        return convection.plate_film(surface_k, 300.0, wind_m_s, tilt_rad=0.0, **PLATE)

    for wind in (0.0, 0.5):
        lower, here, upper = (film(340.0 + by, wind) for by in (-0.5, 0.0, 0.5))
        slope = np.log(upper.coeff_w_m2_k / lower.coeff_w_m2_k)
        assert here.growth_1_k == pytest.approx(float(slope), rel=0.3)
    cold = convection.plate_film(280.0, 300.0, 0.0, tilt_rad=0.0, **PLATE)
    assert cold.growth_1_k < 0.0 < here.growth_1_k


def test_vapour_given_off_in_a_box_is_carried_out_or_condenses() -> None:
    """On a warm cover nothing condenses, on a cold one the most."""
    prints_kg_s_pa = np.array([[2e-8, 3e-8]] * 3)
    surface_pa = np.array([[9000.0, 7000.0]] * 3)
    air_k, outside_pa = np.full(3, 318.0), np.full(3, 1100.0)
    cover_k = np.array([330.0, 305.0, 285.0])

    def inside(surface_pressure_pa: np.ndarray) -> tuple[np.ndarray, ...]:
        return box_vapour_pressure_pa(
            STEEL,
            GLASS,
            prints_kg_s_pa,
            surface_pressure_pa,
            np.full(3, 6.0),
            air_k,
            cover_k,
            outside_pa,
            SEA_LEVEL_PA,
        )

    vapour, condensed, conductance = inside(surface_pa)
    given_off = (prints_kg_s_pa * (surface_pa - vapour[:, None])).sum(axis=1)
    volume_m3_s = GLASS.air_exchange_1_s * GLASS.gap_m * STEEL.area_m2
    carried = volume_m3_s * (vapour - outside_pa) / (GAS_CONSTANT_VAPOUR_J_KG_K * air_k)
    np.testing.assert_allclose(given_off, carried + condensed, rtol=1e-12)
    assert condensed[0] == 0.0 < condensed[1] < condensed[2]
    assert (vapour > air.saturation_pressure_pa(cover_k))[1:].all()
    assert vapour[0] > vapour[1] > vapour[2]
    raised = inside(surface_pa + np.array([1.0, 0.0]))[0] - vapour
    # where water condenses, the film's own conductance changes a little with the vapour
    np.testing.assert_allclose(raised, prints_kg_s_pa[:, 0] / conductance, rtol=0.01)


@pytest.mark.parametrize("slots", [1, 4])
@pytest.mark.parametrize("water_kg_m2", [0.05, 0.2])
def test_what_covered_prints_give_off_is_carried_out_or_condenses(
    slots: int, water_kg_m2: float
) -> None:
    system, day = replace(COVERED, slots=slots), steady(front_sun_w_m2=700.0)
    state = system.start(np.array([320.0]))
    state = state._replace(
        sheet_temp_k=np.full((1, slots), 312.0),
        water_kg_m2=np.full((1, slots), water_kg_m2),
        cover_temp_k=np.array([303.0]),
    )
    now = rates(
        system,
        state,
        outside(day),
        occupied=np.ones((1, slots), dtype=bool),
    )
    given_off = float(now.sheet.water_kg_m2_s.sum()) * system.sheet.area_m2
    drop_pa = now.sheet.water_kg_m2_s / now.sheet.face_conductance_kg_m2_s_pa
    inside_pa = float((now.sheet.surface_pressure_pa - drop_pa)[0, 0])
    volume_m3_s = GLASS.air_exchange_1_s * GLASS.gap_m * STEEL.area_m2
    air_k = float(now.box.air_temp_k[0])
    carried = volume_m3_s * (inside_pa - 1100.0) / (GAS_CONSTANT_VAPOUR_J_KG_K * air_k)
    assert given_off == pytest.approx(carried + float(now.condensed_kg_s[0]), rel=2e-3)


@pytest.mark.parametrize("kind", [OPEN, HANGING], ids=["plate", "line"])
def test_a_measured_coefficient_that_is_the_correlation_s_changes_no_rate(kind: BoxSystem) -> None:
    day, one = steady(), np.ones((1, 1), dtype=bool)
    state = kind.start(np.array([320.0]))
    state = kind.lay_on(state, 0, np.array([320.0]), water_kg_m2=np.array([0.2]))
    found = rates(kind, state, outside(day), occupied=one)
    coeff = float(found.box.bare_coeff_w_m2_k[0])
    plate = replace(kind.plate, fixed_convection_w_m2_k=coeff)
    same = rates(replace(kind, plate=plate), state, outside(day), occupied=one)
    assert coeff > 3.0
    for name in ("plate_w_m2", "patch_w_m2", "sheet_w_m2"):
        assert getattr(found, name) == pytest.approx(getattr(same, name), rel=1e-12), name
