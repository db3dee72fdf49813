"""The queue of the stages after drying against SimPy, and what must hold of any queue."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

import numpy as np
import pytest
import simpy

from drybox.inputs.finish.stages import FinishStage
from drybox.planning.finish.queue import FreeTime, through_stages

MINUTE_S = 60.0


def stage(name: str, hands: float, alone: float = 0.0, places: int = 0) -> FinishStage:
    return FinishStage(
        name=name,
        hands_s=hands * MINUTE_S,
        alone_s=alone * MINUTE_S,
        places=places,
        materials=(),
    )


DAY = (
    stage("flatten", 0.5, 15, 4),
    stage("trim", 1.25),
    stage("spot", 2),
    stage("stamp", 0.2, 15),
    stage("folder", 0.5),
)


def drawn(members: int, tickets: int, seed: int) -> tuple[Any, Any]:
    rng = np.random.default_rng(seed)
    pulled = np.sort(rng.uniform(0, 4 * 3600, (members, tickets)), axis=1)
    return pulled, rng.lognormal(0.0, 0.3, pulled.shape)


def by_simpy(
    pulled: Any, stages: tuple[FinishStage, ...], factor: Any, servers: int, busy: Any = None
) -> Any:
    """The same queue by SimPy: first come first served, a place kept while a print lies.

    ``busy`` are stretches that the only pair of hands is kept elsewhere and any work rests.
    """
    world = simpy.Environment()
    hands = simpy.PreemptiveResource(world, servers)
    places = [simpy.Resource(world, max(each.places, 1)) for each in stages]
    done = np.full(pulled.shape, np.inf)

    def work(lasts: float) -> Generator[Any, Any, None]:
        left, came = lasts, world.now
        while left > 1e-9:
            # taken up again before anything that came later
            with hands.request(priority=came, preempt=False) as asked:
                yield asked
                begun = world.now
                try:
                    yield world.timeout(left)
                    left = 0.0
                except simpy.Interrupt:
                    left -= world.now - begun

    def elsewhere() -> Generator[Any, Any, None]:
        for begins, ends in busy or ():
            yield world.timeout(begins - world.now)
            with hands.request(priority=-1) as asked:
                yield asked
                yield world.timeout(ends - world.now)

    def run(ticket: int) -> Generator[Any, Any, None]:
        yield world.timeout(pulled[ticket])
        for each, place in zip(stages, places, strict=True):
            taken = place.request() if each.places else None
            if taken:
                yield taken
            yield from work(each.hands_s * factor[ticket])
            yield world.timeout(each.alone_s)
            if taken:
                place.release(taken)
        done[ticket] = world.now

    if busy:
        world.process(elsewhere())
    for ticket in range(pulled.size):
        world.process(run(ticket))
    world.run()
    return done


@pytest.mark.parametrize("helpers", [1, 2, 3])
@pytest.mark.parametrize("seed", [1, 2])
def test_the_queue_is_that_of_simpy(helpers: int, seed: int) -> None:
    pulled, factor = drawn(6, 25, seed)
    found = through_stages(pulled, DAY, factor, helpers=helpers)
    for member in range(pulled.shape[0]):
        theirs = by_simpy(pulled[member], DAY, factor[member], helpers)
        assert found.ready_at[member] == pytest.approx(theirs, abs=1e-3)


@pytest.mark.parametrize("seed", [3, 4])
def test_hands_that_sitters_take_away_leave_the_work_as_simpy_says(seed: int) -> None:
    pulled, factor = drawn(4, 12, seed)
    rng = np.random.default_rng(seed)
    steps = 12 * 60
    free = rng.random((4, steps)) < 0.5
    free = np.repeat(free[:, ::10], 10, axis=1)  # stretches of ten minutes
    own = FreeTime(free, 0.0, MINUTE_S)
    found = through_stages(pulled, DAY, factor, helpers=0, own=own)
    for member in range(4):
        edges = np.flatnonzero(np.diff(np.r_[True, free[member], True].astype(int)))
        busy = [(a * MINUTE_S, b * MINUTE_S) for a, b in edges.reshape(-1, 2)]
        theirs = by_simpy(pulled[member], DAY, factor[member], 1, busy)
        assert found.ready_at[member] == pytest.approx(theirs, abs=1e-3)


def test_a_lone_print_takes_the_sum_of_its_stages() -> None:
    alone = through_stages(np.array([[600.0]]), DAY, np.ones((1, 1)), helpers=1)
    lasts = sum(each.hands_s + each.alone_s for each in DAY)
    assert alone.ready_at[0, 0] == pytest.approx(600.0 + lasts)
    assert alone.hands_s[0] == pytest.approx(sum(each.hands_s for each in DAY))


def test_one_more_pair_of_hands_makes_the_last_print_no_later() -> None:
    pulled, factor = drawn(20, 25, 5)
    base, helped = (
        through_stages(pulled, DAY, factor, helpers=helpers).ready_at.max(axis=1)
        for helpers in (1, 2)
    )
    assert (helped <= base + 1e-6).all()


def test_one_place_holds_prints_up_by_how_long_each_lies() -> None:
    """Three prints at once, hands of 1 min and 10 min alone: out after 11, 22 and 33 min."""
    press = (stage("press", 1, 10, 1),)
    found = through_stages(np.zeros((1, 3)), press, np.ones((1, 3)), helpers=5)
    assert found.ready_at[0] / MINUTE_S == pytest.approx([11, 22, 33])


def test_a_print_that_is_never_pulled_is_never_ready_and_takes_no_hands() -> None:
    pulled = np.array([[np.inf, 60.0, np.inf], [np.inf, np.inf, np.inf]])
    found = through_stages(pulled, DAY, np.ones((2, 3)), helpers=1)
    assert np.isfinite(found.ready_at).tolist() == [[False, True, False], [False, False, False]]
    assert found.hands_s[1] == 0.0


def test_work_is_kept() -> None:
    pulled, factor = drawn(5, 10, 6)
    found = through_stages(pulled, DAY, factor, helpers=2)
    each = sum(one.hands_s for one in DAY)
    assert found.hands_s == pytest.approx((factor * each).sum(axis=1))


def test_a_clock_of_free_time_runs_only_then() -> None:
    free = np.array([[True, False, False, True, True]])
    own = FreeTime(free, 100.0, 10.0)
    said = [float(own.clock_s(np.array([t]))[0]) for t in (90.0, 105.0, 110.0, 125.0, 135.0, 170.0)]
    assert said == [0.0, 5.0, 10.0, 10.0, 15.0, 50.0]
    back = [float(own.moment_at(np.array([c]))[0]) for c in (5.0, 10.0, 15.0, 30.0, 50.0)]
    assert back == [105.0, 110.0, 135.0, 150.0, 170.0]
