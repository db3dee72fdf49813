"""The fit's draws against a Markov chain over the same notes, shared effects sampled too."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.inputs.notes.fits import OWN
from drybox.planning.calibration.fit import SOFT_FROM_SD, Linear, fit
from drybox.planning.calibration.measured import read_notes
from drybox.planning.calibration.model import NotedModel
from tests.planning.invented_boxes import DAYS, Boxes, event_on, notes_of, true_day

Array = NDArray[np.float64]

WALKERS, STEPS, LEFT_OUT = 768, 160, 60
SEEDS = range(1, 7)
WIDER = 1.3  # than the fit says, so that the chain has to find its own way in


@dataclass
class Remembering:
    """A model that keeps what the fit last saw of its errors."""

    model: NotedModel
    last: list[Linear] = field(default_factory=list)

    def predict(self, unknowns: Array) -> Array:
        return self.model.predict(unknowns)

    def linear(self, unknowns: Array, errors: Linear | None = None) -> Linear:
        self.last = [self.model.linear(unknowns, errors)]
        return self.last[0]


@pytest.mark.study
@pytest.mark.timeout(1800)
def test_draws_of_a_box_are_those_of_a_markov_chain() -> None:
    emcee = pytest.importorskip("emcee")
    day = true_day(Boxes.invented(1, 8), event_on(*DAYS[0]), "steady", 80)
    notes = notes_of(day, 0, 8, 0.0)
    warm = next(k for k, note in enumerate(notes) if note.kind == "plate")
    notes[warm] = replace(notes[warm], temp_k=(notes[warm].temp_k or 0.0) + 15.0)  # a slip
    data = read_notes(notes, [day.event])
    value = np.array([reading.value for reading in data.readings])
    model = Remembering(NotedModel(data))
    group, zero = np.zeros(value.size, dtype=np.intp), np.zeros(len(OWN))
    found = fit(model, value, group, start=zero)
    # 200 draws alone tell a spread to 5 %: the draws of some seeds together show the method
    draws = np.concatenate(
        [fit(model, value, group, start=zero, seed=seed).draws for seed in SEEDS]
    )
    sd, loadings, shift = (getattr(model.last[0], name) for name in ("sd", "loadings", "shift"))
    n, effects = len(OWN), loadings.shape[1]

    def log_posterior(joint: Array) -> Array:
        own, shared = joint[:, :n], joint[:, n:]
        error = (value - shift - model.predict(own) - shared @ loadings.T) / sd
        limit = SOFT_FROM_SD**2
        rho = 2 * limit * (np.sqrt(1 + error**2 / limit) - 1)
        return np.asarray(-0.5 * (rho.sum(axis=1) + (joint**2).sum(axis=1)))

    rng = np.random.default_rng(1)
    start = WIDER * rng.standard_normal((WALKERS, n + effects))
    start[:, :n] = found.unknowns + start[:, :n] @ np.linalg.cholesky(found.covariance).T
    moves = [(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)]
    sampler = emcee.EnsembleSampler(
        WALKERS, n + effects, log_posterior, moves=moves, vectorize=True
    )
    sampler.random_state = np.random.RandomState(1).get_state()
    sampler.run_mcmc(start, STEPS)
    chain = sampler.get_chain(discard=LEFT_OUT)[:, :, :n]
    halves = [part.reshape(-1, n) for part in np.array_split(chain, 2)]
    own = chain.reshape(-1, n)
    mean, spread = own.mean(axis=0), own.std(axis=0)
    off = (draws.mean(axis=0) - mean) / spread
    ratio = draws.std(axis=0) / spread
    drift = (halves[1].mean(axis=0) - halves[0].mean(axis=0)) / spread
    print(f"accepted {sampler.acceptance_fraction.mean():.2f}, {found.effective_draws:.0f} draws")
    for row in zip(OWN, mean, spread, off, ratio, drift, strict=True):
        print("{:16s} mean {:+.2f} sd {:.2f} off {:+.2f} ratio {:.2f} drift {:+.2f}".format(*row))
    assert (np.abs(drift) < 0.15).all()  # the chain has settled
    assert (np.abs(off) < 0.2).all()
    assert ((ratio > 0.85) & (ratio < 1.15)).all()
