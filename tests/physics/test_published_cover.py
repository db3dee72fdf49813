"""Cover optics against textbook values."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drybox.physics import cover
from tests.boxes import STEEL
from tests.reference import Row, rows


def covered_plate(incidence_rad: float, absorptance_frac: float, **glass: float) -> Any:
    passed = cover.cover_optics(incidence_rad, **glass).transmittance_frac
    returned = cover.cover_diffuse_reflectance(**glass)
    return absorbed_share(passed, absorptance_frac, returned)


def absorbed_share(
    transmittance_frac: Any, absorptance_frac: float, diffuse_reflectance_frac: Any
) -> Any:
    plate = replace(STEEL, reflected_back_frac=diffuse_reflectance_frac)
    return transmittance_frac * plate.absorbed_frac(absorptance_frac)


QUANTITIES = {
    "fresnel_reflectances": cover.fresnel_reflectances,
    "mean_reflectance": lambda **inputs: np.mean(cover.fresnel_reflectances(**inputs)),
    "path_transmittance": cover.path_transmittance,
    "cover_optics": cover.cover_optics,
    "cover_transmittance": lambda **inputs: cover.cover_optics(**inputs).transmittance_frac,
    "cover_diffuse_reflectance": cover.cover_diffuse_reflectance,
    "absorbed_share": absorbed_share,
    "covered_plate_absorbs_frac": covered_plate,
    "black_paint_absorptance_ratio": cover.black_paint_absorptance_ratio,
    "effective_sky_angle_deg": lambda tilt_rad: np.degrees(cover.effective_sky_angle_rad(tilt_rad)),
    "effective_ground_angle_deg": lambda tilt_rad: np.degrees(
        cover.effective_ground_angle_rad(tilt_rad)
    ),
}


@pytest.mark.parametrize("row", rows("cover"))
def test_published_cover(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))
