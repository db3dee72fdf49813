"""Lifts noted of curled prints, each with what else the notes say of that print and day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drybox.inputs.notes.note import Note

DAY_S = 86400.0
LONGEST_S = 14 * DAY_S
"""A print noted curled or flat was laid on at most so long before (judgement). [s]"""


@dataclass(frozen=True, kw_only=True)
class NotedCurl:
    """One print's edges over its middle, and what is known of it.

    ``lift_m`` is None where it was only called flat. ``humidity_frac`` is that noted with it or of
    the air within the hour before; ``way`` how it was dried, ``plate_k`` the last plate read
    within the hour before it was laid on or after; each None where nobody noted it.
    """

    lift_m: float | None
    humidity_frac: float | None
    way: str | None
    plate_k: float | None


def noted_curls(notes: Sequence[Note], paper: str) -> tuple[NotedCurl, ...]:
    """Return the lifts noted of a paper, in the order written.

    >>> laid = Note(kind="laid", at_s=1_781_000_000, timezone="UTC", ticket="7", way="line_shade")
    >>> said = {"kind": "curl", "timezone": "UTC", "ticket": "7", "height_m": 0.012}
    >>> (curl,) = noted_curls([laid, Note(at_s=1_781_090_000, **said)], "default")
    >>> curl.lift_m, curl.way, curl.humidity_frac
    (0.012, 'line_shade', None)
    """
    return tuple(
        _with_its_day(note, notes)
        for note in notes
        if note.kind in ("curl", "flat") and note.paper in (paper, "default")
    )


def _with_its_day(curl: Note, notes: Sequence[Note]) -> NotedCurl:
    def last(kind: str, moment: float, back_s: float) -> Note | None:
        found = [n for n in notes if n.kind == kind and 0 <= moment - n.at_s <= back_s]
        if kind == "laid":
            found = [n for n in found if (n.ticket, n.paper) == (curl.ticket, curl.paper)]
        return max(found, key=lambda n: n.at_s, default=None)

    sky = last("sky", curl.at_s, 3600.0)
    humidity = curl.humidity_frac
    if humidity is None and sky is not None:
        humidity = sky.humidity_frac
    laid = last("laid", curl.at_s, LONGEST_S)
    plate = laid and last("plate", laid.at_s + 3600.0, 7200.0)
    return NotedCurl(
        lift_m=curl.height_m,
        humidity_frac=humidity,
        way=None if laid is None else laid.way or "sun_plate",
        plate_k=plate.temp_k if plate else None,
    )
