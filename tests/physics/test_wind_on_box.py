"""Wind on a propped box against hand-worked statics and the canopy coefficients of EN 1991-1-4."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.physics.wind_on_box import (
    PropStand,
    holding_mass_kg,
    sliding_gust_m_s,
    tipping_gust_m_s,
    wind_force_n,
)
from drybox.tables import load_table

TILTS = [20.0, 30.0, 45.0, 60.0]

# tip and slide in m/s on 0.20 m² at friction 0.5, worked by hand from the two statics formulas;
# tolerance 0.1
ROWS = [
    (3.0, 1.8, [9.2, 8.9, 8.0, 6.7], [9.2, 8.5, 8.0, 7.8]),
    (4.7, 1.8, [11.6, 11.1, 10.0, 8.4], [11.5, 10.7, 10.0, 9.8]),
    (4.7, 1.3, [13.6, 13.1, 11.8, 9.9], [13.5, 12.6, 11.8, 11.5]),
]


@pytest.mark.parametrize(("mass_kg", "coeff", "tips", "slides"), ROWS)
def test_the_gusts_at_which_it_tips_and_slides(
    mass_kg: float, coeff: float, tips: list[float], slides: list[float]
) -> None:
    stand = PropStand(mass_kg, 0.20, coeff)
    assert tipping_gust_m_s(stand, TILTS) == pytest.approx(np.array(tips), abs=0.1)
    assert sliding_gust_m_s(stand, TILTS) == pytest.approx(np.array(slides), abs=0.1)


def test_published_canopy_at_30_degrees_in_25_m_s() -> None:
    """EN 1991-1-4, table 7.6: overall 1.8 upwards at 30°; 4.5: q = ½ 1.25 25² = 391 N/m²."""
    row = load_table("box_wind")["pressure"]["warning"]
    assert (row.value, row.status) == (1.8, "published")
    canopy = PropStand(1.0, 1.0, row.value, air_density_kg_m3=1.25)
    assert float(wind_force_n(canopy, 25.0)) == pytest.approx(1.8 * 391, rel=1e-3)


def test_the_mass_that_holds_is_the_one_that_lets_go_at_that_gust() -> None:
    """Conservation: a box of that mass is in balance, neither more nor less."""
    for tilt in TILTS:
        tips, slides = holding_mass_kg(PropStand(4.7, 0.2, 1.8), tilt, 12.0)
        assert float(tipping_gust_m_s(PropStand(float(tips), 0.2, 1.8), tilt)) == pytest.approx(12)
        held = PropStand(float(slides), 0.2, 1.8)
        assert float(sliding_gust_m_s(held, tilt)) == pytest.approx(12)


def test_a_box_of_4_7_kg_lacks_5_8_kg_in_gusts_of_15_m_s() -> None:
    masses = holding_mass_kg(PropStand(4.7, 0.2, 1.8), 45.0, 15.0)
    assert max(float(mass) for mass in masses) - 4.7 == pytest.approx(5.8, abs=0.1)


def test_more_mass_stands_more_and_more_slope_less() -> None:
    tilts = np.linspace(10.0, 60.0, 11)
    for gust in (tipping_gust_m_s, sliding_gust_m_s):
        light, heavy = (gust(PropStand(mass, 0.2, 1.8), tilts) for mass in (3.0, 6.0))
        assert np.all(np.diff(light) < 0)
        assert heavy == pytest.approx(light * np.sqrt(2.0))
