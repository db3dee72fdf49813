"""What counts as dry, too hot, and worth waiting for: table values that the event may override."""

from __future__ import annotations

from dataclasses import dataclass

from drybox.inputs.text.settings import Settings
from drybox.tables import load_table

KEYS = {
    "dry": ("fraction", (0.2, 0.9), "isotherms", "dry", "activity"),
    "touch_dry": ("fraction", (0.3, 0.95), "isotherms", "touch_dry", "activity"),
    "over_dry": ("fraction", (0.05, 0.8), "isotherms", "over_dry", "activity"),
    "wet_careful": ("temperature", (283.15, 353.15), "limits", "wet_emulsion", "careful"),
    "wet_most": ("temperature", (283.15, 363.15), "limits", "wet_emulsion", "most"),
    "print_most": ("temperature", (303.15, 393.15), "limits", "dry_print", "most"),
    "wait": ("duration", (60.0, 86400.0), "limits", "useful", "wait"),
    "turns_share": ("fraction", (0.3, 1.0), "limits", "useful", "turns_share"),
    "flatten": ("duration", (0.0, 86400.0), "limits", "flatten", "time"),
}
"""Key of ``[drying]`` → dimension, range in SI, and the row that stands where it is left out."""

HOLD_RANGE_K = (293.15, 473.15)
MOST_TURNS = 20

WET_ROWS = {
    "in manufacture": "wet_emulsion",
    "alum": "wet_emulsion_alum",
    "bleached": "wet_emulsion_bleached",
    "none": "wet_emulsion_none",
}
"""Hardening of the emulsion → the row with the limit of a wet one."""


@dataclass(frozen=True)
class Limits:
    """Limits of one day, in SI.

    ``touch_dry_activity_frac``, ``dry_activity_frac`` and ``over_dry_activity_frac`` are the
    humidity of the air a print is in balance with when touch dry, dry and over-dry. ``wet_most_k``
    bounds what a print keeps for a minute while free water is in it, ``print_most_k`` when it is
    dry; above ``wet_careful_k`` a test sheet goes first. ``hold_below_k`` is the user's own wish
    for the empty plate, mostly None: the box faces the sun. ``wait_s`` is what a sitter is asked to
    wait. A list of at most ``most_turns`` turns, each ``turns_apart_s`` after the one before, keeps
    ``turns_share_frac`` of the always-turned energy as far as each brings ``turn_gain_frac`` of it.
    """

    touch_dry_activity_frac: float
    dry_activity_frac: float
    over_dry_activity_frac: float
    wet_careful_k: float
    wet_most_k: float
    print_most_k: float
    hold_below_k: float | None
    wait_s: float
    turns_share_frac: float
    flatten_s: float
    most_turns: int
    turns_apart_s: float
    turn_gain_frac: float

    @property
    def print_limit_k(self) -> tuple[float, float]:
        """The print's limit while free water is in it, and when dry. [K]"""
        return self.wet_most_k, self.print_most_k


def read_limits(
    settings: Settings, *, hardening: str = "in manufacture", resin_coated: bool = False
) -> Limits:
    """Return the limits of ``[drying]``, else those of the tables.

    Those of the tables go by the hardening, one of `WET_ROWS`, and a plastic base has its own.
    """
    section = settings.section("drying")
    section.only(*KEYS, "hold_below", "most_turns")

    def of(key: str, item: str = "") -> float:
        dimension, bounds, table, usual, column = KEYS[key]
        return section.property(key, dimension, bounds, row=(table, item or usual, column))

    coated = "resin_coated" if resin_coated else ""
    wet_most_k = of("wet_most", coated or WET_ROWS[hardening])
    emulsion, useful = (load_table("limits")[item] for item in ("wet_emulsion", "useful"))
    careful_k = min(
        of("wet_careful"), emulsion["careful"].value, wet_most_k - emulsion["careful_margin"].value
    )
    limits = Limits(
        touch_dry_activity_frac=of("touch_dry"),
        dry_activity_frac=of("dry"),
        over_dry_activity_frac=of("over_dry"),
        wet_careful_k=careful_k,
        wet_most_k=wet_most_k,
        print_most_k=of("print_most", coated),
        hold_below_k=section.quantity(
            "hold_below", "temperature", HOLD_RANGE_K, default=None, source="default: face the sun"
        ),
        wait_s=of("wait"),
        turns_share_frac=of("turns_share"),
        flatten_s=of("flatten", coated),
        most_turns=section.count("most_turns", (0, MOST_TURNS), row=("limits", "useful")),
        turns_apart_s=useful["turns_apart"].value,
        turn_gain_frac=useful["turn_gain"].value,
    )
    if limits.over_dry_activity_frac >= limits.dry_activity_frac:
        mend = 'write them like dry = "60 %" and over_dry = "30 %"'
        raise section.error("over_dry", "over_dry is not drier than dry", mend)
    if limits.touch_dry_activity_frac < limits.dry_activity_frac:
        mend = 'write them like touch_dry = "75 %" and dry = "60 %"'
        raise section.error("touch_dry", "touch_dry is drier than dry", mend)
    return limits
