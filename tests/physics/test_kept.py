"""What a print keeps for a minute: the definition itself, on series and on finely stepped runs."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.physics.kept import EVERY_S, KEPT_S, Kept, limit_at_k
from drybox.physics.simulation.run import run_print
from drybox.physics.simulation.step_control import COARSE_STEPS, StepControl
from tests.boxes import OPEN, PRINT, SORPTION, WARM, steady

Array = NDArray[np.float64]
DRY_KG_M2 = SORPTION.water_kg_m2(0.6)
LIMIT_K = (320.0, 343.0)


def stepped(times_s: Array, values: Array, until_s: float = np.inf) -> float:
    """Return what `Kept` says of one straight-line series."""
    kept = Kept(values[:1, None])
    for at in range(times_s.size - 1):
        kept.passed(
            values[at : at + 1, None],
            values[at + 1 : at + 2, None],
            times_s[at : at + 1],
            times_s[at + 1 : at + 2] - times_s[at],
            np.array([until_s]),
        )
    return float(kept.most[0, 0])


def exact(times_s: Array, values: Array, until_s: float) -> float:
    """The definition by brute force: the best trailing minute, by the half second."""
    grid = np.arange(-KEPT_S, until_s + 1e-9, 0.5)
    fine = np.interp(grid, times_s, values)
    wide = round(KEPT_S / 0.5) + 1
    return float(np.lib.stride_tricks.sliding_window_view(fine, wide).min(axis=1).max())


def test_a_flash_does_not_count_and_what_lasts_a_minute_does() -> None:
    spike = np.array([0.0, 100.0, 110.0, 120.0, 300.0]), np.array([20.0, 20.0, 90.0, 20.0, 20.0])
    plateau = np.array([0.0, 100.0, 110.0, 180.0, 190.0]), np.array([20.0, 20.0, 50.0, 50.0, 20.0])
    assert stepped(*spike) == 20.0
    assert stepped(*plateau) == 50.0
    assert stepped(*plateau, until_s=165.0) < 50.0  # dry before the minute is over


@pytest.mark.parametrize("seed", range(8))
def test_steps_of_any_length_find_it_within_what_changes_between_samples(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lengths = rng.uniform(0.5, 70.0, 40)
    times = np.concatenate([[0.0], np.cumsum(lengths)])
    slopes = rng.uniform(-0.1, 0.1, 40)
    values = 300.0 + np.concatenate([[0.0], np.cumsum(lengths * slopes)])
    truth = exact(times, values, float(times[-1]))
    assert stepped(times, values) == pytest.approx(truth, abs=0.1 * EVERY_S)


@pytest.mark.parametrize("control", [StepControl(), COARSE_STEPS, StepControl(largest_s=300.0)])
def test_a_run_keeps_what_a_finely_stepped_and_recorded_one_shows(control: StepControl) -> None:
    spread = np.linspace(0.0, 1.0, 5)
    system = replace(OPEN, sheet=replace(PRINT, absorptance_frac=(0.2 + 0.6 * spread)[:, None]))
    cases = np.arange(5)
    weather = steady(air_temp_k=285.0 + 20.0 * spread)
    dried = partial(
        run_print,
        system,
        weather,
        cases,
        laid_on_at=np.zeros(5),
        plate_temp_k=300.0 + 30.0 * spread,
        sheet_temp_k=290.0 + spread,
        water_kg_m2=np.full(5, 0.2),
        dry_kg_m2=DRY_KG_M2,
        over_dry_kg_m2=DRY_KG_M2,
        horizon_s=3 * 3600.0,
        limit_k=LIMIT_K,
    )
    found, fine = dried(control=control), dried(control=StepControl(largest_s=2.0), record=True)
    for case in range(5):
        sheet, water = (fine.series[name][:, case] for name in ("sheet_temp_k", "water_kg_m2"))
        limit = limit_at_k(water, PRINT.critical_water_kg_m2, DRY_KG_M2, LIMIT_K)
        until = float(fine.dry_after_s[case])
        kept, over = (exact(fine.elapsed_s, each, until) for each in (sheet, sheet - limit))
        assert found.temp_kept_max_k[case] == pytest.approx(kept, abs=0.5)
        assert found.over_limit_k[case] == pytest.approx(over, abs=0.5)
        assert found.temp_kept_max_k[case] <= found.temp_max_k[case] + 1e-9


def test_the_limit_is_the_wet_one_with_free_water_and_runs_straight_to_the_dry_one() -> None:
    water = np.array([0.2, 0.1, 0.075, 0.05, 0.02])
    assert limit_at_k(water, 0.1, 0.05, (330.0, 340.0)) == pytest.approx([330, 330, 335, 340, 340])
    assert limit_at_k(water, 0.1, 0.05, (338.0, 338.0)) == pytest.approx([338.0] * 5)


def test_without_a_limit_nothing_is_over_it() -> None:
    one = np.zeros(1)
    found = run_print(
        WARM,
        steady(),
        np.zeros(1, int),
        laid_on_at=one,
        plate_temp_k=one + 315.0,
        sheet_temp_k=one + 293.0,
        water_kg_m2=one + 0.18,
        dry_kg_m2=DRY_KG_M2,
        over_dry_kg_m2=DRY_KG_M2,
        horizon_s=1e5,
    )
    assert found.over_limit_k[0] == -np.inf
