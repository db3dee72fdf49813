"""``drybox dry``: one print, every way of drying side by side."""

from __future__ import annotations

import functools
from typing import Any

import click

from drybox.cli.option_types import Completed, way_names
from drybox.cli.options import Options, event_options, hold_below_option, members_option, written
from drybox.cli.sheets import Files, day_answers, deliver, file_options
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
@event_options()
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
    *,
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

    listed = None if ways is None else [way.strip() for way in ways.split(",") if way.strip()]
    options = options.told({"event.ways": listed, "event.set_out": set_out})
    event = options.load()
    files.check(event)
    moment, note = options.moment_or_usual(event)
    result = api.dry(
        event,
        moment.time_at,
        hold_below=written(hold_below, "K"),
        members=members,
        seed=options.seed,
    )
    event = said.asked_of(result).the_event
    if all(way.duration_s.p10 is None for way in result.ways):
        from drybox.reports.answers.dry import why_not_said

        raise NoAnswerError(
            f"no way asked for dries the print: {why_not_said(result.ways[0])}",
            "",
            "ask for another way",
        )

    @functools.cache
    def series() -> Any:
        return details.time_series(result)

    def picture(_: object) -> object:
        from drybox.reports.pictures.day import print_figure

        time_at, columns = series()
        return print_figure(time_at, columns, event.place.timezone, units=options.units)

    deliver(
        files,
        said.answer(result, options.units, note=note),
        event=event,
        series=series,
        beside=lambda: day_answers(event, options, hold_k=hold_below),
        picture=picture,
    )
