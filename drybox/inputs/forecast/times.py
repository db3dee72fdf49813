"""Times as forecasts print them, turned into seconds since the Unix epoch."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from drybox.errors import InputError
from drybox.inputs.text.dates import skipped

_EXAMPLE = "write it like 2027-06-12T06:00 or 2027-06-12T06:00+02:00"
_ISO = re.compile(
    r"^(?P<day>\d{4}-\d{2}-\d{2})[T ]\s*"
    r"(?P<hour>\d{1,2})(:(?P<minute>\d{2}))?(:(?P<second>\d{2})(\.\d*)?)?"
    r"\s*(?P<zone>Z|UTC|GMT|[+-]\d{2}(:?\d{2})?)?$",
    re.IGNORECASE,
)
_EPOCH = re.compile(r"^\d{10}(\d{3})?$")


def read_times(
    cells: Sequence[str], lines: Sequence[int], timezone: str, *, heading_zone: str, name: str
) -> tuple[list[float], str]:
    """Return forecast times as seconds since the Unix epoch, and the zone they were read in.

    Cells are ISO 8601 or whole Unix seconds, with an offset all or none; those without one are of
    the place's zone, or of the heading's, which is ``UTC`` or empty. The zone returned is in words.

    >>> read_times(["2027-06-12T06:00"], [2], "Europe/Vienna", heading_zone="", name="fair.csv")
    ([1812772800.0], 'no offset, so taken in Europe/Vienna')
    """
    moments = [
        _parse(cell, f"{name}, line {line}") for cell, line in zip(cells, lines, strict=True)
    ]
    aware = sum(moment.tzinfo is not None for moment in moments)
    if 0 < aware < len(moments):
        raise InputError(
            f"{aware} of {len(moments)} times have an offset from UTC and the others do not",
            name,
            "give it to all or to none",
        )
    if aware:
        return [moment.timestamp() for moment in moments], "with their own offset from UTC"
    if heading_zone:
        return [
            moment.replace(tzinfo=UTC).timestamp() for moment in moments
        ], "in UTC by its heading"
    zone = ZoneInfo(timezone)
    seen: set[datetime] = set()
    times = []
    for moment, line in zip(moments, lines, strict=True):
        times.append(_local_seconds(moment, zone, moment in seen, where=f"{name}, line {line}"))
        seen.add(moment)
    return times, f"no offset, so taken in {timezone}"


def _local_seconds(moment: datetime, zone: tzinfo, again: bool, *, where: str) -> float:
    """Return a local clock time in seconds; said again, it is the later of an hour run twice."""
    if skipped(moment.replace(tzinfo=zone)):
        raise InputError(
            f"{moment:%Y-%m-%d %H:%M} does not exist in {zone}: the clocks skip it",
            where,
            "give the times with their offset from UTC",
        )
    return moment.replace(tzinfo=zone, fold=int(again)).timestamp()


def _parse(cell: str, where: str) -> datetime:
    text = cell.strip()
    if _EPOCH.match(text):
        return datetime.fromtimestamp(int(text[:10]), UTC)
    match = _ISO.match(text)
    if match is None:
        raise InputError(f"time '{text[:40]}' is not understood", where, _EXAMPLE)
    hour = int(match["hour"])
    zone = (match["zone"] or "").upper().replace("UTC", "Z").replace("GMT", "Z")
    if zone and len(zone) == 3:
        zone += ":00"
    clock = f"{hour % 24:02d}:{match['minute'] or '00'}:{match['second'] or '00'}"
    try:
        if hour > 24 or (hour == 24 and clock != "00:00:00") or match["day"][0] not in "12":
            raise ValueError(text)
        moment = datetime.fromisoformat(f"{match['day']}T{clock}{zone}")
    except ValueError:
        raise InputError(f"time '{text[:40]}' is not on any calendar", where, _EXAMPLE) from None
    return moment + timedelta(days=hour // 24)
