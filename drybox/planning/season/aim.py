"""How the box faces through a year: hour by hour, and the one best aim of each month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array, Index
from drybox.inputs.event.box import Box
from drybox.inputs.event.place import Obstacle, Place
from drybox.physics.plate_irradiance import SkyLight, plate_light
from drybox.physics.shading import obstacle_transmittance, sky_grid
from drybox.planning.aim.search import best_aims
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import plate_recess
from drybox.planning.season.year import STEP_S, YearTable

PER_HOUR = int(3600.0 / STEP_S)
COARSE_DEG = 15.0
ROUNDS = 3
"""How often the search is repeated about its best aim, each time three times finer. [-]"""


@dataclass(frozen=True)
class MonthAim:
    """The one aim of a month's fair hours that brings the plate most.

    ``kept_frac`` is its share of what the same hours bring with the box turned every hour;
    ``plate_irradiance_w_m2`` the mean over those hours. Both are 0, and the aim is level, where
    no light comes.
    """

    month: int
    bearing_deg: float
    tilt_deg: float
    plate_irradiance_w_m2: float
    kept_frac: float


def hourly_aims(
    table: YearTable, obstacles: Sequence[Obstacle], most_tilt_deg: float
) -> tuple[Array, Array]:
    """Return the aim of each month and hour that brings most, (12, times). [deg]

    Beam on a plane is ``n·s`` times its strength, an even sky brings ``(1 + n·z)/2`` of its
    light; so over an hour of a month the best plane faces the sum of all beams and half of the
    sky's light from straight up, as long as it has the sun before it. Bearing is south in the
    dark, and the plate lies level; a steeper one is laid back to the tilt at which it stands.
    """
    times = table.ensemble.conditions.time_at.size
    hours = np.arange(times) // PER_HOUR
    bearing, tilt = np.full((12, times), 180.0), np.zeros((12, times))
    for month in range(12):
        day = table.of_month(month + 1).conditions
        sun, dni = day.sun, day.dni_w_m2
        height, turn = np.deg2rad(sun.elevation_deg), np.deg2rad(sun.azimuth_deg)
        if obstacles:
            dni = dni * obstacle_transmittance(obstacles, sun.azimuth_deg, sun.elevation_deg)
        flat = dni * np.cos(height)
        sums = (
            (flat * np.sin(turn)).sum(axis=0),
            (flat * np.cos(turn)).sum(axis=0),
            (dni * np.sin(height) + 0.5 * day.dhi_w_m2).sum(axis=0),
        )
        east, north, up = (np.bincount(hours, part)[hours] for part in sums)
        lit = up > 0
        level = np.hypot(east, north)
        bearing[month] = np.where(lit, np.rad2deg(np.arctan2(east, north)) % 360.0, 180.0)
        tilt[month] = np.where(lit, np.rad2deg(np.arctan2(level, np.maximum(up, 1e-9))), 0.0)
    return bearing, np.minimum(tilt, most_tilt_deg)


def _mean_sky(day: Conditions, columns: Index) -> list[Array]:
    """Return the month's mean sky at some times of day, sun as on its middle day; (times,) each."""
    sky, middle = day.sky.at(np.s_[:, columns]), day.ghi_w_m2.shape[0] // 2
    return [
        column.mean(axis=0) if name.startswith(("ghi", "dni_w", "dhi")) else column[middle]
        for name, column in vars(sky).items()
    ]


def best_fixed_aims(
    table: YearTable, place: Place, box: Box, *, from_at: float, until_at: float
) -> tuple[MonthAim, ...]:
    """Return the best single aim of each month over some hours of the day.

    The hours are counted from local midnight. [s]

    Searched under each month's mean sky, every half hour, on a grid refined about its best point.
    """
    times = np.arange(from_at + 900.0, until_at, 1800.0)
    columns = np.rint(times / STEP_S).astype(np.intp)
    columns = np.clip(columns, 0, table.ensemble.conditions.time_at.size - 1)
    skies = [_mean_sky(table.of_month(month).conditions, columns) for month in range(1, 13)]
    sky = SkyLight(*(np.stack(part)[:, :, None] for part in zip(*skies, strict=True)))
    grid, recess = sky_grid(place.obstacles), plate_recess(box)

    def brought(bearing_deg: Array, tilt_deg: Array) -> Array:
        """Return the irradiance, (12, times, aims), of aims (12 or 1, times or 1, aims)."""
        light = plate_light(
            sky, tilt_deg, bearing_deg, place.ground_albedo_frac, place.obstacles, grid, recess
        )
        return light.inside_w_m2

    bearings, tilts = np.meshgrid(
        np.arange(0.0, 360.0, COARSE_DEG), np.arange(0.0, box.most_tilt_deg + 1.0, COARSE_DEG)
    )
    bearing, tilt, most = best_aims(
        lambda bearing, tilt: brought(bearing[:, None], tilt[:, None]).mean(axis=1),
        (bearings.ravel(), tilts.ravel()),
        step_deg=COARSE_DEG,
        rounds=ROUNDS + 1,
        most_tilt_deg=box.most_tilt_deg,
    )
    hourly = [
        part[:, columns, None] for part in hourly_aims(table, place.obstacles, box.most_tilt_deg)
    ]
    turned = brought(*hourly).mean(axis=(1, 2))
    dark = most < 1.0
    kept = np.where(dark, 0.0, most / np.maximum(turned, 1e-9))
    return tuple(
        MonthAim(
            month=month + 1,
            bearing_deg=180.0 if dark[month] else float(bearing[month]),
            tilt_deg=0.0 if dark[month] else float(tilt[month]),
            plate_irradiance_w_m2=float(most[month]),
            kept_frac=float(min(kept[month], 1.0)),
        )
        for month in range(12)
    )
