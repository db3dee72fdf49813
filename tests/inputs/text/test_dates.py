import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import InputError
from drybox.inputs.text.dates import (
    day_bounds_s,
    local_to_unix,
    parse_clock,
    parse_date,
    parse_zone,
    unix_to_local,
)

ZONES = st.sampled_from(
    [
        *("Europe/Vienna", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia"),
        *("Pacific/Chatham", "Pacific/Kiritimati", "Asia/Kathmandu", "America/Santiago"),
        *("Asia/Beirut", "UTC", "Etc/GMT+12"),
    ]
).map(ZoneInfo)
DATES = st.dates(dt.date(1970, 1, 1), dt.date(2099, 12, 31))
TIMES = st.times().map(lambda time: time.replace(microsecond=0))


@settings(deadline=None)
@given(DATES, TIMES, ZONES)
def test_local_time_to_seconds_and_back(date, time, zone):
    try:
        moment = local_to_unix(date, time, zone)
    except InputError:  # a gap: the same clock time an hour later exists
        later = dt.datetime.combine(date, time) + dt.timedelta(hours=3)
        assert local_to_unix(later.date(), later.time(), zone).note is None
        return
    local = unix_to_local(moment.time_at, zone)
    assert local.replace(tzinfo=None) == dt.datetime.combine(date, time)
    if moment.note is None:
        assert local_to_unix(date, time, zone, offset=local.utcoffset()) == moment


@settings(deadline=None)
@given(st.integers(0, 4_000_000_000), ZONES)
def test_seconds_to_local_time_and_back_with_offset(time_at, zone):
    local = unix_to_local(time_at, zone)
    clock = parse_clock(local.isoformat(), "time")
    assert local_to_unix(clock.date, clock.time, zone, offset=clock.offset).time_at == time_at


@settings(deadline=None)
@given(DATES, ZONES)
def test_days_follow_one_another_and_hold_their_own_noon(date, zone):
    if date == dt.date(2011, 12, 30) and zone.key == "Pacific/Apia":
        return
    start_at, end_at = day_bounds_s(date, zone)
    skips = zone.key in ("Pacific/Apia", "Pacific/Kiritimati")
    assert 22 * 3600 <= end_at - start_at <= 26 * 3600 or skips
    assert unix_to_local(start_at, zone).date() == date
    assert unix_to_local(start_at - 1, zone).date() < date
    assert unix_to_local(end_at - 1, zone).date() == date
    assert start_at < local_to_unix(date, dt.time(12), zone).time_at < end_at


@settings(deadline=None)
@given(st.text(max_size=12))
def test_any_text_is_a_date_or_an_input_error(text):
    for parse in (parse_date, parse_clock, parse_zone):
        try:
            parse(text)
        except InputError:
            continue


@pytest.mark.parametrize(
    "text",
    [
        *("2027-02-29", "31.04", "06/07/2026", "2027-6-1", "20270612", "", "2027-06-31"),
        *(20270612, None, "２０２７-06-12"),
    ],
)
def test_dates_that_do_not_exist_or_are_written_another_way(text):
    with pytest.raises(InputError, match=r"year first|check month and day"):
        parse_date(text, "option --date")


@pytest.mark.parametrize("text", ["1800-01-01", "9999-01-01", "2101-01-01"])
def test_years_far_away_are_refused(text):
    with pytest.raises(InputError, match="outside 1900 to 2100"):
        parse_date(text)


@pytest.mark.parametrize(
    "text",
    [
        *("25:00", "1:5", "9.5", "941", "2361", "9.41.20", "13", "noon", "13:60", "13:20 pm"),
        *("0am", 1320, None, "13:20+1"),
    ],
)
def test_what_is_no_clock_time_is_refused(text):
    with pytest.raises(InputError):
        parse_clock(text)


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [
        ("1pm", 13, 0),
        ("1:20 PM", 13, 20),
        ("12am", 0, 0),
        ("12:30 p.m.", 12, 30),
        ("09:05am", 9, 5),
    ],
)
def test_a_clock_of_twice_twelve_hours_is_read(text, hour, minute):
    assert parse_clock(text).time == dt.time(hour, minute)
    assert parse_clock(f"2027-06-12 {text}").time == dt.time(hour, minute)


def test_midnight_at_the_end_of_a_day_is_of_the_next():
    with pytest.raises(InputError, match="midnight is 00:00 of the next day"):
        parse_clock("24:00")


def test_the_half_hour_gap_of_lord_howe():
    zone = ZoneInfo("Australia/Lord_Howe")
    start_at, end_at = day_bounds_s(dt.date(2027, 10, 3), zone)
    assert (end_at - start_at) / 60 == 1410
    with pytest.raises(InputError, match="use 01:59 or 02:30"):
        local_to_unix(dt.date(2027, 10, 3), dt.time(2, 15), zone)


def test_the_autumn_fold_takes_the_earlier_and_says_so():
    zone = ZoneInfo("Europe/Vienna")
    moment = local_to_unix(dt.date(2027, 10, 31), dt.time(2, 30), zone)
    assert unix_to_local(moment.time_at, zone).utcoffset() == dt.timedelta(hours=2)
    assert "comes twice" in moment.note
    assert "02:30+01:00" in moment.note
    clock = parse_clock("02:30+01:00")
    later = local_to_unix(dt.date(2027, 10, 31), clock.time, zone, offset=clock.offset)
    assert later.time_at - moment.time_at == 3600
    assert later.note is None


def test_an_offset_that_is_not_the_zones_is_refused():
    clock, zone = parse_clock("12:00+05:00"), ZoneInfo("Europe/Vienna")
    with pytest.raises(InputError, match=r"its offset is \+02:00"):
        local_to_unix(dt.date(2027, 6, 12), clock.time, zone, offset=clock.offset)


def test_a_day_that_was_skipped_is_refused():
    with pytest.raises(InputError, match="day was skipped"):
        day_bounds_s(dt.date(2011, 12, 30), ZoneInfo("Pacific/Apia"))


@pytest.mark.parametrize(
    ("zone", "offset_h"),
    [
        ("Pacific/Kiritimati", 14),
        ("Pacific/Apia", 13),
        ("Pacific/Chatham", 12.75),
        ("Etc/GMT+12", -12),
    ],
)
def test_days_beside_the_date_line(zone, offset_h):
    start_at, _ = day_bounds_s(dt.date(2027, 6, 12), ZoneInfo(zone))
    utc_midnight_s = dt.datetime(2027, 6, 12, tzinfo=dt.UTC).timestamp()
    assert (utc_midnight_s - start_at) / 3600 == offset_h


@pytest.mark.parametrize(
    "name",
    [
        *("CET+1", "Mars/X", "", "  ", "../etc/passwd", "Europe", "/etc/localtime", None, 1),
        *("a" * 300, "x\0y"),
    ],
)
def test_zones_that_do_not_exist(name):
    with pytest.raises(InputError, match="time zone"):
        parse_zone(name)


@pytest.mark.parametrize(
    ("name", "near"),
    [("Europe/Viena", "Europe/Vienna"), ("vienna", "Europe/Vienna"), ("Apia", "Pacific/Apia")],
)
def test_near_zones_are_offered(name, near):
    with pytest.raises(InputError, match=near):
        parse_zone(name)
