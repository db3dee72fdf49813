"""Robust least squares with priors, and how sure it is: knows nothing of boxes or papers.

Unknowns are counted in standard deviations of their prior. What a whole session has in common
(its weather was not quite as told) enters as shared effects, each with a prior of its own, so
that twenty readings of one day are not twenty witnesses.

::

    value = predict(unknowns) + shift + loadings · effects + sd · error
    cost  = Σ soft_l1(error) + |unknowns|² + |effects|²
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.optimize import least_squares
from scipy.special import logsumexp, ndtri
from scipy.stats import qmc

from drybox.arrays import Array, Index

SOFT_FROM_SD = 2.0
"""A residual counts as if squared up to about here, and in proportion beyond. [-]"""

SETTLED_SD, LONGEST_SD, ROUNDS = 0.15, 2.0, 4
"""The fit has settled when no unknown moves further, in standard deviations of its prior; the
longest move of a round; and how many rounds it gets. [-]"""

ERROR_ROUNDS = 2
"""After so many rounds errors and loadings stay as they are. [-]"""

FIRST, PROPOSALS = 128, 256
"""Proposals around the mode, and around where those showed the posterior to be."""

KEPT_DRAWS = 200
WIDER = 1.15
"""A proposal's spread over that of its approximation, to cover longer tails. [-]"""


@dataclass(frozen=True, eq=False)
class Linear:
    """A model near some unknowns.

    ``predicted`` are its values there, (m,), ``slopes`` their change per unknown, (m, n), ``sd``
    the standard deviation of each value's own error, (m,), ``loadings`` its move by one standard
    deviation of each shared effect, (m, effects). ``shift`` is what effects and errors move each
    value by on the average, (m,): a model that bends is not in the middle of what it draws.
    """

    predicted: Array
    slopes: Array
    sd: Array
    loadings: Array
    shift: Array | float = 0.0


class Model(Protocol):
    """What can be fitted."""

    def predict(self, unknowns: Array) -> Array:
        """Return values (sets, m) for sets of unknowns (sets, n)."""
        ...

    def linear(self, unknowns: Array, errors: Linear | None = None) -> Linear:
        """Return the model near some unknowns, (n,); all but the first two from ``errors``."""
        ...


@dataclass(frozen=True, eq=False)
class Fit:
    """The most likely unknowns, how sure they are, and how each value stands to them.

    ``draws`` (draws, n) are equally likely unknowns. ``modelled`` (2, m) are the model's values at
    the start and at the most likely unknowns. ``residual_sd`` and ``before_sd`` are
    (value - model) / sd with and without the fit, shared effects taken out; ``weight_frac`` is
    what the soft loss leaves of each value; ``pull`` (m, n) is how far each value moved each
    unknown, in standard deviations of its prior. ``effective_draws`` counts the proposals that
    importance weighing left.
    """

    unknowns: Array
    covariance: Array
    draws: Array
    modelled: Array
    residual_sd: Array
    before_sd: Array
    weight_frac: Array
    pull: Array
    effective_draws: float


def _soft(squared: Array) -> tuple[Array, Array, Array]:
    """Return the soft loss of squared residuals and its first two derivatives."""
    limit = SOFT_FROM_SD**2
    root = np.sqrt(1 + squared / limit)
    return 2 * limit * (root - 1), 1 / root, -0.5 / (limit * root**3)


def _loss(measured: int) -> Callable[[Array], Array]:
    """Return the loss for scipy: soft on what was measured, square on what was believed."""

    def loss(squared: Array) -> Array:
        rho = np.stack([squared, np.ones_like(squared), np.zeros_like(squared)])
        rho[:, :measured] = _soft(squared[:measured])
        return rho

    return loss


def fit(model: Model, value: Array, group: Index, start: Array, seed: int = 1) -> Fit:
    """Return the fit of a model to what was measured.

    The measured ``value`` is (m,), and so is ``group``, its session: an effect acts in one session
    only. ``start`` is (n,); zeros are the prior's middle.

    Joint mode of unknowns and effects: the robust least squares of the model made linear, then
    made linear again where that led, until it stays; covariance by Laplace with the soft loss's own
    curvature; draws from that normal distribution, somewhat widened, weighed by the true posterior
    with the model run at each and the effects integrated out (Laplace again); more from the normal
    distribution that those show; all weighed against the mixture of both, and resampled. The
    soft loss is that of a hyperbolic distribution: normal in the middle, exponential tails.

    References
    ----------
    Rubin, D. B. (1988), Using the SIR algorithm to simulate posterior distributions, in Bayesian
    Statistics 3. Barndorff-Nielsen, O. (1977), Exponentially decreasing distributions for the
    logarithm of particle size, Proc. R. Soc. A 353, 401. Cappé, O. et al. (2004), Population Monte
    Carlo, J. Comput. Graph. Stat. 13, 907; Veach, E. and Guibas, L. (1995), SIGGRAPH 95, 419: the
    mixture's weights.
    """
    n, measured, at = start.size, value.size, np.asarray(start, dtype=float)
    first_linear: Linear | None = None
    errors: Linear | None = None
    for turn in range(ROUNDS):
        linear = model.linear(at, errors)
        errors = linear if turn + 1 >= ERROR_ROUNDS else None
        first_linear = first_linear or linear
        joint, jacobian, residual = _solved(linear, value, at)
        moved = joint[:n] - at
        at = at + np.clip(moved, -LONGEST_SD, LONGEST_SD)
        if np.abs(moved).max() < SETTLED_SD:
            break
    squared = residual[:measured] ** 2
    _, first, second = _soft(squared)
    curvature = np.concatenate([first + 2 * second * squared, np.ones(joint.size)])
    information = jacobian.T @ (curvature[:, None] * jacobian)
    inverse = np.asarray(np.linalg.inv(information), dtype=float)
    covariance = inverse[:n, :n]
    draws, effective, settled = _draws(model, linear, value, group, at, covariance, seed)
    assert first_linear is not None
    before = first_linear.predicted + first_linear.shift
    error = (value - before) / first_linear.sd
    _, before_sd = _integrated(first_linear, group, error[None, :])
    return Fit(
        unknowns=at,
        covariance=covariance,
        draws=draws,
        modelled=np.stack([before, settled + linear.shift]),
        residual_sd=residual[:measured],
        before_sd=before_sd[0],
        weight_frac=first,
        pull=_pull(jacobian[:measured], inverse, residual[:measured], first, curvature, n),
        effective_draws=effective,
    )


def _solved(linear: Linear, value: Array, at: Array) -> tuple[Array, Array, Array]:
    """Return unknowns and effects of least loss, with Jacobian and residuals there."""
    n, effects = at.size, linear.loadings.shape[1]
    moves = np.hstack([linear.slopes, linear.loadings])
    jacobian = np.vstack([-moves / linear.sd[:, None], np.eye(n + effects)])
    base = np.concatenate([at, np.zeros(effects)])

    wanted = value - linear.predicted - linear.shift

    def residuals(joint: Array) -> Array:
        error = (wanted - moves @ (joint - base)) / linear.sd
        return np.concatenate([error, joint])

    joint = least_squares(
        residuals, base, lambda _: jacobian, loss=_loss(value.size), xtol=1e-6, ftol=1e-8
    ).x
    return joint, jacobian, residuals(joint)


def _pull(
    jacobian: Array, inverse: Array, residual: Array, first: Array, curvature: Array, n: int
) -> Array:
    """Return how far leaving out each value would move the unknowns back, to first order."""
    gain = jacobian @ inverse
    leverage = curvature[: residual.size] * np.einsum("ij,ij->i", gain, jacobian)
    share = first * residual / np.maximum(1 - leverage, 0.05)
    return np.asarray(-gain[:, :n] * share[:, None])


def _draws(
    model: Model,
    linear: Linear,
    value: Array,
    group: Index,
    mode: Array,
    covariance: Array,
    seed: int,
) -> tuple[Array, float, Array]:
    """Return equally likely unknowns, how many proposals they rest on, and the mode's values."""
    rng = np.random.default_rng(seed)

    def log_posterior(predicted: Array, sets: Array) -> Array:
        error = (value - linear.shift - predicted) / linear.sd
        return np.asarray(_integrated(linear, group, error)[0] - 0.5 * (sets**2).sum(axis=1))

    around = _Normal(mode, np.asarray(WIDER * np.linalg.cholesky(covariance), dtype=float))
    sets = around.sets(FIRST, rng)
    predicted = model.predict(np.vstack([sets, mode]))
    settled, log = predicted[-1], log_posterior(predicted[:-1], sets)
    weight = _normalised(log - around.log_density(sets))
    seen = _Normal.of(sets, weight, covariance)
    more = seen.sets(PROPOSALS, rng)
    log = np.concatenate([log, log_posterior(model.predict(more), more)])
    sets = np.vstack([sets, more])
    share = np.array([FIRST, PROPOSALS])[:, None] / (FIRST + PROPOSALS)
    densities = np.stack([one.log_density(sets) for one in (around, seen)])
    weight = _normalised(log - logsumexp(densities, b=share, axis=0))
    steps = (np.arange(KEPT_DRAWS) + rng.random()) / KEPT_DRAWS
    chosen = np.searchsorted(np.cumsum(weight), steps).clip(0, log.size - 1)
    return sets[chosen], float(1 / (weight**2).sum()), settled


def _normalised(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


@dataclass(frozen=True, eq=False)
class _Normal:
    """A normal distribution by its mean, (n,), and the root of its covariance, (n, n)."""

    mean: Array
    root: Array

    @classmethod
    def of(cls, sets: Array, weight: Array, covariance: Array) -> _Normal:
        """Return that of weighed sets, leaning on a covariance as far as they are few."""
        effective, n = float(1 / (weight**2).sum()), sets.shape[1]
        mean = weight @ sets
        apart = sets - mean
        lean = n / (n + effective)
        found = (1 - lean) * (weight[:, None] * apart).T @ apart + lean * covariance
        return cls(mean, WIDER * np.linalg.cholesky(found))

    def sets(self, count: int, rng: np.random.Generator) -> Array:
        even = qmc.Sobol(self.mean.size, rng=rng).random(count)  # steadier than chance by far
        return np.asarray(self.mean + ndtri(np.clip(even, 1e-6, 1 - 1e-6)) @ self.root.T)

    def log_density(self, sets: Array) -> Array:
        scores = np.linalg.solve(self.root, (sets - self.mean).T)
        return np.asarray(-0.5 * (scores**2).sum(axis=0) - np.log(np.diag(self.root)).sum())


def _integrated(linear: Linear, group: Index, error: Array) -> tuple[Array, Array]:
    """Return log likelihood with the effects integrated out, and what is left.

    ``error`` is (value - model) / sd without any effect, (sets, m); ``group`` the session of each
    value.

    Session by session: the most likely effects by reweighted least squares, then Laplace.
    """
    sets, total, left = error.shape[0], np.zeros(error.shape[0]), error.copy()
    scaled = linear.loadings / linear.sd[:, None]
    for session in np.unique(group):
        rows = np.flatnonzero(group == session)
        columns = np.flatnonzero(np.abs(scaled[rows]).max(axis=0) > 0)
        own, load = error[:, rows], scaled[np.ix_(rows, columns)]
        u = np.zeros((sets, columns.size))
        for _ in range(8):
            rest = own - u @ load.T
            weight = _soft(rest**2)[1]
            matrix = np.eye(columns.size) + np.einsum("sm,mj,mk->sjk", weight, load, load)
            right = np.einsum("sm,mj->sj", weight * own, load)
            u = np.linalg.solve(matrix, right[..., None])[..., 0]
        rest = own - u @ load.T
        rho, first, second = _soft(rest**2)
        curvature = first + 2 * second * rest**2
        matrix = np.eye(columns.size) + np.einsum("sm,mj,mk->sjk", curvature, load, load)
        total -= 0.5 * (rho.sum(axis=1) + (u**2).sum(axis=1) + np.linalg.slogdet(matrix)[1])
        left[:, rows] = rest
    return total, left
