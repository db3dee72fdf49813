"""Which way the box faces: one best aim, a list of turns, or off the sun to stay below a limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from drybox.arrays import AimDeg, Array, Flags, Index
from drybox.errors import NoAnswerError
from drybox.inputs.event.box import Box
from drybox.inputs.event.place import Place
from drybox.physics.plate_irradiance import Recess, plate_light
from drybox.physics.shading import SkyGrid, sky_grid
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import plate_recess

AT_HOME = "leave the box at home"

BLOCK_S = 900.0
"""Turns are considered every quarter of an hour. [s]"""

OVER_COST = 20.0
"""What each watt over what the plate's limit allows costs the search: a soft limit. [-]"""

HOLD_TILTS_DEG = np.array([0.0, 30.0, 60.0, 90.0])
"""Slopes at which it is worked out what a plate may take in, since what it loses to air and sky
goes with its slope; linear in between. [deg]"""

COARSE_BEARINGS_DEG = np.arange(0.0, 360.0, 7.5)
COARSE_TILTS_DEG = np.arange(0.0, 91.0, 7.5)

SAME_AIM_DEG = 5.0
"""Plates whose axes are no further apart face the same way: nobody sets one closer. [deg]"""


@dataclass(frozen=True)
class Turn:
    """One aim and the time from which it holds."""

    from_at: float
    until_at: float
    bearing_deg: float
    tilt_deg: float
    mean_irradiance_w_m2: float

    @property
    def energy_j_m2(self) -> float:
        """Energy on the plate while it holds. [J/m²]"""
        return self.mean_irradiance_w_m2 * (self.until_at - self.from_at)


@dataclass(frozen=True)
class TurnRule:
    """When a turn is worth it: the fewest that keep a share of the always-turned energy.

    But never more than ``most``, none sooner than ``apart_s`` after setting out or another turn,
    none that brings less than ``gain_frac`` of that energy, none at ``last_at`` or later, and none
    while the sun is behind something: there is no shadow then to sight by.
    """

    share_frac: float
    most: int = 1000
    apart_s: float = BLOCK_S
    gain_frac: float = 0.0
    last_at: float = np.inf


@dataclass(frozen=True)
class AimPlan:
    """Best aim over a stretch, and turns; energies on the plate in J/m².

    ``kept_frac`` is what the single aim keeps of the energy with always turning;
    ``turns_kept_frac`` the same of the list of turns. ``held_below_k`` says that some are tilted
    off the sun to keep the plate below that; none is steeper than ``most_tilt_deg``, which is what
    stands on a prop, or less where the gusts reckoned ask for it.
    """

    single: Turn
    kept_frac: float
    turns: tuple[Turn, ...]
    turns_kept_frac: float
    tracked_j_m2: float
    held_below_k: float | None = None
    most_tilt_deg: float = 90.0

    def aims(self, mode: str) -> tuple[Turn, ...]:
        """Return the aims for an aim mode, in order of time."""
        return (self.single,) if mode == "best" else self.turns

    def schedule(self, time_at: Array, mode: str) -> AimDeg:
        """Return bearing and tilt at each time for an aim mode. [deg]"""
        turns = self.aims(mode)
        starts = np.array([turn.from_at for turn in turns])
        index = np.clip(np.searchsorted(starts, time_at, side="right") - 1, 0, len(turns) - 1)
        return (
            np.array([turn.bearing_deg for turn in turns])[index],
            np.array([turn.tilt_deg for turn in turns])[index],
        )


@dataclass(frozen=True, eq=False)
class AimSearch:
    """Plate irradiance as a function of time and aim, searched on a grid and refined.

    No rule by latitude: hemisphere, tropics and obstacles come out of the irradiance itself.
    ``most_w_m2`` is the light that holds the plate at its limit at each of `HOLD_TILTS_DEG`,
    (tilts, times), without a limit None; what an aim brings over it costs `OVER_COST`. [W/m²]
    """

    day: Conditions
    place: Place
    box: Box
    most_w_m2: Array | None = None

    @cached_property
    def recess(self) -> Recess:
        """Walls and cover as the light sees them."""
        return plate_recess(self.box)

    @cached_property
    def grid(self) -> SkyGrid:
        """The dome past the obstacles."""
        return sky_grid(self.place.obstacles)

    def inside(self, from_at: float, until_at: float) -> Index:
        """Return the indices of the times within a stretch."""
        return np.flatnonzero((self.day.time_at >= from_at) & (self.day.time_at <= until_at))

    def holds_back(self, from_at: float, until_at: float) -> bool:
        """Tell whether a plate facing the sun would get more than is allowed."""
        if self.most_w_m2 is None:
            return False
        index = self.inside(from_at, until_at)
        free = replace(self, most_w_m2=None).tracked_w_m2(index)
        return bool(np.any(free > self._allowed_sunward_w_m2(index)))

    def _allowed_sunward_w_m2(self, index: Index) -> Array:
        """Return the light that holds a plate facing the sun at its limit, (times,)."""
        assert self.most_w_m2 is not None
        _, tilt = self.tracked_aims()
        return np.asarray((self.most_w_m2[:, index] * _slope_shares(tilt[index])).sum(axis=0))

    def allowed_w_m2(self, index: Index, tilt_deg: Array) -> Array:
        """Return the light that holds the plate at its limit at times (rows) and slopes."""
        assert self.most_w_m2 is not None
        return np.asarray(self.most_w_m2[:, index].T @ _slope_shares(tilt_deg))

    def worth_w_m2(self, index: Index, light_w_m2: Array, tilt_deg: Array) -> Array:
        """Return light as the search values it: each watt over the limit costs `OVER_COST`."""
        if self.most_w_m2 is None:
            return light_w_m2
        over = light_w_m2 - self.allowed_w_m2(index, tilt_deg)
        return light_w_m2 - OVER_COST * np.maximum(over, 0.0)

    def irradiance_w_m2(self, index: Index, bearing_deg: Array, tilt_deg: Array) -> Array:
        """Return plate irradiance at times (rows) and aims (columns). [W/m²]"""
        return self.light_w_m2(np.s_[index, None], bearing_deg[None, :], tilt_deg[None, :])

    def under_w_m2(self, turn: Turn, index: Index) -> Array:
        """Return plate irradiance at some times under one aim. [W/m²]"""
        aim = np.array([turn.bearing_deg]), np.array([turn.tilt_deg])
        return self.irradiance_w_m2(index, *aim)[:, 0]

    def light_w_m2(self, rows: Any, bearing_deg: Array, tilt_deg: Array) -> Array:
        """Return plate irradiance at rows of the day, and aims that go with them. [W/m²]"""
        place = self.place
        light = plate_light(
            self.day.sky.at(rows),
            tilt_deg,
            bearing_deg,
            place.ground_albedo_frac,
            place.obstacles,
            self.grid,
            self.recess,
        )
        return light.inside_w_m2

    def best(self, index: Index, span_at: Sequence[float] | Array, levels: int = 2) -> Turn:
        """Return the best aim of a stretch, by some of its times.

        The grid of 7.5 degrees is refined about its best point, each time three times finer.
        """

        def worth(bearings: Array, tilts: Array) -> Array:
            light = self.irradiance_w_m2(index, bearings[0], tilts[0])
            return np.array([self.worth_w_m2(index, light, tilts[0]).mean(axis=0)])

        most = self.box.most_tilt_deg
        bearing, tilt, _ = best_aims(
            worth, self.coarse_aims(), step_deg=7.5, rounds=levels, most_tilt_deg=most
        )
        return Turn(
            from_at=float(span_at[0]),
            until_at=float(span_at[1]),
            bearing_deg=float(bearing[0]),
            tilt_deg=float(tilt[0]),
            mean_irradiance_w_m2=float(self.irradiance_w_m2(index, bearing, tilt).mean()),
        )

    def coarse_aims(self) -> tuple[Array, Array]:
        """Return bearings and tilts of a grid over all aims that the box stands at. [deg]"""
        most = self.box.most_tilt_deg
        tilts = np.unique(np.append(COARSE_TILTS_DEG[most > COARSE_TILTS_DEG], most))
        bearings, tilts = np.meshgrid(COARSE_BEARINGS_DEG, tilts)
        return bearings.ravel(), tilts.ravel()

    def tracked_aims(self) -> tuple[Array, Array]:
        """Return bearing and tilt of a plate that always faces the sun, as far as it may tilt.

        While the sun is down it lies level.
        """
        up = self.day.sun.elevation_deg > 0
        tilt = np.where(up, 90.0 - self.day.sun.elevation_deg, 0.0)
        tilt = np.clip(tilt, 0.0, self.box.most_tilt_deg)
        return np.where(up, self.day.sun.azimuth_deg, 180.0), tilt

    def tracked_w_m2(self, index: Index) -> Array:
        """Return the irradiance with always turning, at most what is allowed. [W/m²]."""
        bearing, tilt = self.tracked_aims()
        sunward = self.light_w_m2(index, bearing[index], tilt[index])
        level = self.light_w_m2(index, bearing[index], np.zeros_like(tilt[index]))
        most = np.inf if self.most_w_m2 is None else self._allowed_sunward_w_m2(index)
        return np.minimum(np.maximum(sunward, level), most)


def best_aims(
    worth: Callable[[Array, Array], Array],
    aims_deg: tuple[Array, Array],
    *,
    step_deg: float,
    rounds: int,
    most_tilt_deg: float,
) -> tuple[Array, Array, Array]:
    """Return bearing, tilt and worth of the best aim of each row, (rows,). [deg], [deg]

    ``worth`` gives (rows, aims) at bearings and tilts, (1 or rows, aims). The grid ``aims_deg``
    of some step is refined about its best point, each time three times finer.
    """
    bearing, tilt = (each[None] for each in aims_deg)
    up, aside = (each.ravel() - 3.0 for each in np.indices((7, 7)))
    for _ in range(rounds):
        found = worth(bearing, tilt)
        row, top = np.arange(found.shape[0]), np.argmax(np.round(found, 6), axis=1)
        best = [np.broadcast_to(each, found.shape)[row, top] for each in (bearing, tilt)]
        step_deg /= 3
        bearing = (best[0][:, None] + aside * step_deg) % 360.0
        tilt = np.clip(best[1][:, None] + up * step_deg, 0.0, most_tilt_deg)
    return best[0] % 360.0, best[1], found[row, top]


def _slope_shares(tilt_deg: Array) -> Array:
    """Return the weight of each of `HOLD_TILTS_DEG` at some slopes, (tilts, slopes)."""
    return np.array(
        [np.interp(tilt_deg, HOLD_TILTS_DEG, row) for row in np.eye(HOLD_TILTS_DEG.size)]
    )


def plan_aim(search: AimSearch, from_at: float, until_at: float, *, rule: TurnRule) -> AimPlan:
    """Return the best single aim of a stretch, and the turns that are worth it.

    `NoAnswerError` if no light reaches the plate in that time. [s]

    Mean irradiance of every run of quarter hours under every aim of the coarse grid, then the best
    split into 1, 2, 3 ... runs by dynamic programming until the share is kept or one run more
    gains too little; each run's aim is then refined. Taking one turn out of the best split leaves
    at most the best split with one turn less, so what the last turn gains each of them gains.
    """
    time_at = search.day.time_at
    inside = search.inside(from_at, until_at)
    every = max(1, round(300.0 / float(time_at[1] - time_at[0])))
    index = inside[::every] if inside.size > every else inside
    if index.size == 0:
        raise NoAnswerError("the stretch of time asked for is empty", "", "give a later end")
    tracked = search.tracked_w_m2(index)
    if tracked.max() < 5.0:
        raise NoAnswerError("no daylight reaches the plate in that time", "", AT_HOME)
    mean = float(tracked.mean())
    total = mean * float(until_at - from_at)
    single = search.best(index, (from_at, until_at), levels=3)
    turns = _turns(search, index, tracked, from_at=from_at, until_at=until_at, rule=rule)
    return AimPlan(
        single=single,
        kept_frac=min(single.mean_irradiance_w_m2 / mean, 1.0),
        turns=turns,
        turns_kept_frac=min(sum(turn.energy_j_m2 for turn in turns) / total, 1.0),
        tracked_j_m2=total,
    )


def tracked_plan(search: AimSearch, plan: AimPlan) -> AimPlan:
    """Return the plan with a turn every quarter of an hour: always turning, in practice."""
    from_at, until_at = plan.single.from_at, plan.single.until_at
    edges = np.append(np.arange(from_at, until_at - 1.0, BLOCK_S), until_at)
    turns = tuple(search.best(search.inside(*span)[::5], span) for span in pairwise(edges))
    kept = sum(turn.energy_j_m2 for turn in turns) / plan.tracked_j_m2
    return replace(plan, turns=turns, turns_kept_frac=min(kept, 1.0))


def _turns(
    search: AimSearch,
    index: Index,
    tracked: Array,
    *,
    from_at: float,
    until_at: float,
    rule: TurnRule,
) -> tuple[Turn, ...]:
    time_at = search.day.time_at[index]
    edges = np.append(np.arange(from_at, until_at - 1.0, BLOCK_S), until_at)
    block = np.clip(np.searchsorted(edges, time_at, side="right") - 1, 0, edges.size - 2)
    blocks = edges.size - 1
    b, t = search.coarse_aims()
    light = search.worth_w_m2(index, search.irradiance_w_m2(index, b, t), t)
    sums = np.zeros((blocks + 1, b.size))
    np.add.at(sums, block + 1, light)
    sums = np.cumsum(sums, axis=0)
    best = np.full((blocks, blocks + 1), -np.inf)  # best[i, j]: blocks i to j-1 under one aim
    shortest = max(1, round(rule.apart_s / BLOCK_S))
    for i in range(blocks):
        least = i + shortest if i else min(shortest, blocks)
        best[i, least:] = (sums[least:] - sums[i]).max(axis=1)
    best[1:][~_turnable(search, edges[1:-1], rule)] = -np.inf
    wanted, gain = rule.share_frac * tracked.sum(), rule.gain_frac * tracked.sum()
    reach = best[0].copy()  # energy of the first j blocks with the runs so far
    back = [np.zeros(blocks + 1, dtype=int)]
    while reach[blocks] < wanted and len(back) <= min(rule.most, blocks - 1):
        via = reach[:, None] + np.vstack([best, np.full((1, blocks + 1), -np.inf)])
        lower = np.tril(np.ones((blocks + 1, blocks + 1), dtype=bool))
        via = np.where(lower, -np.inf, via)
        if via[:, blocks].max() < reach[blocks] + max(gain, 1e-6):
            break
        back.append(via.argmax(axis=0))
        reach = via.max(axis=0)
    cuts = [blocks]
    for chosen in reversed(back):  # the first of them leads to block 0
        cuts.append(int(chosen[cuts[-1]]))
    cuts = sorted(set(cuts))
    turns: list[Turn] = []
    for first, last in pairwise(cuts):
        run = index[(block >= first) & (block < last)]
        turn = search.best(run if run.size else index[-1:], edges[[first, last]])
        if turns and axes_apart_deg(turns[-1], turn) <= SAME_AIM_DEG:
            begun = int(np.searchsorted(edges, turns.pop().from_at))
            run = index[(block >= begun) & (block < last)]
            turn = search.best(run, edges[[begun, last]])
        turns.append(turn)
    return tuple(turns)


def _turnable(search: AimSearch, edges_at: Array, rule: TurnRule) -> Flags:
    """Return at which times the box may be turned: by a shadow, and while it is of use."""
    time_at = search.day.time_at
    rows = np.clip(np.searchsorted(time_at, edges_at), 0, time_at.size - 1)
    return search.day.in_sun(search.place.obstacles)[rows] & (edges_at < rule.last_at)


def axes_apart_deg(one: Turn, other: Turn) -> float:
    """Return the angle between the axes of a plate under two aims. [deg]"""
    tilts = np.deg2rad([one.tilt_deg, other.tilt_deg])
    turn = np.deg2rad(one.bearing_deg - other.bearing_deg)
    cosine = np.cos(tilts).prod() + np.sin(tilts).prod() * np.cos(turn)
    return float(np.rad2deg(np.arccos(np.clip(cosine, -1.0, 1.0))))
