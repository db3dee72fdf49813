"""Local dates and clock times, and unix seconds, through daylight-saving gaps and folds."""

from __future__ import annotations

import datetime as dt
import difflib
import re
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from drybox.errors import InputError, out_of_range

FIRST_YEAR, LAST_YEAR = 1900, 2100
_DATE_FORM = 'write it like "2027-06-12", year first'
_CLOCK_FORM = 'write it like "13:20"'
_OFFSET = r"(?:\s*(?P<sign>[+-])(?P<offset_hours>\d\d):?(?P<offset_minutes>\d\d))?"
_HALF_DAY = re.compile(
    r"(?P<hour>0?[1-9]|1[0-2])(?P<rest>[:.][0-5]\d)?\s*(?P<half>[ap])\.?m\.?",
    re.ASCII | re.IGNORECASE,
)
_CLOCK = re.compile(r"(?P<hour>\d{1,2})[:.](?P<minute>\d\d)(?::(?P<second>\d\d))?" + _OFFSET)
_FOUR_DIGITS = re.compile(r"(\d\d)(\d\d)(?!\d)")


@dataclass(frozen=True)
class Moment:
    """A local time as unix seconds, with what had to be decided to place it, or None."""

    time_at: float
    note: str | None = None


@dataclass(frozen=True)
class Clock:
    """A clock time; ``date`` if the text named one, ``offset`` from UTC if it gave one."""

    time: dt.time
    date: dt.date | None = None
    offset: dt.timedelta | None = None


def parse_zone(value: object, where: str = "") -> ZoneInfo:
    """Return a time zone by its name in the time-zone database.

    >>> parse_zone("Mars/X")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: time zone 'Mars/X' is not known; write it like "Europe/Vienna"
    """
    form = 'write it like "Europe/Vienna"'
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"time zone {value!r} is not a name", where, form)
    name = value.strip()
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        names = available_timezones()
        ending = "/" + name.lower().replace(" ", "_")
        near = difflib.get_close_matches(name, names, n=3, cutoff=0.6)
        near = near or sorted(zone for zone in names if zone.lower().endswith(ending))[:3]
        mend = "near names: " + ", ".join(near) if near else form
        raise InputError(f"time zone '{name}' is not known", where, mend) from None


def parse_date(value: object, where: str = "") -> dt.date:
    """Return a date written year-month-day.

    >>> parse_date("2028-02-29")
    datetime.date(2028, 2, 29)
    >>> parse_date("06/07/2026")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: date '06/07/2026' is not a date; write it like "2027-06-12", \
year first
    """
    if isinstance(value, dt.datetime):
        value = value.date()
    if isinstance(value, str):
        if re.fullmatch(r"\d{4}-\d\d-\d\d", value.strip(), re.ASCII) is None:
            raise InputError(f"date '{value}' is not a date", where, _DATE_FORM)
        try:
            value = dt.date.fromisoformat(value.strip())
        except ValueError:
            raise InputError(f"date {value} does not exist", where, "check month and day") from None
    if not isinstance(value, dt.date):
        raise InputError(f"date {value!r} is not a date", where, _DATE_FORM)
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise out_of_range("year", value.year, (FIRST_YEAR, LAST_YEAR), where=where)
    return value


def parse_clock(value: object, name: str = "time", where: str = "") -> Clock:
    """Return a clock time such as ``13:20``, ``1:20 pm`` or ``2027-06-13 01:30+01:00``.

    Also ``9.41`` and ``0941``, as they are typed in a hurry; ``941`` and ``9.5`` could be others.

    >>> parse_clock("13:20").time, parse_clock("12:20am").time
    (datetime.time(13, 20), datetime.time(0, 20))
    >>> parse_clock("9.41").time == parse_clock("0941").time == parse_clock("09:41").time
    True
    """
    if isinstance(value, dt.datetime):
        return Clock(value.time(), parse_date(value, where), value.utcoffset())
    if isinstance(value, dt.time):
        return Clock(value)
    if not isinstance(value, str):
        raise InputError(f"{name} {value!r} is not a clock time", where, _CLOCK_FORM)
    text, date = value.strip(), None
    dated = re.fullmatch(r"(\d{4}-\d\d-\d\d)[T ]+(.*)", text)
    if dated:
        date, text = parse_date(dated[1], where), dated[2]
    half_day = _HALF_DAY.fullmatch(text)
    if half_day:
        hour = int(half_day["hour"]) % 12 + (12 if half_day["half"].lower() == "p" else 0)
        text = f"{hour}{half_day['rest'] or ':00'}"
    text = _FOUR_DIGITS.sub(r"\1:\2", text, count=1) if text[:4].isdecimal() else text
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise InputError(f"{name} '{value}' is not a clock time", where, _CLOCK_FORM)
    try:
        time = dt.time(int(found["hour"]), int(found["minute"]), int(found["second"] or 0))
    except ValueError:
        mend = "midnight is 00:00 of the next day" if re.match("24[:.]00", text) else ""
        what = f"{name} '{value}' is not between 00:00 and 23:59"
        raise InputError(what, where, mend) from None
    offset = None
    if found["sign"]:
        offset = dt.timedelta(
            hours=int(found["offset_hours"]), minutes=int(found["offset_minutes"])
        )
        offset = -offset if found["sign"] == "-" else offset
    return Clock(time, date, offset)


def local_to_unix(
    date: dt.date,
    time: dt.time,
    zone: ZoneInfo,
    *,
    name: str = "time",
    where: str = "",
    offset: dt.timedelta | None = None,
) -> Moment:
    """Return the unix seconds of a local clock time.

    A time that comes twice (clocks set back) is taken as the earlier, which the note says, unless
    ``offset`` picks one. One that clocks skip is refused, and so is an ``offset`` that is not the
    zone's.

    >>> from zoneinfo import ZoneInfo
    >>> local_to_unix(dt.date(2027, 6, 12), dt.time(12), ZoneInfo("Europe/Vienna")).time_at
    1812794400.0
    >>> local_to_unix(dt.date(2027, 3, 28), dt.time(2, 30), ZoneInfo("Europe/Vienna"))
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: time 02:30 does not exist on 2027-03-28 in Europe/Vienna: clocks \
go forward then; use 01:59 or 03:00
    """
    first, second = (dt.datetime.combine(date, time.replace(fold=n), zone) for n in (0, 1))
    shown = f"{time:%H:%M}" + (f":{time:%S}" if time.second else "")
    if skipped(first):
        edges = [unix_to_local(at, zone) for at in _around_gap(first, second, zone)]
        form = "%H:%M" if edges[0].date() == edges[1].date() else "%Y-%m-%d %H:%M"
        before, after = (f"{edge:{form}}" for edge in edges)
        what = f"{name} {shown} does not exist on {date} in {zone.key}: clocks go forward then"
        raise InputError(what, where, f"use {before} or {after}")
    if offset is not None:
        matching = [moment for moment in (first, second) if moment.utcoffset() == offset]
        if not matching:
            what = f"{name} {shown} with offset {_offset_text(offset)} does not fit {zone.key}"
            raise InputError(what, where, f"its offset is {_offset_text(first.utcoffset())} then")
        return Moment(matching[0].timestamp())
    note = None
    if first.utcoffset() != second.utcoffset():
        early, late = (f"{shown}{_offset_text(moment.utcoffset())}" for moment in (first, second))
        note = (
            f"{name} {shown} comes twice on {date} in {zone.key}; the earlier is taken "
            f"({early}; the later is {late})"
        )
    return Moment(first.timestamp(), note)


def moment_on(
    date: dt.date, text: object, zone: ZoneInfo, *, name: str = "time", where: str = ""
) -> Moment:
    """Return the instant of a clock time on a day, or on the day that it names itself."""
    clock = parse_clock(text, name, where)
    return local_to_unix(
        clock.date or date, clock.time, zone, name=name, where=where, offset=clock.offset
    )


def skipped(moment: dt.datetime) -> bool:
    """Return whether clocks of the moment's zone never show it, as they go forward over it."""
    return moment.astimezone(dt.UTC).astimezone(moment.tzinfo) != moment


def _around_gap(first: dt.datetime, second: dt.datetime, zone: ZoneInfo) -> tuple[int, int]:
    """Return the last second before clocks go forward and the first after it."""
    low, high = sorted(int(moment.timestamp()) for moment in (first, second))
    start = unix_to_local(low, zone).utcoffset()
    while high - low > 1:  # the change of offset lies between
        middle = (low + high) // 2
        if unix_to_local(middle, zone).utcoffset() == start:
            low = middle
        else:
            high = middle
    return low, high


def _offset_text(offset: dt.timedelta | None) -> str:
    minutes = round((offset or dt.timedelta()).total_seconds() / 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def unix_to_local(time_at: float, zone: ZoneInfo) -> dt.datetime:
    """Return the local date and time, with offset, of unix seconds.

    >>> from zoneinfo import ZoneInfo
    >>> unix_to_local(1812794400.0, ZoneInfo("Europe/Vienna")).isoformat()
    '2027-06-12T12:00:00+02:00'
    """
    return dt.datetime.fromtimestamp(time_at, zone)


def clock_text(local: dt.datetime) -> str:
    """Return a local clock time; the second of two that clocks set back make gets a star.

    >>> from zoneinfo import ZoneInfo
    >>> zone = ZoneInfo("Europe/Vienna")
    >>> [clock_text(unix_to_local(at, zone)) for at in (1824943500.0, 1824947100.0)]
    ['02:45', '02:45*']
    """
    return f"{local:%H:%M}{'*' * local.fold}"


def day_bounds_s(date: dt.date, zone: ZoneInfo, where: str = "") -> tuple[float, float]:
    """Return the unix seconds at which a local day begins and ends.

    >>> from zoneinfo import ZoneInfo
    >>> start_at, end_at = day_bounds_s(dt.date(2027, 3, 28), ZoneInfo("Europe/Vienna"))
    >>> (end_at - start_at) / 3600
    23.0
    """
    start_at, end_at = (_day_start_at(day, zone) for day in (date, date + dt.timedelta(days=1)))
    if end_at <= start_at:
        raise InputError(f"{date} did not exist in {zone.key}: the day was skipped", where)
    return start_at, end_at


def _day_start_at(date: dt.date, zone: ZoneInfo) -> float:
    """Return the first second of a local day, also where clocks skip midnight."""
    midnight = dt.datetime.combine(date, dt.time(), zone)
    if skipped(midnight):
        return float(_around_gap(midnight, midnight.replace(fold=1), zone)[1])
    return midnight.timestamp()
