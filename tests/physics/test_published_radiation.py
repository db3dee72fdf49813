"""Longwave radiation of the sky against published formulas."""

from __future__ import annotations

import pytest

from drybox.physics import radiation
from tests.reference import Row, rows

QUANTITIES = {
    "sky_temp_k": radiation.sky_temp_k,
    "clear_sky_emissivity": radiation.clear_sky_emissivity,
    "cloudy_sky_emissivity": radiation.cloudy_sky_emissivity,
}


@pytest.mark.parametrize("row", rows("radiation"))
def test_published_radiation(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
