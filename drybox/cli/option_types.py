"""What an option's value may be: checked, said back in words, and completed by the shell."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from drybox.errors import InputError, out_of_range
from drybox.units import parse_number, parse_quantity

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


class Number(click.ParamType):  # type: ignore[type-arg]
    """A finite number between two limits; a decimal comma is understood."""

    name = "number"

    def __init__(self, low: float, high: float) -> None:
        self.low = low
        self.high = high

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or say what is wrong with it."""
        name, where = _named(param)
        number = parse_number(str(value), name, where)
        if not self.low <= number <= self.high:
            raise out_of_range(name, value, (f"{self.low:g}", f"{self.high:g}"), where=where)
        return number


class Oktas(Number):
    """Eighths of the sky, such as ``3``, ``3/8`` or ``3 oktas``; ``40 %`` is a share of it."""

    name = "oktas"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the eighths, or say what is wrong with them."""
        name, where = _named(param)
        text = re.sub(r"(?<=\d)\s*(/\s*8|oktas?)\s*$", "", str(value), flags=re.IGNORECASE)
        if "/" in text:
            raise InputError(f"{name} '{value}' is not in eighths", where, "write it like 3/8")
        if text.rstrip().endswith("%"):
            text = f"{8 * parse_quantity(text, 'fraction', name, where=where):g}"
        return super().convert(text, param, ctx)


class Quantity(click.ParamType):  # type: ignore[type-arg]
    """A quantity with its unit, such as ``55C`` or ``200 m``, as an SI number.

    ``bare`` is the unit of a number that has none; without it the unit must be written.
    """

    def __init__(self, dimension: str, low: str, high: str, *, bare: str = "") -> None:
        self.name = dimension.replace("_", " ")
        self.dimension = dimension
        self.limits = (low, high)
        self.bare = bare

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the quantity in SI, or say what is wrong with it."""
        name, where = _named(param)
        text = str(value)
        if self.bare and text.strip()[-1:].isdigit():
            text = f"{text} {self.bare}"
        number = parse_quantity(text, self.dimension, name, where=where)
        low, high = (parse_quantity(limit, self.dimension, name) for limit in self.limits)
        if not low <= number <= high:
            raise out_of_range(name, text, self.limits, where=where)
        return number


class Count(click.ParamType):  # type: ignore[type-arg]
    """A whole number, not negative, between two limits."""

    name = "count"

    def __init__(self, low: int = 0, high: int = 999_999_999) -> None:
        self.low = low
        self.high = high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return the number, or say what is wrong with it."""
        name, where = _named(param)
        text = str(value).strip()
        if not (text.isascii() and text.isdigit() and len(text) < 10):
            raise InputError(f"{name} '{text}' is not a whole number from 0 up", where)
        if not self.low <= int(text) <= self.high:
            raise out_of_range(name, int(text), (self.low, self.high), where=where)
        return int(text)


def _named(param: click.Parameter | None) -> tuple[str, str]:
    if param is None:
        return "value", ""
    return (param.name or "value").replace("_", " "), f"option {param.opts[0]}"


class Completed(click.ParamType):  # type: ignore[type-arg]
    """Any text, for which the shell offers some words, hyphens in them for spaces.

    Bash would take a word with a space in it for two. In a list, what stands before the last
    comma is left as it is.
    """

    name = "text"

    def __init__(self, words: Callable[[], Iterable[str]]) -> None:
        self.words = words

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the words that begin so."""
        from click.shell_completion import CompletionItem

        before, comma, begun = incomplete.rpartition(",")
        words = (word.replace(" ", "-") for word in self.words())
        return [CompletionItem(before + comma + w) for w in words if w.startswith(begun)]


def way_names() -> Iterable[str]:
    """Return the names of the ways of drying."""
    from drybox.inputs.event.ways import WAY_NAMES

    return WAY_NAMES.values()


class PathName(click.ParamType):  # type: ignore[type-arg]
    """The name of a file or folder, left for its reader to check; the shell offers those."""

    def __init__(self, name: str) -> None:
        self.name = name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the name, or say that there is none."""
        if param is not None and param.param_type_name == "option" and not str(value).strip():
            name, where = _named(param)
            raise InputError(f"{name} names no {self.name}", where, "name one or leave it out")
        return str(value)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Leave it to the shell."""
        from click.shell_completion import CompletionItem

        return [CompletionItem(incomplete, type=self.name)]


FILE, FOLDER = PathName("file"), PathName("dir")
