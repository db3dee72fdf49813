"""What to pack for an event day: chemistry, water and paper, and all that prints lie in."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from drybox.errors import NoAnswerError
from drybox.inputs.event.day import LINES, DayInputs, read_day_inputs
from drybox.inputs.event.event import Event
from drybox.inputs.wet.side import WetSide
from drybox.inputs.wet.wash import WashSetup, carry_over_m3
from drybox.planning.day.drying_table import PLATE, WARM_PLATE
from drybox.planning.day.plate_and_line import DayRun
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.samples import draw_hands
from drybox.planning.day.stages import WetDay, usual_resources, wet_day
from drybox.planning.finish.day import DayFinish
from drybox.planning.wet.baths import CANISTERS, WATER, BathPlan, Supply, WashWater, plan_baths
from drybox.planning.wet.wash import Goal, WashPlan, plan_wash
from drybox.planning.wet.water import WaterLimit
from drybox.tables import load_table


def day_baths(event: Event, inputs: DayInputs, water: WashWater, *, prints: int) -> BathPlan:
    """Return the baths of a day on which some prints are made, with what the washes take."""
    process, paper = inputs.process, event.paper
    coated = process.resin_coated_sheets
    if paper.resin_coated:
        coated = coated | {process.sheets[-1]}
    carried = {
        sheet: carry_over_m3(paper.area_m2, paper.dry_mass_kg_m2, sheet in coated)[0]
        for sheet in process.sheets
    }
    return plan_baths(
        process,
        sheet_area_m2=paper.area_m2,
        carry_over_m3=carried,
        sittings=prints,
        day_s=event.closes_at - event.opens_at,
        wash=water,
    )


def _water_and_prints(
    event: Event, inputs: DayInputs, wash: WashPlan, *, members: int, seed: int
) -> tuple[WashWater, int]:
    """Return the water that the washes of an event take, and how many prints are made.

    ``wash`` is that of a full batch. Members and seed as `plan_day` has them: both say the same.
    """
    draws = draw_hands(event, inputs, members, seed=seed)
    wet = wet_day(inputs, usual_resources(event, inputs, wash), draws, closes_at=event.closes_at)
    single = plan_wash(replace(inputs.wash, prints=1))
    in_time = np.isfinite(wet.sat_at).mean(axis=0) >= 0.5
    return wash_water(wet, wash, single), int(in_time.sum())


def baths_and_water(
    wet: WetSide,
    setup: WashSetup,
    *,
    sittings: int | None,
    used: Mapping[str, int],
    members: int,
    seed: int,
) -> tuple[BathPlan, str]:
    """Return the baths of a number of pictures with the water of their wash; and whence the number.

    ``sittings`` None takes those that are reached of the event's sitters, as `plan_day` has them
    with these members and seed, or by pace and hours. ``used`` is the sheets a bath has had
    already.
    """
    event = None if wet.paced else wet.event
    plan, why_not, of_day = None, None, None
    try:
        if event is None:
            plan = plan_wash(setup, seed=seed)
        else:
            plan = wash_of_day(event, read_day_inputs(event), members=members, seed=seed)
    except NoAnswerError as error:
        why_not = error
    number, source = round(wet.day_s * wet.process.pace_1_s), "pace and hours"
    if plan is not None and event is not None:
        inputs = read_day_inputs(event)
        of_day = _water_and_prints(event, inputs, plan, members=members, seed=seed)
        number, source = of_day[1], "those of the day's sitters that are reached"
    if sittings is not None:
        number, source = sittings, "option --sittings"
    wet.settings.record("sittings", number, "", source=source)
    water = WashWater()
    if of_day is not None:  # another number of prints would come as these do
        whole, reached = of_day
        share = number / reached if reached else 0.0
        water = WashWater(
            total_m3=share * whole.total_m3,
            first_wash_m3=share * whole.first_wash_m3,
            aid_m3=whole.aid_m3 if number else 0.0,
        )
    elif plan is not None:
        batches = -(-number // setup.prints)
        water = WashWater(
            total_m3=batches * plan.water_total_m3,
            first_wash_m3=batches * plan.water_per_change_m3,
            aid_m3=plan.aid_m3,
        )
    found = plan_baths(
        wet.process,
        sheet_area_m2=wet.paper.area_m2,
        carry_over_m3=wet.carry_over_m3(),
        sittings=number,
        day_s=wet.day_s,
        used=used,
        wash=water,
    )
    return replace(found, sittings=number, wash=plan, no_wash=why_not), source


def wash_of_day(event: Event, inputs: DayInputs, *, members: int, seed: int) -> WashPlan:
    """Return how the prints of a day are washed: in the least time, if the day's water lasts.

    Where a day's water is told and does not last, it is the wash in least water.
    """
    usual = plan_wash(inputs.wash)
    limit_m3 = inputs.day.water_m3
    if limit_m3 is None:
        return usual
    water, prints = _water_and_prints(event, inputs, usual, members=members, seed=seed)
    baths = day_baths(event, inputs, water, prints=prints)
    lasts = water_l(baths.bring) <= limit_m3 * 1e3
    return usual if lasts else plan_wash(inputs.wash, "least water")


def wash_asked(
    wet: WetSide, setup: WashSetup, goal: Goal | None, *, sure: bool, members: int, seed: int
) -> WashPlan:
    """Return how to wash for a goal; without one as the event's day does.

    A wash with water or time of its own, or of no event, goes by those. Members as `plan_day` has
    them.
    """
    limited = setup.water_m3 is not None or setup.time_s is not None
    if goal is None and wet.event is not None and not wet.paced and not limited:
        goal = wash_of_day(wet.event, read_day_inputs(wet.event), members=members, seed=seed).goal
    return plan_wash(setup, goal, sure=sure, seed=seed)


def water_limit(
    event: Event, inputs: DayInputs, wash: WashPlan, *, members: int, seed: int
) -> WaterLimit | None:
    """Return what of the day's water is left for washing, None where it sets no limit.

    ``wash`` is that of a full batch.
    """
    limit_m3 = inputs.day.water_m3
    if limit_m3 is None:
        return None
    _, prints = _water_and_prints(event, inputs, wash, members=members, seed=seed)
    spare = 1.0 + inputs.process.spare_frac
    rinses_m3 = water_l(day_baths(event, inputs, WashWater(), prints=prints).bring) * 1e-3
    left_m3 = max(limit_m3 - rinses_m3, 0.0) / spare
    return WaterLimit.of(left_m3, wash, plan_wash(replace(inputs.wash, prints=1)))


def water_l(bring: tuple[Supply, ...]) -> float:
    """Return the water of a packing list. [L]"""
    return sum(supply.amount for supply in bring if supply.what == WATER)


def liquids_kg(bring: tuple[Supply, ...]) -> float:
    """Return what water and baths of a packing list weigh, at the density of water. [kg]"""
    litres = {"l": 1.0, "ml": 1e-3}
    return sum(
        supply.amount * litres.get(supply.unit, 0.0) for supply in bring if supply.what != CANISTERS
    )


def wash_water(wet: WetDay, full: WashPlan, single: WashPlan) -> WashWater:
    """Return the wash water that nine days in ten do not exceed.

    ``full`` is the wash of a full batch, ``single`` that of a print alone.

    Smaller batches take water in proportion, but no less than a print alone.
    """
    wash = wet.wash
    days = []
    for begun, tray in zip(wash.begun_at, wash.tray, strict=True):
        batches = np.stack([begun, tray], axis=1)[np.isfinite(begun)]
        prints = np.array([*Counter(map(tuple, batches.tolist())).values()], dtype=float)
        share = np.maximum(prints / full.prints, single.water_total_m3 / full.water_total_m3)
        days.append(float(np.minimum(share, 1.0).sum()))
    batches_full = float(np.quantile(days, 0.9)) if days else 0.0
    return WashWater(
        total_m3=batches_full * full.water_total_m3,
        first_wash_m3=batches_full * full.water_per_change_m3,
        aid_m3=full.aid_m3 if batches_full else 0.0,
    )


MATERIALS = {
    "corner": ("photo corners", "pieces"),
    "hinge": ("hinges", "pieces"),
    "tissue": ("mounting tissue", "sheets"),
    "board": ("mounting boards", "pieces"),
    "folder": ("card folders for dry prints", "pieces"),
    "sleeve": ("sleeves for dry prints", "pieces"),
    "note": ("notes for home with dry prints", "pieces"),
}
"""Material of table ``finish_stages`` → what to bring, and its unit; blotters are counted apart."""

TOOLS = {
    "trim": "trimmer with a guard",
    "spot": "spotting dye, fine brushes, a loupe",
    "sign": "soft pencil",
    "stamp": "stamp and ink",
    "dry mount": "press or iron, and its power",
}


def _finishing(finish: DayFinish, dry: int) -> list[Supply]:
    """Return what the stages after drying take, for so many dry prints."""
    if not finish.stages:
        return [Supply("card folders for dry prints", dry, "pieces")]
    found = [
        Supply(MATERIALS[name][0], count, MATERIALS[name][1])
        for name, count in finish.materials(dry)
        if name in MATERIALS
    ]
    tools = [TOOLS[stage.name] for stage in finish.stages if stage.name in TOOLS]
    return [*found, *(Supply(tool, 1 if dry else 0, "set") for tool in tools)]


def packing(
    plans: tuple[TicketPlan, ...], run: DayRun, baths: BathPlan, *, finish: DayFinish
) -> tuple[Supply, ...]:
    """Return the whole packing list, the baths' part first."""
    each = {name: row.value for name, row in load_table("day")["bring"].items()}
    used = {way: _most(run, way) for way in run.setup.resources.slots}
    plate = used.get(PLATE, 0) + used.get(WARM_PLATE, 0)
    line = sum(used.get(way, 0) for way in LINES) + used.get("warm_air", 0)
    count = {
        kind: sum(plan.hand_over == kind for plan in plans)
        for kind in ("dry", "touch_dry", "pick_up", "damp", "mail")
    }
    fetched_dry = sum(
        plan.hand_over == "pick_up" and plan.ready_at.p90 is not None for plan in plans
    )
    count["dry"] += fetched_dry
    count["touch_dry"] += count["pick_up"] - fetched_dry
    flat = 2 * max(plate, line, 1) if count["dry"] and not finish.lies_flat else 0
    blotters = each["blotters_per_flattened_print"] * flat
    blotters += each["blotters_per_damp_print"] * (count["damp"] + count["touch_dry"])
    wanted = [
        Supply("magnets for the plate", each["magnets_per_slot"] * plate, "pieces"),
        Supply("clips for the line", each["clips_per_slot"] * line, "pieces"),
        Supply("blotters", blotters, "sheets"),
        Supply("flat boards with a weight", finish.pairs if flat else 0, "pair"),
        *_finishing(finish, count["dry"]),
        Supply("stiff sleeves with the note to dry it tonight", count["damp"], "pieces"),
        Supply("notes to let it dry face up tonight", count["touch_dry"], "pieces"),
        Supply("stiff envelopes and an address list", count["mail"], "pieces"),
        Supply("numbered tickets and a soft pencil", len(plans), "tickets"),
        Supply("gloves that stand chemicals", 10 if plans else 0, "pairs"),
        Supply("heat gloves or tongs, and a HOT sign", 1 if plate else 0, "set"),
        Supply("thermometers, for baths and plate", 2 if plans else 0, "pieces"),
        Supply("timer, squeegee, eye protection, eyewash water, towels", 1 if plans else 0, "set"),
    ]
    return (*baths.bring, *(item for item in wanted if item.amount))


def _most(run: DayRun, way: str) -> int:
    """Return how many places of a way nine days in ten do not exceed."""
    columns = np.array([taken == way for taken in run.ways], dtype=bool)
    used = run.dried.slot[:, columns].max(axis=1, initial=-1) + 1
    return math.ceil(float(np.quantile(used, 0.9))) if used.size else 0
