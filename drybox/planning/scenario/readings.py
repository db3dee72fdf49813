"""Drawn days conditioned on what plate, or air under a cover, read on the day itself.

::

    boxes under the weather told ┐
                                 ├▶ what every box would read in every weather ─▶ pairs that agree
    the middle box in weathers   ┘
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from drybox.arrays import AimDeg, Array, Flags, Index
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.notes.day_notes import sun_gone_spans, under_unknown_sun
from drybox.inputs.notes.note import Note
from drybox.physics.lookup import between_steps_k
from drybox.physics.simulation.run import run_empty
from drybox.planning.aim.schedule import aim_schedule
from drybox.planning.scenario.conditions import STEP_S, Conditions, conditions
from drybox.planning.scenario.models import box_system
from drybox.planning.scenario.outside import box_out_s, plate_forcing
from drybox.planning.scenario.samples import Ensemble, draw_on, nominal
from drybox.tables import load_table

CANDIDATES = 800
"""Boxes, and weathers, drawn to choose from, unless more members are wanted; each box may go with
each weather."""

PLATE_STEP_S = 120.0
"""Step of the empty plate: readings within 0.02 K of those at half of it. [s]"""

LEAST_APART = 60
"""How many boxes, and how many weathers, must count in effect (judgement), or a quarter of few."""

MOST_READINGS = 40
"""Of more, as many evenly spaced ones are taken."""

LEAST_RISE_K = 2.0
"""A box that rises less over the air as told shifts what a weather reads instead of scaling it."""

ERRORS = {"plate": "plate_temp", "air-in-box": "box_air_temp"}
"""The row ``noted`` of table ``spreads`` with the error of each kind of reading."""

ANY_READING_K = 100.0
"""What an outlier may read is spread evenly over so much (judgement). [K]"""


@dataclass(frozen=True)
class Readings:
    """Readings that drawn days are conditioned on, and those more likely outliers.

    ``rise_frac`` is the plate's rise over the air in the days kept, over that as told: the median
    at the last reading.
    """

    used: tuple[Note, ...] = ()
    outliers: tuple[Note, ...] = ()
    out_at: float = 0.0
    rise_frac: float = 1.0


@dataclass(frozen=True)
class Drawn:
    """Drawn days, and the readings they are conditioned on."""

    ensemble: Ensemble
    readings: Readings = field(default_factory=Readings)


class Pairs(NamedTuple):
    """Which box goes with which weather, (members,) each, and the readings behind it."""

    boxes: Index
    weathers: Index
    readings: Readings


def draw_seen(event: Event, day: Conditions, members: int, *, seed: int) -> Drawn:
    """Return `samples.draw`, conditioned on the readings of the day (`Event.seen`).

    ``day`` is as told, (times,). Without readings in its hours just what `samples.draw` gives.
    """
    start, end = float(day.time_at[0]), float(day.time_at[-1])
    if usable(event, end):
        before = max(int(np.ceil((start - box_out_s(event)) / STEP_S)), 0)
        longer = conditions(event.weather, event.place, start - before * STEP_S, end_at=end)
        wide = draw_on(event, longer, candidates(members), seed=seed)
        pairs = pairs_seen(event, longer, wide, members=members, seed=seed)
        if pairs is not None:
            found = wide.of_members(pairs.boxes, pairs.weathers)
            return Drawn(found.of_times(slice(before, None)), pairs.readings)
    return Drawn(draw_on(event, day, members, seed=seed))


def candidates(members: int) -> int:
    """Return how many boxes and weathers to draw."""
    return max(CANDIDATES, members)


def usable(event: Event, until_at: float) -> list[Note]:
    """Return the readings from setting out to a time, thinned where there are very many.

    What was read while the sun was noted gone tells of a sun that nobody knows: it is left out.
    """
    gone = sun_gone_spans(event.noted)
    notes = [
        note
        for note in event.seen
        if box_out_s(event) < note.at_s <= until_at and not under_unknown_sun(gone, note.at_s)
    ]
    if len(notes) > MOST_READINGS:
        every = np.linspace(0, len(notes) - 1, MOST_READINGS).round().astype(int)
        notes = [notes[k] for k in every]
    return notes


def pairs_seen(
    event: Event, told: Conditions, wide: Ensemble, *, members: int, seed: int
) -> Pairs | None:
    """Return boxes and weathers that agree with what `usable` finds; None without daylight.

    ``told`` is from setting out on, ``wide`` drawn around it, as many as `candidates` says.

    The box is out since `box_out_s`, aimed as the event says. What box i reads
    in weather j is taken as ``air_j + rise_j rise_i / rise_0``: the middle box's rise over the air
    in that weather, times the box's own rise under the weather told over the middle box's. Of 800
    boxes and 800 weathers that gives 640 000 days from 1600 runs.
    """
    notes = usable(event, float(told.time_at[-1]))
    try:
        aim, _ = aim_schedule(event, told, event.aimed_from_s, until_at=event.closes_at)
    except NoAnswerError:  # no daylight
        return None
    middle = nominal(told, event.fit)
    shelter = np.repeat(middle.shelter_factor, wide.members)
    weathers = runs(event, Ensemble(wide.conditions, middle.prints, shelter), notes, aim_deg=aim)
    own = Ensemble(middle.conditions, wide.prints, wide.shelter_factor)
    boxes, usual = runs(event, own, notes, aim_deg=aim), runs(event, middle, notes, aim_deg=aim)
    days_k = [
        days_read_k(
            boxes.read_k[k],
            weathers.read_k[k],
            weathers.air_k[k],
            usual_k=usual.read_k[k, 0],
            usual_air_k=usual.air_k[k, 0],
        )
        for k in range(len(notes))
    ]
    noted = load_table("spreads")["noted"]
    known = frozenset() if event.fit is None else event.fit.note_ids
    share, outlier = shares(
        days_k,
        np.array([note.temp_k for note in notes]),
        np.array([noted[ERRORS[note.kind]].value for note in notes]),
        in_fit=np.array([note.id in known for note in notes]),
    )
    box, weather = chosen(share, boxes.plate_k, weathers.plate_k, members=members, seed=seed)
    outliers = tuple(note for note, chance in zip(notes, outlier, strict=True) if chance > 0.5)
    used = tuple(note for note in notes if note not in outliers)
    frac = _rise_frac(boxes, weathers, usual, pairs=(box, weather)) if used else 1.0
    return Pairs(
        box,
        weather,
        Readings(used=used, outliers=outliers, out_at=box_out_s(event), rise_frac=frac),
    )


def _rise_frac(boxes: Runs, weathers: Runs, usual: Runs, *, pairs: tuple[Index, Index]) -> float:
    """Return the median of the plate's rise over the air at the last reading, over that as told."""
    box, weather = pairs
    usual_k, usual_air_k = float(usual.plate_k[0]), float(usual.air_k[-1, 0])
    air_k = weathers.air_k[-1]
    plate_k = days_read_k(
        boxes.plate_k, weathers.plate_k, air_k, usual_k=usual_k, usual_air_k=usual_air_k
    )
    if usual_k - usual_air_k < LEAST_RISE_K:
        return 1.0
    return float(np.median(plate_k[box, weather] - air_k[weather])) / (usual_k - usual_air_k)


def days_read_k(
    boxes_k: Array, weathers_k: Array, air_k: Array, *, usual_k: float, usual_air_k: float
) -> Array:
    """Return what every box would read in every weather.

    Boxes are those under the weather told, (boxes,); of each weather, (weathers,), the middle box
    and the air are given, and so they are under the weather told. The result is (boxes, weathers).
    [K]

    >>> usual = {"usual_k": 320.0, "usual_air_k": 295.0}
    >>> days_read_k(np.array([320.0, 330.0]), np.array([300.0]), np.array([290.0]), **usual)
    array([[300.],
           [304.]])

    In the dark, with nothing to scale:

    >>> dark = {"usual_k": 295.0, "usual_air_k": 295.0}
    >>> days_read_k(np.array([295.5]), np.array([300.0]), np.array([299.0]), **dark)
    array([[300.5]])
    """
    usual_rise_k = usual_k - usual_air_k
    if abs(usual_rise_k) < LEAST_RISE_K:
        return np.asarray(weathers_k + (boxes_k - usual_k)[:, None])
    own = (boxes_k - usual_air_k) / usual_rise_k
    return np.asarray(air_k + own[:, None] * (weathers_k - air_k))


def shares(
    days_k: Sequence[Array], read_k: Array, error_k: Array, *, in_fit: Flags
) -> tuple[Array, Array]:
    """Return how much each box in each weather counts, and how likely each reading is an outlier.

    For each reading ``days_k`` is what every box would read in every weather, (boxes, weathers)
    [K], ``read_k`` and ``error_k`` what was read and the standard deviation of its error [K],
    ``in_fit`` whether the fit that the boxes were drawn from rests on it. The shares, (boxes,
    weathers), add up to 1.

    A reading is right with a normal error, or an outlier (``noted/outlier`` of table ``spreads``),
    which may read anything. A reading that the fit knows has had its say on the box: it weighs only
    the weathers of each box against each other, ``p(box, weather | read) = p(box | read) p(weather
    | box, read)``. Readings are no independent witnesses without end, since the model errs as well:
    where they leave fewer boxes or weathers than `LEAST_APART`, the likelihood counts with a power
    below 1.

    >>> day, error, new = np.array([[320.0, 326.0]]), np.array([1.5]), {"in_fit": np.array([False])}
    >>> share, outlier = shares([day], np.array([320.5]), error, **new)
    >>> share.round(3).tolist(), outlier.round(3).tolist()
    ([[0.997, 0.003]], [0.004])
    >>> share, outlier = shares([day], np.array([390.0]), error, **new)
    >>> share.round(3).tolist(), outlier.round(3).tolist()
    ([[0.5, 0.5]], [1.0])
    """
    outlier = load_table("spreads")["noted"]["outlier"].value

    def likely(k: int) -> Array:
        off = (read_k[k] - days_k[k]) / error_k[k]
        right = (1 - outlier) * np.exp(-0.5 * off**2) / (error_k[k] * np.sqrt(2 * np.pi))
        return np.asarray(np.log(right + outlier / ANY_READING_K))

    known, fresh = (np.zeros(days_k[0].shape) for _ in range(2))
    for k, of_fit in enumerate(in_fit):
        (known if of_fit else fresh)[...] += likely(k)
    known -= known.max(axis=1, keepdims=True)
    fresh -= fresh.max()
    power = 1.0
    fewest = np.minimum(LEAST_APART, np.array(known.shape) / 4)
    while True:
        share = np.exp(power * known)
        share = share / share.sum(axis=1, keepdims=True) * np.exp(power * fresh)
        share = share / share.sum()
        apart = [1 / (share.sum(axis=axis) ** 2).sum() for axis in (1, 0)]
        if apart[0] >= fewest[0] and apart[1] >= fewest[1]:
            break
        power *= 0.7
    outliers_frac = [
        outlier / ANY_READING_K * (share / np.exp(likely(k))).sum() for k in range(read_k.size)
    ]
    return share, np.array(outliers_frac)


def chosen(
    share: Array, boxes_k: Array, weathers_k: Array, *, members: int, seed: int
) -> tuple[Index, Index]:
    """Return boxes and weathers in proportion to the share of each pair, in mixed order.

    They are evenly spread along what tells them apart, (boxes,) and (weathers,); ``share`` is
    (boxes, weathers). [K]
    """
    rng = np.random.default_rng([seed, 2])
    box, weather = np.argsort(boxes_k), np.argsort(weathers_k)
    steps = (np.arange(members) + rng.random(members)) / members
    found = np.searchsorted(np.cumsum(share[np.ix_(box, weather)]), steps).clip(0, share.size - 1)
    found = rng.permutation(found)
    return box[found // share.shape[1]], weather[found % share.shape[1]]


class Runs(NamedTuple):
    """What boxes read, and the air there, (readings, members), and the plate at the last."""

    read_k: Array
    air_k: Array
    plate_k: Array


def runs(event: Event, ensemble: Ensemble, notes: Sequence[Note], *, aim_deg: AimDeg) -> Runs:
    """Return what each member's empty box reads each time, aimed so."""
    day = ensemble.conditions
    first = int(np.searchsorted(day.time_at, box_out_s(event)))
    last = int(np.searchsorted(day.time_at, notes[-1].at_s + 2 * PLATE_STEP_S))
    near = ensemble.of_times(slice(first, last))
    out, n = float(near.conditions.time_at[0]), ensemble.members
    aim = aim_deg[0][first:last], aim_deg[1][first:last]
    _, plate_k, box_k = run_empty(
        box_system(event.box, event.paper, near.prints),
        plate_forcing(near, event.place, event.box, aim_deg=aim),
        np.arange(n),
        start_at=np.full(n, out),
        horizon_s=notes[-1].at_s - out + PLATE_STEP_S,
        step_s=PLATE_STEP_S,
    )
    after_s = np.array([note.at_s - out for note in notes])
    on_plate = np.array([note.kind == "plate" for note in notes])[:, None]
    columns = np.searchsorted(near.conditions.time_at, [note.at_s for note in notes])
    air_k = np.broadcast_to(near.conditions.air_temp_k, (n, near.conditions.time_at.size))
    plate, box = (between_steps_k(each, PLATE_STEP_S, after_s) for each in (plate_k, box_k))
    read_k = np.where(on_plate, plate, box)
    return Runs(read_k, air_k[:, columns].T, plate[-1])
