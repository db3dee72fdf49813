from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pvlib import spa

from drybox.physics.sun_position import (
    HORIZON_DEG,
    HORIZON_REFRACTION_DEG,
    SunEvents,
    mid_sunlit,
    sun_events,
    sun_position,
    terrestrial_time_offset_s,
)

DAY_S = 86400.0
LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0)
TIMES = st.floats(946684800.0, 2524608000.0)  # 2000 to 2050


def local_day(year: int, month: int, day: int, zone: str) -> tuple[float, float]:
    first = datetime.datetime(year, month, day, tzinfo=ZoneInfo(zone))
    start = datetime.datetime.combine(first.date(), datetime.time(), ZoneInfo(zone))
    end = datetime.datetime.combine(
        first.date() + datetime.timedelta(days=1), datetime.time(), ZoneInfo(zone)
    )
    return start.timestamp(), end.timestamp()


def local_minutes(events: SunEvents, zone: str) -> list[str]:
    found = (events.sunrise_at, events.sunset_at)
    return [f"{datetime.datetime.fromtimestamp(at, ZoneInfo(zone)):%d %H:%M}" for at in found if at]


@pytest.mark.parametrize("year", [1990, 2026, 2049])
def test_interpolated_series_keep_to_the_full_algorithm_over_the_globe(year: int) -> None:
    start = (year - 1970) * 365.2425 * DAY_S
    time = np.sort(start + np.random.default_rng(year).uniform(0, 366 * DAY_S, 4000))
    latitude = np.linspace(-90.0, 90.0, 7)[:, None]
    longitude = np.array([-180.0, -77.3, 0.0, 16.0, 101.0, 151.0, 179.99])[:, None]
    ours = sun_position(time, latitude, longitude, 500.0)
    for row in range(7):
        full = spa.solar_position_numpy(
            time,
            float(latitude[row, 0]),
            float(longitude[row, 0]),
            500.0,
            1013.25,
            12.0,
            terrestrial_time_offset_s(time),
            HORIZON_REFRACTION_DEG,
            1,
        )
        geometric, azimuth = full[3], full[4]
        turn = (ours.azimuth_deg[row] - azimuth + 180.0) % 360.0 - 180.0
        assert np.abs(ours.geometric_elevation_deg[row] - geometric).max() < 1e-5
        assert np.abs(turn * np.cos(np.radians(geometric))).max() < 1e-5


def test_many_instants_and_one_give_the_same_sun() -> None:
    time = 1.75e9 + 600.0 * np.arange(200)
    many = sun_position(time, 48.0, 16.0)
    one = sun_position(time[77], 48.0, 16.0)
    assert many.elevation_deg[77] == pytest.approx(float(one.elevation_deg), abs=1e-6)
    assert many.azimuth_deg[77] == pytest.approx(float(one.azimuth_deg), abs=1e-5)


@given(TIMES, LATITUDES, LONGITUDES)
@settings(max_examples=60, deadline=None)
def test_the_sun_is_finite_and_lifted_by_the_air_everywhere(
    time: float, latitude: float, longitude: float
) -> None:
    sun = sun_position(time, latitude, longitude)
    lift = float(sun.elevation_deg - sun.geometric_elevation_deg)
    assert 0.0 <= lift < 0.6
    assert 0.0 <= float(sun.azimuth_deg) <= 360.0


@given(TIMES, LATITUDES)
@settings(max_examples=40, deadline=None)
def test_the_date_line_is_one_line(time: float, latitude: float) -> None:
    east, west = sun_position(time, latitude, 180.0), sun_position(time, latitude, -180.0)
    assert float(east.elevation_deg) == pytest.approx(float(west.elevation_deg), abs=1e-9)


@given(TIMES, LATITUDES, LONGITUDES)
@settings(max_examples=40, deadline=None)
def test_events_of_a_day_alternate_and_lie_on_the_horizon(
    start: float, latitude: float, longitude: float
) -> None:
    day = sun_events(start, start + DAY_S, latitude, longitude)
    crossings = sorted(day.rises_s + day.sets_s)
    assert abs(len(day.rises_s) - len(day.sets_s)) <= 1
    for at in crossings:
        height = sun_position(at, latitude, longitude).geometric_elevation_deg
        assert float(height) == pytest.approx(HORIZON_DEG, abs=2e-4)
        assert start <= at <= start + DAY_S
    assert (day.status == "rises_or_sets") == bool(crossings)
    lit = sum(end - begin for begin, end in day.sunlit)
    assert 0.0 <= lit <= DAY_S + 1e-6


def test_polar_day_and_polar_night_are_told_apart() -> None:
    june, december = (local_day(2026, month, 21, "Arctic/Longyearbyen") for month in (6, 12))
    up, down = sun_events(*june, 78.22, 15.65), sun_events(*december, 78.22, 15.65)
    assert (up.status, up.sunlit) == ("up_all_day", (june,))
    assert (down.status, down.sunlit) == ("down_all_day", ())
    assert up.sunrise_at is up.sunset_at is None


def test_a_sun_that_shows_for_minutes_is_found() -> None:
    """Around the end of a polar night one day first has the sun, for less than a step."""
    found = []
    for latitude in np.arange(67.3, 67.45, 0.001):
        day = sun_events(1766275200.0, 1766275200.0 + DAY_S, float(latitude), 0.0)
        found += [end - start for start, end in day.sunlit]
    assert min(found) < 900.0
    assert all(length > 0.0 for length in found)


@pytest.mark.parametrize(
    ("date", "zone", "latitude", "longitude", "hours"),
    [
        ((2026, 3, 29), "Europe/Vienna", 48.2, 16.4, 23),
        ((2026, 10, 25), "Europe/Vienna", 48.2, 16.4, 25),
        ((2026, 6, 1), "Pacific/Kiritimati", 1.87, -157.4, 24),
        ((2026, 6, 1), "Pacific/Apia", -13.8, -171.8, 24),
        ((2026, 6, 1), "Pacific/Chatham", -43.9, -176.5, 24),
        ((2026, 6, 1), "Pacific/Pago_Pago", -14.3, -170.7, 24),
    ],
)
def test_each_local_day_has_its_own_rise_and_set(
    date: tuple[int, int, int], zone: str, latitude: float, longitude: float, hours: int
) -> None:
    start, end = local_day(*date, zone)
    assert end - start == hours * 3600.0
    day = sun_events(start, end, latitude, longitude)
    assert [len(day.rises_s), len(day.sets_s)] == [1, 1]
    rise, setting = local_minutes(day, zone)
    assert rise[:2] == setting[:2] == f"{date[2]:02d}"
    assert "04:30" < rise[3:] < "08:30"
    assert "16:00" < setting[3:] < "21:00"


def test_a_day_by_the_clock_may_have_two_sunsets_or_none() -> None:
    """With a zone far from the sun the set drifts over midnight."""
    set_s = sun_events(1750464000.0, 1750464000.0 + DAY_S, 60.0, 0.0).sets_s[0]
    just_before = sun_events(set_s - 10.0, set_s - 10.0 + DAY_S - 30.0, 60.0, 0.0)
    assert len(just_before.sets_s) == 1
    later = sun_events(1754006400.0, 1754006400.0 + DAY_S, 60.0, 0.0).sets_s[0]
    two = sun_events(later - 5.0, later - 5.0 + DAY_S, 60.0, 0.0)
    assert len(two.sets_s) == 2
    assert two.sunlit == (
        (later - 5.0, two.sets_s[0]),
        (two.rises_s[0], two.sets_s[1]),
    )


def test_hemispheres_mirror_at_the_equinox() -> None:
    """When the sun is on the equator, north and south see it alike, mirrored."""
    time = 1742461290.0 + 60.0 * np.arange(-30, 31)
    north = sun_position(time, 40.0, 30.0)
    south = sun_position(time, -40.0, 30.0)
    assert np.abs(north.elevation_deg - south.elevation_deg).max() < 0.03
    assert np.abs((180.0 - north.azimuth_deg) % 360.0 - south.azimuth_deg % 360.0).max() < 0.05


def test_the_middle_of_the_sunlit_part_of_an_hour() -> None:
    start, end = local_day(2026, 3, 20, "Europe/Vienna")
    hours = np.arange(start, end, 3600.0)
    middle, share = mid_sunlit(hours, hours + 3600.0, 48.2, 16.4)
    noon = sun_position(middle, 48.2, 16.4).elevation_deg
    assert np.all((noon > 0.0) == (share > 0.0))
    whole = (share == 0.0) | (share == 1.0)
    assert np.all(middle[whole] == hours[whole] + 1800.0)
    assert 0 < np.count_nonzero(~whole) <= 2
    assert share.sum() == pytest.approx(12.1, abs=0.15)


def test_the_middle_of_an_instant_is_the_instant() -> None:
    middle, share = mid_sunlit(1750500000.0, 1750500000.0, 48.2, 16.4)
    assert float(middle) == 1750500000.0
    assert float(share) == 1.0


def test_a_sun_that_shows_in_one_sample_only_is_taken_there() -> None:
    sunrise = sun_events(*local_day(2026, 3, 20, "Europe/Vienna"), 48.2, 16.4).sunrise_at
    assert sunrise is not None
    start = sunrise - 3600.0 + 60.0  # refraction lets the sun count from a little after
    while mid_sunlit(start, start + 3600.0, 48.2, 16.4)[1] == 0.0:
        start += 30.0
    middle, share = mid_sunlit(start, start + 3600.0, 48.2, 16.4)
    assert float(share) == 1.0 / 16.0
    assert float(middle) == pytest.approx(start + 3600.0 * 31.0 / 32.0)


def test_the_shortest_day_before_polar_night_lasts_seconds() -> None:
    """Between two steps of ten minutes, where only a search for the top of its arc finds it."""
    shows, never, shortest_s = 67.3, 67.45, np.inf
    for _ in range(22):
        latitude = 0.5 * (shows + never)
        sunlit = sun_events(1766275200.0, 1766275200.0 + DAY_S, latitude, 0.0).sunlit
        if not sunlit:
            never = latitude
            continue
        shows, shortest_s = latitude, sunlit[0][1] - sunlit[0][0]
    assert shortest_s < 3.0
