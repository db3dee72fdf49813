"""Mean waits of the wet line against queueing theory."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.planning.wet.line import Run, WetLine, serve
from tests.reference import Row, rows

DAYS, SITTERS, SETTLING = 500, 600, 200


def mean_wait_min(gap_min: float, service_min: float, servers: int, service: str) -> float:
    """Return the mean wait for the hands after a settling stretch, in minutes."""
    rng = np.random.default_rng(20270612)
    arrive = np.cumsum(rng.exponential(gap_min, (DAYS, SITTERS)), axis=1)
    drawn = rng.exponential(service_min, (DAYS, SITTERS))
    lasts = drawn if service == "exponential" else np.full_like(drawn, service_min)
    run = Run(lasts, np.zeros_like(lasts))
    times = serve(arrive, WetLine((run,), hands=servers))
    return float((times.begun_at[0] - arrive)[:, SETTLING:].mean())


@pytest.mark.parametrize("row", rows("queue"))
def test_published_mean_wait(row: Row) -> None:
    row.check(mean_wait_min(**row.inputs))
