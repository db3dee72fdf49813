"""The reason why the box is not faced at the sun goes with the aim."""

from __future__ import annotations

from pathlib import Path

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


def test_in_fog_before_a_clear_noon_the_box_waits_for_the_sun_not_for_the_whole_sky(
    tmp_path: Path,
) -> None:
    """Its aim is that of the clear hours; and prints of the plan lie on it before they come."""
    rows = ["time,air_temp_c,humidity_pct,wind_m_s,dni_w_m2,dhi_w_m2"]
    for hour in range(24):
        fog = hour < 11
        light = (0, 12 * max(hour - 6, 0)) if fog else (750 if hour < 18 else 0, 110)
        air = f"{8 + 0.6 * hour:.1f},{95 if fog else 50},1.5"
        rows.append(f"2027-09-25T{hour:02d}:00,{air},{light[0]},{light[1]}")
    (tmp_path / "fog.csv").write_text("\n".join(rows) + "\n", "utf-8")
    there = event(
        event__date="2027-09-25",
        event__opens="09:00",
        event__closes="16:00",
        event__every="30 min",
        weather__sky=None,
        weather__air_temp=None,
        weather__forecast=str(tmp_path / "fog.csv"),
    )
    found = drybox.day(there, members=20)
    (set_out,), (first,) = found.of("set_out"), found.of("first_load")
    assert set_out.off_sun.code == "stretch"
    assert found.plan.lies_on_plate_before(first.begin_at)
    said = " ".join(drybox.answer(found).lead)
    assert "The first print that is likely to dry within 45 min on the plate." in said
    assert "prints on it from now on" not in said


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
