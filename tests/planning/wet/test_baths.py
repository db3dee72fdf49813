from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import InputError
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.process import Process, process_names, read_process
from drybox.planning.wet.baths import BathPlan, BathUse, WashWater, plan_baths, stage_times
from drybox.reports.text.plan_words import bath_warnings

AREA_4X5_M2 = 0.1016 * 0.127


def made(name: str = "direct positive", **told: Any) -> Process:
    return read_process(
        Settings(None, {"process.name": name} | {f"process.{k}": v for k, v in told.items()})
    )


def plan(process: Process, carried_ml: float = 3.5, sittings: int = 40, **over: Any) -> BathPlan:
    rest: dict[str, Any] = {
        "sheet_area_m2": AREA_4X5_M2,
        "carry_over_m3": dict.fromkeys(process.sheets, carried_ml * 1e-6),
        "day_s": 8 * 3600.0,
    }
    return plan_baths(process, sittings=sittings, **(rest | over))


def bath(made_plan: BathPlan, name: str) -> BathUse:
    return next(use for use in made_plan.baths if use.bath == name)


def test_an_acid_fixer_of_400_ml_ends_by_area_at_32_sheets() -> None:
    fixer = bath(plan(made()), "fixer")
    assert (fixer.sheets_capacity, fixer.change_after_sheet, fixer.limit) == (32, 32, "area")
    assert fixer.fills == 2


def test_40_sheets_of_3_5_ml_leave_400_ml_at_70_percent() -> None:
    stop = bath(plan(made(spoilt="0 %")), "stop")
    assert stop.sheets_today == 40
    assert stop.strength_frac == pytest.approx(0.70, abs=0.005)
    assert (stop.limit, stop.change_after_sheet) == ("dilution", 40)


def test_the_level_stops_the_first_tank_unless_it_is_topped_up() -> None:
    alone = bath(plan(made(top_up=False), carried_ml=4.0), "developer")
    assert (alone.limit, alone.change_after_sheet) == ("level", 10)
    assert alone.level_m3 == pytest.approx(360e-6)
    topped = plan(made(spoilt="0 %"), carried_ml=4.0)
    developer = bath(topped, "developer")
    assert developer.limit == "life"
    assert developer.top_up_per_sheet_m3 == pytest.approx(4e-6)
    brought = next(s for s in topped.bring if s.what.startswith("developer"))
    assert brought.amount == pytest.approx(1.2 * (400 + 160), abs=50)


def test_the_clock_ends_a_developer_on_a_slow_day() -> None:
    slow = bath(plan(made(), sittings=4, day_s=24 * 3600.0), "developer")
    assert slow.limit == "life"
    assert slow.fills == 2


def test_two_sheets_a_sitting_wear_the_baths_twice_as_fast() -> None:
    once, twice = plan(made()), plan(made("paper negative and copy"))
    assert bath(twice, "fixer").sheets_today == 2 * bath(once, "fixer").sheets_today
    assert bath(twice, "rinse").sheets_today == bath(once, "fixer").sheets_today
    assert twice.sheets_through == 2 * once.sheets_through


def test_sheets_already_through_are_counted_in() -> None:
    fixer = bath(plan(made(), used={"fixer": 30}), "fixer")
    assert (fixer.sheets_used, fixer.sheets_left) == (30, 2)
    spent = plan(made(), used={"fixer": 33})
    assert bath(spent, "fixer").sheets_left == 0
    assert spent.first_to_change.bath == "fixer"
    assert [w.use.bath for w in spent.warnings if w.code == "spent" and w.use] == ["fixer"]


def test_used_sheets_of_an_unknown_bath_are_refused() -> None:
    with pytest.raises(InputError, match="has no bath 'fixr'"):
        plan(made(), used={"fixr": 3})


def test_silver_goes_home_apart_and_the_canisters_hold_the_waste() -> None:
    process = made("bleach reversal")
    day = plan(process, wash=WashWater(total_m3=12e-3, first_wash_m3=3e-3, aid_m3=1e-3))
    home = [supply.what for supply in day.take_home]
    assert any("fixer" in what and "silver-bearing" in what for what in home)
    assert any("first wash water, silver-bearing" in what for what in home)
    assert any("bleach, apart" in what for what in home)
    litres = sum(supply.amount for supply in day.take_home) / 1000
    canisters = next(supply for supply in day.bring if "canisters" in supply.what)
    assert litres <= canisters.amount < litres + 1


def test_what_is_brought_fills_every_tank_with_the_spare() -> None:
    for name in process_names():
        day = plan(made(name))
        for use in day.baths:
            if "rinse" in use.kind:
                continue
            supply = next(s for s in day.bring if s.what == f"{use.bath}, working strength")
            assert supply.amount >= 1.2 * use.volume_m3 * 1e6 * use.fills - 1e-6


def test_heat_shortens_and_cold_lengthens_what_chemistry_times() -> None:
    process = made()
    normal, hot = stage_times(process), stage_times(replace(process, temp_k=303.15))
    drain = process.stages[0].drain_s
    assert normal[0].duration_s == pytest.approx(120.0 + drain)
    assert (hot[0].duration_s - drain) * 2 == pytest.approx(120.0, rel=0.02)
    copy = made("paper negative and copy")
    warm = {s.stage: s.duration_s for s in stage_times(replace(copy, temp_k=303.15))}
    assert warm["copy exposure"] == 90.0


@pytest.mark.parametrize(
    ("temp", "code", "said"),
    [("10 °C", "too_cold", "At 50 °F developer nearly"), ("29 °C", "too_warm", "At 84 °F gelatin")],
)
def test_tanks_too_cold_or_too_warm_are_warned_of(temp: str, code: str, said: str) -> None:
    process = made(temperature=temp)
    found = plan(process)
    assert [warning.code for warning in found.warnings] == [code]
    assert bath_warnings(process, found, "us")[0].startswith(said)


@given(
    name=st.sampled_from(process_names()),
    sittings=st.integers(0, 200),
    carried=st.floats(0.05, 50.0),
    hours=st.floats(0.5, 24.0),
    top_up=st.booleans(),
    used=st.integers(0, 300),
)
@settings(max_examples=60, deadline=None)
def test_nothing_is_ever_negative_and_more_sittings_never_need_less(
    name: str, sittings: int, carried: float, hours: float, top_up: bool, used: int
) -> None:
    process = made(name, top_up=top_up)
    over = {"day_s": hours * 3600.0, "used": {"fixer": used}}
    day = plan(process, carried, sittings, **over)
    for use in day.baths:
        assert 0.0 <= use.level_m3 <= use.volume_m3
        assert 0.0 <= use.strength_frac <= 1.0
        assert use.sheets_left >= 0
        assert use.fills >= 1
    more = plan(process, carried, sittings + 10, day_s=hours * 3600.0 * 2, used={"fixer": used})
    if not sittings:
        assert all(s.amount > 0 for s in more.bring)
    assert more.sheets_through >= day.sheets_through
