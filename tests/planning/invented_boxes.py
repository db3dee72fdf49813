"""Invented boxes, hands and papers of known truth, days for them, and the notes they lead to.

The truth is drawn from the spreads of the tables, runs through the simulation at its own steps
under drawn weather that differs from what is noted, and is read with errors and slips.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.notes.fits import OWN
from drybox.inputs.notes.note import Note
from drybox.physics.simulation.drying_times import water_left_kg_m2
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty, run_print
from drybox.physics.simulation.step import step_ends_s
from drybox.planning.calibration.model import PRINT_SPREADS
from drybox.planning.calibration.noted_weather import HAND_HEIGHT_M
from drybox.planning.scenario.conditions import Conditions, conditions
from drybox.planning.scenario.models import (
    PrintDraw,
    box_system,
    dry_targets,
    free_sheet_system,
    laid_on_water_kg_m2,
)
from drybox.planning.scenario.outside import plate_forcing, sheet_forcing
from drybox.planning.scenario.samples import Ensemble, draw
from drybox.tables import load_table

Array = NDArray[np.float64]

ZONE = "Europe/Vienna"
# day, sky, air in °C, humidity in %, wind at 10 m in m/s
DAYS = (
    ("2027-06-05", "clear", 22, 50, 2.0),
    ("2027-06-12", "3 oktas", 25, 55, 3.0),
    ("2027-06-26", "clear", 28, 40, 1.5),
    ("2027-07-03", "5 oktas", 20, 65, 4.0),
    ("2027-07-10", "clear", 30, 45, 2.5),
    ("2027-07-24", "hazy", 26, 60, 1.0),
    ("2027-08-07", "4 oktas", 23, 60, 3.5),
    ("2027-08-14", "clear", 24, 50, 2.0),
    ("2027-08-28", "6 oktas", 18, 70, 3.0),
    ("2027-09-04", "clear", 21, 55, 2.5),
)
NEW_DAYS = (
    ("2027-06-19", "clear", 24, 50, 2.5),
    ("2027-07-17", "2 oktas", 27, 45, 2.0),
    ("2027-08-21", "clear", 22, 60, 3.0),
)
# seconds after the opening at 9
PLATE_S = np.array([5400.0, 7200.0, 10800.0, 14400.0, 18000.0])
LAID_S = np.array([6000.0, 9000.0, 12000.0, 16200.0])
LINE_S = np.array([9600.0])
WEIGHED_S = 60.0 * np.array([3.0, 6.0, 9.0, 12.0, 15.0])  # after laying on, of a weighed print
SEEN_S = np.array([5400.0, 7200.0, 8700.0])  # the plate on a day to come, before LAID_S[1]


def event_on(
    date: str, sky: str, air_c: float, humidity: float, wind_m_s: float, **more: str
) -> Event:
    said = {"weather.cloud": sky} if "oktas" in sky else {"weather.sky": sky}
    return load_event(
        None,
        said
        | {
            "place.latitude": 47.2,
            "place.longitude": 12.3,
            "place.elevation": "500 m",
            "place.timezone": ZONE,
            "event.date": date,
            "event.opens": "09:00",
            "event.closes": "17:00",
            "weather.air_temp": f"{air_c} °C",
            "weather.humidity": f"{humidity} %",
            "weather.wind": f"{wind_m_s} m/s",
            "box.aim": "fixed",
            "box.bearing": "180 deg",
            "box.tilt": "35 deg",
        }
        | more,
    )


@dataclass(frozen=True)
class Boxes:
    """Hidden truth of some boxes: one value each of everything that is one's own."""

    own: dict[str, Array]

    @classmethod
    def invented(cls, count: int, seed: int) -> Boxes:
        rng = np.random.default_rng(seed)
        table = load_table("spreads")["own"]
        return cls({name: table[name].value * rng.standard_normal(count) for name in OWN})

    @property
    def count(self) -> int:
        return int(self.own["water_log"].size)

    def prints(self, rng: np.random.Generator, each: int = 1) -> PrintDraw:
        """Return so many prints from each box, all first ones first."""
        table = load_table("spreads")["print"]
        own = {name: np.tile(values, each) for name, values in self.own.items()}

        def differs(name: str) -> Array:
            return np.asarray(table[name].value * rng.standard_normal(each * self.count))

        logs = {**own, **{name: own[name] + differs(name) for name in PRINT_SPREADS[:-1]}}
        return PrintDraw.from_logs(logs, differs("absorptance"))


@dataclass(frozen=True)
class TrueDay:
    """What happens to every box on one day: plate (times, boxes), prints (laid, boxes).

    ``plate_temp_k`` is at `PLATE_S`, ``seen_temp_k`` at `SEEN_S`; ``run_kg_m2`` (times, laid,
    boxes) is the water in each print at ``run_s`` after it is laid on.
    """

    event: Event
    told: Conditions
    sun: Forcing
    plate_temp_k: Array
    seen_temp_k: Array
    plate_dry_s: Array
    line_dry_s: Array
    water_kg_m2: Array
    run_s: Array
    run_kg_m2: Array


def true_day(boxes: Boxes, event: Event, kind: str, seed: int) -> TrueDay:
    """Return what really happens."""
    rng = np.random.default_rng([seed, 7])
    n, start = boxes.count, event.opens_at
    told = conditions(event.weather, event.place, start, end_at=event.closes_at + 3600.0)
    weather = draw(told, kind, n, seed=seed).conditions
    own = boxes.prints(rng)
    ensemble = Ensemble(
        weather, own, np.exp(boxes.own["shelter_log"]), np.exp(boxes.own["line_log"])
    )
    bearing = np.full(told.time_at.shape, event.box.aim_bearing_deg)
    tilt = np.full(told.time_at.shape, event.box.aim_tilt_deg)
    sun = plate_forcing(ensemble, event.place, event.box, aim_deg=(bearing, tilt))
    line = sheet_forcing(ensemble, event.place, "line_shade", facing_deg=180.0)
    empty = box_system(event.box, event.paper, own)
    _, plate, _ = run_empty(empty, sun, np.arange(n), start_at=np.full(n, start), horizon_s=19800.0)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2

    run_s = step_ends_s(WEIGHED_S[-1] + 120.0)

    def dried(on_plate: bool, after_s: Array) -> tuple[Array, Array, Array]:
        prints = boxes.prints(rng, after_s.size)
        laid, member = start + np.repeat(after_s, n), np.tile(np.arange(n), after_s.size)
        forcing = sun if on_plate else line
        air = forcing.at(member, laid).air_temp_k
        metal = plate[(after_s / 60).round().astype(int)].ravel() if on_plate else air
        system = (
            box_system(event.box, event.paper, prints)
            if on_plate
            else free_sheet_system(event.paper, "line_shade", prints)
        )
        water = np.asarray(laid_on_water_kg_m2(event.paper, prints))
        laid_on = {
            "laid_on_at": laid,
            "plate_temp_k": metal,
            "sheet_temp_k": air,
            "water_kg_m2": water,
        }
        run = run_print(
            system,
            forcing,
            member,
            **laid_on,
            dry_kg_m2=dry,
            over_dry_kg_m2=dry,
            horizon_s=5 * 3600.0,
        )
        left = np.zeros((0, member.size))
        if on_plate:
            left = water_left_kg_m2(system, forcing, member, **laid_on, ends_s=run_s)
        shape = after_s.size, n
        return run.dry_after_s.reshape(shape), water.reshape(shape), left.reshape(-1, *shape)

    plate_dry, water, left = dried(True, LAID_S)
    return TrueDay(
        event=event,
        told=told,
        sun=sun,
        plate_temp_k=plate[(PLATE_S / 60).round().astype(int)],
        seen_temp_k=plate[(SEEN_S / 60).round().astype(int)],
        plate_dry_s=plate_dry,
        line_dry_s=dried(False, LINE_S)[0],
        water_kg_m2=water[0],
        run_s=np.append(0.0, run_s),
        run_kg_m2=left,
    )


def notes_of(day: TrueDay, box: int, seed: int, mistakes: float = 0.05) -> list[Note]:
    """Return what the owner of a box writes down: with reading errors, and slips as often as said.

    The errors of reading are the same whatever the share of slips.
    """
    rng, slip_rng = (np.random.default_rng([seed, box, k]) for k in range(2))
    spread = load_table("spreads")["noted"]
    opens, about = day.event.opens_at, {"timezone": ZONE, "event": str(day.event.date)}

    def slip(*wrong: float, right: float) -> float:
        happens, which = slip_rng.random() < mistakes, slip_rng.integers(len(wrong))
        return wrong[which] if happens else right

    notes = [_sky_note(day, about)]
    for after, true_k in zip(PLATE_S, day.plate_temp_k[:, box], strict=True):
        temp = true_k + spread["plate_temp"].value * rng.standard_normal()
        temp = round((temp + slip(-15.0, 15.0, right=0.0)) * 2) / 2
        notes.append(Note(kind="plate", at_s=int(opens + after), temp_k=temp, **about))
    dried = (("sun_plate", LAID_S, day.plate_dry_s), ("line_shade", LINE_S, day.line_dry_s))
    for way, starts, took in dried:
        for k, after in enumerate(starts):
            felt = took[k, box] * np.exp(spread["dry_log"].value * rng.standard_normal())
            felt *= slip(0.5, 2.0, right=1.0)
            if not np.isfinite(felt):
                continue
            laid, ticket = int(opens + after), f"{way}{k}"
            dry = max(round((laid + felt) / 60) * 60, laid + 60)
            notes.append(Note(kind="laid", at_s=laid, ticket=ticket, way=way, **about))
            notes.append(Note(kind="dry", at_s=int(dry), ticket=ticket, **about))
    paper = day.event.paper
    mass = (paper.dry_mass_kg_m2 + day.water_kg_m2[box]) * paper.area_m2
    mass = (mass + spread["mass"].value * rng.standard_normal()) * slip(10.0, right=1.0)
    weighed = {"state": "squeegeed", "mass_kg": float(mass)}
    notes.append(Note(kind="weighed", at_s=int(opens + 5700), **weighed, **about))
    return [replace(note, id=f"{box}-{seed}-{k}") for k, note in enumerate(notes)]


def weighed_notes(
    day: TrueDay, box: int, seed: int, prints: int = 1, mistakes: float = 0.05
) -> list[Note]:
    """Return the weighings of the day's first prints while they dry, and of them dry.

    Dry sheets differ by as much as tables say. A weighing is off its minute by some seconds, and so
    is the laying-on; a slip is a gram.
    """
    rng = np.random.default_rng([seed, box, 2])
    spread, paper = load_table("spreads")["noted"], day.event.paper
    about = {"timezone": ZONE, "event": str(day.event.date), "kind": "weighed"}
    held = dry_targets(paper, day.event.limits).dry_kg_m2
    notes = []
    for k in range(prints):
        late, dry_off, room, *errors = rng.standard_normal(3 + 3 * WEIGHED_S.size)
        jitter, scale, slips = np.reshape(errors, (3, -1))
        dry = paper.dry_mass_kg_m2 * (1 + spread["dry_mass_frac"].value * dry_off)
        ticket, laid = f"sun_plate{k}", int(day.event.opens_at + LAID_S[k])
        for n, after in enumerate(WEIGHED_S):
            if after >= day.plate_dry_s[k, box]:
                break
            at = after + spread["weighed_clock"].value * jitter[n] + spread["clock"].value * late
            water = np.interp(at, day.run_s, day.run_kg_m2[:, k, box])
            mass = (dry + water) * paper.area_m2 + spread["mass"].value * scale[n]
            if ndtr(slips[n]) < mistakes:
                mass += 1e-3 if slips[n] > ndtri(mistakes / 2) else -1e-3
            mass = round(mass * 2e4) / 2e4  # a scale that shows 0.05 g
            notes.append(Note(at_s=int(laid + after), ticket=ticket, mass_kg=mass, **about))
        room_kg_m2 = spread["dry_moisture_frac"].value * room * dry
        mass = (dry + held + room_kg_m2) * paper.area_m2
        mass += spread["mass"].value * rng.standard_normal()
        at_s = int(day.event.opens_at + 10 * 3600)
        notes.append(Note(at_s=at_s, ticket=ticket, state="dry", mass_kg=float(mass), **about))
    return [replace(note, id=f"{box}-{seed}-w{k}") for k, note in enumerate(notes)]


def plate_seen_k(day: TrueDay, seed: int, mistakes: float = 0.05) -> Array:
    """Return what thermometers show on the plates at `SEEN_S`, with slips, (times, boxes)."""
    rng = np.random.default_rng([seed, 3])
    shape = day.seen_temp_k.shape
    read = day.seen_temp_k + load_table("spreads")["noted"][
        "plate_temp"
    ].value * rng.standard_normal(shape)
    slips = np.where(rng.random(shape) < mistakes, rng.choice([-15.0, 15.0], shape), 0.0)
    return np.asarray(np.round((read + slips) * 2) / 2)


def _sky_note(day: TrueDay, about: dict[str, str]) -> Note:
    """Return the weather as told, its wind as felt where the box stands."""
    weather, place = day.event.weather, day.event.place
    hazy = bool(weather.linke_turbidity)
    return Note(
        kind="sky",
        at_s=int(day.event.opens_at + 3600),
        temp_k=weather.air_temp_k[0],
        humidity_frac=weather.humidity_frac[0],
        wind_m_s=float(day.told.wind_at_m_s(HAND_HEIGHT_M, place.roughness_length_m)[0]),
        sky="hazy" if hazy else "",
        cloud_frac=None if hazy else weather.cloud_frac[0],
        **about,
    )
