"""What the wash plan says: to wet hands first, then bath by bath."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

from drybox.inputs.wet.wash import REWASH, WashSetup
from drybox.planning.wet.wash import WashPlan
from drybox.planning.wet.words import grams, minutes
from drybox.readable import counted
from drybox.reports.text.answer import Answer, Column, Table, fields_of
from drybox.reports.text.cautions import WARM_BATH_K, cautions
from drybox.reports.text.phrases import say, sentence
from drybox.reports.text.plan_words import wash_why_said

COLD_WATER_K = 283.15
COLUMNS = (
    Column("step", "Step"),
    Column("water_ml", "water"),
    Column("soak_minutes", "soak", digits=1),
    Column("residual_g_m2", "left in the print", digits=3),
)


def wash_answer(
    setup: WashSetup,
    plan: WashPlan,
    *,
    place: dict[str, Any],
    inputs: list[dict[str, Any]],
    units: str = "metric",
    assumptions: Sequence[str] = (),
    timezone: str = "UTC",
) -> Answer:
    """Return the answer of ``drybox wash``."""
    return Answer(
        command="wash",
        place=place,
        inputs=inputs,
        result=_result(setup, plan),
        lead=_lead(setup, plan, units),
        tables=[Table("Bath by bath", COLUMNS, _rows(plan))],
        assumptions=[*assumptions, *_stands_on(setup)],
        warnings=_warnings(setup, plan, units),
        cautions=cautions(
            "silver_waste", "chemicals", setup.water_temp_k > WARM_BATH_K and "warm_baths"
        ),
        timezone=timezone,
    )


def rewash_text(plan: WashPlan, units: str = "metric") -> str:
    """Return what to hand over with a print that is not washed out, empty when none is needed."""
    if not plan.rewash_changes:
        return ""
    warm = say("water_temp_c", 20.0, units)
    return (
        "This print had only a short wash and will fade or stain if it is left so. Within two "
        f"weeks: soak it face down in clean tap water of about {warm}, "
        f"{plan.rewash_changes} times {minutes(plan.rewash_soak_s)}, with fresh water and a good "
        "drain each time; then blot it and let it dry face up. Do not leave it in water overnight. "
        "Or bring it back, and we wash it for you."
    )


def _result(setup: WashSetup, plan: WashPlan) -> dict[str, Any]:
    low, middle, high = (1e3 * value for value in plan.residual_range_kg_m2)
    return {
        "changes": plan.changes,
        "water_per_change_l": plan.water_per_change_m3 * 1e3,
        "water_total_l": plan.water_total_m3 * 1e3,
        "minutes": plan.duration_s / 60,
        "residual_g_m2": [1e3 * value for value in plan.residual_kg_m2],
        "target_g_m2": plan.target_kg_m2 * 1e3,
        **fields_of(plan, "reached", "goal", "prints"),
        "soak_minutes": plan.soak_s / 60,
        "wash_aid_l": plan.aid_m3 * 1e3,
        "residual_end_g_m2": {"p10": low, "p50": middle, "p90": high},
        **fields_of(plan, "chance_frac", "rewash_changes"),
        "rewash_soak_minutes": plan.rewash_soak_s / 60,
        "hand_over_text": rewash_text(plan),
        "why": wash_why_said(setup, plan),
    }


def _rows(plan: WashPlan) -> list[dict[str, Any]]:
    number = itertools.count(1)
    return [
        {
            "step": f"change {next(number)}" if step.kind == "change" else step.kind,
            "water_ml": step.water_m3 * 1e6,
            "soak_minutes": step.soak_s / 60,
            "residual_g_m2": step.residual_kg_m2 * 1e3,
        }
        for step in plan.steps
    ]


def _volume(volume_m3: float, units: str) -> str:
    if volume_m3 < 0.9995e-3:
        return say("water_ml", volume_m3 * 1e6, units)
    return say("water_l", volume_m3 * 1e3, units, digits=1)


def _odds(plan: WashPlan) -> str:
    met = round(10 * plan.chance_frac)
    aim = f"the aim of {grams(plan.target_kg_m2)}"
    if not met:
        return f"hardly any print comes under {aim}"
    text = f"{met} prints in 10 come under {aim}"
    unsure = plan.reached and not plan.sure and met < 9
    return text + ("; add --sure to plan for 9 in 10" if unsure else "")


def _lead(setup: WashSetup, plan: WashPlan, units: str) -> list[str]:
    several = f"{plan.prints} prints together" if plan.prints > 1 else "one print"
    each = _volume(plan.water_per_change_m3, units)
    low, _, high = (1e3 * value for value in plan.residual_range_kg_m2)
    whole_min = math.ceil(plan.duration_s / 60)
    lead = [
        f"Wash {several} in {counted(plan.changes, 'change')} of {each}, {minutes(plan.soak_s)} "
        f"each: {_volume(plan.water_total_m3, units)} of water, about {whole_min} min with filling "
        "and draining.",
        f"Left in the print: {low:.{2 if low >= 0.01 else 3}f} to {high:.2f} g/m² of fixer salt; "
        f"{_odds(plan)}.",
    ]
    if plan.reached:
        lead.append(f"Chosen: {wash_why_said(setup, plan)}.")
    if plan.aid_m3:
        lead.insert(
            1,
            f"After the first change: {minutes(setup.rules.aid_soak_s)} in "
            f"{_volume(plan.aid_m3, units)} of wash aid (20 g/L sodium sulfite).",
        )
    if plan.rewash_changes:
        lead.append(f"Give it out with this note: “{rewash_text(plan, units)}”")
    lead.append(
        "Drain well between changes, turn the prints over one by one. Never add a freshly fixed "
        "print: the clock starts again for all of them."
    )
    return lead


def _warnings(setup: WashSetup, plan: WashPlan, units: str) -> list[str]:
    found = []
    if not plan.reached:
        found.append(sentence(wash_why_said(setup, plan)))
    elif setup.target.name == REWASH:
        found.append("This wash is only a loan: the print must be washed again at home.")
    if setup.target.name != REWASH:
        found += _fading(plan)
    if setup.water_temp_k < COLD_WATER_K:
        found.append(
            f"Water of {say('water_temp_c', setup.water_temp_k - 273.15, units)} washes slowly; "
            "warming it, or a wash aid, saves more than more water would."
        )
    return found


def _fading(plan: WashPlan) -> list[str]:
    over = 10 - round(10 * plan.chance_frac)
    if over < 2 or plan.sure:
        return []
    prints = "Every print keeps" if over == 10 else f"About {over} prints in 10 keep"
    return [f"{prints} more fixer salt than the aim and will fade or stain sooner."]


def _stands_on(setup: WashSetup) -> list[str]:
    rules = setup.rules
    target = setup.target
    return [
        f"Aim '{target.name}': {target.source}.",
        "How fast paper lets go of fixer is hardly published: the time constants are fitted to "
        "taught routines, and the slow share held by fibre and baryta is a judgement. Test a "
        "margin with a silver nitrate drop before trusting it.",
        "The print moves freely in each bath; prints that lie still face up, or stuck together, "
        "wash slower.",
        f"Sea water needs about {100 * rules.sea_time_factor:.0f} % of the time, but then "
        f"{minutes(rules.sea_fresh_after_s)} in fresh water is compulsory: salt left behind fades "
        "the image.",
    ]
