"""The robust fit against posteriors integrated on a grid, and what one bad value can do."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from drybox.planning.calibration.fit import SOFT_FROM_SD, Fit, Linear, fit

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """Values that bend with one unknown, and one effect shared by all."""

    at: Array
    bend: float
    sd: float
    shared: float

    def predict(self, unknowns: Array) -> Array:
        x = unknowns[:, :1]
        return np.asarray(self.at * x + self.bend * x**2)

    def linear(self, unknowns: Array, errors: Linear | None = None) -> Linear:
        x = float(unknowns[0])
        slopes = (self.at + 2 * self.bend * x)[:, None]
        ones = np.ones(self.at.size)
        loadings = np.full((self.at.size, 1), self.shared)
        return Linear(self.predict(unknowns[None, :])[0], slopes, self.sd * ones, loadings)


def on_a_grid(model: Curve, value: Array) -> tuple[float, float]:
    """Return mean and standard deviation of the unknown, effect integrated out by sums."""
    x = np.linspace(-5, 5, 801)
    u = np.linspace(-6, 6, 241)
    error = value - model.predict(x[:, None]) - 0.0
    left = (error[:, None, :] - model.shared * u[:, None]) / model.sd
    limit = SOFT_FROM_SD**2
    rho = 2 * limit * (np.sqrt(1 + left**2 / limit) - 1)
    log = -0.5 * (rho.sum(axis=2) + x[:, None] ** 2 + u**2)
    weight = np.exp(log - log.max()).sum(axis=1)
    weight /= weight.sum()
    mean = float((weight * x).sum())
    return mean, float(np.sqrt((weight * (x - mean) ** 2).sum()))


@dataclass(frozen=True)
class Sessions:
    """Straight in the unknowns, with effects of some sessions, wherever it is asked."""

    linear_: Linear

    @classmethod
    def invented(cls, group: NDArray[np.intp], unknowns: int, effects: int) -> Sessions:
        rng = np.random.default_rng(4)
        slopes, loadings = (rng.standard_normal((group.size, k)) for k in (unknowns, effects))
        loadings[group == 1, 1:] = 0.0  # sessions differ in how many they have
        sd = rng.uniform(0.2, 1.0, group.size)
        return cls(Linear(np.zeros(group.size), slopes, sd, loadings))

    def predict(self, unknowns: Array) -> Array:
        return np.asarray(unknowns @ self.linear_.slopes.T)

    def linear(self, unknowns: Array, errors: Linear | None = None) -> Linear:
        return replace(self.linear_, predicted=self.predict(unknowns[None, :])[0])


@pytest.mark.parametrize("effects", [2, 9])  # fewer and more than a session has values
def test_effects_taken_out_by_session_leave_the_dense_robust_least_squares(effects: int) -> None:
    group = np.array([0, 1, 2, 0, 1, 2, 1, 2, 2, 0, 1, 0], dtype=np.intp)
    model, value = Sessions.invented(group, 3, effects), np.linspace(-2.0, 2.0, 12)
    value[5] = 40.0
    one = model.linear_
    wide = np.zeros((12, 3 * effects))
    for row, session in enumerate(group):
        wide[row, session * effects : (session + 1) * effects] = one.loadings[row]
    moves = np.hstack([one.slopes, wide]) / one.sd[:, None]

    def residuals(joint: Array) -> Array:
        return np.concatenate([value / one.sd - moves @ joint, joint])

    def soft_on_values(squared: Array) -> Array:
        limit = SOFT_FROM_SD**2
        root = np.sqrt(1 + squared / limit)
        rho = np.stack([squared, np.ones_like(squared), np.zeros_like(squared)])
        rho[:, :12] = np.stack([2 * limit * (root - 1), 1 / root, -0.5 / (limit * root**3)])[:, :12]
        return rho

    dense = least_squares(
        residuals, np.zeros(moves.shape[1]), loss=soft_on_values, xtol=1e-14, ftol=1e-14, gtol=1e-14
    ).x
    left = residuals(dense)[:12]
    root = np.sqrt(1 + left**2 / SOFT_FROM_SD**2)
    information = moves.T @ (moves / root[:, None] ** 3) + np.eye(moves.shape[1])
    found = fit(model, value, group, start=np.zeros(3))
    assert found.unknowns == pytest.approx(dense[:3], abs=1e-6)
    assert found.residual_sd == pytest.approx(left, abs=1e-5)
    assert found.covariance == pytest.approx(np.linalg.inv(information)[:3, :3], abs=1e-6)


def fitted(model: Curve, value: Array, group: NDArray[np.intp] | None = None) -> Fit:
    days = np.zeros(value.size, dtype=np.intp) if group is None else group
    return fit(model, value, days, start=np.zeros(1))


@pytest.mark.parametrize("bend", [0.0, 0.15, -0.3])
@pytest.mark.parametrize("shared", [0.0, 0.8])
def test_draws_are_those_of_the_posterior_on_a_grid(bend: float, shared: float) -> None:
    model = Curve(np.array([0.3, 0.6, 1.0, 1.4]), bend, 0.5, shared)
    value = model.predict(np.array([[0.9]]))[0] + np.array([0.2, -0.5, 0.4, 0.1])
    mean, sd = on_a_grid(model, value)
    draws = fitted(model, value).draws[:, 0]
    assert draws.mean() == pytest.approx(mean, abs=0.1 * sd)
    assert draws.std() == pytest.approx(sd, rel=0.1)


def test_many_values_settle_where_the_model_bends() -> None:
    model = Curve(np.linspace(0.3, 1.4, 600), 1.5, 0.3, 0.0)
    value = model.predict(np.array([[1.5]]))[0]
    value = value + 0.3 * np.random.default_rng(2).standard_normal(600)
    x = np.linspace(1.4, 1.6, 2001)
    left = (value - model.predict(x[:, None])) / model.sd
    limit = SOFT_FROM_SD**2
    log = -limit * (np.sqrt(1 + left**2 / limit) - 1).sum(axis=1) - 0.5 * x**2
    weight = np.exp(log - log.max()) / np.exp(log - log.max()).sum()
    mean = float(weight @ x)
    sd = float(np.sqrt(weight @ (x - mean) ** 2))
    found = fitted(model, value)
    # what settles a few values, a share of the prior's spread, would leave it 0.35 sd away
    assert found.unknowns[0] == pytest.approx(x[log.argmax()], abs=0.1 * sd)
    assert found.draws.mean() == pytest.approx(mean, abs=0.2 * sd)
    assert found.draws.std() == pytest.approx(sd, rel=0.2)


def test_laplace_agrees_with_the_grid_where_the_model_is_straight() -> None:
    model = Curve(np.linspace(0.5, 1.5, 12), 0.0, 0.4, 0.5)
    rng = np.random.default_rng(3)
    value = 0.7 * model.at + 0.5 * rng.standard_normal() + 0.4 * rng.standard_normal(12)
    mean, sd = on_a_grid(model, value)
    found = fitted(model, value)
    assert found.unknowns[0] == pytest.approx(mean, abs=0.05 * sd)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(sd, rel=0.05)


def test_without_a_reading_that_tells_anything_the_prior_stays() -> None:
    found = fitted(Curve(np.zeros(3), 0.0, 1.0, 0.0), np.array([0.3, -0.2, 0.1]))
    assert found.unknowns[0] == pytest.approx(0.0, abs=1e-6)
    assert found.draws[:, 0].std() == pytest.approx(1.0, rel=0.06)
    assert found.draws[:, 0].mean() == pytest.approx(0.0, abs=0.06)


@pytest.mark.parametrize("wild", [10.0, 100.0, 1e6])
def test_one_wild_value_in_twenty_moves_little(wild: float) -> None:
    model = Curve(np.ones(20), 0.0, 1.0, 0.0)
    value = 0.5 + np.random.default_rng(1).standard_normal(20)
    sane = fitted(model, value)
    value[7] = wild
    mad = fitted(model, value)
    sd = float(np.sqrt(sane.covariance[0, 0]))
    assert abs(mad.unknowns[0] - sane.unknowns[0]) < 0.7 * sd  # least squares: over 2 sd at 10
    assert mad.weight_frac[7] < 0.25
    assert abs(mad.residual_sd[7]) > 5


def test_values_of_one_day_are_not_as_many_witnesses() -> None:
    one_day = Curve(np.ones(20), 0.0, 1.0, 1.0)
    found = fitted(one_day, np.full(20, 0.8))
    alone = fitted(Curve(np.ones(20), 0.0, 1.0, 0.0), np.full(20, 0.8))
    # one shared effect of sd 1: never better known than by one reading of sd 1
    assert np.sqrt(found.covariance[0, 0]) > 0.7
    assert np.sqrt(alone.covariance[0, 0]) < 0.3


def test_the_pull_of_a_value_is_what_leaving_it_out_undoes() -> None:
    rng = np.random.default_rng(5)
    at = rng.uniform(0.2, 1.5, 15)
    model = Curve(at, 0.0, 0.6, 0.0)
    value = 0.8 * at + 0.6 * rng.standard_normal(15)
    found = fitted(model, value)
    for k in range(15):
        rest = np.arange(15) != k
        without = fitted(Curve(at[rest], 0.0, 0.6, 0.0), value[rest])
        gone = found.unknowns[0] - without.unknowns[0]
        assert found.pull[k, 0] == pytest.approx(gone, abs=0.012)


def test_same_seed_same_draws_and_other_seed_others() -> None:
    model = Curve(np.linspace(0.5, 1.5, 6), 0.1, 0.4, 0.3)
    value = np.linspace(0.2, 1.4, 6)
    days = np.zeros(6, dtype=np.intp)
    one, same, other = (fit(model, value, days, start=np.zeros(1), seed=seed) for seed in (1, 1, 2))
    assert np.array_equal(one.draws, same.draws)
    assert not np.array_equal(one.draws, other.draws)
