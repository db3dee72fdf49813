"""What the model says of every reading, and the errors that a reading may have beside it.

Sets of unknowns are cases of the one simulation, so that a finite-difference Jacobian or a few
hundred draws cost one run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from drybox.arrays import Array, Index
from drybox.inputs.notes.fits import OWN
from drybox.planning.calibration.cases import SHIFTED, NotedBlock, Sets
from drybox.planning.calibration.fit import Linear
from drybox.planning.calibration.measured import NotedData, NotedDay, Reading
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.sun_minutes import told_sun
from drybox.tables import load_table

STEP_SD = 0.05
"""Of the finite differences, in standard deviations of the prior. [-]"""

SKIES = 32
"""Draws of sun and shade on a day of broken cloud."""

BROKEN = 0.1
"""A sky counts as broken where this share of the time is neither sunny nor closed. [-]"""

DAYS_TOGETHER, DAYS_KEPT = 32, 64
"""Days that are simulated together; and up to how many the drawn weather of all is kept (some 4 MB
a day): of more it is drawn again when it is wanted again. [-]"""

PRINT_SPREADS = ("water_log", "contact_log", "resistance_log", "absorptance")
"""What one print differs by from the next: rows of table ``spreads``."""


class NotedModel:
    """The readings of some days as the simulation gives them."""

    def __init__(self, data: NotedData, seed: int = 1) -> None:
        self.data = data
        self.spread = {name: load_table("spreads")["own"][name].value for name in OWN}
        self.skies = SKIES if any(_broken(day) for day in data.days) else 0
        self._columns = data.columns_by_day()
        self._blocks = [
            NotedBlock(
                data,
                days,
                [k for day in days for k in self._columns[day]],
                skies=self.skies,
                seed=seed,
            )
            for days in _together(data)
        ]

    def predict(self, unknowns: Array) -> Array:
        """Return every reading for sets of unknowns, (sets, unknowns) to (sets, readings)."""
        return self._run(self._sets(unknowns))

    def _sets(self, unknowns: Array) -> Sets:
        own = {name: self.spread[name] * unknowns[:, k] for k, name in enumerate(OWN)}
        return Sets(own, np.zeros(unknowns.shape[0], dtype=np.intp), {})

    def _run(self, sets: Sets) -> Array:
        found = np.zeros((sets.size, len(self.data.readings)))
        for column, reading in enumerate(self.data.readings):
            if reading.kind == "water":
                found[:, column] = sets.own["water_log"] + sets.prints.get("water_log", 0.0)
        for block in self._blocks:
            block.fill(found, sets)
            if len(self.data.days) > DAYS_KEPT:
                block.forget_drawn()
        return found

    def linear(self, unknowns: Array, errors: Linear | None = None) -> Linear:
        """Return the readings near some unknowns, with their errors.

        At ``unknowns``, (unknowns,), with ``sd``, ``loadings`` and ``shift`` of ``errors`` if
        given.

        Effects shared by the readings of a day: air, humidity, wind, cloud and haze off by their
        spread (table ``spreads``), and the main patterns in which draws of sun and shade move
        them. Effects shared by the readings of one print: what it differs by from the next, its
        dry mass and its moment of laying on. A reading's own error: measuring, what differs from
        print to print where the print was read once, and what those patterns leave. The shift:
        what all these move a reading by on the average, by second differences, since less sun slows
        drying by more than as much more sun hastens it. All from one run.
        """
        n, variants = unknowns.size, SHIFTED + self.skies
        if errors is not None:
            near = self.predict(np.vstack([unknowns, unknowns + STEP_SD * np.eye(n)]))
            slopes = (near[1:] - near[0]).T / STEP_SD
            return replace(errors, predicted=near[0], slopes=slopes)
        cases = variants + 2 * len(PRINT_SPREADS) + n
        at, variant = np.tile(unknowns, (cases, 1)), np.zeros(cases, dtype=np.intp)
        at[-n:] += STEP_SD * np.eye(n)
        variant[:variants] = np.arange(variants)
        apart = {name: np.zeros(cases) for name in PRINT_SPREADS}
        table = load_table("spreads")["print"]
        for up, name in zip(range(variants, cases, 2), PRINT_SPREADS, strict=False):
            apart[name][up], apart[name][up + 1] = table[name].value, -table[name].value
        found = self._run(replace(self._sets(at), variant=variant, prints=apart))
        days, between = found[:variants], found[variants:-n]
        sd, loadings = self._errors(days, between)
        slopes = (found[-n:] - found[0]).T / STEP_SD
        return Linear(
            predicted=found[0],
            slopes=slopes,
            sd=sd,
            loadings=loadings,
            shift=self._shift(days, between),
        )

    def plate_curves(self, unknowns: Array) -> Iterator[tuple[int, Array, Array]]:
        """Give the plate of each day as told, for sets of unknowns.

        They are day, times [s since the Unix epoch] and plate temperatures (times, sets) [K] of
        days with a plate that was read or laid on.
        """
        for block in self._blocks:
            yield from block.plate_curves(self._sets(unknowns))

    def _shift(self, days: Array, prints: Array) -> Array:
        """Return what weather and print move each reading by on the average."""
        told = days[0]
        shift = 0.5 * (days[1:SHIFTED] - told).sum(axis=0) + 0.5 * (prints - told).sum(axis=0)
        if self.skies:
            shift = shift + (days[SHIFTED:] - told).mean(axis=0)
        return np.asarray(shift)

    def _errors(self, days: Array, prints: Array) -> tuple[Array, Array]:
        """Return each reading's own error and its loadings by the effects of its day."""
        between = 0.5 * (prints[::2] - prints[1::2])
        sd = np.zeros(len(self.data.readings))
        loadings: list[tuple[Index, Array]] = []
        for rows in (np.array(each, dtype=np.intp) for each in self._columns if each):
            readings = [self.data.readings[row] for row in rows]
            sd[rows], shared = _day_errors(readings, days[:, rows], between[:, rows])
            loadings.append((rows, shared))
        found = np.zeros((sd.size, max((shared.shape[1] for _, shared in loadings), default=0)))
        for rows, shared in loadings:
            found[rows, : shared.shape[1]] = shared
        return sd, found


def _day_errors(readings: Sequence[Reading], days: Array, between: Array) -> tuple[Array, Array]:
    """Return own errors of one day's readings, (k,), and loadings by effects, (k, effects)."""
    shifts = 0.5 * (days[1:SHIFTED:2] - days[2:SHIFTED:2])
    sheets = np.array([reading.sheets for reading in readings])
    variance = np.array([reading.sd for reading in readings]) ** 2
    columns = []
    for effect in (*between, *_common(readings)):
        own, common = _by_sheet(effect / np.sqrt(sheets), readings)
        variance += own**2
        columns += common
    patterns, left = _patterns(days[SHIFTED:])
    sd = np.sqrt(variance + left)
    columns += [*shifts, *patterns]
    felt = [column for column in columns if np.abs(column / sd).max() > 0.05]
    return sd, np.stack(felt, axis=1) if felt else np.zeros((len(readings), 0))


def _by_sheet(effect: Array, readings: Sequence[Reading]) -> tuple[Array, list[Array]]:
    """Return an effect where its print was read once, and a row of it for each other print.

    Of one day's readings: prints differ, each alike in all its readings; a reading of several
    sheets stands alone. A ticket that is noted on another day again is another print.
    """
    own, common = np.array(effect), []
    sheets = np.array([reading.sheet for reading in readings])
    for sheet in np.unique(sheets[sheets != ""]):
        here = sheets == sheet
        if here.sum() > 1:
            common.append(np.where(here, effect, 0.0))
            own[here] = 0.0
    return own, common


def _common(readings: Sequence[Reading]) -> list[Array]:
    """Return each error that readings of a day share, as a row over them."""
    names = dict.fromkeys(name for reading in readings for name, _ in reading.shared)
    return [
        np.array([dict(reading.shared).get(name, 0.0) for reading in readings]) for name in names
    ]


def _patterns(drawn: Array) -> tuple[Array, Array]:
    """Return the main patterns of draws (patterns, readings), and the variance left out."""
    if drawn.shape[0] < 2:
        return np.zeros((0, drawn.shape[1])), np.zeros(drawn.shape[1])
    apart = (drawn - drawn.mean(axis=0)) / np.sqrt(drawn.shape[0] - 1)
    _, strength, rows = np.linalg.svd(apart, full_matrices=False)
    share = strength**2 / max(float((strength**2).sum()), 1e-300)
    main = (share > 0.05) & (strength > 1e-6)
    patterns = strength[main, None] * rows[main]
    return patterns, np.maximum((apart**2).sum(axis=0) - (patterns**2).sum(axis=0), 0.0)


def _together(data: NotedData) -> list[list[int]]:
    """Return the days in lots, each of one place."""
    places: dict[str, list[int]] = {}
    for number, day in enumerate(data.days):
        places.setdefault(day.event.place.name, []).append(number)
    return [
        days[first : first + DAYS_TOGETHER]
        for days in places.values()
        for first in range(0, len(days), DAYS_TOGETHER)
    ]


def _broken(day: NotedDay) -> bool:
    event = day.event
    told = conditions(
        event.weather, event.place, event.opens_at, end_at=event.closes_at, step_s=600.0
    )
    share = told_sun(told).share
    return bool(((share > 0.03) & (share < 0.97)).mean() > BROKEN)
