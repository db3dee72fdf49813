"""A year of laying on every ten minutes: month by hour, how the plate and the line dry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.event import Event
from drybox.inputs.weather.weather import Weather
from drybox.planning.scenario.percentiles import UNKNOWN, Range, range_of
from drybox.planning.season.aim import MonthAim
from drybox.planning.season.times import EVERY_S, YearTimes, year_times
from drybox.readable import Readable
from drybox.tables import load_table


@dataclass(frozen=True)
class SeasonCell:
    """One hour of one month, over its days and laying-on times.

    ``works_frac`` is the share of laying-ons that dry on the plate within the wait,
    ``line_works_frac`` the same on the line, ``gain_frac`` the share of those tried on both where
    only the plate does; ``worth`` says that it is large enough to carry a plate for.
    ``held_frac`` is the share where the box is turned off the sun to hold the plate.
    """

    month: int
    hour: int
    laid_on: int
    duration_s: Range
    works_frac: float
    line_duration_s: Range
    line_works_frac: float
    gain_frac: float
    worth: bool
    plate_temp_k: Range
    held_frac: float


@dataclass(frozen=True)
class SeasonMonth:
    """One month over the fair's hours.

    ``days_frac`` is the share of days on which at least one laying-on works, ``works_frac`` the
    share of all laying-ons in those hours, of which those in the dark never do; ``duration_s``
    counts these as past all following. The line's figures are of those hung by day.
    ``worth_hours`` are the hours of the day worth the carriage.
    """

    aim: MonthAim
    days_frac: float
    works_frac: float
    line_works_frac: float
    duration_s: Range
    line_duration_s: Range
    worth_hours: tuple[int, ...]


@dataclass(frozen=True, repr=False)
class Season(Readable):
    """Month by hour, month by month, and what it stands on.

    ``works_h`` are hours of the year in which a laying-on dries in time on the plate, of the
    ``daylight_h`` with the sun up.
    """

    wait_s: float
    cells: tuple[SeasonCell, ...]
    months: tuple[SeasonMonth, ...]
    works_h: float
    daylight_h: float
    laid_on: int
    plate_horizon_s: float
    line_horizon_s: float
    aim_words: str


def season(event: Event, weather: Weather, *, seed: int = 1, threads: int | None = None) -> Season:
    """Return how prints dry through the year of an event's date; its day is not used.

    ``weather`` is that of the year, as `year_weather` gives it: a typical year on its dates, or
    steady. The answer is the same in any number of threads. `NoAnswerError` if the sun never rises.

    The members of each range are the days of the month at every tenth minute of the hour, each
    with its own drawn print and box; partial cloud is drawn as sun and shade. The box is turned
    every hour (or as its file says: fixed, or at the month's best aim), and off the sun as far
    as the event wishes the plate held below a temperature.
    """
    return summary(event, year_times(event, weather, seed=seed, threads=threads))


def summary(event: Event, times: YearTimes) -> Season:
    """Return ranges and shares by month and hour, and by month over the fair's hours."""
    wait_s, settings = event.limits.wait_s, load_table("season")
    of_month = times.table.month
    month, hour = of_month[times.day], (times.at // 3600.0).astype(np.intp)
    least = settings["hour"]["least"].value * 3600.0 / EVERY_S
    order = np.argsort(month * 24 + hour, kind="stable")
    edges = np.flatnonzero(np.diff((month * 24 + hour)[order])) + 1
    cells = [
        _cell(times, which, int(month[which[0]]), hour=int(hour[which[0]]), wait_s=wait_s)
        for which in np.split(order, edges)
        if which.size >= least * (of_month == month[which[0]]).sum()
    ]
    opens, closes = event.opens_at - event.day_start_at, event.closes_at - event.day_start_at
    at_fair = (times.at >= opens) & (times.at < closes)
    a_day = np.arange(0.0, 86400.0, EVERY_S)
    slots = int(np.count_nonzero((a_day >= opens) & (a_day < closes)))
    works = times.plate_s <= wait_s
    return Season(
        wait_s=wait_s,
        cells=tuple(cells),
        months=tuple(
            _month(
                times, aim, at_fair & (month == aim.month), slots=slots, wait_s=wait_s, cells=cells
            )
            for aim in times.aims
        ),
        works_h=float(works.sum() * EVERY_S / 3600.0),
        daylight_h=float(works.size * EVERY_S / 3600.0),
        laid_on=int(works.size),
        plate_horizon_s=settings["plate"]["horizon"].value,
        line_horizon_s=settings["line"]["horizon"].value,
        aim_words=times.aim_words,
    )


def _share(which: Flags) -> float:
    return float(which.mean()) if which.size else 0.0


def _range(values: Array) -> Range:
    return range_of(values) if values.size else UNKNOWN


def _month(
    times: YearTimes,
    aim: MonthAim,
    here: Flags,
    *,
    slots: int,
    wait_s: float,
    cells: Sequence[SeasonCell],
) -> SeasonMonth:
    """Return what the laying-ons of one month in the fair's hours give, ``slots`` a day."""
    works = times.plate_s <= wait_s
    lined = times.line_s[here & ~np.isnan(times.line_s)]
    days = int((times.table.month == aim.month).sum())
    dark = max(days * slots - int(here.sum()), 0)
    plate_s = np.append(times.plate_s[here], np.full(dark, np.inf))
    return SeasonMonth(
        aim=aim,
        days_frac=np.unique(times.day[here & works]).size / days,
        works_frac=_share(plate_s <= wait_s),
        line_works_frac=_share(lined <= wait_s),
        duration_s=_range(plate_s),
        line_duration_s=_range(lined),
        worth_hours=tuple(c.hour for c in cells if c.month == aim.month and c.worth),
    )


def _cell(times: YearTimes, which: Index, month: int, *, hour: int, wait_s: float) -> SeasonCell:
    """Return what the laying-ons of one month and hour give."""
    plate, line = times.plate_s[which], times.line_s[which]
    both = ~np.isnan(line)
    gain = _share(((plate <= wait_s) & (line > wait_s))[both])
    return SeasonCell(
        month=month,
        hour=hour,
        laid_on=int(which.size),
        duration_s=range_of(plate),
        works_frac=_share(plate <= wait_s),
        line_duration_s=_range(line[both]),
        line_works_frac=_share(line[both] <= wait_s),
        gain_frac=gain,
        worth=gain >= load_table("season")["worth"]["gain"].value,
        plate_temp_k=range_of(times.plate_temp_k[which]),
        held_frac=_share(times.held[which]),
    )
