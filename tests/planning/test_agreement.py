"""What `dry` says of a print at a laying-on is what the day's plan says of it, to one per cent."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from drybox.inputs.event.event import Event, load_event
from drybox.planning.day.plan import plan_day
from drybox.planning.one_print.drying import dry_print

HIGH_PLAIN = {
    "place.latitude": 40.0,
    "place.longitude": -105.0,
    "place.elevation": "1600 m",
    "place.timezone": "Etc/GMT+7",
    "event.date": "2027-06-12",
    "event.opens": "10:00",
    "event.closes": "16:00",
    "event.sitter": [{"at": "12:00"}],
    "weather.sky": "clear",
    "weather.humidity": "35 %",
    "weather.air_temp": "20 °C",
    "weather.wind": "3 m/s",
}


def event(slots: int) -> Event:
    return load_event(None, HIGH_PLAIN | {"event.plate_slots": slots})


@cache
def planned_s(slots: int) -> tuple[float, float]:
    """Return when the one print is laid on, and the median time it takes. [s]"""
    plan = plan_day(event(slots), what_if=False)
    (ticket,) = plan.tickets
    assert ticket.way == "sun_plate"
    dried = plan.run.dried
    return ticket.laid_on_s or 0.0, float(np.median(dried.dry_s - dried.laid_s))


def test_one_sitter_s_print_takes_as_long_in_the_plan_as_alone() -> None:
    laid_on_s, took_s = planned_s(9)
    (way,) = dry_print(event(9), laid_on_s, ways=("sun_plate",)).ways
    assert way.duration_s.p50 == pytest.approx(took_s, rel=0.01)


@pytest.mark.parametrize("slots", [1, 3])
def test_slots_that_nobody_uses_change_nothing(slots: int) -> None:
    assert planned_s(slots)[1] == pytest.approx(planned_s(9)[1], rel=0.01)
