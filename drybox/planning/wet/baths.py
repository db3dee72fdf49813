"""Which bath gives out first, and what to bring and to take home.

A bath ends by the first of four: the area it has processed, its level (where sheets enter dry
and nobody tops up), the dilution by what earlier baths drag in, or the clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from drybox.errors import NoAnswerError
from drybox.inputs.wet.process import Bath, Process, find_bath
from drybox.physics.baths import (
    level_m3,
    sheets_by_area,
    sheets_by_life,
    sheets_to_level,
    sheets_to_strength,
    silver_kg_m3,
    strength_frac,
    time_at_temperature_s,
)
from drybox.planning.wet.wash import WashPlan
from drybox.readable import Readable

ROUNDING_M3 = 50e-6

WATER, CANISTERS = "water for rinsing and washing", "empty canisters for waste, labelled, together"
"""What they are called on a packing list, which is asked for either."""


@dataclass(frozen=True)
class BathUse:
    """One bath: how many sheets it takes, what ends it, how it stands at the end of its fill.

    Sheets are passages. ``sheets_used`` went through before now; ``change_after_sheet`` counts
    them in. ``strength_frac`` and ``level_m3`` are when the fill ends or the day does,
    whichever is first. ``fills`` is for the whole day, the one in the tank included.
    """

    bath: str
    kind: str
    volume_m3: float
    sheets_capacity: int | None
    sheets_used: int
    sheets_today: int
    change_after_sheet: int
    strength_frac: float
    level_m3: float
    limit: str
    fills: int
    top_up_per_sheet_m3: float
    silver_kg_m3: float | None

    @property
    def filled_m3(self) -> float:
        """What all fills of the day take, without what tops them up. [m³]"""
        return self.volume_m3 * self.fills

    @property
    def sheets_left(self) -> int:
        """Sheets that the present fill still takes."""
        return max(self.change_after_sheet - self.sheets_used, 0)


@dataclass(frozen=True)
class StageTime:
    """A stage's time at the temperature of the baths."""

    stage: str
    sheet: str
    duration_s: float
    attended: bool
    vessel: str


@dataclass(frozen=True)
class Supply:
    """One thing to bring or to take home."""

    what: str
    amount: float
    unit: str


@dataclass(frozen=True)
class BathWarning:
    """What is amiss with the baths: ``too_cold`` or ``too_warm`` by a limit, or one ``spent``."""

    code: str
    temp_k: float = 0.0
    limit_k: float = 0.0
    use: BathUse | None = None


@dataclass(frozen=True, eq=False, repr=False)
class BathPlan(Readable):
    """The baths of a day, what to bring, what to take home, and stage times.

    ``wash`` is how its prints are washed, or ``no_wash`` says why they cannot be.
    """

    sheets_through: int
    baths: tuple[BathUse, ...]
    bring: tuple[Supply, ...]
    take_home: tuple[Supply, ...]
    stages: tuple[StageTime, ...]
    warnings: tuple[BathWarning, ...]
    sittings: int = 0
    wash: WashPlan | None = None
    no_wash: NoAnswerError | None = None

    @property
    def first_to_change(self) -> BathUse:
        """The bath that is spent first, in sheets still to come."""
        return min(self.baths, key=lambda use: use.sheets_left)


@dataclass(frozen=True)
class WashWater:
    """Fresh water that washing takes over the day, and the share that is first wash."""

    total_m3: float = 0.0
    first_wash_m3: float = 0.0
    aid_m3: float = 0.0


def plan_baths(
    process: Process,
    *,
    sheet_area_m2: float,
    carry_over_m3: Mapping[str, float],
    sittings: int,
    day_s: float,
    used: Mapping[str, int] | None = None,
    wash: WashWater | None = None,
) -> BathPlan:
    """Return what each bath still takes today, and what to carry.

    ``carry_over_m3`` is the liquid that each kind of sheet takes along [m³], ``sittings`` the
    pictures still to be made today, in ``day_s`` [s]; ``used`` are the sheets each bath has had, by
    its name, all fresh without; ``wash`` is what the wash needs over the day.

    A tank's life is taken as beginning now; what topping up adds to its capacity by area is
    left out, which is the careful side.
    """
    made = math.ceil(sittings * (1.0 + process.spoilt_frac) - 1e-9)
    already = {find_bath(process, name).name: count for name, count in (used or {}).items()}
    uses = tuple(
        _use(
            process,
            bath,
            sheet_area_m2,
            carry_over_m3=carry_over_m3,
            made=made,
            day_s=day_s,
            already=already.get(bath.name, 0),
        )
        for bath in process.baths
    )
    water = wash or WashWater()
    sheets, home = made * len(process.sheets), _take_home(process, uses, water)
    return BathPlan(
        sheets_through=sheets,
        baths=uses,
        bring=_bring(uses, water, home, sheets=sheets, spare=1.0 + process.spare_frac),
        take_home=home,
        stages=stage_times(process),
        warnings=_warnings(process, uses),
    )


def stage_times(process: Process) -> tuple[StageTime, ...]:
    """Return each stage's time, draining included."""
    return tuple(
        StageTime(
            stage=stage.name,
            sheet=stage.sheet,
            duration_s=stage.drain_s
            + float(
                time_at_temperature_s(
                    stage.duration_s, process.temp_k, stage.reference_temp_k, stage.rate_per_k
                )
            ),
            attended=stage.attended,
            vessel=stage.vessel,
        )
        for stage in process.stages
    )


def slower_than_told(process: Process) -> float:
    """Return how much longer the baths' stages take than at the temperature they are told for."""
    ours = sum(stage.duration_s for stage in stage_times(process))
    theirs = sum(stage.drain_s + stage.duration_s for stage in process.stages)
    return ours / theirs if theirs else 1.0


def _use(
    process: Process,
    bath: Bath,
    area_m2: float,
    *,
    carry_over_m3: Mapping[str, float],
    made: int,
    day_s: float,
    already: int,
) -> BathUse:
    passes = process.passes(bath.name)
    today = made * len(passes)
    carried = sum(carry_over_m3[sheet] for sheet in passes) / len(passes)
    dry = process.enters_dry(bath.name)
    limits: dict[str, float] = {}
    if bath.capacity_m2_m3 is not None:
        limits["area"] = float(sheets_by_area(bath.volume_m3, bath.capacity_m2_m3, area_m2))
    if not dry:
        limits["dilution"] = float(
            sheets_to_strength(bath.volume_m3, carried, bath.least_strength_frac)
        )
    elif not process.top_up:
        limits["level"] = float(sheets_to_level(bath.volume_m3, carried, process.level_loss_frac))
    if today:
        limits["life"] = float(sheets_by_life(bath.life_s, today / day_s))
    capacity = int(limits["area"]) if "area" in limits else None
    limit = min(limits, key=limits.__getitem__, default="none")
    change = int(limits[limit]) if limits else already + today
    last = min(change, already + today)
    silver = None
    if bath.silver_bearing:
        silver = float(silver_kg_m3(last, area_m2, process.silver_kg_m2, bath.volume_m3))
    lost = carried if dry else 0.0
    kept = bath.volume_m3 if process.top_up else float(level_m3(bath.volume_m3, last, lost))
    return BathUse(
        bath=bath.name,
        kind=bath.kind,
        volume_m3=bath.volume_m3,
        sheets_capacity=capacity,
        sheets_used=already,
        sheets_today=today,
        change_after_sheet=change,
        strength_frac=1.0 if dry else float(strength_frac(last, carried, bath.volume_m3)),
        level_m3=kept,
        limit=limit,
        fills=_fills(already + today, limits, day_s / bath.life_s if today else 0.0),
        top_up_per_sheet_m3=lost if process.top_up else 0.0,
        silver_kg_m3=silver,
    )


def _fills(sheets: int, limits: Mapping[str, float], lives: float) -> int:
    """Return how often the bath is filled, by sheets and by the clock; at worst per sheet."""
    most = min((count for name, count in limits.items() if name != "life"), default=float("inf"))
    return max(math.ceil(sheets / max(most, 1.0)), math.ceil(lives), 1)


def _ml(what: str, volume_m3: float) -> Supply:
    up = math.ceil(volume_m3 / ROUNDING_M3 - 1e-9) * ROUNDING_M3
    return Supply(what, round(up * 1e6), "ml")


def _bring(
    uses: tuple[BathUse, ...],
    water: WashWater,
    home: tuple[Supply, ...],
    *,
    sheets: int,
    spare: float,
) -> tuple[Supply, ...]:
    found = []
    for use in uses:
        if "rinse" not in use.kind:
            needed = use.filled_m3 + use.top_up_per_sheet_m3 * use.sheets_today
            found.append(_ml(f"{use.bath}, working strength", needed * spare))
    if water.aid_m3:
        found.append(_ml("wash aid, working strength", water.aid_m3 * spare))
    rinses = sum(use.filled_m3 for use in uses if "rinse" in use.kind)
    if water.total_m3 + rinses:
        half_litres = math.ceil((water.total_m3 + rinses) * spare * 2e3 - 1e-9)
        found.append(Supply(WATER, round(half_litres / 2, 1), "l"))
    found.append(Supply("sheets of paper, spoilt ones counted in", sheets, "sheets"))
    kept = sum(one.amount for one in home) / 1e3  # whole millilitres, which add up
    found.append(Supply(CANISTERS, math.ceil(kept), "l"))
    return tuple(found)


def _take_home(process: Process, uses: tuple[BathUse, ...], water: WashWater) -> tuple[Supply, ...]:
    filled = list(zip(process.baths, (use.filled_m3 for use in uses), strict=True))
    silver = sum(volume for bath, volume in filled if bath.silver_bearing)
    oxidiser = sum(volume for bath, volume in filled if bath.hazardous)
    rest = sum(v for bath, v in filled if not (bath.silver_bearing or bath.hazardous))
    found = []
    if silver:
        found.append(_ml("used fixer, silver-bearing, in its own canister", silver))
    if water.first_wash_m3:
        found.append(
            _ml("first wash water, silver-bearing, with or beside the fixer", water.first_wash_m3)
        )
    if oxidiser:
        found.append(_ml("used bleach, apart from everything else, vented cap", oxidiser))
    found.append(_ml("used developer, stop and rinses, apart from the fixer", rest + water.aid_m3))
    return tuple(found)


def _warnings(process: Process, uses: tuple[BathUse, ...]) -> tuple[BathWarning, ...]:
    found = []
    temp_k, least_k, most_k = process.temp_k, process.coldest_temp_k, process.warmest_temp_k
    if temp_k < least_k:
        found.append(BathWarning("too_cold", temp_k=temp_k, limit_k=least_k))
    if temp_k > most_k:
        found.append(BathWarning("too_warm", temp_k=temp_k, limit_k=most_k))
    found += [BathWarning("spent", use=use) for use in uses if use.sheets_left == 0]
    return tuple(found)
