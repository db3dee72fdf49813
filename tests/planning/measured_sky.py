"""Prints laid on under measured sun, as they dried and as they were foretold.

Truth is the same engine on the measured minutes with one print and box drawn; what is foretold
comes from `samples.draw` on hourly means, or on cloud in eighths alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.weather import Weather
from drybox.physics.constants import STEFAN_BOLTZMANN_W_M2_K4
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty, run_print
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import PrintDraw, box_system, dry_targets, laid_on_water_kg_m2
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import Ensemble, draw, draw_prints
from drybox.planning.season.times import PLATE_STEPS
from drybox.tables import load_table
from tests.planning import graz, payerne

CLOCK_HOURS = np.arange(9, 17)
"""A print is laid on at each of these full hours of every day, by the clock."""

OUT_S, UNTIL_S = 7 * 3600.0, 24 * 3600.0
"""The box is set out, and the day ends; from local midnight. [s]"""

HORIZON_S = 8 * 3600.0
"""A print is followed as long as `dry` follows it; what is not dry by then counts as this. [s]"""

HEATS = ("plate_temp_max_k", "temp_kept_max_k")
CLASSES = ("clear", "broken", "dull")

FITTED = (
    {"long_lasts": 105 * 60.0, "short_lasts": 10.5 * 60.0, "softness": 0.32},
    {"long_lasts": 69 * 60.0, "short_lasts": 14.8 * 60.0, "softness": 0.32},
)
"""What the figures of the drawn minutes came out as when fitted to even weeks, and to odd ones."""


@dataclass(frozen=True)
class Station:
    """Where sun was measured by the minute, on how many days from the first on.

    ``tuned`` where the figures of the drawn minutes were read off its own weeks.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    timezone: str
    first: date
    days: int
    minutes: Callable[[], graz.Minutes]
    tuned: bool

    def event(self) -> Event:
        """Return the box there, aimed at the sun."""
        return load_event(
            None,
            {
                "place.latitude": self.latitude_deg,
                "place.longitude": self.longitude_deg,
                "place.elevation": f"{self.elevation_m:g} m",
                "event.date": f"{self.first:%Y-06-21}",
                "weather.cloud": "0 oktas",
            },
        )


GRAZ = Station(
    name="Graz",
    latitude_deg=graz.LATITUDE_DEG,
    longitude_deg=graz.LONGITUDE_DEG,
    elevation_m=graz.ELEVATION_M,
    timezone="Europe/Vienna",
    first=date(2017, 1, 1),
    days=365,
    minutes=graz.year,
    tuned=True,
)
PAYERNE = Station(
    name="Payerne",
    latitude_deg=payerne.LATITUDE_DEG,
    longitude_deg=payerne.LONGITUDE_DEG,
    elevation_m=payerne.ELEVATION_M,
    timezone="Europe/Zurich",
    first=date(2016, 6, 1),
    days=30,
    minutes=payerne.month,
    tuned=False,
)


@dataclass(frozen=True)
class Laid:
    """One row a laying-on: what came of it, and of each member foretold."""

    day: np.ndarray
    odd: np.ndarray
    share: np.ndarray
    truth: dict[str, np.ndarray]
    told: dict[str, np.ndarray]

    @property
    def sky(self) -> np.ndarray:
        """Which of `CLASSES` by the sun told for the hour after laying on."""
        return np.where(self.share > 0.9, 0, np.where(self.share < 0.1, 2, 1))


def whole_days(station: Station) -> tuple[list[np.ndarray], list[str]]:
    """Return the minutes of each day without a gap from setting out on, and the days left out."""
    year, zone = station.minutes(), ZoneInfo(station.timezone)
    known = np.isfinite(year.dni_w_m2 + year.ghi_w_m2) & np.isfinite(
        year.air_temp_k + year.humidity_frac + year.wind_m_s
    )
    found, dropped = [], []
    for number in range(station.days):
        noon = datetime.combine(station.first + timedelta(days=number), datetime.min.time())
        day = noon.replace(hour=12, tzinfo=zone)
        begin = int((day.timestamp() - 12 * 3600.0 + OUT_S - year.time_at[0]) // 60)
        columns = np.arange(begin, begin + int((UNTIL_S - OUT_S) / 60) + 1)
        if columns[-1] >= known.size or not known[columns].all():
            dropped.append(f"{day:%m-%d}")
        else:
            found.append(columns)
    return found, dropped


@dataclass(frozen=True)
class MeasuredDay:
    """A day as it was: truth by the minute, and the two ways in which it is told."""

    truth: Conditions
    hourly: Conditions
    oktas: Conditions
    share: np.ndarray


def measured_day(station: Station, event: Event, columns: np.ndarray) -> MeasuredDay:
    """Return a day's conditions, all (times,), and the told share of sun by laying-on hour."""
    year = station.minutes()
    time_at = year.time_at[columns]
    begin = columns[0] + 60 * np.arange(-1, (columns.size - 1) // 60 + 1)
    hours = begin[:, None] + np.arange(60)
    hours = np.clip(hours, 0, year.time_at.size - 1)
    start_at = year.time_at[columns[0]] + 3600.0 * np.arange(-1, hours.shape[0] - 1)

    def mean(values: np.ndarray) -> np.ndarray:
        return np.nanmean(values[hours], axis=1)

    up = np.maximum(np.sin(np.deg2rad(year.sun.elevation_deg)), 0.0)
    dni = np.where(up > 0.0, np.maximum(year.dni_w_m2, 0.0), 0.0)
    dhi = np.where(up > 0.0, np.maximum(year.ghi_w_m2 - dni * up, 0.0), 0.0)
    high = year.clear.dni_w_m2[hours] > 200.0
    shade = (year.dni_w_m2[hours] <= graz.SUN_W_M2) & high
    seen = high.sum(axis=1)
    known = seen >= 20
    oktas = np.zeros(len(hours))
    if known.any():
        share = shade.sum(axis=1)[known] / seen[known]
        oktas = np.rint(8 * np.interp(start_at, start_at[known], share))
    told = {
        "air_temp_k": mean(year.air_temp_k),
        "humidity_frac": mean(year.humidity_frac),
        "wind_10m_m_s": mean(year.wind_m_s),
    }
    by_hour = Weather(
        "measured",
        start_at,
        start_at + 3600.0,
        source=station.name,
        dni_w_m2=mean(dni),
        dhi_w_m2=mean(dhi),
        **told,
    )
    by_cloud = Weather(
        "forecast",
        start_at,
        start_at + 3600.0,
        source=station.name,
        cloud_frac=oktas / 8.0,
        **told,
    )
    hourly, cloudy = (
        conditions(weather, event.place, float(time_at[0]), end_at=float(time_at[-1]))
        for weather in (by_hour, by_cloud)
    )
    truth = replace(
        hourly,
        dni_w_m2=dni[columns],
        dhi_w_m2=dhi[columns],
        ghi_w_m2=(dni * up + dhi)[columns],
        air_temp_k=year.air_temp_k[columns],
        humidity_frac=np.clip(year.humidity_frac[columns], 0.02, 1.0),
        wind_10m_m_s=np.maximum(year.wind_m_s[columns], 0.0),
    )
    clear, beam = mean(year.clear.dni_w_m2), mean(dni)
    at = (CLOCK_HOURS - int(OUT_S / 3600.0)) + 1
    share = np.where(clear[at] > 50.0, beam[at] / np.maximum(clear[at], 50.0), 0.0)
    return MeasuredDay(truth, hourly, cloudy, share)


def _rows(day: Conditions, members: int) -> Conditions:
    """Return the same day as so many members."""
    return replace(
        day,
        **{
            name: np.tile(getattr(day, name), (members, 1))
            for name in (
                *("ghi_w_m2", "dni_w_m2", "dhi_w_m2"),
                *("air_temp_k", "humidity_frac", "wind_10m_m_s", "cloud_frac"),
            )
        },
    )


def lay_on(
    event: Event, ensembles: list[Ensemble], case_member: list[np.ndarray]
) -> dict[str, np.ndarray]:
    """Return what comes of a print laid on at `CLOCK_HOURS`.

    Parameters
    ----------
    event : Event
        Box and paper.
    ensembles : list of Ensemble
        Of as many days; each faces the sun.
    case_member : list of array
        For each ensemble, the member of each case by hour, (hours, cases).
    """
    parts, draws, member, laid, first = [], [], [], [], 0
    for ensemble, cases in zip(ensembles, case_member, strict=True):
        sun = ensemble.conditions.sun
        up = sun.elevation_deg > 0
        bearing = np.where(up, sun.azimuth_deg, 180.0)
        tilt = np.clip(np.where(up, 90.0 - sun.elevation_deg, 0.0), 0.0, 90.0)
        parts.append(plate_forcing(ensemble, event.place, event.box, aim_deg=(bearing, tilt)))
        draws.append(ensemble.prints)
        member.append(cases.ravel() + first)
        laid.append(np.repeat(3600.0 * CLOCK_HOURS - OUT_S, cases.shape[1]))
        first += ensemble.members
    forcing = Forcing.joined(parts)
    drawn = PrintDraw.joined(draws)
    every = np.arange(forcing.members)
    out = np.full(every.size, forcing.start_at)
    system = box_system(event.box, event.paper, drawn)
    last = 3600.0 * CLOCK_HOURS[-1] - OUT_S
    _, warm, _ = run_empty(system, forcing, every, start_at=out, horizon_s=last, step_s=120.0)
    row, after = np.concatenate(member), np.concatenate(laid)
    prints = drawn.of(row)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2
    at = forcing.start_at + after
    run = run_print(
        box_system(event.box, event.paper, prints),
        forcing,
        row,
        laid_on_at=at,
        plate_temp_k=warm[(after / 120.0).astype(int), row],
        sheet_temp_k=forcing.at(row, at).air_temp_k,
        water_kg_m2=np.broadcast_to(laid_on_water_kg_m2(event.paper, prints), row.shape),
        dry_kg_m2=dry,
        over_dry_kg_m2=dry,
        horizon_s=HORIZON_S,
        control=PLATE_STEPS,
    )
    return {
        "minutes": np.minimum(run.dry_after_s, HORIZON_S) / 60.0,
        **{name: getattr(run, name) for name in HEATS},
    }


@contextmanager
def fitted_to(half: int) -> Iterator[None]:
    """Draw minutes by what was fitted to even (0) or odd (1) weeks."""
    rows = load_table("spreads")["broken_cloud"]
    before = dict(rows)
    rows.update({name: replace(rows[name], value=value) for name, value in FITTED[half].items()})
    try:
        yield
    finally:
        rows.update(before)


def study(
    station: Station, told_by: str, *, members: int = 40, every: int = 1, at_once: int = 12
) -> Laid:
    """Return every laying-on of every day, or of one in so many days.

    Parameters
    ----------
    station : Station
        Where.
    told_by : str
        ``hourly`` or ``oktas``.
    members : int
        Drawn for what is foretold.
    every : int
        Which days are taken.
    at_once : int
        Days run together.
    """
    event = station.event()
    days, _ = whole_days(station)
    kind = {"hourly": "measured", "oktas": "forecast"}[told_by]
    hours = CLOCK_HOURS.size
    rows: list[tuple[int, bool, np.ndarray]] = []
    truth: dict[str, list[np.ndarray]] = {name: [] for name in ("minutes", *HEATS)}
    told: dict[str, list[np.ndarray]] = {name: [] for name in ("minutes", *HEATS)}
    numbers = list(range(0, len(days), every))
    for begin in range(0, len(numbers), at_once):
        ensembles, cases = [], []
        batch = numbers[begin : begin + at_once]
        for number in batch:
            columns = days[number]
            odd = bool(station.minutes().week[columns[0]] % 2)
            there = measured_day(station, event, columns)
            rows.append((number, odd, there.share))
            rng = np.random.default_rng([7, number])
            ensembles.append(Ensemble(_rows(there.truth, hours), *draw_prints(rng, hours)))
            cases.append(np.arange(hours)[:, None])
            with fitted_to(0 if odd else 1) if station.tuned else nullcontext():
                ensembles.append(draw(getattr(there, told_by), kind, members, seed=1000 + number))
            cases.append(np.tile(np.arange(members), (hours, 1)))
        found = lay_on(event, ensembles, cases)
        cut = np.cumsum([each.size for each in cases])[:-1]
        for name, values in found.items():
            parts = np.split(values, cut)
            truth[name] += parts[0::2]
            told[name] += [part.reshape(hours, members) for part in parts[1::2]]
    return Laid(
        day=np.repeat([row[0] for row in rows], hours),
        odd=np.repeat([row[1] for row in rows], hours),
        share=np.concatenate([row[2] for row in rows]),
        truth={name: np.concatenate(parts) for name, parts in truth.items()},
        told={name: np.concatenate(parts) for name, parts in told.items()},
    )


def ranks(truth: np.ndarray, told: np.ndarray, seed: int = 1) -> np.ndarray:
    """Return where each truth lies among its members, 0 to 1, ties by chance.

    So a print that is not dry when it is left, among members that are not, counts as any of them.
    """
    rng = np.random.default_rng(seed)
    below = (told < truth[:, None]).sum(axis=1)
    same = (told == truth[:, None]).sum(axis=1)
    return (below + rng.random(truth.size) * (same + 1)) / (told.shape[1] + 1)


def crps(truth: np.ndarray, told: np.ndarray) -> np.ndarray:
    """Return the continuous ranked probability score of each case, members (cases, members)."""
    ordered = np.sort(told, axis=1)
    n = told.shape[1]
    weights = 2.0 * np.arange(1, n + 1) - n - 1
    return np.abs(told - truth[:, None]).mean(axis=1) - ordered @ weights / n**2


def by_days(values: np.ndarray, day: np.ndarray, seed: int = 1) -> tuple[float, float]:
    """Return the 95 % interval of a mean by drawing whole days anew."""
    rng = np.random.default_rng(seed)
    names, place = np.unique(day, return_inverse=True)
    total = np.bincount(place, values, minlength=names.size)
    count = np.bincount(place, minlength=names.size)
    picks = rng.integers(0, names.size, (1000, names.size))
    means = total[picks].sum(axis=1) / count[picks].sum(axis=1)
    low, high = np.quantile(means, [0.025, 0.975])
    return float(low), float(high)


def rivals(laid: Laid) -> dict[str, np.ndarray]:
    """Return the score of the best constant range, and of the practitioner's rule.

    The constant range is all that was measured in the other half of the weeks. The rule says 15 to
    20 min in sun and an hour and a half without.
    """
    minutes = laid.truth["minutes"]
    constant = np.zeros(minutes.size)
    for half in (False, True):
        other = np.quantile(minutes[laid.odd != half], (np.arange(200) + 0.5) / 200)
        here = laid.odd == half
        constant[here] = crps(minutes[here], np.tile(other, (here.sum(), 1)))
    sunny = np.linspace(15.0, 20.0, 21)
    rule = np.where((laid.share > 0.5)[:, None], sunny, 90.0)
    return {"constant": constant, "rule": crps(minutes, rule)}


def figures(laid: Laid) -> dict[str, dict[str, float]]:
    """Return the figures of each class and of all."""
    rank = ranks(laid.truth["minutes"], laid.told["minutes"])
    hot = {name: ranks(laid.truth[name], laid.told[name]) > 0.9 for name in HEATS}
    scores = {"ours": crps(laid.truth["minutes"], laid.told["minutes"]), **rivals(laid)}
    found = {}
    for number, name in enumerate((*CLASSES, "all")):
        here = (laid.sky == number) | (name == "all")
        day = laid.day[here]
        held = ((rank > 0.1) & (rank < 0.9))[here]
        before = (rank < 0.9)[here]
        found[name] = {
            "n": float(here.sum()),
            "before_p10": float((rank < 0.1)[here].mean()),
            "before_p50": float((rank < 0.5)[here].mean()),
            "before_p90": float(before.mean()),
            "held": float(held.mean()),
            **dict(zip(("held_low", "held_high"), by_days(held * 1.0, day), strict=True)),
            **dict(zip(("p90_low", "p90_high"), by_days(before * 1.0, day), strict=True)),
            **{f"hot_{heat}": float(over[here].mean()) for heat, over in hot.items()},
            **{f"crps_{who}": float(score[here].mean()) for who, score in scores.items()},
        }
    return found


def cloudless(station: Station) -> np.ndarray:
    """Return measured over clear direct light of each hour without shade, the sun over 15°."""
    event, found = station.event(), []
    for columns in whole_days(station)[0]:
        day = measured_day(station, event, columns).truth
        beam, clear, height = (
            values[:-1].reshape(-1, 60)
            for values in (day.dni_w_m2, day.clear.dni_w_m2, day.sun.elevation_deg)
        )
        here = (beam > graz.SUN_W_M2).all(axis=1) & (height > 15.0).all(axis=1)
        found.append(beam[here].mean(axis=1) / clear[here].mean(axis=1))
    return np.concatenate(found)


def longwave(station: Station) -> dict[str, np.ndarray]:
    """Return the sky's longwave radiation by day, from 9 to 18 h: ours and measured, by sky.

    ``ours_w_m2``, ``measured_w_m2`` and ``share``, the direct sun over that of the clear sky.
    """
    event, year = station.event(), station.minutes()
    assert year.longwave_w_m2 is not None
    parts = []
    for columns in whole_days(station)[0]:
        day = measured_day(station, event, columns).truth
        hours = np.arange(columns.size) / 60.0 + OUT_S / 3600.0
        open_hours = (hours >= 9.0) & (hours <= 18.0)
        ours = STEFAN_BOLTZMANN_W_M2_K4 * np.broadcast_to(day.sky_temp_k, (1, columns.size))[0] ** 4
        share = year.dni_w_m2[columns] / np.maximum(year.clear.dni_w_m2[columns], 50.0)
        parts.append(np.stack([ours, year.longwave_w_m2[columns], share])[:, open_hours])
    names = ("ours_w_m2", "measured_w_m2", "share")
    joined = np.concatenate(parts, axis=1)
    joined = joined[:, np.isfinite(joined).all(axis=0)]
    return dict(zip(names, joined, strict=True))


def table(told_by: str, found: dict[str, dict[str, float]]) -> str:
    """Return the figures as a table for people."""
    lines = [
        "| told as " + told_by + " | n | before P10 | P50 | P90 (95 %) | P10-P90 holds (95 %) |"
        " plate over P90 | print over P90 | CRPS min | constant | rule |",
        "|" + "---|" * 11,
    ]
    for name, row in found.items():
        lines.append(
            f"| {name} | {row['n']:.0f} | {row['before_p10']:.3f} | {row['before_p50']:.3f} |"
            f" {row['before_p90']:.3f} ({row['p90_low']:.3f}-{row['p90_high']:.3f}) |"
            f" {row['held']:.3f} ({row['held_low']:.3f}-{row['held_high']:.3f}) |"
            f" {row['hot_plate_temp_max_k']:.3f} | {row['hot_temp_kept_max_k']:.3f} |"
            f" {row['crps_ours']:.1f} | {row['crps_constant']:.1f} | {row['crps_rule']:.1f} |"
        )
    return "\n".join(lines)
