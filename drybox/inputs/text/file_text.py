"""Read a text file that someone else wrote, and refuse in one line what is none."""

from __future__ import annotations

import csv
import os
import re
import stat
from collections.abc import Collection
from pathlib import Path

from drybox.errors import InputError, StoreError

SIZE_LIMIT_BYTES = 50_000_000
_CONTROL_BYTES = re.compile(rb"[\x00-\x08\x0e-\x1f]")


def read_file_text(name: str | Path, base_dir: str | Path = ".", where: str = "") -> str:
    r"""Return a text file's content, with ``\n`` between lines and no byte order mark.

    It is read as UTF-8, or else as Latin-1. Refused are web addresses, folders, devices, files
    larger than `SIZE_LIMIT_BYTES` or empty, UTF-16, web pages and archives.
    """
    if "://" in str(name):
        raise InputError(f"'{name}' is an address, not a file", where, "fetch it first")
    path = Path(base_dir) / os.path.expanduser(name)
    content = _read_bytes(path, where)
    _refuse_other_kinds(content, path.name, where)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def read_rows(
    name: str | Path, columns: Collection[str], example: str, *, where: str = ""
) -> list[tuple[str, dict[str, str]]]:
    """Return the rows of a small CSV table: where each stands, and its cells by their heading.

    Split by commas or semicolons; ``#`` starts a remark. ``columns`` are those known, ``example``
    how the heading is written.
    """
    file = Path(name).name
    text = read_file_text(name, where=where)
    lines = [line for line in text.split("\n") if line.strip() and not line.startswith("#")]
    if not lines:
        raise InputError("there is no heading", file, example)
    delimiter = ";" if ";" in lines[0] else ","
    table = csv.DictReader(lines, delimiter=delimiter, restkey="more", skipinitialspace=True)
    table.fieldnames = [(name or "").strip().lower() for name in table.fieldnames or []]
    unknown = [name for name in table.fieldnames if name not in columns]
    if unknown:
        raise InputError(f"column '{unknown[0]}' is not known", file, example)
    found = []
    for number, row in enumerate(table, start=1):
        of = f"{file}, row {number}"
        if "more" in row or None in row.values():
            what = "the row has more or fewer cells than the heading"
            raise InputError(what, of, 'quote a comma, like "46.9, 13.4"')
        found.append((of, {heading: cell.strip() for heading, cell in row.items()}))
    if not found:
        raise InputError("there is a heading but nothing under it", file, example)
    return found


def _read_bytes(path: Path, where: str) -> bytes:
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(path, flags)
    except ValueError:
        raise InputError(f"'{path.name}' is not a file name", where) from None
    except OSError as error:
        if os.path.isdir(path):  # pragma: no cover - only Windows cannot open a folder
            raise InputError(f"'{path}' is a folder, not a file", where) from None
        raise _failed(path, "opened", error, where=where) from None
    mode = os.fstat(handle).st_mode
    if not stat.S_ISREG(mode):
        os.close(handle)
        what = "a folder" if stat.S_ISDIR(mode) else "a device or a pipe"
        raise InputError(f"'{path}' is {what}, not a file", where)
    with os.fdopen(handle, "rb") as stream:
        try:
            content = stream.read(SIZE_LIMIT_BYTES + 1)
        except OSError as error:
            raise _failed(path, "read", error, where=where) from None
    if len(content) > SIZE_LIMIT_BYTES:
        limit = f"{SIZE_LIMIT_BYTES // 1_000_000} MB"
        raise InputError(f"'{path.name}' is larger than {limit}", where, "keep the days you need")
    return content


def _failed(path: Path, done: str, error: OSError, *, where: str) -> StoreError:
    reason = (error.strerror or str(error)).lower()
    return StoreError(f"'{path}' cannot be {done}: {reason}", where)


def _refuse_other_kinds(content: bytes, name: str, where: str) -> None:
    content = content.removeprefix(b"\xef\xbb\xbf")
    start = content[:400].lstrip().lower()
    if not content.strip():
        raise InputError(f"'{name}' is empty", where)
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(f"'{name}' is UTF-16 text", where, "save it as UTF-8")
    if start.startswith((b"<!doctype", b"<html", b"<?xml", b"<head", b"<body")):
        raise InputError(f"'{name}' is a web page, not data", where, "download the file itself")
    if content.startswith((b"PK\x03\x04", b"\x1f\x8b", b"BZh", b"\xfd7zXZ", b"7z\xbc\xaf")):
        raise InputError(f"'{name}' is an archive", where, "unpack it first")
    if _CONTROL_BYTES.search(content):
        raise InputError(f"'{name}' is not a text file", where)
