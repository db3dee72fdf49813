"""Minutes of sun and shade, drawn so that they keep what was told of the hour or of the cloud."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri

from drybox.arrays import Array, Index
from drybox.planning.scenario.conditions import Conditions
from drybox.tables import load_table

LEAST_SUN, MOST_SUN = 0.005, 0.98
"""Share of time in sun is kept off the ends where it may be off, for a normal score has none there:
two minutes in a hundred are in shade under a sky told as clear (judgement). [-]"""

DULL_SHARE, BRIGHT_SHARE = 0.7, 1.0
"""The brightest stretch of a day told in irradiance says nothing of the unclouded sun below the
first share of the clear sky's beam, and all above the second (judgement). [-]"""

LOWEST_CLEAR_W_M2 = 200.0
HIGH_SUN_SHARE = 0.6
"""Told over clear tells of the day's air where the clear beam is over both, the second a share of
the day's largest (judgement): through twelve airmasses a little haze, or a clock that is a quarter
of an hour off, moves the beam by half, at noon by a few hundredths. [W/m²], [-]"""

TURNS = 30
"""Halvings by which the threshold of an hour is found: 1e-8 of a standard deviation."""


class Sun(NamedTuple):
    """The beam as told or drawn: ``share`` of the time in sun × ``clearness`` × the clear beam.

    ``known_frac`` says how far the day itself tells its clearness: not at all where irradiance is
    told of a dull day, wholly where there is none to be drawn beside the haze.
    """

    share: Array
    clearness: Array
    known_frac: Array


def told_sun(base: Conditions) -> Sun:
    """Return the share of time in sun that was told, and the clearness of the unclouded sun.

    Of a day as told, (times,), or of several, (days, times).

    Of cloud alone the share is all that is told. Irradiance tells the product: the brightest
    stretch of the day with the sun well up gives the clearness, see `DULL_SHARE`; what lies above
    it elsewhere is clearness too.
    """
    clear = base.clear.dni_w_m2
    lit = clear > 1.0
    told = np.where(lit, base.dni_w_m2 / np.maximum(clear, 1.0), 1.0)
    if base.row_s <= 0.0:
        return Sun(np.minimum(told, 1.0), np.ones_like(told), np.ones_like(told))
    high = clear > np.maximum(LOWEST_CLEAR_W_M2, HIGH_SUN_SHARE * _daily_most(clear, base.time_at))
    most = _daily_most(np.where(high, told, 1e-3), base.time_at)
    known = np.clip((most - DULL_SHARE) / (BRIGHT_SHARE - DULL_SHARE), 0.0, 1.0)
    clearness = np.where(lit, np.maximum(told, most**known), 1.0)
    return Sun(told / clearness, clearness, known)


def _daily_most(values: Array, time_at: Array) -> Array:
    """Return the largest value of each stretch of a day, from the first time on, at every time."""
    every = max(round(86400.0 / float(time_at[1] - time_at[0])), 1)
    starts = np.arange(0, time_at.size, every)
    most = np.maximum.reduceat(values, starts, axis=-1)
    return np.repeat(most, np.diff(np.append(starts, time_at.size)), axis=-1)


def shifted_share(share: Array, shift: Array, spread: Array | float = 0.0) -> Array:
    """Return a share of time in sun moved on its normal score.

    With the standard deviation of the shifts drawn their mean share is that told. [-]
    """
    kept = np.clip(share, LEAST_SUN, MOST_SUN)
    moved = ndtr(ndtri(kept) * np.sqrt(1.0 + np.asarray(spread) ** 2) + shift)
    return np.asarray(np.where((shift == 0.0) & (np.asarray(spread) == 0.0), share, moved))


def veiled_share(mean: Array) -> Array:
    """Return how likely each hour is evenly veiled, not broken by shade. [-]

    From the sun of the hours of a day over its unclouded sun, (..., hours). [-]

    An hour like those before and after it is most likely haze or veil; one that is not is broken
    cloud, and so is one with little sun. Figures: rows ``broken_cloud`` of table ``spreads``.
    """
    figures = {name: row.value for name, row in load_table("spreads")["broken_cloud"].items()}
    change = np.abs(np.diff(mean, axis=-1))
    none = np.zeros((*mean.shape[:-1], 1))
    before, after = np.concatenate([none, change], -1), np.concatenate([change, none], -1)
    even = np.maximum(before, after) < figures["even_within"]
    rise = np.interp(mean, [figures["broken_below"], figures["veiled_above"]], [0.0, 1.0])
    return np.asarray(rise * np.where(even, figures["veiled_even"], figures["veiled_uneven"]))


def rows_of(base: Conditions) -> Index | None:
    """Return which row of the weather each time lies in; None where only cloud is told."""
    if base.row_s <= 0.0:
        return None
    row = np.floor((base.time_at - base.row_from_at) / base.row_s + 1e-9).astype(np.intp)
    return np.asarray(row - row[0])


def faded(scores: Array, step_s: float, lasts_s: float) -> Array:
    """Return independent scores (times, members) as scores that fade in time, (members, times).

    The first ones are kept; the correlation fades exponentially.
    """
    keep = float(np.exp(-step_s / lasts_s))
    walk = np.array(scores)
    walk[1:] *= np.sqrt(1.0 - keep**2)
    for now in range(1, walk.shape[0]):
        walk[now] += keep * walk[now - 1]
    return walk.T


def sun_as_told(
    rng: np.random.Generator,
    share: Array,
    step_s: float,
    *,
    rows: Index | None,
    shift: Array | float = 0.0,
    spread: Array | float = 0.0,
) -> tuple[Array, Array]:
    """Return the sun by the minute over the unclouded sun, and its mean in each member's own hour.

    An hour that was told a little less than unclouded sun is in some members evenly veiled and in
    others broken by shade (`veiled_share`).

    The share is that of `told_sun`, (members, times); the rest as in `sun_and_shade`.
    """
    if rows is None:
        return sun_and_shade(rng, share, step_s, rows=None, shift=shift, spread=spread)
    own = np.broadcast_to(shifted_share(share, np.asarray(shift), spread), share.shape)
    mean, count = _row_means(own, rows)
    chance = rng.random(mean.shape[::-1]).T
    veiled = np.repeat(chance < veiled_share(mean), count, axis=1)
    in_sun = np.where(veiled, 1.0, own)
    minutes, _ = sun_and_shade(rng, in_sun, step_s, rows=rows)
    return np.where(veiled, own, minutes), own


def _row_means(values: Array, rows: Index) -> tuple[Array, Index]:
    """Return means over each row, (members, rows), and how many times each holds, (rows,)."""
    starts = np.flatnonzero(np.diff(rows, prepend=rows[0] - 1))
    count = np.diff(np.append(starts, rows.size))
    return np.asarray(np.add.reduceat(values, starts, axis=1) / count), count


def sun_and_shade(
    rng: np.random.Generator,
    share: Array,
    step_s: float,
    *,
    rows: Index | None = None,
    shift: Array | float = 0.0,
    spread: Array | float = 0.0,
) -> tuple[Array, Array]:
    """Return how much of the full sun there is at each minute, 0 in shade to 1.

    ``share`` is that of the sun wanted at each time, (members, times). ``rows`` from `rows_of` tell
    which times belong together: each member's mean over them is then its share and no other;
    without, an hour's own mean varies as widely as cloud leaves it, and ``shift`` and ``spread``
    are what the cloud is off by in each member, on the normal score, and its standard deviation.
    Returned are the sun by the minute, and its share in the member's own cloud of the hour, both
    (members, times).

    A normal process w past a threshold q with a soft edge d, since clouds have thin edges and
    holes: ``Phi((q - w)/d)``. w is the sum of an hours-long and a short Ornstein-Uhlenbeck process
    and of what a forecast is off by. With ``q = Phi^-1(share) sqrt(1 + spread^2 + d^2)`` its mean
    is the share for any d. Where rows were told, q is found for each row by halving. Figures: rows
    ``broken_cloud`` of table ``spreads``.
    """
    figures = {name: row.value for name, row in load_table("spreads")["broken_cloud"].items()}
    soft, long = figures["softness"], figures["long_share"]
    one, other = (each.standard_normal(share.shape[::-1]) for each in rng.spawn(2))
    slowly = np.sqrt(long) * faded(one, step_s, figures["long_lasts"])
    quick = np.sqrt(1.0 - long) * faded(other, step_s, figures["short_lasts"])
    if rows is not None:
        return _kept(slowly + quick, share, rows, soft=soft), share
    kept = np.clip(share, LEAST_SUN, MOST_SUN)
    edge = ndtri(kept) * np.sqrt(1.0 + np.asarray(spread) ** 2 + soft**2) + shift - slowly
    return np.asarray(ndtr((edge - quick) / soft)), np.asarray(
        ndtr(edge / np.sqrt(1.0 - long + soft**2))
    )


def diffuse_minutes(
    rng: np.random.Generator, spread_log: Array, members: int, *, step_s: float, rows: Index | None
) -> Array:
    """Return diffuse light by the minute over its mean, (members, times). [-]

    From the standard deviation of its logarithm within an hour, (times,). With rows, from
    `rows_of`, each keeps its mean of 1 exactly.
    """
    lasts_s = load_table("spreads")["broken_cloud"]["diffuse_lasts"].value
    scores = faded(rng.standard_normal((spread_log.size, members)), step_s, lasts_s)
    light = np.exp(spread_log * scores - 0.5 * spread_log**2)
    if rows is None:
        return np.asarray(light)
    return np.asarray(light / np.repeat(*_row_means(light, rows), axis=1))


def _kept(cloud: Array, wanted: Array, rows: Index, *, soft: float) -> Array:
    """Return the sun whose mean over each row is that wanted, (members, times)."""
    mean, count = _row_means(np.broadcast_to(wanted, cloud.shape), rows)
    low, high = np.full(mean.shape, -8.0), np.full(mean.shape, 8.0)
    place = np.repeat(np.arange(count.size), count)
    sun = np.zeros_like(cloud)
    for _ in range(TURNS):
        edge = 0.5 * (low + high)
        sun = ndtr((edge[:, place] - cloud) / soft)
        under = _row_means(sun, rows)[0] < mean
        low, high = np.where(under, edge, low), np.where(under, high, edge)
    return np.asarray(sun)
