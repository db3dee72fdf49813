"""Thiosulfate in a batch of prints, free and bound: how fast it leaves, and what washing leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from drybox.arrays import Array
from drybox.inputs.wet.wash import Diffusion, WashSetup
from drybox.physics.washing import (
    Number,
    WashHistory,
    carry_over_share_frac,
    left_frac,
    wash_in_changes,
    washing_time_constant_s,
)

MEMBERS = 2000


class WashWay(NamedTuple):
    """A way to wash: equal changes of fresh water."""

    changes: int
    soak_s: float
    water_m3: float


@dataclass(frozen=True)
class Pools:
    """Thiosulfate in a print, free or bound, and time constants of each before and after the aid.

    Numbers, or arrays over an ensemble.
    """

    load_kg_m2: Number
    bound_frac: Number
    free_before_s: Number
    free_after_s: Number
    bound_before_s: Number
    bound_after_s: Number


def likely_pools(setup: WashSetup) -> Pools:
    """Return what is likely in a paper of this weight, in water of this temperature."""
    rules = setup.rules

    def scaled(seconds: float) -> Number:
        return washing_time_constant_s(
            seconds,
            setup.dry_mass_kg_m2,
            setup.water_temp_k,
            reference_dry_mass_kg_m2=rules.reference_dry_mass_kg_m2,
            mass_exponent=0.0 if setup.resin_coated else rules.mass_exponent,
            reference_temp_k=rules.reference_temp_k,
            rate_per_10_k=rules.rate_per_10_k,
        )

    def after(pool: Diffusion) -> float:
        return pool.after_aid_s if setup.wash_aid else pool.before_aid_s

    weight = setup.dry_mass_kg_m2 / rules.reference_dry_mass_kg_m2
    return Pools(
        load_kg_m2=setup.load_kg_m2 * (1.0 if setup.resin_coated else weight),
        bound_frac=setup.bound_frac,
        free_before_s=scaled(setup.free.before_aid_s),
        free_after_s=scaled(after(setup.free)),
        bound_before_s=scaled(setup.bound.before_aid_s),
        bound_after_s=scaled(after(setup.bound)),
    )


def spread_pools(likely: Pools, setup: WashSetup, seed: int) -> Pools:
    """Return log-normal members around the likely pools."""
    rules = setup.rules
    spreads = rules.load_spread_frac, rules.time_constant_spread_frac, rules.bound_share_spread_frac
    z = np.random.default_rng(seed).standard_normal((3, MEMBERS))
    load, slow, share = np.exp(np.array(spreads)[:, np.newaxis] * z)
    return Pools(
        load_kg_m2=likely.load_kg_m2 * load,
        bound_frac=np.minimum(likely.bound_frac * share, 0.9),  # a share cannot pass 1
        free_before_s=likely.free_before_s * slow,
        free_after_s=likely.free_after_s * slow,
        bound_before_s=likely.bound_before_s * slow,
        bound_after_s=likely.bound_after_s * slow,
    )


def residual_kg_m2(
    setup: WashSetup, pools: Pools, changes: Number, *, soak: Number, water: Number
) -> Array:
    """Return what is left after equal changes, with the aid's soak after the first one."""
    share = carry_over_share_frac(setup.prints * setup.carry_over_m3, water)
    aid = setup.rules.aid_soak_s if setup.wash_aid else 0.0

    def pool(before: Number, after: Number) -> Number:
        first = left_frac(share, soak, before)
        aided = left_frac(share, aid, after) if aid else 1.0
        return first * aided * left_frac(share, soak, after) ** (changes - 1.0)

    bound = np.asarray(pools.bound_frac)
    free = pool(pools.free_before_s, pools.free_after_s)
    slow = pool(pools.bound_before_s, pools.bound_after_s)
    left: Array = pools.load_kg_m2 * ((1.0 - bound) * free + bound * slow)
    return left


def bath_by_bath(setup: WashSetup, pools: Pools, way: WashWay) -> WashHistory:
    """Return the history of the chosen way, bath by bath, the aid's bath included."""
    changes, soak, water = way
    share = carry_over_share_frac(setup.prints * setup.carry_over_m3, water)
    aid = [setup.rules.aid_soak_s] if setup.wash_aid else []
    soaks = np.array([soak, *aid] + [soak] * (changes - 1))
    later = len(soaks) - 1
    return wash_in_changes(
        pools.load_kg_m2,
        pools.bound_frac,
        share,
        soaks,
        [pools.free_before_s] + [pools.free_after_s] * later,
        [pools.bound_before_s] + [pools.bound_after_s] * later,
    )
