"""Setting out: warm-up, useful hours, and what takes the sun."""

import numpy as np
import pytest

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import load_event
from drybox.planning.one_print.set_out import plan_set_out

DEMO = "data/demo/fair.toml"


@pytest.fixture(scope="module")
def fair():  # type: ignore[no-untyped-def]
    event = load_event(DEMO)
    return event, plan_set_out(event, members=24)


def test_the_box_goes_out_before_the_first_print(fair) -> None:  # type: ignore[no-untyped-def]
    _, found = fair
    assert found.set_out_at < found.first_load_at <= found.last_load_at
    at = np.interp(found.first_load_at, found.time_at, found.plate_temp_k)
    assert at > np.interp(found.first_load_at, found.time_at, found.air_temp_k) + 20


def test_before_it_is_set_out_the_plate_is_at_air_temperature(fair) -> None:  # type: ignore[no-untyped-def]
    _, found = fair
    before = found.time_at < found.set_out_at
    assert np.allclose(found.plate_temp_k[before], found.air_temp_k[before])


def test_the_clock_tower_takes_the_sun_and_the_plate_feels_it(fair) -> None:  # type: ignore[no-untyped-def]
    _, found = fair
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

    def useful(found, wait):  # type: ignore[no-untyped-def]
        return sum(m.p90 is not None and m.p90 <= wait for _, m in found.loads)

    assert useful(short, 15 * 60) <= useful(long, 60 * 60)
