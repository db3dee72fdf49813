"""What a run says of a print: the same as its series, as far as it is followed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from drybox.physics.simulation import run as drying_run
from drybox.physics.simulation.run import WAIT_OVER_DRY_S, DryingRun, run_print
from drybox.physics.simulation.state import BoxSystem
from tests.boxes import FAIR, HANGING, INDOORS, OPEN, PRINT, SORPTION, WARM, steady

DRY_KG_M2, OVER_DRY_KG_M2 = SORPTION.water_kg_m2(0.6), SORPTION.water_kg_m2(0.3)
NEVER_KG_M2 = 0.0


def run(
    system: BoxSystem,
    over_dry_kg_m2: float = OVER_DRY_KG_M2,
    horizon_s: float = 1e5,
    **weather: Any,
) -> DryingRun:
    one = np.zeros(1, dtype=np.intp)
    return run_print(
        system,
        steady(**weather),
        one,
        laid_on_at=np.zeros(1),
        plate_temp_k=np.array([315.0]),
        sheet_temp_k=np.array([293.0]),
        water_kg_m2=np.array([0.18]),
        dry_kg_m2=DRY_KG_M2,
        over_dry_kg_m2=over_dry_kg_m2,
        horizon_s=horizon_s,
        record=True,
    )


@pytest.mark.parametrize(
    ("system", "weather"), [(WARM, INDOORS), (HANGING, FAIR)], ids=["warm plate", "line"]
)
def test_what_a_run_says_is_what_its_series_shows(
    system: BoxSystem, weather: dict[str, float]
) -> None:
    found = run(system, **weather)
    series = {name: values[:, 0] for name, values in found.series.items()}
    water, sheet, plate = (series[name] for name in ("water_kg_m2", "sheet_temp_k", "plate_temp_k"))
    times, dry = found.elapsed_s, found.dry_after_s[0]
    assert dry == pytest.approx(np.interp(-DRY_KG_M2, -water, times))
    assert found.over_dry_after_s[0] == pytest.approx(np.interp(-OVER_DRY_KG_M2, -water, times))
    drying = np.concatenate([[True], times[:-1] < dry])
    wet = water >= PRINT.critical_water_kg_m2
    wet[0] = False  # as it comes, before the first step
    assert found.wet_temp_max_k[0] == sheet[wet].max()
    assert found.temp_max_k[0] == sheet[drying].max() > found.wet_temp_max_k[0]
    assert found.plate_temp_max_k[0] == plate[drying].max()
    short_k = system.plate.heater_temp_k - plate
    power_w = 500.0 * np.clip(short_k / 2.0, 0.0, 1.0) * (system is WARM) * system.plate.area_m2
    assert found.heater_j[0] == pytest.approx(np.trapezoid(power_w[drying], times[drying]))
    assert (found.heater_j[0] > 0) == (system is WARM)
    assert found.steps[0] == times.size - 1
    for name, values in series.items():
        assert np.ravel(getattr(found.final, name))[0] == values[-1]


def test_a_dry_print_is_followed_half_as_long_again_and_half_an_hour_at_least() -> None:
    quick, slow = run(OPEN, NEVER_KG_M2), run(HANGING, NEVER_KG_M2, **INDOORS)
    assert quick.dry_after_s[0] < 2 * WAIT_OVER_DRY_S < slow.dry_after_s[0]
    for found, until in (
        (quick, quick.dry_after_s[0] + WAIT_OVER_DRY_S),
        (slow, 1.5 * slow.dry_after_s[0]),
    ):
        assert found.elapsed_s[-2] <= until < found.elapsed_s[-1]
        assert np.isinf(found.over_dry_after_s[0])


def test_a_print_that_never_dries_is_followed_to_the_horizon() -> None:
    found = run(HANGING, horizon_s=1234.5, **INDOORS)
    assert found.elapsed_s[-1] == pytest.approx(1234.5)
    assert np.isinf(found.dry_after_s[0])
    assert found.temp_max_k[0] == found.series["sheet_temp_k"].max()


def test_cases_run_in_blocks_are_each_what_they_are_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Prints of all kinds leave one after the other; the last was dry before it came."""
    monkeypatch.setattr(drying_run, "BLOCK", 4)
    spread, cases = np.linspace(0.0, 1.0, 6), np.arange(6)
    dull = replace(PRINT, absorptance_frac=(0.2 + 0.6 * spread)[:, None])
    system = replace(OPEN, sheet=dull)
    forcing, laid = steady(air_temp_k=280.0 + 25.0 * spread), 600.0 * spread
    start = {
        "laid_on_at": laid,
        "plate_temp_k": 300.0 + 30.0 * spread,
        "sheet_temp_k": 290.0 + spread,
        "water_kg_m2": DRY_KG_M2 + 0.2 * spread[::-1],
    }
    dried = partial(run_print, dry_kg_m2=DRY_KG_M2, over_dry_kg_m2=OVER_DRY_KG_M2)
    together = dried(system, forcing, cases, **start, horizon_s=3 * 3600.0)
    recorded = dried(system, forcing, cases, **start, horizon_s=900.0, record=True)
    assert recorded.series["plate_temp_k"].shape == (recorded.elapsed_s.size, 6)
    assert np.isfinite(recorded.over_dry_after_s).sum() > 1
    for case in range(6):
        some = np.array([case])
        own = {name: each[some] for name, each in start.items()}
        alone = dried(system.some(some, 6), forcing, some, **own, horizon_s=3 * 3600.0)
        for name in ("dry_after_s", "over_dry_after_s", "wet_temp_max_k", "temp_max_k", "steps"):
            assert getattr(together, name)[case] == pytest.approx(getattr(alone, name)[0]), name
        assert together.final.plate_temp_k[case] == pytest.approx(alone.final.plate_temp_k[0])
