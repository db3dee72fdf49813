"""Robust least squares with priors, and how sure it is: knows nothing of boxes or papers.

Unknowns are counted in standard deviations of their prior. What a whole session has in common
(its weather was not quite as told) enters as shared effects, each with a prior of its own, so
that twenty readings of one day are not twenty witnesses.

::

    value = predict(unknowns) + shift + loadings · effects + sd · error
    cost  = Σ soft_l1(error) + |unknowns|² + |effects|²

No effect acts in two sessions, so that the normal equations are an arrow: a small block for each
session, bordered by the few unknowns that all share. Effects are eliminated session by session
(Schur complement, as bundle adjustment does with points), and time and memory grow with the
values, not with their cube.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import NamedTuple, Protocol

import numpy as np
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

MANY = 500
"""From so many values on there are half as many proposals, each of which is simulated on all days:
some 60 that count, which tell a mean to an eighth of its standard deviation (judgement). [-]"""

MANY_ROUNDS, SETTLED_SHARE = 12, 0.5
"""Rounds of many values, which know the unknowns far better than their prior does: settled is what
moves by less than this share of its standard deviation after the fit (judgement). [-]"""

PARTS = np.array([0.1, 0.25, 0.5, 1.0])
"""Of a round's move, many values take the most likely: against them the model bends (judgement).
[-]"""

TOO_THIN, MOST_LOTS = 10.0, 5
"""While fewer proposals than this count, there are more of them around those that do, up to so many
lots in all (judgement). [-]"""

KEPT_DRAWS = 200
"""Equally likely draws of the unknowns that a fit keeps. [-]"""

STEPS, LEAST_STEP = 100, 1e-7
"""Steps to a least cost at the most, and one that ends them. [-]"""

SMALL_STEP = 1e-3
"""A step that ends those of a session's effects: the next, being Newton's, is its square. [-]"""

WIDER = 1.15
"""A proposal's spread over that of its approximation, to cover longer tails. [-]"""


@dataclass(frozen=True, eq=False)
class Linear:
    """A model near some unknowns.

    ``predicted`` are its values there, (m,), ``slopes`` their change per unknown, (m, n), ``sd``
    the standard deviation of each value's own error, (m,), ``loadings`` its move by one standard
    deviation of each effect of its own session, (m, effects), zeros where a session has fewer than
    another. ``shift`` is what effects and errors move each value by on the average, (m,): a model
    that bends is not in the middle of what it draws.
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


def _soft(error: Array) -> tuple[Array, Array, Array]:
    """Return the soft loss of errors, what it leaves of their weight, and half its curvature."""
    limit = SOFT_FROM_SD**2
    root = np.sqrt(1 + error**2 / limit)
    return 2 * limit * (root - 1), 1 / root, 1 / root**3


def fit(model: Model, value: Array, group: Index, *, start: Array, seed: int = 1) -> Fit:
    """Return the fit of a model to what was measured.

    The measured ``value`` is (m,), and so is ``group``, its session: an effect acts in one session
    only. ``start`` is (n,); zeros are the prior's middle.

    Joint mode of unknowns and effects: the robust least squares of the model made linear, then
    made linear again where that led, until it stays; covariance by Laplace with the soft loss's own
    curvature; draws from that normal distribution, somewhat widened, weighed by the true posterior
    with the model run at each and the effects integrated out (Laplace again); more from the normal
    distribution that those show, and again while hardly any count; all weighed against the mixture
    of them, and resampled. The soft loss is that of a hyperbolic distribution: normal in the
    middle, exponential tails.

    References
    ----------
    Rubin, D. B. (1988), Using the SIR algorithm to simulate posterior distributions, in Bayesian
    Statistics 3. Barndorff-Nielsen, O. (1977), Exponentially decreasing distributions for the
    logarithm of particle size, Proc. R. Soc. A 353, 401. Cappé, O. et al. (2004), Population Monte
    Carlo, J. Comput. Graph. Stat. 13, 907; Veach, E. and Guibas, L. (1995), SIGGRAPH 95, 419: the
    mixture's weights.
    """
    at = np.asarray(start, dtype=float)
    first_linear: Linear | None = None
    errors: Linear | None = None
    many = value.size >= MANY
    for turn in range(MANY_ROUNDS if many else ROUNDS):
        linear = model.linear(at, errors)
        errors = linear if turn + 1 >= ERROR_ROUNDS else None
        first_linear = first_linear or linear
        sessions = _sessions(linear, group)
        error = (value - linear.predicted - linear.shift) / linear.sd
        least, residual = _solved(sessions, error, at)
        moved = least - at
        move = np.clip(moved, -LONGEST_SD, LONGEST_SD)
        at = (
            _part_way(model, linear, sessions, value=value, at=at, move=move) if many else at + move
        )
        _, weight, curvature = _soft(residual)
        arrow = _Arrow(sessions, curvature, at.size)
        sure = SETTLED_SHARE * np.sqrt(np.diag(arrow.covariance)) if many else SETTLED_SD
        if (np.abs(moved) < sure).all():
            break
    draws, effective, settled = _draws(
        model, linear, value, group=group, mode=at, covariance=arrow.covariance, seed=seed
    )
    assert first_linear is not None
    before = first_linear.predicted + first_linear.shift
    error = (value - before) / first_linear.sd
    _, before_sd = _integrated(_sessions(first_linear, group), error[None, :])
    return Fit(
        unknowns=at,
        covariance=arrow.covariance,
        draws=draws,
        modelled=np.stack([before, settled + linear.shift]),
        residual_sd=residual,
        before_sd=before_sd[0],
        weight_frac=weight,
        pull=arrow.pulls(weight * residual, curvature),
        effective_draws=effective,
    )


def _part_way(
    model: Model, linear: Linear, sessions: list[_Session], *, value: Array, at: Array, move: Array
) -> Array:
    """Return the most likely of some points along a move, by the model as it bends."""
    points = at + PARTS[:, None] * move
    likely = _log_posterior(linear, sessions, value, predicted=model.predict(points), sets=points)
    return np.asarray(points[likely.argmax()])


class _Session(NamedTuple):
    """Which values are of one session, and their errors' fall by each unknown and each effect.

    ``rows`` is (k,), ``own`` (k, n) and ``shared`` (k, effects), in standard deviations.
    """

    rows: Index
    own: Array
    shared: Array


def _sessions(linear: Linear, group: Index) -> list[_Session]:
    """Return the sessions of a linear model.

    Effects are standard normal, so that only ``shared @ shared.T`` counts: where there are more of
    them than values, as many that are mixtures of them say the same.
    """
    order = np.argsort(group, kind="stable")
    found = []
    for rows in np.split(order, np.flatnonzero(np.diff(group[order])) + 1):
        sd = linear.sd[rows, None]
        shared = linear.loadings[rows] / sd
        shared = shared[:, np.abs(shared).max(axis=0) > 0]
        if shared.shape[1] > rows.size:
            shared = np.asarray(np.linalg.qr(shared.T, mode="r")).T
        found.append(_Session(rows, linear.slopes[rows] / sd, shared))
    return found


class _Arrow:
    """The matrix ``1 + J' W J`` of unknowns and effects, J the rows of all sessions, W weights.

    ::

        | A    B_1  B_2 |    A = 1 + Σ own' W own,  B = own' W shared,  D = 1 + shared' W shared
        | B_1' D_1      |    S = A - Σ B D⁻¹ B'     (Schur complement)
        | B_2'      D_2 |

    References
    ----------
    Triggs, B. et al. (2000), Bundle adjustment: a modern synthesis, Vision Algorithms, LNCS 1883,
    section 6.1. Golub, G. H. and Van Loan, C. F. (2013), Matrix Computations, 4th ed., section 3.2.
    """

    def __init__(self, sessions: list[_Session], weight: Array, unknowns: int) -> None:
        schur = np.eye(unknowns)
        self.sessions, self.weight = sessions, weight
        self.blocks: list[Array] = []
        self.gains: list[Array] = []  # D⁻¹ B'
        for rows, own, shared in sessions:
            weighed = weight[rows, None] * shared
            block, border = np.eye(shared.shape[1]) + shared.T @ weighed, own.T @ weighed
            gain = np.linalg.solve(block, border.T)
            schur += own.T @ (weight[rows, None] * own) - border @ gain
            self.blocks.append(block)
            self.gains.append(np.asarray(gain, dtype=float))
        self.covariance = np.asarray(np.linalg.inv(0.5 * (schur + schur.T)), dtype=float)

    def solved(self, right: Array, effects: list[Array]) -> tuple[Array, list[Array]]:
        """Return the solution for a right side: its unknowns, (n,), and effects by session."""
        for gain, part in zip(self.gains, effects, strict=True):
            right = right - gain.T @ part
        x = self.covariance @ right
        each = zip(self.blocks, self.gains, effects, strict=True)
        return x, [np.linalg.solve(block, part) - gain @ x for block, gain, part in each]

    def pulls(self, share: Array, curvature: Array) -> Array:
        """Return how far leaving out each value would move the unknowns back, to first order.

        ``share`` is each value's slope of the loss, (m,). Returned are (m, n).
        """
        found = np.zeros((share.size, self.covariance.shape[0]))
        for (rows, own, shared), block, gain in zip(
            self.sessions, self.blocks, self.gains, strict=True
        ):
            left = own - shared @ gain
            moved = left @ self.covariance
            sure = (moved * left).sum(axis=1) + (shared * np.linalg.solve(block, shared.T).T).sum(1)
            leverage = curvature[rows] * sure
            found[rows] = moved * (share[rows] / np.maximum(1 - leverage, 0.05))[:, None]
        return found


def _solved(sessions: list[_Session], error: Array, at: Array) -> tuple[Array, Array]:
    """Return the unknowns and effects of least cost: the unknowns, (n,), and what is left, (m,).

    ``error`` is (value - model) / sd at some unknowns without effects, (m,).

    Newton's step where it lowers the cost. Far from the least, where the soft loss hardly bends, it
    may not; then the step of reweighted least squares, which always does. The cost is convex, so
    that there is one least.

    References
    ----------
    Holland, P. W. and Welsch, R. E. (1977), Robust regression using iteratively reweighted
    least-squares, Comm. Statist. A6, 813. Lange, K., Hunter, D. R. and Yang, I. (2000),
    Optimization transfer using surrogate objective functions, J. Comput. Graph. Stat. 9, 1: why
    it always does.
    """
    unknowns, effects = np.array(at), [np.zeros(one.shared.shape[1]) for one in sessions]

    def cost_at(x: Array, shared: list[Array]) -> tuple[Array, float]:
        rest = np.array(error)
        for (rows, own, loads), part in zip(sessions, shared, strict=True):
            rest[rows] -= own @ (x - at) + loads @ part
        believed = x @ x + sum(float(part @ part) for part in shared)
        return rest, float(_soft(rest)[0].sum() + believed)

    rest, cost = cost_at(unknowns, effects)
    for _ in range(STEPS):
        _, weight, curvature = _soft(rest)
        slope = weight * rest
        right = sum((own.T @ slope[rows] for rows, own, _ in sessions), -unknowns)
        rights = [
            loads.T @ slope[rows] - part
            for (rows, _, loads), part in zip(sessions, effects, strict=True)
        ]
        for bend in (curvature, weight):
            step, steps = _Arrow(sessions, bend, at.size).solved(right, rights)
            tried = [part + more for part, more in zip(effects, steps, strict=True)]
            new_rest, new_cost = cost_at(unknowns + step, tried)
            if new_cost <= cost:
                unknowns, effects, rest, cost = unknowns + step, tried, new_rest, new_cost
                break
        else:  # nothing is left but rounding
            break
        if max(float(np.abs(part).max(initial=0.0)) for part in (step, *steps)) < LEAST_STEP:
            break
    return unknowns, rest


def _draws(
    model: Model,
    linear: Linear,
    value: Array,
    *,
    group: Index,
    mode: Array,
    covariance: Array,
    seed: int,
) -> tuple[Array, float, Array]:
    """Return equally likely unknowns, how many proposals they rest on, and the mode's values."""
    rng = np.random.default_rng(seed)
    log_posterior = partial(_log_posterior, linear, _sessions(linear, group), value)

    first, more = (FIRST, PROPOSALS) if value.size < MANY else (FIRST // 2, PROPOSALS // 2)
    lots = [_Normal(mode, np.asarray(WIDER * np.linalg.cholesky(covariance), dtype=float))]
    sets = lots[0].sets(first, rng)
    predicted = model.predict(np.vstack([sets, mode]))
    settled, log = predicted[-1], log_posterior(predicted=predicted[:-1], sets=sets)
    weight = _normalised(log - lots[0].log_density(sets))
    while len(lots) < 2 or (len(lots) < MOST_LOTS and _effective(weight) < TOO_THIN):
        lots.append(_Normal.of(sets, weight, covariance))
        tried = lots[-1].sets(more, rng)
        log = np.concatenate([log, log_posterior(predicted=model.predict(tried), sets=tried)])
        sets = np.vstack([sets, tried])
        share = np.array([first, *(len(lots) - 1) * [more]])[:, None] / log.size
        densities = np.stack([one.log_density(sets) for one in lots])
        weight = _normalised(log - logsumexp(densities, b=share, axis=0))
    steps = (np.arange(KEPT_DRAWS) + rng.random()) / KEPT_DRAWS
    chosen = np.searchsorted(np.cumsum(weight), steps).clip(0, log.size - 1)
    return sets[chosen], _effective(weight), settled


def _log_posterior(
    linear: Linear, sessions: list[_Session], value: Array, *, predicted: Array, sets: Array
) -> Array:
    """Return that of sets of unknowns, (sets,), from the model run at each."""
    error = (value - linear.shift - predicted) / linear.sd
    return np.asarray(_integrated(sessions, error)[0] - 0.5 * (sets**2).sum(axis=1))


def _normalised(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _effective(weight: Array) -> float:
    return float(1 / (weight**2).sum())


@dataclass(frozen=True, eq=False)
class _Normal:
    """A normal distribution by its mean, (n,), and the root of its covariance, (n, n)."""

    mean: Array
    root: Array

    @classmethod
    def of(cls, sets: Array, weight: Array, covariance: Array) -> _Normal:
        """Return that of weighed sets, leaning on a covariance as far as they are few."""
        effective, n = _effective(weight), sets.shape[1]
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


def _integrated(sessions: list[_Session], error: Array) -> tuple[Array, Array]:
    """Return log likelihood with the effects integrated out, and what is left.

    ``error`` is (value - model) / sd without any effect, (sets, m). Session by session: the most
    likely effects, then Laplace.
    """
    total, left = np.zeros(error.shape[0]), error.copy()
    for rows, _, shared in sessions:
        own = error[:, rows]
        u, matrix = _likely_effects(shared, own)
        rest = own - u @ shared.T
        total -= 0.5 * _soft(rest)[0].sum(axis=1)
        total -= 0.5 * ((u**2).sum(axis=1) + np.linalg.slogdet(matrix)[1])
        left[:, rows] = rest
    return total, left


def _likely_effects(shared: Array, own: Array) -> tuple[Array, Array]:
    """Return the most likely effects of one session, (sets, effects), and the curvature there.

    For errors (sets, k) without them; steps as in `_solved`, each set for itself.
    """
    sets, effects = own.shape[0], shared.shape[1]
    pairs = (shared[:, :, None] * shared[:, None, :]).reshape(shared.shape[0], -1)

    def matrix(bend: Array) -> Array:
        found = (bend @ pairs).reshape(bend.shape[0], effects, effects)
        return np.asarray(np.eye(effects) + found)

    def cost_at(own: Array, u: Array) -> Array:
        return np.asarray(_soft(own - u @ shared.T)[0].sum(axis=1) + (u**2).sum(axis=1))

    u, going = np.zeros((sets, effects)), np.arange(sets)
    if sets > 1:  # begin where their mean ends, moved on as its bend says
        mean = own.mean(axis=0)
        middle, bend = _likely_effects(shared, mean[None])
        curvature = _soft(mean - middle[0] @ shared.T)[2]
        u = middle + ((own - mean) * curvature) @ np.linalg.solve(bend[0], shared.T).T
    for _ in range(STEPS):
        here, at = own[going], u[going]
        rest = here - at @ shared.T
        _, weight, curvature = _soft(rest)
        right = (weight * rest) @ shared - at
        step = np.linalg.solve(matrix(curvature), right[..., None])[..., 0]
        worse = np.flatnonzero(cost_at(here, at + step) > cost_at(here, at))
        if worse.size:
            step[worse] = np.linalg.solve(matrix(weight[worse]), right[worse, :, None])[..., 0]
        u[going] += step
        going = going[np.abs(step).max(axis=1, initial=0.0) > SMALL_STEP]
        if not going.size:
            break
    return u, matrix(_soft(own - u @ shared.T)[2])
