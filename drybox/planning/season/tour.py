"""A tour of fairs: the season of each at its own date, on all cores."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass

from drybox.errors import DryboxError
from drybox.inputs.event.event import load_event
from drybox.inputs.event.tour import Stop
from drybox.planning.season.season import SeasonMonth, season
from drybox.planning.season.weather import year_weather


@dataclass(frozen=True)
class TourStop:
    """One fair's month; ``month`` is None where it failed, and ``failed`` says why."""

    name: str
    date: str = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    month: SeasonMonth | None = None
    weather: str = ""
    assumptions: tuple[str, ...] = ()
    failed: str = ""


def tour_stop(stop: Stop, seed: int, threads: int | None = 1) -> TourStop:
    """Return what the plate does at one fair in the month of its date."""
    try:
        event = load_event(stop.event, stop.overrides)
        weather = year_weather(event)
        found = season(event, weather, seed=seed, threads=threads)
    except DryboxError as error:
        return TourStop(stop.name, failed=f"{error} [{stop.where}]")
    place = event.place
    return TourStop(
        name=stop.name,
        date=event.date.isoformat(),
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        month=found.months[event.date.month - 1],
        weather=weather.source,
        assumptions=tuple(weather.assumptions),
    )


def tour(
    stops: Sequence[Stop],
    *,
    seed: int = 1,
    tick: Callable[[], None] = lambda: None,
    workers: int | None = None,
) -> tuple[TourStop, ...]:
    """Return every fair of a tour, worked out side by side.

    In the order of ``stops``; one that fails does not stop the others. The seed is the same for
    each, so that its answer is that of its own season; ``tick`` is called as each is done;
    ``workers`` are processes, as many as cores by default.
    """
    count = min(workers or os.cpu_count() or 1, len(stops))
    if count < 2:
        found = []
        for stop in stops:
            found.append(tour_stop(stop, seed, None))
            tick()
        return tuple(found)
    # fresh processes: a copy of one with threads may hang
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=context) as pool:
        futures = [pool.submit(tour_stop, stop, seed) for stop in stops]
        try:
            for _ in as_completed(futures):
                tick()
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
        return tuple(future.result() for future in futures)
