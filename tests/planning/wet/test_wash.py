from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import NoAnswerError
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.wash import WashSetup, read_wash
from drybox.planning.wet.pools import WashWay, bath_by_bath, likely_pools, residual_kg_m2
from drybox.planning.wet.wash import Goal, least_water_m3, plan_wash
from drybox.reports.text.plan_words import wash_why_said

GOALS: tuple[Goal, ...] = ("least water", "least time", "best result")


def setup(
    dry_mass_kg_m2: float = 0.255, resin_coated: bool = False, area_m2: float = 0.0129, **told: Any
) -> WashSetup:
    read = Settings(None, {f"process.wash.{key}": value for key, value in told.items()})
    return read_wash(
        read,
        sheet_area_m2=area_m2,
        dry_mass_kg_m2=dry_mass_kg_m2,
        resin_coated=resin_coated,
        fixing_s=60.0,
    )


def test_a_batch_of_eight_takes_the_water_and_time_the_trade_reckons_with() -> None:
    plan = plan_wash(setup(prints=8, carry_over="4 ml", time="60 min"), "least time")
    assert plan.reached
    assert 20 <= plan.duration_s / 60 <= 40
    assert 4 <= plan.changes <= 8
    assert 0.4e-3 <= plan.water_total_m3 / 8 <= 2.3e-3


@pytest.mark.parametrize(
    ("told", "low_min", "high_min"),
    [
        ({"fixing": "short", "wash_aid": True}, 15, 30),  # the 20 min routine
        ({"fixing": "long", "wash_aid": True}, 25, 60),
        ({"fixing": "long"}, 60, 90),  # 12 x 5 min, 16-20 changes in about an hour
        ({"fixing": "long", "target": "keeping"}, 80, 120),  # still falling at 90 min
    ],
)
def test_least_times_agree_with_the_routines_that_are_taught(
    told: dict[str, Any], low_min: float, high_min: float
) -> None:
    plan = plan_wash(setup(**told), "least time")
    assert plan.reached
    assert low_min <= plan.duration_s / 60 <= high_min


def test_resin_coated_paper_is_washed_in_a_few_minutes_and_thin_paper_before_thick() -> None:
    assert plan_wash(setup(resin_coated=True)).duration_s <= 6 * 60
    thin, thick = (plan_wash(setup(dry_mass_kg_m2=m)).duration_s for m in (0.14, 0.30))
    assert thin < 0.6 * thick


@pytest.mark.parametrize("goal", GOALS)
@pytest.mark.parametrize("aid", [False, True])
def test_the_plan_adds_up(goal: Goal, aid: bool) -> None:
    setting = setup(prints=6, wash_aid=aid, water="12 l", time="45 min")
    plan = plan_wash(setting, goal)
    assert plan.water_total_m3 == pytest.approx(plan.changes * plan.water_per_change_m3)
    assert plan.water_total_m3 <= 12e-3 * (1 + 1e-9)
    assert plan.duration_s <= 45 * 60
    assert len(plan.residual_kg_m2) == plan.changes
    assert [step.kind for step in plan.steps].count("wash aid") == int(aid)
    assert all(a > b for a, b in zip(plan.residual_kg_m2, plan.residual_kg_m2[1:], strict=False))
    low, middle, high = plan.residual_range_kg_m2
    assert low < middle < high
    assert middle == pytest.approx(plan.residual_kg_m2[-1], rel=0.15)


@given(
    changes=st.integers(2, 20),
    soak=st.floats(60.0, 900.0),
    water=st.floats(2e-4, 1e-2),
    aid=st.booleans(),
)
@settings(max_examples=50, deadline=None)
def test_the_grid_and_the_bath_by_bath_history_agree(
    changes: int, soak: float, water: float, aid: bool
) -> None:
    setting = setup(prints=3, wash_aid=aid)
    pools = likely_pools(setting)
    history = bath_by_bath(setting, pools, WashWay(changes, soak, water))
    at_once = residual_kg_m2(setting, pools, float(changes), soak=soak, water=water)
    assert history.print_kg_m2[-1] == pytest.approx(float(at_once), rel=1e-11)


def outcome(goal: Goal, told: dict[str, Any], sure: bool = False) -> tuple[bool, float]:
    """Return whether the target is met, and the figure that the goal makes small."""
    plan = plan_wash(setup(**told), goal, sure=sure)
    if goal == "best result" or not plan.reached:
        return plan.reached, plan.residual_kg_m2[-1]
    return True, plan.water_total_m3 if goal == "least water" else plan.duration_s


@given(
    goal=st.sampled_from(GOALS),
    prints=st.integers(1, 12),
    litres=st.floats(4.0, 30.0),
    minutes=st.floats(10.0, 130.0),
    more=st.floats(1.0, 4.0),
    what=st.sampled_from(["water", "time"]),
    sure=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_more_water_or_more_time_is_never_worse(
    goal: Goal, prints: int, litres: float, minutes: float, more: float, what: str, sure: bool
) -> None:
    told = {"prints": prints, "water": f"{litres} l", "time": f"{minutes} min"}
    richer = dict(told)
    richer[what] = f"{litres * more} l" if what == "water" else f"{minutes * more} min"
    met, figure = outcome(goal, told, sure)
    met_richer, figure_richer = outcome(goal, richer, sure)
    assert met_richer >= met
    if met_richer == met:
        assert figure_richer <= figure * (1 + 1e-9)


def test_planning_to_be_sure_takes_longer_and_is_met_by_nine_in_ten() -> None:
    likely, sure = (plan_wash(setup(), "least time", sure=s) for s in (False, True))
    assert likely.chance_frac == pytest.approx(0.5, abs=0.1)
    assert sure.chance_frac == pytest.approx(0.9, abs=0.05)
    assert sure.duration_s > likely.duration_s


def test_the_same_seed_gives_the_same_range_and_another_nearly_the_same() -> None:
    first, again, other = (plan_wash(setup(), seed=s).residual_range_kg_m2 for s in (1, 1, 2))
    assert first == again
    assert first != other
    assert first == pytest.approx(other, rel=0.1)


def test_an_under_washed_print_says_so_and_what_it_needs_at_home() -> None:
    short = setup(fixing="long", time="15 min")
    plan = plan_wash(short)
    assert not plan.reached
    assert "out of reach with 15 min" in wash_why_said(short, plan)
    assert plan.rewash_changes >= 5
    full = plan_wash(setup(fixing="long"))
    assert (full.rewash_changes, full.rewash_soak_s) == (0, 0.0)


def test_a_print_washed_only_until_its_rewash_still_needs_one() -> None:
    plan = plan_wash(setup(target="until rewash"))
    assert plan.reached
    assert plan.rewash_changes > 0
    assert plan.duration_s < plan_wash(setup()).duration_s


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"time": "1 min"}, "too short for a wash"),
        ({"water": "100 ml"}, "bring 200 ml or more"),
        ({"prints": 8, "vessel": "300 ml"}, "too small to wash 8 prints"),
    ],
)
def test_too_little_for_one_change_has_no_answer_and_says_what_would_do(
    told: dict[str, Any], said: str
) -> None:
    with pytest.raises(NoAnswerError, match=said):
        plan_wash(setup(**told))


def test_water_covers_the_print_and_grows_with_the_batch() -> None:
    one, many = (least_water_m3(setup(prints=n)) for n in (1, 20))
    assert one == pytest.approx(0.0129 * 0.015)
    assert many == pytest.approx(25 * 20 * setup().carry_over_m3)


def test_sheets_of_any_size_are_washed_alike() -> None:
    small, large = (plan_wash(setup(area_m2=a), "least time") for a in (0.0129, 0.0516))
    assert large.duration_s == pytest.approx(small.duration_s, rel=0.1)
    assert np.isclose(large.water_total_m3 / small.water_total_m3, 4.0, rtol=0.25)
