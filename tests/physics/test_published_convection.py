"""Convection against worked examples of the heat transfer textbooks."""

from __future__ import annotations

from typing import Any

import pytest

from drybox.physics import convection, cover_gap, nusselt
from drybox.physics.air_film import air_film
from tests.reference import Row, rows


def forced_coeff(film_temp_k: float, pressure_pa: float, wind_m_s: float, length_m: float) -> Any:
    return convection.forced_w_m2_k(air_film(film_temp_k, pressure_pa), wind_m_s, length_m)


def plate_heat(
    number: Any, length_m: float, conductivity_w_m_k: float, area_m2: float, delta_temp_k: float
) -> Any:
    return number * conductivity_w_m_k / length_m * area_m2 * delta_temp_k


def vertical_plate_heat(rayleigh: float, prandtl: float, height_m: float, **inputs: float) -> Any:
    return plate_heat(nusselt.vertical_plate_nusselt(rayleigh, prandtl), height_m, **inputs)


def level_plate_heat(rayleigh: float, side: str, **inputs: float) -> Any:
    form = {"up": nusselt.hot_up_laminar_nusselt, "down": nusselt.hot_down_nusselt}[side]
    return plate_heat(form(rayleigh), **inputs)


def gap_heat(rayleigh: float, tilt_rad: float, gap_m: float, **inputs: float) -> Any:
    return plate_heat(cover_gap.hollands_nusselt(rayleigh, tilt_rad), gap_m, **inputs)


def duct_coeff(
    face: str,
    width_m: float,
    height_m: float,
    conductivity_w_m_k: float,
    prandtl: float,
    side_rayleigh: float,
    level_rayleigh: float,
) -> Any:
    if face == "sides":
        number = nusselt.vertical_plate_laminar_nusselt(side_rayleigh, prandtl)
        return number * conductivity_w_m_k / height_m
    form = {"top": nusselt.hot_up_turbulent_nusselt, "bottom": nusselt.hot_down_nusselt}[face]
    return form(level_rayleigh) * conductivity_w_m_k / (width_m / 2)


def duct_heat(width_m: float, height_m: float, delta_temp_k: float, **air: float) -> Any:
    sides, top, bottom = (
        duct_coeff(face, width_m, height_m, **air) for face in ("sides", "top", "bottom")
    )
    return (2 * sides * height_m + (top + bottom) * width_m) * delta_temp_k


def plate_in_calm_air(
    surface_temp_k: float, air_temp_k: float, side_m: float, tilt_rad: float
) -> Any:
    found = convection.plate_convection_w_m2_k(
        surface_temp_k, air_temp_k, 0.0, side_m, side_m / 4.0, side_m, tilt_rad, 101325.0
    )
    return found * side_m**2 * (surface_temp_k - air_temp_k)


def sheet_in_calm_air(surface_temp_k: float, air_temp_k: float, height_m: float) -> Any:
    found = convection.sheet_film(surface_temp_k, air_temp_k, 0.0, 0.3, height_m, 101325.0)
    return found.coeff_w_m2_k


QUANTITIES = {
    "plate_in_calm_air_w": plate_in_calm_air,
    "sheet_in_calm_air_w_m2_k": sheet_in_calm_air,
    "combined_w_m2_k": convection.combined_w_m2_k,
    "vertical_plate_nusselt": nusselt.vertical_plate_nusselt,
    "vertical_plate_heat_w": vertical_plate_heat,
    "level_plate_heat_w": level_plate_heat,
    "duct_coeff_w_m2_k": duct_coeff,
    "duct_heat_w_m": duct_heat,
    "hot_up_laminar_nusselt": nusselt.hot_up_laminar_nusselt,
    "hot_up_turbulent_nusselt": nusselt.hot_up_turbulent_nusselt,
    "hot_down_nusselt": nusselt.hot_down_nusselt,
    "vertical_gap_nusselt": cover_gap.vertical_gap_nusselt,
    "hollands_nusselt": cover_gap.hollands_nusselt,
    "gap_heat_w": gap_heat,
    "gap_convection_w_m2_k": cover_gap.gap_convection_w_m2_k,
    "forced_w_m2_k": forced_coeff,
}


@pytest.mark.parametrize("row", rows("convection"))
def test_published_convection(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
