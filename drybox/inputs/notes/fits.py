"""Fits of box and paper to the field notes, kept in the notes' own file.

A fit is never changed or deleted: the newest row of a box and paper counts, and an empty one
says that none does. A reader of a file without fits finds none.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from drybox import MODEL_VERSION
from drybox.arrays import Array
from drybox.errors import DryboxError, InputError
from drybox.inputs.event.place import Obstacle
from drybox.inputs.notes.database import NoteFile
from drybox.inputs.notes.note import clean_text
from drybox.inputs.notes.store import notes_path

OWN = (
    *("absorptance", "convection_log", "shelter_log", "back_log", "water_log", "contact_log"),
    *("flat_log", "lifts_log", "critical_log", "resistance_log", "film_log", "line_log"),
    "line_film_log",
)
"""What is one's own: shift of the plate's absorptance, and logarithms of factors on forced
convection, wind at the plate, loss of its back, water left on a print, conductance of the lifted
and of the flat sheet, the water at which it lifts, critical moisture, falling-rate resistance, the
print's vapour film, and wind at and film of a print dried off the box."""

DIGITS = 6  # of a kept draw
MODEL = "drybox.model"
"""Key of a fit's basis: the model that it was made with."""


@dataclass(frozen=True, eq=False)
class KeptFit:
    """What notes said of one box and paper.

    ``timezone`` is that of the day shown. It rests on ``notes_used`` notes of ``sessions`` days,
    the readings among them by ``note_ids``. ``draws`` are equally likely values of each of `OWN`,
    in step; ``basis`` is the box and paper that it was fitted around, since it stands for no other.
    ``obstacles`` are what the shadows noted made of those of ``place``, empty for none. The store
    gives the ``id``.
    """

    box: str
    paper: str
    made_s: int
    timezone: str
    notes_used: int
    sessions: int
    draws: Mapping[str, Array] = field(repr=False)
    basis: Mapping[str, float] = field(default_factory=dict, repr=False)
    place: str = ""
    obstacles: tuple[Obstacle, ...] = ()
    note_ids: frozenset[str] = frozenset()
    id: str = ""

    def __post_init__(self) -> None:
        if set(self.draws) != set(OWN):
            raise InputError("a fit has other quantities than this drybox knows")
        sizes = {np.shape(draws) for draws in self.draws.values()}
        if len(sizes) != 1 or min(sizes) < (1,):
            raise InputError("a fit's draws are not in step")
        if not all(np.isfinite(draws).all() for draws in self.draws.values()):
            raise InputError("a fit has a draw that is no number")


class FitStore:
    """The fits in the file of the field notes.

    Without a path it is that of ``DRYBOX_NOTES``, or in the user's data folder.

    >>> import tempfile
    >>> from drybox.inputs.notes.store import Note, NoteStore
    >>> folder = tempfile.TemporaryDirectory()
    >>> path = Path(folder.name) / "notes.sqlite"
    >>> reading = Note(kind="plate", at_s=1_781_000_000, timezone="UTC", temp_k=319.15)
    >>> _ = NoteStore(path).add([reading])
    >>> draws = {name: np.zeros(4) for name in OWN}
    >>> kept = FitStore(path).keep(KeptFit("default", "rag", 1_781_000_000, "UTC", 9, 2, draws))
    >>> FitStore(path).latest("default", "rag").notes_used, FitStore(path).latest("bin", "rag")
    (9, None)
    >>> FitStore(path).forget("default", "rag", 1_781_000_000), len(FitStore(path).all())
    (True, 0)
    >>> folder.cleanup()
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path, self.named = notes_path(path)
        self._file = NoteFile(self.path, self.named)

    def all(self) -> list[KeptFit]:
        """Return the fit in force of every box and paper."""
        if not self._file.exists():
            return []
        with self._file.reading() as connection:
            if self._file.version(connection) < 2:
                return []
            rows = connection.execute(
                "SELECT box, paper, id, made_s, body FROM fit ORDER BY seq"
            ).fetchall()
        newest = {row[:2]: row for row in rows}
        return [
            self._unpacked(box, paper, fit_id, made_s=made_s, body=body)
            for box, paper, fit_id, made_s, body in newest.values()
            if body != ""
        ]

    def latest(self, box: str, paper: str) -> KeptFit | None:
        """Return the fit in force of a box and paper, or None."""
        return next((fit for fit in self.all() if (fit.box, fit.paper) == (box, paper)), None)

    def keep(self, fit: KeptFit) -> KeptFit:
        """Keep a fit; from then on it is the one in force for its box and paper.

        What fails leaves the file as it was.
        """
        self._insert(fit.box, fit.paper, fit.made_s, body=_packed(fit))
        kept = self.latest(fit.box, fit.paper)
        assert kept is not None
        return kept

    def forget(self, box: str, paper: str, now_at: float) -> bool:
        """Let no fit be in force for a box and paper; tell whether one was."""
        if self.latest(box, paper) is None:
            return False
        self._insert(box, paper, int(now_at), body="")
        return True

    def _insert(self, box: str, paper: str, made_s: int, *, body: str) -> None:
        names = clean_text(box, "box"), clean_text(paper, "paper")
        with self._file.writing() as connection:
            connection.execute(
                "INSERT INTO fit (id, made_s, box, paper, body) VALUES (?, ?, ?, ?, ?)",
                [os.urandom(6).hex(), int(made_s), *names, body],
            )

    def _unpacked(self, box: str, paper: str, fit_id: str, *, made_s: int, body: str) -> KeptFit:
        try:
            said = json.loads(body)
            basis = {str(name): float(value) for name, value in said["basis"].items()}
            return KeptFit(
                box=box,
                paper=paper,
                made_s=int(made_s),
                timezone=str(said["timezone"]),
                notes_used=int(said["notes_used"]),
                sessions=int(said["sessions"]),
                draws=_unpacked_draws(said["draws"], basis.get(MODEL) == MODEL_VERSION),
                basis=basis,
                place=str(said["place"]),
                obstacles=tuple(Obstacle(**obstacle) for obstacle in said["obstacles"]),
                note_ids=frozenset(str(note) for note in said.get("note_ids", ())),
                id=fit_id,
            )
        except (DryboxError, ValueError, TypeError, KeyError, AttributeError) as fault:
            raise self._file.damaged(f"fit {fit_id}: {fault}") from None


def _unpacked_draws(said: Mapping[str, Sequence[float]], whole: bool) -> dict[str, Array]:
    """Return draws of each of `OWN`; a fit of another model, used by nobody, may lack some."""
    size = len(next(iter(said.values())))
    return {
        name: np.array(said[name] if whole else said.get(name, np.zeros(size)), dtype=float)
        for name in OWN
    }


def _packed(fit: KeptFit) -> str:
    said: dict[str, Any] = {
        "timezone": fit.timezone,
        "notes_used": fit.notes_used,
        "sessions": fit.sessions,
        "place": fit.place,
        "draws": {name: [round(float(x), DIGITS) for x in fit.draws[name]] for name in OWN},
        "basis": dict(fit.basis),
        "note_ids": sorted(fit.note_ids),
        "obstacles": [asdict(obstacle) for obstacle in fit.obstacles],
    }
    return json.dumps(said, allow_nan=False, ensure_ascii=False)


def differing(fit: KeptFit, basis: Mapping[str, float]) -> Sequence[str]:
    """Return which of a box's and paper's values are not those the fit was made around.

    >>> draws = {name: np.zeros(1) for name in OWN}
    >>> fit = KeptFit("default", "rag", 0, "UTC", 3, 1, draws, {"box.wall_depth_m": 0.06})
    >>> differing(fit, {"box.wall_depth_m": 0.06}), differing(fit, {"box.wall_depth_m": 0.1})
    ([], ['box.wall_depth_m'])
    """
    names = sorted({*fit.basis, *basis})
    return [
        name
        for name in names
        if name not in basis
        or name not in fit.basis
        or abs(basis[name] - fit.basis[name]) > 1e-9 * max(abs(basis[name]), 1e-12)
    ]
