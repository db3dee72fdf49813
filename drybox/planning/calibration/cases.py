"""Readings of the days at one place, run as cases of the one simulation.

Days lie side by side on a clock of their own that starts at 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from drybox.arrays import AimDeg, Array, Index
from drybox.errors import NoAnswerError
from drybox.physics.lookup import between_steps_k
from drybox.physics.simulation.drying_times import drying_times_s, water_left_kg_m2
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.simulation.step import step_ends_s
from drybox.planning.aim.schedule import aim_at, aim_schedule
from drybox.planning.calibration.measured import NotedData, NotedDay, Reading
from drybox.planning.scenario.conditions import STEP_S, Conditions, conditions
from drybox.planning.scenario.models import PrintDraw, box_system, dry_targets, free_sheet_system
from drybox.planning.scenario.outside import WARM_UP_S, box_out_s, plate_forcing, sheet_forcing
from drybox.planning.scenario.samples import SHIFTS, DrawnSun, Ensemble, shifted_day
from drybox.planning.scenario.sun_minutes import rows_of, shifted_share, sun_as_told, told_sun
from drybox.tables import look_up

PLATE_STEP_S, PRINT_STEP_GROWTH = 240.0, 0.1
"""Steps of the empty plate, and how much longer each step of a print than the last. Against steps
of 30 s and 1 %: plate readings within 0.02 K, drying times within 1 % (root mean square 0.5 %)."""

FOLLOW_FACTOR, FOLLOW_LEAST_S = 2.5, 3600.0
"""A print is followed this many times as long as it took, and this long at least."""

SHIFTED = 1 + 2 * len(SHIFTS)
"""Variants of a day before its drawn skies: as told, and off by each shift up and down."""


@dataclass(frozen=True, eq=False)
class CaseForcing(Forcing):
    """A table whose wind is the open wind, read by case: its row, and its share of the wind."""

    row: Index
    wind_frac: Array
    table: Forcing

    @classmethod
    def of_cases(cls, table: Forcing, row: Index, wind_frac: Array) -> CaseForcing:
        """Return some cases of a table."""
        given = table.start_at, table.step_s, table.values, table.pressure_pa
        return cls(*given, row=row, wind_frac=wind_frac, table=table)

    def __post_init__(self) -> None:
        object.__setattr__(self, "instants", self.table.instants)  # checked and laid out already

    def at(self, member: Index, time_at: Array) -> Outside:
        """Return what acts at each case's time; ``member`` is the case."""
        there = super().at(self.row[member], time_at)
        return there._replace(wind_m_s=there.wind_m_s * self.wind_frac[member])


@dataclass(frozen=True, eq=False)
class Sets:
    """Sets of unknowns: one's own (sets,), the variant of each day, what one print differs by."""

    own: Mapping[str, Array]
    variant: Index
    prints: Mapping[str, Array]

    @property
    def size(self) -> int:
        """How many."""
        return int(self.variant.size)

    def draw(self, which: Index) -> PrintDraw:
        """Return the factors of cases by their sets."""
        logs = {
            name: np.asarray(value + self.prints.get(name, 0.0) * (name != "absorptance"))[which]
            for name, value in self.own.items()
        }
        zero = np.zeros(self.size)
        return PrintDraw.from_logs(logs, np.asarray(self.prints.get("absorptance", zero))[which])


class NotedBlock:
    """Some days of one place, and their readings in the columns of the whole.

    ``columns`` are those of the days' readings; ``skies`` are drawn for each day, after the
    `SHIFTED` variants.
    """

    def __init__(
        self, data: NotedData, days: Sequence[int], columns: Sequence[int], *, skies: int, seed: int
    ) -> None:
        self.numbers, self.skies, self.seed = list(days), skies, seed
        self.days = [data.days[number] for number in days]
        self.event = self.days[0].event
        self.columns = [k for k in columns if data.readings[k].kind != "water"]
        self.readings = [data.readings[k] for k in self.columns]
        self.day_of = np.array([days.index(reading.day) for reading in self.readings], dtype=int)
        self.starts = np.array([self._start(number) for number in range(len(self.days))])
        ends = [self._end(number) for number in range(len(self.days))]
        length = float(np.max(np.array(ends) - self.starts))
        self.told = [
            conditions(day.event.weather, day.event.place, start, end_at=start + length)
            for day, start in zip(self.days, self.starts, strict=True)
        ]
        self.ways = sorted({reading.way or "sun_plate" for reading in self.readings})
        self._aims = [_aim(*day) for day in zip(self.days, self.told, strict=True)]
        pairs = zip(self.told, self.days, strict=True)
        self._told = self._forcings(shifted_day(told, day.spread, {}) for told, day in pairs)
        self._drawn: dict[str, Forcing] = {}

    def _forcing(self, way: str, drawn: bool) -> Forcing:
        """Return the forcing of a way, of the days as told alone or with all that was drawn."""
        if drawn and not self._drawn:
            pairs = zip(self.told, self.days, strict=True)
            self._drawn = self._forcings(
                _variants(told, day, self.skies, seed=self.seed) for told, day in pairs
            )
        return (self._drawn if drawn else self._told)[way]

    def forget_drawn(self) -> None:
        """Let go of the drawn weather, by far the largest part; it is drawn the same again."""
        self._drawn = {}

    def _forcings(self, weather: Iterable[Conditions]) -> dict[str, Forcing]:
        """Return the forcing of each way, from each day's weather, whole or drawn."""
        found: dict[str, list[Forcing]] = {way: [] for way in self.ways}
        for number, day in enumerate(weather):  # one at a time: drawn weather is large
            for way, each in found.items():
                each.append(self._of_day(way, number, day))
        return {way: _side_by_side(each) for way, each in found.items()}

    def _readings_of(self, number: int) -> list[Reading]:
        return [
            reading
            for reading, day in zip(self.readings, self.day_of, strict=True)
            if day == number
        ]

    def _start(self, number: int) -> float:
        event = self.days[number].event
        times = [reading.laid_at or reading.note.at_s for reading in self._readings_of(number)]
        first = min(times, default=event.opens_at)
        begin, out = first - WARM_UP_S, box_out_s(event)
        if first > out:  # a plate read while it warms is one that has been out since then
            begin = max(begin, out)
        return float(np.floor(begin / STEP_S) * STEP_S)

    def _end(self, number: int) -> float:
        ends = [
            reading.laid_at + _follow_s([reading])
            if reading.kind == "drying"
            else reading.note.at_s
            for reading in self._readings_of(number)
        ]
        return float(max(ends, default=self.starts[number]) + 600.0)

    def _of_day(self, way: str, number: int, day: Conditions) -> Forcing:
        """Return the forcing of a day, rows by variant, under the open wind."""
        event, told = self.days[number].event, self.told[number]
        ones = np.ones(day.air_temp_k.shape[0])
        ensemble = Ensemble(day, PrintDraw(), ones)
        if way == "sun_plate":
            open_box = replace(event.box, wind_shelter_frac=1.0)
            return plate_forcing(ensemble, event.place, open_box, aim_deg=self._aims[number])
        ensemble = replace(ensemble, line_factor=ones / _wind_share(way))
        laid = [reading.laid_at for reading in self._readings_of(number) if reading.way == way]
        at = np.searchsorted(told.time_at, np.mean(laid) if laid else told.time_at[0])
        facing = float(told.sun.azimuth_deg[min(int(at), told.time_at.size - 1)])
        return sheet_forcing(ensemble, event.place, way, facing_deg=facing)

    def _cases(self, way: str, sets: Sets, which: Index, *, day: Index) -> CaseForcing:
        """Return the forcing of cases, each of a set and a day."""
        table = self._forcing(way, bool(sets.variant.any()))
        if way == "sun_plate":
            share = self.event.box.wind_shelter_frac * np.exp(sets.own["shelter_log"])
        else:
            share = _wind_share(way) * np.exp(sets.own["line_log"])
        row = sets.variant[which] * len(self.days) + day
        return CaseForcing.of_cases(table, row, np.minimum(share, 1.0)[which])

    def fill(self, found: Array, sets: Sets) -> None:
        """Put what the model gives for this block's readings into their columns."""
        plate = self._plate(sets)
        for kind, model in (("drying", self._dryings), ("run_water", self._weighed)):
            for way in self.ways:
                here = [
                    k
                    for k, reading in enumerate(self.readings)
                    if reading.kind == kind and reading.way == way
                ]
                if here:
                    found[:, [self.columns[k] for k in here]] = model(sets, way, here, plate=plate)
        for k, reading in enumerate(self.readings):
            if reading.kind in ("plate", "air-in-box"):
                elapsed = reading.note.at_s - self.starts[self.day_of[k]]
                temps = plate[0 if reading.kind == "plate" else 1][:, :, self.day_of[k]]
                found[:, self.columns[k]] = between_steps_k(temps, PLATE_STEP_S, float(elapsed))

    def _plate(self, sets: Sets) -> tuple[Array, Array]:
        """Return plate and box air of the empty box, each (times, sets, days)."""
        wanted = [
            (reading.laid_at or reading.note.at_s) - self.starts[day]
            for reading, day in zip(self.readings, self.day_of, strict=True)
            if (reading.way or "sun_plate") == "sun_plate"
        ]
        if not wanted:
            return np.zeros((0, 0, 0)), np.zeros((0, 0, 0))
        days = len(self.days)
        which = np.repeat(np.arange(sets.size), days)
        forcing = self._cases("sun_plate", sets, which, day=np.tile(np.arange(days), sets.size))
        system = box_system(self.event.box, self.event.paper, sets.draw(which))
        _, plate, air = run_empty(
            system,
            forcing,
            np.arange(which.size),
            start_at=np.zeros(which.size),
            horizon_s=max(wanted) + PLATE_STEP_S,
            step_s=PLATE_STEP_S,
        )
        shape = (-1, sets.size, days)
        return plate.reshape(shape), air.reshape(shape)

    def plate_curves(self, sets: Sets) -> list[tuple[int, Array, Array]]:
        """Return day, times and plate temperatures (times, sets) of the days of this place."""
        plate, _ = self._plate(sets)
        elapsed = np.arange(plate.shape[0]) * PLATE_STEP_S
        return [
            (self.numbers[day], self.starts[day] + elapsed, plate[:, :, day])
            for day in range(plate.shape[2])
        ]

    def _laid(
        self, sets: Sets, way: str, here: Sequence[int], *, plate: tuple[Array, Array]
    ) -> _LaidOn:
        """Return prints as they are laid on, each set's one after the other."""
        prints = [self.readings[k] for k in here]
        day = self.day_of[list(here)]
        laid = np.array([reading.laid_at for reading in prints]) - self.starts[day]
        which = np.repeat(np.arange(sets.size), len(prints))
        starts = np.tile(laid, sets.size)
        forcing = self._cases(way, sets, which, day=np.tile(day, sets.size))
        event, cases = self.event, np.arange(which.size)
        metal = air = forcing.at(cases, starts).air_temp_k
        draw = sets.draw(which)
        if way == "sun_plate":
            warm = [
                between_steps_k(plate[0][:, :, number], PLATE_STEP_S, elapsed)
                for number, elapsed in zip(day, laid, strict=True)
            ]
            metal = np.stack(warm, axis=1).ravel()
            system = box_system(event.box, event.paper, draw)
        else:
            system = free_sheet_system(event.paper, way, draw)
        water = event.paper.water_kg_m2 * np.asarray(draw.water_factor)
        return _LaidOn(system, forcing, cases, starts, metal, air, water)

    def _dryings(
        self, sets: Sets, way: str, here: Sequence[int], *, plate: tuple[Array, Array]
    ) -> Array:
        """Return logarithms of drying times, (sets, prints)."""
        horizon = _follow_s([self.readings[k] for k in here])
        took = drying_times_s(
            **self._laid(sets, way, here, plate=plate)._asdict(),
            dry_kg_m2=dry_targets(self.event.paper, self.event.limits).dry_kg_m2,
            ends_s=_step_ends_s(way, horizon),
        )
        took = np.minimum(took, horizon)
        return np.asarray(np.log(np.maximum(took, 1.0)).reshape(sets.size, len(here)))

    def _weighed(
        self, sets: Sets, way: str, here: Sequence[int], *, plate: tuple[Array, Array]
    ) -> Array:
        """Return the water left in prints when they were weighed, (sets, weighings)."""
        readings = [self.readings[k] for k in here]
        runs = [(reading.day, reading.sheet, reading.laid_at) for reading in readings]
        each = {run: number for number, run in enumerate(dict.fromkeys(runs))}
        first = [here[runs.index(run)] for run in each]
        elapsed = np.array([reading.note.at_s - reading.laid_at for reading in readings])
        ends = _step_ends_s(way, float(elapsed.max()))
        ends = np.union1d(ends[ends < elapsed.max()], elapsed[elapsed > 0.0])
        left = water_left_kg_m2(**self._laid(sets, way, first, plate=plate)._asdict(), ends_s=ends)
        left = left.reshape(-1, sets.size, len(first))
        at = np.searchsorted(np.append(0.0, ends), elapsed)
        return np.asarray(left[at, :, [each[run] for run in runs]].T)


class _LaidOn(NamedTuple):
    """Prints as they are laid on: what `drying_times_s` takes of them."""

    system: BoxSystem
    forcing: CaseForcing
    member: Index
    laid_on_at: Array
    plate_temp_k: Array
    sheet_temp_k: Array
    water_kg_m2: Array


def _side_by_side(days: Sequence[Forcing]) -> Forcing:
    """Return days as one table that starts at 0, rows by variant and then day."""
    fields, variants, times = days[0].values.shape
    by_instant = [day.instants.reshape(variants, times, fields) for day in days]
    values = np.stack(by_instant, axis=1).reshape(-1, times, fields).transpose(2, 0, 1)
    pressure = float(np.mean([day.pressure_pa for day in days]))
    return Forcing(start_at=0.0, step_s=days[0].step_s, values=values, pressure_pa=pressure)


def _step_ends_s(way: str, until_at: float) -> Array:
    return step_ends_s(
        until_at, 2.0, PRINT_STEP_GROWTH, largest_s=300.0 if "shade" in way else 60.0
    )


def _follow_s(prints: Sequence[Reading]) -> float:
    longest = max(float(np.exp(reading.value)) for reading in prints)
    return max(FOLLOW_FACTOR * longest, FOLLOW_LEAST_S)


def _wind_share(way: str) -> float:
    return look_up("ways", way, "way of drying")["wind_share"].value


def _aim(day: NotedDay, told: Conditions) -> AimDeg:
    """Return how the box was aimed that day: as its event file says, turned over its hours."""
    event = day.event
    if event.box.aim_mode == "fixed":
        return aim_at(event, None, told.time_at)
    until = min(event.closes_at, float(told.time_at[-1]))
    begin = max(event.aimed_from_s, float(told.time_at[0]))
    if until - begin < 1800.0:  # noted outside the event's hours
        begin, until = float(told.time_at[0]), float(told.time_at[-1])
    try:
        return aim_schedule(event, told, begin, until_at=until)[0]
    except NoAnswerError:  # no daylight: any aim is as good
        return np.full(told.time_at.shape, 180.0), np.zeros(told.time_at.shape)


def _variants(told: Conditions, day: NotedDay, skies: int, *, seed: int) -> Conditions:
    """Return the day as told, off by each of `SHIFTS` up and down, and under drawn skies."""
    scores = {name: np.zeros((SHIFTED + skies, 1)) for name in SHIFTS}
    for k, name in enumerate(SHIFTS):
        scores[name][1 + 2 * k], scores[name][2 + 2 * k] = 1.0, -1.0
    sun = told_sun(told)
    own = np.array(shifted_share(sun.share, day.spread["cloud"] * scores["cloud"]))
    minutes = own.copy()
    step = float(told.time_at[1] - told.time_at[0])
    if skies:
        rng = np.random.default_rng([seed, int(told.time_at[0])])
        drawn = sun_as_told(rng, own[SHIFTED:], step, rows=rows_of(told))
        minutes[SHIFTED:], own[SHIFTED:] = drawn
    return shifted_day(told, day.spread, scores, sun=DrawnSun(minutes, own, sun.clearness))
