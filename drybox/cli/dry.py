"""``drybox dry``: one print, every way of drying side by side."""

from __future__ import annotations

import dataclasses

import click

from drybox.cli.option_types import Completed, way_names
from drybox.cli.options import Options, event_options, hold_below_option, members_option, written
from drybox.cli.sheets import Files, day_answers, file_options
from drybox.errors import NoAnswerError


@click.command(
    epilog="""\b
Examples:
  drybox dry fair.toml --at 13:20
  drybox dry fair.toml --at 13:20 --set-out 13:03
  drybox dry fair.toml --at 13:20 --ways "sun plate, line in the shade"
  drybox dry --latitude 48.2 --longitude 16.4 --date 2027-06-12 --cloud 3
"""
)
@event_options
@file_options("sheet", "table", "plot")
@click.option(
    "--ways",
    type=Completed(way_names),
    metavar="LIST",
    help='Only these, like "sun plate, line in the sun".',
)
@click.option("--set-out", metavar="HH:MM", help="Since when the box stands out.")
@hold_below_option
@members_option(200)
def command(
    options: Options,
    files: Files,
    ways: str | None,
    set_out: str | None,
    hold_below: float | None,
    members: int | None,
) -> None:
    """Say when a print laid on or hung at a time is dry, and which way of drying to take.

    Every way is worked out for the same print at the same moment: 10th, 50th and 90th
    percentile, when to pull it so that it lies flat, how hot it gets. Without --at it is for
    now, or for noon of another day.
    """
    from drybox import api, details, said
    from drybox.reports.answers.dry import dry_answer

    if ways is not None:
        listed = [way.strip() for way in ways.split(",") if way.strip()]
        options = dataclasses.replace(
            options, overrides={**options.overrides, "event.ways": listed}
        )
    if set_out is not None:
        options = dataclasses.replace(
            options, overrides={**options.overrides, "event.set_out": set_out}
        )
    event = options.load()
    files.check(event)
    moment, note = options.moment_or_usual(event)
    result = api.dry(
        event,
        moment.time_s,
        hold_below=written(hold_below, "K"),
        members=members,
        seed=options.seed,
    )
    asked = said.asked_of(result)
    event = asked.event or event
    if all(way.duration_s.p10 is None for way in result.ways):
        raise NoAnswerError(
            "no way asked for dries the print: " + result.ways[0].why, "", "ask for another way"
        )
    answer = dry_answer(
        event,
        result,
        units=options.units,
        members=asked.members,
        seed=options.seed,
        declination_deg=details.declination_deg(event, moment.time_s),
        note=note,
        overcast=result.other_sky,
    )
    answers, picture = [answer], None
    if options.series is not None or files.plot is not None:
        time_s, columns = details.time_series(result)
        options.write_series(time_s, columns, event.place.timezone)
        if files.plot is not None:
            from drybox.reports.pictures.day import print_figure

            picture = print_figure(time_s, columns, event.place.timezone, options.units)
    if files.sheet:
        answers += day_answers(event, options, hold_k=hold_below)
    files.write(event, answers, picture)
    options.show(answer)
