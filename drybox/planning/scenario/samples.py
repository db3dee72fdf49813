"""What is not known of the weather, the box and the prints, drawn by a seed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from scipy.special import ndtri

from drybox.arrays import Array, Index
from drybox.inputs.event.event import Event
from drybox.inputs.event.place import Place
from drybox.inputs.notes.fits import OWN, KeptFit
from drybox.inputs.weather.weather import Weather
from drybox.physics.air import dew_point_k, vapour_pressure_pa
from drybox.physics.clear_sky import brightest_w_m2
from drybox.planning.scenario.conditions import OKTAS, STEP_S, Conditions, cloud_light, conditions
from drybox.planning.scenario.models import PrintDraw
from drybox.planning.scenario.sun_minutes import (
    diffuse_minutes,
    faded,
    rows_of,
    shifted_share,
    sun_as_told,
    told_sun,
)
from drybox.tables import load_table

DAY_S = 86400.0

MOST_KEPT = 64
"""Days of so few members are kept: one command asks for the same ones several times."""

SHIFTS = ("air_temp", "humidity", "wind_log", "cloud", "beam_log", "diffuse")
"""What a whole day is off by; columns of the table ``spreads``."""

DRAWN = (
    *("ghi_w_m2", "dni_w_m2", "dhi_w_m2"),
    *("air_temp_k", "humidity_frac", "wind_10m_m_s", "cloud_frac"),
)
"""Columns of the day that differ from member to member."""

USUAL_SHIFTS = {"air_temp_k": "air_temp", "humidity_frac": "dew_point", "wind_10m_m_s": "wind_log"}
"""Columns of the weather that may be what is usual, and what they are then off by."""


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Members of a day: conditions (members, times), prints, shelter and line (members,).

    ``shelter_factor`` multiplies the share of the wind that reaches the plate, ``line_factor``
    that which reaches prints dried off the box.
    """

    conditions: Conditions
    prints: PrintDraw
    shelter_factor: Array
    line_factor: Array | float = 1.0

    @property
    def members(self) -> int:
        """How many."""
        return int(self.shelter_factor.size)

    def of_members(self, rows: Index, weathers: Index | None = None) -> Ensemble:
        """Return some members, in the order given, or their boxes and prints in other weathers."""
        of = rows if weathers is None else weathers
        day = self.conditions.changed(lambda column: column[of] if column.ndim == 2 else column)
        line = np.broadcast_to(self.line_factor, self.members)[rows]
        return Ensemble(
            conditions=day,
            prints=self.prints.of(rows),
            shelter_factor=self.shelter_factor[rows],
            line_factor=line,
        )

    def of_times(self, columns: slice) -> Ensemble:
        """Return the same members over some of the times."""
        day = self.conditions.changed(lambda column: column[..., columns])
        return replace(self, conditions=replace(day, time_at=day.time_at[columns]))


def normal_scores(rng: np.random.Generator, members: int) -> Array:
    """Return standard normal scores, one from each of as many equal slices, shuffled.

    Stratified, so that percentiles of a few hundred members are steady from seed to seed.
    """
    slices = (rng.permutation(members) + rng.random(members)) / members
    return np.asarray(ndtri(slices))


def draw(
    base: Conditions, kind: str, members: int, *, seed: int, fits: KeptFit | None = None
) -> Ensemble:
    """Return drawn weather, boxes and prints around the conditions told.

    ``kind`` is that of the weather, a row set of table ``spreads``; ``fits`` are what the user's
    own notes say of box, hand and paper, without which they are drawn from the spreads of all (item
    ``own``).

    Air temperature, humidity (or dew point), wind and haze are shifted for the whole day; what the
    cloud and the diffuse light are off by fades in hours. Sun and shade change by the minute
    (`sun_as_told`), since a plate lives on minutes: where irradiance was told its mean over the row
    is kept, or varies as a forecast errs; where only cloud was told an hour may be all sun or all
    shade. What differs from one print to the next (item ``print``) comes on top of what is one's
    own. Spreads: `weather_spreads`.
    """
    rng, *by_minute = np.random.default_rng(seed).spawn(6)
    spread = weather_spreads(
        kind, base.time_at, base.issued_at, usual=base.usual, latitude_deg=base.latitude_deg
    )
    scores = {name: normal_scores(rng, members)[:, None] for name in SHIFTS}
    clear_scores = normal_scores(rng, members)[:, None]
    step = float(base.time_at[1] - base.time_at[0])
    figures = load_table("spreads")["broken_cloud"]
    for name, own_rng in zip(("cloud", "diffuse"), by_minute, strict=False):
        fresh = own_rng.standard_normal((base.time_at.size, members))
        fresh[0] = scores[name][:, 0]
        scores[name] = faded(fresh, step, figures["error_lasts"].value)
    told, rows = told_sun(base), rows_of(base)
    # the unclouded sun is drawn where the day does not tell it
    day_log = (1.0 - told.known_frac) * figures["clearness_log"].value
    clearness = told.clearness * np.exp(day_log * clear_scores)
    clearness = np.asarray(np.maximum(clearness, told.share * told.clearness))
    minutes, slow = sun_as_told(
        by_minute[2],
        told.share * told.clearness / clearness,
        step,
        rows=rows,
        shift=spread["cloud"] * scores["cloud"],
        spread=spread["cloud"],
    )
    # the mean of a log-normal factor is kept, since many hours' light adds up
    scores["diffuse"] = scores["diffuse"] - 0.5 * spread["diffuse"] * by_cloud(base, "diffuse_log")
    light = diffuse_minutes(
        by_minute[3], by_cloud(base, "diffuse_minutes_log"), members, step_s=step, rows=rows
    )
    weather = shifted_day(base, spread, scores, sun=DrawnSun(minutes, slow, clearness, light))
    return Ensemble(weather, *draw_prints(prints_rng(seed), members, fits))


def draw_on(
    event: Event, day: Conditions, members: int, *, seed: int, weather: Weather | None = None
) -> Ensemble:
    """Return `draw` of an event's weather over some of its times, the same in every command.

    ``weather`` goes in the place of the event's, such as the same air under another sky.

    Whole days are drawn, from midnight to midnight, and cut: so a minute of a member is the same
    whichever part of the day is asked for.
    """
    there = weather or event.weather
    start, end = float(day.time_at[0]), float(day.time_at[-1])
    before = int((start - event.day_start_at) % DAY_S / STEP_S)
    first = start - before * STEP_S
    last = first + DAY_S * ((end - first) // DAY_S + 1.0) - STEP_S
    drawn = _drawn_days if members > MOST_KEPT else _kept_days
    whole = drawn(
        there, event.place, event.fit, first_at=first, last_at=last, members=members, seed=seed
    )
    return whole.of_times(slice(before, before + day.time_at.size))


def _drawn_days(
    weather: Weather,
    place: Place,
    fit: KeptFit | None,
    *,
    first_at: float,
    last_at: float,
    members: int,
    seed: int,
) -> Ensemble:
    whole = conditions(weather, place, first_at, end_at=last_at)
    return draw(whole, weather.kind, members, seed=seed, fits=fit)


_kept_days = lru_cache(maxsize=4)(_drawn_days)


class DrawnSun(NamedTuple):
    """The sun by the minute, its share in the cloud of the hour, and the unclouded sun's clearness.

    ``diffuse`` is diffuse light by the minute over that of the hour. Each (members, times) or
    broadcast to it.
    """

    minutes: Array
    slow: Array
    clearness: Array
    diffuse: Array | float = 1.0


def by_cloud(base: Conditions, name: str) -> Array:
    """Return a column of the table ``cloud_light`` at each time's cloud. [-]"""
    return np.asarray(np.interp(8.0 * base.cloud_frac, OKTAS, cloud_light(name)))


def weather_spreads(
    kind: str,
    time_at: Array,
    issued_at: float | None = None,
    *,
    usual: tuple[str, ...] = (),
    latitude_deg: float = 0.0,
) -> dict[str, Array | float]:
    """Return the standard deviation of each of `SHIFTS`, over the times where it grows.

    ``kind`` as in `draw`; without ``issued_at``, when the forecast was made, the spread is that of
    one day ahead. ``usual`` are columns of the weather that nobody told: they spread as
    `usual_spreads` says. Where ``dew_point`` [K] is among what is returned it takes the place of
    ``humidity``; ``dew_air`` is its correlation with the air temperature [-]. [s], [deg]

    Table ``spreads``; of a forecast table ``lead_times``, linear between the days it gives and
    held past the last.
    """
    spread: dict[str, Array | float] = {
        name: row.value for name, row in load_table("spreads")[kind].items()
    }
    if kind == "forecast":
        ahead_s = DAY_S if issued_at is None else np.maximum(time_at - issued_at, 0.0)
        for name, rows in load_table("lead_times").items():
            days = [float(row.removeprefix("day_")) for row in rows]
            found = np.interp(ahead_s / DAY_S, days, [row.value for row in rows.values()])
            spread[name] = float(found) if issued_at is None else found
    return spread | usual_spreads(usual, latitude_deg)


def usual_spreads(usual: tuple[str, ...], latitude_deg: float) -> dict[str, float]:
    """Return what a day is off by from the usual air of its place: spread of places and of days.

    ``usual`` are the columns that nobody told.

    >>> found = usual_spreads(("air_temp_k", "humidity_frac"), 48.0)
    >>> {name: round(value, 2) for name, value in found.items()}
    {'air_temp': 4.39, 'dew_point': 4.24, 'dew_air': 0.53}
    """
    table, far = load_table("spreads"), abs(latitude_deg)
    band = "within 25" if far < 25.0 else "within 40" if far <= 40.0 else "beyond 40"
    place, day = table["usual at the place"], table[f"usual day {band} deg"]
    shifts = [shift for column, shift in USUAL_SHIFTS.items() if column in usual]
    spread = {shift: float(np.hypot(place[shift].value, day[shift].value)) for shift in shifts}
    if {"air_temp", "dew_point"} <= spread.keys():
        spread["dew_air"] = table["usual"]["dew_air"].value
    return spread


def prints_rng(seed: int) -> np.random.Generator:
    """Return the generator of boxes and prints, so that every command draws the same ones."""
    return np.random.default_rng([seed, 2])


def draw_prints(
    rng: np.random.Generator, members: int, fits: KeptFit | None = None
) -> tuple[PrintDraw, Array, Array]:
    """Return as many prints, shelter factors and line factors, as in `draw`.

    They are the first print of every member's day, see `draw_tickets`.
    """
    own, prints = draw_tickets(rng, members, 1, fits=fits)
    logs = {**own, **{name: own.get(name, 0.0) + value[:, 0] for name, value in prints.items()}}
    logs["absorptance"] = own["absorptance"]
    drawn = PrintDraw.from_logs(logs, prints["absorptance"][:, 0])
    return drawn, np.exp(own["shelter_log"]), np.exp(own["line_log"])


def draw_tickets(
    rng: np.random.Generator, members: int, tickets: int, *, fits: KeptFit | None = None
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Return what is one's own in each member, and what each of its prints differs by.

    By the names of items ``own`` and ``print`` of table ``spreads``, (members,) and (members,
    tickets). Print k of member m is the same however many are asked for.
    """
    own_rng, sheets_rng = rng.spawn(2)
    spread = {name: row.value for name, row in load_table("spreads")["print"].items()}
    each = [
        {name: sd * normal_scores(sheet_rng, members) for name, sd in spread.items()}
        for sheet_rng in sheets_rng.spawn(max(tickets, 1))
    ]
    prints = {name: np.stack([sheet[name] for sheet in each], axis=1) for name in spread}
    return own_draws(fits, members, own_rng), prints


def own_draws(fits: KeptFit | None, members: int, rng: np.random.Generator) -> dict[str, Array]:
    """Return what is one's own in each member: from the fit's draws, else from all there are."""
    if fits is None:
        spread = load_table("spreads")["own"]
        return {name: spread[name].value * normal_scores(rng, members) for name in OWN}
    kept = next(iter(fits.draws.values())).size
    row = rng.permutation(members) * kept // members  # each draw as often as the next
    return {name: fits.draws[name][row] for name in OWN}


def shifted_day(
    base: Conditions,
    spread: Mapping[str, Array | float],
    scores: Mapping[str, Array],
    *,
    sun: DrawnSun | None = None,
) -> Conditions:
    """Return the day moved by so many standard deviations.

    ``spread`` has the standard deviation of each of `SHIFTS`, ``scores`` how many of them,
    (members, 1) or (members, times), what is left out stays as told; ``sun`` is drawn, (members,
    times), by default the share of sun, shifted.
    """

    def by(name: str) -> Array:
        return np.asarray(spread[name] * scores.get(name, np.zeros((1, 1))))

    told = told_sun(base)
    if sun is None:
        own = shifted_share(told.share, by("cloud"))
        sun = DrawnSun(own, own, told.clearness)
    more_sun = sun.slow - told.share
    beam = sun.minutes * sun.clearness * np.exp(by("beam_log")) * base.clear.dni_w_m2
    ghi_most, dni_most, dhi_most = brightest_w_m2(base.clear.dni_extra_w_m2, base.sun.elevation_deg)
    dni = np.minimum(beam, dni_most)
    closed = float(cloud_light("global_share")[-1])
    spare = np.maximum(base.clear.dhi_w_m2 - closed * base.clear.ghi_w_m2, -base.dhi_w_m2)
    dhi = np.maximum(base.dhi_w_m2 + more_sun * spare, 0.1 * base.clear.dhi_w_m2)
    dhi = dhi * np.exp(by("diffuse") * by_cloud(base, "diffuse_log")) * sun.diffuse
    up = np.maximum(np.sin(np.deg2rad(base.sun.elevation_deg)), 0.0)
    dhi = np.minimum(dhi, np.maximum(np.minimum(dhi_most, ghi_most - dni * up), base.dhi_w_m2))
    columns: Any = np.broadcast_arrays(
        dni * up + dhi,
        dni,
        dhi,
        base.air_temp_k + by("air_temp"),
        np.clip(_shifted_humidity(base, spread, scores), 0.03, 0.99),
        base.wind_10m_m_s * np.exp(by("wind_log")),
        np.clip(base.cloud_frac - more_sun, 0.0, 1.0),
    )
    return replace(base, **dict(zip(DRAWN, columns, strict=True)))


def _shifted_humidity(
    base: Conditions, spread: Mapping[str, Array | float], scores: Mapping[str, Array]
) -> Array:
    """Return the humidity of the shifted air: by itself, or by the dew point where that is off."""
    none = np.zeros((1, 1))
    own = scores.get("humidity", none)
    if "dew_point" not in spread:
        return np.asarray(base.humidity_frac + spread["humidity"] * own)
    shared = spread.get("dew_air", 0.0)
    score = shared * scores.get("air_temp", none) + np.sqrt(1.0 - np.square(shared)) * own
    air_temp_k = base.air_temp_k + spread["air_temp"] * scores.get("air_temp", none)
    dew_k = dew_point_k(base.vapour_pressure_pa) + spread["dew_point"] * score
    return np.asarray(vapour_pressure_pa(dew_k, 1.0) / vapour_pressure_pa(air_temp_k, 1.0))


def nominal(base: Conditions, fits: KeptFit | None = None) -> Ensemble:
    """Return the one member in which everything is as told, and what is one's own in its middle."""
    columns: dict[str, Any] = {name: getattr(base, name)[None, :] for name in DRAWN}
    single = replace(base, **columns)
    middle = {name: float(np.median(fits.draws[name])) if fits else 0.0 for name in OWN}
    prints = PrintDraw.from_logs(middle)
    shelter, line = (np.exp([middle[name]]) for name in ("shelter_log", "line_log"))
    return Ensemble(conditions=single, prints=prints, shelter_factor=shelter, line_factor=line)
