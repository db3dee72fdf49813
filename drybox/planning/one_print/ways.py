"""Ways of drying, what each gives, and which to take."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from drybox.inputs.event.ways import WAY, WAY_NAMES
from drybox.planning.aim.off_sun import FACING, OffSun
from drybox.planning.aim.search import AimPlan
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.percentiles import UNKNOWN, Range, or_never
from drybox.planning.scenario.readings import Readings
from drybox.readable import Readable

OPEN_LINE = "line in the open"


@dataclass(frozen=True)
class Reason:
    """Why something is so: a code, and under names with units the values that its words need.

    Of a way that cannot be used: ``too_hot`` (kept_k, wet_most_k, print_most_k, over_k),
    ``too_damp`` (humidity_frac), ``near_damp`` (humidity_frac, dry_frac), ``not_sure``, ``rains``,
    ``rain_comes``, ``battery`` (needs_j, holds_j), ``weak_air`` (power_w, rise_k), ``too_large``,
    ``not_out`` (later_s: the box is set out so long after),
    ``never_below`` (limit_k: the plate passes it at every aim), ``no_aim`` (what: what the search
    for an aim says). The empty one stands for none.
    """

    code: str = ""
    values: Mapping[str, float | str] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.code)


NO_REASON = Reason()


@dataclass(frozen=True)
class ChoiceReason:
    """Why a way is chosen: a code, and the way that it is set against.

    ``only_asked``, ``only_sure`` (``other`` comes nearest), ``none_sure``, ``touch_soonest``,
    ``nearly_as_quick``, ``as_quick``, ``sooner``.
    """

    code: str
    other: WayResult | None = None


@dataclass(frozen=True, repr=False)
class WayResult(Readable):
    """What one way of drying gives; times in seconds, ranges over the ensemble.

    ``print_temp_max_k`` is the ninth decile of the hottest the print gets up to dry,
    ``print_temp_kept_k`` that of what it is kept at for a minute, ``wet_temp_max_k`` that of the
    hottest while its surface is wet. ``held_below_k`` says that the plate is aimed off the sun to
    stay below that, as wished; ``too_hot`` that the median print is kept over its limit;
    ``in_sun`` that sun falls on a print hung in the open; ``rained_on`` that rain was told before
    it is touch dry out of doors.
    """

    way: str
    duration_s: Range = UNKNOWN
    touch_dry_at: Range = UNKNOWN
    dry_at: Range = UNKNOWN
    pull_from_at: float | None = None
    pull_before_at: float | None = None
    print_temp_max_k: float = 0.0
    wet_temp_max_k: float = 0.0
    plate_temp_max_k: float | None = None
    energy_j: float = 0.0
    feasible: bool = False
    why: Reason = NO_REASON
    held_below_k: float | None = None
    too_hot: bool = False
    without_power: bool = False
    print_temp_kept_k: float = 0.0
    in_sun: bool = True
    rained_on: bool = False

    @property
    def name(self) -> str:
        """What people call it; a line in the sun needs sun, and is one in the open without."""
        return WAY_NAMES[self.way] if self.in_sun else OPEN_LINE

    @property
    def sure_s(self) -> float:
        """How long until nine prints in ten are dry, infinite if past the time followed. [s]"""
        return or_never(self.duration_s.p90)

    @property
    def touch_sure(self) -> bool:
        """Whether nine prints in ten are touch dry by it in the time followed."""
        known = self.touch_dry_at.p90 is not None
        return known and not (self.too_hot or self.without_power or self.rained_on)


@dataclass(frozen=True)
class Cure:
    """What keeps a print on the sun plate cooler, with what it costs.

    ``cure`` is one of `CURES`; ``feasible`` tells whether the print's limit is then kept.
    ``hold_k`` goes with the aims: what the plate is held below.
    """

    cure: str
    duration_s: Range
    print_temp_kept_k: float
    feasible: bool
    hold_k: float | None = None


CURES = ("cooler plate", "cloth under the print", "lighter aim", "off the sun")
"""In the order in which they are offered."""


@dataclass(frozen=True, eq=False, repr=False)
class DryResult(Readable):
    """All ways for one print, the choice, and what the run stood on.

    ``off_sun`` says why the plate does not face the sun then; ``metal_k`` is how hot the sun plate
    may get that day, ``powered_metal_k`` a powered one that can be used; ``other_sky`` is the same
    under a closed sky, where no cloud was told.
    """

    laid_on_at: float
    ways: tuple[WayResult, ...]
    choice: WayResult | None
    choice_why: ChoiceReason
    plate_temp_at_start_k: Range | None
    aim: AimPlan | None
    bearing_deg: float | None
    tilt_deg: float | None
    told: Conditions
    readings: Readings = field(default_factory=Readings)
    cures: tuple[Cure, ...] = ()
    metal_k: float | None = None
    powered_metal_k: float | None = None
    off_sun: OffSun = FACING
    other_sky: DryResult | None = None


def carriage_worth_s(after_s: float) -> float:
    """Return how much sooner than a time a way must dry to be worth more to carry (judgement)."""
    return max(0.1 * after_s, 300.0)


def choose(ways: tuple[WayResult, ...]) -> tuple[WayResult | None, ChoiceReason]:
    """Return the way to take and the reason.

    The soonest nine-in-ten time wins; a way with less to carry wins if it is within a tenth or five
    minutes of it. Where none is sure to dry the print, the one on which nine in ten are touch dry
    soonest.
    """
    able = [way for way in ways if way.feasible and way.sure_s < math.inf]
    if not able:
        touch_dry = [way for way in ways if way.touch_sure]
        if not touch_dry:
            return None, ChoiceReason("none_sure")
        best = min(touch_dry, key=lambda way: or_never(way.touch_dry_at.p90))
        return best, ChoiceReason("touch_soonest")
    soonest_s = min(way.sure_s for way in able)
    near = [way for way in able if way.sure_s <= soonest_s + carriage_worth_s(soonest_s)]
    best = min(near, key=lambda way: WAY[way.way].carriage)
    others = [way for way in able if way is not best]
    if not others:
        if len(ways) == 1:
            return best, ChoiceReason("only_asked")
        # the nearest; of those that never come, one with a reason of its own first
        nearest = min(
            (way for way in ways if way is not best),
            key=lambda way: (or_never(way.duration_s.p50), not way.why),
        )
        return best, ChoiceReason("only_sure", nearest)
    second = min(others, key=lambda way: way.sure_s)
    saved_s = second.sure_s - best.sure_s
    if saved_s < 0.0:
        return best, ChoiceReason("nearly_as_quick", second)
    return best, ChoiceReason("as_quick" if saved_s < 30.0 else "sooner", second)
