"""Small boxes, prints and steady days for tests of the simulation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybox.physics.box_heat import CoverModel, PlateModel
from drybox.physics.plate_conduction import PlateConduction
from drybox.physics.print_drying import SheetModel
from drybox.physics.simulation.balance import Rates, rates
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.run import run_print
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step import step
from drybox.physics.sorption import GabIsotherm, SheetSorption

Array = NDArray[np.float64]

SORPTION = SheetSorption(
    [(GabIsotherm(0.0522, 13.65, 0.721), 0.243), (GabIsotherm(0.0905, 27.2, 0.859), 0.008)]
)
"""A double-weight print."""

STEEL = PlateModel(
    area_m2=0.2,
    heat_capacity_j_m2_k=10200.0,
    absorptance_frac=0.95,
    emittance_frac=0.9,
    back_loss_w_m2_k=4.0,
    length_m=0.44,
    natural_length_m=0.11,
    height_m=0.5,
)
"""Three millimetres of black steel, 40 by 50 cm, with a closed air gap behind."""

GLASS = CoverModel(
    heat_capacity_j_m2_k=6000.0,
    emittance_frac=0.88,
    longwave_transmittance_frac=0.02,
    gap_m=0.06,
    air_exchange_1_s=30 / 3600,
)

PRINT = SheetModel(
    area_m2=0.0129,
    dry_heat_j_m2_k=360.0,
    sorption=SORPTION,
    absorptance_frac=0.35,
    emittance_frac=0.9,
    contact_wet_w_m2_k=200.0,
    contact_dry_w_m2_k=40.0,
    front_open_frac=1.0,
    back_open_frac=0.0,
    vapour_resistance_m2_s_pa_kg=1e8,
    critical_water_kg_m2=0.4 * SORPTION.sorbing_kg_m2,
)
"""Four by five inches, laid on."""

HANGING_PRINT = replace(PRINT, contact_wet_w_m2_k=0.0, contact_dry_w_m2_k=0.0, back_open_frac=1.0)

NO_PLATE = PlateModel(
    area_m2=0.0129 * 1.001,
    heat_capacity_j_m2_k=1e4,
    absorptance_frac=0.0,
    emittance_frac=0.0,
    back_loss_w_m2_k=1.0,
    length_m=0.113,
    natural_length_m=0.028,
    height_m=0.127,
    hanging=True,
)

ALONG = PlateConduction.of_one(1.5)

OPEN = BoxSystem(
    replace(STEEL, forced_factor=1.3, back_in_wind=True),
    replace(PRINT, lone_film_factor=1.15),
    1,
    ALONG,
)
COVERED = BoxSystem(replace(STEEL, cover=GLASS, reflected_back_frac=0.15), PRINT, 1, ALONG)
HANGING = BoxSystem(NO_PLATE, HANGING_PRINT)
WARM = BoxSystem(
    replace(STEEL, back_loss_w_m2_k=2.0, heater_w_m2=500.0, heater_temp_k=323.15), PRINT, 1, ALONG
)

FAIR = {
    "front_sun_w_m2": 900.0,
    "back_sun_w_m2": 100.0,
    "cover_sun_w_m2": 25.0,
    "air_temp_k": 295.15,
    "vapour_pressure_pa": 1100.0,
    "wind_m_s": 1.0,
    "front_radiant_temp_k": 285.15,
    "back_radiant_temp_k": 295.15,
    "tilt_rad": 0.6,
}
"""A fair day for an open plate; no two numbers equal by chance."""

INDOORS = FAIR | {
    "front_sun_w_m2": 0.0,
    "back_sun_w_m2": 0.0,
    "cover_sun_w_m2": 0.0,
    "wind_m_s": 0.05,
    "front_radiant_temp_k": 295.15,
}


def steady(pressure_pa: float = 101325.0, **changes: Any) -> Forcing:
    """Return a day on which nothing changes: `FAIR`, but for the changes."""
    fields = FAIR | changes
    fields["air_temp_k"] = np.asarray(fields["air_temp_k"], dtype=float)[..., None] * np.ones(2)
    return Forcing.of(0.0, 1e6, pressure_pa, **fields)


def outside(forcing: Forcing, cases: int = 1) -> Outside:
    """Return what acts at the start."""
    return forcing.at(np.zeros(cases, dtype=np.intp), np.zeros(cases))


def wet_sheet_temps_k(
    air_temp_k: Array, vapour_pressure_pa: Array, pressure_pa: float, lewis_factor: float | None
) -> Array:
    """Return what wet sheets that only the air heats come to, one for each air."""
    given = (np.asarray(each, dtype=float) for each in (air_temp_k, vapour_pressure_pa))
    airs, vapours = (np.atleast_1d(each) for each in np.broadcast_arrays(*given))
    wet = replace(HANGING_PRINT, emittance_frac=0.0, lewis_factor=lewis_factor)
    system = BoxSystem(replace(NO_PLATE, fixed_convection_w_m2_k=50.0), wet)
    no_sun = dict.fromkeys(("front_sun_w_m2", "back_sun_w_m2", "cover_sun_w_m2"), 0.0)
    two_minutes = np.ones(2)
    day = steady(
        pressure_pa,
        **no_sun,
        air_temp_k=airs,
        vapour_pressure_pa=vapours[:, None] * two_minutes,
    )
    cases = np.arange(airs.size, dtype=np.intp)
    begin, water = np.zeros(airs.size), np.full(airs.size, 3.0)
    run = run_print(
        system,
        day,
        cases,
        laid_on_at=begin,
        plate_temp_k=airs,
        sheet_temp_k=airs,
        water_kg_m2=water,
        dry_kg_m2=0.1,
        over_dry_kg_m2=0.05,
        horizon_s=1200.0,
    )
    return np.asarray(run.final.sheet_temp_k[:, 0])


def settle(
    system: BoxSystem,
    forcing: Forcing,
    plate_temp_k: float,
    for_s: float = 1e4,
    step_s: float = 100,
) -> tuple[State, Rates]:
    """Return the empty box long after the plate was at a temperature, and its rates there."""
    here, state = outside(forcing), system.start(np.array([plate_temp_k]))
    empty = np.zeros((1, system.slots), dtype=bool)
    now = rates(system, state, here, occupied=empty)
    for _ in range(round(for_s / step_s)):
        state, _ = step(
            system,
            state,
            now,
            later=here,
            occupied=empty,
            step_s=step_s,
        )
        now = rates(system, state, here, occupied=empty)
    return state, now
