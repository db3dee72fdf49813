"""The ways of drying a print, a row each; what they are like by numbers: the table ``ways``."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.text.near_names import plain_words


@dataclass(frozen=True)
class Way:
    """One way of drying.

    ``name`` is what people call it, ``carriage`` its rank from least to most to carry and watch.
    ``metal`` tells that the print lies on metal, ``level`` that it lies level, ``sunny`` that
    the sun reaches it. ``power`` is the key of ``[powered]`` without which it cannot be.
    """

    name: str
    carriage: int
    metal: bool = False
    level: bool = False
    sunny: bool = False
    power: str = ""


WAY = {
    "sun_plate": Way("sun plate", 3, metal=True, sunny=True),
    "line_shade": Way("line in the shade", 0),
    "screen_shade": Way("screen in the shade", 1, level=True),
    "line_sun": Way("line in the sun", 2, sunny=True),
    "blotters": Way("blotter book", 6, level=True),
    "warm_plate": Way("powered warm plate", 5, metal=True, level=True, power="plate_power"),
    "warm_air": Way("powered warm air", 4, power="air_power"),
}
"""Every way by its key, which records keep."""

WAYS = tuple(WAY)
WAY_NAMES = {key: way.name for key, way in WAY.items()}
ON_PLATE = tuple(key for key, way in WAY.items() if way.metal)
_SHORT = {
    "plate": "sun_plate",
    "line": "line_shade",
    "screen": "screen_shade",
    "blotter": "blotters",
    "air": "warm_air",
}
_FILL = ("in", "the", "on", "a", "powered")


def parse_way(text: str, where: str = "") -> str:
    """Return the key of a way of drying, however it is spelt.

    >>> [parse_way(said) for said in ("Line-in-the-shade", "line shade", "line_shade", "line")]
    ['line_shade', 'line_shade', 'line_shade', 'line_shade']
    >>> parse_way("blotterbook")
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: way 'blotterbook' is not known; did you mean 'blotter book'?
    """
    known = dict(_SHORT)
    for way, name in WAY_NAMES.items():
        known |= {_plain(way): way, _plain(name): way}
    plain = _plain(text)
    if plain in known:
        return known[plain]
    near = difflib.get_close_matches(plain, known, n=1)
    offered = f"did you mean '{WAY_NAMES[known[near[0]]]}'?" if near else ""
    mend = offered or "choose one of: " + ", ".join(WAY_NAMES.values())
    raise InputError(f"way '{text}' is not known", where, mend)


def _plain(text: str) -> str:
    return " ".join(word for word in plain_words(text) if word not in _FILL).rstrip("s")
