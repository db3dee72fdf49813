"""The sheet that is to be dried, as it is laid on."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.text.ranges import check_ranges
from drybox.inputs.text.settings import RowSource, Section, Settings, row_source
from drybox.tables import load_table
from drybox.units import parse_quantity

PAPER_KEYS = (
    *("name", "stock", "size", "water", "dry_mass", "gelatin", "mineral", "thickness"),
    *("solar_absorptance", "emittance", "contact_wet", "contact_dry", "held", "gap", "lifts_at"),
    *("cloth_under", "cloth", "vapour_resistance", "hardening", "hardened", "resin_coated"),
)
HARDENINGS = ("in manufacture", "alum", "bleached", "none")
DEFAULT_STOCK = "fibre double weight"
DEFAULT_SIZE = "4x5 in"
WATER_WORDS = ("dripping", "drained", "squeegeed", "blotted")
DEFAULT_WATER = "squeegeed"
HELD = ("magnets", "pressed flat")
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
    "gap_m": (0.02e-3, 20e-3),
    "lifts_at_frac": (0.0, 3.0),
    "cloth_w_m2_k": (5.0, 5000.0),
    "vapour_resistance_m2_s_pa_kg": (0.0, 1e12),
}


@dataclass(frozen=True)
class Paper:
    """One sheet: size, what it is made of, the water left when it is laid on.

    ``dry_mass_kg_m2`` is the whole bone-dry sheet, gelatin and mineral (baryta or pigment)
    included. ``water_kg_m2`` is all the water in and on the sheet. ``hardening`` of the emulsion
    is one of `HARDENINGS`. In a ``resin_coated`` sheet water is in the emulsion only, and
    ``vapour_resistance_m2_s_pa_kg`` is that of the emulsion alone. A sheet held by magnets at
    its corners lifts off the plate by ``gap_m`` as its water over its sorbing mass falls through
    ``lifts_at_frac``; ``contact_dry_w_m2_k`` replaces the conductance of that gap, and is that of
    dry paper pressed on where the sheet cannot lift. ``cloth_w_m2_k`` is that of a cloth under the
    print, None without one. Notes and their fit are kept under ``name``.
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
    contact_dry_w_m2_k: float | None
    gap_m: float
    lifts_at_frac: float
    cloth_w_m2_k: float | None
    vapour_resistance_m2_s_pa_kg: float
    hardening: str = HARDENINGS[0]
    resin_coated: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        check_ranges(self, PAPER_LIMITS)
        if self.gelatin_kg_m2 + self.mineral_kg_m2 >= self.dry_mass_kg_m2:
            raise InputError("gelatin and mineral together weigh as much as the whole dry sheet")

    @property
    def area_m2(self) -> float:
        """The area of one face, in m²."""
        return self.width_m * self.height_m


def read_paper(settings: Settings, *, bleached: bool = False) -> Paper:
    """Return the paper of the table ``[paper]``; what is left out comes from its stock.

    A process that bleaches the print softens gelatin.
    """
    section = settings.section("paper")
    section.only(*PAPER_KEYS)
    if not section.table:
        settings.assume(
            f"No paper was described: {DEFAULT_SIZE} {DEFAULT_STOCK}, {DEFAULT_WATER}, is assumed.",
            of_print=True,
        )
    stock = section.choice("stock", "papers", DEFAULT_STOCK)
    width_m, height_m = section.size("size", PAPER_LIMITS["width_m"], DEFAULT_SIZE)

    def of(name: str, *row: str) -> float:
        return section.field(name, PAPER_LIMITS, *(row or ("papers", stock)))

    dry_mass_kg_m2, gelatin_kg_m2, mineral_kg_m2 = (
        of(name) for name in ("dry_mass_kg_m2", "gelatin_kg_m2", "mineral_kg_m2")
    )
    if gelatin_kg_m2 + mineral_kg_m2 >= dry_mass_kg_m2:
        key = next(key for key in ("dry_mass", "mineral", "gelatin") if key in section)
        what = "gelatin and mineral together weigh as much as the whole dry sheet"
        raise section.error(key, what, "dry_mass counts them in")
    usual = bool(load_table("papers")[stock]["resin_coated"].value)
    resin_coated = section.flag("resin_coated", usual, f"table papers: {stock}")
    return Paper(
        stock=stock,
        width_m=width_m,
        height_m=height_m,
        dry_mass_kg_m2=dry_mass_kg_m2,
        gelatin_kg_m2=gelatin_kg_m2,
        mineral_kg_m2=mineral_kg_m2,
        thickness_m=of("thickness_m"),
        water_kg_m2=_read_water(section, stock, width_m * height_m),
        solar_absorptance_frac=of("solar_absorptance_frac"),
        emittance_frac=of("emittance_frac"),
        contact_wet_w_m2_k=of("contact_wet_w_m2_k"),
        contact_dry_w_m2_k=_read_contact_dry(section, stock, resin_coated),
        gap_m=of("gap_m", "contact", "magnets"),
        lifts_at_frac=of("lifts_at_frac", "contact", "magnets"),
        cloth_w_m2_k=_read_cloth(section),
        vapour_resistance_m2_s_pa_kg=of("vapour_resistance_m2_s_pa_kg"),
        hardening=_read_hardening(section, bleached),
        resin_coated=resin_coated,
        name=section.text("name", stock, "default: its stock"),
    )


def _read_contact_dry(section: Section, stock: str, resin_coated: bool) -> float | None:
    """Return the contact of the dry sheet, or None where it lifts and its gap tells."""
    held = section.text("held", "pressed flat" if resin_coated else "magnets")
    if held not in HELD:
        raise section.error("held", f"held '{held}' is not known", f"choose {' or '.join(HELD)}")
    if held == "magnets" and "contact_dry" not in section:
        return None
    if "gap" in section:
        why = "contact_dry is given too" if held == "magnets" else "the sheet is pressed flat"
        raise section.error("gap", f"gap is given, but {why}", "keep one of the two")
    return section.field("contact_dry_w_m2_k", PAPER_LIMITS, "papers", stock, "contact_pressed")


def _read_cloth(section: Section) -> float | None:
    """Return the conductance of a cloth under the print, None without one [W/(m² K)]."""
    if section.flag("cloth_under", default=False, source="default (base on bare metal)"):
        return section.field("cloth_w_m2_k", PAPER_LIMITS, "contact", "cloth", "conductance")
    if "cloth" in section:
        raise section.error("cloth", "cloth is given, but no cloth_under", "add cloth_under = true")
    return None


def _read_hardening(section: Section, bleached: bool) -> str:
    """Return how the emulsion is hardened; ``hardened = true`` of older files means alum."""
    if "hardened" in section:
        if "hardening" in section:
            raise section.error("hardened", "both hardening and hardened are given", "keep one")
        if section.flag("hardened", default=False):
            section.record("hardening", "alum", "", source="hardened = true")
            return "alum"
    usual = "bleached" if bleached else HARDENINGS[0]
    source = "the process bleaches it" if bleached else "default"
    told = section.text("hardening", usual, source).lower()
    found = "none" if told == "hand-coated" else told
    if found not in HARDENINGS:
        words = f"choose one of: {', '.join(HARDENINGS)}, hand-coated"
        raise section.error("hardening", f"hardening '{told}' is not known", words)
    return found


def _read_water(section: Section, stock: str, area_m2: float) -> float:
    """Return the water left, from a word, an areal mass, or the mass on one sheet [kg/m2]."""
    given = section.raw("water")
    if given is None or given in WATER_WORDS:
        word = given or DEFAULT_WATER
        row = load_table("papers")[stock][f"water_{word}"]
        told = section.settings.source("paper.water") if given else "default"
        source = RowSource(f"{told}; {row_source('papers', stock, row)}, {word}", row.status)
        section.record("water", row.value, "kg/m2", source=source)
        return row.value
    where = section.where("water")
    form = f'write one of {", ".join(WATER_WORDS)}, or like "200 g/m2", or per sheet like "2.6 g"'
    if not isinstance(given, str) or not any(letter.isdigit() for letter in given):
        raise InputError(f"water '{given}' is not known", where, form)
    try:
        water_kg_m2 = parse_quantity(given, "mass", "water", where=where) / area_m2
    except InputError:
        water_kg_m2 = parse_quantity(given, "areal_mass", "water", where=where)
    low, high = PAPER_LIMITS["water_kg_m2"]
    if not low <= water_kg_m2 <= high:
        what = f"water {given} ({water_kg_m2 * 1e3:.4g} g/m2) is outside {low * 1e3:g} to "
        raise InputError(f"{what}{high * 1e3:g} g/m2", where)
    section.record("water", water_kg_m2, "kg/m2")
    return water_kg_m2
