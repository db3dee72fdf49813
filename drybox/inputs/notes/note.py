"""What one field note is: its kinds, its fields, and what is believed of a reading.

Numbers are kept rounded (temperature to 1e-6 K and so on), so that a note written out in °C
and grams and read in again is the same note.
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass, fields, replace

from drybox.errors import InputError, out_of_range
from drybox.inputs.text.dates import parse_zone
from drybox.units import KELVIN_AT_0_C, plain_number

NAME_LENGTH_MAX = 100
REMARK_LENGTH_MAX = 1000
AT_MIN_S = 946_684_800  # 2000-01-01: an earlier note is a slip of the pen
AT_MAX_S = 4_102_444_800  # 2100-01-01
SHEETS_MAX = 100_000
_TURNS_DIRECTION = {chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))}


@dataclass(frozen=True, kw_only=True)
class Note:
    """One line of the field notes; a text that was not told is empty, a number None.

    ``kind`` is a key of `KINDS`. ``at_s``, ``written_s`` and ``promised_at_s`` are when it was
    seen, when written down, and when a print was promised for [s since the Unix epoch];
    ``timezone`` is the zone it was written in. The store gives the ``id``, kept through export and
    import; ``undoes`` is that of the note this row takes back. ``event``, ``place``, ``box`` and
    ``paper`` name what it is about, ``ticket`` the print, ``way`` how it is being dried, ``bath``
    the tank. ``state`` is one of the kind's words, such as ``dry`` or ``came``, none for a print
    weighed while it dries; ``sky`` holds sky words, ``remark`` anything else. ``sheets`` are those
    that a tank has done, or that were weighed together. ``temp_k`` is of the plate, of the air in
    the box, or (kind ``sky``) of the outdoor air; ``mass_kg`` of all the sheets on the scale;
    ``width_m`` and ``height_m`` of one weighed sheet, of kind ``curl`` the height of its edges over
    its middle. ``cloud_frac`` is the share of the sky under cloud, ``wind_m_s`` the wind where the
    box stands, at hand height. ``flag`` is a doubt found when reading; it is not stored.
    """

    kind: str
    at_s: int
    timezone: str
    id: str = ""
    written_s: int = 0
    event: str = "default"
    place: str = "default"
    box: str = "default"
    paper: str = "default"
    ticket: str = ""
    way: str = ""
    state: str = ""
    bath: str = ""
    sky: str = ""
    remark: str = ""
    sheets: int | None = None
    temp_k: float | None = None
    mass_kg: float | None = None
    width_m: float | None = None
    height_m: float | None = None
    cloud_frac: float | None = None
    humidity_frac: float | None = None
    wind_m_s: float | None = None
    promised_at_s: int | None = None
    undoes: str = ""
    flag: str = ""


@dataclass(frozen=True)
class Kind:
    """What a kind of note says: fields it must have, may have, and its words for `state`."""

    what: str
    form: str
    needs: tuple[str, ...]
    may: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    temp_range_c: tuple[float, float] = (-50.0, 60.0)


SKY_FIELDS = ("sky", "cloud_frac", "temp_k", "humidity_frac", "wind_m_s")
PROMISED_AS = ("dry", "touch", "damp")
"""The states that a print is promised in."""
KINDS: dict[str, Kind] = {
    "plate": Kind("plate temperature", "plate 46C", ("temp_k",), temp_range_c=(-30, 150)),
    "air-in-box": Kind(
        "temperature of the air in the box", "air-in-box 52C", ("temp_k",), temp_range_c=(-30, 120)
    ),
    "sky": Kind("weather seen", 'sky "broken cloud" 24C 45% 3m/s', (), SKY_FIELDS),
    "sun": Kind("sun on the box", "sun gone", ("state",), (), ("gone", "back")),
    "sat": Kind("sitter sat down", "sat 7", ("ticket",)),
    "promised": Kind(
        "promise given", "promised 7 15:40", ("ticket", "promised_at_s"), ("state",), PROMISED_AS
    ),
    "laid": Kind("print laid on", "laid 7 --way line", ("ticket",), ("way",)),
    "touch": Kind("print felt touch dry", "touch 7", ("ticket",), ("way",)),
    "dry": Kind("print felt dry", "dry 7", ("ticket",), ("way",)),
    "handed": Kind("print handed over", "handed 7", ("ticket",)),
    "weighed": Kind(
        "print weighed",
        "weighed squeegeed 6.4g, or while it dries: weighed 7 4.1g",
        ("mass_kg",),
        ("state", "ticket", "sheets", "width_m", "height_m"),
        ("dry", "drained", "squeegeed", "blotted"),
    ),
    "shadow": Kind("shadow on the box", "shadow came", ("state",), (), ("came", "went")),
    "tank": Kind("tank spent", "tank fixer 31", ("bath", "sheets")),
    "promise": Kind("promise", "promise 7 kept", ("ticket", "state"), (), ("kept", "missed")),
    "curl": Kind(
        "height of a curled print's edges",
        "curl 7 12mm, or with the air's humidity: curl 7 12mm 35%",
        ("ticket", "height_m"),
        ("humidity_frac",),
    ),
    "flat": Kind("print found flat", "flat 7", ("ticket",), ("humidity_frac",)),
    "undo": Kind("note taken back", "undo", ("undoes",)),
}

NAMES = ("event", "place", "box", "paper")
WORDS = ("id", "ticket", "way", "state", "bath", "sky", "undoes")
DECIMALS = {
    "temp_k": 6,
    "mass_kg": 9,
    "width_m": 9,
    "height_m": 9,
    "cloud_frac": 9,
    "humidity_frac": 9,
    "wind_m_s": 6,
}
# field: (name for people, to the unit for people, unit, low, high)
_RANGES = {
    "mass_kg": ("mass", 1e3, "g", 0.05, 5000.0),
    "width_m": ("sheet width", 1e3, "mm", 10.0, 3000.0),
    "height_m": ("sheet height", 1e3, "mm", 10.0, 3000.0),
    "cloud_frac": ("cloud", 8.0, "oktas", 0.0, 8.0),
    "humidity_frac": ("humidity", 100.0, "%", 0.0, 100.0),
    "wind_m_s": ("wind", 1.0, "m/s", 0.0, 60.0),
}
# judgement: bare sheets of 50 to 600 g/m², with up to 1000 g/m² of water where wet; what is said
# of no size up to 0.9 m²
_DRY_SHEET_KG_M2, _WET_SHEET_KG_M2 = (0.05, 0.7), (0.05, 1.6)
_SHEET_KG = (1e-4, 0.5)
_ALWAYS = {"kind", "at_s", "timezone", "id", "written_s", *NAMES, "remark", "flag"}


def clean_text(text: str, name: str, where: str = "", *, longest: int = NAME_LENGTH_MAX) -> str:
    """Return a text fit to store and to print: one line, composed, no control characters.

    >>> clean_text("  Fair on the green ", "event")
    'Fair on the green'
    """
    for character in text:
        turns = character in _TURNS_DIRECTION
        if turns or unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp"):
            shown = f"U+{ord(character):04X}"
            raise InputError(f"{name} has the control character {shown}", where, "leave it out")
    cleaned = unicodedata.normalize("NFC", text).strip()
    if len(cleaned) > longest:
        raise InputError(f"{name} is longer than {longest} characters", where)
    return cleaned


def check_note(note: Note, where: str = "") -> Note:
    """Return the note with texts trimmed and numbers rounded, as it will be kept.

    >>> hot = Note(kind="plate", at_s=1_781_000_000, timezone="UTC", temp_k=450 + 273.15)
    >>> check_note(hot)
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: plate temperature 450 °C is outside -30 °C to 150 °C
    """
    if note.kind not in KINDS:
        mend = "use one of: " + ", ".join(KINDS)
        raise InputError(f"note '{clean_text(note.kind, 'kind', where)}' is not known", where, mend)
    kind = KINDS[note.kind]
    texts = {name: clean_text(getattr(note, name), name, where) or "default" for name in NAMES}
    texts |= {name: clean_text(getattr(note, name), name, where) for name in WORDS}
    texts["remark"] = clean_text(note.remark, "remark", where, longest=REMARK_LENGTH_MAX)
    texts["timezone"] = parse_zone(note.timezone, where).key
    settled = replace(note, flag="", **texts, **_rounded(note, where))  # type: ignore[arg-type]
    _check_fields(settled, kind, where)
    _check_times(settled, where)
    if settled.kind == "weighed" and not settled.state and not settled.ticket:
        form = f"write it like: note {kind.form}"
        raise InputError(f"{kind.what}: neither how it was nor a ticket given", where, form)
    if settled.state and kind.states and settled.state not in kind.states:
        mend = "use one of: " + ", ".join(kind.states)
        raise InputError(f"{kind.what} '{settled.state}' is not known", where, mend)
    _check_numbers(settled, kind, where)
    return settled


def _rounded(note: Note, where: str) -> dict[str, float | None]:
    rounded: dict[str, float | None] = {}
    for name, decimals in DECIMALS.items():
        value = getattr(note, name)
        if value is not None and not math.isfinite(value):
            raise InputError(f"{name} {value} is not a finite number", where)
        rounded[name] = None if value is None else round(float(value), decimals) + 0.0
    return rounded


def _check_fields(note: Note, kind: Kind, where: str) -> None:
    form = f"write it like: note {kind.form}"
    present = {item.name for item in fields(note) if getattr(note, item.name) not in ("", None)}
    for name in kind.needs:
        if name not in present:
            raise InputError(f"{kind.what}: no {_plain(name)} given", where, form)
    for name in sorted(present - _ALWAYS - {*kind.needs, *kind.may}):
        raise InputError(f"{kind.what}: {_plain(name)} does not belong to it", where, form)
    if note.kind == "sky" and not present & set(SKY_FIELDS):
        raise InputError("weather seen: nothing given", where, form)
    if note.kind != "curl" and (note.width_m is None) != (note.height_m is None):
        raise InputError("sheet size has one side only", where, 'write it like "4x5 in"')


def _check_times(note: Note, where: str) -> None:
    for what, at_s in (
        ("the note's time", note.at_s),
        ("the time of writing", note.written_s or None),
        ("the time promised", note.promised_at_s),
    ):
        if at_s is not None and not AT_MIN_S <= at_s < AT_MAX_S:
            raise InputError(f"{what} is outside the years 2000 to 2099", where)


def _check_numbers(note: Note, kind: Kind, where: str) -> None:
    if note.temp_k is not None:
        low, high = kind.temp_range_c
        temp_c = round(note.temp_k - KELVIN_AT_0_C, 6)
        if not low <= temp_c <= high:
            raise out_of_range(
                "air temperature" if note.kind == "sky" else kind.what,
                f"{plain_number(temp_c)} °C",
                (f"{low:g} °C", f"{high:g} °C"),
                where=where,
            )
    curl = {"height_m": ("height of the edges", 1e3, "mm", 0.1, 500.0)}
    for name, (plain, factor, unit, low, high) in (
        _RANGES | (curl if note.kind == "curl" else {})
    ).items():
        value = getattr(note, name)
        if value is not None and not low <= round(value * factor, 6) <= high:
            raise out_of_range(
                plain,
                f"{plain_number(value * factor)} {unit}",
                (f"{low:g}", f"{high:g} {unit}"),
                where=where,
            )
    if note.sheets is not None and not 1 <= note.sheets <= SHEETS_MAX:
        raise out_of_range("sheets", note.sheets, (1, SHEETS_MAX), where=where)


def check_weighing(note: Note) -> Note:
    """Return the note, if one print can weigh what it says; other kinds as they are.

    Only what is typed is asked so: notes kept or exported already stay readable.

    >>> heavy = Note(kind="weighed", at_s=0, timezone="UTC", state="dry", mass_kg=0.9)
    >>> check_weighing(heavy)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: mass of one print 900 g is outside 0.1 to 500 g; mend the unit...
    """
    if note.kind != "weighed" or note.mass_kg is None:
        return note
    mass_kg, (low, high), sized = note.mass_kg / (note.sheets or 1), _SHEET_KG, ""
    if note.width_m and note.height_m:
        area_m2 = note.width_m * note.height_m
        bounds = _DRY_SHEET_KG_M2 if note.state == "dry" else _WET_SHEET_KG_M2
        low, high = (kg_m2 * area_m2 for kg_m2 in bounds)
        sized = f" of {note.width_m * 1e3:.0f} x {note.height_m * 1e3:.0f} mm"
    if low <= mass_kg <= high:
        return note
    mass, least, most = (plain_number(1e3 * kg) for kg in (mass_kg, low, high))
    mend = 'mend the unit, or say how many were weighed, like "5 sheets"'
    what = f"mass of one print{sized} {mass} g is outside {least} to {most} g"
    raise InputError(what, mend=mend)


def _plain(name: str) -> str:
    words = {"temp_k": "temperature", "mass_kg": "mass", "undoes": "note id"}
    words["promised_at_s"] = "time"
    return words.get(name, name.rsplit("_", 1)[0] if name in DECIMALS else name)
