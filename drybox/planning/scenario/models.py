"""From box, paper and table rows to the models that the simulation steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from drybox.arrays import Array, Index
from drybox.inputs.event.box import Box, PoweredDrier
from drybox.inputs.event.limits import Limits
from drybox.inputs.event.paper import Paper
from drybox.inputs.event.ways import WAY
from drybox.physics.box_heat import CoverModel, PlateModel
from drybox.physics.cover import cover_diffuse_reflectance
from drybox.physics.plate_conduction import (
    PlateConduction,
    grid_of_places,
    plate_conduction,
    shade_felt_frac,
)
from drybox.physics.plate_irradiance import Recess
from drybox.physics.print_drying import SheetModel, lifted_contact_w_m2_k
from drybox.physics.simulation.state import BoxSystem
from drybox.physics.sorption import GabIsotherm, SheetSorption
from drybox.tables import TableValue, load_table, look_up

GLASS_DENSITY_KG_M3 = 2500.0
"""Glass; plastics are about half, which only slows the cover's own warming. [kg/m³]"""

GLASS_SPECIFIC_HEAT_J_KG_K = 800.0
"""Glass; plastics about 1400, so that the product hardly differs. [J/(kg K)]"""

TYPICAL_LOSS_W_M2_K = 15.0
"""Loss of a bare plate in light wind, for how far a print's cold patch reaches. [W/(m² K)]"""

GAP_BETWEEN_PRINTS_M = 0.01
"""Room to lay and lift prints side by side (judgement). [m]"""


FACTORS = {
    "water_factor": "water_log",
    "contact_factor": "contact_log",
    "flat_factor": "flat_log",
    "lifts_factor": "lifts_log",
    "critical_factor": "critical_log",
    "resistance_factor": "resistance_log",
    "film_factor": "film_log",
    "line_film_factor": "line_film_log",
    "forced_factor": "convection_log",
    "back_factor": "back_log",
}
"""Factor of `PrintDraw` → column of table ``spreads`` with the spread of its logarithm."""


@dataclass(frozen=True, eq=False)
class PrintDraw:
    """What differs from print to print and box to box; numbers or arrays over cases.

    Factors on: water left by the squeegee, conductance of the lifted and of the flat sheet, the
    water at which it lifts, critical moisture, falling-rate resistance, the vapour film of a print
    on the plate, forced convection of a sheet on a line and of the plate, and loss of the back.
    """

    water_factor: Array | float = 1.0
    contact_factor: Array | float = 1.0
    flat_factor: Array | float = 1.0
    lifts_factor: Array | float = 1.0
    critical_factor: Array | float = 1.0
    resistance_factor: Array | float = 1.0
    film_factor: Array | float = 1.0
    line_film_factor: Array | float = 1.0
    forced_factor: Array | float = 1.0
    back_factor: Array | float = 1.0
    print_absorptance_shift: Array | float = 0.0
    plate_absorptance_shift: Array | float = 0.0

    @classmethod
    def from_logs(
        cls, logs: Mapping[str, Array | float], print_absorptance_shift: Array | float = 0.0
    ) -> PrintDraw:
        """Return the draw from logarithms by their names in table ``spreads``; none is 1."""
        factors = {name: np.exp(logs[log]) for name, log in FACTORS.items() if log in logs}
        return cls(
            **factors,
            print_absorptance_shift=print_absorptance_shift,
            plate_absorptance_shift=logs.get("absorptance", 0.0),
        )

    def of(self, case: Index) -> PrintDraw:
        """Return those of some cases, in their order."""
        return self._each(lambda name: _picked(getattr(self, name), case))

    @classmethod
    def joined(cls, parts: Sequence[PrintDraw]) -> PrintDraw:
        """Return one after the other; all must be arrays."""
        return cls._each(lambda name: np.concatenate([getattr(part, name) for part in parts]))

    @classmethod
    def _each(cls, value: Callable[[str], Array | float]) -> PrintDraw:
        return cls(**{name: value(name) for name in cls.__dataclass_fields__})


def _picked(value: Array | float, case: Index) -> Array | float:
    return np.asarray(value)[case] if np.ndim(value) else value


NO_DRAW = PrintDraw()


@dataclass(frozen=True)
class Targets:
    """Water at which a print is touch dry, dry and over-dry, of all that dries with it. [kg/m²]"""

    touch_dry_kg_m2: float
    dry_kg_m2: float
    over_dry_kg_m2: float

    @property
    def marks_kg_m2(self) -> tuple[float, float]:
        """Touch dry and dry. [kg/m²]"""
        return self.touch_dry_kg_m2, self.dry_kg_m2


def isotherm(name: str) -> GabIsotherm:
    """Return the isotherm of ``fibre`` or ``gelatin``."""
    row = load_table("isotherms")[name]
    return GabIsotherm(row["monolayer"].value, row["c"].value, row["k"].value)


@cache
def sheet_sorption(paper: Paper, extra_fibre_kg_m2: float = 0.0) -> SheetSorption:
    """Return the sorption of a print, and of blotters that dry with it.

    A resin-coated sheet takes water into its emulsion only. [kg/m²]
    """
    fibre = (
        0.0
        if paper.resin_coated
        else paper.dry_mass_kg_m2 - paper.gelatin_kg_m2 - paper.mineral_kg_m2
    )
    parts = [
        (isotherm("fibre"), fibre + extra_fibre_kg_m2),
        (isotherm("gelatin"), paper.gelatin_kg_m2),
    ]
    return SheetSorption([(isotherm, mass) for isotherm, mass in parts if mass > 0])


def dry_targets(paper: Paper, limits: Limits, extra_fibre_kg_m2: float = 0.0) -> Targets:
    """Return the water at 'touch dry', 'dry' and 'over-dry'."""
    sorption = sheet_sorption(paper, extra_fibre_kg_m2)
    marks = limits.touch_dry_activity_frac, limits.dry_activity_frac, limits.over_dry_activity_frac
    return Targets(*map(sorption.water_kg_m2, marks))


def sheet_model(paper: Paper, way: str, draw: PrintDraw = NO_DRAW) -> SheetModel:
    """Return the print as it is held in a way of drying.

    ``way`` is ``sun_plate`` or an item of the table ``ways``.
    """
    heat = load_table("isotherms")["heat"]
    row = {} if way == "sun_plate" else look_up("ways", way, "way of drying")

    def of(name: str, default: float) -> float:
        return row[name].value if name in row else default

    blotter = of("blotter_mass", 0.0)
    share = 1.0 / of("prints", 1.0)
    on_plate = WAY[way].metal
    sorption = sheet_sorption(paper, blotter)
    fibre = paper.dry_mass_kg_m2 - paper.gelatin_kg_m2 - paper.mineral_kg_m2
    dry_heat = (
        (fibre + blotter) * heat["fibre"].value
        + paper.gelatin_kg_m2 * heat["gelatin"].value
        + paper.mineral_kg_m2 * heat["mineral"].value
    )

    def column(value: Array | float) -> Array | float:
        return np.asarray(value)[..., None] if np.ndim(value) else value

    wet, dry = (
        contact_w_m2_k(paper, column(draw.flat_factor), column(draw.contact_factor))
        if on_plate
        else (0.0, 0.0)
    )
    critical = load_table("isotherms")["critical"]["moisture"].value * sorption.sorbing_kg_m2
    lone = load_table("contact")["print"]["lone_film"].value
    return SheetModel(
        area_m2=paper.area_m2,
        dry_heat_j_m2_k=dry_heat,
        sorption=sorption,
        absorptance_frac=np.clip(
            paper.solar_absorptance_frac + column(draw.print_absorptance_shift), 0.05, 0.95
        ),
        emittance_frac=paper.emittance_frac,
        contact_wet_w_m2_k=wet,
        contact_dry_w_m2_k=dry,
        front_open_frac=share,
        back_open_frac=share * of("back_open", 0.0) if not paper.resin_coated else 0.0,
        vapour_resistance_m2_s_pa_kg=paper.vapour_resistance_m2_s_pa_kg
        * column(draw.resistance_factor),
        critical_water_kg_m2=critical * column(draw.critical_factor),
        cover_resistance_m2_s_pa_kg=of("cover_resistance", 0.0),
        lifts_at_moisture=paper.lifts_at_frac * column(draw.lifts_factor),
        lone_film_factor=lone * column(draw.film_factor) if on_plate else 1.0,
    )


def lifted_or_dry_w_m2_k(paper: Paper) -> float:
    """Return the contact of a dry sheet: across its gap, or as told or pressed. [W/(m² K)]"""
    told = paper.contact_dry_w_m2_k
    return lifted_contact_w_m2_k(paper.gap_m) if told is None else told


def contact_w_m2_k(
    paper: Paper, flat_factor: Array | float, lifted_factor: Array | float
) -> tuple[Array, Array]:
    """Return the contact of a print while it lies flat and when it has lifted or is dry.

    Each over the cloth under the print, if there is one, in series with it; a lifted print never
    touches better than a flat one. [W/(m² K)]
    """
    flat = np.asarray(paper.contact_wet_w_m2_k * flat_factor)
    lifted = np.minimum(lifted_or_dry_w_m2_k(paper) * np.asarray(lifted_factor), flat)
    if paper.cloth_w_m2_k is None:
        return flat, lifted
    return 1 / (1 / flat + 1 / paper.cloth_w_m2_k), 1 / (1 / lifted + 1 / paper.cloth_w_m2_k)


def laid_on_water_kg_m2(paper: Paper, draw: PrintDraw = NO_DRAW) -> Array | float:
    """Return the water a print brings when laid on or hung. [kg/m²]"""
    return np.asarray(paper.water_kg_m2 * draw.water_factor)


def plate_recess(box: Box) -> Recess:
    """Return the plate's recess and cover as the light sees them."""
    felt = shade_felt_frac(
        (box.plate_width_m, box.plate_height_m),
        box.plate_conductivity_w_m_k * box.plate_thickness_m,
        TYPICAL_LOSS_W_M2_K,
    )
    open_bin = Recess(box.plate_width_m, box.plate_height_m, box.wall_depth_m, shade_felt_frac=felt)
    if box.cover is None:
        return open_bin
    return replace(
        open_bin,
        cover_index=box.cover.refractive_index,
        cover_extinction_1_m=box.cover.extinction_1_m,
        cover_thickness_m=box.cover.thickness_m,
    )


def _cover_model(box: Box) -> CoverModel | None:
    if box.cover is None:
        return None
    heat = box.cover.thickness_m * GLASS_DENSITY_KG_M3 * GLASS_SPECIFIC_HEAT_J_KG_K
    return CoverModel(
        heat_capacity_j_m2_k=heat,
        emittance_frac=box.cover.emittance_frac,
        longwave_transmittance_frac=box.cover.longwave_transmittance_frac,
        gap_m=max(box.wall_depth_m, 0.005),
        air_exchange_1_s=box.air_exchange_1_s,
    )


def box_system(box: Box, paper: Paper, draw: PrintDraw = NO_DRAW, *, slots: int = 1) -> BoxSystem:
    """Return the sun plate with its prints."""
    width, height = box.plate_width_m, box.plate_height_m
    area, rim = width * height, 2 * (width + height)
    reflected = 0.0
    if box.cover is not None:
        reflected = float(
            cover_diffuse_reflectance(
                box.cover.refractive_index, box.cover.extinction_1_m, box.cover.thickness_m
            )
        )
    conduction = box.plate_conductivity_w_m_k * box.plate_thickness_m
    plate = PlateModel(
        area_m2=area,
        heat_capacity_j_m2_k=box.plate_density_kg_m3
        * box.plate_specific_heat_j_kg_k
        * box.plate_thickness_m,
        absorptance_frac=np.clip(
            box.absorptance_frac + np.asarray(draw.plate_absorptance_shift), 0.0, 1.0
        ),
        emittance_frac=box.emittance_frac,
        back_loss_w_m2_k=box.back_loss_w_m2_k * draw.back_factor,
        length_m=4 * area / rim,
        natural_length_m=area / rim,
        height_m=height,
        reflected_back_frac=reflected,
        cover=_cover_model(box),
        forced_factor=box.forced_factor * draw.forced_factor,
        back_in_wind=True,
    )
    along = plate_conduction(
        (width, height),
        (paper.width_m, paper.height_m),
        GAP_BETWEEN_PRINTS_M,
        conduction,
        TYPICAL_LOSS_W_M2_K,
    )
    return BoxSystem(
        plate=plate, sheet=sheet_model(paper, "sun_plate", draw), slots=slots, conduction=along
    )


def free_sheet_system(paper: Paper, way: str, draw: PrintDraw = NO_DRAW) -> BoxSystem:
    """Return a print on a line, on a screen or in a blotter book: no plate behind it."""
    area, rim = paper.area_m2, 2 * (paper.width_m + paper.height_m)
    row = look_up("ways", way, "way of drying")
    forced: Array | float = 1.0
    if "forced_factor" in row:
        forced = row["forced_factor"].value * draw.line_film_factor
    nothing = PlateModel(
        area_m2=area * 1.001,
        heat_capacity_j_m2_k=1e4,
        absorptance_frac=0.0,
        emittance_frac=0.0,
        back_loss_w_m2_k=1.0,
        length_m=4 * area / rim,
        natural_length_m=area / rim,
        height_m=paper.height_m,
        forced_factor=forced,
        hanging=not WAY[way].level,
    )
    return BoxSystem(
        plate=nothing,
        sheet=sheet_model(paper, way, draw),
        slots=1,
        conduction=PlateConduction.none(),
    )


def warm_plate_system(
    box: Box, paper: Paper, powered: PoweredDrier, *, draw: PrintDraw = NO_DRAW, slots: int = 1
) -> BoxSystem:
    """Return the same plate under power, out of the sun, on felt or board.

    The box's plate is taken, its walls and cover are not; ``slots`` are places for prints.
    """
    system = box_system(replace(box, cover=None, forced_factor=1.0), paper, draw, slots=slots)
    row: dict[str, TableValue] = look_up("ways", "warm_plate", "way of drying")
    plate = replace(
        system.plate,
        back_loss_w_m2_k=row["back_loss"].value,
        back_in_wind=False,
        heater_w_m2=powered.plate_power_w / system.plate.area_m2,
        heater_temp_k=powered.plate_temp_k or 323.15,
    )
    return replace(system, plate=plate, sheet=sheet_model(paper, "warm_plate", draw))


def slots_on_plate(box: Box, paper: Paper) -> int:
    """Return how many prints of this size fit on the plate, with room to lift them."""
    across, up = grid_of_places(
        (box.plate_width_m, box.plate_height_m),
        (paper.width_m, paper.height_m),
        GAP_BETWEEN_PRINTS_M,
    )
    return across * up
