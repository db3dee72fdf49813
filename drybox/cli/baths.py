"""``drybox baths``: what each tank still takes, what to bring, what to take home."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from drybox.cli.option_types import Count
from drybox.cli.options import Options, event_options
from drybox.cli.wet_side import load_wet_side, sheet_options
from drybox.errors import InputError


@click.command(
    epilog="""\b
Examples:
  drybox baths --sittings 30
  drybox baths fair.toml --used fixer=12 --used developer=12
  drybox baths --process "bleach reversal" --temperature "26 °C"
"""
)
@event_options(idle=("--at", "--series", "--uncalibrated"))
@sheet_options
@click.option(
    "--sittings", type=Count(0, 10_000), help="Pictures still to make; else by pace and hours."
)
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
    from drybox import api, said

    options.refuse_time("baths last for sheets and days, not from one time")
    options.refuse_series("baths have")
    wet = load_wet_side(options, "process", told)
    plan = api.baths(wet, sittings=sittings, used=_used(used), seed=options.seed)
    options.show(said.answer(plan, options.units))


def _used(texts: Sequence[str]) -> dict[str, int]:
    """Return the sheets that each bath has had."""
    from drybox.inputs.text.near_names import plain_name

    found: dict[str, int] = {}
    for text in texts:
        name, _, count = (part.strip() for part in text.partition("="))
        if not name or not (count.isascii() and count.isdigit() and len(count) < 10):
            mend = "write it like fixer=12"
            raise InputError(f"used '{text}' is not a bath and a count", "option --used", mend)
        if plain_name(name) in found:
            raise InputError(f"used '{name}' is given twice", "option --used", "keep one")
        found[plain_name(name)] = int(count)
    return found
