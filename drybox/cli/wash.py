"""``drybox wash``: changes, litres, minutes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drybox.cli.option_types import Count
from drybox.cli.options import Options, event_options
from drybox.cli.wet_side import load_wet_side, sheet_options

if TYPE_CHECKING:
    from drybox.inputs.wet.side import WetSide
    from drybox.planning.wet.wash import WashPlan

GOALS = ("least-water", "least-time", "best")


@click.command(
    epilog="""\b
Examples:
  drybox wash --prints 8 --water "12 l"
  drybox wash fair.toml --prints 4 --time "30 min" --wash-aid
  drybox wash --fixing long --target keeping --goal least-water --sure
"""
)
@event_options(idle=("--at", "--uncalibrated"))
@sheet_options
@click.option(
    "--prints",
    type=Count(),
    help="Washed together; left out, as many as a day's trays take, or 1 without an event.",
)
@click.option("--water", metavar="VOLUME", help='Fresh water at hand, like "10 l".')
@click.option("--time", metavar="TIME", help='At hand, like "30 min".')
@click.option("--target", metavar="AIM", help='keeping, everyday, until rewash, or "0.03 g/m2".')
@click.option("--fixing", metavar="HOW", help="short (strong, a minute or two) or long.")
@click.option(
    "--wash-aid/--no-wash-aid", default=None, help="A sulfite bath after the first change."
)
@click.option("--water-temperature", metavar="TEMP", help='Like "15 °C" or "59 °F".')
@click.option("--vessel", metavar="VOLUME", help="Most that the wash tray holds.")
@click.option(
    "--goal",
    type=click.Choice(GOALS),
    help="Else: best with both --water and --time, least-water with --time or where the day's "
    "water is short, least-time.",
)
@click.option("--sure", is_flag=True, help="Plan for nine prints in ten, not for the likely one.")
def command(options: Options, goal: str | None, sure: bool, **told: Any) -> None:
    """Say how many changes of water, how many litres and how long.

    Works without an event file. Prints are washed in still baths that are dumped and
    refilled; what stays in the paper is given as a range.
    """
    from drybox import api, said

    wet = load_wet_side(options, "process.wash", told)
    wanted = {"least-water": "least water", "least-time": "least time", "best": "best result"}
    plan = api.wash(wet, goal=wanted.get(goal or ""), sure=sure, seed=options.seed)
    setup = said.asked_of(plan).setup
    assert setup is not None
    _write_series(options, wet, plan, handling_s=setup.rules.handling_s)
    options.show(said.answer(plan, options.units))


def _write_series(options: Options, wet: WetSide, plan: WashPlan, *, handling_s: float) -> None:
    """Write what is left at the end of each bath, from ``--at`` or the opening on."""
    from drybox.errors import InputError

    if options.series is None:
        options.refuse_time("only a time series of the wash (--series) begins at a time")
        return
    if wet.event is None:
        raise InputError(
            "a time series needs a day to stand on",
            "option --series",
            "name an event file, or give a position and a date",
        )
    moment = options.moment(wet.event)
    time_at = moment.time_at if moment else wet.event.opens_at
    times, left = [], []
    for step in plan.steps:
        time_at += step.soak_s + handling_s
        times.append(time_at)
        left.append(step.residual_kg_m2 * 1e3)
    options.write_series(times, {"residual_g_m2": left}, wet.event.place.timezone)
