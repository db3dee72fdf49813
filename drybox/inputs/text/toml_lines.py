"""Read a TOML file and tell on which line each key stands."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drybox.errors import InputError, StoreError

LARGEST_FILE_BYTES = 1_000_000
MOST_NESTED = 20
_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_PARTS = rf"(?:{_KEY}[ \t]*\.[ \t]*){{{MOST_NESTED}}}"
_DEEP_KEY = re.compile(rf"(?:^|[\[{{,])[ \t]*{_PARTS}", re.MULTILINE)
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_ASSIGNMENT = re.compile(rf"\s*({_DOTTED})\s*=")
_DELIMITERS = ('"' * 3, "'" * 3)


@dataclass(frozen=True)
class TomlFile:
    """A parsed file: its tables and the line of each key.

    A key is dotted, with the place in an array of tables counted from 0:
    ``place.obstacle.1.height``.
    """

    path: Path
    tables: dict[str, Any]
    lines: dict[str, int]

    def line_of(self, key: str) -> int | None:
        """Return the line of a key, or of the nearest table around it, or None."""
        while key:
            if key in self.lines:
                return self.lines[key]
            key = key.rpartition(".")[0]
        return None


def _plain_key(dotted: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in re.findall(_KEY, dotted))


def _bracket_depth(text: str) -> int:
    bare = re.sub(r""""(?:\\.|[^"\\])*"|'[^']*'|#.*""", "", text)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")


def _within_arrays(table: str, counts: dict[str, int]) -> str:
    """Return a table's key with the place in each array of tables it lies in."""
    key = ""
    *outer, last = table.split(".")
    for part in outer:
        key = f"{key}.{part}".lstrip(".")
        if key in counts:
            key = f"{key}.{counts[key] - 1}"
    return f"{key}.{last}".lstrip(".")


def find_lines(text: str) -> dict[str, int]:
    r"""Return the line, counted from 1, of every table and key in valid TOML.

    Keys inside an inline table or an array count as their outer key.

    >>> find_lines('[paper]\nstock = "x"\n[[a]]\nb = "2 m"\n')
    {'paper': 1, 'paper.stock': 2, 'a': 3, 'a.0': 3, 'a.0.b': 4}
    >>> find_lines('[[a]]\n[[a.b]]\nc = 1\n')["a.0.b.0.c"]
    3
    """
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    table, inside, depth = "", "", 0
    for number, line in enumerate(text.splitlines(), start=1):
        if inside:
            inside = "" if inside in line else inside
            continue
        if depth > 0:
            depth += _bracket_depth(line)
            continue
        header = _HEADER.match(line)
        assignment = _ASSIGNMENT.match(line)
        if header:
            table = _within_arrays(_plain_key(header[2]), counts)
            lines.setdefault(table, number)
            if header[1] == "[[":
                index = counts.get(table, 0)
                counts[table] = index + 1
                table = f"{table}.{index}"
                lines[table] = number
        elif assignment:
            key = _plain_key(assignment[1])
            lines[f"{table}.{key}".lstrip(".")] = number
            value = line[assignment.end() :]
            opened = [mark for mark in _DELIMITERS if value.count(mark) == 1]
            inside = opened[0] if opened else ""
            depth = 0 if inside else _bracket_depth(value)
    return lines


def read_toml(path: Path) -> TomlFile:
    """Return the parsed file."""
    if path.exists() and not path.is_file():
        raise StoreError(f"{path} is not a file", mend="give an event file such as fair.toml")
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        mend = "'drybox init DIR' writes a starter event file"
        raise StoreError(f"there is no file {path}", mend=mend) from None
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}") from None
    if len(raw) > LARGEST_FILE_BYTES:
        raise InputError(f"{path.name} is larger than 1 MB and cannot be an event file")
    try:
        text = raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise InputError(f"{path.name} is not UTF-8 text", mend="save it as UTF-8") from None
    too_deep = f"tables are nested more than {MOST_NESTED} deep"
    deep = _DEEP_KEY.search(text)
    if deep:
        line = text.count("\n", 0, deep.end()) + 1
        raise InputError(too_deep, f"{path.name}, line {line}")
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what, line = _broken(str(error), text)
        where = f"{path.name}, line {line}"
        raise InputError(f"the file is not valid TOML: {what}", where) from None
    except RecursionError:
        raise InputError("brackets are nested too deeply", path.name) from None
    except ValueError:  # the interpreter's limit on whole numbers
        raise InputError("a number has too many digits", path.name) from None
    if _depth(tables) > MOST_NESTED:
        raise InputError(too_deep, path.name)
    return TomlFile(path, tables, find_lines(text))


def _depth(tables: dict[str, Any]) -> int:
    """Return how many tables and lists lie in one another."""
    depth = 0
    level: list[Any] = [tables]
    while level:
        depth += 1
        inner = (x.values() if isinstance(x, dict) else x for x in level)
        level = [x for values in inner for x in values if isinstance(x, dict | list)]
    return depth


def _broken(message: str, text: str) -> tuple[str, int]:
    at = re.search(r"\s*\(at line (\d+), column \d+\)$", message)
    if at is None:
        return message.replace(" (at end of document)", " at the end"), text.count("\n") + 1
    line = int(at[1])
    what = message[: at.start()]
    if what == "Invalid value" or what.startswith("Expected newline"):
        what = 'the value is not readable (text and quantities need quotes, like "3 mm")'
    return what[0].lower() + what[1:], line
