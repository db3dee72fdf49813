"""Drawn days held to what plate, or air under a cover, read on the day itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.errors import NoAnswerError
from drybox.inputs.event import Event
from drybox.inputs.field_note_kinds import Note
from drybox.physics.drying_run import run_empty_box
from drybox.planning.conditions import STEP_S, Conditions, conditions
from drybox.planning.day_aim import aim_schedule
from drybox.planning.draws import Ensemble, draw
from drybox.planning.exposure import WARM_UP_S, plate_forcing
from drybox.planning.models import box_system
from drybox.tables import load_table

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

CANDIDATES = 8
"""Days drawn for each one wanted: those that agree with the readings are kept."""

PLATE_STEP_S = 120.0
"""Step of the empty plate: readings within 0.02 K of those at half of it. [s]"""

LEAST_SHARE = 0.03
"""How many of the drawn days must count, in effect, as a share of all: 48 of 1600 (judgement)."""

ERRORS = {"plate": "plate_temp", "air-in-box": "box_air_temp"}
"""The row ``noted`` of table ``spreads`` with the error of each kind of reading."""

ANY_READING_K = 100.0
"""What a slip may read is spread evenly over so much. [K]"""


@dataclass(frozen=True)
class Drawn:
    """Drawn days, and the day's readings that are more likely slips than what a box does."""

    ensemble: Ensemble
    doubted: tuple[Note, ...] = ()


def draw_seen(event: Event, day: Conditions, members: int, seed: int) -> Drawn:
    """Return `draws.draw`, held to the readings of the day (`Event.seen`).

    Parameters
    ----------
    event : Event
        Its weather, its fit, and what was read on it.
    day : Conditions
        As told, (times,).
    members, seed : int
        As in `draws.draw`.

    Returns
    -------
    Drawn
        Without readings just what `draws.draw` gives.
    """
    kind, fit = event.weather.kind, event.fit
    if not event.seen:
        return Drawn(draw(day, kind, members, seed, fit))
    start, end = float(day.time_s[0]), float(day.time_s[-1])
    first = min(start, event.seen[0].at_s - WARM_UP_S)
    before = int(np.ceil((start - first) / STEP_S))
    longer = conditions(event.weather, event.place, start - before * STEP_S, end)
    wide = draw(longer, kind, CANDIDATES * members, seed, fit)
    rows, doubted = rows_seen(event, wide, members, seed)
    return Drawn(wide.of_members(rows).of_times(slice(before, None)), doubted)


def rows_seen(
    event: Event, wide: Ensemble, members: int, seed: int
) -> tuple[Rows, tuple[Note, ...]]:
    """Return as many members that agree with the day's readings, and readings doubted.

    Parameters
    ----------
    event : Event
        Its box, its aim and what was read on it.
    wide : Ensemble
        `CANDIDATES` times as many, over times that hold the readings; others do not count.
    members, seed : int
        How many, and in which order.
    """
    day = wide.conditions
    notes = [note for note in event.seen if day.time_s[0] <= note.at_s <= day.time_s[-1]]
    drawn_k = _drawn_k(event, wide, notes)
    if drawn_k is None:
        return np.arange(members), ()
    read_k = np.array([note.temp_k for note in notes])
    noted = load_table("spreads")["noted"]
    error_k = np.array([noted[ERRORS[note.kind]].value for note in notes])
    fit = event.fit
    in_fit = np.array([fit is not None and note.written_s <= fit.made_s for note in notes])
    own = np.broadcast_to(wide.prints.plate_absorptance_shift, wide.members)
    share, slip = agreement(drawn_k, read_k, error_k, in_fit, own)
    doubted = tuple(note for note, doubt in zip(notes, slip, strict=True) if doubt > 0.5)
    return chosen_rows(share, own, members, seed), doubted


def agreement(
    drawn_k: Array, read_k: Array, error_k: Array, in_fit: NDArray[np.bool_], own: Array
) -> tuple[Array, Array]:
    """Return how much each drawn day counts, and how likely each reading is a slip.

    Parameters
    ----------
    drawn_k : array
        What the drawn days would read, (readings, members). [K]
    read_k, error_k : array
        What was read, and the standard deviation of its error, (readings,). [K]
    in_fit : array of bool
        Whether the fit behind ``own`` already rests on the reading, (readings,).
    own : array
        A value of one's own that tells the fit's draws apart, (members,).

    Returns
    -------
    share, slip_frac : array
        (members,), adding up to 1, and (readings,).

    Notes
    -----
    A reading is right with a normal error, or a slip (``noted/slip`` of table ``spreads``) that may
    read anything. A reading that the fit knows has had its say on the
    box: it weighs only the weathers drawn with the same box against each other,
    ``p(box, weather | read) = p(box | read) p(weather | box, read)``.

    Readings are no independent witnesses without end, since the model errs as well: where they
    leave less than `LEAST_SHARE` of the days' worth, the likelihood counts with a power below 1.

    Examples
    --------
    >>> plate, error, new = np.array([[320.0, 326.0]]), np.array([1.5]), np.array([False])
    >>> share, slip = agreement(plate, np.array([320.5]), error, new, np.array([0.0, 0.01]))
    >>> share.round(3).tolist(), slip.round(3).tolist()
    ([0.997, 0.003], [0.004])
    >>> share, slip = agreement(plate, np.array([390.0]), error, new, np.array([0.0, 0.01]))
    >>> share.round(3).tolist(), slip.round(3).tolist()
    ([0.5, 0.5], [1.0])
    """
    slip, sd = load_table("spreads")["noted"]["slip"].value, error_k[:, None]
    off = (read_k[:, None] - drawn_k) / sd
    right = (1 - slip) * np.exp(-0.5 * off**2) / (sd * np.sqrt(2 * np.pi))
    likely = np.log(right + slip / ANY_READING_K)
    fresh, known = likely[~in_fit].sum(axis=0), likely[in_fit].sum(axis=0)
    _, box = np.unique(own, return_inverse=True)
    best = np.full(box.max() + 1, -np.inf)
    np.maximum.at(best, box, known)
    power, share = 1.0, np.zeros(own.size)
    while True:
        weather = np.exp(power * (known - best[box]))
        weight = weather * (np.bincount(box) / np.bincount(box, weather))[box]
        weight = weight * np.exp(power * (fresh - fresh.max()))
        share = weight / weight.sum()
        if LEAST_SHARE * own.size * (share**2).sum() <= 1.0:
            break
        power *= 0.7
    slips = slip / ANY_READING_K / np.exp(likely)
    return share, np.asarray(slips @ share)


def chosen_rows(share: Array, own: Array, members: int, seed: int) -> Rows:
    """Return members in proportion to their share, boxes as evenly as can be, in mixed order."""
    order = np.argsort(own, kind="stable")
    steps = (np.arange(members) + 0.5) / members
    found = order[np.searchsorted(np.cumsum(share[order]), steps).clip(0, share.size - 1)]
    return np.asarray(np.random.default_rng([seed, 2]).permutation(found))


def _drawn_k(event: Event, wide: Ensemble, notes: Sequence[Note]) -> Array | None:
    """Return what each member's empty box would read each time, (readings, members)."""
    if not notes:
        return None
    time_s = wide.conditions.time_s
    out = max(float(time_s[0]), notes[0].at_s - WARM_UP_S)
    out = float(time_s[np.searchsorted(time_s, out)])
    first, last = np.searchsorted(time_s, [out, notes[-1].at_s + 2 * PLATE_STEP_S])
    near = wide.of_times(slice(int(first), int(last)))
    try:
        bearing, tilt, _ = aim_schedule(event, near.conditions, event.opens_s, event.closes_s)
    except NoAnswerError:
        return None
    forcing = plate_forcing(near, event.place, event.box, bearing, tilt)
    elapsed, plate_k, air_k = run_empty_box(
        box_system(event.box, event.paper, near.prints),
        forcing,
        np.arange(wide.members),
        np.full(wide.members, out),
        notes[-1].at_s - out + PLATE_STEP_S,
        PLATE_STEP_S,
    )
    at = np.array([note.at_s - out for note in notes]) / PLATE_STEP_S
    left = np.minimum(at.astype(np.intp), elapsed.size - 2)
    part = (at - left)[:, None]
    on_plate = np.array([note.kind == "plate" for note in notes])[:, None]
    before, after = (np.where(on_plate, plate_k[at], air_k[at]) for at in (left, left + 1))
    return np.asarray((1 - part) * before + part * after)
