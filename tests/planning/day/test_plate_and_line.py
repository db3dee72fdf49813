"""Slots on plate and line: first come first served, none held twice, and what one more does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drybox.physics.simulation.day_run import PlateDay
from drybox.planning.day.drying_table import EVERY_S, PLATE, DryingTable
from drybox.planning.day.plate_and_line import (
    HANDS_EVERY_S,
    Dried,
    Queue,
    WetPrints,
    dry_on_line,
    dry_on_plate,
)
from drybox.planning.day.ways import BATTERY, Wanted, choose_ways
from drybox.planning.scenario.percentiles import quantiles_of_next
from tests.boxes import OPEN
from tests.physics.simulation.test_day_run import MARKS, day

Array = NDArray[np.float64]
DAY_S = 6 * 3600.0
LINE = "line_shade"
STEPS = int(DAY_S / HANDS_EVERY_S) + 1


class TimedPlate:
    """A plate on which each print takes the time written in its water, whoever lies beside it."""

    def __init__(self, cases: int, slots: int) -> None:
        self.time_at = 0.0
        self.slots = slots
        self.occupied = np.zeros((cases, slots), dtype=bool)
        self.due_s = np.full((cases, slots), np.inf)

    def lay_on(
        self,
        cases: NDArray[np.intp],
        slot: NDArray[np.intp],
        _: float,
        *,
        water_kg_m2: Array,
        **__: Array,
    ) -> None:
        assert not self.occupied[cases, slot].any()
        self.occupied[cases, slot] = True
        self.due_s[cases, slot] = self.time_at + water_kg_m2  # here the time it takes

    def take_off(self, which: NDArray[np.bool_]) -> None:
        assert self.occupied[which].all()
        self.occupied &= ~which
        self.due_s[which] = np.inf

    @property
    def air_temp_k(self) -> Array:
        return np.full(self.occupied.shape[0], 293.15)

    def give_back_slots(self) -> None:
        """Keep them all: they cost nothing here."""

    def advance(self, step_s: float) -> Array:
        before, self.time_at = self.time_at, self.time_at + step_s
        dry = np.where((self.due_s > before) & (self.due_s <= self.time_at), self.due_s, np.inf)
        return np.stack([dry, dry])


def never(lay_at: Array) -> Array:
    """Return when prints must go that nobody waits for."""
    return np.full(lay_at.shape, np.inf)


def queue(
    lay_at: Array,
    slots: int = 1,
    *,
    leave_at: Array | None = None,
    hands: NDArray[np.bool_] | None = None,
    touch_from_s: float = np.inf,
) -> Queue:
    n = lay_at.shape[0]
    return Queue(
        lay_at=lay_at,
        leave_at=never(lay_at) if leave_at is None else leave_at,
        touch_from_at=np.full(lay_at.shape, touch_from_s),
        slots=np.full(n, slots),
        hands=np.ones((n, STEPS), dtype=bool) if hands is None else hands,
        start_at=0.0,
    )


def timed(
    lay_at: Array, lasts_s: Array, slots: int, free: NDArray[np.bool_] | None = None
) -> Dried:
    n, _ = lay_at.shape
    hands = np.ones((n, STEPS), dtype=bool) if free is None else free
    prints = WetPrints(lasts_s, *(np.ones_like(lasts_s) for _ in range(3)))
    plate = TimedPlate(n, slots)
    return dry_on_plate(plate, prints, queue(lay_at, slots, hands=hands), until_at=DAY_S)  # type: ignore[arg-type]


def drawn(seed: int, tickets: int = 18) -> tuple[Array, Array]:
    rng = np.random.default_rng(seed)
    lay = np.sort(rng.uniform(0, 3 * 3600.0, (3, tickets)), axis=1)
    lay[rng.random(lay.shape) < 0.1] = np.inf
    return lay, rng.uniform(300, 3000, lay.shape)


def check_slots(dried: Dried, slots: int) -> None:
    """No slot holds two prints, none is used that is not there, and stages come in order."""
    on = np.isfinite(dried.laid_at)
    assert (dried.slot[on] >= 0).all()
    assert (dried.slot[on] < slots).all()
    assert (dried.dry_at >= dried.laid_at)[on].all()
    assert (dried.pulled_at >= dried.dry_at)[on].all()
    for row in range(dried.slot.shape[0]):
        for slot in range(slots):
            here = np.flatnonzero(dried.slot[row] == slot)
            order = here[np.argsort(dried.laid_at[row, here])]
            assert (dried.laid_at[row, order[1:]] >= dried.left_at[row, order[:-1]]).all()


seeds = st.integers(0, 2**32 - 1)


@given(seeds, st.integers(1, 5))
@settings(max_examples=40, deadline=None)
def test_no_plate_slot_is_held_twice_and_prints_go_on_as_they_come(seed: int, slots: int) -> None:
    lay, lasts = drawn(seed)
    dried = timed(lay, lasts, slots)
    check_slots(dried, slots)
    on = np.isfinite(dried.laid_at)
    assert (dried.laid_at >= lay)[on].all()
    for ready, laid in zip(lay, dried.laid_at, strict=True):
        known = np.isfinite(laid)
        assert (np.diff(laid[known][np.argsort(ready[known])]) >= 0).all()


@pytest.mark.slow
@given(seeds, st.integers(1, 4))
@settings(max_examples=40, deadline=None)
def test_with_given_drying_times_one_more_slot_never_delays_anybody(seed: int, slots: int) -> None:
    lay, lasts = drawn(seed)
    some, more = timed(lay, lasts, slots), timed(lay, lasts, slots + 1)
    known = np.isfinite(some.laid_at)
    assert (more.laid_at <= some.laid_at)[known].all()
    done = np.isfinite(some.pulled_at)
    assert (more.pulled_at <= some.pulled_at)[done].all()


def test_prints_wait_for_hands_to_be_laid_on_and_to_be_pulled() -> None:
    free = np.zeros((1, STEPS), dtype=bool)
    free[0, [10, 40]] = True
    dried = timed(np.array([[100.0]]), np.array([[450.0]]), 1, free)
    assert dried.laid_at[0, 0] == 10 * HANDS_EVERY_S
    assert dried.dry_at[0, 0] == 10 * HANDS_EVERY_S + 450.0
    assert dried.pulled_at[0, 0] == 40 * HANDS_EVERY_S


def table(after_s: float = 1800.0, members: int = 3) -> DryingTable:
    starts = np.arange(0.0, DAY_S + 1.0, EVERY_S)
    after = np.full((members, starts.size), after_s)
    return DryingTable(starts, 0.5 * after, after)


def on_line(lay: Array, slots: int, share: Array | None = None) -> Dried:
    n = lay.shape[0]
    lose = np.ones_like(lay) if share is None else share
    return dry_on_line(table(), np.arange(n), queue(lay, slots), water_share=lose)


def test_a_line_of_one_slot_by_hand() -> None:
    lay = np.array([[0.0, 600.0, 7200.0]] * 3)
    dried = on_line(lay, 1)
    np.testing.assert_allclose(dried.laid_at[0], [0.0, 1800.0, 7200.0])
    np.testing.assert_allclose(dried.dry_at[0], [1800.0, 3600.0, 9000.0])
    half = on_line(lay, 1, np.full_like(lay, 0.5))
    np.testing.assert_allclose(half.dry_at[0], [900.0, 1800.0, 8100.0])


@given(seeds, st.integers(1, 4))
@settings(max_examples=40, deadline=None)
def test_one_more_line_slot_never_delays_anybody(seed: int, slots: int) -> None:
    lay, _ = drawn(seed)
    some, more = on_line(lay, slots), on_line(lay, slots + 1)
    check_slots(some, slots)
    known = np.isfinite(some.laid_at)
    assert (more.laid_at <= some.laid_at)[known].all()


def test_a_drying_table_is_straight_between_its_times_and_never_past_an_end() -> None:
    starts = np.array([0.0, EVERY_S, 2 * EVERY_S])
    found = DryingTable(starts, np.zeros((1, 3)), np.array([[600.0, 1200.0, np.inf]]))
    times = np.array([-50.0, 0.0, 900.0, 1800.0, 2000.0, 9e9, np.inf])
    _, after = found.after(times, np.zeros(times.size, dtype=np.intp))
    np.testing.assert_allclose(after, [600, 600, 900, 1200, np.inf, np.inf, np.inf])


def test_each_ticket_takes_the_way_where_nine_in_ten_are_dry_soonest() -> None:
    lay = np.tile(np.array([0.0, 60.0, 120.0, 9000.0]), (3, 1))
    tables = {PLATE: table(900.0), LINE: table(2400.0)}
    wanted = Wanted(lay, np.full_like(lay, 1e9), 1e9)
    choice = choose_ways(wanted, tables, {PLATE: 1, LINE: 5})
    # the third would be dry on the plate at 2700 s, after the two before it, on the line at 2520 s
    assert choice.ways == (PLATE, PLATE, LINE, PLATE)
    assert choice.waited == {PLATE}


def test_a_place_that_a_print_has_taken_already_is_not_promised_to_another() -> None:
    lay = np.tile(np.array([0.0, 60.0, 120.0]), (3, 1))
    tables = {PLATE: table(900.0), LINE: table(1500.0)}
    wanted = Wanted(lay, np.full_like(lay, 1e9), 1e9)
    assert choose_ways(wanted, tables, {PLATE: 1, LINE: 5}).ways == (PLATE, LINE, LINE)
    choice = choose_ways(wanted, tables, {PLATE: 1, LINE: 5}, taken={0: LINE})
    assert choice.ways == (LINE, PLATE, LINE)


def test_a_ticket_not_even_touch_dry_in_time_in_half_the_draws_takes_no_slot() -> None:
    lay = np.zeros((3, 1))
    slots = {PLATE: 1}
    for closes, way, mark in (
        (1000.0, PLATE, "dry"),
        (500.0, PLATE, "touch_dry"),
        (400.0, None, "dry"),
    ):
        wanted = Wanted(lay, np.full_like(lay, closes), closes)
        choice = choose_ways(wanted, {PLATE: table(900.0)}, slots)
        assert (choice.ways, choice.marks) == ((way,), (mark,))


def test_a_print_handed_over_leaves_its_slot_and_one_that_has_gone_is_never_laid_on() -> None:
    lay = np.array([[0.0, 60.0, 120.0]])
    lasts, leave = np.full(lay.shape, 3000.0), np.array([[600.0, 500.0, 9000.0]])
    prints = WetPrints(lasts, *(np.ones_like(lasts) for _ in range(3)))
    plate, waits = TimedPlate(1, 1), queue(lay, leave_at=leave)
    on_plate = dry_on_plate(plate, prints, waits, until_at=DAY_S)  # type: ignore[arg-type]
    times, none = table(3000.0, 1), np.zeros(1, dtype=int)
    line = dry_on_line(times, none, waits, water_share=np.ones_like(lay))
    for dried in (on_plate, line):
        np.testing.assert_allclose(dried.laid_at, [[0.0, np.inf, 600.0]])
        np.testing.assert_allclose(dried.left_at, [[600.0, np.inf, 3600.0]])
        np.testing.assert_allclose(dried.pulled_at, [[np.inf, np.inf, 3600.0]])
        assert (dried.slot[0] >= 0).tolist() == [True, False, True]


def test_on_a_real_plate_one_more_slot_makes_it_colder_for_those_that_lie_there() -> None:
    """Why 'one more slot never delays anybody' cannot hold: a fuller plate is a colder one."""
    forcing = day(3)
    lay = np.tile(np.array([3600.0, 3660.0]), (3, 1))
    each = np.full(lay.shape, 0.2)
    wet, dry = 200.0 * np.ones_like(lay), 60.0 * np.ones_like(lay)
    prints = WetPrints(each, wet, dry, 0.35 * np.ones_like(lay))
    times = []
    for slots in (1, 2):
        plate = PlateDay(
            replace(OPEN, slots=2), forcing, np.arange(3), start_at=0.0, marks_kg_m2=MARKS
        )
        times.append(dry_on_plate(plate, prints, queue(lay, slots), until_at=14400.0))
    one, two = times
    assert (two.laid_at[:, 1] < one.laid_at[:, 1]).all()
    assert (two.dry_at[:, 1] < one.dry_at[:, 1]).all()
    assert (two.dry_at[:, 0] > one.dry_at[:, 0] + 10.0).all()


@given(seeds, st.integers(5, 60))
@settings(max_examples=30, deadline=None)
def test_percentiles_of_the_next_draw_rise_and_lie_among_the_draws(seed: int, draws: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.exponential(1.0, (draws, 4))
    values[rng.random(values.shape) < 0.1] = np.inf
    values[rng.random(values.shape) < 0.1] = np.nan
    low, middle, high = quantiles_of_next(values, 0.1, 0.5, 0.9)
    known = ~np.isnan(low)
    assert (low <= middle)[known].all()
    assert (middle <= high)[known].all()
    for column in np.flatnonzero(known):
        assert low[column] >= np.nanmin(values[:, column])


def test_nine_in_ten_of_the_next_draws_lie_below_the_percentile_of_a_few() -> None:
    rng = np.random.default_rng(4)
    few = rng.normal(size=(19, 20000))
    found = quantiles_of_next(few, 0.9)[0]
    kept = (rng.normal(size=20000) <= found).mean()
    assert kept == pytest.approx(0.9, abs=0.007)


def test_idle_places_are_for_prints_that_may_be_dry_with_luck_where_one_tries() -> None:
    """Alike: the second has the odds of one day in four, and nobody wants its place."""
    took = np.where(np.arange(40)[:, None] < 24, 3600.0, np.inf) * np.ones((1, 2))
    table = DryingTable(np.array([0.0, EVERY_S]), touch_after_s=took, after_s=took)
    lay = np.tile([0.0, 60.0], (40, 1))
    late = np.where(np.arange(40) < 10, 60.0, 1000.0)
    wanted = Wanted(lay + np.stack([0 * late, late], axis=1), lay + 3000.0, closes_at=3800.0)
    two = choose_ways(wanted, {PLATE: table}, {PLATE: 2})
    assert (two.ways, two.marks) == ((PLATE, PLATE), ("luck_later", "luck_later"))
    one = choose_ways(wanted, {PLATE: table}, {PLATE: 1})
    assert one.ways == (PLATE, None)


def test_a_print_likely_dry_only_after_its_sitters_wait_lies_until_the_closing() -> None:
    """Taken off when the wait ends it would never be dry; its sitter may come by at the closing."""
    took = np.where(np.arange(40)[:, None] < 24, 3600.0, np.inf) * np.ones((1, 2))
    table = DryingTable(np.array([0.0, EVERY_S]), touch_after_s=took, after_s=took)
    for wait_s, mark in ((4000.0, "luck"), (3000.0, "luck_later")):
        wanted = Wanted(np.zeros((40, 1)), np.full((40, 1), wait_s), closes_at=5000.0)
        choice = choose_ways(wanted, {PLATE: table}, {PLATE: 1})
        assert (choice.ways, choice.marks) == ((PLATE,), (mark,))


def test_a_powered_way_is_promised_only_where_the_battery_lasts_in_nine_days_of_ten() -> None:
    took = np.where(np.arange(40)[:, None] < 30, 1800.0, 3600.0) * np.ones((1, 2))
    table = DryingTable(
        np.array([0.0, EVERY_S]), touch_after_s=took, after_s=took, power_w=100.0, lead_j=0.0
    )
    wanted = Wanted(np.zeros((40, 1)), np.full((40, 1), 7200.0), closes_at=7200.0)
    for lasts_s, mark in ((3600.0, "dry"), (2000.0, "luck_later"), (1700.0, None)):
        choice = choose_ways(
            wanted, {"warm_plate": table}, {"warm_plate": 1}, battery_j=100.0 * lasts_s
        )
        assert choice.ways == (None if mark is None else "warm_plate",)
        assert mark is None or choice.marks == (mark,)
        assert (BATTERY in choice.waited) == (mark != "dry")
