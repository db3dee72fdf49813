"""The step alone: of second order, and exact enough over a minute in which all changes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step import step
from drybox.physics.simulation.step_control import StepControl
from tests.boxes import COVERED, FAIR, HANGING, OPEN, WARM

MINUTE_S = 60.0
ONE = np.zeros(1, dtype=np.intp)
CHANGES: dict[str, Any] = {
    "front_sun_w_m2": (300.0, 900.0),
    "back_sun_w_m2": (30.0, 430.0),
    "cover_sun_w_m2": (10.0, 30.0),
    "air_temp_k": (290.0, 296.0),
    "vapour_pressure_pa": (900.0, 1900.0),
}
SYSTEMS = {
    "open": replace(OPEN, slots=2),
    "covered": replace(COVERED, slots=2),
    "warm": replace(WARM, slots=2),
    "line": HANGING,
}


def minute(*changing: str, from_at: float = 0.0) -> Forcing:
    """Return a minute in which some of the weather changes; before it nothing does."""
    ends = {name: np.array([both]) for name, both in CHANGES.items()}
    weather = FAIR | {
        name: both if name in changing else both[:, :1] for name, both in ends.items()
    }
    weather["tilt_rad"] = np.full((1, 2), 0.6)
    return Forcing.of(from_at, MINUTE_S, 101325.0, **weather)


def filled(system: BoxSystem) -> NDArray[np.bool_]:
    return np.arange(system.slots)[None, :] < 1


def path(
    system: BoxSystem, forcing: Forcing, state: State, step_s: float, for_s: float
) -> list[State]:
    """Return the state at the end of every step."""
    occupied, here = filled(system), forcing.at(ONE, np.zeros(1))
    now, states = rates(system, state, here, occupied=occupied), []
    for end in step_s * np.arange(1, round(for_s / step_s) + 1):
        here = forcing.at(ONE, np.array([end]))
        state, _ = step(
            system,
            state,
            now,
            later=here,
            occupied=occupied,
            step_s=step_s,
        )
        now = rates(system, state, here, occupied=occupied)
        states.append(state)
    return states


def moved_on(*how: Any) -> State:
    return path(*how)[-1]


def settled(system: BoxSystem) -> State:
    """Return a box with a wet print on it that is no longer as cold as it came."""
    state = system.lay_on(
        system.start(np.array([312.0])), 0, np.array([300.0]), water_kg_m2=np.array([0.15])
    )
    return moved_on(system, minute(from_at=1e6), state, 1.0, 40.0)


def apart(one: State, other: State) -> NDArray[np.float64]:
    return np.array([np.abs(a - b).max() for a, b in zip(one, other, strict=True)])


@pytest.mark.parametrize("name", SYSTEMS)
def test_half_the_step_leaves_a_quarter_of_the_error(name: str) -> None:
    system, forcing = SYSTEMS[name], minute(*CHANGES)
    start = settled(system)
    exact, whole, half = (
        path(system, forcing, start, 1.0 / steps, 20.0)[steps - 1 :: steps] for steps in (16, 1, 2)
    )

    def worst(states: list[State]) -> NDArray[np.float64]:
        each_second = zip(states, exact, strict=True)
        return np.array([apart(one, right) for one, right in each_second]).max(axis=0)

    parts = slice(None) if system.plate.cover is not None else slice(4)
    np.testing.assert_allclose(worst(whole)[parts] / worst(half)[parts], 4.0, rtol=0.1)


@pytest.mark.parametrize("changing", CHANGES)
@pytest.mark.parametrize("name", SYSTEMS)
def test_one_step_follows_a_minute_in_which_the_weather_changes(name: str, changing: str) -> None:
    """A sheet is in balance within seconds; the runs' claim of 0.25 K holds for one step of it."""
    system, forcing = SYSTEMS[name], minute(changing)
    start = settled(system)
    exact = moved_on(system, forcing, start, 0.5, MINUTE_S)
    found = moved_on(system, forcing, start, MINUTE_S, MINUTE_S)
    assert (apart(found, exact) < np.array([0.25, 0.25, 0.25, 0.0005, 0.25])).all()


@pytest.mark.parametrize("name", SYSTEMS)
def test_the_error_estimate_is_what_sets_the_step_off_from_one_of_first_order(name: str) -> None:
    """It falls with the square of the step, and so does the error of the first-order step."""
    system, forcing = SYSTEMS[name], minute(*CHANGES)
    start, occupied, here = settled(system), filled(system), forcing.at(ONE, np.zeros(1))
    now = rates(system, start, here, occupied=occupied)
    estimates, errors = [], []
    for step_s in (0.25, 0.125):
        later = forcing.at(ONE, np.array([step_s]))
        moved, error = step(
            system,
            start,
            now,
            later=later,
            occupied=occupied,
            step_s=step_s,
        )
        exact = moved_on(system, forcing, start, step_s / 16, step_s)
        estimates.append(apart(error, State(*(np.zeros_like(part) for part in error))))
        errors.append(apart(State(*(a - b for a, b in zip(moved, error, strict=True))), exact))
    parts = slice(None) if system.plate.cover is not None else slice(4)
    np.testing.assert_allclose((estimates[0] / estimates[1])[parts], 4.0, rtol=0.1)
    np.testing.assert_allclose((errors[0] / errors[1])[parts], 4.0, rtol=0.1)


def test_steps_end_with_the_stretches_of_the_weather_and_with_the_run() -> None:
    control, until_at = StepControl(), 301.0
    for wanted_s in (0.7, 13.0, 29.9, 30.0, 60.0, 500.0):
        clock, ends = 7.0, []
        while clock < until_at:
            left = np.array([until_at - clock])
            length = control.fitted_s(np.array([wanted_s]), np.array([clock]), left)[0]
            assert 0.0 < length <= min(wanted_s, 60.0) + 1e-9
            clock += length
            ends.append(clock)
        for minute_s in (60.0, 120.0, 180.0, 240.0, 300.0, until_at):
            assert np.abs(np.array(ends) - minute_s).min() < 1e-6
        even = np.diff([end for end in ends if 60.0 - 1e-6 < end < 120.0 + 1e-6])
        np.testing.assert_allclose(even, 60.0 / np.ceil(60.0 / min(wanted_s, 60.0) - 1e-9))


def test_the_next_step_goes_with_the_root_of_what_the_error_allows() -> None:
    control = StepControl()

    def then_s(taken_s: float, miss: float, wanted_s: float | None = None) -> float:
        wanted = np.array([taken_s if wanted_s is None else wanted_s])
        return float(control.next_s(np.array([taken_s]), wanted, np.array([miss]))[0])

    assert then_s(10.0, 0.81) == pytest.approx(10.0)
    assert then_s(10.0, 0.81 / 4) == pytest.approx(20.0)
    assert then_s(10.0, 0.81 * 4) == pytest.approx(5.0)
    assert then_s(10.0, 0.0) == pytest.approx(30.0), "three times as long at most"
    assert then_s(10.0, 1e6) == pytest.approx(2.0), "a fifth at least"
    assert then_s(50.0, 0.01) == 60.0
    assert then_s(0.06, 1e6) == 0.05
    assert then_s(2.0, 0.1, wanted_s=40.0) == 40.0, (
        "a step cut short by the minute was not too long"
    )
    assert then_s(2.0, 1.5, wanted_s=40.0) < 2.0


def test_an_error_counts_over_what_each_part_is_allowed() -> None:
    system, forcing = SYSTEMS["covered"], minute()
    state = settled(system)
    now = rates(
        system,
        state,
        forcing.at(ONE, np.zeros(1)),
        occupied=filled(system),
    )
    none = State(*(np.zeros_like(part) for part in state))

    def missed(
        of: BoxSystem, control: StepControl, elapsed_s: float = 600.0, **errors: float
    ) -> float:
        error = none._replace(**{part: getattr(none, part) - by for part, by in errors.items()})
        return float(
            control.miss_ratio(
                error, now.sheet.water_kg_m2_s, system=of, elapsed_s=np.array([elapsed_s])
            )[0]
        )

    control = StepControl(temp_error_k=0.2, time_error_frac=0.002)
    for part in ("plate_temp_k", "patch_temp_k", "sheet_temp_k", "cover_temp_k"):
        assert missed(system, control, **{part: 0.1}) == pytest.approx(0.5), part
        assert missed(system, control.finer(2.0), **{part: 0.1}) == pytest.approx(2.0), part
    assert missed(SYSTEMS["open"], control, cover_temp_k=0.1) == 0.0
    assert missed(SYSTEMS["warm"], control, plate_temp_k=0.1) == pytest.approx(5.0), "of its band"
    bound = 0.002 * system.sheet.sorption.saturated_kg_m2
    soon = missed(system, control, water_kg_m2=bound, elapsed_s=0.0)
    drying = float(now.sheet.water_kg_m2_s.max())
    assert soon == pytest.approx(bound / max(0.002 * 60.0 * drying, 0.1 * bound), rel=0.1)
    assert missed(system, control, water_kg_m2=bound, elapsed_s=1e7) == pytest.approx(1.0, rel=0.1)


def test_steps_under_a_cover_are_half_a_minute_at_most() -> None:
    control = StepControl().under_cover()
    assert control.largest_s == 30.0
    assert control.temp_error_k == pytest.approx(0.1 / 1.5**2)
    assert StepControl(largest_s=20.0).under_cover().largest_s == 10.0
    assert StepControl(largest_s=300.0).under_cover().largest_s == 30.0
