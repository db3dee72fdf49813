"""Ways of drying side by side, and the choice between them."""

import math
from dataclasses import replace

import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.one_print.drying import dry_print, possible_ways
from drybox.planning.one_print.ways import CURES, DryResult, Reason, WayResult, choose
from drybox.planning.scenario.percentiles import Range
from drybox.reports.answers.dry import why_not_said


def way(name: str, p90_min: float | None, *, feasible: bool = True) -> WayResult:
    duration = Range(*(None if p90_min is None else p90_min * 60 * f for f in (0.6, 0.8, 1.0)))
    ends = (duration, duration.scaled(0.8), duration)
    return WayResult(name, *ends, None, None, 300.0, 295.0, None, 0.0, feasible, Reason())


def test_the_soonest_sure_way_wins() -> None:
    best, why = choose((way("sun_plate", 20), way("line_shade", 60)))
    assert best is not None
    assert best.way == "sun_plate"
    assert why.code == "sooner"


@pytest.mark.parametrize(
    ("other_min", "code"), [(20.2, "as_quick"), (20.6, "sooner"), (300, "sooner")]
)
def test_half_a_minute_saved_is_as_quick(other_min: float, code: str) -> None:
    _, why = choose((way("sun_plate", 20), way("warm_plate", other_min)))
    assert why.code == code
    assert why.other is not None
    assert why.other.way == "warm_plate"


def test_the_line_wins_when_the_breeze_is_as_quick() -> None:
    best, why = choose((way("sun_plate", 20), way("line_shade", 24)))
    assert best is not None
    assert best.way == "line_shade"
    assert why.code == "nearly_as_quick"


def test_a_way_that_may_fail_is_not_chosen() -> None:
    best, _ = choose((way("sun_plate", 10, feasible=False), way("line_shade", 90)))
    assert best is not None
    assert best.way == "line_shade"
    none, why = choose((way("sun_plate", None, feasible=False),))
    assert none is None
    assert why.code == "none_sure"


MARKET = {"place.latitude": 47.0, "place.longitude": 13.0, "place.elevation": "1000 m"}


def told(**more: object) -> dict[str, object]:
    weather = {
        "weather.air_temp": "24 °C",
        "weather.humidity": "45 %",
        "weather.wind": "2 m/s",
        "weather.sky": "clear",
    }
    return {**MARKET, "event.date": "2027-06-21", "place.timezone": "UTC", **weather, **more}


def minutes(**more: object) -> dict[str, WayResult]:
    event = load_event(None, told(**more))
    found = dry_print(event, event.day_start_at + 11.5 * 3600, members=40)
    return {result.way: result for result in found.ways}


def p50(result: WayResult) -> float:
    """Seconds, without end where the print was never dry."""
    return math.inf if result.duration_s.p50 is None else result.duration_s.p50


def test_sun_makes_the_plate_and_cloud_unmakes_it() -> None:
    sunny = minutes()
    grey = minutes(**{"weather.sky": "overcast"})
    assert p50(sunny["sun_plate"]) < 0.5 * p50(grey["sun_plate"])
    assert p50(sunny["sun_plate"]) < 0.6 * p50(sunny["line_shade"])


def test_a_dry_breeze_beats_the_plate_under_cloud() -> None:
    breezy = minutes(
        **{"weather.sky": "overcast", "weather.wind": "9 m/s", "weather.humidity": "25 %"}
    )
    line = min(p50(breezy["line_shade"]), p50(breezy["line_sun"]))
    assert line < p50(breezy["sun_plate"])


def test_damp_still_air_is_slow_on_the_line() -> None:
    dry_air = minutes(**{"weather.humidity": "30 %"})
    damp = minutes(**{"weather.humidity": "75 %", "weather.wind": "0.3 m/s"})
    assert p50(damp["line_shade"]) > 1.5 * p50(dry_air["line_shade"])


def test_ranges_are_in_order_and_the_pull_window_starts_at_the_middle() -> None:
    for result in minutes().values():
        spread = result.duration_s
        known = [value for value in (spread.p10, spread.p50, spread.p90) if value is not None]
        assert known == sorted(known)
        if result.pull_from_at is not None:
            assert result.pull_from_at == result.dry_at.p50
            assert result.pull_before_at is None or result.pull_before_at >= result.pull_from_at


HOT = {"weather.wind": "0.5 m/s", "weather.air_temp": "34 °C"}


def sun_plate(**more: object) -> tuple[Event, DryResult]:
    event = load_event(None, told(**more))
    at = event.day_start_at + 11.5 * 3600
    return event, dry_print(event, at, members=40, ways=("sun_plate",))


def test_a_plate_on_which_one_print_in_two_passes_its_limit_is_ruled_out_with_figures() -> None:
    _, found = sun_plate(**HOT, **{"paper.hardening": "bleached"})
    plate = found.ways[0]
    assert plate.too_hot
    assert not plate.feasible
    assert "over its limit (40 °C wet, 70 °C dry)" in why_not_said(plate)
    assert "over its limit (104 °F wet, 158 °F dry)" in why_not_said(plate, "us")
    assert found.choice is None
    _, found = sun_plate(**HOT, **{"paper.hardening": "bleached", "drying.wet_most": "80 °C"})
    assert not found.ways[0].too_hot  # one's own limit goes first


def test_cures_come_in_order_and_each_is_cooler_and_slower() -> None:
    event, found = sun_plate(**HOT)
    plain, names = found.ways[0], [cure.cure for cure in found.cures]
    assert plain.print_temp_kept_k > event.limits.wet_careful_k == 318.15
    assert names == [name for name in CURES if name in names]
    assert {"cooler plate", "lighter aim", "off the sun"} <= set(names)
    for cure in found.cures:
        assert cure.print_temp_kept_k < plain.print_temp_kept_k
        assert (cure.duration_s.p50 or 0.0) > (plain.duration_s.p50 or 0.0)
    assert found.cures[-1].print_temp_kept_k < 318.15
    assert plain.held_below_k is None  # a cure is offered, never taken


def test_a_mild_day_needs_no_cure() -> None:
    _, found = sun_plate(**{"weather.sky": "overcast"})
    assert found.cures == ()


def test_a_box_set_out_just_before_is_cooler_and_slower_than_one_out_for_long() -> None:
    _, long = sun_plate()
    _, short = sun_plate(**{"event.set_out": "11:15"})
    temps = [
        found.plate_temp_at_start_k.p50 if found.plate_temp_at_start_k else None
        for found in (short, long)
    ]
    assert all(temps)
    assert temps == sorted(temps)
    assert long.ways[0].duration_s.p50 < short.ways[0].duration_s.p50


def test_no_print_lies_on_a_plate_that_is_set_out_later() -> None:
    _, found = sun_plate(**{"event.set_out": "12:30"})
    assert not found.ways[0].feasible
    assert found.ways[0].why.code == "not_out"


def test_what_is_kept_for_a_minute_lies_below_the_flash() -> None:
    _, found = sun_plate()
    assert found.ways[0].print_temp_kept_k < found.ways[0].print_temp_max_k


def test_no_powered_drier_no_powered_way() -> None:
    event = load_event(None, told())
    assert "warm_plate" not in possible_ways(event)
    coated = replace(event, paper=replace(event.paper, resin_coated=True))
    assert "blotters" not in possible_ways(coated)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_range_hardly_depends_on_the_seed(seed: int) -> None:
    event = load_event(None, told())
    at = event.day_start_at + 11.5 * 3600
    one = dry_print(event, at, seed=seed, ways=("line_shade",)).ways[0].duration_s
    other = dry_print(event, at, seed=seed + 10, ways=("line_shade",)).ways[0].duration_s
    assert one.p90 is not None
    assert other.p90 == pytest.approx(one.p90, rel=0.12)
