from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.physics import baths
from tests.reference import Row, rows

QUANTITIES: dict[str, Callable[..., Any]] = {
    "level_m3": baths.level_m3,
    "strength_frac": baths.strength_frac,
    "sheets_to_level": baths.sheets_to_level,
    "sheets_by_area": baths.sheets_by_area,
    "time_at_temperature_s": baths.time_at_temperature_s,
    "silver_kg_m3": baths.silver_kg_m3,
    "sheets_by_life": baths.sheets_by_life,
}


@pytest.mark.parametrize("row", rows("washing", *QUANTITIES))
def test_published_value(row: Row) -> None:
    inputs = {k: np.array(v) if isinstance(v, list) else v for k, v in row.inputs.items()}
    row.check(QUANTITIES[row.quantity](**inputs))


@given(
    volume=st.floats(1e-4, 0.02),
    sheets=st.integers(0, 5000),
    carried=st.floats(1e-8, 1e-4),
)
def test_levels_and_strengths_never_go_below_nothing(
    volume: float, sheets: int, carried: float
) -> None:
    assert 0.0 <= baths.level_m3(volume, sheets, carried) <= volume
    assert 0.0 <= baths.strength_frac(sheets, carried, volume) <= 1.0
    assert baths.level_m3(volume, sheets + 1, carried) <= baths.level_m3(volume, sheets, carried)


@given(volume=st.floats(1e-4, 0.02), carried=st.floats(1e-7, 1e-5), least=st.floats(0.05, 0.99))
def test_the_last_sheet_allowed_is_the_last_that_keeps_the_strength(
    volume: float, carried: float, least: float
) -> None:
    sheets = float(baths.sheets_to_strength(volume, carried, least))
    assert baths.strength_frac(sheets, carried, volume) >= least * (1 - 1e-6)
    assert baths.strength_frac(sheets + 1, carried, volume) < least


def test_dilution_by_many_small_sheets_is_the_limit_of_mixing_by_hand() -> None:
    volume, carried, strength = 400e-6, 3.5e-6, 1.0
    for _ in range(40):
        strength *= volume / (volume + carried)
    assert baths.strength_frac(40, carried, volume) == pytest.approx(strength, rel=0.01)


def test_a_stage_takes_its_own_time_at_its_own_temperature() -> None:
    assert baths.time_at_temperature_s(120.0, 293.15, 293.15, 0.07) == 120.0
    assert baths.time_at_temperature_s(120.0, 288.15, 293.15, 0.0) == 120.0
    assert baths.time_at_temperature_s(120.0, 288.15, 293.15, 0.07) > 160.0
