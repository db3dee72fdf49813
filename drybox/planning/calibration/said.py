"""A fit in words and figures: quantities before and after, and how each note stands to them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.event import Event
from drybox.inputs.event.paper import Paper
from drybox.inputs.notes.fits import OWN
from drybox.planning.calibration.fit import Fit
from drybox.planning.calibration.measured import NotedData, Reading, area_m2
from drybox.planning.scenario.models import lifted_or_dry_w_m2_k
from drybox.planning.scenario.percentiles import P90_SD, Range, range_of
from drybox.tables import load_table

DISAGREES_SD = 3.0
"""A reading so many standard deviations off is said to disagree. [-]"""


@dataclass(frozen=True)
class Parameter:
    """A quantity before and after; ``before`` is None for what was not known at all."""

    name: str
    unit: str
    before: Range | None
    after: Range


@dataclass(frozen=True)
class Standing:
    """How one reading stands to the model before and after the fit.

    Values are in K, s (drying), kg/m² (water) or kg (a print weighed while it dries). ``off_sd`` is
    (measured - after) in standard deviations, the day's own weather allowed for. ``moved`` is
    the quantity the note moved most, by ``moved_sd`` standard deviations of what was believed
    before.
    """

    reading: Reading
    measured: float
    before: float
    after: float
    off_sd: float
    weight_frac: float
    disagrees: bool
    moved: str
    moved_sd: float


@dataclass(frozen=True)
class Misfits:
    """Root mean square of (measured - model), each before and after.

    ``residual_rms`` is in standard deviations, each day's own weather allowed for; the others are
    as they stand, None without such a reading.
    """

    residual_rms: tuple[float, float] = (0.0, 0.0)
    plate_k: tuple[float, float] | None = None
    drying_log: tuple[float, float] | None = None
    weighed_kg_m2: tuple[float, float] | None = None


def parameters(event: Event, draws: dict[str, Array] | None) -> tuple[Parameter, ...]:
    """Return every quantity with its range before and, with draws, after."""
    box, paper = event.box, event.paper
    shown: dict[str, tuple[str, str, float]] = {
        "absorptance": ("plate absorptance", "frac", box.absorptance_frac),
        "convection_log": ("forced convection factor", "1", 1.0),
        "shelter_log": ("wind that reaches the plate", "frac", box.wind_shelter_frac),
        "water_log": ("water left on a print", "g/m2", 1e3 * paper.water_kg_m2),
        "back_log": ("loss of the back", "W/m2K", box.back_loss_w_m2_k),
        "contact_log": ("contact of a lifted print", "W/m2K", lifted_or_dry_w_m2_k(paper)),
        "flat_log": ("contact of a flat wet print", "W/m2K", paper.contact_wet_w_m2_k),
        "lifts_log": ("moisture at which it lifts", "frac", paper.lifts_at_frac),
        "critical_log": ("critical moisture factor", "1", 1.0),
        "resistance_log": ("falling-rate resistance factor", "1", 1.0),
        "film_log": ("vapour film factor of a print", "1", 1.0),
        "line_log": ("wind factor off the box", "1", 1.0),
        "line_film_log": ("convection factor on a line", "1", 1.0),
    }

    def value(own: str, drawn: Array) -> Array:
        """Return a quantity from draws: its nominal value shifted, or by their factor."""
        nominal = shown[own][2]
        if own == "absorptance":
            return np.clip(nominal + drawn, 0.0, 1.0)
        found = nominal * np.exp(drawn)
        return np.minimum(found, 1.0) if own == "shelter_log" else found

    table = load_table("spreads")["own"]
    found = []
    for own in OWN:
        name, unit, _ = shown[own]
        edges = table[own].value * P90_SD * np.array([-1.0, 0.0, 1.0])
        before = Range(*(float(x) for x in value(own, edges)))
        after = before if draws is None else range_of(value(own, draws[own]))
        found.append(Parameter(name=name, unit=unit, before=before, after=after))
    return tuple(found)


def _plain(reading: Reading, value: float, paper: Paper) -> float:
    """Return a reading's value in K, s or kg/m²; of a drying print the mass in kg."""
    if reading.kind == "drying":
        return float(np.exp(value))
    if reading.kind == "water":
        return float(np.exp(value) * paper.water_kg_m2)
    if reading.kind == "run_water":
        more_kg_m2 = value - reading.value
        return (reading.note.mass_kg or 0.0) + more_kg_m2 * area_m2(reading.note, paper)
    return float(value)


def standings(data: NotedData, found: Fit) -> tuple[Standing, ...]:
    """Return how each reading stands to the model before and after the fit."""
    names = [parameter.name for parameter in parameters(data.days[0].event, None)]
    before, after = found.modelled
    rows = []
    for k, reading in enumerate(data.readings):
        paper = data.days[reading.day].event.paper
        measured, was, is_ = (
            _plain(reading, value, paper) for value in (reading.value, before[k], after[k])
        )
        most = int(np.abs(found.pull[k]).argmax())
        off = float(found.residual_sd[k])
        rows.append(
            Standing(
                reading=reading,
                measured=measured,
                before=was,
                after=is_,
                off_sd=off,
                weight_frac=float(found.weight_frac[k]),
                disagrees=abs(off) > DISAGREES_SD,
                moved=names[most],
                moved_sd=float(found.pull[k, most]),
            )
        )
    return tuple(rows)


def misfits(data: NotedData, found: Fit) -> Misfits:
    """Return how far the model is off before and after the fit."""
    off = found.modelled - np.array([reading.value for reading in data.readings])

    def rms(rows: Array) -> tuple[float, float]:
        values = np.sqrt((rows**2).mean(axis=1))
        return float(values[0]), float(values[1])

    kinds = np.array([reading.kind for reading in data.readings])
    plate, drying, weighed = (kinds == kind for kind in ("plate", "drying", "run_water"))
    return Misfits(
        residual_rms=rms(np.stack([found.before_sd, found.residual_sd])),
        plate_k=rms(off[:, plate]) if plate.any() else None,
        drying_log=rms(off[:, drying]) if drying.any() else None,
        weighed_kg_m2=rms(off[:, weighed]) if weighed.any() else None,
    )
