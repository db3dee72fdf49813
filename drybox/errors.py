"""What can go wrong, and the exit status each kind ends with.

::

    DryboxError
    ├── InputError     2  an option or a file says something impossible
    ├── NoAnswerError  3  the question has no answer (no sun, never dry)
    └── StoreError     4  a file, the notes or the network failed

Anything else is a fault of ours and ends with 1.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum


class ExitStatus(IntEnum):
    """Exit status of the command line."""

    DONE = 0
    FAULT = 1
    BAD_INPUT = 2
    NO_ANSWER = 3
    STORE_FAILED = 4
    INTERRUPTED = 130


class DryboxError(Exception):
    """A condition said to the user in one line: what, where, how to mend."""

    exit_status = ExitStatus.FAULT

    def __init__(self, what: str, where: str = "", mend: str = "") -> None:
        self.what = what
        self.where = where
        self.mend = mend
        super().__init__(str(self))

    def __str__(self) -> str:
        text = self.what
        if self.mend:
            text += f"; {self.mend}"
        if self.where:
            text += f" ({self.where})"
        return " ".join(text.split())


class InputError(DryboxError):
    """An option, or what a file says, cannot be used."""

    exit_status = ExitStatus.BAD_INPUT


class NoAnswerError(DryboxError):
    """The question is well put but has no answer, such as sun in a polar night."""

    exit_status = ExitStatus.NO_ANSWER


class StoreError(DryboxError):
    """A file, the field notes or the network failed."""

    exit_status = ExitStatus.STORE_FAILED


def did_you_mean(name: str, known: Iterable[str], otherwise: str, *, cutoff: float = 0.6) -> str:
    """Return the known name that may be meant by another, or how else to mend it.

    >>> did_you_mean("paln", ["plan", "dry"], "see --help"), did_you_mean("x", [], "see --help")
    ("did you mean 'plan'?", 'see --help')
    """
    import difflib

    near = difflib.get_close_matches(name, list(known), n=1, cutoff=cutoff)
    return f"did you mean '{near[0]}'?" if near else otherwise


def out_of_range(
    name: str, value: object, limits: tuple[object, object], *, where: str = ""
) -> InputError:
    """Return the error for a value outside its range, worded the same everywhere.

    >>> print(out_of_range("latitude", 95, (-90, 90), where="place.latitude in fair.toml, line 3"))
    latitude 95 is outside -90 to 90 (place.latitude in fair.toml, line 3)
    """
    return InputError(f"{name} {value} is outside {limits[0]} to {limits[1]}", where)
