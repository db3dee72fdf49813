"""Box, hand, paper and place as one's own notes tell them, with what that does to a promise.

::

    notes ─▶ days and readings ─▶ model of every reading ─▶ robust fit with priors ─▶ kept fit
             measured             model                      fit
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtri

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.notes.fits import OWN, KeptFit
from drybox.inputs.notes.fitted_event import fit_basis
from drybox.inputs.notes.note import Note
from drybox.planning.calibration.fit import Fit, fit
from drybox.planning.calibration.measured import (
    NotedData,
    PassedOver,
    concerning,
    read_notes,
)
from drybox.planning.calibration.model import NotedModel
from drybox.planning.calibration.promise_keeping import PromisesKept, promises_kept
from drybox.planning.calibration.said import (
    Misfits,
    Parameter,
    Standing,
    misfits,
    parameters,
    standings,
)
from drybox.planning.calibration.shadow_lines import Outline, learn_outlines
from drybox.readable import Readable
from drybox.tables import load_table

LEAST_READINGS = 3
"""With fewer that differ, a slip of the pen would be believed. [-]"""


@dataclass(frozen=True, eq=False, repr=False)
class Calibration(Readable):
    """What the notes taught.

    ``too_little`` says why nothing was learned of box and paper; ``fit`` is then None unless a
    shadow taught something of the place.
    """

    box: str
    paper: str
    parameters: tuple[Parameter, ...]
    passed_over: tuple[PassedOver, ...]
    days: int
    days_without_weather: int
    notes_used: int
    promises: PromisesKept
    too_little: str
    fit: KeptFit | None = None
    standings: tuple[Standing, ...] = ()
    misfits: Misfits = field(default_factory=Misfits)
    effective_draws: float = 0.0
    model: NotedModel | None = None
    found: Fit | None = None


def calibrate(
    events: Sequence[Event], notes: Sequence[Note], *, now_at: float, seed: int = 1
) -> Calibration:
    """Return what the notes say of a box and a paper.

    The first event tells box, paper and place, further ones other places or days; all notes
    standing, in the order written; ``now_at`` is written into the fit. [s]

    Fitted: what `OWN` names, of box, hand, paper and the wind off the box (heat capacity is fixed
    by the plate's mass: with it free, only ratios could be told apart); heights of obstacles apart
    from those. A drying time alone leaves water, lift-off and critical moisture to each other; a
    print weighed while it dries tells them apart. A day's weather may be off by its spread.
    """
    own = events[0]
    about = concerning(notes, own.box.name, own.paper.name)
    data = _without_stuck(read_notes(about, events))
    outlines, odd = _outlines(data, own)
    data = replace(data, passed_over=(*data.passed_over, *odd))
    blank, keeping = _untaught(own, data, outlines, about=about, now_at=now_at)
    if blank.too_little:
        return replace(blank, fit=keeping if outlines else None)
    model = NotedModel(data, seed)
    value = np.array([reading.value for reading in data.readings])
    group = np.array([reading.day for reading in data.readings], dtype=np.intp)
    found = fit(model, value, group, start=np.zeros(len(OWN)), seed=seed)
    spread = np.array([model.spread[name] for name in OWN])
    draws = dict(zip(OWN, (found.draws * spread).T, strict=True))
    used = len(data.readings) + blank.notes_used
    ids = frozenset(reading.note.id for reading in data.readings)
    heights = blank.parameters[len(OWN) :]
    return replace(
        blank,
        parameters=(*parameters(own, draws), *heights),
        standings=standings(data, found),
        notes_used=used,
        effective_draws=found.effective_draws,
        fit=replace(keeping, notes_used=used, draws=draws, note_ids=ids),
        model=model,
        found=found,
        misfits=misfits(data, found),
    )


def _outlines(data: NotedData, own: Event) -> tuple[list[Outline], list[PassedOver]]:
    """Return what shadows taught of the first event's place, and the notes that taught nothing."""
    places = [(note, data.days[day].event.place.name) for note, day in data.shadows]
    here = [note for note, place in places if place == own.place.name]
    outlines, odd = learn_outlines(here, own.place)
    why = "it is about another place than that of the first event"
    return outlines, [*odd, *((note, why) for note, place in places if place != own.place.name)]


def _untaught(
    own: Event, data: NotedData, outlines: list[Outline], *, about: Sequence[Note], now_at: float
) -> tuple[Calibration, KeptFit]:
    """Return what stands before any fit of box and paper, and the fit as far as it goes."""
    taught = {reading.day for reading in data.readings}
    if outlines:
        taught |= {day for _, day in data.shadows}
    heights = tuple(
        Parameter(
            name=f"height of {one.obstacle.name}", unit="deg", before=one.before, after=one.after
        )
        for one in outlines
    )
    blank = Calibration(
        box=own.box.name,
        paper=own.paper.name,
        parameters=(*parameters(own, None), *heights),
        passed_over=data.passed_over,
        days=len(taught),
        days_without_weather=sum(not data.days[day].weather_noted for day in taught),
        notes_used=sum(one.notes for one in outlines),
        promises=promises_kept(about),
        too_little=_too_little(data),
    )
    keeping = KeptFit(
        box=own.box.name,
        paper=own.paper.name,
        made_s=int(now_at),
        timezone=own.place.timezone,
        notes_used=blank.notes_used,
        sessions=len(taught),
        draws=_prior_draws(),
        basis=fit_basis(own.box, own.paper),
        place=own.place.name if outlines else "",
        obstacles=tuple(one.obstacle for one in outlines),
    )
    return blank, keeping


def _prior_draws() -> dict[str, Array]:
    """Return draws that say nothing new: equal slices of each prior, in mixed order."""
    rng = np.random.default_rng(0)
    slices = (np.arange(200) + 0.5) / 200
    table = load_table("spreads")["own"]
    return {name: table[name].value * ndtri(rng.permutation(slices)) for name in OWN}


def _without_stuck(data: NotedData) -> NotedData:
    """Take out a thermometer that always says the same."""
    plate = [reading for reading in data.readings if reading.kind == "plate"]
    if len(plate) < LEAST_READINGS or len({reading.value for reading in plate}) > 1:
        return data
    why = "every plate reading is the same: is the thermometer stuck?"
    return replace(
        data,
        readings=tuple(reading for reading in data.readings if reading.kind != "plate"),
        passed_over=(*data.passed_over, *((reading.note, why) for reading in plate)),
    )


def _too_little(data: NotedData) -> str:
    """Return why nothing can be learned, or an empty text."""
    count = len(data.readings)
    different = len({(r.kind, r.value, r.way) for r in data.readings})
    if different >= LEAST_READINGS:
        return ""
    said = f"the {count} readings say only {different} different things"
    if count < LEAST_READINGS:
        said = "there is only 1 reading" if count == 1 else f"there are only {count} readings"
    if count == 0:
        said = "there is no reading of this box and paper to learn from"
    return f"{said}; it takes {LEAST_READINGS} that differ"
