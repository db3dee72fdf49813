"""How to wash a batch: least water, least time, or the best result of what is at hand.

Every way to wash that the rules allow (number of changes, soak, water per change) is worked
out on one grid, and the best that fits is chosen. More water or more time only adds ways, so
neither can make the answer worse.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from drybox.arrays import Array, Flags
from drybox.errors import NoAnswerError
from drybox.inputs.wet.wash import WashSetup
from drybox.physics.washing import Number, WashHistory, carry_over_share_frac, wash_in_changes
from drybox.planning.wet.pools import (
    MEMBERS,
    Pools,
    WashWay,
    bath_by_bath,
    likely_pools,
    residual_kg_m2,
    spread_pools,
)
from drybox.planning.wet.words import litres, minutes
from drybox.readable import Readable

Goal = Literal["least water", "least time", "best result"]
SOAK_STEP_S = 30.0
SURE_FRAC = 0.9


@dataclass(frozen=True)
class WashStep:
    """One bath of the wash; ``kind`` is ``change`` or ``wash aid``."""

    kind: str
    soak_s: float
    water_m3: float
    residual_kg_m2: float


@dataclass(frozen=True, eq=False, repr=False)
class WashPlan(Readable):
    """A way to wash; ``residual_kg_m2`` is after each change of water.

    ``residual_range_kg_m2`` is the 10th, 50th and 90th percentile after the last one, over
    papers, loads and agitation; ``chance_frac`` is the share of them that meet the target.
    ``rewash_changes`` (0: none) is what one print still needs at home, in plenty of water.
    """

    goal: Goal
    prints: int
    changes: int
    water_per_change_m3: float
    water_total_m3: float
    aid_m3: float
    soak_s: float
    duration_s: float
    residual_kg_m2: tuple[float, ...]
    steps: tuple[WashStep, ...]
    residual_range_kg_m2: tuple[float, float, float]
    chance_frac: float
    target_kg_m2: float
    reached: bool
    sure: bool
    rewash_changes: int
    rewash_soak_s: float


def plan_wash(
    setup: WashSetup, goal: Goal | None = None, *, sure: bool = False, seed: int = 0
) -> WashPlan:
    """Return the way to wash that serves the goal best.

    The goal is ``least water`` or ``least time`` to reach the target, or ``best result``; without
    one it is the best result when water and minutes are both given, least water when only minutes
    are, else least time. ``sure`` plans for nine in ten papers and batches instead of the likely
    one. Where the target cannot be met, ``reached`` is False and the plan the best that can be had.
    """
    goal = goal or _goal_of(setup)
    likely = likely_pools(setup)
    members = spread_pools(likely, setup, seed)
    pools = _cautious(setup, likely, members) if sure else likely
    return _plan(setup, pools, members, goal=goal, way=_choose(setup, pools, goal), sure=sure)


def least_water_m3(setup: WashSetup) -> float:
    """Return the least water in which the batch still moves freely and is covered. [m³]."""
    depth = setup.sheet_area_m2 * setup.rules.least_depth_m
    return max(depth, setup.rules.least_ratio * setup.prints * setup.carry_over_m3)


def _goal_of(setup: WashSetup) -> Goal:
    if setup.time_s is None:
        return "least time"
    return "least water" if setup.water_m3 is None else "best result"


def _choose(setup: WashSetup, pools: Pools, goal: Goal) -> WashWay:
    """Return the way that serves the goal; the best result when the target is out of reach."""
    changes, soak, water = _ways(setup)
    residual = residual_kg_m2(setup, pools, changes, soak=soak, water=water)
    baths = changes + setup.wash_aid
    total = np.broadcast_to(np.round(baths * water, 9), residual.shape)
    duration = np.broadcast_to(_duration_s(setup, changes, soak), residual.shape)
    allowed = _allowed(setup, total, duration)
    met = allowed & (residual <= setup.target.residual_kg_m2)
    if goal == "best result" or not met.any():
        chosen = _least(allowed, residual, total, duration)
    elif goal == "least water":
        chosen = _least(met, total, duration, residual)
    else:
        chosen = _least(met, duration, total, residual)
    n, t, v = (float(np.broadcast_to(x, residual.shape)[chosen]) for x in (changes, soak, water))
    return WashWay(int(n), t, v)


def _cautious(setup: WashSetup, likely: Pools, members: Pools) -> Pools:
    """Return the member that is worse than nine in ten, washed until the target is met.

    What is at hand plays no part in it, so that more of it still cannot make a plan worse.
    """
    free = replace(setup, water_m3=None, time_s=None)
    pools = likely
    for _ in range(3):
        way = _choose(free, pools, "least time")
        residual = residual_kg_m2(
            free, members, float(way.changes), soak=way.soak_s, water=way.water_m3
        )
        worst = np.argsort(residual)[int(SURE_FRAC * MEMBERS)]
        pools = Pools(*(float(np.asarray(column)[worst]) for column in vars(members).values()))
    return pools


def _ways(setup: WashSetup) -> tuple[Array, Array, Array]:
    """Return all changes, soaks and waters per change, on three axes."""
    rules = setup.rules
    least = least_water_m3(setup)
    most = setup.vessel_m3 or max(least, rules.full_ratio * setup.prints * setup.carry_over_m3)
    if most < least:
        raise NoAnswerError(
            f"a vessel of {litres(most)} is too small to wash {setup.prints} "
            f"print{'s' * (setup.prints > 1)} of this size",
            mend=f"take one of {litres(least)} or more, or wash fewer together",
        )
    step = _nice_step(least / 10)
    inside = np.arange(np.ceil(least / step), np.floor(most / step) + 1) * step
    water = np.union1d(np.round(inside[inside <= most], 9), [most])
    first = 2 if setup.wash_aid else 1
    changes = np.arange(first, rules.most_changes + 1, dtype=float)
    steps = np.arange(0.0, rules.longest_soak_s - rules.shortest_soak_s + 1e-6, SOAK_STEP_S)
    return (
        changes[:, np.newaxis, np.newaxis],
        (rules.shortest_soak_s + steps)[:, np.newaxis],
        water,
    )


def _nice_step(about: float) -> float:
    """Return 1, 2 or 5 times a power of ten, at or below ``about``."""
    power = 10.0 ** np.floor(np.log10(about))
    return float(max(m * power for m in (1, 2, 5) if m * power <= about * (1 + 1e-9)))


def _duration_s(setup: WashSetup, changes: Number, soak: Number) -> Number:
    rules = setup.rules
    aid = rules.aid_soak_s + rules.handling_s if setup.wash_aid else 0.0
    return changes * (soak + rules.handling_s) + aid


def _allowed(setup: WashSetup, total: Array, duration: Array) -> Flags:
    rules = setup.rules
    longest = min(setup.time_s or rules.longest_wash_s, rules.longest_wash_s)
    in_time = duration <= longest * (1 + 1e-9)
    if not in_time.any():
        raise NoAnswerError(
            f"{minutes(longest)} is too short for a wash",
            mend=f"the shortest takes {minutes(float(duration.min()))}",
        )
    most = np.inf if setup.water_m3 is None else setup.water_m3
    in_water = total <= most * (1 + 1e-9)
    if not (in_water & in_time).any():
        raise NoAnswerError(
            f"{litres(most)} of water is too little for a wash of {setup.prints} "
            f"print{'s' * (setup.prints > 1)}",
            mend=f"bring {litres(float(total[in_time].min()))} or more, or wash fewer together",
        )
    return in_time & in_water


def _least(allowed: Flags, *keys: Array) -> tuple[np.intp, ...]:
    """Return the index of the least first key, ties by the next."""
    candidates = np.flatnonzero(allowed)
    for key in keys:
        values = key.ravel()[candidates]
        candidates = candidates[values <= values.min() * (1 + 1e-12)]
    return np.unravel_index(candidates[0], allowed.shape)


def _plan(
    setup: WashSetup, pools: Pools, members: Pools, *, goal: Goal, way: WashWay, sure: bool
) -> WashPlan:
    changes, soak, water = way
    history = bath_by_bath(setup, pools, way)
    after = history.print_kg_m2.tolist()
    kinds = ["change"] * changes
    if setup.wash_aid:
        kinds.insert(1, "wash aid")
    steps = tuple(
        WashStep(
            kind=kind,
            soak_s=setup.rules.aid_soak_s if kind == "wash aid" else soak,
            water_m3=water,
            residual_kg_m2=left,
        )
        for kind, left in zip(kinds, after, strict=True)
    )
    spread = residual_kg_m2(setup, members, float(changes), soak=soak, water=water)
    low, middle, high = (float(p) for p in np.percentile(spread, (10, 50, 90)))
    target = setup.target.residual_kg_m2
    again, again_s = _rewash(setup, history)
    return WashPlan(
        goal=goal,
        prints=setup.prints,
        changes=changes,
        water_per_change_m3=water,
        water_total_m3=round(changes * water, 9),
        aid_m3=water if setup.wash_aid else 0.0,
        soak_s=soak,
        duration_s=float(_duration_s(setup, changes, soak)),
        residual_kg_m2=tuple(s.residual_kg_m2 for s in steps if s.kind == "change"),
        steps=steps,
        residual_range_kg_m2=(low, middle, high),
        chance_frac=float(np.mean(spread <= target)),
        target_kg_m2=target,
        reached=after[-1] <= target,
        sure=sure,
        rewash_changes=again,
        rewash_soak_s=again_s,
    )


def _rewash(setup: WashSetup, history: WashHistory) -> tuple[int, float]:
    """Return the changes and the soak that a print needs at home, alone and in plenty of water."""
    home = replace(setup, prints=1, wash_aid=False, water_temp_k=setup.rules.reference_temp_k)
    pools = likely_pools(home)
    left, bound = history.print_kg_m2[-1], history.bound_kg_m2[-1]
    share = carry_over_share_frac(1.0, setup.rules.full_ratio)
    aim = setup.rewash_target_kg_m2
    if left <= aim:
        return 0, 0.0
    for soak in (setup.rules.home_change_s, 2 * setup.rules.home_change_s):
        most = int(2 * setup.rules.longest_wash_s / soak)
        after = wash_in_changes(
            left, bound / left, share, [soak] * most, pools.free_before_s, pools.bound_before_s
        ).print_kg_m2
        enough = np.flatnonzero(after <= aim)
        if enough.size:
            return int(enough[0]) + 1, soak
    return most, soak
