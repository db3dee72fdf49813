"""``drybox plan``: the event day, a promise for every sitter."""

from __future__ import annotations

from typing import Any

import click

from drybox.cli.option_types import Count
from drybox.cli.options import Options, event_options, members_option
from drybox.cli.sheets import (
    Files,
    day_answers,
    day_picture,
    deliver,
    file_options,
    wet_side_answers,
)
from drybox.errors import NoAnswerError


@click.command(
    epilog="""\b
Examples:
  drybox plan fair.toml
  drybox plan fair.toml --every "12 min" --operators 2
  drybox plan fair.toml --now 14:10
  drybox plan fair.toml --sheet day.html --calendar day.ics --table day.csv
"""
)
@event_options(idle=("--at",))
@file_options("sheet", "calendar", "table", "plot")
@click.option("--every", metavar="TIME", help='A sitter every so often, like "12 min".')
@click.option("--rate", metavar="RATE", help='Sitters by chance, like "4 1/h".')
@click.option("--operators", type=Count(), help="Pairs of hands; 1 when left out.")
@click.option("--plate-slots", type=Count(), help="Prints on the plate; as many as fit.")
@click.option("--line-slots", type=Count(), help="Prints on the line; 8 when left out.")
@click.option("--wait-limit", metavar="TIME", help='Longest a sitter waits, like "2 h".')
@members_option(200)
@click.option("--now", metavar="HH:MM", help="Take the day's notes up to now; promise the rest.")
@click.option("--keep", is_flag=True, help="Write every promise into the notes, as told.")
@click.option("--no-what-if", is_flag=True, help="Leave out what one more would bring.")
@click.option("--strict", is_flag=True, help="Fail (3) if a promise in the file cannot be kept.")
def command(
    options: Options,
    files: Files,
    *,
    members: int | None,
    now: str | None,
    keep: bool,
    no_what_if: bool,
    strict: bool,
    **told: Any,
) -> None:
    """Promise every sitter a time, and say what the day is short of.

    Sitters, hands, tanks, wash trays, plate and line are run through from the opening to the
    closing in drawn days. A promise is given at the sitting: a time that nine prints in ten
    keep, flat weight included. What goes home damp or by mail is said beforehand. In the middle
    of the day --now fixes what was noted and shows which promises are in danger.
    """
    from drybox import api, details, said

    options.refuse_time("a plan is for the whole day")
    options = options.told({f"event.{key}": value for key, value in told.items()})
    event = options.load()
    files.check(event)
    plan = api.plan_day(event, members=members, seed=options.seed, what_if=not no_what_if, now=now)
    kept = len(api.keep_promises(plan)) if keep else None
    deliver(
        files,
        said.answer(plan, options.units, wide=True),
        event=plan.event,
        shown=None if options.format == "csv" else said.answer(plan, options.units, kept=kept),
        series=lambda: details.time_series(plan),
        beside=lambda: [*day_answers(plan.event, options), *wet_side_answers(plan, options)],
        picture=lambda answers: day_picture(answers, options),
        picture_of_all=True,
    )
    if strict and plan.broken:
        tickets = ", ".join(risk.ticket for risk in plan.broken)
        raise NoAnswerError(f"promises that cannot be kept: ticket {tickets}", "--strict")
