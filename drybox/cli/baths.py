"""``drybox baths``: what each tank still takes, what to bring, what to take home."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.option_types import Count
from drybox.cli.options import Options, event_options
from drybox.cli.wet_side import SHEET_KEYS, load_wet_side, sheet_options
from drybox.errors import InputError, NoAnswerError, out_of_range

if TYPE_CHECKING:
    from drybox.cli.wet_side import WetSide
    from drybox.planning.wet.baths import WashWater

BATH_KEYS = ("temperature", "top_up", "spare", "spoilt", "pace")
HOURS_WITHOUT_EVENT = 8
MOST_SITTINGS = 10_000


@click.command(
    epilog="""\b
Examples:
  drybox baths --sittings 30
  drybox baths fair.toml --used fixer=12 --used developer=12
  drybox baths --process "bleach reversal" --temperature "26 °C"
"""
)
@event_options
@sheet_options
@click.option("--sittings", type=Count(), help="Pictures still to make; else by pace and hours.")
@click.option("--pace", metavar="RATE", help='Sittings an hour, like "4 /h".')
@click.option("--used", multiple=True, metavar="BATH=N", help="Sheets a bath has had already.")
@click.option("--temperature", metavar="TEMP", help="Of the baths.")
@click.option("--top-up/--no-top-up", default=None, help="Whether the developer is topped up.")
@click.option("--spare", metavar="SHARE", help='Of every liquid, like "20 %".')
@click.option("--spoilt", metavar="SHARE", help="Of the sheets, made again.")
def command(options: Options, sittings: int | None, used: tuple[str, ...], **told: Any) -> None:
    """Say how many sheets each tank takes, when to change it, and what to carry.

    Works without an event file. A tank ends by the paper it has worked on, by its level, by
    what earlier baths drag into it, or by the clock, whichever comes first.
    """
    from drybox.planning.wet.baths import plan_baths
    from drybox.reports.answers.baths import baths_answer

    options.refuse_time("baths last for sheets and days, not from one time")
    if options.series is not None:
        raise InputError("baths have no time series", "option --series", "leave it out")
    keys = SHEET_KEYS | {key: f"process.{key}" for key in BATH_KEYS}
    wet = load_wet_side(options, {keys[name]: value for name, value in told.items()})
    day_s = _day_s(wet)
    count = round(day_s * wet.process.pace_1_s) if sittings is None else sittings
    if count > MOST_SITTINGS:
        raise out_of_range("sittings", count, 0, MOST_SITTINGS, "option --sittings")
    source = "option --sittings" if sittings is not None else "pace and hours"
    wet.settings.record("sittings", count, "", source)
    warnings: list[str] = []
    washing: list[str] = []
    plan = plan_baths(
        wet.process,
        sheet_area_m2=wet.paper.area_m2,
        carry_over_m3=_carry_over(wet),
        sittings=count,
        day_s=day_s,
        used=_used(used),
        wash=_wash_water(wet, count, options.seed, warnings, washing),
    )
    hours = day_s / 3600
    assumptions = [
        *wet.assumptions,
        f"{count} sittings in {hours:.1f} hours ({source}).",
        *washing,
    ]
    options.show(
        baths_answer(
            wet.process,
            plan,
            place=wet.place,
            inputs=wet.inputs,
            units=options.units,
            assumptions=assumptions,
            warnings=warnings,
            timezone=wet.timezone,
        )
    )


def _day_s(wet: WetSide) -> float:
    if wet.event is None:
        return HOURS_WITHOUT_EVENT * 3600.0
    return wet.event.closes_s - wet.event.opens_s


def _used(texts: Sequence[str]) -> dict[str, int]:
    """Return the sheets that each bath has had."""
    from drybox.inputs.wet.bath_names import plain_name

    found: dict[str, int] = {}
    for text in texts:
        name, _, count = (part.strip() for part in text.partition("="))
        if not name or not (count.isascii() and count.isdigit()):
            mend = "write it like fixer=12"
            raise InputError(f"used '{text}' is not a bath and a count", "option --used", mend)
        if plain_name(name) in found:
            raise InputError(f"used '{name}' is given twice", "option --used", "keep one")
        found[plain_name(name)] = int(count)
    return found


def _carry_over(wet: WetSide) -> dict[str, float]:
    """Return what each kind of sheet takes along, and record where it is from."""
    from drybox.inputs.wet.wash import carry_over_m3

    carried = {}
    for sheet in wet.process.sheets:
        last = sheet == wet.process.sheets[-1]
        coated = wet.resin_coated if last else sheet in wet.process.resin_coated_sheets
        carried[sheet], source = carry_over_m3(wet.paper.area_m2, wet.paper.dry_mass_kg_m2, coated)
        key = f"process.carry_over.{sheet}"
        wet.settings.record(key, carried[sheet] * 1e6, "ml", source)
    return carried


def _wash_water(
    wet: WetSide, sittings: int, seed: int, warnings: list[str], washing: list[str]
) -> WashWater:
    """Return the day's wash water; a wash that cannot be planned is said and left out."""
    from drybox.planning.wet.baths import WashWater
    from drybox.planning.wet.wash import plan_wash

    setup = wet.wash()
    try:
        plan = plan_wash(setup, seed=seed)
    except NoAnswerError as error:
        warnings.append(f"wash water is not counted: {error}")
        return WashWater()
    batches = math.ceil(sittings / setup.prints)
    together = f"{setup.prints} together" if setup.prints > 1 else "one at a time"
    washing.append(
        f"Prints are washed {together}, {plan.changes} changes each, aim '{setup.target.name}'; "
        "see 'drybox wash' for ways that take less water."
    )
    return WashWater(
        total_m3=batches * plan.water_total_m3,
        first_wash_m3=batches * plan.water_per_change_m3,
        aid_m3=plan.aid_m3,
    )
