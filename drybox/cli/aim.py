"""``drybox aim``: which way the box faces, how steep, when to turn it."""

from __future__ import annotations

import click

from drybox.cli.option_types import Quantity
from drybox.cli.options import Options, event_options, hold_below_option, written
from drybox.cli.sheets import Files, day_answers, deliver, file_options
from drybox.errors import InputError


@click.command(
    epilog="""\b
Examples:
  drybox aim fair.toml
  drybox aim fair.toml --single --from 12:00 --until 15:00
  drybox aim fair.toml --hold-below 55C
  drybox aim --latitude -33.9 --longitude 18.4 --date 2027-12-12 --at 13:20
"""
)
@event_options()
@file_options("sheet", "calendar", "table", "plot")
@click.option("--from", "from_", metavar="HH:MM", help="Begin of the stretch; else the opening.")
@click.option("--until", metavar="HH:MM", help="End of the stretch; else the closing.")
@click.option(
    "--turns/--single", default=None, help="A list of turns (usual), or one aim left alone."
)
@click.option(
    "--share",
    type=Quantity("fraction", "50 %", "100 %", bare="%"),
    metavar="PERCENT",
    help="Of the always-turned energy that the turns must keep; 95 % when left out.",
)
@hold_below_option
@click.option(
    "--peg",
    type=Quantity("length", "5 mm", "500 mm"),
    default="50 mm",
    metavar="LENGTH",
    help='Of the peg whose shadow is sighted by; "50 mm" when left out.',
)
def command(
    options: Options,
    files: Files,
    from_: str | None,
    *,
    until: str | None,
    turns: bool | None,
    share: float | None,
    hold_below: float | None,
    peg: float,
) -> None:
    """Say which way the box faces, by compass and true, how far it tilts, when to turn it.

    The aim is found by search on the plate's own light, so that hemisphere, tropics, obstacles
    and cloud come out by themselves. With --at, the sun and the aim at that time come first.
    """
    from drybox import api, details, said

    event = options.load()
    files.check(event)
    moment, note = options.moment_or_usual(event, usual="opening")
    first = options.instant(event, from_, "from", where="option --from")
    last = options.instant(event, until, "until", where="option --until")
    if first and last and last.time_at <= first.time_at:
        raise InputError(f"the stretch ends at {until}, before it has begun", "option --until")
    found = api.aim(
        event,
        moment.time_at,
        from_=first.time_at if first else None,
        until=last.time_at if last else None,
        share=share,
        hold_below=written(hold_below, "K"),
    )
    answer = said.answer(found, options.units, turns=turns, peg_m=peg, note=note)
    hold_k = found.held_below_k if hold_below is not None else None

    def picture(_: object) -> object:
        from drybox.reports.pictures.day import light_figure

        lines = {
            "always turned": found.tracked_w_m2,
            "these turns": found.turned_w_m2,
            "one aim": found.single_w_m2,
        }
        return light_figure(found.day.time_at, lines, event.place.timezone)

    deliver(
        files,
        answer,
        event=event,
        series=lambda: details.time_series(found),
        beside=lambda: day_answers(event, options, hold_k=hold_k, without=("aim",)),
        picture=picture,
    )
