"""Results that a person can read: one line by `repr`, what the command says first by `str`."""

from __future__ import annotations

import importlib
from dataclasses import fields, is_dataclass
from typing import Any, NamedTuple

LONGEST = 300
LONGEST_PART = 40


def counted(number: int, what: str, one: str = "1") -> str:
    """Return so many of a thing.

    >>> counted(1, "print"), counted(3, "print"), counted(1, "lift", "one")
    ('1 print', '3 prints', 'one lift')
    """
    return f"{one} {what}" if number == 1 else f"{number} {what}s"


class Figure(NamedTuple):
    """A value in a text: its key ends in a metric unit; ``text`` is how the text has it."""

    key: str
    value: float
    text: str


class MetricText(str):
    """Words in which metric values stand, that can be said in other units: ``parts`` in order.

    Examples
    --------
    >>> air = MetricText("air of ", Figure("temp_c", 20.0, "20 °C"))
    >>> MetricText("In ", air, ".")
    'In air of 20 °C.'
    """

    parts: tuple[str | Figure, ...]

    def __new__(cls, *parts: str | Figure) -> MetricText:
        """Join words and values; a text of this kind among them keeps its values."""
        flat: list[str | Figure] = []
        for part in parts:
            flat += part.parts if isinstance(part, MetricText) else (part,)
        made = super().__new__(
            cls, "".join(part.text if isinstance(part, Figure) else part for part in flat)
        )
        made.parts = tuple(flat)
        return made


class Readable:
    """Base of records that hold arrays or many parts.

    ``_asked`` is what the call was about, put there by `drybox.api`; without it `str` is `repr`.
    """

    _asked = None  # without a type, so that a dataclass takes it for no field

    def __repr__(self) -> str:
        return one_line(self)

    def __str__(self) -> str:
        answer = self._answer()
        return repr(self) if answer is None else str(answer.lead[0])

    def _repr_html_(self) -> str:
        """Return what a notebook shows: what the command prints."""
        import html

        answer = self._answer()
        if answer is None:
            return f"<p>{html.escape(repr(self))}</p>"
        page = importlib.import_module("drybox.reports.text.terminal").render_text(answer)
        return f"<pre>{html.escape(page)}</pre>"

    def _answer(self) -> Any:
        """Return what the command says of it; the rooms that know the words lie above this one."""
        if self._asked is None:
            return None
        return importlib.import_module("drybox.said").answer(self)


def one_line(record: Any) -> str:
    """Return a record's fields in one line: arrays by their shape, long parts by their number.

    >>> from dataclasses import dataclass
    >>> @dataclass
    ... class Day:
    ...     name: str
    ...     hours: tuple[int, ...]
    >>> one_line(Day("fair", tuple(range(24))))
    "Day(name='fair', hours=24 items)"
    """
    parts = [
        f"{field.name}={_short(getattr(record, field.name))}"
        for field in fields(record)
        if field.repr
    ]
    text, end = f"{type(record).__name__}({', '.join(parts)})", " ...)"
    return text if len(text) <= LONGEST else text[: LONGEST - len(end)] + end


def _short(value: Any) -> str:
    shape = getattr(value, "shape", None)
    if shape:
        return f"array{tuple(shape)}"
    if is_dataclass(value) and not isinstance(value, type):
        text = one_line(value) if len(fields(value)) < 5 else ""
        return text if 0 < len(text) <= LONGEST_PART else f"{type(value).__name__}(...)"
    if isinstance(value, tuple | list | dict | set | frozenset):
        text = ", ".join(_short(part) for part in value) if len(value) < 4 else ""
        text = f"({text})" if text else ""
        return text if 0 < len(text) <= LONGEST_PART else f"{len(value)} items"
    if isinstance(value, float):
        return f"{value:.10g}"
    text = repr(value)
    return text if len(text) <= LONGEST_PART else f"{text[: LONGEST_PART - 3]}..."
