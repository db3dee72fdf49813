"""When a batch of prints is washed, and what a late print does to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


def batch_ready_s(joined_s: Sequence[float], duration_s: float) -> float:
    """Return when a batch is washed: a print that joins late restarts the clock for all.

    Examples
    --------
    Two prints at 0 s, a third at 600 s, 25 min of washing:

    >>> batch_ready_s([0.0, 0.0, 600.0], 1500.0)
    2100.0
    """
    return max(joined_s) + duration_s


@dataclass(frozen=True)
class LatePrint:
    """A print that comes to a batch under way: what joining and waiting would mean."""

    together_ready_s: float
    batch_ready_s: float
    apart_ready_s: float
    join: bool


def late_print(started_s: float, prints: int, arrives_s: float, duration_s: float) -> LatePrint:
    """Return whether a late print should join a batch or wait in a tray of its own water.

    Parameters
    ----------
    started_s : float
        When the batch of ``prints`` began. [s]
    arrives_s : float
        When the late one is fixed. [s]
    duration_s : float
        Length of the wash. [s]

    Returns
    -------
    LatePrint
        ``join`` is True when the sum of the waiting is less that way (one wash tray).
    """
    together = batch_ready_s([started_s, arrives_s], duration_s)
    alone = started_s + duration_s
    apart = max(arrives_s, alone) + duration_s
    lost_joining = prints * (together - alone)
    return LatePrint(together, alone, apart, join=lost_joining < apart - together)
