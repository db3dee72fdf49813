"""The rule of the hour, in the call, the command and its record."""

from __future__ import annotations

from drybox.api import load_event, plan_day
from tests.running import DEMO, plain, record

SHORT = {"event.closes": "14:00", "event.breaks": [], "weather.sky": "clear"}
"""Four hours; the print of the last is not dry by the closing."""


def test_each_hour_has_its_rule_and_the_last_one_promises_nothing_dry() -> None:
    plan = plan_day(load_event(DEMO, SHORT), members=20, what_if=False)
    assert [rule.from_at for rule in plan.hours] == [
        plan.event.opens_at + 3600.0 * hour for hour in range(4)
    ]
    assert plan.hours[0].hand_over == "dry"
    assert plan.hours[-1].hand_over in ("damp", "mail")
    for rule in plan.hours:
        if rule.promise_after_s is not None and rule.ready_as != "damp":
            assert rule.after_sitting_s.p90 is not None
            assert 0 <= rule.promise_after_s - rule.after_sitting_s.p90 < 300.0
    sat_at = plan.run.setup.wet.sat_at
    for rule in plan.hours:  # it holds for the last to sit in the hour
        if rule.hand_over in ("dry", "touch_dry", "pick_up"):
            within = sat_at[(sat_at >= rule.from_at) & (sat_at < rule.until_at)]
            assert within.max() + (rule.promise_after_s or 0.0) <= plan.event.closes_at + 300.0
    first = [ticket for ticket in plan.tickets if ticket.sitting_at < plan.hours[0].until_at]
    told = [ticket.promise_after_s for ticket in first]
    assert min(told) <= plan.hours[0].promise_after_s <= max(told) + 300.0


def test_the_command_says_the_rule_of_the_hour_and_so_does_its_record() -> None:
    asked = ("plan", DEMO, "--members", "20", "--no-what-if")
    text = plain(*asked)
    assert "Sit now" in text
    assert "1 h 4" in text
    found = record(*asked)["result"]
    assert found["sit_now"][0]["hand_over"] == "dry"
    assert found["sit_now"][0]["promise_after_min"] in range(60, 240, 5)
    sitter = found["sitters"][0]
    assert sitter["promise_after_min"] >= sitter["after_sitting_minutes"]["p90"]
