"""The wet line and the wash: by hand, against an independent simulation, and what must hold."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

import numpy as np
import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drybox.planning.wet.line import Run, Use, WetLine, after_breaks_s, serve, wash_in_batches

Array = NDArray[np.float64]
MINUTE = 60.0
CAMERA, DEVELOPER, FIXER = 0, 1, 2


def column(value: float, tickets: int) -> Array:
    return np.full((1, tickets), value)


def sitting_and_tanks(
    sitting: Array, develop: Array, fix: Array, rest: Array, **given: Any
) -> WetLine:
    """A sitting at the camera, then developer and fixer without a pause, then rest untended."""
    nothing = np.zeros_like(sitting)
    runs = (
        Run(sitting, nothing, (Use(CAMERA, nothing, sitting),)),
        Run(
            develop + fix,
            rest,
            (Use(DEVELOPER, nothing, develop), Use(FIXER, develop, develop + fix)),
        ),
    )
    return WetLine(runs, vessels=(1, 1, 1), **given)


def test_a_line_in_step_with_its_sitters_keeps_nobody_waiting() -> None:
    arrive = np.arange(5.0)[None, :] * 12 * MINUTE
    line = sitting_and_tanks(*(column(m * MINUTE, 5) for m in (5, 2, 1, 0)), finishing_s=3 * MINUTE)
    times = serve(arrive, line)
    np.testing.assert_allclose(times.begun_at[0], arrive)
    np.testing.assert_allclose(times.done_s, arrive + 8 * MINUTE)


def test_a_line_slower_than_its_sitters_falls_behind_by_the_difference_each_time() -> None:
    arrive = np.arange(6.0)[None, :] * 8 * MINUTE
    line = sitting_and_tanks(*(column(m * MINUTE, 6) for m in (5, 2, 1, 0)), finishing_s=3 * MINUTE)
    waits = serve(arrive, line).begun_at[0] - arrive
    np.testing.assert_allclose(waits[0], np.arange(6) * 3 * MINUTE)


def test_two_pairs_of_hands_share_one_camera_and_one_tank() -> None:
    arrive = np.zeros((1, 3))
    line = sitting_and_tanks(*(column(m * MINUTE, 3) for m in (4, 6, 1, 0)), hands=2)
    times = serve(arrive, line)
    # sittings at 0, 4 and 11: the first hands develop from 4 to 11, the second sit ticket 2 till 8
    # and then hold its sheet until the developer is free at 10
    np.testing.assert_allclose(times.begun_at[0, 0] / MINUTE, [0, 4, 11])
    np.testing.assert_allclose(times.begun_at[1, 0] / MINUTE, [4, 10, 16])


def test_no_sitting_begins_in_a_break_or_after_closing_and_what_has_begun_is_finished() -> None:
    arrive = np.arange(6.0)[None, :] * 10 * MINUTE
    line = sitting_and_tanks(
        *(column(m * MINUTE, 6) for m in (5, 2, 1, 0)),
        breaks_s=((9 * MINUTE, 31 * MINUTE),),
        closes_at=45 * MINUTE,
    )
    times = serve(arrive, line)
    np.testing.assert_allclose(times.begun_at[0, 0, :3] / MINUTE, [0, 31, 39])
    assert np.isinf(times.done_s[0, 3:]).all()


def test_a_break_moves_only_what_lies_in_it() -> None:
    moved = after_breaks_s(np.array([0.0, 10.0, 19.9, 20.0]), ((10.0, 20.0),))
    np.testing.assert_allclose(moved, [0.0, 20.0, 20.0, 20.0])


def test_wash_batches_by_hand() -> None:
    fixed = np.array([[0.0, 5.0, 8.0, 9.0, 50.0]]) * MINUTE
    wash = wash_in_batches(fixed, 20 * MINUTE, trays=1, together=2)
    np.testing.assert_allclose(wash.begun_at[0] / MINUTE, [0, 20, 20, 40, 60])
    assert wash.batches.tolist() == [4]


def test_a_second_wash_tray_takes_those_who_would_wait() -> None:
    fixed = np.array([[0.0, 5.0, 8.0, 9.0, 50.0]]) * MINUTE
    wash = wash_in_batches(fixed, 20 * MINUTE, trays=2, together=4)
    np.testing.assert_allclose(wash.begun_at[0] / MINUTE, [0, 5, 20, 20, 50])
    assert wash.tray[0, :3].tolist() == [0, 1, 0]


class WetLineBySimPy:
    """The same line as processes that wake each other: one day, one ticket a process."""

    def __init__(self, arrive: Array, parts: list[Array], hands: int, finishing: float) -> None:
        self.env = simpy.Environment()
        self.hands = simpy.PriorityResource(self.env, capacity=hands)
        self.free_at = {"camera": 0.0, "developer": 0.0, "fixer": 0.0}
        self.finishing = finishing
        self.done = np.full(arrive.size, np.inf)
        self.sat = np.full(arrive.size, np.inf)
        for ticket in range(arrive.size):
            own = [float(part[ticket]) for part in parts]
            self.env.process(self.ticket(ticket, float(arrive[ticket]), *own))
        self.env.run()

    def wait_for(self, **needed: float) -> Generator[simpy.Event]:
        """Wait until each vessel named will be free so many seconds from now."""
        while True:
            late = max(self.free_at[name] - self.env.now - ahead for name, ahead in needed.items())
            if late <= 0:
                return
            yield self.env.timeout(late)

    def ticket(
        self, number: int, arrives: float, sitting: float, develop: float, fix: float, rest: float
    ) -> Generator[simpy.Event]:
        yield self.env.timeout(arrives)
        with self.hands.request(priority=number) as asked:
            yield asked
            yield from self.wait_for(camera=0.0)
            self.sat[number] = self.env.now
            self.free_at["camera"] = self.env.now + sitting
            yield self.env.timeout(sitting)
        with self.hands.request(priority=number) as asked:
            yield asked
            yield from self.wait_for(developer=0.0, fixer=develop)
            self.free_at["developer"] = self.env.now + develop
            self.free_at["fixer"] = self.env.now + develop + fix
            yield self.env.timeout(develop + fix)
            self.done[number] = self.env.now + rest
            yield self.env.timeout(self.finishing)


@pytest.mark.parametrize("hands", [1, 2, 3])
@pytest.mark.parametrize("gap_min", [9.0, 14.0])
def test_an_independent_simulation_agrees_on_every_ticket(hands: int, gap_min: float) -> None:
    rng = np.random.default_rng(7 + hands)
    days, tickets = 8, 40
    arrive = np.cumsum(rng.exponential(gap_min * MINUTE, (days, tickets)), axis=1)
    parts = [rng.lognormal(np.log(m * MINUTE), 0.3, (days, tickets)) for m in (6.0, 2.2, 1.3, 30.0)]
    line = sitting_and_tanks(*parts, hands=hands, finishing_s=3 * MINUTE)
    times = serve(arrive, line)
    for day in range(days):
        other = WetLineBySimPy(arrive[day], [part[day] for part in parts], hands, 3 * MINUTE)
        np.testing.assert_allclose(times.begun_at[0, day], other.sat, rtol=1e-12)
        np.testing.assert_allclose(times.done_s[day], other.done, rtol=1e-12)


class WashBySimPy:
    """Trays as processes that take all that waits, up to what fits, whenever they are free."""

    def __init__(self, fixed: Array, duration: float, trays: int, together: int) -> None:
        self.env = simpy.Environment()
        self.waiting: simpy.Store = simpy.Store(self.env)
        self.begun = np.full(fixed.size, np.inf)
        for ticket in range(fixed.size):
            self.env.process(self.bring(ticket, float(fixed[ticket])))
        for _ in range(trays):
            self.env.process(self.tray(duration, together))
        self.env.run(until=float(fixed.max()) + duration * (fixed.size + 1))

    def bring(self, ticket: int, at: float) -> Generator[simpy.Event]:
        yield self.env.timeout(at)
        self.waiting.put(ticket)

    def tray(self, duration: float, together: int) -> Generator[simpy.Event]:
        while True:
            batch = [(yield self.waiting.get())]
            while self.waiting.items and len(batch) < together:
                batch.append((yield self.waiting.get()))
            self.begun[np.array(batch, dtype=int)] = self.env.now
            yield self.env.timeout(duration)


@pytest.mark.parametrize(("trays", "together"), [(1, 1), (1, 4), (2, 3), (3, 2)])
def test_an_independent_simulation_agrees_on_every_wash(trays: int, together: int) -> None:
    rng = np.random.default_rng(11)
    fixed = np.cumsum(rng.exponential(9 * MINUTE, (6, 40)), axis=1)
    wash = wash_in_batches(fixed, 35 * MINUTE, trays, together=together)
    for day in range(6):
        other = WashBySimPy(fixed[day], 35 * MINUTE, trays, together)
        np.testing.assert_allclose(wash.begun_at[day], other.begun)


days = st.integers(0, 2**32 - 1)


def drawn_day(seed: int, hands: int, tickets: int = 25) -> tuple[Array, list[Array], WetLine]:
    rng = np.random.default_rng(seed)
    arrive = np.sort(rng.uniform(0, 5 * 3600.0, (3, tickets)), axis=1)
    arrive[rng.random((3, tickets)) < 0.05] = np.inf
    arrive.sort(axis=1)
    parts = [rng.lognormal(np.log(m * MINUTE), 0.4, (3, tickets)) for m in (6.0, 2.2, 1.3, 8.0)]
    return arrive, parts, sitting_and_tanks(*parts, hands=hands, finishing_s=MINUTE)


def overlaps(begins: Array, ends: Array) -> Array:
    """Return how many of the stretches are under way as each begins, itself counted."""
    known = np.isfinite(begins)
    b, e = begins[known], ends[known]
    return np.asarray(((b[None, :] <= b[:, None]) & (e[None, :] > b[:, None] + 1e-6)).sum(axis=1))


@given(days, st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_nobody_is_in_two_places_and_nothing_is_held_twice(seed: int, hands: int) -> None:
    arrive, parts, line = drawn_day(seed, hands)
    times = serve(arrive, line)
    known = np.isfinite(times.done_s)
    assert (times.begun_at[0] >= arrive)[known].all()
    assert (times.begun_at[1] >= times.hands_off_s[0])[known].all()
    assert (times.done_s >= times.hands_off_s[1])[known].all()
    for day in range(3):
        at_hand = overlaps(
            np.concatenate([times.begun_at[0, day], times.begun_at[1, day]]),
            np.concatenate([times.hands_off_s[0, day], times.hands_off_s[1, day]]),
        )
        assert at_hand.max() <= hands
        developing = times.begun_at[1, day]
        assert overlaps(developing, developing + parts[1][day]).max() == 1
        fixing = developing + parts[1][day]
        assert overlaps(fixing, fixing + parts[2][day]).max() == 1
        assert overlaps(times.begun_at[0, day], times.hands_off_s[0, day]).max() == 1


@given(days, st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_sittings_are_first_come_first_served(seed: int, hands: int) -> None:
    arrive, _, line = drawn_day(seed, hands)
    sat = serve(arrive, line).begun_at[0]
    known = np.isfinite(sat)
    assert all((np.diff(row[mask]) >= 0).all() for row, mask in zip(sat, known, strict=True))


@given(days, st.integers(1, 3), st.integers(1, 5))
@settings(max_examples=60, deadline=None)
def test_no_wash_tray_is_held_twice_and_prints_go_in_as_they_come(
    seed: int, trays: int, together: int
) -> None:
    rng = np.random.default_rng(seed)
    fixed = np.sort(rng.uniform(0, 4 * 3600.0, (2, 30)), axis=1)
    wash = wash_in_batches(fixed, 1800.0, trays, together=together)
    assert (np.diff(wash.begun_at, axis=1) >= 0).all()
    for day in range(2):
        batches = np.unique(np.stack([wash.tray[day], wash.begun_at[day]]), axis=1)
        assert batches.shape[1] == wash.batches[day]
        for tray in range(trays):
            begins = batches[1, batches[0] == tray]
            assert (np.diff(np.sort(begins)) >= 1800.0 - 1e-6).all()
        sizes = [np.sum(wash.begun_at[day] == begin) for begin in np.unique(wash.begun_at[day])]
        assert max(sizes) <= together * trays


@given(days, st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_one_more_wash_tray_never_delays_anybody_washed_alone(seed: int, trays: int) -> None:
    fixed = np.sort(np.random.default_rng(seed).uniform(0, 4 * 3600.0, (2, 30)), axis=1)
    some, more = (wash_in_batches(fixed, 1800.0, count, together=1) for count in (trays, trays + 1))
    assert (more.begun_at <= some.begun_at + 1e-6).all()


def test_in_batches_one_more_wash_tray_can_delay_a_print() -> None:
    fixed = np.array([[0.0, 19.0, 38.0, 39.0, 39.5]]) * MINUTE
    one, two = (
        wash_in_batches(fixed, 20 * MINUTE, count, together=4).begun_at[0, -1] for count in (1, 2)
    )
    assert (one / MINUTE, two / MINUTE) == (40.0, 58.0)


@given(days, st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_one_more_pair_of_hands_never_delays_a_whole_sitting(seed: int, hands: int) -> None:
    arrive, parts, _ = drawn_day(seed, hands)
    run = Run(parts[0], np.zeros_like(parts[0]))
    some, more = (serve(arrive, WetLine((run,), hands=count)) for count in (hands, hands + 1))
    assert (more.begun_at <= some.begun_at + 1e-6)[np.isfinite(some.begun_at)].all()
