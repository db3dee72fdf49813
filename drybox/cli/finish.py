"""``drybox finish``: from a dry print to one that is flat and in its folder."""

from __future__ import annotations

from typing import Any

import click

from drybox.cli.option_types import Completed, Count, way_names
from drybox.cli.options import Options, event_options, members_option


@click.command(
    epilog="""\b
Examples:
  drybox finish fair.toml --at 13:40
  drybox finish fair.toml --at 13:40 --dried "sun plate" --pulled 50% --plate 52C
  drybox finish fair.toml --at 16:00 --dried line --prints 10 --boards 2
  drybox finish fair.toml --at 13:40 --weighed 3.92g --sheet-mass 3.80g
"""
)
@event_options(idle=("--series",))
@click.option("--dried", type=Completed(way_names), metavar="WAY", help="How, like sun-plate.")
@click.option("--pulled", metavar="HUMIDITY", help="It is in balance with, like 60%.")
@click.option("--plate", metavar="TEMP", help="Of the warm metal then, like 50C.")
@click.option("--prints", type=Count(1, 100), default=1, help="How many, pulled together.")
@click.option("--boards", type=Count(0, 100), help="Pairs of boards; 1 when left out.")
@click.option("--weight", metavar="MASS", help="On the boards, like 2kg.")
@click.option("--blotter-humidity", metavar="HUMIDITY", help="As the day's air when left out.")
@click.option("--home-humidity", metavar="HUMIDITY", help="Of the room it goes to; 45% usually.")
@click.option("--hottest", metavar="TEXT", help="In the hand, bag in the sun, or parked car.")
@click.option("--weighed", metavar="MASS", help="A print on the scale, like 3.92g.")
@click.option("--sheet-mass", metavar="MASS", help="A dry sheet of its box, kept at home.")
@members_option(200)
def command(
    options: Options,
    *,
    dried: str | None,
    pulled: str | None,
    plate: str | None,
    prints: int,
    weighed: str | None,
    sheet_mass: str | None,
    members: int | None,
    **told: Any,
) -> None:
    """Say how a dry print is made flat, how far it will curl, and what may enclose it.

    Cold and warm boards, blotters and a press side by side: minutes, and how high its edges
    stand in today's air and at home. Then what it may go into and from when, and what to tell
    the sitter. Without --at it is for now, or for noon of another day.
    """
    from drybox import api, said

    options.refuse_series("finish has")
    options = options.told({f"finishing.{key}": value for key, value in told.items()})
    event = options.load()
    moment, note = options.moment_or_usual(event)
    result = api.finish(
        event,
        moment.time_at,
        dried=dried,
        pulled=pulled,
        plate_temp=plate,
        prints=prints,
        weighed=weighed,
        sheet=sheet_mass,
        members=members,
        seed=options.seed,
    )
    options.show(said.answer(result, options.units, note=note))
