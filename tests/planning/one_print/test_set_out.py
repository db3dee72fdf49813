"""Setting out: warm-up, useful hours, and what takes the sun."""

from pathlib import Path

import numpy as np
import pytest

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import load_event
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.planning.scenario.outside import box_out_s
from drybox.planning.scenario.percentiles import or_never

DEMO = "data/demo/fair.toml"


@pytest.fixture(scope="module")
def found() -> SetOutResult:
    return plan_set_out(load_event(DEMO), members=24)


def test_the_box_goes_out_before_the_first_print(found: SetOutResult) -> None:
    assert found.set_out_at < found.first_load_at <= found.last_load_at
    at = np.interp(found.first_load_at, found.time_at, found.plate_temp_k)
    assert at > np.interp(found.first_load_at, found.time_at, found.air_temp_k) + 20


def test_before_it_is_set_out_the_plate_is_at_air_temperature(found: SetOutResult) -> None:
    before = found.time_at < found.set_out_at
    assert np.allclose(found.plate_temp_k[before], found.air_temp_k[before])


def test_the_clock_tower_takes_the_sun_and_the_plate_feels_it(found: SetOutResult) -> None:
    tower = [stretch for stretch in found.blocked if stretch.name == "clock tower"]
    assert len(tower) == 1
    hidden = (found.time_at > tower[0].from_at) & (found.time_at < tower[0].until_at)
    beside = (found.time_at > tower[0].from_at - 1800) & (found.time_at < tower[0].from_at)
    assert (
        found.plate_irradiance_w_m2[hidden].max() < 0.3 * found.plate_irradiance_w_m2[beside].min()
    )
    # while it hides the sun, the sun stands in its bearings and below its top
    assert (found.sun_azimuth_deg[hidden] >= 251.5).all()
    assert (found.sun_azimuth_deg[hidden] <= 264.5).all()


def test_polar_night_says_so() -> None:
    event = load_event(
        None, {"place.latitude": 69.6, "place.longitude": 18.9, "event.date": "2027-12-21"}
    )
    with pytest.raises(NoAnswerError, match="does not rise"):
        plan_set_out(event, members=8)


def test_polar_day_has_no_rise_and_no_set() -> None:
    event = load_event(
        None, {"place.latitude": 69.6, "place.longitude": 18.9, "event.date": "2027-06-21"}
    )
    found = plan_set_out(event, members=8)
    assert found.sun_status == "up_all_day"
    assert found.sunrise_at is None
    assert found.sunset_at is None


def test_a_shorter_wait_leaves_no_more_useful_hours() -> None:
    event = load_event(DEMO)
    short = plan_set_out(event, members=16, wait_s=15 * 60)
    long = plan_set_out(event, members=16, wait_s=60 * 60)

    def useful(found: SetOutResult, wait_s: float) -> int:
        return sum(or_never(dry.p90) <= wait_s for _, dry in found.loads)

    assert useful(short, 15 * 60) <= useful(long, 60 * 60)


SHADED = {
    "place.coordinates": "47.0, 9.5",
    "event.date": "2027-06-19",
    "event.opens": "10:00",
    "event.closes": "17:00",
    "weather.sky": "clear",
}
ROW = (
    "[[place.obstacle]]\nname = 'row'\n"
    "from = '60 deg'\nto = '150 deg'\nelevation_angle = '70 deg'\n"
)


def test_the_box_is_out_when_the_event_says_or_before_the_sun_in_every_command() -> None:
    plain = load_event(None, SHADED)
    told = load_event(None, SHADED | {"event.set_out": "12:15"})
    assert plan_set_out(plain, members=8).set_out_at == plain.opens_at - 1800.0
    found = plan_set_out(told, members=8)
    assert found.set_out_at == told.set_out_at == box_out_s(told)
    assert found.first_load_at >= found.set_out_at
    sun = min(at for at in found.time_at[found.plate_irradiance_w_m2 > 300.0])
    assert sun <= found.first_load_at


def test_behind_a_row_of_houses_the_box_goes_out_half_an_hour_before_its_sun(
    tmp_path: Path,
) -> None:
    path = tmp_path / "street.toml"
    lines = "[place]\ncoordinates = '47.0, 9.5'\n" + ROW
    lines += "[event]\ndate = '2027-06-19'\nopens = '10:00'\ncloses = '17:00'\n"
    path.write_text(lines + "[weather]\nsky = 'clear'\n", "utf-8")
    event = load_event(path)
    found = plan_set_out(event, members=8)
    (row,) = found.blocked
    assert event.opens_at < found.set_out_at < row.until_at
    assert row.until_at - found.set_out_at == pytest.approx(1800.0, abs=300.0)
    assert found.first_load_at >= row.until_at  # not before its sun, however long it is warm
    out = found.time_at > found.set_out_at + 60.0
    assert (found.plate_temp_k[out] != found.air_temp_k[out]).all()


def test_two_oktas_more_never_move_the_setting_out() -> None:
    """Nine in ten fail a threshold by minutes and by the seed; half of them do not."""
    clouds = {f"{cloud} oktas": SHADED | {"weather.cloud": f"{cloud} oktas"} for cloud in (0, 2, 4)}
    found = [
        plan_set_out(load_event(None, {k: v for k, v in keys.items() if k != "weather.sky"}))
        for keys in clouds.values()
    ]
    assert len({one.set_out_at for one in found}) == 1
    assert len({one.first_load_at for one in found}) == 1
    assert [len(one.sure) for one in found] == sorted(
        (len(one.sure) for one in found), reverse=True
    )
