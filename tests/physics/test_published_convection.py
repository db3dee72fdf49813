"""Convection against worked examples of the heat transfer textbooks."""

from __future__ import annotations

from typing import Any

import pytest

from drybox.physics import convection, cover_gap, nusselt
from tests.reference import Row, rows


def flat_plate_heat(
    reynolds: float, prandtl: float, conductivity_w_m_k: float, delta_temp_k: float
) -> Any:
    number = nusselt.flat_plate_nusselt(reynolds, prandtl)
    return number * conductivity_w_m_k * delta_temp_k  # per width: h L ΔT = Nu k ΔT


def strip_heat(strip: int, strip_reynolds: float, **inputs: float) -> Any:
    up_to_end = flat_plate_heat(strip * strip_reynolds, **inputs)
    return up_to_end - flat_plate_heat((strip - 1) * strip_reynolds, **inputs)


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


QUANTITIES = {
    "flat_plate_heat_w_m": flat_plate_heat,
    "heated_strip_w_m": strip_heat,
    "vertical_plate_nusselt": nusselt.vertical_plate_nusselt,
    "vertical_plate_heat_w": vertical_plate_heat,
    "level_plate_heat_w": level_plate_heat,
    "duct_coeff_w_m2_k": duct_coeff,
    "duct_heat_w_m": duct_heat,
    "hot_up_laminar_nusselt": nusselt.hot_up_laminar_nusselt,
    "hot_down_nusselt": nusselt.hot_down_nusselt,
    "hollands_nusselt": cover_gap.hollands_nusselt,
    "gap_heat_w": gap_heat,
    "gap_convection_w_m2_k": cover_gap.gap_convection_w_m2_k,
    "bluff_plate_w_m2_k": convection.bluff_plate_w_m2_k,
    "wind_at_height_m_s": convection.wind_at_height_m_s,
}


@pytest.mark.parametrize("row", rows("convection"))
def test_published_convection(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
