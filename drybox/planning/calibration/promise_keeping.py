"""How many promises were kept, against how many should have been."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import betaincinv

from drybox.inputs.notes.note import Note
from drybox.planning.scenario.percentiles import UNKNOWN, Range

CLAIMED_FRAC = 0.9
"""A promise is a ninth decile: nine in ten should be kept. [-]"""

WIDEST_FRAC = 0.3
"""Of the range of the share kept; a wider one tells nothing of nine in ten (judgement). [-]"""


@dataclass(frozen=True)
class PromisesKept:
    """Promises noted as kept or missed, and the range of the share that would be kept."""

    kept: int
    noted: int
    share: Range
    claimed_frac: float = CLAIMED_FRAC

    @property
    def verdict(self) -> str:
        """Return what the range says of the claim, such as ``as claimed``; ``none`` without notes.

        Else it is ``too few to tell``, ``fewer than claimed`` or ``more than claimed``.
        """
        if not self.noted or self.share.p10 is None or self.share.p90 is None:
            return "none"
        if self.share.p90 - self.share.p10 > WIDEST_FRAC:
            return "too few to tell"
        if self.share.p90 < self.claimed_frac:
            return "fewer than claimed"
        return "more than claimed" if self.share.p10 > self.claimed_frac else "as claimed"


def promises_kept(notes: Sequence[Note]) -> PromisesKept:
    """Return the share of promises kept with its range.

    P10, P50 and P90 of the share by Jeffreys' prior, none without a note; the last note on a ticket
    of an event counts.

    Quantiles of Beta(kept + 1/2, missed + 1/2).

    References
    ----------
    Brown, L. D., Cai, T. T. and DasGupta, A. (2001), Interval estimation for a binomial
    proportion, Statistical Science 16, 101.

    Examples
    --------
    >>> said = ["kept"] * 9 + ["missed"]
    >>> notes = [
    ...     Note(kind="promise", at_s=0, timezone="UTC", ticket=str(k), state=state)
    ...     for k, state in enumerate(said)
    ... ]
    >>> found = promises_kept(notes)
    >>> found.kept, found.noted, round(found.share.p10, 3), round(found.share.p90, 3)
    (9, 10, 0.725, 0.97)
    """
    last = {(note.event, note.ticket): note.state for note in notes if note.kind == "promise"}
    kept, noted = sum(state == "kept" for state in last.values()), len(last)
    if not noted:
        return PromisesKept(0, 0, UNKNOWN)
    parts = (float(betaincinv(kept + 0.5, noted - kept + 0.5, p)) for p in (0.1, 0.5, 0.9))
    return PromisesKept(kept, noted, Range(*parts))
