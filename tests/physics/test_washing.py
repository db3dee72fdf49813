from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.physics.washing import (
    carry_over_share_frac,
    left_frac,
    wash_in_changes,
    washing_time_constant_s,
)
from drybox.tables import load_table
from tests.reference import Row, rows


def left_after_changes(
    carry_over_m3: float, water_m3: float, soaks_s: list[float], time_constant_s: float
) -> Any:
    share = carry_over_share_frac(carry_over_m3, water_m3)
    return wash_in_changes(1.0, 0.0, share, soaks_s, time_constant_s, 1e6).print_kg_m2[-1]


QUANTITIES: dict[str, Callable[..., Any]] = {
    "carry_over_share_frac": carry_over_share_frac,
    "left_after_changes": left_after_changes,
    "washing_time_constant_s": washing_time_constant_s,
}


@pytest.mark.parametrize("row", rows("washing", *QUANTITIES))
def test_published_value(row: Row) -> None:
    row.check(QUANTITIES[row.quantity](**row.inputs))


@given(
    load=st.floats(1e-3, 0.05),
    bound=st.floats(0.0, 0.3),
    share=st.floats(0.0, 0.5),
    soaks=st.lists(st.floats(0.0, 3600.0), min_size=1, max_size=20),
    free_tau=st.floats(20.0, 1500.0),
    bound_tau=st.floats(600.0, 9000.0),
)
def test_thiosulfate_in_print_and_discarded_water_is_what_there_was(
    load: float, bound: float, share: float, soaks: list[float], free_tau: float, bound_tau: float
) -> None:
    history = wash_in_changes(load, bound, share, soaks, free_tau, bound_tau)
    assert history.print_kg_m2[-1] + history.removed_kg_m2.sum() == pytest.approx(load, rel=1e-13)
    assert (history.removed_kg_m2 >= 0).all()
    assert (np.diff(history.print_kg_m2) <= 0).all()


@given(
    water=st.floats(1e-4, 1e-2),
    more=st.floats(1.0, 10.0),
    soak=st.floats(0.0, 3600.0),
    tau=st.floats(20.0, 1500.0),
)
def test_more_water_or_time_in_a_bath_never_leaves_more(
    water: float, more: float, soak: float, tau: float
) -> None:
    share, less_share = (carry_over_share_frac(4e-6, v) for v in (water, water * more))
    left = left_frac(share, soak, tau)
    assert left_frac(less_share, soak, tau) <= left * (1 + 1e-15)
    assert left_frac(share, soak * more, tau) <= left * (1 + 1e-15)
    assert share <= left * (1 + 1e-15)
    assert left <= 1.0


def test_running_water_is_the_limit_of_much_water() -> None:
    limit = np.exp(-2.0)
    much = left_frac(carry_over_share_frac(4e-6, 4.0), 600.0, 300.0)
    assert left_frac(0.0, 600.0, 300.0) == pytest.approx(limit, rel=1e-14)
    assert much == pytest.approx(limit, rel=1e-5)


def test_arrays_broadcast_over_members_and_baths() -> None:
    load = np.array([0.01, 0.02, 0.03])
    history = wash_in_changes(load, 0.01, 0.01, [300.0, 300.0], 500.0, 2400.0)
    assert history.print_kg_m2.shape == (3, 2)
    alone = wash_in_changes(0.02, 0.01, 0.01, [300.0, 300.0], 500.0, 2400.0)
    assert history.print_kg_m2[1] == pytest.approx(alone.print_kg_m2, rel=1e-15)
    assert np.sum(history.removed_kg_m2, -1) == pytest.approx(load - history.print_kg_m2[:, -1])


def test_members_each_with_soaks_of_their_own_are_each_what_they_are_alone() -> None:
    soaks = np.array([[300.0, 600.0, 120.0], [60.0, 900.0, 300.0]])
    together = wash_in_changes(0.02, 0.01, 0.01, soaks, 500.0, 2400.0)
    for member in range(2):
        alone = wash_in_changes(0.02, 0.01, 0.01, soaks[member], 500.0, 2400.0)
        assert together.print_kg_m2[member] == pytest.approx(alone.print_kg_m2, rel=1e-15)
        assert together.removed_kg_m2[member] == pytest.approx(alone.removed_kg_m2, rel=1e-13)


def shipped_tau_s(seconds: float, dry_mass_kg_m2: float, temp_k: float) -> Any:
    table = load_table("washing")
    return washing_time_constant_s(
        seconds,
        dry_mass_kg_m2,
        temp_k,
        reference_dry_mass_kg_m2=table["paper"]["reference_dry_mass"].value,
        mass_exponent=table["paper"]["mass_exponent"].value,
        reference_temp_k=table["temperature"]["reference"].value,
        rate_per_10_k=table["temperature"]["rate_per_10_k"].value,
    )


def test_time_constants_agree_with_the_times_that_are_taught_by_weight() -> None:
    single, double = shipped_tau_s(1.0, 0.140, 293.15), shipped_tau_s(1.0, 0.240, 293.15)
    assert double / single == pytest.approx(2.0, rel=0.05)  # 10 and 20 min with a wash aid
    thin, postcard = shipped_tau_s(1.0, 0.135, 293.15), shipped_tau_s(1.0, 0.300, 293.15)
    assert postcard / thin == pytest.approx(3.0, rel=0.1)  # 30 and 90 min


def test_cold_water_slows_and_the_published_sea_water_gain_lies_within_the_range() -> None:
    assert shipped_tau_s(480.0, 0.255, 278.15) > 1.5 * shipped_tau_s(480.0, 0.255, 293.15)
    row = load_table("washing")["temperature"]["rate_per_10_k"]
    assert row.low is not None
    assert row.low ** (11 / 10) == pytest.approx(1.25, rel=0.03)


def routine_g_m2(item: str, soaks_min: list[float], aid_from: int) -> float:
    figures = load_table("washing")[item]
    after = [index >= aid_from for index in range(len(soaks_min))]
    taus = {
        pool: [
            figures[f"{pool}_time_constant_after_aid" if aided else f"{pool}_time_constant"].value
            for aided in after
        ]
        for pool in ("free", "bound")
    }
    history = wash_in_changes(
        figures["load"].value,
        figures["bound_share"].value,
        0.0,
        [60.0 * soak for soak in soaks_min],
        taus["free"],
        taus["bound"],
    )
    return float(history.print_kg_m2[-1]) * 1e3


def test_the_20_min_routine_after_a_short_fix_ends_between_the_two_craft_aims() -> None:
    assert 0.015 < routine_g_m2("short_fix", [5, 10, 5], aid_from=1) < 0.05


def test_twelve_changes_after_a_long_fix_reach_the_ordinary_aim_within_its_range() -> None:
    assert routine_g_m2("long_fix", [5] * 12, aid_from=99) == pytest.approx(0.04, rel=0.25)


def test_the_curve_after_a_long_fix_is_flattened_at_60_min_and_still_falls_at_90() -> None:
    left = [routine_g_m2("long_fix", [minutes], aid_from=99) for minutes in (30, 60, 75, 90)]
    early, late = np.log(left[0] / left[1]) / 30, np.log(left[2] / left[3]) / 15
    assert late < early / 2
    assert left[3] < 0.8 * left[2]
