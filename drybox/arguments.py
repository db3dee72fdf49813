"""What a call was given, checked once: the words and units of the event file, or one clear line."""

from __future__ import annotations

import datetime
import math
import os
import time
from collections.abc import Iterable, Mapping
from numbers import Integral, Real
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from drybox.errors import InputError, NoAnswerError, out_of_range
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import parse_way
from drybox.inputs.text.dates import local_to_unix, moment_on, parse_zone
from drybox.units import parse_quantity

if TYPE_CHECKING:
    from drybox.inputs.finish.finishing import Pulled

ARGUMENT = "argument"
FEWEST_MEMBERS, MOST_MEMBERS = 20, 2000
LARGEST_SEED = 999_999_999
NEXT_DAY_S = 86400.0

T = TypeVar("T")
When = str | float | datetime.datetime
Quantity = str | float


def path_of(path: object) -> Path:
    """Return a file's path."""
    if isinstance(path, str | os.PathLike) and os.fspath(path):
        return Path(os.fspath(path))
    mend = "give an event from drybox.load_event, or the path of an event file"
    raise InputError(f"{_short(path)} is neither an event nor a file", ARGUMENT, mend)


def instant_s(event: Event, when: object, name: str) -> float:
    """Return the Unix time of a moment on the event's day. [s]

    A moment is ``"13:20"``, a datetime (without a zone: local time there), or Unix seconds; of that
    day or of one next to it.

    >>> from drybox.inputs.event.event import load_event
    >>> place = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
    >>> instant_s(load_event(None, place), "12:00", "at")
    1812794400.0
    >>> instant_s(load_event(None, place), 1320, "at")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: at 1320 is nowhere near 2027-06-12; write it like "13:20" (argument)
    """
    zone = parse_zone(event.place.timezone)
    form = 'write it like "13:20"'
    if isinstance(when, str):
        time_at = moment_on(event.date, when, zone, name=name, where=ARGUMENT).time_at
    elif isinstance(when, datetime.datetime):
        if when.tzinfo is None:
            local = local_to_unix(when.date(), when.time(), zone, name=name, where=ARGUMENT)
            time_at = local.time_at
        else:
            time_at = when.timestamp()
    elif isinstance(when, Real) and not isinstance(when, bool):
        time_at = _number(when)
    else:
        raise InputError(f"{name} {_short(when)} is not a time", ARGUMENT, form)
    if not event.day_start_at - NEXT_DAY_S <= time_at <= event.day_end_at + NEXT_DAY_S:
        raise InputError(f"{name} {when} is nowhere near {event.date}", ARGUMENT, form)
    return time_at


def instant_of_day_s(event: Event, when: When) -> float:
    """Return an instant from the beginning of the event's day to its closing. [s].

    `NoAnswerError` if the event is closed by then.
    """
    at_s = instant_s(event, when, "now")
    if at_s < event.day_start_at:
        what = f"now {when} is before the day of the event, {event.date}"
        raise InputError(what, ARGUMENT, "leave it out for the plan of the day")
    if at_s >= event.closes_at:
        raise NoAnswerError(f"the event is closed at {when}: there is nothing left to promise")
    return at_s


LIMITS = {
    "hold_below": ("temperature", "20 °C", "120 °C"),
    "plate_temp": ("temperature", "20 °C", "120 °C"),
    "wait": ("duration", "1 min", "24 h"),
    "share": ("fraction", "50 %", "100 %"),
    "pulled": ("fraction", "10 %", "90 %"),
    "weighed": ("mass", "0.1 g", "500 g"),
    "sheet": ("mass", "0.1 g", "500 g"),
}
"""Argument → what it measures, its least and its most."""


def quantity(value: object, name: str) -> float | None:
    """Return a quantity in SI, within the `LIMITS` of its argument; None for None.

    Its unit is written with it, as in the event file: ``"55 °C"``, ``"30 min"``, ``"95 %"``.

    >>> round(quantity("55 °C", "hold_below"), 2)
    328.15
    >>> quantity(55, "hold_below")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: hold_below 55 has no unit; write it like "55 °C" (argument)
    """
    if value is None:
        return None
    dimension, *limits = LIMITS[name]
    found = parse_quantity(value, dimension, name, where=ARGUMENT)
    low, high = (parse_quantity(limit, dimension, name) for limit in limits)
    if not low <= found <= high:
        raise out_of_range(name, value, (limits[0], limits[1]), where=ARGUMENT)
    return found


def share_frac(value: object) -> float | None:
    """Return a share from a half to the whole, None for None; a plain number is a share of one.

    >>> share_frac("75 %"), share_frac(0.95), share_frac(None)
    (0.75, 0.95, None)
    >>> share_frac(5)
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: share 5 is outside 50 % to 100 % (argument)
    """
    if not isinstance(value, Real) or isinstance(value, bool):
        return quantity(value, "share")
    share = _number(value)
    if not math.isfinite(share):
        raise InputError(f"share {value} is not a finite number", ARGUMENT)
    if not 0.5 <= share <= 1.0:
        raise out_of_range("share", value, ("50 %", "100 %"), where=ARGUMENT)
    return share


def count(value: object, name: str, low: int, *, high: int) -> int:
    """Return a whole number between two limits.

    >>> count(0, "members", 20, high=2000)
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: members 0 is outside 20 to 2000 (argument)
    """
    if isinstance(value, bool) or not isinstance(value, Integral):
        raise InputError(f"{name} {_short(value)} is not a whole number", ARGUMENT)
    if not low <= int(value) <= high:
        raise out_of_range(name, value, (low, high), where=ARGUMENT)
    return int(value)


def members_of(value: object, usual: int, most: int = MOST_MEMBERS) -> int:
    """Return the size of the ensemble, the usual one for None."""
    return usual if value is None else count(value, "members", FEWEST_MEMBERS, high=most)


def seed_of(value: object) -> int:
    """Return the seed of the draws."""
    return count(value, "seed", 0, high=LARGEST_SEED)


def ways_of(value: object) -> tuple[str, ...] | None:
    """Return the keys of ways of drying, however they are spelt, None for None.

    >>> ways_of(("sun plate", "line_shade")), ways_of("sun plate, line in the sun")
    (('sun_plate', 'line_shade'), ('sun_plate', 'line_sun'))
    """
    if value is None:
        return None
    listed: Iterable[Any]
    if isinstance(value, str):
        listed = [part.strip() for part in value.split(",")]
    elif isinstance(value, Iterable):
        listed = list(value)
    else:
        raise InputError(f"ways {_short(value)} is no list of ways", ARGUMENT)
    for way in listed:
        if not isinstance(way, str):
            raise InputError(f"way {_short(way)} is not text", ARGUMENT)
    found = tuple(dict.fromkeys(parse_way(way, ARGUMENT) for way in listed))
    if not found:
        raise InputError("ways names no way of drying", ARGUMENT, "leave it out for all")
    return found


def choice_of(value: object, names: tuple[str, ...], name: str) -> str | None:
    """Return one of some names, hyphens in it for spaces, None for None.

    >>> choice_of("least-water", ("least water", "least time"), "goal")
    'least water'
    >>> choice_of("fast", ("least water", "least time"), "goal")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: goal 'fast' is not known; choose from: least water, least ...
    """
    if value is None:
        return None
    plain = str(value).replace("-", " ").replace("_", " ").strip().lower()
    if plain not in names:
        mend = f"choose from: {', '.join(names)}"
        raise InputError(f"{name} '{value}' is not known", ARGUMENT, mend)
    return plain


def overrides_of(value: object) -> Mapping[str, object]:
    """Return what is laid over an event, by key of its file; nothing for None."""
    return _told_by_name(value, "overrides", '{"event.date": "2027-06-12"}')


def used_of(value: object) -> dict[str, int]:
    """Return the sheets that each bath has had; none for None."""
    told = _told_by_name(value, "used", '{"fixer": 12}')
    return {
        bath: count(sheets, f"used {bath}", 0, high=LARGEST_SEED) for bath, sheets in told.items()
    }


def _told_by_name(value: object, name: str, form: str) -> Mapping[str, object]:
    if value is None:
        return {}
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        mend = f"write them like {form}"
        raise InputError(f"{name} are no mapping of keys to values", ARGUMENT, mend)
    return value


def clock_s(value: object, name: str) -> float:
    """Return a Unix time, that of the clock for None. [s]"""
    if value is None:
        return time.time()
    if not isinstance(value, Real) or isinstance(value, bool) or not math.isfinite(_number(value)):
        raise InputError(f"{name} {_short(value)} is no Unix time", ARGUMENT)
    return _number(value)


def of_kind(value: T, kind: str, name: str) -> T:
    """Return what is of a kind of our own, known by its name."""
    if type(value).__name__ != kind:
        raise InputError(f"{name} {_short(value)} is no {kind}", ARGUMENT)
    return value


def _number(value: Any) -> float:
    """Return a number as a float, infinite where it is too large for one."""
    try:
        return float(value)
    except OverflowError:
        return math.inf


def flag(value: object, name: str) -> bool:
    """Return True or False, which a word such as ``"no"`` is not."""
    if not isinstance(value, bool):
        raise InputError(f"{name} {_short(value)} is neither True nor False", ARGUMENT)
    return value


def _short(value: object) -> str:
    text = " ".join(repr(value).split())
    return text if len(text) <= 60 else f"{text[:57]}..."


def pulled_of(**told: Any) -> Pulled:
    """Return what is told of dry prints: the arguments of `drybox.api.finish` by their names."""
    from drybox.inputs.finish.finishing import MOST_PRINTS, Pulled

    by = ways_of(told["dried"]) or (None,)
    if len(by) > 1:
        raise InputError(f"dried {_short(told['dried'])} names several ways", ARGUMENT, "name one")
    damp = quantity(told["pulled"], "pulled")
    return Pulled(
        dried=by[0],
        pulled_activity=damp,
        plate_k=quantity(told["plate_temp"], "plate_temp"),
        prints=count(told["prints"], "prints", 1, high=MOST_PRINTS),
        mass_kg=quantity(told["weighed"], "weighed"),
        sheet_kg=quantity(told["sheet"], "sheet"),
    )
