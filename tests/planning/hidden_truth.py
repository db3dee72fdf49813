"""The study behind what a fit promises: invented boxes, their notes, and prints on later days.

Run by hand for the figures::

    python -m tests.planning.hidden_truth 200 1 0.05

with the number of boxes, a seed and the share of slips; further figures are the numbers of
sessions, by default 1, 3 and 10.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from drybox.inputs.event.event import Event
from drybox.inputs.notes.fits import OWN, KeptFit
from drybox.inputs.notes.note import Note
from drybox.physics.simulation.drying_times import drying_times_s
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.step import step_ends_s
from drybox.planning.calibration.calibration import calibrate
from drybox.planning.calibration.cases import CaseForcing
from drybox.planning.scenario.models import PrintDraw, box_system, dry_targets
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.readings import candidates, chosen, days_read_k, shares
from drybox.planning.scenario.samples import Ensemble, draw, draw_prints, nominal
from drybox.tables import load_table
from tests.planning.invented_boxes import (
    DAYS,
    LAID_S,
    NEW_DAYS,
    SEEN_S,
    Boxes,
    TrueDay,
    event_on,
    notes_of,
    plate_seen_k,
    true_day,
    weighed_notes,
)

Array = NDArray[np.float64]

MEMBERS = 200
HORIZON_S = 4 * 3600.0
PLATE_STEP_S = 60.0
SEEN = "3 sessions, plate read"
"""Three sessions' notes, and the plate of the day itself read three times before the print."""

WEIGHED, WEIGHED_3, WEIGHED_MORE = (
    "1 session, 1 weighed",
    "1 session, 3 weighed",
    "3 sessions, 1 weighed",
)
"""Notes as of so many sessions, and so many prints of the first weighed while they dried."""

_WEIGHED = {WEIGHED: (1, 1), WEIGHED_3: (1, 3), WEIGHED_MORE: (3, 1)}

KNOWN_BOX, KNOWN_DAY = "box known", "box and weather known"
NOW_S = 1_820_000_000.0


@dataclass(frozen=True)
class Study:
    """Drying times on days to come: as they were, and as drawn under each belief.

    ``truth_s`` is (boxes, days), ``drawn_s`` (boxes, beliefs, days, members). ``beliefs`` are
    ``0 sessions`` (no fit), those of so many sessions' notes, those with prints weighed while they
    dried (`WEIGHED` and so on), `SEEN`, and two that no notes give:
    the box, hand and paper known exactly, and with them the weather, which leaves what differs
    from print to print.
    """

    beliefs: tuple[str, ...]
    truth_s: Array
    drawn_s: Array

    def of(self, belief: str) -> int:
        return self.beliefs.index(belief)

    def ranges(self) -> Array:
        """Return P10, P50, P90 as the commands take them, (3, boxes, beliefs, days)."""
        return np.quantile(self.drawn_s, [0.1, 0.5, 0.9], axis=-1, method="inverted_cdf")

    def covered(self) -> Array:
        """Return the share of true times within their range, (beliefs,)."""
        low, _, high = self.ranges()
        truth = self.truth_s[:, None, :]
        return np.asarray(((truth >= low) & (truth <= high)).mean(axis=(0, 2)))

    def width(self) -> Array:
        """Return the median width of the range over its width without notes, (beliefs,)."""
        low, _, high = self.ranges()
        width = high - low
        return np.asarray(np.median(width / width[:, :1], axis=(0, 2)))

    def bias(self) -> Array:
        """Return the median of ln(true / P50), (beliefs,)."""
        _, middle, _ = self.ranges()
        return np.asarray(np.median(np.log(self.truth_s[:, None, :] / middle), axis=(0, 2)))

    def report(self) -> str:
        """Return the study's figures as lines."""
        lines = [f"{len(self.truth_s):3d} boxes              covered  width    bias"]
        for row in zip(self.beliefs, self.covered(), self.width(), self.bias(), strict=True):
            lines.append("{:22s} {:7.3f} {:6.3f} {:+7.3f}".format(*row))
        return "\n".join(lines)


def study(
    count: int,
    seed: int,
    mistakes: float,
    sessions: Sequence[int] = (1, 3, 10),
    new_days: Sequence[tuple[str, str, float, float, float]] = NEW_DAYS,
) -> Study:
    """Return what calibrations of invented boxes promise, against what comes true."""
    boxes = Boxes.invented(count, seed)
    days = [
        true_day(boxes, event_on(*day), "steady", 1000 * seed + k)
        for k, day in enumerate(DAYS[: max(sessions)])
    ]
    fits = []
    for box in range(count):
        each = [notes_of(day, box, seed * 100 + k, mistakes) for k, day in enumerate(days)]
        told = [each[:n] for n in sessions]
        for n, prints in _WEIGHED.values():
            told.append([*each[:n], weighed_notes(days[0], box, seed * 100, prints, mistakes)])
        fits += [_fit(days[0].event, [note for part in parts for note in part]) for parts in told]
    kinds = len(sessions) + len(_WEIGHED)
    known = [_known(boxes, box) for box in range(count)]
    third = fits[sessions.index(3) :: kinds]
    drawn, truth = [], []
    for k, told in enumerate(new_days):
        day = true_day(boxes, event_on(*told), "forecast", 1000 * seed + 500 + k)
        beliefs = [
            np.repeat(_drawn_s(day, [None], seed + k)[:, None], count, axis=0),
            _drawn_s(day, fits, seed + k).reshape(count, kinds, MEMBERS),
            _drawn_s(day, third, seed + k, read_k=plate_seen_k(day, seed + k, mistakes))[:, None],
            _drawn_s(day, known, seed + k)[:, None],
            _drawn_s(day, known, seed + k, own_weather=True)[:, None],
        ]
        drawn.append(np.concatenate(beliefs, axis=1))
        truth.append(day.plate_dry_s[1])
    counted = (f"{n} session{'s'[: n != 1]}" for n in (0, *sessions))
    names = (*counted, *_WEIGHED, SEEN, KNOWN_BOX, KNOWN_DAY)
    return Study(names, np.stack(truth, axis=1), np.stack(drawn, axis=2))


def large_study(
    count: int,
    seed: int,
    mistakes: float,
    each: int = 25,
    sessions: Sequence[int] = (1, 3, 10),
) -> Study:
    """Return studies of so many boxes each, with seeds of their own, on all cores as one."""
    seeds = range(1000 * seed, 1000 * seed + count // each)
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn")) as pool:
        parts = list(pool.map(partial(study, each, mistakes=mistakes, sessions=sessions), seeds))
    return Study(
        parts[0].beliefs,
        np.concatenate([part.truth_s for part in parts]),
        np.concatenate([part.drawn_s for part in parts]),
    )


def _fit(event: Event, notes: list[Note]) -> KeptFit:
    found = calibrate([event], notes, now_at=NOW_S)
    assert found.fit is not None
    return found.fit


def _known(boxes: Boxes, box: int) -> KeptFit:
    truth = {name: boxes.own[name][box : box + 1] for name in OWN}
    return KeptFit("default", "default", int(NOW_S), "UTC", 0, 0, truth)


def _drawn_s(
    day: TrueDay,
    fits: Sequence[KeptFit | None],
    seed: int,
    own_weather: bool = False,
    read_k: Array | None = None,
) -> Array:
    """Return drying times of one print on the plate as `draw` gives them, (fits, members).

    The weather is drawn once, since it does not depend on the fit, or is that which each of the
    fits' boxes really had. With readings of the plate, (readings, fits), as `draw_seen` gives them.
    """
    many = MEMBERS if read_k is None else candidates(MEMBERS)
    table = day.sun if own_weather else _weathers(day, many, seed)
    found = []
    each = 20 * MEMBERS // many
    for begin in range(0, len(fits), each):
        some = range(begin, min(begin + each, len(fits)))
        parts = [draw_prints(np.random.default_rng([seed, 9]), many, fits[k]) for k in some]
        if read_k is not None:
            chosen_parts = [
                _seen(day, table, fits[fit], parts[k], read_k[:, fit]) for k, fit in enumerate(some)
            ]
            parts = [part for part, _ in chosen_parts]
            row = np.concatenate([weathers for _, weathers in chosen_parts])
        else:
            row = np.repeat(some, many) if own_weather else np.tile(np.arange(many), len(some))
        share = day.event.box.wind_shelter_frac * np.concatenate([s for _, s, _ in parts])
        wind = np.ones(row.size) if own_weather else np.minimum(share, 1.0)
        forcing = CaseForcing.of_cases(table, row, wind)
        prints = PrintDraw.joined([prints for prints, _, _ in parts])
        plate = _plate_k(day, forcing, prints)
        found.append(_dried_s(day, forcing, prints, plate[-1]).reshape(len(some), MEMBERS))
    return np.concatenate(found)


def _weathers(day: TrueDay, many: int, seed: int) -> Forcing:
    """Return what acts on the plate in drawn weathers under the open wind, last as told."""
    event, told = day.event, day.told
    bearing = np.full(told.time_at.shape, event.box.aim_bearing_deg)
    tilt = np.full(told.time_at.shape, event.box.aim_tilt_deg)
    tables = [
        plate_forcing(
            Ensemble(weather, PrintDraw(), np.full(rows, 1 / event.box.wind_shelter_frac)),
            event.place,
            event.box,
            aim_deg=(bearing, tilt),
        )
        for weather, rows in (
            (draw(told, "forecast", many, seed=seed).conditions, many),
            (nominal(told).conditions, 1),
        )
    ]
    return Forcing.joined(tables)


def _seen(
    day: TrueDay,
    table: Forcing,
    fit: KeptFit | None,
    drawn: tuple[PrintDraw, Array, Array],
    read_k: Array,
) -> tuple[tuple[PrintDraw, Array, Array], NDArray[np.intp]]:
    """Return prints and weathers that agree with readings of the plate, as `pairs_seen` does."""
    prints, shelter, line = drawn
    middle = nominal(day.told, fit)
    share, many = day.event.box.wind_shelter_frac, shelter.size
    last, at = table.members - 1, (SEEN_S / PLATE_STEP_S).round().astype(int)
    every, times = np.arange(table.members), day.event.opens_at + SEEN_S
    air = np.array([table.at(every, np.full(every.size, time)).air_temp_k for time in times])

    def read(row: NDArray[np.intp], wind: Array, whose: PrintDraw) -> Array:
        return _plate_k(
            day, CaseForcing.of_cases(table, row, np.minimum(share * wind, 1.0)), whose
        )[at]

    told = np.full(many, last)
    boxes = read(told, shelter, prints)
    weathers = read(np.arange(many), np.repeat(middle.shelter_factor, many), middle.prints)
    usual = read(told[:1], middle.shelter_factor, middle.prints)
    days = [
        days_read_k(
            boxes[k], weathers[k], air[k, :many], usual_k=usual[k, 0], usual_air_k=air[k, last]
        )
        for k in range(at.size)
    ]
    error = np.full(at.size, load_table("spreads")["noted"]["plate_temp"].value)
    weight, _ = shares(days, read_k, error, in_fit=np.zeros(at.size, dtype=bool))
    box, weather = chosen(weight, boxes[-1], weathers[-1], members=MEMBERS, seed=1)
    return (prints.of(box), shelter[box], line[box]), weather


def _plate_k(day: TrueDay, forcing: CaseForcing, prints: PrintDraw) -> Array:
    """Return the empty plate from the opening to the laying-on, (times, cases)."""
    event, cases = day.event, np.arange(forcing.row.size)
    system, out = box_system(event.box, event.paper, prints), np.full(cases.size, event.opens_at)
    _, plate, _ = run_empty(
        system, forcing, cases, start_at=out, horizon_s=LAID_S[1], step_s=PLATE_STEP_S
    )
    return plate


def _dried_s(day: TrueDay, forcing: CaseForcing, prints: PrintDraw, plate_k: Array) -> Array:
    event, cases = day.event, np.arange(forcing.row.size)
    system = box_system(event.box, event.paper, prints)
    laid = np.full(cases.size, event.opens_at + LAID_S[1])
    return drying_times_s(
        system,
        forcing,
        cases,
        laid_on_at=laid,
        plate_temp_k=plate_k,
        sheet_temp_k=forcing.at(cases, laid).air_temp_k,
        water_kg_m2=event.paper.water_kg_m2 * np.asarray(prints.water_factor),
        dry_kg_m2=dry_targets(event.paper, event.limits).dry_kg_m2,
        ends_s=step_ends_s(HORIZON_S, growth_frac=0.06, largest_s=60.0),
    )


if __name__ == "__main__":
    how_many, first_seed, share = int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])
    asked = [int(word) for word in sys.argv[4:]] or [1, 3, 10]
    print(large_study(how_many, first_seed, share, sessions=asked).report())
