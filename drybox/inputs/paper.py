"""The sheet that is to be dried, as it is laid on."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.inputs.ranges import check_ranges

PAPER_LIMITS = {
    "width_m": (0.02, 2.0),
    "height_m": (0.02, 2.0),
    "dry_mass_kg_m2": (0.05, 0.6),
    "gelatin_kg_m2": (0.0, 0.05),
    "mineral_kg_m2": (0.0, 0.1),
    "thickness_m": (0.05e-3, 1e-3),
    "water_kg_m2": (0.0, 1.0),
    "solar_absorptance_frac": (0.0, 1.0),
    "emittance_frac": (0.01, 1.0),
    "contact_wet_w_m2_k": (1.0, 5000.0),
    "contact_dry_w_m2_k": (1.0, 5000.0),
    "vapour_resistance_m2_s_pa_kg": (0.0, 1e12),
}


@dataclass(frozen=True)
class Paper:
    """One sheet: size, what it is made of, the water left when it is laid on.

    ``dry_mass_kg_m2`` is the whole bone-dry sheet, gelatin and mineral (baryta or pigment)
    included. ``water_kg_m2`` is all the water in and on the sheet. ``hardened`` means that an
    alum hardening bath was used. In a ``resin_coated`` sheet water is in the emulsion only, and
    ``vapour_resistance_m2_s_pa_kg`` is that of the emulsion alone.
    """

    stock: str
    width_m: float
    height_m: float
    dry_mass_kg_m2: float
    gelatin_kg_m2: float
    mineral_kg_m2: float
    thickness_m: float
    water_kg_m2: float
    solar_absorptance_frac: float
    emittance_frac: float
    contact_wet_w_m2_k: float
    contact_dry_w_m2_k: float
    vapour_resistance_m2_s_pa_kg: float
    hardened: bool = False
    resin_coated: bool = False

    def __post_init__(self) -> None:
        check_ranges(self, PAPER_LIMITS)

    @property
    def area_m2(self) -> float:
        """Area of one face. [m²]"""
        return self.width_m * self.height_m
