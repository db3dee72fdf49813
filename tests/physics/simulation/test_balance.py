"""The slopes that the step uses are those of the rates, found by small changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.physics.print_drying import (
    PATCHINESS_FRAC,
    SheetAir,
    SheetModel,
    SheetRates,
    internal_vapour_resistance,
    sheet_rates,
)
from drybox.physics.simulation.balance import Rates, rates
from drybox.physics.simulation.state import BoxSystem, State
from tests.boxes import COVERED, HANGING_PRINT, OPEN, PRINT, WARM, outside, steady

Array = NDArray[np.float64]
PRESSURE_PA = 101325.0
GROWTH_1_K = 0.02


def rates_of(sheet: SheetModel, temp_k: Array, water_kg_m2: Array, growth_1_k: float) -> SheetRates:
    """Return the rates of sheets whose film grows with their temperature from 305 K on."""
    grown = 1.0 + growth_1_k * (temp_k - 305.0)
    around = SheetAir(
        front_sun_w_m2=np.array(700.0),
        back_sun_w_m2=np.array(90.0),
        air_temp_k=np.array(290.0),
        vapour_pressure_pa=np.array(900.0),
        front_radiant_temp_k=np.array(270.0),
        back_radiant_temp_k=np.array(288.0),
        transfer_coeff_w_m2_k=12.0 * grown,
        mass_coeff_kg_m2_s_pa=8e-8 * grown,
        radiant_share_frac=0.7,
        growth_1_k=growth_1_k,
    )
    return sheet_rates(sheet, temp_k, water_kg_m2, around, PRESSURE_PA)


SHEETS = {
    "laid on": replace(PRINT, vapour_resistance_m2_s_pa_kg=2e7),
    "hung up": replace(HANGING_PRINT, back_open_frac=0.6, vapour_resistance_m2_s_pa_kg=2e7),
    "under a blotter": replace(PRINT, cover_resistance_m2_s_pa_kg=1e7),
}
WATER_KG_M2 = PRINT.critical_water_kg_m2 * np.array([0.3, 0.7, 1.0, 1.1, 2.5, 6.0])
"""Running short, about to, and wet."""


@pytest.mark.parametrize("growth_1_k", [0.0, GROWTH_1_K])
@pytest.mark.parametrize("name", SHEETS)
def test_the_slopes_of_a_print_are_those_of_its_rates(name: str, growth_1_k: float) -> None:
    sheet, temp_k = SHEETS[name], np.full(WATER_KG_M2.shape, 305.0)
    here = rates_of(sheet, temp_k, WATER_KG_M2, growth_1_k)
    low, high = (rates_of(sheet, temp_k + by, WATER_KG_M2, growth_1_k) for by in (-0.05, 0.05))
    near = {"rtol": 0.03}  # the slopes leave out that blowing grows with the vapour's pressure
    heat, vapour = low.heat_w_m2 - high.heat_w_m2, high.water_kg_m2_s - low.water_kg_m2_s
    np.testing.assert_allclose(here.heat_slope_w_m2_k, heat / 0.1, **near)
    np.testing.assert_allclose(here.water_temp_slope, vapour / 0.1, **near)
    by = 1e-5 * PRINT.critical_water_kg_m2
    dry, wet = (rates_of(sheet, temp_k, WATER_KG_M2 + each, growth_1_k) for each in (-by, by))
    more = (wet.water_kg_m2_s - dry.water_kg_m2_s) / (2 * by)
    np.testing.assert_allclose(here.water_slope_1_s, more, rtol=0.03, atol=1e-3 * more.max())


def test_heat_that_stays_is_what_comes_less_what_goes() -> None:
    """A wet sheet, both faces open: each flow from the book's law, Stefan's flow with it."""
    sheet = SHEETS["hung up"]
    found = rates_of(sheet, np.array(305.0), np.array(1.0), 0.0)
    assert found.sun_w_m2 == pytest.approx(0.35 * (700.0 + 0.6 * 90.0))
    face = found.face_conductance_kg_m2_s_pa / 1.6
    mean_air = PRESSURE_PA - 0.5 * (900.0 + found.surface_pressure_pa)
    assert face == pytest.approx(8e-8 * PRESSURE_PA / mean_air)
    water = 1.6 * face * (found.surface_pressure_pa - 900.0)
    assert found.water_kg_m2_s == pytest.approx(water)
    air = 1.6 * 12.0 * (305.0 - 290.0)
    longwave = 305.0**4 - 270.0**4 + 0.6 * (305.0**4 - 288.0**4)
    lost = air + 5.670374419e-8 * 0.9 * 0.7 * longwave + water * found.latent_j_kg
    assert found.heat_w_m2 == pytest.approx(found.sun_w_m2 - lost)
    assert found.heat_capacity_j_m2_k == pytest.approx(360.0 + 4186.0, rel=1e-3)


@pytest.mark.parametrize(("back", "way"), [(0.0, 1.0), (0.5, 1.5), (1.0, 2.0)])
def test_a_sheet_runs_short_from_its_critical_water_down_to_bone_dry(
    back: float, way: float
) -> None:
    sheet = replace(PRINT, back_open_frac=back, critical_water_kg_m2=0.08)
    whole = 1e8 / way
    shares = np.array([0.0, 0.25, 0.5, 1 - PATCHINESS_FRAC, 1.0, 1 + PATCHINESS_FRAC, 2.0])
    resistance, growth = internal_vapour_resistance(sheet, 0.08 * shares)
    front = np.clip(1.0 - shares, 0.0, 1.0)
    rounded = np.where(shares == 1.0, PATCHINESS_FRAC / 4, 0.0)
    np.testing.assert_allclose(resistance, whole * (front + rounded), atol=1e-6 * whole)
    np.testing.assert_allclose(growth[[0, 2, -1]], np.array([1.0, 1.0, 0.0]) * whole / 0.08)


def falls_with(
    of: Callable[[Rates], Array],
    part: str,
    system: BoxSystem,
    state: State,
    occupied: NDArray[np.bool_],
) -> Array:
    """Return how fast a rate falls as one part of the state grows."""
    here = outside(steady())

    def at(by: float) -> Array:
        moved = state._replace(**{part: getattr(state, part) + by})
        return np.asarray(of(rates(system, moved, here, occupied=occupied)))

    return (at(-0.01) - at(0.01)) / 0.02


BOXES = {
    "open": replace(OPEN, slots=3),
    "warm, throttled": replace(WARM, slots=3, plate=replace(WARM.plate, heater_temp_k=315.0)),
    "warm, far from its aim": replace(WARM, slots=3),
    "warm, near it": replace(WARM, slots=3, plate=replace(WARM.plate, heater_temp_k=317.0)),
    "covered": replace(COVERED, slots=3),
}


@pytest.mark.parametrize("filled", [0, 2, 3])
@pytest.mark.parametrize("name", BOXES)
def test_the_slopes_of_a_box_are_those_of_its_rates(name: str, filled: int) -> None:
    """With convection that does not change; an empty slot has no sheet."""
    system = BOXES[name]
    system = replace(system, plate=replace(system.plate, fixed_convection_w_m2_k=9.0))
    occupied = np.arange(3)[None, :] < filled
    state = system.start(np.array([314.0]))
    for slot in range(filled):
        state = system.lay_on(state, slot, np.array([306.0 + slot]), water_kg_m2=np.array([0.2]))
    state = state._replace(patch_temp_k=state.patch_temp_k - [[2.0, 1.0, 3.0]])
    state = state._replace(cover_temp_k=np.array([308.0]))
    now = rates(system, state, outside(steady()), occupied=occupied)
    where = (system, state, occupied)
    plate = falls_with(lambda found: found.plate_w_m2, "plate_temp_k", *where)
    patch = falls_with(lambda found: found.patch_w_m2, "patch_temp_k", *where)
    # under a cover the air between moves with the plate, and the slopes take it as still
    near = 0.25 if system.plate.cover is not None else 1e-6
    assert now.plate_slope == pytest.approx(plate, rel=near)
    assert now.patch_slope == pytest.approx(patch, rel=near)
    if filled and system.plate.cover is None:
        sheet = falls_with(lambda found: found.sheet_w_m2, "sheet_temp_k", *where)
        assert now.sheet_slope[occupied] == pytest.approx(sheet[occupied], rel=0.03)
