"""When to pull a print so that it curls least at home."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.planning.finish.ways import Bench, DryPrint, finish_way
from drybox.tables import load_table

EACH_ACTIVITY = 0.05
"""Steps in which pulling drier is tried: what a hand can tell. [-]"""


@dataclass(frozen=True, kw_only=True)
class Pull:
    """At which dampness to pull a print, and what that and the hold bring.

    ``activity`` is what it is best in balance with as it is pulled; ``gain_m`` how much lower its
    edges then stand at home than pulled at the dry mark, ``hold_gain_m`` how much lower they stand
    by the way chosen than left as they are; ``hold_helps`` tells whether that can be seen. Middle
    members throughout.
    """

    activity: float
    gain_m: float
    hold_gain_m: float
    hold_helps: bool


def pull(
    bench: Bench, state: DryPrint, way: str, *, dry_activity: float, over_dry_activity: float
) -> Pull:
    """Return when to pull, between the dry mark and over-dry.

    A print held flat on warm metal sets better the drier it is pulled, and one left free curls
    alike however it is pulled, so that it is pulled at the dry mark.
    """

    def lift_m(activity: float, by: str) -> float:
        pulled = replace(state, pulled_activity=activity)
        return abs(finish_way(bench, pulled, by).lift_home_m.p50 or 0.0)

    helps = load_table("flattening")["flat"]["helps"].value
    driest = min(over_dry_activity + EACH_ACTIVITY / 2, dry_activity - 1e-9)
    tried = np.arange(dry_activity, driest, -EACH_ACTIVITY).round(6)
    lifts = [lift_m(float(activity), way) for activity in tried]
    # over-drying costs: the dampest that is within half of what can be seen of the flattest
    best = next(i for i, lift in enumerate(lifts) if lift <= min(lifts) + helps / 2)
    hold_gain_m = lift_m(state.pulled_activity, "none") - lift_m(state.pulled_activity, way)
    return Pull(
        activity=float(tried[best]),
        gain_m=lifts[0] - lifts[best],
        hold_gain_m=hold_gain_m,
        hold_helps=hold_gain_m >= helps,
    )
