"""The ways of drying a print, by name; what each is like stands in the table ``ways``."""

from __future__ import annotations

import difflib

from drybox.errors import InputError
from drybox.inputs.text.near_names import plain_words

WAY_NAMES = {
    "sun_plate": "sun plate",
    "line_shade": "line in the shade",
    "screen_shade": "screen in the shade",
    "line_sun": "line in the sun",
    "blotters": "blotter book",
    "warm_plate": "powered warm plate",
    "warm_air": "powered warm air",
}
"""What people call each way; records keep the keys."""

WAYS = tuple(WAY_NAMES)

LINE_WAYS = ("line_shade", "line_sun", "screen_shade")
"""Those in which prints hang or lie free, many at a time."""

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

    Parameters
    ----------
    text : str
        Its key, its name, or a short form of it.
    where : str
        Where it stands, for the error text.

    Raises
    ------
    InputError
        If there is no such way; the nearest is offered, or all.

    Examples
    --------
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
