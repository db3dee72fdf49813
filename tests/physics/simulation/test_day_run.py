"""A plate and its prints through a day: as a single run says, in any step, and each for all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.day_run import PlateDay
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_print
from drybox.physics.simulation.state import BoxSystem, stored_j
from drybox.physics.simulation.step_control import StepControl
from tests.boxes import GLASS, HANGING, OPEN, STEEL

Array = NDArray[np.float64]
WET_KG_M2, DRY_KG_M2 = 0.2, 0.0218
MARKS = 0.029, DRY_KG_M2
SLOTS = replace(OPEN, slots=6)
COVERED_SLOTS = replace(SLOTS, plate=replace(STEEL, cover=GLASS, reflected_back_frac=0.15))


def day(members: int = 4, seed: int = 3, clouds: bool = False) -> Forcing:
    """Four hours by the minute, the members under different suns; clouds by a switch."""
    rng = np.random.default_rng(seed)
    sun = np.repeat(rng.uniform(350, 750, (members, 1)), 241, axis=1)
    if clouds:
        sun = sun * np.repeat(rng.uniform(0.15, 1.0, (members, 61)), 4, axis=1)[:, :241]
    return Forcing.of(
        0.0,
        60.0,
        101325.0,
        front_sun_w_m2=sun,
        back_sun_w_m2=0.0,
        cover_sun_w_m2=20.0,
        air_temp_k=295.15,
        vapour_pressure_pa=1300.0,
        wind_m_s=rng.uniform(0.5, 2.0, (members, 1)),
        front_radiant_temp_k=285.15,
        back_radiant_temp_k=295.15,
        tilt_rad=0.6,
    )


def lay(plate: PlateDay, slot: int, water_kg_m2: float = WET_KG_M2) -> None:
    cases = np.arange(plate.occupied.shape[0])
    each = np.ones(cases.size)
    sheet = plate.sheet
    plate.lay_on(
        cases,
        np.full(cases.size, slot),
        293.15,
        water_kg_m2=water_kg_m2 * each,
        contact_wet_w_m2_k=float(np.max(sheet.contact_wet_w_m2_k)) * each,
        contact_dry_w_m2_k=float(np.max(sheet.contact_dry_w_m2_k)) * each,
        absorptance_frac=float(np.max(sheet.absorptance_frac)) * each,
    )


def plate_day(system: BoxSystem, forcing: Forcing) -> PlateDay:
    return PlateDay(system, forcing, np.arange(forcing.members), start_at=0.0, marks_kg_m2=MARKS)


def through(
    system: BoxSystem, forcing: Forcing, step_s: float, laid_at: list[float], until_at: float
) -> Array:
    """Return when each print is dry, laid on one to a slot, (prints, members)."""
    plate = plate_day(system, forcing)
    dry = np.full((len(laid_at), forcing.members), np.inf)
    waiting = list(enumerate(laid_at))
    while float(plate.time_at) < until_at:
        while waiting and waiting[0][1] <= float(plate.time_at) + 1e-6:
            lay(plate, waiting.pop(0)[0])
        found = plate.advance(step_s)[1].T
        dry[: found.shape[0]] = np.minimum(dry[: found.shape[0]], found)
    return dry


@pytest.mark.parametrize("system", [SLOTS, HANGING], ids=["open", "line"])
def test_one_print_dries_as_in_a_run_of_its_own_with_short_steps(system: BoxSystem) -> None:
    forcing = day()
    slots_left_bare = replace(system, slots=1)
    plate = plate_day(slots_left_bare, forcing)
    while float(plate.time_at) < 3600.0:
        plate.advance(30.0)
    start_k = plate.state.plate_temp_k.copy()
    lay(plate, 0)
    dry = np.full(forcing.members, np.inf)
    for _ in range(360):
        dry = np.minimum(dry, plate.advance(30.0)[1, :, 0])
    own = run_print(
        slots_left_bare,
        forcing,
        np.arange(4),
        laid_on_at=np.full(4, 3600.0),
        plate_temp_k=start_k,
        sheet_temp_k=np.full(4, 293.15),
        water_kg_m2=np.full(4, WET_KG_M2),
        dry_kg_m2=DRY_KG_M2,
        over_dry_kg_m2=DRY_KG_M2,
        horizon_s=3 * 3600.0,
        control=StepControl().finer(3.0),
    )
    assert np.isfinite(dry).all()
    np.testing.assert_allclose(dry - 3600.0, own.dry_after_s, rtol=0.002)


@pytest.mark.parametrize(
    ("system", "clouds", "step_s"),
    [
        pytest.param(SLOTS, False, 60.0, id="steady sun"),
        pytest.param(SLOTS, True, 60.0, id="clouds"),
        pytest.param(COVERED_SLOTS, True, 30.0, id="cover and clouds", marks=pytest.mark.slow),
    ],
)
def test_the_steps_of_a_day_move_a_drying_time_by_less_than_half_a_percent(
    system: BoxSystem, clouds: bool, step_s: float
) -> None:
    forcing = day(12, clouds=clouds)
    laid = [1800.0, 2520.0, 3240.0, 3960.0, 4680.0, 5400.0]
    coarse, fine = (through(system, forcing, step, laid, 13000.0) for step in (step_s, 5.0))
    known = np.isfinite(fine)
    assert known.mean() > 0.9
    lasts = (fine - np.array(laid)[:, None])[known]
    miss = (coarse - fine)[known] / lasts
    assert np.sqrt((miss**2).mean()) < 0.003
    assert np.abs(miss.mean()) < 0.0005


def test_a_cold_wet_print_cools_its_patch_its_neighbours_and_all_the_plate() -> None:
    forcing = day()
    alone = through(SLOTS, forcing, 30.0, [3600.0], 13000.0)[0]
    crowded = through(SLOTS, forcing, 30.0, [3600.0] * 6, 13000.0)
    assert (crowded[0] > alone + 60.0).all()
    plate = plate_day(SLOTS, forcing)
    while float(plate.time_at) < 3600.0:
        plate.advance(30.0)
    before = plate.state.plate_temp_k.copy()
    lay(plate, 0)
    for _ in range(10):
        plate.advance(30.0)
    assert (plate.state.plate_temp_k < before - 0.2).all()
    assert (plate.state.patch_temp_k[:, 0] < plate.state.plate_temp_k - 3.0).all()


def test_laying_on_keeps_the_heat_of_print_and_plate() -> None:
    forcing = day()
    plate = plate_day(SLOTS, forcing)
    while float(plate.time_at) < 3600.0:
        plate.advance(30.0)
    system = replace(SLOTS, slots=1)
    empty = stored_j(system, plate.state, plate.occupied)
    lay(plate, 0)
    laid = stored_j(system, plate.state, plate.occupied)
    sheet, water = SLOTS.sheet, plate.state.water_kg_m2[:, 0]
    brought = sheet.area_m2 * (sheet.dry_heat_j_m2_k + WET_KG_M2 * 4186.0) * 293.15
    kept = sheet.area_m2 * (water - WET_KG_M2) * 4186.0 * plate.state.sheet_temp_k[:, 0]
    np.testing.assert_allclose(laid - empty - kept, brought, rtol=1e-3)
    assert ((water > WET_KG_M2) & (water < WET_KG_M2 + 0.003)).all()


def test_a_print_laid_on_is_at_once_in_the_balance_that_it_stays_in_for_a_while() -> None:
    forcing = day()
    plate = plate_day(SLOTS, forcing)
    while float(plate.time_at) < 3600.0:
        plate.advance(30.0)
    lay(plate, 0)
    here = forcing.at(np.arange(4), np.full(4, 3600.0))
    now = rates(replace(SLOTS, slots=1), plate.state, here, occupied=plate.occupied)
    off_k = now.sheet_w_m2 / now.sheet_slope
    assert np.abs(off_k).max() < StepControl().temp_error_k


def test_plates_and_covers_of_their_own_are_each_what_they_are_alone() -> None:
    """Prints are laid on in two of the cases only."""
    forcing, emittance = day(), np.array([0.2, 0.5, 0.7, 0.95])
    which = np.array([1, 3])
    plate = replace(COVERED_SLOTS.plate, emittance_frac=emittance)
    together = plate_day(replace(COVERED_SLOTS, plate=plate), forcing)
    for _ in range(20):
        together.advance(30.0)
    together.lay_on(
        which,
        np.zeros(2, dtype=np.intp),
        293.15,
        water_kg_m2=np.full(2, WET_KG_M2),
        contact_wet_w_m2_k=np.full(2, 200.0),
        contact_dry_w_m2_k=np.full(2, 40.0),
        absorptance_frac=np.full(2, 0.35),
    )
    for _ in range(20):
        together.advance(30.0)
    for case in which:
        own = replace(COVERED_SLOTS.plate, emittance_frac=float(emittance[case]))
        alone = PlateDay(
            replace(COVERED_SLOTS, plate=own),
            forcing,
            np.array([case]),
            start_at=0.0,
            marks_kg_m2=MARKS,
        )
        for _ in range(20):
            alone.advance(30.0)
        lay(alone, 0)
        for _ in range(20):
            alone.advance(30.0)
        for one, all_of_them in zip(alone.state, together.state, strict=True):
            np.testing.assert_allclose(all_of_them[case], one[0], rtol=1e-9)


def test_a_slot_that_nobody_used_is_bare_plate() -> None:
    forcing = day()
    few, many = plate_day(SLOTS, forcing), plate_day(SLOTS, forcing)
    nobody = np.arange(0)
    one = np.ones(1)
    many.lay_on(
        np.arange(1),
        np.array([5]),
        293.15,
        water_kg_m2=one,
        contact_wet_w_m2_k=one,
        contact_dry_w_m2_k=one,
        absorptance_frac=one,
    )
    many.take_off(many.occupied)
    assert (few.slots, many.slots, nobody.size) == (1, 6, 0)
    for _ in range(120):
        few.advance(30.0)
        many.advance(30.0)
    np.testing.assert_allclose(few.state.plate_temp_k[1:], many.state.plate_temp_k[1:], atol=0.05)
    np.testing.assert_allclose(
        many.state.patch_temp_k[1:, 5], many.state.plate_temp_k[1:], atol=0.05
    )


def test_a_slot_is_as_warm_as_ever_some_time_after_its_print_is_gone() -> None:
    forcing = day()
    plate, empty = plate_day(SLOTS, forcing), plate_day(SLOTS, forcing)
    lay(plate, 0)
    for _ in range(60):
        plate.advance(30.0)
        empty.advance(30.0)
    assert (plate.state.plate_temp_k < empty.state.plate_temp_k).all()
    plate.take_off(plate.occupied.copy())
    assert not plate.occupied.any()
    for _ in range(240):
        plate.advance(30.0)
        empty.advance(30.0)
    np.testing.assert_allclose(plate.state.plate_temp_k, empty.state.plate_temp_k, atol=0.3)


def test_cases_with_starts_of_their_own_are_each_what_they_are_alone() -> None:
    forcing = day(clouds=True)
    starts = np.array([0.0, 1800.0, 3600.0, 5400.0])
    together = PlateDay(SLOTS, forcing, np.arange(4), start_at=starts, marks_kg_m2=MARKS)
    for _ in range(40):
        together.advance(60.0)
    assert starts[0] == 0.0
    for case, start in enumerate(starts):
        alone = PlateDay(SLOTS, forcing, np.array([case]), start_at=float(start), marks_kg_m2=MARKS)
        for _ in range(40):
            alone.advance(60.0)
        np.testing.assert_allclose(
            together.state.plate_temp_k[case], alone.state.plate_temp_k[0], rtol=1e-9
        )


def test_slots_given_back_keep_the_heat_and_the_other_prints() -> None:
    forcing = day()
    plate, kept = plate_day(SLOTS, forcing), plate_day(SLOTS, forcing)
    for each in (plate, kept):
        while float(each.time_at) < 3600.0:
            each.advance(30.0)
        for slot in (0, 1, 3):
            lay(each, slot)
        for _ in range(20):
            each.advance(30.0)
        each.take_off(np.arange(4) % 2 == 1)
    assert plate.slots == 4
    full = stored_j(replace(SLOTS, slots=4), plate.state, plate.occupied)
    plate.give_back_slots()
    assert plate.slots == 1
    left = stored_j(replace(SLOTS, slots=1), plate.state, plate.occupied)
    np.testing.assert_allclose(left, full, rtol=1e-13)
    np.testing.assert_array_equal(plate.state.water_kg_m2, kept.state.water_kg_m2[:, :1])
    dry = [np.full(forcing.members, np.inf) for _ in range(2)]
    for which, each in enumerate((plate, kept)):
        lay(each, 1, 0.15)
        for _ in range(240):
            dry[which] = np.minimum(dry[which], each.advance(30.0)[1, :, 1])
    np.testing.assert_allclose(dry[0] - 4200.0, dry[1] - 4200.0, rtol=0.05)
    plate.give_back_slots()
    assert plate.slots == 2, "a slot with a print in it stays"


def test_joined_days_are_each_what_they_were() -> None:
    one, other = day(2, seed=1, clouds=True), day(3, seed=2, clouds=True)
    joined, time = Forcing.joined([one, other]), 1234.0
    together = joined.at(np.arange(5), np.full(5, time))
    first, second = (
        part.at(np.arange(part.members), np.full(part.members, time)) for part in (one, other)
    )
    for name in ("front_sun_w_m2", "wind_m_s", "air_temp_k"):
        parts = [getattr(first, name), getattr(second, name)]
        np.testing.assert_array_equal(getattr(together, name), np.concatenate(parts))
    assert joined.members == 5
