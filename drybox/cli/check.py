"""``drybox check``: read everything, compute nothing long."""

from __future__ import annotations

import dataclasses

import click

from drybox.cli.options import Options, event_options


@click.command(
    epilog="""\b
Examples:
  drybox check fair/fair.toml
  drybox check fair/fair.toml --values
  drybox check --latitude 48.2 --longitude 16.4 --date 2027-06-12
"""
)
@event_options(idle=("--at", "--series", "--seed", "--force", "--why"))
@click.option("--values", is_flag=True, help="Also list every value in use.")
def command(options: Options, values: bool) -> None:
    """Say what EVENT.toml and the options mean, what is doubtful and what is assumed.

    With --values every value is listed with its unit and where it came from: a line of the
    file, an option, a shipped table or a default. CSV and JSON always have them.
    """
    from drybox.reports.answers.check import check_answer
    from drybox.said import in_units

    options.refuse_time("check is for the whole day")
    options.refuse_series("check has")
    answer = check_answer(options.load())
    if options.format == "text" and not values:
        answer = dataclasses.replace(answer, tables=[])
    shown = in_units(answer, options.units)
    dataclasses.replace(options, why=True).show(shown)
