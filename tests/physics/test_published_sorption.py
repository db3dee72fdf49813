"""Water in paper and gelatin against tables of regain, and shipped figures against ranges."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from drybox.physics.air import saturation_pressure_pa
from drybox.physics.print_drying import SheetModel, surface_vapour
from drybox.physics.sorption import (
    GabIsotherm,
    SheetSorption,
    activity_temperature_exponent,
    heat_of_sorption_j_kg,
)
from drybox.tables import load_table
from tests.reference import Row, rows

SHEET_KG_M2 = 0.3


def shipped(material: str) -> GabIsotherm:
    held = load_table("isotherms")[material]
    return GabIsotherm(held["monolayer"].value, held["c"].value, held["k"].value)


def sheet_of(material: str) -> SheetSorption:
    return SheetSorption([(shipped(material), SHEET_KG_M2)])


def moisture_of(material: str, activity: Any) -> Any:
    """Through the table that the simulation reads, not the isotherm itself."""
    sheet = sheet_of(material)
    return [sheet.water_kg_m2(each) / SHEET_KG_M2 for each in np.atleast_1d(activity)]


def fitted(monolayer_frac: float, c: float, k: float, activity: Any) -> Any:
    return GabIsotherm(monolayer_frac, c, k).moisture_frac(np.asarray(activity))


def gelatin_loss_on_warming(activity: float, from_temp_k: float, to_temp_k: float) -> float:
    """Water given off from one temperature to another in air of the same relative humidity."""
    sheet = SheetModel(
        area_m2=1.0,
        dry_heat_j_m2_k=400.0,
        sorption=sheet_of("gelatin"),
        absorptance_frac=0.3,
        emittance_frac=0.9,
        contact_wet_w_m2_k=0.0,
        contact_dry_w_m2_k=0.0,
        front_open_frac=1.0,
        back_open_frac=0.0,
        vapour_resistance_m2_s_pa_kg=0.0,
        critical_water_kg_m2=0.1,
    )

    def held(temp_k: float) -> float:
        def excess(water_kg_m2: float) -> float:
            state = np.array([temp_k]), np.array([water_kg_m2])
            pressure_pa = surface_vapour(sheet, *state).pressure_pa
            return float(pressure_pa[0] / saturation_pressure_pa(temp_k)) - activity

        return brentq(excess, 1e-6, 0.999 * sheet.sorption.saturated_kg_m2) / SHEET_KG_M2

    return held(from_temp_k) - held(to_temp_k)


def fibre_papers() -> list[dict[str, Any]]:
    return [held for name, held in load_table("papers").items() if name.startswith("fibre")]


QUANTITIES: dict[str, Callable[..., Any]] = {
    "fitted_moisture_frac": fitted,
    "gelatin_moisture_frac": lambda activity: moisture_of("gelatin", activity),
}
RANGES: dict[str, Callable[..., Any]] = {
    "paper_moisture_frac": lambda activity: moisture_of("fibre", activity),
    "gelatin_loss_on_warming_frac": gelatin_loss_on_warming,
    "critical_moisture_frac": lambda: load_table("isotherms")["critical"]["moisture"].value,
    "heat_of_sorption_j_kg": heat_of_sorption_j_kg,
    "wet_contact_w_m2_k": lambda: [held["contact_wet"].value for held in fibre_papers()],
}


@pytest.mark.parametrize("row", rows("sorption", *QUANTITIES))
def test_published_sorption(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))


@pytest.mark.parametrize("row", rows("sorption", *RANGES))
def test_sorption_lies_in_the_range_known(row: Row) -> None:
    row.check_between(RANGES[row.quantity](**row.inputs))


def test_every_row_is_tried() -> None:
    tried = {*QUANTITIES, *RANGES}
    assert not {row.values[0].quantity for row in rows("sorption")} - tried


def test_warmth_raises_activity_by_the_law_of_clausius_and_clapeyron() -> None:
    warm = np.array([298.15, 310.0, 330.0])
    found = activity_temperature_exponent(4e5, warm)
    assert found[0] == pytest.approx(0.0, abs=1e-15)
    slope = (activity_temperature_exponent(4e5, 310.01) - found[1]) / 0.01
    assert float(slope) == pytest.approx(4e5 / (461.524 * 310.005**2), rel=1e-4)
