"""What a fit changes: one print's promise before and after, and measured against modelled."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.notes.fits import OWN, KeptFit
from drybox.inputs.text.dates import local_to_unix, parse_zone
from drybox.planning.calibration.calibration import Calibration
from drybox.planning.one_print.drying import dry_print
from drybox.planning.scenario.percentiles import Range
from drybox.planning.scenario.samples import normal_scores

TRIED = ("sun_plate", "line_shade")


@dataclass(frozen=True)
class PromiseShown:
    """One print's drying time by one way, without and with the fit.

    ``floor_s`` is the range with box, hand and paper known for certain in the middle of the fit:
    what weather, and one print against the next, leave open however many notes of
    other days there are.
    """

    way: str
    laid_on_at: float
    before_s: Range
    after_s: Range
    floor_s: Range

    @property
    def narrower_frac(self) -> float | None:
        """How much of the width from P10 to P90 is gone, None where an end is not known."""
        ends = (self.before_s.p10, self.before_s.p90, self.after_s.p10, self.after_s.p90)
        if any(end is None for end in ends) or ends[1] == ends[0]:
            return None
        low, high, new_low, new_high = (float(end) for end in ends if end is not None)
        return 1 - (new_high - new_low) / (high - low)


@dataclass(frozen=True, eq=False)
class DayCurves:
    """One day's plate as modelled, P10, P50 and P90 by (3, times), and as read.

    The ranges hold box and paper unknown under the weather as told, so a reading may lie outside
    them for its weather alone.
    """

    day: int
    time_at: Array
    before_k: Array
    after_k: Array
    read_s: Array
    read_k: Array


def promise_shown(event: Event, fit: KeptFit, *, members: int, seed: int) -> PromiseShown | None:
    """Return what a print laid on at the event's noon is promised, without and with a fit.

    By the first of plate and line that dries it in both; None where none does. The event stands on
    no fit.
    """
    noon = _noon_s(event)
    certain = {name: np.array([np.median(draws)]) for name, draws in fit.draws.items()}
    each = (event, replace(event, fit=fit), replace(event, fit=replace(fit, draws=certain)))
    for way in TRIED:
        found = [
            dry_print(one, noon, members=members, seed=seed, ways=(way,), cured=False)
            for one in each
        ]
        before, after, floor = (one.ways[0].duration_s for one in found)
        if before.p50 is not None and after.p50 is not None:
            return PromiseShown(
                way=way, laid_on_at=noon, before_s=before, after_s=after, floor_s=floor
            )
    return None


def _noon_s(event: Event) -> float:
    """Return noon by the clock, or the opening where the event is not on then. [s]"""
    noon = local_to_unix(event.date, datetime.time(12), parse_zone(event.place.timezone)).time_at
    return noon if event.opens_at <= noon <= event.closes_at else event.opens_at


def plate_curves(calibration: Calibration) -> list[DayCurves]:
    """Return measured and modelled plate temperatures of each day, before and after the fit."""
    model, found = calibration.model, calibration.found
    if model is None or found is None:
        return []
    rng, count = np.random.default_rng(0), len(found.draws)
    before = np.stack([normal_scores(rng, count) for _ in OWN], axis=1)
    sets = np.vstack([before, found.draws])
    curves, by_day = [], model.data.columns_by_day()
    for day, time_at, temps in model.plate_curves(sets):
        was, is_ = (
            np.quantile(part, [0.1, 0.5, 0.9], axis=1)
            for part in (temps[:, :count], temps[:, count:])
        )
        of_day = (model.data.readings[k] for k in by_day[day])
        read = [reading for reading in of_day if reading.kind == "plate"]
        curves.append(
            DayCurves(
                day=day,
                time_at=time_at,
                before_k=was,
                after_k=is_,
                read_s=np.array([float(reading.note.at_s) for reading in read]),
                read_k=np.array([reading.value for reading in read]),
            )
        )
    return sorted(curves, key=lambda curve: curve.day)
