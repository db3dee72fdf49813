"""What counts as dry, too hot, and worth waiting for: table values that the event may override."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.errors import InputError
from drybox.inputs.settings import Settings

KEYS = {
    "dry": ("fraction", (0.2, 0.9), "isotherms", "dry", "activity"),
    "touch_dry": ("fraction", (0.3, 0.95), "isotherms", "touch_dry", "activity"),
    "over_dry": ("fraction", (0.05, 0.8), "isotherms", "over_dry", "activity"),
    "wet_careful": ("temperature", (283.15, 353.15), "limits", "wet_emulsion", "careful"),
    "wet_most": ("temperature", (283.15, 363.15), "limits", "wet_emulsion", "most"),
    "print_most": ("temperature", (303.15, 393.15), "limits", "dry_print", "most"),
    "hold_below": ("temperature", (293.15, 473.15), "limits", "plate_hold", "most"),
    "wait": ("duration", (60.0, 86400.0), "limits", "useful", "wait"),
    "turns_share": ("fraction", (0.3, 1.0), "limits", "useful", "turns_share"),
    "flatten": ("duration", (0.0, 86400.0), "limits", "flatten", "time"),
}
"""Key of ``[drying]`` → dimension, range in SI, and the row that stands where it is left out."""


@dataclass(frozen=True)
class Limits:
    """Limits of one day, in SI.

    ``touch_dry_activity_frac``, ``dry_activity_frac`` and ``over_dry_activity_frac`` are the
    humidity of the air a print is in balance with when touch dry, dry and over-dry.
    ``wet_careful_k`` and ``wet_most_k`` bound a wet emulsion, ``print_most_k`` a dry print; the
    box is aimed so that
    the empty plate stays below ``hold_below_k``; ``wait_s`` is what a sitter is asked to wait.
    """

    touch_dry_activity_frac: float
    dry_activity_frac: float
    over_dry_activity_frac: float
    wet_careful_k: float
    wet_most_k: float
    print_most_k: float
    hold_below_k: float
    wait_s: float
    turns_share_frac: float
    flatten_s: float


def read_limits(
    settings: Settings,
    *,
    hardened: bool = False,
    bleached: bool = False,
    resin_coated: bool = False,
) -> Limits:
    """Return the limits of ``[drying]``, else those of the tables.

    Parameters
    ----------
    settings : Settings
        The event.
    hardened, bleached, resin_coated : bool
        What the paper and its process make of the limits: alum raises that of the wet emulsion,
        a bleach lowers it, a plastic base has its own.

    Raises
    ------
    InputError
        If a value is out of range, or over-dry is not drier than dry.
    """
    section = settings.section("drying")
    section.only(*KEYS)

    def of(key: str, item: str = "") -> float:
        dimension, bounds, table, usual, column = KEYS[key]
        return section.property(key, dimension, bounds, table, item or usual, column)

    emulsion = "wet_emulsion"
    if hardened:
        emulsion = "wet_emulsion_alum"
    if bleached:
        emulsion = "wet_emulsion_bleached"
    limits = Limits(
        touch_dry_activity_frac=of("touch_dry"),
        dry_activity_frac=of("dry"),
        over_dry_activity_frac=of("over_dry"),
        wet_careful_k=of("wet_careful"),
        wet_most_k=of("wet_most", emulsion),
        print_most_k=of("print_most", "resin_coated" if resin_coated else ""),
        hold_below_k=of("hold_below"),
        wait_s=of("wait"),
        turns_share_frac=of("turns_share"),
        flatten_s=of("flatten"),
    )
    if limits.over_dry_activity_frac >= limits.dry_activity_frac:
        raise InputError(
            "over_dry is not drier than dry",
            section.where("over_dry"),
            'write them like dry = "60 %" and over_dry = "30 %"',
        )
    if limits.touch_dry_activity_frac < limits.dry_activity_frac:
        raise InputError(
            "touch_dry is drier than dry",
            section.where("touch_dry"),
            'write them like touch_dry = "75 %" and dry = "60 %"',
        )
    return limits
