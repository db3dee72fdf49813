"""The short phrases in which field notes are typed at a table, turned into notes.

``plate 46C``, ``laid 7``, ``weighed squeegeed 20.5g 5 sheets``, ``sky broken cloud 24C 45%``.
Units tell what a number is; a number without one is refused with the right form shown.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from drybox.errors import InputError, did_you_mean
from drybox.inputs.event.ways import parse_way
from drybox.inputs.notes.note import KINDS, PROMISED_AS, Note, check_note, check_weighing
from drybox.inputs.text.dates import (
    Clock,
    Moment,
    local_to_unix,
    moment_on,
    parse_clock,
    parse_date,
    unix_to_local,
)
from drybox.inputs.text.near_names import plain_name
from drybox.inputs.weather.words import plain_sky, sky_words
from drybox.units import parse_quantity, parse_size

CLOCK_SLACK_S = 60.0
LONG_PAST_S = 12 * 3600.0
DAY = datetime.timedelta(days=1)
_AIR = "air-in-box"
_COLON = r"\d{1,2}:\d\d(?:[ap]m)?|\d{1,2}[ap]m"
_CLOCK_WORD = re.compile(rf"(?:^|\s)({_COLON})(?:$|\s)", re.IGNORECASE)
_POINT, _DIGITS = r"\d{1,2}\.\d\d(?:[ap]m)?", r"(?:[01]\d|2[0-3])[0-5]\d"
_ANY_CLOCK = re.compile(rf"(?:^|\s)({_COLON}|{_POINT}|{_DIGITS})(?:$|\s)", re.IGNORECASE)
"""Also ``9.41`` and ``0941``: for where nothing else than a time can stand."""


def parse_phrase(words: Sequence[str], *, at_s: float, timezone: str, **about: str) -> Note:
    """Return the note that a phrase says, checked.

    ``about`` is any of ``event``, ``place``, ``box``, ``paper``, ``way``, ``remark``, and ``size``
    of a weighed sheet.

    >>> note = parse_phrase(["plate", "46C"], at_s=1_781_435_700, timezone="Europe/Vienna")
    >>> note.kind, note.temp_k
    ('plate', 319.15)
    >>> said = ["promised", "7", "for", "15:40"]
    >>> note = parse_phrase(said, at_s=1_781_435_700, timezone="Europe/Vienna")
    >>> note.ticket, note.promised_at_s - note.at_s
    ('7', 8700)
    >>> parse_phrase(["plate", "46"], at_s=1_781_435_700, timezone="Europe/Vienna")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: plate temperature 46 has no unit; write it like "46 °C"
    """
    spoken = " ".join(" ".join(words).split())
    spoken = re.sub(r"^(air[ -]in[ -]box|box[ -]air|air)\b(?!-)", _AIR, spoken, flags=re.IGNORECASE)
    kind, _, rest = spoken.partition(" ")
    kind = kind.lower()
    if kind not in _PARSERS:
        mend = did_you_mean(kind, _PARSERS, "use one of: " + ", ".join(_PARSERS))
        raise InputError(f"note '{kind}' is not known", "", mend)
    if not rest:
        raise InputError(f"{KINDS[kind].what}: nothing given", "", _form(kind))
    clock = _time_in(rest, kind)
    if kind == "promise" and clock:  # what is said at the table is the promise itself
        kind = "promised"
    if clock and kind != "promised":
        raise InputError(f"{KINDS[kind].what}: {clock[1]} is a time", "", f"write --at {clock[1]}")
    found = _PARSERS[kind](rest, kind)
    if "promised" in found:
        found["promised_at_s"] = _promised_at(found.pop("promised"), at_s, timezone)
    size = about.pop("size", "")
    if size:
        found["width_m"], found["height_m"] = parse_size(size, "sheet size")
    said: dict[str, Any] = {name: text for name, text in about.items() if text}
    if found.get("remark") and "remark" in said:  # what casts a shadow, and anything else
        said["remark"] = f"{found['remark']}; {said['remark']}"
    note = Note(kind=kind, at_s=int(at_s), timezone=timezone, **(found | said))
    return check_weighing(check_note(settle_words(note)))


def _time_in(rest: str, kind: str) -> re.Match[str] | None:
    """Return the clock time in a phrase; behind a ticket also ``9.41``, and ``0941`` promised."""
    behind = rest.partition(" ")[2]
    found = _CLOCK_WORD.search(rest)
    if found is None and kind == "promise":
        return _ANY_CLOCK.search(behind)
    if found is None and kind in _OF_SEVERAL:
        return re.search(rf"(?:^| )({_POINT})$", behind)
    return found


def clock_apart(words: Sequence[str], at: str, *, promise: bool = False) -> tuple[list[str], str]:
    """Return a phrase's words without ``at 13:40`` or a closing ``13:40``, and that; else ``at``.

    The only clock time of a promise is the one that was promised.

    >>> clock_apart(["7", "5.1", "g", "13:40"], "")
    (['7', '5.1', 'g'], '13:40')
    >>> clock_apart(["7", "at", "13:40", "on", "the", "line"], "")
    (['7', 'on', 'the', 'line'], '13:40')
    >>> clock_apart(["7", "at", "15:40"], "", promise=True)
    (['7', 'at', '15:40'], '')
    """
    spoken = " ".join(words)
    match = re.search(r"^(.+) at (\S+)( (?:on|in|by) .+)?$", spoken, re.IGNORECASE)
    if match is None and not promise:
        match = re.search(rf"^(.+) ({_COLON})()$", spoken, re.IGNORECASE)
    if at or match is None or not _ANY_CLOCK.search(match[2]):
        return list(words), at
    if promise and not _ANY_CLOCK.search(_ticket_of(match[1]).partition(" ")[2]):
        return list(words), at
    return f"{match[1]}{match[3] or ''}".split(" "), match[2]


def settle_words(note: Note, where: str = "") -> Note:
    """Return the note with its sky and its way of drying in the words used everywhere.

    >>> note = Note(kind="laid", at_s=1_781_435_700, timezone="UTC", ticket="7", way="line")
    >>> settle_words(note).way
    'line_shade'
    """
    way = parse_way(note.way, where) if note.way.strip() else ""
    return replace(note, way=way, sky=_sky_word(note.sky, where) if note.sky.strip() else "")


@dataclass(frozen=True)
class EventDay:
    """The day of an event, and when it closes if that is after midnight."""

    date: datetime.date
    closes: Clock | None = None

    def of(self, time: datetime.time) -> datetime.date:
        """Return the day on which the event has a clock time."""
        closes = self.closes
        if closes is None or closes.date is None or time > closes.time:
            return self.date
        return closes.date


def parse_when(
    at: str, date: str, zone: ZoneInfo, *, now_at: float, event: EventDay | None = None
) -> Moment:
    """Return when something was seen: a clock time on a day, a past event's or today, or now.

    Both texts may be empty; a time still to come is refused. The note of the result says what was
    decided where clocks are set back, or the day is that of an ``event``.

    >>> parse_when("13:15", "", ZoneInfo("Europe/Vienna"), now_at=1_781_436_000.0).time_at
    1781435700.0
    """
    if not at:
        if date:
            raise InputError("a date needs a time", "--date", "add --at, such as --at 13:15")
        if event is None or event.date + 2 * DAY > unix_to_local(now_at, zone).date():
            return Moment(now_at)
        return Moment(now_at, f"noted for now; with --at it is of the event's day, {event.date}")
    clock = parse_clock(at, where="--at")
    if clock.date and date:
        raise InputError("the date is given twice", "--at and --date", "keep one")
    today = unix_to_local(now_at, zone)
    told = clock.date or (parse_date(date, "--date") if date else None)
    usual = today.date() if event is None else min(event.of(clock.time), today.date())
    day = told or usual
    moment = local_to_unix(day, clock.time, zone, where="--at", offset=clock.offset)
    if told is None and usual < today.date():
        of_event = f"the day is the event's, {day}; --date gives another"
        moment = replace(moment, note="; ".join(filter(None, (moment.note, of_event))))
    if moment.time_at > now_at + CLOCK_SLACK_S:
        now = f"it is {today:%Y-%m-%d %H:%M} in {zone.key}"
        mend = "give the day it was with --date, or another zone with --timezone"
        raise InputError(f"{day} {clock.time:%H:%M} is still to come: {now}", "--at", mend)
    return moment


def _form(kind: str) -> str:
    return f"write it like: note {KINDS[kind].form}"


def _not_understood(rest: str, kind: str) -> InputError:
    return InputError(f"{KINDS[kind].what}: '{rest}' is not understood", "", _form(kind))


def _reading(rest: str, kind: str) -> dict[str, Any]:
    return {"temp_k": parse_quantity(rest, "temperature", KINDS[kind].what)}


_NUMBER_WORD = r"(?:(?:tickets?|prints?|numbers?|nos?\.?|nr\.?|#)\s*)(?=#?\d)"
_OF_SEVERAL = ("sat", "laid", "touch", "dry", "handed")


def each_ticket(kind: str, words: Sequence[str]) -> list[list[str]]:
    """Return a phrase for each print, where several are sat for, laid on, dry or handed over.

    >>> each_ticket("laid", ["3", "4"]), each_ticket("handed", ["no", "3,", "4", "and", "7"])
    ([['3'], ['4']], [['3'], ['4'], ['7']])
    >>> each_ticket("plate", ["46", "C"])
    [['46', 'C']]
    """
    rest = " ".join(" ".join(words).split())
    rest = re.sub(rf"^{_NUMBER_WORD}", "", rest, flags=re.IGNORECASE)
    listed = re.split(r"\s*[,;+&]\s*|\s+(?:and\s+)?", rest)
    if kind not in _OF_SEVERAL or not all(re.fullmatch(r"#?\d+[a-z]?", one) for one in listed):
        return [list(words)]
    *others, last = listed
    if re.fullmatch(_DIGITS, last) and others and max(map(len, others)) < len(last):
        mend = f"write --at {last[:2]}:{last[2:]}, or note the ticket by itself"
        raise InputError(f"{KINDS[kind].what}: {last} is a ticket or a time", "", mend)
    return [[one.lstrip("#")] for one in dict.fromkeys(listed)]


def _ticket_of(text: str) -> str:
    """Return a ticket without the word for it.

    >>> _ticket_of("no. 2"), _ticket_of("No 7"), _ticket_of("#7"), _ticket_of("Nora")
    ('2', '7', '7', 'Nora')
    """
    return re.sub(rf"^{_NUMBER_WORD}", "", text.strip(), flags=re.IGNORECASE)


def _ticket(rest: str, kind: str) -> dict[str, Any]:
    rest = _ticket_of(rest)
    if re.search(r"[ ,;]", rest) or rest.startswith("--"):
        form = _form(kind) + ", each print by itself"
        raise InputError(f"{KINDS[kind].what}: '{rest}' is more than a ticket", "", form)
    if rest.lower().endswith(".toml"):
        what = f"{KINDS[kind].what}: '{rest}' is an event file, no ticket"
        raise InputError(what, "", _form(kind))
    return {"ticket": rest}


def _laid(rest: str, kind: str) -> dict[str, Any]:
    """Return what ``7`` or ``7 on the line`` says."""
    match = re.fullmatch(r"(.+?) (?:on|in|by) (.+)", rest, re.IGNORECASE)
    return _ticket(match[1], kind) | {"way": match[2]} if match else _ticket(rest, kind)


_SAID_WITH = {"touch": "dry", "handed": "over", "sat": "down"}


def _of_print(rest: str, kind: str) -> dict[str, Any]:
    """Return what ``touch dry 7``, ``handed over 7`` or ``sat down 7`` says, or the short form."""
    first, _, ticket = rest.partition(" ")
    with_it = ticket and first.lower() == _SAID_WITH[kind]
    return _ticket(ticket if with_it else rest, kind)


def _promised(rest: str, kind: str) -> dict[str, Any]:
    states = "|".join(PROMISED_AS)
    form = rf"(\S+) (?:(?:for|by|at) )?(\S.*?)(?: (?P<state>{states})(?: dry)?)?"
    match = re.fullmatch(form, _ticket_of(rest), re.IGNORECASE)
    if match is None or not _ANY_CLOCK.search(match[2]):
        raise _not_understood(rest, kind)
    state = (match["state"] or "").lower()
    return {"ticket": match[1], "promised": match[2], "state": state}


def _promised_at(text: str, at_s: float, timezone: str) -> int:
    """Return the instant promised: that day's, or after midnight where that is long past. [s]"""
    zone, name = ZoneInfo(timezone), "the time promised"
    day = unix_to_local(at_s, zone).date()
    moment_at = moment_on(day, text, zone, name=name).time_at
    if moment_at < at_s - LONG_PAST_S:
        moment_at = moment_on(day + DAY, text, zone, name=name).time_at
    return int(moment_at)


_STATES = "|".join(KINDS["weighed"].states)
_MASS = rf"(?P<mass>\S*\d\S*(?: ?(?!(?:{_STATES})\b)[a-z]+)?)"
_SHEETS = r"(?: (?:for )?(?P<sheets>\d{1,5}) (?:sheets?|prints?))?"
_WEIGHED = (
    rf"(?:(?P<ticket>\S+) )?(?P<state>[^\W\d]+) {_MASS}{_SHEETS}",
    rf"(?P<ticket>\S+) {_MASS}(?: (?P<state>{_STATES}))?{_SHEETS}",
)


def _weighed(rest: str, kind: str) -> dict[str, Any]:
    """Return what ``squeegeed 4.1g``, ``7 dry 3.6g``, ``7 3.6g dry`` or ``7 5.1g`` says."""
    rest = _ticket_of(rest)
    tried = (re.fullmatch(form, rest, re.IGNORECASE) for form in _WEIGHED)
    match = next((found for found in tried if found), None)
    if match is None:
        raise _not_understood(rest, kind)
    return {
        "mass_kg": parse_quantity(match["mass"], "mass", "mass"),
        "state": (match["state"] or "").lower(),
        "ticket": match["ticket"] or "",
        "sheets": int(match["sheets"]) if match["sheets"] else None,
    }


def _shadow(rest: str, kind: str) -> dict[str, Any]:
    state, _, what = rest.partition(" ")
    return {"state": state.lower(), "remark": what}


def _sun(rest: str, kind: str) -> dict[str, Any]:
    return {"state": rest.lower()}


def _tank(rest: str, kind: str) -> dict[str, Any]:
    match = re.fullmatch(r"(.+?) (\d{1,6})(?: sheets?)?", rest)
    if match is None:
        raise _not_understood(rest, kind)
    return {"bath": plain_name(match[1]), "sheets": int(match[2])}


def _promise(rest: str, kind: str) -> dict[str, Any]:
    rest, by = _ticket_of(rest), ""
    late = re.fullmatch(r"(.*\b(?:kept|missed)\b.*?) (by \S.*)", rest, re.IGNORECASE)
    if late is not None:
        rest, by = late[1], late[2]
    ticket, _, state = rest.rpartition(" ")
    if ticket.lower() in KINDS[kind].states:
        ticket, state = _ticket_of(state), ticket
    if not ticket or " " in ticket:
        raise _not_understood(rest, kind)
    return {"ticket": ticket, "state": state.lower(), "remark": by}


_HUMID = r"(?: (?:in |at )?(?P<humidity>\d[\d.,]* ?%)(?: air| humidity)?)?"
_FORMS = {
    "curl": rf"(?P<ticket>\S+) (?P<lift>\S*\d\S*(?: (?:mm|cm|in|inch|inches))?){_HUMID}",
    "flat": rf"(?P<ticket>\S+){_HUMID}",
}


def _curl(rest: str, kind: str) -> dict[str, Any]:
    """Return what ``7 12mm``, ``7 12 mm 35%`` or, of a flat print, ``7 35%`` says."""
    match = re.fullmatch(_FORMS[kind], rest, re.IGNORECASE)
    if match is None:
        raise _not_understood(rest, kind)
    found: dict[str, Any] = _ticket(match["ticket"], kind)
    if kind == "curl":
        found["height_m"] = parse_quantity(match["lift"], "length", KINDS[kind].what)
    if match["humidity"]:
        found["humidity_frac"] = parse_quantity(match["humidity"], "fraction", "humidity")
    return found


_MEASURES = (
    ("humidity_frac", "fraction", "humidity", r"\d[\d.,]* ?%"),
    ("wind_m_s", "speed", "wind", r"\d[\d.,]* ?(?:m/s|km/h|kmh|kph|mph|kn|kt|knots)"),
    ("temp_k", "temperature", "air temperature", r"[+-]?\d[\d.,]* ?(?:°|deg)? ?[cfk]\b"),
)
_OKTAS = r"\d[\d.,]* ?(?:/ ?8|oktas?)"


def _sky(rest: str, kind: str) -> dict[str, Any]:
    found: dict[str, Any] = {}

    def take(text: str, name: str, pattern: str, *, read: Callable[[str], float]) -> str:
        match = re.search(rf"(?:^|(?<=[\s,])){pattern}(?=$|[\s,])", text, re.IGNORECASE)
        if match is None:
            return text
        found[name] = read(match[0])
        return f"{text[: match.start()]} {text[match.end() :]}"

    left = take(rest, "cloud_frac", _OKTAS, read=_cloud_frac)
    for name, dimension, plain, pattern in _MEASURES:
        read = functools.partial(parse_quantity, dimension=dimension, name=plain)
        left = take(left, name, pattern, read=read)
    words = " ".join(word for word in left.replace(",", " ").split() if word.lower() not in _FILL)
    if words:
        found["sky"] = words
    return found


def _cloud_frac(text: str) -> float:
    return parse_quantity(re.sub(r"/ ?8", " oktas", text), "oktas", "cloud") / 8


_FILL = ("air", "humidity", "wind", "rh", "cloud:", "and", "with")


def _sky_word(words: str, where: str) -> str:
    known = {plain_sky(word): word for word in sky_words()}
    if re.search(r"\d", words):
        mend = "write it like: 5/8 24C 45% 3m/s, each number with its unit"
        raise InputError(f"weather seen: '{words}' is not understood", where, mend)
    plain = plain_sky(words)
    if plain in known:
        return known[plain]
    mend = did_you_mean(plain, known, "choose one of: " + ", ".join(known.values()))
    raise InputError(f"sky '{words}' is not known", where, mend)


_PARSERS: dict[str, Callable[[str, str], dict[str, Any]]] = {
    "plate": _reading,
    _AIR: _reading,
    "sky": _sky,
    "laid": _laid,
    "dry": _ticket,
    "sun": _sun,
    "sat": _of_print,
    "touch": _of_print,
    "handed": _of_print,
    "promised": _promised,
    "weighed": _weighed,
    "shadow": _shadow,
    "tank": _tank,
    "promise": _promise,
    "curl": _curl,
    "flat": _curl,
}
