"""The planned day: what must hold for every ticket, and odd days."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import Event, load_event
from drybox.physics.simulation.run import run_print
from drybox.planning.day.drying_table import laying_on_times_s, way_table
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.promises import ROUND_UP_S, TicketPlan
from drybox.planning.day.samples import draw_day
from drybox.planning.day.simulation import told_day
from drybox.planning.scenario.models import dry_targets, free_sheet_system, laid_on_water_kg_m2
from drybox.planning.scenario.outside import sheet_forcing
from drybox.planning.scenario.percentiles import quantiles_of_next
from tests.planning.other_days import OtherDays, planned_on
from tests.running import DEMO, event_file

MEMBERS = 24
SHORT = {"event.closes": "14:00", "event.breaks": [], "event.every": "12 min"}
"""Four hours of the demo fair, so that the tests are quick."""


def event(**told: object) -> Event:
    return load_event(DEMO, SHORT | {key.replace("__", "."): value for key, value in told.items()})


@cache
def planned(sky: str = "clear", every: str = "12 min", seed: int = 1) -> DayPlan:
    told = event(weather__sky=sky, event__every=every)
    return plan_day(told, members=MEMBERS, seed=seed, what_if=False)


def check_days(plan: DayPlan) -> None:
    """In every drawn day: stages in order, first come first served, nothing held twice."""
    run, resources = plan.run, plan.run.setup.resources
    wet, dried = run.setup.wet, run.dried
    reached = np.isfinite(wet.sat_at)
    on = np.isfinite(dried.laid_at)
    assert (wet.wet.done_s > wet.sat_at)[reached].all()
    assert (wet.wash.begun_at >= wet.wet.done_s)[reached].all()
    assert (dried.laid_at >= wet.lay_at - 1e-6)[on].all()
    assert (dried.dry_at >= dried.laid_at)[on].all()
    assert (dried.pulled_at >= dried.dry_at)[on].all()
    assert not (on & ~reached).any()
    ways = np.array([way or "" for way in run.ways])
    assert not on[:, ways == ""].any()
    for row in range(reached.shape[0]):
        sat = wet.sat_at[row, reached[row]]
        assert (np.diff(sat) >= 0).all()
        for way, slots in resources.slots.items():
            here = np.flatnonzero(on[row] & (ways == way))
            assert (dried.slot[row, here] < slots).all()
            first = np.argsort(wet.lay_at[row, here], kind="stable")
            assert (np.diff(dried.laid_at[row, here][first]) >= 0).all()
            for slot in range(slots):
                held = here[dried.slot[row, here] == slot]
                order = held[np.argsort(dried.laid_at[row, held])]
                for a, b in itertools.pairwise(order):
                    assert dried.laid_at[row, b] >= dried.left_at[row, a]


def check_promises(plan: DayPlan) -> None:
    """What is printed: stages in order, no promise before its own P50, none overtakes."""
    latest: dict[str, float] = {}
    held: dict[tuple[str, int], float] = {}
    for ticket in plan.tickets:
        stages = [ticket.arrives_at, ticket.sitting_at, ticket.wet_end_at, ticket.wash_from_at]
        stages += [ticket.washed_at, *([] if ticket.laid_on_at is None else [ticket.laid_on_at])]
        assert stages == sorted(stages)
        assert (ticket.promise_at is None) == (ticket.hand_over == "mail")
        if ticket.promise_at is not None:
            assert ticket.promise_at % ROUND_UP_S == 0
            assert ticket.promise_at <= plan.event.closes_at + ROUND_UP_S
        if ticket.hand_over == "dry":
            check_dry(plan, ticket, latest)
        if ticket.slot is not None and ticket.laid_on_at is not None and ticket.way is not None:
            free = held.get((ticket.way, ticket.slot), -np.inf)
            assert ticket.laid_on_at >= free or np.isclose(ticket.laid_on_at, free)
            if ticket.dry_at.p50 is not None:
                held[ticket.way, ticket.slot] = ticket.dry_at.p50


def check_dry(plan: DayPlan, ticket: TicketPlan, latest: dict[str, float]) -> None:
    assert ticket.way is not None
    assert ticket.promise_at is not None
    assert ticket.ready_at.p50 is not None
    assert ticket.ready_at.p90 is not None
    assert ticket.ready_at.p50 <= ticket.ready_at.p90 <= ticket.promise_at
    assert ticket.dry_at.p90 is not None
    flat = plan.event.limits.flatten_s
    assert ticket.ready_at.p90 >= ticket.dry_at.p90 + flat - 1e-6
    if not ticket.waits_for:
        assert ticket.promise_at < ticket.ready_at.p90 + ROUND_UP_S
    assert ticket.promise_at >= latest.get(ticket.way, 0.0)
    latest[ticket.way] = ticket.promise_at
    assert ticket.keeps_frac is not None
    assert ticket.keeps_frac >= 0.85


@pytest.mark.parametrize("sky", ["clear", "broken cloud", "overcast"])
def test_every_ticket_goes_through_the_day_in_order(sky: str) -> None:
    check_days(planned(sky))
    check_promises(planned(sky))


@given(st.integers(0, 10_000), st.sampled_from([1, 2]), st.sampled_from([1, 3]))
@settings(max_examples=4, deadline=None)
def test_any_draw_and_any_means_keep_the_order(seed: int, operators: int, slots: int) -> None:
    told = event(
        event__operators=operators,
        event__plate_slots=slots,
        event__line_slots=2,
        event__every="6 min",
        event__closes="12:30",
    )
    plan = plan_day(told, members=20, seed=seed, what_if=False)
    check_days(plan)
    check_promises(plan)


def test_the_same_seed_plans_the_same_day_and_another_seed_nearly_the_same() -> None:
    told = event(weather__sky="clear")
    again = plan_day(told, members=MEMBERS, what_if=False)
    assert again.tickets == planned().tickets
    other = planned(seed=9)
    assert abs(len(again.tickets) - len(other.tickets)) <= 1
    for ours, theirs in zip(again.tickets, other.tickets, strict=False):
        if ours.promise_at and theirs.promise_at and ours.hand_over == theirs.hand_over == "dry":
            assert abs(ours.promise_at - theirs.promise_at) <= 3 * ROUND_UP_S


def test_prints_under_a_closed_sky_are_dry_later_than_in_the_sun() -> None:
    clear, closed = planned("clear"), planned("overcast")
    pairs = [
        (a.dry_at.p50, b.dry_at.p50) for a, b in zip(clear.tickets, closed.tickets, strict=True)
    ]
    known = [(a, b) for a, b in pairs if a is not None and b is not None]
    assert len(known) > 2
    assert all(b > a for a, b in known)


def own_file(tmp_path: Path, sitters: str, more: str = "") -> Event:
    text = Path(DEMO).read_text("utf-8").replace('every = "16 min"', f"{sitters} #")
    text = text.replace('closes = "18:00"', 'closes = "14:00"')
    text = text.replace('breaks = [["13:00", "13:30"]]', "breaks = []")
    path = event_file(tmp_path, text + more)
    (tmp_path / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    return load_event(path)


def test_chance_arrivals_come_at_their_rate_and_differ_from_draw_to_draw(tmp_path: Path) -> None:
    plan = plan_day(own_file(tmp_path, 'rate = "4 1/h"'), members=60, what_if=False)
    check_days(plan)
    come = np.isfinite(plan.run.setup.wet.sat_at).sum(axis=1)
    assert 10 < come.mean() < 17
    assert come.std() > 1.0
    assert 10 < len(plan.tickets) < 18
    arrivals = [ticket.arrives_at for ticket in plan.tickets]
    assert arrivals == sorted(arrivals)


def test_nobody_comes(tmp_path: Path) -> None:
    plan = plan_day(own_file(tmp_path, "arrivals = []"), members=20)
    assert plan.tickets == ()
    assert plan.last_dry_ticket is None
    assert plan.bottleneck is None
    assert plan.kept_frac is None
    assert OtherDays.of(plan, days=20).kept() is None


def test_ten_thousand_sitters_are_planned_for_as_far_as_the_day_goes(tmp_path: Path) -> None:
    times = ", ".join(f'"{10 + n // 2500}:{n // 42 % 60:02d}"' for n in range(10_000))
    plan = plan_day(own_file(tmp_path, f"arrivals = [{times}]"), members=20, what_if=False)
    assert 15 < len(plan.tickets) < 30
    assert len(plan.not_reached) > 20
    check_days(plan)


def test_each_print_of_a_sitter_has_a_ticket_of_its_own(tmp_path: Path) -> None:
    sitter = '\n[[event.sitter]]\nname = "Ann"\nat = "10:05"\nprints = 2\nticket = "A"\n'
    plan = plan_day(own_file(tmp_path, "", ""), members=20, what_if=False)
    assert plan.tickets  # nothing said: at the pace of the process
    text = own_file(tmp_path, "").path
    assert text is not None
    told = text.read_text("utf-8").replace("[weather]", f"{sitter}\n[weather]")
    text.write_text(told, encoding="utf-8")
    plan = plan_day(load_event(text), members=20, what_if=False)
    assert [ticket.ticket for ticket in plan.tickets] == ["A", "A.2"]
    assert {ticket.name for ticket in plan.tickets} == {"Ann"}
    check_days(plan)


def test_a_promise_already_given_that_cannot_be_kept_is_found(tmp_path: Path) -> None:
    sitters = "".join(
        f'\n[[event.sitter]]\nat = "10:{at}"\npromised = "{promised}"\n'
        for at, promised in (("05", "10:20"), ("20", "13:55"))
    )
    path = own_file(tmp_path, "").path
    assert path is not None
    told = path.read_text("utf-8").replace("[weather]", f"{sitters}\n[weather]")
    path.write_text(told, encoding="utf-8")
    plan = plan_day(load_event(path), members=20, what_if=False)
    (risk,) = plan.broken
    assert risk.ticket == "1"
    assert risk.promised_at is not None
    assert risk.promised_range_s.p10 is not None
    assert risk.promised_range_s.p10 > risk.promised_at


def test_a_day_on_the_line_alone_and_one_without_any_drier() -> None:
    line = plan_day(event(event__ways=["line in sun"]), members=20, what_if=False)
    assert {ticket.way for ticket in line.tickets} <= {"line_sun", None}
    assert line.plate_slots == 0
    check_days(line)
    check_promises(line)
    none = plan_day(
        event(event__ways=["sun plate"], event__plate_slots=0), members=20, what_if=False
    )
    assert {ticket.hand_over for ticket in none.tickets} <= {"damp", "mail"}
    check_promises(none)


def test_the_polar_night_is_planned_without_a_plate() -> None:
    told = load_event(
        None,
        {
            "place.coordinates": "69.65, 18.96",
            "place.timezone": "Europe/Oslo",
            "event.date": "2027-12-21",
            "event.closes": "13:00",
            "weather.sky": "clear",
        },
    )
    plan = plan_day(told, members=20, what_if=False)
    assert plan.no_plate
    assert "sun_plate" not in {ticket.way for ticket in plan.tickets}
    check_days(plan)


@pytest.mark.slow
def test_a_covered_box_and_resin_coated_paper_are_planned_too() -> None:
    told = event(box__cover="acrylic", paper__stock="resin coated", event__closes="12:30")
    plan = plan_day(told, members=20, what_if=False)
    assert plan.tickets[0].hand_over == "dry"
    assert plan.run.lone_s == 0.0  # it lies flat, and no window ends in brittleness
    assert not plan.missed_pulls
    assert "flat boards with a weight" not in {supply.what for supply in plan.bring}
    check_days(plan)


@pytest.mark.slow
@pytest.mark.filterwarnings("error")
def test_wet_prints_on_a_plate_of_150_degrees_under_a_cover_are_followed() -> None:
    """A step of seconds overshoots there: it is taken again in shorter and shorter ones."""
    told = load_event(
        None,
        {
            "place.coordinates": "25.623, -92.028",
            "place.elevation": "2400 m",
            "place.ground": "grass",
            "event.date": "2027-04-24",
            "event.opens": "09:30",
            "event.closes": "14:30",
            "event.arrivals": ["10:27", "13:26", "13:36", "14:14"],
            "box.cover": "acrylic",
            "box.back": "foam board",
            "box.plate_material": "copper",
            "box.aim": "best",
            "paper.size": "13x18 cm",
            "weather.cloud": "4 oktas",
            "weather.air_temp": "32.1 °C",
            "weather.humidity": "61 %",
            "weather.wind_at_plate": "0.4 m/s",
        },
    )
    plan = plan_day(told, members=24, what_if=False)
    assert plan.metal_k is not None
    assert plan.metal_k > 400.0
    assert plan.too_hot_s
    check_days(plan)


@pytest.mark.parametrize("process", ["paper negative and copy", "bleach reversal"])
def test_every_shipped_process_is_planned(process: str) -> None:
    told = event(process__name=process, event__closes="13:00")
    plan = plan_day(told, members=20, what_if=False)
    check_days(plan)
    stages = plan.inputs.process.stages
    alone = {stage.bath for stage in stages if stage.bath and not stage.shares_vessel}
    assert alone <= set(plan.utilisation)
    assert all(0 < plan.utilisation[bath] <= 1 for bath in alone)
    assert all(0 <= share <= 1 for share in plan.utilisation.values())


def test_one_more_of_what_is_short_brings_dry_prints_and_of_the_rest_none() -> None:
    slow = {"drying__hold_below": "50 °C"}  # a plate facing the sun takes them as they come
    told = event(event__every="7 min", event__ways=["sun plate"], event__plate_slots=1, **slow)
    plan = plan_day(told, members=40)
    found = {tried.change: tried for tried in plan.what_if}
    assert found["one more plate slot"].more_dry_prints > 2
    assert plan.bottleneck == "plate slots"
    assert plan.utilisation["plate slots"] > 0.6
    assert found["a litre more for each wash"].why == "water sets no limit"
    assert found["one more developer"].more_dry_prints == 0.0
    assert all(tried.more_dry_prints == 0.0 for tried in plan.what_if if tried.why)


def test_prints_on_the_line_dry_as_in_runs_of_their_own() -> None:
    told = event(weather__sky="thin cloud")
    inputs, day = read_day_inputs(told), told_day(told)
    draws = draw_day(told, inputs, day, members=6, seed=1)
    member, starts = np.arange(6), laying_on_times_s(told.opens_at, told.opens_at + 7200.0)
    facing = float(day.sun.azimuth_deg[0])
    forcing = sheet_forcing(draws.ensemble, told.place, "line_shade", facing_deg=facing)
    ours = way_table(
        told,
        draws.ensemble,
        forcing,
        way="line_shade",
        member=member,
        starts_s=starts,
        longest_s=5 * 3600.0,
    )
    case, laid = np.tile(member, starts.size), np.repeat(starts, member.size)
    prints = draws.ensemble.prints.of(case)
    dry = dry_targets(told.paper, told.limits).dry_kg_m2
    air = forcing.at(case, laid).air_temp_k
    water = np.broadcast_to(laid_on_water_kg_m2(told.paper, prints), laid.shape)
    system = free_sheet_system(told.paper, "line_shade", prints)
    own = run_print(
        system,
        forcing,
        case,
        laid_on_at=laid,
        plate_temp_k=air,
        sheet_temp_k=air,
        water_kg_m2=water,
        dry_kg_m2=dry,
        over_dry_kg_m2=dry,
        horizon_s=5 * 3600.0,
    )
    theirs = own.dry_after_s.reshape(starts.size, member.size).T
    assert np.isfinite(theirs).mean() > 0.9
    # light that changes by the minute lies between the rows of the table
    np.testing.assert_allclose(ours.after_s, theirs, rtol=0.01)


def test_packing_counts_what_the_day_needs() -> None:
    plan = planned()
    bring = {supply.what: supply for supply in plan.bring}
    count = sum(ticket.hand_over == "dry" for ticket in plan.tickets)
    assert bring["card folders for dry prints"].amount == count
    assert bring["sheets of paper, spoilt ones counted in"].amount >= len(plan.tickets)
    water = bring["water for rinsing and washing"].amount
    alone = 1.4 * len(plan.tickets)
    assert 0.4 * alone < water < 1.3 * alone


def test_shares_kept_are_near_nine_in_ten_in_days_of_another_seed() -> None:
    kept = OtherDays.of(planned(), days=120, seed=77).kept()
    assert kept is not None
    assert kept[0] == pytest.approx(0.9, abs=0.06)
    assert kept[1] >= kept[0]


def test_the_percentile_that_is_promised_is_that_of_the_next_day() -> None:
    plan = planned()
    ready = plan.run.ready_at[:, : len(plan.tickets)]
    sure = quantiles_of_next(ready, 0.9)[0]
    for ticket, ours in zip(plan.tickets, sure, strict=True):
        if ticket.ready_at.p90 is not None:
            assert ticket.ready_at.p90 == pytest.approx(float(ours))


LISTED = (
    *("10:05", "10:12", "10:40", "11:02", "11:05", "11:30", "12:10", "12:15", "12:40", "13:35"),
    *("13:50", "14:05", "14:10", "14:45", "15:00", "15:30", "15:35", "16:20", "16:50"),
)
DAYS_ON = 40
ARRIVALS = {
    "even": 'every = "16 min"',
    "listed": f"arrivals = {list(LISTED)}",
    "by chance": 'rate = "4 1/h"',
}


@pytest.mark.slow
@pytest.mark.timeout(3600)
@pytest.mark.parametrize(
    ("sky", "arrivals"),
    [
        ("clear", "even"),
        ("overcast", "even"),
        *(("broken cloud", arrivals) for arrivals in ARRIVALS),
    ],
)
def test_in_a_thousand_days_of_another_seed_nine_promises_in_ten_are_kept(
    sky: str, arrivals: str, tmp_path: Path
) -> None:
    """Given at the sitting; and on some of these days planned on at half past twelve and three."""
    days = thousand_days(sky, arrivals, tmp_path)
    kept = days.kept()
    assert kept is not None
    print(f"{sky}, {arrivals}: {kept[0]:.4f} by P90, {kept[1]:.4f} by the rounded promise")
    if sky == "broken cloud":
        check_planned_on(days)
    assert kept[0] == pytest.approx(0.9, abs=0.02)
    assert 0.9 <= kept[1] <= 0.96


def thousand_days(sky: str, arrivals: str, folder: Path) -> OtherDays:
    """Return a plan of the demo under a sky, and the days of another seed that judge it."""
    text = Path(DEMO).read_text("utf-8").replace('every = "16 min"', f"{ARRIVALS[arrivals]} #")
    (folder / "fair.toml").write_text(text, encoding="utf-8")
    (folder / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    told = load_event(folder / "fair.toml", {"weather.sky": sky, "event.wait_limit": "4 h"})
    return OtherDays.of(plan_day(told, members=200, seed=1, what_if=False), days=1000, seed=2)


def check_planned_on(days: OtherDays) -> None:
    """What has happened sharpens the promises of prints that lie on the plate, kept no less.

    Of one that has only sat the wash is known better, the sun ahead is not: its width is printed.
    Tickets of a day share its sky: `DAYS_ON` days at two instants tell the share kept to about
    2.5 points (their standard error by days drawn again), which the bounds are twice of, and more
    above, where a promise is only too careful.
    """
    found, opens_at = [], days.plan.event.opens_at
    for now_at in (opens_at + 2.5 * 3600, opens_at + 5 * 3600):
        here = [
            ticket for row in range(DAYS_ON) for ticket in planned_on(days, row, now_at, members=60)
        ]
        for stage in ("sat", "laid"):
            part = [ticket for ticket in here if ticket.stage == stage]
            before, after = (
                np.nanmedian([getattr(ticket, name) for ticket in part]) / 60
                for name in ("width_before_s", "width_s")
            )
            print(
                f"  {stage}, {len(part)} tickets: width {before:.0f} min at the sitting, "
                f"{after:.0f} min now; kept {np.mean([ticket.kept for ticket in part]):.2f}"
            )
        found += here
    kept = np.mean([ticket.kept for ticket in found])
    print(f"  planned on: {kept:.3f} of {len(found)} kept")
    laid = [ticket for ticket in found if ticket.stage == "laid"]
    assert np.nanmedian([ticket.width_s / ticket.width_before_s for ticket in laid]) < 0.9
    assert 0.85 <= kept <= 0.97
