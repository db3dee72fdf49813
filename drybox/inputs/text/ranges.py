"""The check every input record makes when it is made."""

from __future__ import annotations

import math
from collections.abc import Mapping

from drybox.errors import InputError, out_of_range

Ranges = Mapping[str, tuple[float, float]]


def check_ranges(record: object, limits: Ranges) -> None:
    """Refuse a record with a number that is not finite or outside its limits.

    ``limits`` gives the lowest and highest value of a field in its own unit; None passes.

    >>> from types import SimpleNamespace
    >>> check_ranges(SimpleNamespace(tilt_deg=95.0), {"tilt_deg": (0, 90)})
    Traceback (most recent call last):
    ...
    drybox.errors.InputError: tilt_deg 95 is outside 0 to 90
    """
    for field, (low, high) in limits.items():
        value = getattr(record, field)
        if value is None:
            continue
        if not math.isfinite(value):
            raise InputError(f"{field} {value} is not a finite number")
        if not low <= value <= high:
            raise out_of_range(field, f"{value:g}", (f"{low:g}", f"{high:g}"))
