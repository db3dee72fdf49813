"""Files made for the user: whole or not at all, and never over another unasked."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterable
from pathlib import Path

from drybox.errors import StoreError

_RESERVED = {"con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(1, 10))}
_LONGEST_NAME_BYTES = 255


def check_file_name(path: Path) -> None:
    """Refuse a name that some system cannot hold, so that files travel.

    >>> check_file_name(Path("day.html"))
    >>> check_file_name(Path("con.html"))
    Traceback (most recent call last):
    ...
    drybox.errors.StoreError: file name 'con.html' is reserved on Windows; choose another name
    """
    name = path.name or str(path)
    fault = ""
    if not path.name:
        fault = "names a folder"
    elif name.split(".")[0].strip().lower() in _RESERVED:
        fault = "is reserved on Windows"
    elif any(sign in name for sign in ':*?"<>|\\') or any(ord(sign) < 32 for sign in name):
        fault = "holds a sign that some systems forbid"
    elif name.endswith((".", " ")):
        fault = "ends in a dot or a space"
    elif len(os.fsencode(name)) > _LONGEST_NAME_BYTES:
        fault = f"is longer than {_LONGEST_NAME_BYTES} bytes"
        name = name[:20] + "..."
    if fault:
        raise StoreError(f"file name '{name}' {fault}", mend="choose another name")


def write_file(
    path: str | Path, content: str | bytes, *, force: bool = False, never: Iterable[Path] = ()
) -> Path:
    """Write a file under its name only once all of it is on the disk.

    Text is written as UTF-8 with its line ends kept. Files that were read, ``never``, are not
    replaced even with ``force``. What fails leaves nothing behind and an old file untouched.
    """
    path = Path(path)
    check_file(path, force=force, never=never)
    data = content.encode("utf-8", "replace") if isinstance(content, str) else content
    try:
        _replace(path.resolve(), data)
    except (OSError, RuntimeError) as error:
        raise _failed(path, error) from error
    return path


def check_file(path: str | Path, *, force: bool = False, never: Iterable[Path] = ()) -> None:
    """Refuse a file that could not be written, before any long work is done for it.

    Refused is an unfit name, a folder that is missing, a file that is there without ``force``, is
    read for this answer, or is no regular file.
    """
    path = Path(path)
    check_file_name(path)
    try:
        target = path.resolve()
        if not target.parent.is_dir():
            raise _failed(path, FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT)))
        if target.exists():
            if not target.is_file():
                raise StoreError(f"{path} is not a regular file", mend="name a file to be made")
            if any(other.exists() and target.samefile(other) for other in never):
                raise StoreError(f"{path} is also read for this answer", mend="choose another name")
            if any(other.exists() and target.samefile(other) for other in _notes()):
                raise StoreError(f"{path} holds the field notes", mend="choose another name")
            if not force:
                raise StoreError(f"{path} exists", mend="choose another name or add --force")
    except (OSError, RuntimeError) as error:
        raise _failed(path, error) from error


def _notes() -> list[Path]:
    """Return the file of the field notes, which no answer ever replaces."""
    from drybox.inputs.notes.store import notes_path

    try:
        return [notes_path(None)[0]]
    except StoreError:
        return []


def _failed(path: Path, error: Exception) -> StoreError:
    reason = getattr(error, "strerror", None) or str(error)
    return StoreError(f"cannot write {path}: {reason}")


def _replace(target: Path, data: bytes) -> None:
    part = target.with_name(f".drybox-{os.urandom(6).hex()}.part")
    try:
        with part.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
