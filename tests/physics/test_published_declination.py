from __future__ import annotations

import numpy as np
import pytest

from drybox.physics.earth_magnetism import declination_deg
from tests.reference import Row, rows


@pytest.mark.parametrize("row", rows("declination"))
def test_published_declination(row: Row) -> None:
    row.check(declination_deg(**row.inputs).degrees)


@pytest.mark.parametrize("year", [2024.99, 2030.01])
def test_a_year_outside_the_model_has_no_figure_but_a_sentence(year: float) -> None:
    found = declination_deg(48.0, 16.0, 200.0, year)
    assert found.degrees is None
    assert found.uncertainty_deg is None
    assert found.caution is not None
    assert "sun" in found.caution


def test_near_the_magnetic_poles_the_user_is_told() -> None:
    assert declination_deg(48.0, 16.0, 0.0, 2026.5).caution is None
    assert "no use" in str(declination_deg(86.0, 140.0, 0.0, 2026.5).caution)
    assert "may be degrees off" in str(declination_deg(76.0, -100.0, 0.0, 2026.5).caution)


def test_both_sides_of_the_date_line_agree() -> None:
    east, west = (declination_deg(-20.0, lon, 0.0, 2026.5).degrees for lon in (180.0, -180.0))
    assert east == pytest.approx(west, abs=1e-9)


def test_the_model_holds_to_the_end_of_its_last_year() -> None:
    assert declination_deg(48.0, 16.0, 200.0, 2025.0).degrees is not None
    assert declination_deg(48.0, 16.0, 200.0, 2030.0).degrees is not None
    late = declination_deg(48.0, 16.0, 200.0, 2030.5).caution
    assert "from 2025 to 2029" in str(late)


def test_uncertainty_is_that_of_the_model_for_its_horizontal_field() -> None:
    vienna, arctic = (declination_deg(lat, 16.0, 0.0, 2026.5) for lat in (48.0, 85.0))
    assert vienna.uncertainty_deg == pytest.approx(np.hypot(0.26, 5417.0 / 21_000.0), abs=0.01)
    assert arctic.uncertainty_deg is not None
    assert arctic.uncertainty_deg > 2.0 * vienna.uncertainty_deg
