"""The reason why the box is not faced at the sun goes with the aim."""

from __future__ import annotations

import pytest

import drybox
from drybox.inputs.event.event import Event, load_event
from drybox.planning.aim.off_sun import CODES
from tests.planning.short_day import SHORT_DAY

LONG = {"event.opens": "09:00", "event.closes": "17:00"}


def event(**told: object) -> Event:
    return load_event(None, SHORT_DAY | {key.replace("__", "."): told[key] for key in told})


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"event.opens": "13:00", "event.closes": "13:20"}, ""),
        ({"box.bearing": "S", "box.tilt": "20 deg"}, "fixed"),
        ({"drying.hold_below": "45 degC"}, "held"),
        ({"event.date": "2027-12-21"}, "prop"),
        ({"event.date": "2027-12-21", "weather.wind": "9.5 m/s"}, "wind"),
        ({"weather.sky": "overcast"}, "sky"),
        (LONG, "stretch"),
    ],
)
def test_each_reason_is_found_and_is_the_same_in_every_call(
    told: dict[str, object], code: str
) -> None:
    there = load_event(None, SHORT_DAY | told)
    found = drybox.aim(there)
    assert found.off_sun.code == code
    assert code in CODES
    alone = drybox.dry(there, there.opens_at, members=20, ways=("sun plate",))
    assert alone.off_sun == found.off_sun


def test_behind_a_wall_it_waits_for_the_sun_to_come_out() -> None:
    wall = {"name": "barn", "from": "90 deg", "to": "150 deg", "elevation_angle": "80 deg"}
    there = event(place__obstacle=[wall])
    assert drybox.aim(there).off_sun.code == "behind"


def test_an_aim_that_was_given_is_kept_unless_a_new_one_gains_more_than_a_twentieth() -> None:
    best = drybox.aim(event(box__aim="best")).plan.single
    near = {
        "box__bearing": f"{best.bearing_deg:.0f} deg",
        "box__tilt": f"{best.tilt_deg + 8:.0f} deg",
    }
    kept = drybox.aim(event(**near))
    assert kept.better is None
    assert kept.plan.single.tilt_deg == pytest.approx(round(best.tilt_deg + 8))
    away = drybox.aim(event(box__bearing="N", box__tilt="30 deg"))
    assert away.plan.single.bearing_deg == 0.0
    assert away.better is not None
    assert away.better.mean_irradiance_w_m2 > 1.05 * away.plan.single.mean_irradiance_w_m2
