"""Textbook plates, collectors and wet pans run through the same box and print as every answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drybox.physics.air import vapour_pressure_pa
from drybox.physics.box_heat import radiated_w_m2
from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty, run_print
from drybox.physics.simulation.state import BoxSystem
from drybox.units import KELVIN_AT_0_C
from tests.boxes import GLASS, PRINT, STEEL, outside, settle, steady, wet_sheet_temps_k
from tests.reference import Row, rows

ONE = np.zeros(1, dtype=np.intp)
NOW = np.zeros(1)
NEVER_MOVES_J_M2_K = 1e12


def collector(
    air_temp_k: float,
    sky_temp_k: float,
    wind_coeff_w_m2_k: float,
    gap_m: float,
    tilt_deg: float,
    plate_emittance: float,
    cover_emittance: float,
    back_loss_w_m2_k: float = 0.0,
    inside_w_m2: float = 0.0,
    heat_capacity_j_m2_k: float = 5000.0,
) -> tuple[BoxSystem, Forcing]:
    """Return a square metre under one tight cover, every ray inside it absorbed by the plate."""
    cover = replace(
        GLASS,
        gap_m=gap_m,
        emittance_frac=cover_emittance,
        longwave_transmittance_frac=0.0,
        air_exchange_1_s=0.0,
    )
    plate = replace(
        STEEL,
        area_m2=1.0,
        height_m=1.0,
        absorptance_frac=1.0,
        emittance_frac=plate_emittance,
        back_loss_w_m2_k=back_loss_w_m2_k,
        heat_capacity_j_m2_k=heat_capacity_j_m2_k,
        fixed_convection_w_m2_k=wind_coeff_w_m2_k,
        cover=cover,
    )
    day = steady(
        front_sun_w_m2=inside_w_m2,
        cover_sun_w_m2=0.0,
        air_temp_k=air_temp_k,
        front_radiant_temp_k=sky_temp_k,
        tilt_rad=np.radians(tilt_deg),
    )
    return BoxSystem(plate, PRINT), day


def held_collector(plate_temp_k: float, **inputs: float) -> tuple[float, float]:
    """Return loss per kelvin, and the cover's temperature, with the plate held warm."""
    system, day = collector(**inputs, heat_capacity_j_m2_k=NEVER_MOVES_J_M2_K)
    state, now = settle(system, day, plate_temp_k)
    loss = -now.plate_w_m2[0] / (plate_temp_k - inputs["air_temp_k"])
    return float(loss), float(state.cover_temp_k[0] - KELVIN_AT_0_C)


def stagnation_k(**inputs: float) -> float:
    system, day = collector(**inputs)
    _, plate_temp_k, _ = run_empty(
        system, day, ONE, start_at=NOW, horizon_s=6 * 3600.0, step_s=300.0
    )
    return float(plate_temp_k[-1, 0])


def box_stagnation(inside_w_m2: float, irradiance_w_m2: float, **inputs: float) -> float:
    rise = stagnation_k(inside_w_m2=inside_w_m2, **inputs) - inputs["air_temp_k"]
    return rise / irradiance_w_m2


def open_plate(
    absorptance: float,
    emittance: float,
    irradiance_w_m2: float,
    air_temp_k: float,
    sky_temp_k: float,
    convection_w_m2_k: float,
) -> tuple[BoxSystem, Forcing]:
    plate = replace(
        STEEL,
        absorptance_frac=absorptance,
        emittance_frac=emittance,
        back_loss_w_m2_k=0.0,
        fixed_convection_w_m2_k=convection_w_m2_k,
    )
    day = steady(
        front_sun_w_m2=irradiance_w_m2, air_temp_k=air_temp_k, front_radiant_temp_k=sky_temp_k
    )
    return BoxSystem(plate, PRINT), day


def open_absorber_heat(plate_temp_k: float, **inputs: float) -> float:
    system, day = open_plate(**inputs)
    state = system.start(np.array([plate_temp_k]))
    now = rates(
        system,
        state,
        outside(day),
        occupied=np.zeros((1, 1), dtype=bool),
    )
    assert now.patch_w_m2[0, 0] == pytest.approx(now.plate_w_m2[0])
    return float(now.plate_w_m2[0])


def open_plate_settles(**inputs: float) -> float:
    system, day = open_plate(**inputs)
    _, plate_temp_k, _ = run_empty(
        system, day, ONE, start_at=NOW, horizon_s=12 * 3600.0, step_s=300.0
    )
    return float(plate_temp_k[-1, 0] - KELVIN_AT_0_C)


def warmed_share(
    thickness_m: float,
    density_kg_m3: float,
    specific_heat_j_kg_k: float,
    loss_w_m2_k: float,
    after_s: float,
) -> float:
    """Return how much of its final rise a plate has made, in twenty steps."""
    plate = replace(
        STEEL,
        heat_capacity_j_m2_k=thickness_m * density_kg_m3 * specific_heat_j_kg_k,
        emittance_frac=0.0,
        back_loss_w_m2_k=loss_w_m2_k,
        fixed_convection_w_m2_k=0.0,
        absorptance_frac=1.0,
    )
    day = steady(front_sun_w_m2=100.0 * loss_w_m2_k)
    _, plate_temp_k, _ = run_empty(
        BoxSystem(plate, PRINT), day, ONE, start_at=NOW, horizon_s=after_s, step_s=after_s / 20
    )
    return float(plate_temp_k[-1, 0] - plate_temp_k[0, 0]) / 100.0


def pan(
    air_temp_k: float,
    humidity_ratio: float,
    convection_w_m2_k: float,
    base_w_m2_k: float = 0.0,
    radiator_temp_k: float = 300.0,
    emittance: float = 0.0,
) -> tuple[float, float]:
    """Return temperature and rate of a wet sheet over sand and metal under a radiator.

    The books set the Lewis number to 1.
    """
    wet = replace(
        PRINT,
        area_m2=0.457**2,
        emittance_frac=emittance,
        contact_wet_w_m2_k=base_w_m2_k,
        contact_dry_w_m2_k=base_w_m2_k,
        lewis_factor=1.0,
    )
    plate = replace(
        STEEL,
        area_m2=1.0,
        heat_capacity_j_m2_k=0.00061 * 7854 * 434,
        back_loss_w_m2_k=convection_w_m2_k,
        fixed_convection_w_m2_k=convection_w_m2_k,
    )
    system = BoxSystem(plate, wet)
    day = steady(
        front_sun_w_m2=0.0,
        air_temp_k=air_temp_k,
        vapour_pressure_pa=101325.0 * humidity_ratio / (0.621945 + humidity_ratio),
        front_radiant_temp_k=radiator_temp_k,
    )
    start = np.array([air_temp_k])
    run = run_print(
        system,
        day,
        ONE,
        laid_on_at=NOW,
        plate_temp_k=start,
        sheet_temp_k=start,
        water_kg_m2=np.array([6.0]),
        dry_kg_m2=0.1,
        over_dry_kg_m2=0.05,
        horizon_s=3600.0,
    )
    now = rates(
        system,
        run.final,
        outside(day),
        occupied=np.ones((1, 1), dtype=bool),
    )
    celsius = float(run.final.sheet_temp_k[0, 0] - KELVIN_AT_0_C)
    return celsius, float(now.sheet.water_kg_m2_s[0, 0]) * 3600


def radiation_to_cover(
    plate_temp_k: float, cover_temp_k: float, plate_emittance: float, cover_emittance: float
) -> float:
    """Return what a plate and the cover above it exchange per kelvin without convection."""
    system, day = collector(
        cover_temp_k, cover_temp_k, 0.0, 0.025, 45.0, plate_emittance, cover_emittance
    )
    cover = replace(GLASS, emittance_frac=cover_emittance, longwave_transmittance_frac=0.0)
    plate = replace(system.plate, cover=cover, convection_factor=0.0)
    state = system.start(np.array([plate_temp_k]))._replace(cover_temp_k=np.array([cover_temp_k]))
    empty = np.zeros((1, 1), dtype=bool)
    now = rates(
        replace(system, plate=plate),
        state,
        outside(day),
        occupied=empty,
    )
    return float(-now.plate_w_m2[0] / (plate_temp_k - cover_temp_k))


def radiated_w(emittance_frac: float, temp_k: float, surroundings_k: float) -> float:
    return float(radiated_w_m2(emittance_frac, np.array(temp_k), np.array(surroundings_k)))


def wet_sheet(vapour: Any, **inputs: Any) -> float:
    return float(wet_sheet_temps_k(vapour_pressure_pa=vapour, **inputs)[0])


QUANTITIES: dict[str, Callable[..., Any]] = {
    "collector_loss_w_m2_k": lambda **inputs: held_collector(**inputs)[0],
    "collector_cover_temp_c": lambda **inputs: held_collector(**inputs)[1],
    "collector_stagnation_c": lambda absorbed_w_m2, **inputs: (
        stagnation_k(inside_w_m2=absorbed_w_m2, **inputs) - KELVIN_AT_0_C
    ),
    "open_absorber_heat_w_m2": open_absorber_heat,
    "open_plate_settles_c": open_plate_settles,
    "warmed_share_frac": warmed_share,
    "pan_temp_c": lambda **inputs: pan(**inputs)[0],
    "pan_rate_kg_m2_h": lambda **inputs: pan(**inputs)[1],
    "radiation_to_cover_w_m2_k": radiation_to_cover,
    "radiated_w_m2_k": lambda temp_k, surroundings_k, **inputs: (
        radiated_w(temp_k=temp_k, surroundings_k=surroundings_k, **inputs)
        / (temp_k - surroundings_k)
    ),
    "radiated_of_area_w": lambda area_m2, **inputs: area_m2 * radiated_w(**inputs),
    "wet_sheet_of_vapour_settles_k": lambda **inputs: float(wet_sheet_temps_k(**inputs)[0]),
    "wet_sheet_settles_k": lambda humidity_frac, **inputs: wet_sheet(
        vapour_pressure_pa(inputs["air_temp_k"], humidity_frac), **inputs
    ),
    "wet_sheet_of_ratio_settles_k": lambda humidity_ratio, **inputs: wet_sheet(
        inputs["pressure_pa"] * humidity_ratio / (0.621945 + humidity_ratio), **inputs
    ),
}


@pytest.mark.parametrize("row", rows("box", *QUANTITIES))
def test_published_box(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))


@pytest.mark.parametrize("row", rows("box", "box_stagnation_k_m2_w"))
def test_box_stagnates_in_the_range_measured(row: Row) -> None:
    row.check_between(box_stagnation(**row.inputs))


def test_collector_stagnates_where_it_loses_what_it_absorbs() -> None:
    """H1 backwards: what a plate held at 100 °C loses, absorbed, brings it to 100 °C."""
    row = next(each.values[0] for each in rows("box") if each.values[0].id == "H1-loss")
    loss, _ = held_collector(**row.inputs)
    inputs = {name: value for name, value in row.inputs.items() if name != "plate_temp_k"}
    settled = stagnation_k(inside_w_m2=loss * (373.15 - inputs["air_temp_k"]), **inputs)
    assert settled == pytest.approx(373.15, abs=0.01)
