"""The names of baths and tanks, as they are kept."""

from __future__ import annotations

from drybox.inputs.text.near_names import plain_words
from drybox.tables import load_table


def plain_name(name: str) -> str:
    """Return the name of a bath as it is kept: small letters, single spaces.

    >>> plain_name("Wash_Aid")
    'wash aid'
    """
    return " ".join(plain_words(name))


def tank_names() -> list[str]:
    """Return the names of the baths that have figures of their own.

    >>> tank_names()[:4]
    ['developer', 'first developer', 'second developer', 'stop']
    """
    return [plain_name(name) for name in load_table("baths") if name != "any"]
