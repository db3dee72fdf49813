"""The sun noted gone on the day itself: taken from every drawn day, until it may be back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from drybox.arrays import Array
from drybox.planning.scenario.conditions import STEP_S
from drybox.planning.scenario.samples import Ensemble
from drybox.planning.scenario.sun_minutes import sun_and_shade

SOME_CLOUD = 0.5
"""Share of sun, at most, of an hour in which the sun was seen to go: whatever was told, there is
cloud (judgement). [-]"""

FOLLOWED_S, SKIES, FEWEST = 10 * 3600.0, 400, 40
"""How long, and in how many drawn skies, spells of shade are looked for; and the fewest that must
have lasted as long as the one noted (judgement)."""


def shade_lasts_s(share: float, seen_s: float, members: int) -> Array:
    """Return how long a spell of shade goes on that has been seen for so long, (members,). [s]

    The minutes are those of `sun_and_shade` for the share of sun in the hour. Every spell that
    begins in them and lasts as long as the one seen says how much longer it goes on; where hardly
    any does the longest stand for it. What is returned are evenly spaced ones of these, shuffled.
    """
    rng = np.random.default_rng(SKIES)
    minutes, _ = sun_and_shade(rng, np.full((SKIES, round(FOLLOWED_S / STEP_S)), share), STEP_S)
    shade = minutes < 0.5
    edge = np.diff(shade.astype(np.int8), axis=1)
    lasts = []
    for change in edge:
        begins, ends = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
        ends = np.append(ends[ends > begins[0]] if begins.size else ends, change.size)
        lasts.append(ends[: begins.size] - begins)
    spells = np.sort(np.concatenate(lasts)) * STEP_S
    longer = spells[spells > seen_s] - seen_s
    if longer.size < FEWEST:
        most = spells[-FEWEST:]
        longer = most - most[0] + STEP_S
    steps = (np.arange(members) + rng.random(members)) / members * longer.size
    return np.asarray(rng.permutation(longer[steps.astype(np.intp)]))


def without_gone_sun(
    ensemble: Ensemble, spans: tuple[tuple[float, float], ...], now_at: float
) -> tuple[Ensemble, Array | None]:
    """Return drawn days without the beam while the sun is gone, and when it is back in each.

    ``spans`` is from when until when it was noted gone, infinite where it is not back; up to
    ``now_at`` a sun not noted back is gone. When it is back is (members,), None where that was
    noted. [s]

    Beam is all that goes: the light of the sky stays as drawn. Afterwards the sky is as drawn.
    """
    if not spans:
        return ensemble, None
    day, back_at = ensemble.conditions, None
    shape = ensemble.members, day.time_at.size
    beam = np.array(np.broadcast_to(day.dni_w_m2, shape))
    for gone_at, noted_at in spans:
        until_at = np.full(ensemble.members, noted_at)
        if not np.isfinite(noted_at):
            hour = (day.time_at >= gone_at) & (day.time_at < gone_at + 3600.0)
            clear = float(np.sum(day.clear.dni_w_m2[..., hour]))
            drawn = float(np.mean(np.sum(beam[:, hour], axis=1))) / max(clear, 1.0)
            share = float(np.clip(drawn, 0.05, SOME_CLOUD))
            seen_s = max(now_at - gone_at, 0.0)
            until_at = gone_at + seen_s + shade_lasts_s(share, seen_s, ensemble.members)
            back_at = until_at
        gone = (day.time_at >= gone_at) & (day.time_at < until_at[:, None])
        beam[gone] = 0.0
    up = np.maximum(np.sin(np.deg2rad(day.sun.elevation_deg)), 0.0)
    weather = replace(day, dni_w_m2=beam, ghi_w_m2=beam * up + day.dhi_w_m2)
    return replace(ensemble, conditions=weather), back_at
