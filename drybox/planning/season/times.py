"""Every tenth minute of a year with the sun up: a print laid on the plate; some hung as well."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event
from drybox.inputs.weather.weather import Weather
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.one_print.lay_print import lay_print
from drybox.planning.scenario.models import PrintDraw, box_system, free_sheet_system
from drybox.planning.scenario.outside import sheet_forcing
from drybox.planning.scenario.samples import draw_prints
from drybox.planning.season.aim import MonthAim, best_fixed_aims, hourly_aims
from drybox.planning.season.year import STEP_S, YearTable, year_forcing, year_table
from drybox.tables import load_table

EVERY_S = 600.0
"""Between laying-on times. [s]"""

LINE_EVERY = 6
"""One in so many laying-on times is also hung: a line in the shade changes slowly."""

CHUNK = 14_000
"""Prints given to one thread at once, the same on any machine."""

PLATE_STEPS = StepControl(largest_s=STEP_S, temp_error_k=1.0, time_error_frac=0.03)
LINE_STEPS = StepControl(largest_s=3 * STEP_S, temp_error_k=1.0, time_error_frac=0.03)
"""Half of the times are within 0.6 % of those of short steps, nine in ten within 2.5 %."""


@dataclass(frozen=True, eq=False)
class YearStarts:
    """The year's laying-ons before anything is dried, each (n,), by ``day`` and time of day.

    ``held`` tells where the box was turned off the sun, as wished.
    """

    event: Event
    table: YearTable
    aims: tuple[MonthAim, ...]
    aim_words: str
    forcing: Forcing
    day: Index
    at: Array
    plate_temp_k: Array
    held: Flags
    draws: PrintDraw


@dataclass(frozen=True, eq=False)
class YearTimes(YearStarts):
    """Every laying-on of a year, and how long it takes to dry.

    ``plate_s`` and ``line_s`` are infinite past their horizons; ``line_s`` is NaN where no print
    was hung. ``plate_s`` is infinite also where the print is kept over its limit.
    """

    plate_s: Array
    line_s: Array


def year_starts(event: Event, weather: Weather, *, seed: int) -> YearStarts:
    """Return the year's laying-ons, with the empty plate run through all of it.

    Arguments as for `season.season`. `NoAnswerError` if the sun never rises.

    The plate stands out from the earliest sunrise of the year, facing the sun. Where the event
    wishes it held below a temperature that it would pass, the light is cut to the share of the
    rise that is wanted, as turning the box off the sun does: the rise over the air goes about as
    the light. A fixed aim is left alone.
    """
    rng = np.random.default_rng(seed)
    table = year_table(weather, event.place, event.date.year, rng=rng)
    own, shelter, line = draw_prints(rng, table.month.size, event.fit)
    ensemble = replace(table.ensemble, shelter_factor=shelter, line_factor=line)
    table = replace(table, ensemble=ensemble)
    opens, closes = event.opens_at - event.day_start_at, event.closes_at - event.day_start_at
    aims = best_fixed_aims(table, event.place, event.box, from_at=opens, until_at=closes)
    bearing, tilt, words = _aims(event, table, aims)
    forcing = year_forcing(table, event.place, event.box, bearing_deg=bearing, tilt_deg=tilt)

    columns = np.arange(0, int(86400.0 / STEP_S), int(EVERY_S / STEP_S))
    up = table.sun_up[:, columns]
    if not up.any():
        raise NoAnswerError("the sun never rises here")
    day, which = np.nonzero(up)
    lit = columns[up.any(axis=0)]
    plate, kept = _held_plate(event, table, forcing, own=own, first=int(lit[0]), last=int(lit[-1]))
    values = forcing.values.copy()
    values[0][:, lit[0] : lit[-1] + 1] *= kept
    at = columns[which]
    prints, _, _ = draw_prints(rng, day.size, event.fit)
    return YearStarts(
        event=event,
        table=table,
        aims=aims,
        aim_words=words,
        forcing=replace(forcing, values=values),
        day=day,
        at=np.asarray(at * STEP_S, dtype=float),
        plate_temp_k=plate[day, at - lit[0]],
        held=kept[day, at - lit[0]] < 1.0,
        draws=replace(
            prints,
            forced_factor=np.asarray(own.forced_factor)[day],
            back_factor=np.asarray(own.back_factor)[day],
            plate_absorptance_shift=np.asarray(own.plate_absorptance_shift)[day],
        ),
    )


def _held_plate(
    event: Event, table: YearTable, forcing: Forcing, *, own: PrintDraw, first: int, last: int
) -> tuple[Array, Array]:
    """Return the empty plate and the share of its light that is kept, (days, columns)."""
    days = np.arange(table.month.size)
    system = box_system(event.box, event.paper, own)
    out = np.full(days.size, first * STEP_S)
    _, temps, _ = run_empty(
        system, forcing, days, start_at=out, horizon_s=(last - first) * STEP_S, step_s=STEP_S
    )
    plate = temps.T
    if event.box.aim_mode == "fixed" or event.limits.hold_below_k is None:
        return plate, np.ones_like(plate)
    air = table.ensemble.conditions.air_temp_k[:, first : last + 1]
    rise = np.maximum(event.limits.hold_below_k - air, 1.0)
    kept = np.minimum(rise / np.maximum(plate - air, 1.0), 1.0)
    return np.minimum(plate, air + rise), kept


def _aims(event: Event, table: YearTable, best: tuple[MonthAim, ...]) -> tuple[Array, Array, str]:
    """Return the aims by month and time of day, and in words how the box is aimed."""
    box, times = event.box, table.ensemble.conditions.time_at.size
    if box.aim_mode == "fixed":
        whole = (12, times)
        return np.full(whole, box.aim_bearing_deg), np.full(whole, box.aim_tilt_deg), "fixed"
    if box.aim_mode == "best":
        bearing = np.array([aim.bearing_deg for aim in best])
        tilt = np.array([aim.tilt_deg for aim in best])
        return np.tile(bearing[:, None], times), np.tile(tilt[:, None], times), "best by month"
    return *hourly_aims(table, event.place.obstacles, box.most_tilt_deg), "turned every hour"


def year_times(
    event: Event, weather: Weather, *, seed: int = 1, threads: int | None = None
) -> YearTimes:
    """Return how long every laying-on of a year takes to dry.

    Arguments as for `season.season`; by default in as many threads as cores, but four at most.

    Each print and box is drawn: what is one's own by the day, the rest by the print. Plate and
    line are stepped in a few threads, since array arithmetic leaves the interpreter's lock.
    """
    starts = year_starts(event, weather, seed=seed)
    hung = np.flatnonzero(np.rint(starts.at / EVERY_S) % LINE_EVERY == LINE_EVERY // 2)
    shade = sheet_forcing(starts.table.ensemble, event.place, "line_shade", facing_deg=0.0)
    air = shade.at(starts.day, starts.at).air_temp_k
    horizons = load_table("season")

    def run(way: str, some: Index) -> Array:
        plate, prints = way == "plate", starts.draws.of(some)
        found = lay_print(
            event,
            box_system(event.box, event.paper, prints)
            if plate
            else free_sheet_system(event.paper, "line_shade", prints),
            starts.forcing if plate else shade,
            member=starts.day[some],
            prints=prints,
            laid_on_at=starts.at[some],
            plate_temp_k=(starts.plate_temp_k if plate else air)[some],
            horizon_s=horizons[way]["horizon"].value,
            past_dry=False,
            control=PLATE_STEPS if plate else LINE_STEPS,
        )
        return np.where(found.over_limit_k > 0.0, np.inf, found.dry_after_s)

    with ThreadPoolExecutor(threads or min(4, os.cpu_count() or 1)) as pool:
        laid, lined = (
            [
                pool.submit(run, way, cases[begin : begin + CHUNK])
                for begin in range(0, max(cases.size, 1), CHUNK)
            ]
            for way, cases in (("plate", np.arange(starts.day.size)), ("line", hung))
        )
        plate_s = np.concatenate([part.result() for part in laid])
        line_s = np.full(starts.day.size, np.nan)
        line_s[hung] = np.concatenate([part.result() for part in lined])
    return YearTimes(**vars(starts), plate_s=plate_s, line_s=line_s)
