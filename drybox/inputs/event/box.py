"""The drying box: plate, walls, cover, back, and how it is aimed; the powered drier."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.text.coordinates import parse_bearing
from drybox.inputs.text.ranges import check_ranges
from drybox.inputs.text.settings import Section, Settings
from drybox.tables import load_table

BOX_KEYS = (
    *("name", "plate_material", "plate_size", "plate_width", "plate_height", "plate_thickness"),
    *("plate_density", "plate_specific_heat", "plate_conductivity", "finish", "absorptance"),
    *("emittance", "wall_depth", "cover", "cover_thickness", "cover_refractive_index"),
    *("cover_extinction", "cover_longwave_transmittance", "cover_emittance", "cover_most_temp"),
    *("back", "back_loss", "back_most_temp"),
    *("forced_factor", "wind_shelter", "air_exchange", "prop_distance", "most_tilt", "mass"),
    *("ballast", "wind_area", "aim", "bearing", "tilt"),
)
POWERED_KEYS = ("plate_power", "plate_temp", "air_power", "air_temp", "air_speed", "battery")
DEFAULT_PLATE = "steel"
DEFAULT_FINISH = "matt black paint"
DEFAULT_BACK = "plastic bin"
MOST_RIM_M = 0.3
"""No bin reaches further past its plate, from the hinge to its end (judgement). [m]"""

AIM_MODES = ("turns", "best", "track", "fixed")
COVER_LIMITS = {
    "longwave_transmittance_frac": (0.0, 1.0),
    "emittance_frac": (0.0, 1.0),
    "refractive_index": (1.0, 2.5),
    "extinction_1_m": (0.0, 1000.0),
    "thickness_m": (1e-5, 0.02),
    "most_temp_k": (273.15, 1273.15),
}
BOX_LIMITS = {
    "plate_width_m": (0.05, 3.0),
    "plate_height_m": (0.05, 3.0),
    "plate_thickness_m": (0.1e-3, 50e-3),
    "plate_density_kg_m3": (500.0, 20000.0),
    "plate_specific_heat_j_kg_k": (100.0, 5000.0),
    "plate_conductivity_w_m_k": (0.1, 500.0),
    "absorptance_frac": (0.0, 1.0),
    "emittance_frac": (0.0, 1.0),
    "wall_depth_m": (0.0, 1.0),
    "back_loss_w_m2_k": (0.0, 50.0),
    "back_most_temp_k": (273.15, 1273.15),
    "forced_factor": (0.2, 5.0),
    "wind_shelter_frac": (0.0, 1.0),
    "air_exchange_1_s": (0.0, 1.0),
    "prop_distance_m": (0.05, 5.0),
    "aim_bearing_deg": (0.0, 360.0),
    "aim_tilt_deg": (0.0, 90.0),
    "most_tilt_deg": (0.0, 90.0),
    "mass_kg": (0.1, 500.0),
    "ballast_kg": (0.0, 500.0),
    "wind_area_m2": (0.0025, 9.0),
}
LEAST_ABSORPTANCE_FRAC = 0.01  # no mirror is better, and no aim is found for a plate of none
POWERED_LIMITS = {
    "plate_power_w": (0.0, 5000.0),
    "plate_temp_k": (273.15, 423.15),
    "air_power_w": (0.0, 5000.0),
    "air_temp_k": (273.15, 423.15),
    "air_speed_m_s": (0.0, 30.0),
    "battery_j": (0.0, 1e9),
}


@dataclass(frozen=True)
class Cover:
    """A clear sheet over the box, resting on its walls.

    ``most_temp_k`` is what it stands for long, None where that is not known.
    """

    refractive_index: float
    extinction_1_m: float
    thickness_m: float
    longwave_transmittance_frac: float
    emittance_frac: float
    name: str = "cover"
    most_temp_k: float | None = None

    def __post_init__(self) -> None:
        check_ranges(self, COVER_LIMITS)
        if self.longwave_transmittance_frac + self.emittance_frac > 1.0:
            raise InputError("cover emittance and long-wave transmittance together exceed 100 %")


@dataclass(frozen=True)
class Box:
    """The sun-heated plate in its shallow bin.

    ``plate_width_m`` lies level, ``plate_height_m`` runs up the slope. ``back_loss_w_m2_k``
    joins the plate to the air behind the box; ``back`` lies there and stands ``back_most_temp_k``
    for long, None where that is not known. ``wind_shelter_frac`` is the share of the wind at
    box height that reaches the plate (with a cover: its outer face); ``forced_factor`` multiplies
    the forced convection there, which gusts out of doors raise. ``air_exchange_1_s`` counts
    only under a cover. ``aim_mode`` is one of `AIM_MODES`; bearing (true) and tilt are set only
    for ``fixed``. No aim that is looked for tilts more than ``most_tilt_deg``.
    ``prop_distance_m`` runs up the slope from the hinge to where the prop bears. ``mass_kg`` is the
    box's own with its plate, ``ballast_kg`` what is put in besides, ``wind_area_m2`` what the wind
    meets square on.
    Notes and their fit are kept under ``name``.
    """

    plate_width_m: float
    plate_height_m: float
    plate_thickness_m: float
    plate_density_kg_m3: float
    plate_specific_heat_j_kg_k: float
    plate_conductivity_w_m_k: float
    absorptance_frac: float
    emittance_frac: float
    wall_depth_m: float
    cover: Cover | None
    back_loss_w_m2_k: float
    wind_shelter_frac: float
    air_exchange_1_s: float
    prop_distance_m: float
    mass_kg: float
    ballast_kg: float
    wind_area_m2: float
    forced_factor: float = 1.0
    aim_mode: str = "turns"
    aim_bearing_deg: float | None = None
    aim_tilt_deg: float | None = None
    most_tilt_deg: float = 90.0
    back: str = DEFAULT_BACK
    back_most_temp_k: float | None = None
    name: str = "default"

    def __post_init__(self) -> None:
        check_ranges(self, BOX_LIMITS)
        if self.aim_mode not in AIM_MODES:
            raise InputError(f"aim '{self.aim_mode}' is not one of {', '.join(AIM_MODES)}")
        if (self.aim_mode == "fixed") != (
            self.aim_bearing_deg is not None and self.aim_tilt_deg is not None
        ):
            raise InputError("a fixed aim needs both bearing and tilt, and no other aim has them")


@dataclass(frozen=True)
class PoweredDrier:
    """A powered plate, blown warm air, or both; power 0 means that part is absent.

    The thermostat temperatures are None where nothing holds them; ``battery_j`` is None where
    no battery limits the energy.
    """

    plate_power_w: float
    plate_temp_k: float | None
    air_power_w: float
    air_temp_k: float | None
    air_speed_m_s: float
    battery_j: float | None

    def __post_init__(self) -> None:
        check_ranges(self, POWERED_LIMITS)
        if self.plate_power_w == 0 and self.air_power_w == 0:
            raise InputError("the powered drier has neither plate power nor air power")


def read_box(settings: Settings) -> Box:
    """Return the box of the table ``[box]``; what is left out comes from the tables."""
    section = settings.section("box")
    section.only(*BOX_KEYS)
    if not section.table:
        settings.assume(
            "No box was described: an open box with a 40 x 50 cm plate of 3 mm steel, matt black, "
            "in a plastic bin with 60 mm walls is assumed."
        )
    material = section.choice("plate_material", "materials", DEFAULT_PLATE)
    finish = section.choice("finish", "finishes", DEFAULT_FINISH)
    back = section.choice("back", "backs", DEFAULT_BACK)
    back_loss_w_m2_k, back_most_temp_k = (
        section.field(name, BOX_LIMITS, "backs", back)
        for name in ("back_loss_w_m2_k", "back_most_temp_k")
    )
    cover = _read_cover(section)
    kind = "covered box" if cover else "open box"
    width_m, height_m = _read_plate_size(section)

    def of(name: str, *row: str) -> float:
        return section.field(name, BOX_LIMITS, *row)

    metal = ("materials", material)
    prop_distance_m = _read_prop_distance(section, height_m)
    mode, bearing_deg, tilt_deg = _read_aim(section)
    most_tilt_deg = _read_most_tilt(section, tilt_deg)
    thickness_m = of("plate_thickness_m", "boxes", "open box")
    density_kg_m3 = of("plate_density_kg_m3", *metal, "density")
    plate_kg = width_m * height_m * thickness_m * density_kg_m3
    mass_kg, ballast_kg, wind_area_m2 = _read_weight(section, plate_kg, width_m * height_m)
    return Box(
        plate_width_m=width_m,
        plate_height_m=height_m,
        plate_thickness_m=thickness_m,
        plate_density_kg_m3=density_kg_m3,
        plate_specific_heat_j_kg_k=of("plate_specific_heat_j_kg_k", *metal, "specific_heat"),
        plate_conductivity_w_m_k=of("plate_conductivity_w_m_k", *metal, "conductivity"),
        absorptance_frac=section.property(
            "absorptance", "fraction", (LEAST_ABSORPTANCE_FRAC, 1.0), row=("finishes", finish)
        ),
        emittance_frac=of("emittance_frac", "finishes", finish),
        wall_depth_m=of("wall_depth_m", "boxes", "open box"),
        cover=cover,
        back_loss_w_m2_k=back_loss_w_m2_k,
        wind_shelter_frac=of("wind_shelter_frac", "boxes", kind),
        air_exchange_1_s=_read_air_exchange(section, cover),
        prop_distance_m=prop_distance_m,
        mass_kg=mass_kg,
        ballast_kg=ballast_kg,
        wind_area_m2=wind_area_m2,
        forced_factor=of("forced_factor", "boxes", "open box"),
        aim_mode=mode,
        aim_bearing_deg=bearing_deg,
        aim_tilt_deg=tilt_deg,
        most_tilt_deg=most_tilt_deg,
        back=back,
        back_most_temp_k=back_most_temp_k,
        name=section.text("name", "default"),
    )


def _read_prop_distance(section: Section, height_m: float) -> float:
    """Return how far up the slope the prop bears; one past the end of the bin is refused. [m]"""
    limits, source = BOX_LIMITS["prop_distance_m"], "default: plate height"
    found_m = section.quantity("prop_distance", "length", limits, default=height_m, source=source)
    longest_m = height_m + MOST_RIM_M
    if found_m > longest_m:
        raise section.error(
            "prop_distance",
            f"the prop bears {found_m:g} m up a plate of {height_m:g} m",
            "it is counted from the hinge up the slope to where the prop bears, at most "
            f"{longest_m:.2f} m here",
        )
    return found_m


def _read_most_tilt(section: Section, tilt_deg: float | None) -> float:
    """Return how steep a box stands on a prop; warn of a fixed aim that is steeper [deg]."""
    most_tilt_deg = math.degrees(
        section.property("most_tilt", "angle", (0.0, math.pi / 2), row=("limits", "tilt", "most"))
    )
    if tilt_deg is not None and tilt_deg > most_tilt_deg + 0.5:
        section.settings.warnings.append(
            f"A box tilted {tilt_deg:.0f}° may fall: {most_tilt_deg:.0f}° is what stands on a prop."
        )
    return most_tilt_deg


def _read_weight(
    section: Section, plate_kg: float, plate_area_m2: float
) -> tuple[float, float, float]:
    """Return the box's mass and its ballast [kg], and the area that the wind meets [m²]."""
    bin_kg = load_table("box_wind")["bin"]["mass"].value

    def of(key: str, dimension: str, field: str, *, default: float, why: str) -> float:
        limits, unit = BOX_LIMITS[field], "kg" if dimension == "mass" else ""
        source = f"default: {why}"
        return section.quantity(
            key, dimension, limits, default=default, source=source, usual_unit=unit
        )

    own_kg, why = plate_kg + bin_kg, f"the plate and {bin_kg:g} kg of bin"
    return (
        of("mass", "mass", "mass_kg", default=own_kg, why=why),
        of("ballast", "mass", "ballast_kg", default=0.0, why="none"),
        of("wind_area", "area", "wind_area_m2", default=plate_area_m2, why="as the plate"),
    )


def _read_plate_size(section: Section) -> tuple[float, float]:
    """Return width and height, from one size or from each side [m]."""
    limits = BOX_LIMITS["plate_width_m"]
    sides = ("plate_width", "plate_height")
    if "plate_size" not in section:
        width_m, height_m = (
            section.property(side, "length", limits, row=("boxes", "open box")) for side in sides
        )
        return width_m, height_m
    for side in sides:
        if side in section:
            raise section.error(side, f"both plate_size and {side} are given", "keep one")
    return section.size("plate_size", limits)


def _read_cover(section: Section) -> Cover | None:
    details = [key for key in section.table if key.startswith("cover_")]
    named = section.raw("cover")
    if named is None or (isinstance(named, str) and named.strip().lower() == "none"):
        if details:
            mend = 'name one, like cover = "acrylic"'
            raise section.error(details[0], f"{details[0]} is given but there is no cover", mend)
        source = "" if "cover" in section else "default (open box)"
        section.record("cover", "none", "", source=source)
        return None
    item = section.choice("cover", "covers", "acrylic")

    values = {
        name: section.field(name, COVER_LIMITS, "covers", item, of="cover_")
        for name in COVER_LIMITS
    }
    if values["longwave_transmittance_frac"] + values["emittance_frac"] > 1.0:
        what = "cover_emittance and cover_longwave_transmittance together exceed 100 %"
        told = "cover_emittance" in section
        key = "cover_emittance" if told else "cover_longwave_transmittance"
        raise section.error(key, what, "lower one of them")
    return Cover(name=item, **values)


def _read_air_exchange(section: Section, cover: Cover | None) -> float:
    """Return how often the air under the cover is renewed, 0 without a cover [1/s]."""
    if cover:
        return section.field("air_exchange_1_s", BOX_LIMITS, "boxes", "covered box")
    if "air_exchange" in section:
        mend = 'add one, like cover = "acrylic"'
        raise section.error("air_exchange", "air_exchange is given but there is no cover", mend)
    return 0.0


def _read_aim(section: Section) -> tuple[str, float | None, float | None]:
    """Return the aim's mode and, where it is fixed, bearing and tilt [deg]."""
    angles = [key for key in ("bearing", "tilt") if key in section]
    aim = section.raw("aim")
    if aim not in (None, *AIM_MODES):
        mend = f"choose one of: {', '.join(AIM_MODES)}"
        raise section.error("aim", f"aim '{aim}' is not known", mend)
    if not angles:
        if aim == "fixed":
            mend = 'add bearing = "180 deg" and tilt = "40 deg"'
            raise section.error("aim", "a fixed aim needs bearing and tilt", mend)
        section.record("aim", aim or "turns", "", source="" if aim else "default")
        return str(aim or "turns"), None, None
    if aim not in (None, "fixed"):
        raise section.error("aim", f"aim '{aim}' and a {angles[0]} are both given", "keep one")
    if len(angles) == 1:
        missing = "tilt" if angles == ["bearing"] else "bearing"
        mend = f'add {missing}, like {missing} = "40 deg"'
        raise section.error(angles[0], f"{angles[0]} is given without {missing}", mend)
    bearing_deg = parse_bearing(section.raw("bearing"), "bearing", section.where("bearing")) % 360
    section.record("bearing", bearing_deg, "deg")
    tilt_rad = section.quantity("tilt", "angle", (0.0, math.pi / 2), default=0.0)
    section.settings.assume("Bearings are read from true north, not from a compass.")
    return "fixed", bearing_deg, math.degrees(tilt_rad)


def read_powered(settings: Settings) -> PoweredDrier | None:
    """Return the drier of the table ``[powered]``, or None where there is none."""
    if "powered" not in settings.tables:
        return None
    section = settings.section("powered")
    section.only(*POWERED_KEYS)
    plate_w, air_w = (
        section.quantity(
            key, "power", POWERED_LIMITS[f"{key}_w"], default=0.0, source="default: none"
        )
        for key in ("plate_power", "air_power")
    )
    if plate_w == 0 and air_w == 0:
        mend = 'add plate_power = "150 W" or air_power'
        raise InputError("the powered drier has no power", settings.where("powered"), mend)
    plate_temp_k = air_temp_k = None
    air_speed_m_s = 0.0
    if plate_w:
        plate_temp_k = section.field("plate_temp_k", POWERED_LIMITS, "boxes", "powered drier")
    if air_w:
        limits, source = POWERED_LIMITS["air_temp_k"], "default: what it gives"
        air_temp_k = section.quantity(
            "air_temp", "temperature", limits, default=None, source=source
        )
        air_speed_m_s = section.field("air_speed_m_s", POWERED_LIMITS, "boxes", "powered drier")
    for key, power, is_on in (
        ("plate_temp", "plate_power", plate_w),
        ("air_temp", "air_power", air_w),
        ("air_speed", "air_power", air_w),
    ):
        if key in section and not is_on:
            raise section.error(key, f"{key} is given without {power}", f'add {power} = "150 W"')
    return PoweredDrier(
        plate_power_w=plate_w,
        plate_temp_k=plate_temp_k,
        air_power_w=air_w,
        air_temp_k=air_temp_k,
        air_speed_m_s=air_speed_m_s,
        battery_j=section.quantity(
            "battery",
            "energy",
            POWERED_LIMITS["battery_j"],
            default=None,
            source="default: not limited",
        ),
    )
