"""The drying box: plate, walls, cover, back, and how it is aimed; the powered drier."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.ranges import check_ranges

AIM_MODES = ("turns", "best", "track", "fixed")
COVER_LIMITS = {
    "refractive_index": (1.0, 2.5),
    "extinction_1_m": (0.0, 1000.0),
    "thickness_m": (1e-5, 0.02),
    "longwave_transmittance_frac": (0.0, 1.0),
    "emittance_frac": (0.0, 1.0),
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
    "wind_shelter_frac": (0.0, 1.0),
    "air_exchange_1_s": (0.0, 1.0),
    "prop_distance_m": (0.05, 5.0),
    "aim_bearing_deg": (0.0, 360.0),
    "aim_tilt_deg": (0.0, 90.0),
}
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
    """A clear sheet over the box, resting on its walls."""

    material: str
    refractive_index: float
    extinction_1_m: float
    thickness_m: float
    longwave_transmittance_frac: float
    emittance_frac: float

    def __post_init__(self) -> None:
        check_ranges(self, COVER_LIMITS)
        if self.longwave_transmittance_frac + self.emittance_frac > 1.0:
            raise InputError("cover emittance and long-wave transmittance together exceed 100 %")


@dataclass(frozen=True)
class Box:
    """The sun-heated plate in its shallow bin.

    ``plate_width_m`` lies level, ``plate_height_m`` runs up the slope. ``back_loss_w_m2_k``
    joins the plate to the air behind the box. ``wind_shelter_frac`` is the share of the wind at
    box height that reaches the plate (with a cover: its outer face). ``air_exchange_1_s`` counts
    only under a cover. ``aim_mode`` is one of `AIM_MODES`; bearing (true) and tilt are set only
    for ``fixed``. ``prop_distance_m`` runs along the base from the hinge to the prop's foot.
    """

    plate_material: str
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
    aim_mode: str = "turns"
    aim_bearing_deg: float | None = None
    aim_tilt_deg: float | None = None

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
