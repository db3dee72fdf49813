"""``drybox setout``: when to set the box out; first and last useful laying-on."""

from __future__ import annotations

import click

from drybox.cli.option_types import Quantity
from drybox.cli.options import Options, event_options, members_option, written
from drybox.cli.sheets import Files, day_answers, day_picture, deliver, file_options


@click.command(
    epilog="""\b
Examples:
  drybox setout fair.toml
  drybox setout fair.toml --wait "30 min"
  drybox setout --latitude 48.2 --longitude 16.4 --date 2027-06-12 --sky hazy
"""
)
@event_options(idle=("--at",))
@file_options("sheet", "calendar", "table", "plot")
@click.option(
    "--wait",
    type=Quantity("duration", "1 min", "24 h", bare="min"),
    metavar="TIME",
    help='Longest useful time on the plate, like "30 min"; else as the event says.',
)
@members_option(60, most=1000)
def command(options: Options, files: Files, wait: float | None, *, members: int | None) -> None:
    """Say when to set the box out, how it warms, and when prints are first and last worth it.

    The box is set out as late as still has the plate warm for the first useful print. Obstacles
    that take the sun are named with their times.
    """
    from drybox import api, details, said

    options.refuse_time("setting out is for the whole day")
    event = options.load()
    files.check(event)
    found = api.set_out(event, wait=written(wait, "s"), members=members, seed=options.seed)
    event = said.asked_of(found).the_event
    deliver(
        files,
        said.answer(found, options.units),
        event=event,
        series=lambda: details.time_series(found),
        beside=lambda: day_answers(event, options, without=("setout",)),
        picture=lambda answers: day_picture(answers, options),
    )
