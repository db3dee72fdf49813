"""What is known before a wash: the prints, how they were fixed, the water, the aim."""

from __future__ import annotations

from dataclasses import dataclass, replace

from drybox.errors import InputError
from drybox.inputs.text.settings import Section, Settings, row_source
from drybox.tables import load_table

FIXINGS = ("short", "long")
REWASH = "until rewash"
_KEYS = (
    "fixing", "wash_aid", "target", "prints", "water", "time", "vessel", "water_temperature",
    "load", "bound_share", "time_constant", "bound_time_constant", "carry_over", "handling",
    "shortest_soak", "longest_soak", "aid_soak", "longest_wash",
)  # fmt: skip
_MINUTES = (1.0, 86400.0)
_TARGET_LIMITS = (1e-7, 1e-2)


@dataclass(frozen=True)
class WashTarget:
    """An aim for residual thiosulfate, with where it comes from."""

    name: str
    residual_kg_m2: float
    status: str
    source: str


@dataclass(frozen=True)
class Diffusion:
    """Time constants of one pool at the reference weight and temperature."""

    before_aid_s: float
    after_aid_s: float


@dataclass(frozen=True)
class WashRules:
    """Figures that belong to the trade, not to one wash."""

    reference_dry_mass_kg_m2: float
    mass_exponent: float
    reference_temp_k: float
    rate_per_10_k: float
    handling_s: float
    shortest_soak_s: float
    longest_soak_s: float
    aid_soak_s: float
    longest_wash_s: float
    most_changes: int
    least_ratio: float
    full_ratio: float
    least_depth_m: float
    home_change_s: float
    load_spread_frac: float
    time_constant_spread_frac: float
    bound_share_spread_frac: float
    sea_time_factor: float
    sea_fresh_after_s: float


@dataclass(frozen=True)
class WashSetup:
    """One batch to be washed together; what a rewash at home must reach is in it as well."""

    prints: int
    sheet_area_m2: float
    dry_mass_kg_m2: float
    resin_coated: bool
    fixing: str
    wash_aid: bool
    water_temp_k: float
    load_kg_m2: float
    bound_frac: float
    free: Diffusion
    bound: Diffusion
    carry_over_m3: float
    vessel_m3: float | None
    water_m3: float | None
    time_s: float | None
    target: WashTarget
    rewash_target_kg_m2: float
    rules: WashRules


def of_the_day(settings: Settings, setup: WashSetup) -> WashSetup:
    """Return the wash with as many prints together as a day's trays take, where none is told."""
    if "prints" in settings.tables.get("process", {}).get("wash", {}):
        return setup
    row = load_table("day")["wash"]["together"]
    prints, source = int(row.value), row_source("day", "wash", row)
    settings.record("process.wash.prints", prints, "", source=source)
    return replace(setup, prints=prints)


def read_wash(
    settings: Settings,
    *,
    sheet_area_m2: float,
    dry_mass_kg_m2: float,
    resin_coated: bool,
    fixing_s: float,
) -> WashSetup:
    """Return the wash of ``[process.wash]``, every figure from there or from the tables.

    ``fixing_s``, how long the sheet was fixed, decides short or long when ``fixing`` is not given.
    [s]
    """
    given = settings.section("process").raw("wash")
    if given is not None and not isinstance(given, dict):
        where = settings.where("process.wash")
        raise InputError("wash is not a table", where, "write it as a table headed [process.wash]")
    section = Section(settings, "process.wash", given or {})
    section.only(*_KEYS)
    limit = load_table("washing")["paper"]["short_fix_up_to"]
    guess = "short" if fixing_s <= limit.value else "long"
    fixing = section.text("fixing", guess, f"the fixer's time ({limit.text} at most is short)")
    if fixing not in FIXINGS:
        raise section.error("fixing", f"fixing '{fixing}' is not known", "write short or long")
    item = "resin_coated" if resin_coated else f"{fixing}_fix"
    water_temp = section.water_temperature(
        "water_temperature", (274.15, 308.15), row=("washing", "temperature", "reference")
    )
    carried_m3, carried_by = carry_over_m3(sheet_area_m2, dry_mass_kg_m2, resin_coated)
    target = _target(section)
    everyday = load_table("wash_targets")["everyday"]["residual"].value
    rewash_target = everyday if target.name == REWASH else target.residual_kg_m2
    return WashSetup(
        prints=section.whole_number("prints", (1, 500), 1, source="default: one print at a time"),
        sheet_area_m2=sheet_area_m2,
        dry_mass_kg_m2=dry_mass_kg_m2,
        resin_coated=resin_coated,
        fixing=fixing,
        wash_aid=section.flag("wash_aid", False, "default: none"),
        water_temp_k=water_temp,
        load_kg_m2=section.property("load", "areal_mass", (1e-4, 0.2), row=("washing", item)),
        bound_frac=section.property("bound_share", "fraction", (0.0, 0.5), row=("washing", item)),
        free=_diffusion(section, "time_constant", "free_time_constant", item=item),
        bound=_diffusion(section, "bound_time_constant", "bound_time_constant", item=item),
        carry_over_m3=section.quantity(
            "carry_over", "volume", (1e-8, 1e-3), default=carried_m3, source=carried_by
        ),
        vessel_m3=section.quantity(
            "vessel", "volume", (20e-6, 1.0), default=None, source="not given"
        ),
        water_m3=section.quantity(
            "water", "volume", (20e-6, 10.0), default=None, source="not given", usual_unit="l"
        ),
        time_s=section.quantity("time", "duration", _MINUTES, default=None, source="not given"),
        target=target,
        rewash_target_kg_m2=rewash_target,
        rules=_rules(section),
    )


def carry_over_m3(
    sheet_area_m2: float, dry_mass_kg_m2: float, resin_coated: bool
) -> tuple[float, str]:
    """Return the liquid that one sheet takes to the next bath, and the table row it is from.

    It is drained for 10 to 15 s; fibre paper then holds a share of its dry mass.

    A 4x5 in double weight sheet, drained:

    >>> volume, source = carry_over_m3(0.0129, 0.255, False)
    >>> round(volume * 1e6, 1), source
    (3.6, 'table carry_over: fibre_based (memory)')
    """
    table = load_table("carry_over")
    item = "resin_coated" if resin_coated else "fibre_based"
    row = table[item]["drained_water" if resin_coated else "drained_share"]
    held_kg_m2 = row.value if resin_coated else row.value * dry_mass_kg_m2
    volume = sheet_area_m2 * held_kg_m2 / table["liquid"]["density"].value
    return volume, row_source("carry_over", item, row)


def _diffusion(section: Section, key: str, column: str, *, item: str) -> Diffusion:
    """Return the time constants; one that the user gives stands before and after an aid."""
    before = section.property(key, "duration", (5.0, 86400.0), row=("washing", item, column))
    if key in section:
        return Diffusion(before, before)
    row = load_table("washing")[item][f"{column}_after_aid"]
    source = row_source("washing", item, row)
    section.record(f"{key}_after_aid", row.value / 60, "min", source=source)
    return Diffusion(before, row.value)


def _target(section: Section) -> WashTarget:
    text = section.text("target", "everyday", "default: ordinary aim (memory)")
    key = text.lower().replace(" ", "_").replace("-", "_")
    table = load_table("wash_targets")
    if key in table:
        row = table[key]["residual"]
        name = key.replace("_", " ")
        return WashTarget(name=name, residual_kg_m2=row.value, status=row.status, source=row.source)
    if not any(character.isdigit() for character in text):
        known = ", ".join(sorted(item.replace("_", " ") for item in table))
        mend = f'choose one of: {known}; or write it like "0.03 g/m2"'
        raise section.error("target", f"target '{text}' is not known", mend)
    own = section.quantity("target", "areal_mass", _TARGET_LIMITS, default=0.0)
    return WashTarget(
        name="your own", residual_kg_m2=own, status="given", source="given by the user"
    )


def _rules(section: Section) -> WashRules:
    table = load_table("washing")
    practice, paper, warmth = table["practice"], table["paper"], table["temperature"]
    spread, sea = table["spread"], table["sea_water"]

    def minutes(key: str, limits: tuple[float, float] = _MINUTES) -> float:
        return section.property(key, "duration", limits, row=("washing", "practice"))

    shortest, longest = minutes("shortest_soak"), minutes("longest_soak")
    if longest < shortest:
        raise section.error("longest_soak", "longest_soak is shorter than shortest_soak")
    return WashRules(
        reference_dry_mass_kg_m2=paper["reference_dry_mass"].value,
        mass_exponent=paper["mass_exponent"].value,
        reference_temp_k=warmth["reference"].value,
        rate_per_10_k=warmth["rate_per_10_k"].value,
        handling_s=minutes("handling", (0.0, 3600.0)),
        shortest_soak_s=shortest,
        longest_soak_s=longest,
        aid_soak_s=minutes("aid_soak"),
        longest_wash_s=minutes("longest_wash"),
        most_changes=int(practice["most_changes"].value),
        least_ratio=practice["least_ratio"].value,
        full_ratio=practice["full_ratio"].value,
        least_depth_m=practice["least_depth"].value,
        home_change_s=practice["home_change"].value,
        load_spread_frac=spread["load"].value,
        time_constant_spread_frac=spread["time_constant"].value,
        bound_share_spread_frac=spread["bound_share"].value,
        sea_time_factor=sea["time_factor"].value,
        sea_fresh_after_s=sea["fresh_after"].value,
    )
