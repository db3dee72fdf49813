"""How fast a season and the drying engine are, as ratios in one run; no time is asserted.

Run with ``pytest -m benchmark -s tests/benchmarks``. What was reached stands in
tests/records/speed.md.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from drybox.inputs.event.event import Event, load_event
from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import DryingRun, run_print
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import box_system, dry_targets
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import draw
from drybox.planning.season.times import PLATE_STEPS
from tests.benchmarks.measure import best, fastest_s, ran, say

pytestmark = pytest.mark.benchmark

STARTS = 100_000
HORIZON_S = 3 * 3600.0


def test_a_season_against_importing_pvlib() -> None:
    import pvlib

    station = str(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
    season = ["-m", "drybox", "season", "--weather", station, "--format", "json"]
    turns = [(ran(["-c", "import pvlib"]), ran(season)) for _ in range(3)]
    alone, whole = (best(list(runs)) for runs in zip(*turns, strict=True))
    say(
        f"season: {whole.wall_s:.2f} s (processor {whole.processor_s:.2f} s) against import pvlib "
        f"{alone.wall_s:.2f} s ({alone.processor_s:.2f} s): "
        f"{whole.wall_s / alone.wall_s:.2f} times, aim 2"
    )


def test_a_tour_of_twenty_fairs_against_importing_pvlib(tmp_path: Path) -> None:
    """Twenty places of one latitude and one year's file; by the clock, since it takes all cores."""
    import pvlib

    station = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    rows = [f"fair {n};36.1, {-80 + 0.2 * n:.1f};2027-06-{n + 1:02};{station}" for n in range(20)]
    tour = tmp_path / "tour.csv"
    tour.write_text("\n".join(["name;coordinates;date;weather", *rows]), encoding="utf-8")
    alone, whole = ran(["-c", "import pvlib"]), ran(["-m", "drybox", "season", "--tour", str(tour)])
    say(
        f"tour of 20 fairs: {whole.wall_s:.1f} s by the clock, {whole.peak_mb:.0f} MB, against "
        f"import pvlib {alone.wall_s:.2f} s: {whole.wall_s / alone.wall_s:.1f} times (aim 20)"
    )


def fair_day() -> tuple[Event, Forcing]:
    place = {"place.latitude": 46.95, "place.longitude": 13.4, "event.date": "2027-06-12"}
    event = load_event(None, place | {"weather.cloud": "3 oktas"})
    told = conditions(
        event.weather, event.place, event.opens_at, end_at=event.opens_at + 8 * 3600.0
    )
    ensemble = draw(told, "steady", 200, seed=1)
    aim = np.full(told.time_at.shape, 200.0), np.full(told.time_at.shape, 35.0)
    return event, plate_forcing(ensemble, event.place, event.box, aim_deg=aim)


def laid_on(
    event: Event, forcing: Forcing, count: int, control: StepControl | None = None
) -> DryingRun:
    """Dry many prints, laid on in the fair's first three hours."""
    member = np.arange(count) % forcing.members
    at_s = np.asarray(event.opens_at + (np.arange(count) * 7.0) % (3 * 3600.0), dtype=float)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2
    return run_print(
        box_system(event.box, event.paper),
        forcing,
        member,
        laid_on_at=at_s,
        plate_temp_k=np.full(count, 323.15),
        sheet_temp_k=forcing.at(member, at_s).air_temp_k,
        water_kg_m2=np.full(count, event.paper.water_kg_m2),
        dry_kg_m2=dry,
        over_dry_kg_m2=dry,
        horizon_s=HORIZON_S,
        control=control,
    )


@pytest.mark.parametrize("control", [None, PLATE_STEPS], ids=["usual", "season"])
def test_the_engine_at_many_laying_on_times(control: StepControl | None) -> None:
    event, forcing = fair_day()
    found: list[DryingRun] = []
    spent = fastest_s(
        lambda: found.append(laid_on(event, forcing, STARTS, control)), time.process_time, 2
    )
    steps = float(found[-1].steps.sum())
    say(
        f"engine, {STARTS} laying-ons: {spent:.2f} s of one processor, {steps / STARTS:.0f} steps "
        f"a print, {1e9 * spent / steps:.0f} ns a step of one print, aim 25"
    )
    assert np.isfinite(found[-1].dry_after_s).mean() > 0.9


def by_scipy(
    event: Event, forcing: Forcing, system: BoxSystem, case: int, method: str, rtol: float
) -> float:
    """Return one print's drying time by a general solver on the same rates. [s]"""
    member = np.array([case % forcing.members])
    at_s = event.opens_at + (case * 7.0) % (3 * 3600.0)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2
    occupied = np.ones((1, 1), dtype=bool)
    plate_c = system.plate.heat_capacity_j_m2_k

    def slopes(elapsed_s: float, y: np.ndarray) -> list[float]:
        state = State(
            y[:1], y[1:2, None], y[2:3, None], np.maximum(y[3:4, None], 0.0), np.array([293.15])
        )
        outside = forcing.at(member, np.array([at_s + elapsed_s]))
        now = rates(system, state, outside, occupied=occupied)
        return [
            float(now.plate_w_m2[0] / plate_c),
            float(now.patch_w_m2[0, 0] / plate_c),
            float(now.sheet_w_m2[0, 0] / now.sheet.heat_capacity_j_m2_k[0, 0]),
            float(-now.sheet.water_kg_m2_s[0, 0]),
        ]

    def is_dry(elapsed_s: float, y: np.ndarray) -> float:
        return float(y[3] - dry)

    is_dry.terminal = True  # type: ignore[attr-defined]
    air = float(forcing.at(member, np.array([at_s])).air_temp_k[0])
    start = [323.15, 323.15, air, event.paper.water_kg_m2]
    found = solve_ivp(
        slopes, (0.0, HORIZON_S), start, method, events=is_dry, rtol=rtol,
        atol=[rtol * 10, rtol * 10, rtol * 10, rtol * 0.01], max_step=300.0,
    )  # fmt: skip
    return float(found.t_events[0][0]) if found.t_events[0].size else np.inf


@pytest.mark.parametrize("method", ["LSODA", "Radau"])
def test_the_engine_against_scipy_print_by_print(method: str) -> None:
    """At tolerances where the general solver's median error is about that of the engine."""
    event, forcing = fair_day()
    system = box_system(event.box, event.paper)
    many = laid_on(event, forcing, STARTS)
    ours_s = fastest_s(lambda: laid_on(event, forcing, STARTS), time.process_time, 1) / STARTS
    cases = list(range(0, 40_000, 5_003))
    exact = np.array([by_scipy(event, forcing, system, case, "LSODA", 1e-8) for case in cases])
    ours = np.median(np.abs(many.dry_after_s[cases] / exact - 1))
    for rtol in (1e-3, 1e-4, 1e-5):
        begin = time.process_time()
        theirs = np.array([by_scipy(event, forcing, system, c, method, rtol) for c in cases])
        spent = (time.process_time() - begin) / len(cases)
        error = float(np.median(np.abs(theirs / exact - 1)))
        if error <= max(ours, 2e-4):
            break
    say(
        f"engine against {method} (rtol {rtol:g}): {1e3 * spent:.0f} ms against "
        f"{1e3 * ours_s:.3f} ms a print, {spent / ours_s:.0f} times, aim 300; median errors "
        f"{error:.5f} and {ours:.5f}"
    )
    assert ours < 0.005
