"""The library built from the C files of `simulation`, where there is one; light to import."""

from __future__ import annotations

import ctypes
import functools
import hashlib
import os
from pathlib import Path

_NAMES = "rates.c", "step.c", "run.c"  # each includes the one before
SOURCES = tuple(Path(__file__).parent / "simulation" / name for name in _NAMES)
LIBRARY = SOURCES[0].with_name("step.compiled")
"""No name of an extension module, which it is not."""


def stamp() -> str:
    """Return what a library built from these sources says of itself."""
    return hashlib.sha256(b"".join(each.read_bytes() for each in SOURCES)).hexdigest()


@functools.cache
def library() -> ctypes.CDLL | None:
    """Return the compiled step if it was built from these sources, and is wanted."""
    if os.environ.get("DRYBOX_ENGINE") == "numpy":
        return None
    try:
        found = ctypes.CDLL(str(LIBRARY))
        found.drybox_source.restype = ctypes.c_char_p
        built_from = found.drybox_source().decode()
    except (OSError, AttributeError):
        return None
    return found if built_from == stamp() else None


def engine() -> str:
    """Return which step serves: "compiled" or "numpy"."""
    return "compiled" if library() is not None else "numpy"
