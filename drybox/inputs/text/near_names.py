"""Names that are nearly the same: of boxes, papers, fairs and places, typed by hand."""

from __future__ import annotations

import re
from collections.abc import Iterable

_SEPARATORS = re.compile(r"[\s_-]+")
_FEWEST_LETTERS = 5
"""A shorter word may be meant to differ in one letter, as in box A and box B."""


def plain_words(name: str) -> list[str]:
    """Return the words of a name in small letters; spaces, hyphens and underscores part them.

    >>> plain_words("Wash_Aid"), plain_words(" line-in the  shade")
    (['wash', 'aid'], ['line', 'in', 'the', 'shade'])
    """
    return [word for word in _SEPARATORS.split(name.lower()) if word]


def plain_name(name: str) -> str:
    """Return a name as it is kept: small letters, single spaces.

    >>> plain_name("Wash_Aid")
    'wash aid'
    """
    return " ".join(plain_words(name))


def near_name(name: str, known: Iterable[str]) -> str:
    """Return the name that may be meant by one that is new, or an empty text.

    Near is what differs in case, spaces, hyphens and underscores alone, or in one letter of a
    word of five or more; digits never differ by mistake.

    >>> near_name("my box", ["My_Box", "long bin"]), near_name("long bim", ["My_Box", "long bin"])
    ('My_Box', '')
    >>> near_name("Matt papr", ["matt paper"]), near_name("matt paper 2", ["matt paper 1"])
    ('matt paper', '')
    """
    others = list(dict.fromkeys(known))
    words = plain_words(name.casefold())
    if name in others or not words:
        return ""
    known_words = {other: plain_words(other.casefold()) for other in others}
    same = (other for other, theirs in known_words.items() if "".join(theirs) == "".join(words))
    slips = (other for other, theirs in known_words.items() if _one_letter_off(words, theirs))
    return next(same, "") or next(slips, "")


def _one_letter_off(words: list[str], others: list[str]) -> bool:
    differing = [pair for pair in zip(words, others, strict=False) if pair[0] != pair[1]]
    if len(words) != len(others) or len(differing) != 1:
        return False
    one, two = differing[0]
    if max(len(one), len(two)) < _FEWEST_LETTERS:
        return False
    while one and two and one[0] == two[0]:
        one, two = one[1:], two[1:]
    while one and two and one[-1] == two[-1]:
        one, two = one[:-1], two[:-1]
    if any(letter.isdigit() for letter in one + two):
        return False
    return max(len(one), len(two)) <= 1 or (len(one) == 2 and one == two[::-1])
