"""The step in C against the numpy step, which is the reference, in every arrangement."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drybox.physics import c_library
from drybox.physics.plate_conduction import PlateConduction
from drybox.physics.simulation import compiled, run, step
from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.run import DryingRun, run_print
from drybox.physics.simulation.state import BoxSystem, State
from tests.boxes import ALONG, HANGING_PRINT, NO_PLATE, PRINT, STEEL

CASES = 40
PLATE = BoxSystem(STEEL, PRINT, 1, ALONG)
NINE = PlateConduction(1.2, 1.6, np.array([1.0, 0.8, 0.8, 0.7, 0.6]))
SPREAD = np.random.default_rng(5)


def spread(middle: float, columns: int | None = None) -> np.ndarray:
    """Return values that differ by case, and by slot where columns are asked for."""
    shape = CASES if columns is None else (CASES, columns)
    return middle * SPREAD.uniform(0.7, 1.4, shape)


def on_plate(**changes: object) -> BoxSystem:
    return replace(PLATE, sheet=replace(PRINT, **changes))


def box(**changes: object) -> BoxSystem:
    return replace(PLATE, plate=replace(STEEL, **changes))


ARRANGEMENTS = {
    "open plate": PLATE,
    "no print": replace(PLATE, slots=0),
    "lifting early": on_plate(lifts_at_moisture=spread(0.7, 1)),
    "pressed flat": on_plate(contact_wet_w_m2_k=250.0, contact_dry_w_m2_k=108.0),
    "on a cloth": on_plate(contact_wet_w_m2_k=20.0, contact_dry_w_m2_k=20.0),
    "plastic bin": box(back_loss_w_m2_k=6.5, back_in_wind=True, forced_factor=spread(1.3)),
    "hanging": BoxSystem(NO_PLATE, HANGING_PRINT, 1),
    "heater": box(heater_w_m2=spread(400.0), heater_temp_k=318.15, absorptance_frac=0.0),
    "book between blotters": on_plate(
        front_open_frac=0.2,
        back_open_frac=0.2,
        cover_resistance_m2_s_pa_kg=2e8,
        contact_wet_w_m2_k=0.0,
        contact_dry_w_m2_k=0.0,
    ),
    "fixed convection": box(fixed_convection_w_m2_k=12.0),
    "fixed convection 0": box(fixed_convection_w_m2_k=0.0),
    "fixed Lewis factor": on_plate(lewis_factor=0.9),
    "large print": on_plate(area_m2=0.0516, lone_film_factor=spread(1.15, 1)),
    "small print": on_plate(area_m2=0.003, critical_water_kg_m2=spread(0.1, 1)),
    "some slots taken": replace(
        PLATE, slots=4, conduction=NINE, sheet=replace(PRINT, absorptance_frac=spread(0.35, 4))
    ),
    "all slots taken": replace(
        PLATE, slots=6, conduction=NINE, sheet=replace(PRINT, lone_film_factor=spread(1.15, 1))
    ),
    "each its own": replace(
        box(emittance_frac=spread(0.6), absorptance_frac=spread(0.65), convection_factor=spread(1)),
        sheet=replace(
            PRINT,
            contact_wet_w_m2_k=spread(200.0, 1),
            contact_dry_w_m2_k=spread(40.0, 1),
            vapour_resistance_m2_s_pa_kg=spread(1e8, 1),
            critical_water_kg_m2=spread(0.1, 1),
        ),
    ),
}


def outside(rng: np.random.Generator, cold: bool) -> Outside:
    """Sun and shade, calm and wind, level and steep, by case."""
    air = rng.uniform(258.0, 272.0, CASES) if cold else rng.uniform(280.0, 310.0, CASES)
    return Outside(
        rng.uniform(0.0, 1000.0, CASES),
        rng.uniform(0.0, 200.0, CASES),
        np.zeros(CASES),
        air,
        rng.uniform(150.0, 300.0, CASES) if cold else rng.uniform(600.0, 2000.0, CASES),
        rng.uniform(0.0, 6.0, CASES) * (rng.random(CASES) > 0.2),
        air - rng.uniform(0.0, 20.0, CASES),
        air,
        rng.uniform(0.0, np.pi / 2, CASES),
        84000.0,
    )


def parts(state: State) -> tuple[np.ndarray, ...]:
    return state[:4]  # without a cover its temperature means nothing


@pytest.mark.skipif(c_library.engine() == "numpy", reason="the step was not compiled here")
@pytest.mark.parametrize("weather", ["mild", "below freezing"])
@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_the_compiled_step_is_the_numpy_step(name: str, weather: str) -> None:
    system, rng = ARRANGEMENTS[name], np.random.default_rng(11)
    cold = weather == "below freezing"
    before, later = outside(rng, cold), outside(rng, cold)
    slots = CASES, system.slots
    base = before.air_temp_k[:, None]
    state = State(
        before.air_temp_k + rng.uniform(-3.0, 45.0, CASES),
        base + rng.uniform(-3.0, 45.0, slots),
        base + rng.uniform(-8.0, 45.0, slots),
        rng.uniform(0.0, 0.3, slots),
        before.air_temp_k,
    )
    occupied = np.ones(slots, dtype=bool)
    if name == "some slots taken":
        occupied = rng.random(slots) > 0.4
        state = state._replace(water_kg_m2=np.where(occupied, state.water_kg_m2, 0.0))
    length = rng.choice([0.0, 0.05, 1.0, 20.0, 60.0], CASES)
    now = rates(system, state, before, occupied=occupied)
    moved, error = step.step(
        system,
        state,
        now,
        later=later,
        occupied=occupied,
        step_s=length,
    )
    ours = compiled.CompiledStep(system, CASES, step.GAMMA)(
        state, before, later, occupied=occupied, length_s=length
    )
    for found, expected in ((ours[0], moved), (ours[1], error)):
        for one, other in zip(parts(found), parts(expected), strict=True):
            np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-9)
    _, _, air, evaporated, heater = ours
    np.testing.assert_allclose(air.bare_coeff_w_m2_k, now.box.bare_coeff_w_m2_k, rtol=1e-9)
    np.testing.assert_allclose(air.sheet_coeff_w_m2_k, now.box.sheet_coeff_w_m2_k, rtol=1e-9)
    np.testing.assert_allclose(heater, now.heater_w_m2, rtol=1e-9)
    given_off = np.where(occupied, now.sheet.water_kg_m2_s, 0.0)
    np.testing.assert_allclose(evaporated, given_off, rtol=1e-9, atol=1e-15)


@pytest.mark.skipif(c_library.engine() == "numpy", reason="the step was not compiled here")
@pytest.mark.parametrize("limit_k", [None, (313.15, 343.15)])
@pytest.mark.parametrize("name", [n for n, system in ARRANGEMENTS.items() if system.slots == 1])
def test_a_compiled_run_is_the_numpy_run(
    name: str, limit_k: tuple[float, float] | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every print of forty, under clouds of its own, by what is told of it and where it ends."""
    system, rng = ARRANGEMENTS[name], np.random.default_rng(13)
    acts = [outside(rng, cold=False) for _ in range(9)]
    columns = {
        field: np.stack([getattr(each, field) for each in acts], axis=1)
        for field in Outside._fields[:-1]
    }
    forcing = Forcing.of(0.0, 600.0, 84000.0, **columns)
    member = np.arange(CASES)[::-1]
    plate_k = columns["air_temp_k"][member, 0] + rng.uniform(0.0, 30.0, CASES)

    def told() -> DryingRun:
        return run_print(
            system,
            forcing,
            member,
            laid_on_at=np.linspace(30.0, 700.0, CASES),
            plate_temp_k=plate_k,
            sheet_temp_k=plate_k - 5.0,
            water_kg_m2=np.linspace(0.01, 0.25, CASES),
            dry_kg_m2=0.0218,
            over_dry_kg_m2=0.015,
            horizon_s=3600.0,
            limit_k=limit_k,
            touch_dry_kg_m2=0.029,
        )

    ours = told()
    monkeypatch.setattr(run, "serves", lambda system: False)
    monkeypatch.setattr(step, "serves", lambda system: False)
    theirs = told()
    for field in compiled.TOLD:
        if field != "steps":
            one, other = getattr(ours, field), getattr(theirs, field)
            np.testing.assert_allclose(one, other, rtol=1e-7, atol=1e-7, err_msg=field)
    for one, other in zip(parts(ours.final), parts(theirs.final), strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-6, atol=1e-6)


SAYS_ENGINE = "from drybox.physics import c_library; print(c_library.engine())"


def test_the_numpy_step_serves_where_it_is_asked_for_or_the_library_is_of_another_text(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_ENGINE", "numpy")
    said = subprocess.run(
        [sys.executable, "-c", SAYS_ENGINE], capture_output=True, text=True, check=True
    )
    assert said.stdout.strip() == "numpy"
    monkeypatch.delenv("DRYBOX_ENGINE")
    changed = tmp_path / "step.c"
    changed.write_bytes(c_library.SOURCES[0].read_bytes() + b"\n")
    monkeypatch.setattr(c_library, "SOURCES", (changed, *c_library.SOURCES[1:]))
    assert c_library.library.__wrapped__() is None
