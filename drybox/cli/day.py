"""``drybox day``: the event day in about a dozen lines."""

from __future__ import annotations

import click

from drybox.cli.options import Options, event_options, members_option
from drybox.cli.sheets import Files, deliver, file_options


@click.command(
    epilog="""\b
Examples:
  drybox day fair.toml
  drybox day fair.toml --members 50 --table day.csv
"""
)
@event_options()
@file_options("table")
@members_option(200)
def command(options: Options, files: Files, members: int | None) -> None:
    """Say the event day in order: the box, the sitters, the sun, the last dry print.

    Set out and aim, first print, breaks, sun on the sitter, hours without sun and what to do
    then, turns, the last sitter for a dry print, packing up; then what is hot, heavy or missing.
    All as 'plan', 'aim' and 'setout' say it.
    """
    from drybox import api, details, said

    options.refuse_time("a day is the whole day")
    event = options.load()
    files.check(event)
    found = api.day(event, members=members, seed=options.seed)
    table = said.answer(found, options.units, table=True)
    deliver(
        files,
        table,
        event=event,
        shown=None if options.format == "csv" else said.answer(found, options.units),
        series=lambda: details.time_series(found.plan),
    )
