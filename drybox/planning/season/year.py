"""A whole year as a table: its days one under the other, each by the local time of day."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.box import Box
from drybox.inputs.event.place import Place
from drybox.inputs.weather.weather import Weather
from drybox.physics.simulation.forcing import Forcing
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import PrintDraw
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import Ensemble
from drybox.planning.scenario.sun_minutes import rows_of, sun_as_told, told_sun

STEP_S = 300.0
"""Step of the table: sun and shade are drawn to it, and the empty plate is run on it. [s]"""

DAY_S = 86400.0

OVERHANG_S = 8 * 3600.0
"""How far each day's row reaches into the next, for prints laid on late. [s]"""


@dataclass(frozen=True, eq=False)
class YearTable:
    """The year's days as members of an ensemble, times counted from each day's midnight.

    ``month`` is that of each day, (days,).
    """

    ensemble: Ensemble
    month: Index

    @property
    def sun_up(self) -> Flags:
        """Whether the sun is above the level horizon, (days, times)."""
        return np.asarray(self.ensemble.conditions.sun.elevation_deg > 0.0)

    def of_month(self, month: int) -> Ensemble:
        """Return the days of one month."""
        days = np.flatnonzero(self.month == month)
        return Ensemble(
            self.ensemble.conditions.changed(lambda column: column[days]),
            PrintDraw(),
            self.ensemble.shelter_factor[days],
        )


def local_midnights_s(year: int, timezone: str) -> Array:
    """Return twelve hours before each noon of a year: midnight, but where the clocks change.

    So hours are those of the clock for all of the day after the change. [s since the Unix epoch]
    """
    zone = ZoneInfo(timezone)
    first = datetime.date(year, 1, 1)
    count = (datetime.date(year + 1, 1, 1) - first).days
    noon = datetime.time(12)
    days = [first + datetime.timedelta(days=number) for number in range(count)]
    return np.array(
        [datetime.datetime.combine(day, noon, zone).timestamp() - DAY_S / 2 for day in days]
    )


def year_table(weather: Weather, place: Place, year: int, *, rng: np.random.Generator) -> YearTable:
    """Return a year's conditions by day, partial cloud drawn as sun and shade.

    ``weather`` is a typical year on the dates of ``year``, or steady.
    """
    midnight_at = local_midnights_s(year, place.timezone)
    last_at = float(midnight_at[-1]) + DAY_S + OVERHANG_S
    whole = conditions(weather, place, float(midnight_at[0]), end_at=last_at, step_s=STEP_S)
    first = np.rint((midnight_at - midnight_at[0]) / STEP_S).astype(np.intp)
    columns = np.arange(int((DAY_S + OVERHANG_S) / STEP_S) + 1)
    index = first[:, None] + columns
    day = replace(
        whole.changed(lambda column: column[index]),
        time_at=np.asarray(columns * STEP_S, dtype=float),
    )
    sun = told_sun(day)
    rows = rows_of(whole)
    minutes, _ = sun_as_told(rng, sun.share, STEP_S, rows=None if rows is None else rows[columns])
    dni = np.minimum(minutes * sun.clearness * day.clear.dni_w_m2, day.clear.dni_extra_w_m2)
    up = np.maximum(np.sin(np.deg2rad(day.sun.elevation_deg)), 0.0)
    drawn = replace(day, dni_w_m2=dni, ghi_w_m2=dni * up + day.dhi_w_m2)
    noon = (midnight_at + DAY_S / 2 + place.longitude_deg * 240.0).astype("datetime64[s]")
    months = noon.astype("datetime64[M]").astype(np.intp) % 12 + 1
    return YearTable(Ensemble(drawn, PrintDraw(), np.ones(months.size)), months)


def year_forcing(
    table: YearTable, place: Place, box: Box, *, bearing_deg: Array, tilt_deg: Array
) -> Forcing:
    """Return what acts on the plate all year, days as members.

    The aim is by month and time of day, (12, times). [deg]
    """
    parts = [
        plate_forcing(
            table.of_month(month), place, box, aim_deg=(bearing_deg[month - 1], tilt_deg[month - 1])
        )
        for month in range(1, 13)
    ]
    return Forcing.joined(parts)
