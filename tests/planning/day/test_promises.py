"""A day without baths, with stages that look after themselves, with water that sets a limit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import drybox
from drybox.inputs.event.event import load_event
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.process import read_process
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.promises import _in_turn
from drybox.planning.wet.baths import plan_baths
from drybox.reports.text.phrases import clock
from drybox.said import answer
from tests.planning.short_day import SHORT_DAY
from tests.running import DEMO, event_file, plain

SHORT = {"event.closes": "12:00", "event.breaks": [], "event.every": "15 min"}
NO_BATH = """
[process]
name = "printed elsewhere"
[[process.stage]]
name = "look"
duration = "1 min"
vessel = "none"
"""


def own_process(tmp_path: Path, process: str) -> str:
    text = Path(DEMO).read_text("utf-8")
    head, _, tail = text.partition("\n[process]")
    path = event_file(tmp_path, head + process + tail[tail.index("\n[event]") :])
    (tmp_path / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    return str(path)


def plan(path: str = DEMO, **told: object) -> DayPlan:
    more = {key.replace("__", "."): value for key, value in told.items()}
    return plan_day(load_event(path, SHORT | more), members=20)


@cache
def usual() -> DayPlan:
    return plan()


def changes(found: DayPlan) -> set[str]:
    return {tried.change for tried in found.what_if}


def test_a_day_without_baths_has_no_bath_to_add_or_to_change(tmp_path: Path) -> None:
    found = plan(own_process(tmp_path, NO_BATH))
    assert found.baths.baths == ()
    assert "one more wash tray" in changes(found)
    assert len(changes(usual()) - changes(found)) == 1  # one more of its busiest bath
    assert all(ticket.washed_at > ticket.wet_end_at for ticket in found.tickets)


def test_a_process_without_fixer_leaves_no_silver_to_take_home() -> None:
    own = read_process(Settings(None, {"process.name": "direct positive"}))
    bathed = replace(own, baths=tuple(replace(bath, silver_bearing=False) for bath in own.baths))
    for process, silver in ((own, True), (bathed, False)):
        home = plan_baths(
            process,
            sheet_area_m2=0.0129,
            carry_over_m3=dict.fromkeys(process.sheets, 3e-6),
            sittings=10,
            day_s=28800.0,
        ).take_home
        assert any("used fixer, silver-bearing" in supply.what for supply in home) == silver


def test_a_stage_that_looks_after_itself_leaves_the_hands_free(tmp_path: Path) -> None:
    text = '\n[process]\nname = "direct positive"\n[[process.stage]]\nname = "fixer"\n'
    text += 'duration = "4 min"\nattended = '
    own, free = (plan(own_process(tmp_path, f"{text}{word}\n")) for word in ("true", "false"))
    assert free.utilisation["hands"] < own.utilisation["hands"]


def test_a_sitting_of_less_than_a_minute_is_not_made_shorter() -> None:
    assert "a minute less per sitting" in changes(usual())
    assert "a minute less per sitting" not in changes(plan(event__sitting="40 s"))


def test_where_water_is_short_a_litre_more_is_tried(tmp_path: Path) -> None:
    scarce = plan(process__wash__water="4 L")
    litre = next(one for one in scarce.what_if if one.of == "water")
    assert litre.change == "a litre more for each wash"
    assert litre.why != "water sets no limit"
    free = next(one for one in usual().what_if if one.of == "water")
    assert free.why == "water sets no limit"


def test_a_later_ticket_is_never_promised_before_an_earlier_one_on_its_way() -> None:
    ticket = replace(usual().tickets[0], hand_over="dry", way="sun_plate", promised_at=None)
    given = [(1, 3600.0, "sun_plate"), (2, 1800.0, "sun_plate"), (3, 900.0, "line_shade")]
    told = _in_turn(
        [replace(ticket, ticket=str(n), promise_at=at, way=way) for n, at, way in given]
    )
    assert [(one.promise_at, one.waits_for) for one in told] == [
        (3600.0, ""),
        (3600.0, "1"),
        (900.0, ""),
    ]


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("plan", "The last sitter"),
        ("wash", "changes"),
        ("baths", "elsewhere uses no bath: there is"),
    ],
)
def test_each_command_bears_a_process_without_baths(
    tmp_path: Path, command: str, words: str
) -> None:
    event = own_process(tmp_path, NO_BATH)
    more = ("--members", "20", "--no-what-if") if command == "plan" else ()
    assert words in plain(command, event, *more)


@pytest.mark.parametrize("seed", [1, 2])
def test_nobody_who_comes_by_chance_is_likely_to_sit_in_a_break(seed: int) -> None:
    """Not where half of the draws sit before it and half after it either."""
    told = SHORT_DAY | {
        "event.opens": "10:00",
        "event.closes": "14:30",
        "event.rate": "4 1/h",
        "event.breaks": [["11:30", "12:30"]],
    }
    found = plan_day(load_event(None, told), members=20, seed=seed, what_if=False)
    ((begins, ends),) = found.inputs.day.breaks_s
    sits = [ticket.sitting_at for ticket in found.tickets]
    assert sits == sorted(sits)
    assert any(at >= ends for at in sits)
    assert not [at for at in sits if begins <= at < ends]


def test_no_print_is_laid_on_as_the_event_closes() -> None:
    told = SHORT_DAY | {
        "event.closes": "12:10",
        "event.every": "4 min",
        "event.operators": 3,
        "event.prints": 2,
        "event.wash_trays": 4,
        "paper.stock": "fibre single weight",
    }
    found = plan_day(load_event(None, told), members=20, what_if=False)
    laid = [ticket.laid_on_at for ticket in found.tickets if ticket.laid_on_at is not None]
    assert laid
    assert max(laid) < found.event.closes_at


def test_a_print_fetched_touch_dry_is_shown_with_when_it_is_touch_dry() -> None:
    told = SHORT_DAY | {
        "event.every": "30 min",
        "event.wait_limit": "45 min",
        "event.plate_slots": 0,
        "weather.humidity": "50 %",
    }
    found = drybox.plan_day(load_event(None, told), members=20, what_if=False)
    fetched = [ticket for ticket in found.tickets if ticket.hand_over == "pick_up"]
    rows = {row["ticket"]: row for row in answer(found).tables[0].rows}
    assert {ticket.ready_as for ticket in fetched} == {"touch_dry"}
    for ticket in fetched:
        ends = ticket.touch_dry_at.p10, ticket.touch_dry_at.p90
        shown = "–".join(clock(at or 0.0, found.event.place.timezone) for at in ends)
        assert rows[ticket.ticket]["dry_range"] == shown
