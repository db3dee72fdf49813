"""An event with what its photographer's own notes say of box, paper and place."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence
from dataclasses import fields, replace
from pathlib import Path

import numpy as np

from drybox import MODEL_VERSION
from drybox.errors import StoreError
from drybox.inputs.event.box import Box, Cover
from drybox.inputs.event.event import Event
from drybox.inputs.event.paper import Paper
from drybox.inputs.event.place import Place
from drybox.inputs.finish.curls import noted_curls
from drybox.inputs.notes.day_notes import with_day_notes
from drybox.inputs.notes.fits import MODEL, FitStore, KeptFit, differing
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore
from drybox.inputs.text.dates import parse_zone
from drybox.inputs.text.near_names import near_name
from drybox.inputs.text.settings import Resolved

_SHOWN = {
    "absorptance": "plate_absorptance_shift",
    "convection_log": "convection_factor",
    "shelter_log": "wind_shelter_factor",
    "back_log": "back_loss_factor",
    "water_log": "water_factor",
    "contact_log": "lifted_contact_factor",
    "flat_log": "flat_contact_factor",
    "lifts_log": "lifts_at_factor",
    "critical_log": "critical_moisture_factor",
    "resistance_log": "vapour_resistance_factor",
    "film_log": "print_film_factor",
    "line_log": "line_wind_factor",
    "line_film_log": "line_film_factor",
}
"""What is one's own, and how it is shown: of a logarithm its factor."""
_LEFT_OUT = (
    *("prop_distance_m", "aim_bearing_deg", "aim_tilt_deg", "width_m", "height_m"),
    *("most_tilt_deg", "mass_kg", "ballast_kg", "wind_area_m2"),
)

_UNIT = re.compile(r"_(1_[ms]|frac|[km]|kg_m[23]|j_kg_k|w_m2?_k|m2_s_pa_kg)$")


def fit_basis(box: Box, paper: Paper) -> dict[str, float]:
    """Return the values of box and paper that a fit is made around, by key, and whose model's.

    Names, aim, the size of the sheet and what holds the box in the wind are left out: a fit
    holds for any of them.
    """
    parts: list[tuple[str, Box | Paper | Cover]] = [("box", box), ("paper", paper)]
    if box.cover is not None:
        parts.append(("cover", box.cover))
    return {MODEL: float(MODEL_VERSION)} | {
        f"{name}.{item.name}": float(value)
        for name, part in parts
        for item in fields(part)
        if item.name not in _LEFT_OUT and isinstance(value := getattr(part, item.name), int | float)
    }


def fit_name(fit: KeptFit) -> str:
    """Return how a fit is spoken of.

    >>> draws = {name: np.zeros(1) for name in _SHOWN}
    >>> fit_name(KeptFit("default", "rag", 1_781_435_700, "UTC", 14, 3, draws))
    'fit of 2026-06-14, 14 notes'
    """
    day = datetime.datetime.fromtimestamp(fit.made_s, parse_zone(fit.timezone)).date()
    return f"fit of {day.isoformat()}, {fit.notes_used} note{'s'[: fit.notes_used != 1]}"


def use_fit(event: Event, fit: KeptFit | None, *, calibrated: bool = True) -> Event:
    """Return the event standing on a fit, and saying so.

    It stays as it was where the fit was made for a box or paper described otherwise, with a
    warning.
    """
    if fit is None:
        return event
    name = fit_name(fit)
    if not calibrated:
        left = f"Uncalibrated: the {name}, is left out."
        return replace(event, assumptions=(*event.assumptions, left))
    changed = differing(fit, fit_basis(event.box, event.paper))
    if changed:
        plain = (_UNIT.sub("", key).replace("_", " ").replace(".", " ") for key in changed[:3])
        covered = any(key.startswith("cover.") for key in changed)
        what = "cover" if covered else ", ".join(plain)
        why = (
            "this drybox reckons prints otherwise than the one that made it. 'drybox calibrate' "
            "with this event file makes it anew from the same notes."
            if MODEL in changed
            else f"it was made for another {what}. 'drybox calibrate' with this event file makes a "
            "new one."
        )
        warning = f"The {name}, is not used: {why}"
        return replace(event, warnings=(*event.warnings, warning))
    days = "1 day" if fit.sessions == 1 else f"{fit.sessions} days"
    said = (
        f"It stands on the {name} of {days}, for box '{fit.box}' and paper '{fit.paper}'; "
        "--uncalibrated leaves it out."
    )
    resolved = [
        Resolved(
            key=f"fit.{key}",
            value=float(np.median([math.exp(x) if log else x for x in fit.draws[own]])),
            unit="1" if log else "frac",
            source=name,
        )
        for own, key in _SHOWN.items()
        for log in [own.endswith("_log")]
    ]
    place, taught = _with_obstacles(event.place, fit, name)
    return replace(
        event,
        place=place,
        fit=fit,
        resolved=(*event.resolved, *resolved, *taught),
        assumptions=(said, *event.assumptions),
    )


def _with_obstacles(place: Place, fit: KeptFit, name: str) -> tuple[Place, list[Resolved]]:
    """Return the place with the obstacles that shadows taught, by their names."""
    if place.name != fit.place or not fit.obstacles:
        return place, []
    learnt = {obstacle.name: obstacle for obstacle in fit.obstacles}
    there = [learnt.pop(obstacle.name, obstacle) for obstacle in place.obstacles]
    obstacles = (*there, *learnt.values())
    resolved = [
        Resolved(
            key=f"place.obstacle.{obstacle.name}.{key}",
            value=getattr(obstacle, key),
            unit="deg",
            source=name,
        )
        for obstacle in fit.obstacles
        for key in ("elevation_deg", "bearing_from_deg", "bearing_to_deg")
    ]
    return replace(place, obstacles=obstacles), resolved


def with_kept_fit(event: Event, *, calibrated: bool = True, path: Path | None = None) -> Event:
    """Return the event standing on the fit kept for its box and paper and on its day's notes.

    Without ``calibrated`` fit and readings are left out, which is said. ``path`` is the notes'
    file, by default that of ``DRYBOX_NOTES`` or in the user's data folder; a StoreError says that
    it is there and cannot be read, with ``--uncalibrated`` as the way round it.
    """
    try:
        store = FitStore(path)
    except StoreError:  # no folder for notes is known, so there are none
        return event
    try:
        fits = store.all()
        kept = NoteStore(path)
        notes = kept.read() if kept.exists() else []
    except StoreError as fault:
        if not calibrated:
            return event
        mend = f"{fault.mend}; --uncalibrated does without".removeprefix("; ")
        raise StoreError(fault.what, fault.where, mend) from None
    if calibrated:
        event = replace(event, curled=noted_curls(notes, event.paper.name))
    own = (event.box.name, event.paper.name)
    fit = next((one for one in fits if (one.box, one.paper) == own), None)
    if fit is None and calibrated:
        event = _with_near_fit(event, fits)
    event = with_day_notes(use_fit(event, fit, calibrated=calibrated), notes)
    return use_readings(event, notes, calibrated=calibrated)


def _with_near_fit(event: Event, fits: Sequence[KeptFit]) -> Event:
    """Return the event, warned where a fit is kept under nearly its box's or paper's name."""
    found = []
    for kind, name in (("box", event.box.name), ("paper", event.paper.name)):
        near = near_name(name, [getattr(one, kind) for one in fits])
        if near:
            found.append(
                f"No fit is kept for {kind} '{name}', but one is for '{near}': if they are the "
                f"same, write that name into the event file's [{kind}]."
            )
    return replace(event, warnings=(*event.warnings, *found))


def use_readings(event: Event, notes: Sequence[Note], *, calibrated: bool = True) -> Event:
    """Return the event with what was read on its plate, or under its cover, on its day.

    What was made of the readings is said by the answers that they enter.
    """
    kinds = ("plate",) if event.box.cover is None else ("plate", "air-in-box")
    found = [
        note
        for note in sorted(notes, key=lambda note: note.at_s)
        if note.kind in kinds
        and event.day_start_at <= note.at_s < event.day_end_at
        and note.box in (event.box.name, "default")
        and note.place in (event.place.name, "default")
    ]
    seen = {(note.kind, note.at_s // 60, note.temp_k): note for note in found}.values()
    if not seen:
        return event
    if not calibrated:
        left = "Uncalibrated: what was read that day of the box is left out."
        return replace(event, assumptions=(*event.assumptions, left))
    return replace(event, seen=tuple(seen))
