"""How a single print dries on each way, by when it is laid on: what the choice of ways goes by."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array, Index
from drybox.inputs.event.box import PoweredDrier
from drybox.inputs.event.event import Event
from drybox.inputs.event.paper import Paper
from drybox.inputs.event.ways import WAY
from drybox.physics.simulation.day_run import PlateDay
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.state import BoxSystem
from drybox.planning.scenario.models import (
    PrintDraw,
    box_system,
    dry_targets,
    free_sheet_system,
    laid_on_water_kg_m2,
    warm_plate_system,
)
from drybox.planning.scenario.rain import Spell, next_rain, wait_for_dry
from drybox.planning.scenario.samples import Ensemble
from drybox.tables import load_table, look_up

PLATE, WARM_PLATE = "sun_plate", "warm_plate"
SLOT_NAME = {
    "sun_plate": "plate slot",
    "line_shade": "line slot",
    "line_sun": "open line slot",
    "screen_shade": "screen slot",
    "blotters": "blotter book slot",
    "warm_plate": "warm plate slot",
    "warm_air": "warm air slot",
}
SLOT_NAMES = {way: f"{name}s" for way, name in SLOT_NAME.items()}
"""What the places of each way are called in records."""

EVERY_S = 1800.0
"""Between the laying-on times that are worked out; others lie on the line between. [s]"""

WARM_UP_S = 2400.0
"""How long the empty plate is followed before a print that tells how the plate dries. [s]"""

LEAD_S = 1200.0
"""A powered plate is switched on so long before a print comes out of the wash (judgement): 3 mm of
steel under 150 W is warm by then. [s]"""

LONE_STEP_S, QUICK_STEP_S = 120.0, 15.0
"""Steps of lone prints, and of those that dry quickly. [s]"""

QUICK_WATER_KG_M2 = 0.1
"""A sheet with less water than this dries within few steps. [kg/m²]"""


@dataclass(frozen=True, eq=False)
class DryingTable:
    """Time to touch dry and to dry by laying-on time; infinite if too long.

    ``starts_s`` is (starts,), the times (members, starts). ``power_w`` is what a powered way takes
    while a print dries, on the mean, ``lead_j`` what warming a powered plate takes before, no more
    than its power in `LEAD_S`; within ``closed`` stretches a print waits until they end.
    """

    starts_s: Array
    touch_after_s: Array
    after_s: Array
    power_w: float = 0.0
    lead_j: float = 0.0
    closed: tuple[tuple[float, float], ...] = ()

    def after(self, laid_at: Array, member: Index) -> tuple[Array, Array]:
        """Return times to touch dry and to dry of prints laid on at times in members, (n,). [s]"""
        begun_at = laid_at
        for from_at, until_at in self.closed:
            begun_at = np.where((begun_at >= from_at) & (begun_at < until_at), until_at, begun_at)
        with np.errstate(invalid="ignore"):
            waits_s = np.where(np.isfinite(laid_at), begun_at - laid_at, 0.0)
        touch, dry = self._after(begun_at, member)
        return waits_s + touch, waits_s + dry

    def _after(self, laid_at: Array, member: Index) -> tuple[Array, Array]:
        last = self.starts_s.size - 1
        place = np.clip((laid_at - self.starts_s[0]) / EVERY_S, 0.0, last)
        place = np.where(np.isfinite(laid_at), place, last)
        left = np.minimum(place.astype(np.intp), max(last - 1, 0))
        right = np.minimum(left + 1, last)
        share = place - left

        def mixed(table: Array) -> Array:
            before, after = table[member, left], table[member, right]
            with np.errstate(invalid="ignore"):
                between = before + (after - before) * share
            between = np.where(share <= 0.0, before, between)
            return np.where(np.isnan(between), np.inf, between)

        return mixed(self.touch_after_s), mixed(self.after_s)


def is_quick(paper: Paper) -> bool:
    """Return whether a print has so little to lose that it needs short steps."""
    return paper.resin_coated or paper.water_kg_m2 < QUICK_WATER_KG_M2


def kept_dry(table: DryingTable, spells: tuple[Spell, ...]) -> DryingTable:
    """Return the table of a way out of doors, where prints wait for rain to end.

    ``spells`` is rain that dries nothing out of doors.
    """
    if not spells:
        return table
    members, dry = np.arange(table.after_s.shape[0]), replace(table, closed=())
    laid = wait_for_dry(table.starts_s, spells)
    rain = next_rain(laid, spells)
    touch, after = (np.empty_like(table.after_s) for _ in range(2))
    for k, (start, begun, until) in enumerate(zip(table.starts_s, laid, rain, strict=True)):
        took_s = dry.after(np.full(members.size, begun), members)
        for kept, took in zip((touch, after), took_s, strict=True):
            kept[:, k] = np.where(begun + took <= until, begun - start + took, np.inf)
    return replace(table, touch_after_s=touch, after_s=after)


def laying_on_times_s(first_s: float, last_s: float) -> Array:
    """Return laying-on times from a first one to one past the last. [s]."""
    count = max(int(np.ceil((last_s - first_s) / EVERY_S)), 1)
    return np.asarray(first_s + EVERY_S * np.arange(count + 1.0))


def way_table(
    event: Event,
    ensemble: Ensemble,
    forcing: Forcing,
    *,
    way: str,
    member: Index,
    starts_s: Array,
    longest_s: float,
) -> DryingTable:
    """Return how a single print dries one way in some members.

    ``forcing`` is the light and weather of the way, ``member`` the rows wanted of it; prints are
    laid on at ``starts_s`` and followed for ``longest_s``. [s]
    """
    case = np.tile(member, starts_s.size)
    laid = np.repeat(starts_s, member.size)
    prints = ensemble.prints.of(case)
    marks = dry_targets(event.paper, event.limits, blotter_kg_m2(way)).marks_kg_m2
    system = way_system(event, way, prints)
    metal = WAY[way].metal
    held = PlateDay(
        system, forcing, case, start_at=laid - WARM_UP_S if metal else laid, marks_kg_m2=marks
    )
    for _ in range(round(WARM_UP_S / LONE_STEP_S) if metal else 0):
        held.advance(LONE_STEP_S)
    warmed_j = held.heater_j.copy()
    after = _dry_after_s(
        event, held, forcing, case=case, laid_at=laid, prints=prints, longest_s=longest_s
    )
    took_s = float(np.mean(held.time_at - laid))
    power_w, lead_j = float(np.mean(held.heater_j - warmed_j)) / max(took_s, 1.0), 0.0
    if way == WARM_PLATE and event.powered is not None:
        lead_j = min(float(np.mean(warmed_j)), event.powered.plate_power_w * LEAD_S)
    if way == "warm_air" and event.powered is not None:
        power_w = event.powered.air_power_w
    touch_after, dry_after = (one.reshape(starts_s.size, member.size).T for one in after)
    return DryingTable(
        starts_s=starts_s,
        touch_after_s=touch_after,
        after_s=dry_after,
        power_w=power_w,
        lead_j=lead_j,
    )


def way_system(event: Event, way: str, prints: PrintDraw, *, slots: int = 1) -> BoxSystem:
    """Return the prints with what they lie on or hang from."""
    if way == PLATE:
        return box_system(event.box, event.paper, prints, slots=slots)
    if way == WARM_PLATE:
        assert event.powered is not None
        return warm_plate_system(event.box, event.paper, event.powered, draw=prints, slots=slots)
    return free_sheet_system(event.paper, way, prints)


def blotter_kg_m2(way: str) -> float:
    """Return the board that dries with each print. [kg/m²]"""
    if way == PLATE:
        return 0.0
    row = look_up("ways", way, "way of drying")
    return row["blotter_mass"].value if "blotter_mass" in row else 0.0


def _dry_after_s(
    event: Event,
    held: PlateDay,
    forcing: Forcing,
    *,
    case: Index,
    laid_at: Array,
    prints: PrintDraw,
    longest_s: float,
) -> Array:
    """Lay one print on in every case and follow all until they are dry, (marks, cases)."""
    sheet = held.sheet
    step_s = QUICK_STEP_S if held.cover or is_quick(event.paper) else LONE_STEP_S

    def each(value: Array | float) -> Array:
        return np.broadcast_to(np.ravel(value), case.shape)

    held.lay_on(
        np.arange(case.size),
        np.zeros(case.size, dtype=np.intp),
        forcing.at(case, laid_at).air_temp_k,
        water_kg_m2=each(np.asarray(laid_on_water_kg_m2(event.paper, prints))),
        contact_wet_w_m2_k=each(sheet.contact_wet_w_m2_k),
        contact_dry_w_m2_k=each(sheet.contact_dry_w_m2_k),
        absorptance_frac=each(sheet.absorptance_frac),
    )
    after = np.full((2, case.size), np.inf)
    for _ in range(int(np.ceil(longest_s / step_s))):
        after = np.minimum(after, held.advance(step_s)[..., 0] - laid_at)
        if np.isfinite(after).all():
            break
    return after


def with_power(event: Event) -> Event:
    """Return the event with a powered plate, for the question what one would bring."""
    powered = event.powered
    if powered is not None and powered.plate_power_w:
        return event
    table = load_table("boxes")["powered drier"]
    plate = {"plate_power_w": table["plate_power"].value, "plate_temp_k": table["plate_temp"].value}
    if powered is not None:
        return replace(event, powered=replace(powered, **plate))
    none = {"air_power_w": 0.0, "air_temp_k": None, "air_speed_m_s": 0.0, "battery_j": None}
    return replace(event, powered=PoweredDrier(**plate, **none))  # type: ignore[arg-type]
