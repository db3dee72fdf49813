"""What the bath plan says: which tank goes first, what to bring, what goes home."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drybox.inputs.wet.process import Process
from drybox.planning.wet.baths import BathPlan, BathUse, Supply, slower_than_told
from drybox.readable import counted
from drybox.reports.text.answer import Answer, Column, Table, fields_of
from drybox.reports.text.cautions import WARM_BATH_K, cautions
from drybox.reports.text.phrases import liquid_said, say
from drybox.reports.text.plan_words import bath_warnings, bath_why_said
from drybox.units import celsius

BATH_COLUMNS = (
    Column("bath", "Bath"),
    Column("sheets_left", "sheets left"),
    Column("change_after_sheet", "change at"),
    Column("fills", "fills"),
    Column("strength_frac", "strength"),
    Column("limit", "ends by"),
)
STAGE_COLUMNS = (
    Column("stage", "Stage"),
    Column("minutes", "time", digits=1),
    Column("hands", "hands"),
    Column("vessel", "vessel"),
)
SLOWER_FRAC = 0.03
SINGLE_FIXERS = ("fixer", "alkaline fixer")
LIMITS = {
    "area": "paper worked on",
    "dilution": "carry-over",
    "level": "level",
    "life": "the clock",
    "none": "–",
}


def baths_answer(
    process: Process,
    plan: BathPlan,
    *,
    place: dict[str, Any],
    inputs: list[dict[str, Any]],
    units: str = "metric",
    assumptions: Sequence[str] = (),
    warnings: Sequence[str] = (),
    timezone: str = "UTC",
) -> Answer:
    """Return the answer of ``drybox baths``."""
    goods = (Column("what", "What"), Column("amount", "amount"))
    stages = [
        fields_of(stage, "stage", "sheet")
        | {"minutes": stage.duration_s / 60}
        | fields_of(stage, "attended", "vessel")
        for stage in plan.stages
    ]
    temp = say("bath_temp_c", celsius(process.temp_k), units)
    return Answer(
        command="baths",
        place=place,
        inputs=inputs,
        result={
            "baths": [_record(process, use) for use in plan.baths],
            "bring": [supply_record(supply) for supply in plan.bring],
            "take_home": [supply_record(supply) for supply in plan.take_home],
            "sheets_through": plan.sheets_through,
            "stages": stages,
        },
        lead=_lead(process, plan, units),
        tables=[
            Table(
                "The baths",
                BATH_COLUMNS,
                [_record(process, use) | {"limit": LIMITS[use.limit]} for use in plan.baths],
            ),
            *(
                Table(title, goods, [_said(supply, units) for supply in supplies], name=name)
                for title, name, supplies in (
                    ("Bring", "bring", plan.bring),
                    ("Take home", "", plan.take_home),
                )
            ),
            Table(
                f"Times at {temp}, draining included",
                STAGE_COLUMNS,
                [row | {"hands": "yes" if row["attended"] else "free"} for row in stages],
            ),
        ],
        assumptions=[*assumptions, *_stands_on(process, plan, units)],
        warnings=[*warnings, *bath_warnings(process, plan, units)],
        cautions=cautions(
            "silver_waste", "chemicals", process.temp_k > WARM_BATH_K and "warm_baths"
        ),
        timezone=timezone,
    )


def _record(process: Process, use: BathUse) -> dict[str, Any]:
    return {
        "bath": use.bath,
        "volume_ml": use.volume_m3 * 1e6,
        **fields_of(use, "sheets_capacity", "sheets_used", "change_after_sheet", "strength_frac"),
        **fields_of(use, "limit", "kind", "sheets_today", "sheets_left", "fills"),
        "level_ml": use.level_m3 * 1e6,
        "top_up_per_sheet_ml": use.top_up_per_sheet_m3 * 1e6,
        "silver_g_l": use.silver_kg_m3,
        "why": bath_why_said(process, use),
    }


def supply_record(supply: Supply) -> dict[str, Any]:
    """Return a thing to bring or to take home as the record holds it."""
    return fields_of(supply, "what", "amount", "unit")


def _said(supply: Supply, units: str) -> dict[str, Any]:
    amount = liquid_said(supply.amount, supply.unit, units) or f"{supply.amount:g}"
    return {"what": supply.what, "amount": amount}


def _lead(process: Process, plan: BathPlan, units: str) -> list[str]:
    if not plan.baths:
        return [f"The process {process.name} uses no bath: there is no tank to change."]
    today = [use for use in plan.baths if use.sheets_left < use.sheets_today]
    first = plan.first_to_change
    sheets = counted(first.sheets_left, "sheet")
    if today:
        why = bath_why_said(process, first)
        lead = [f"The {first.bath} goes first: it takes {sheets} more, then change it ({why})."]
        others = [f"the {use.bath} after {use.sheets_left}" for use in today if use is not first]
        if others:
            lead.append(f"Also today: {', '.join(others)}.")
    else:
        lead = [
            f"Every tank lasts the day of {counted(plan.sheets_through, 'sheet')}; the "
            f"{first.bath} would be the first to go, after {sheets}, today's counted in."
        ]
    for use in plan.baths:
        if use.top_up_per_sheet_m3:
            every = max(int(process.level_loss_frac * use.volume_m3 / use.top_up_per_sheet_m3), 1)
            often = counted(every, "sheet")
            amount = say("top_up_ml", every * use.top_up_per_sheet_m3 * 1e6, units)
            lead.append(f"Top the {use.bath} up with about {amount} after every {often}.")
    lead.append(
        "Fixer and the first wash go home in labelled canisters of their own; nothing of them on "
        "the ground or down a drain."
    )
    return lead


def _best_keeping(process: Process, plan: BathPlan) -> list[str]:
    """Return when a single fixer is to be changed for prints that must last."""
    said = []
    for use in plan.baths:
        if use.kind in SINGLE_FIXERS and use.silver_kg_m3:
            last = min(use.change_after_sheet, use.sheets_used + use.sheets_today)
            soon = int(last * process.best_keeping_silver_kg_m3 / use.silver_kg_m3)
            if soon < last:
                most = f"{process.best_keeping_silver_kg_m3:.1g} g/L of silver"
                said.append(
                    f"For prints that must last, change the {use.bath} after "
                    f"{counted(soon, 'sheet')}, at {most}; here it goes to "
                    f"{use.silver_kg_m3:.1f} g/L."
                )
    return said


def slower_said(process: Process, units: str) -> list[str]:
    """Return what the temperature of the baths does to their times."""
    share = slower_than_told(process)
    if abs(share - 1.0) < SLOWER_FRAC:
        return []
    temp = say("bath_temp_c", celsius(process.temp_k), units)
    return [f"At {temp} the stages take {share:.2g} times as long as they are given for."]


def _stands_on(process: Process, plan: BathPlan, units: str) -> list[str]:
    return [
        *_best_keeping(process, plan),
        *slower_said(process, units),
        f"{100 * process.spoilt_frac:.0f} % of the sheets are spoilt or made again, and "
        f"{100 * process.spare_frac:.0f} % of every liquid is spare.",
        "A tank's life counts from now. What topping up adds to its capacity is left out, which "
        "is the careful side.",
        "Capacities are rules of thumb: the stop's indicator and the fixer's clearing time (twice "
        "that of fresh fixer: discard) have the last word.",
    ]
