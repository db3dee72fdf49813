"""``drybox setout``: when to set the box out; first and last useful laying-on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drybox.cli.option_types import Quantity
from drybox.cli.options import Options, event_options, members_option
from drybox.cli.sheets import Files, day_answers, file_options

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.planning.one_print.set_out import SetOutResult


@click.command(
    epilog="""\b
Examples:
  drybox setout fair.toml
  drybox setout fair.toml --wait "30 min"
  drybox setout --latitude 48.2 --longitude 16.4 --date 2027-06-12 --sky hazy
"""
)
@event_options
@file_options("sheet", "calendar", "table", "plot")
@click.option(
    "--wait",
    type=Quantity("duration", "1 min", "24 h", bare="min"),
    metavar="TIME",
    help='Longest useful time on the plate, like "30 min"; else as the event says.',
)
@members_option(60, most=1000)
def command(options: Options, files: Files, wait: float | None, members: int | None) -> None:
    """Say when to set the box out, how it warms, and when prints are first and last worth it.

    The box is set out as late as still has the plate warm for the first useful print. Obstacles
    that take the sun are named with their times.
    """
    from drybox.planning.aim.event_aim import declination_at
    from drybox.planning.one_print.set_out import MEMBERS, plan_set_out
    from drybox.planning.scenario.both_skies import both_skies
    from drybox.reports.answers.setout import setout_answer

    draws = MEMBERS if members is None else members
    options.refuse_time("setting out is for the whole day")
    event = options.load()
    files.check(event)

    def set_out(under: Event) -> SetOutResult:
        return plan_set_out(under, members=draws, seed=options.seed, wait_s=wait)

    skies = both_skies(event)
    event = skies.clear if skies else event
    found, overcast = set_out(event), set_out(skies.overcast) if skies else None
    options.write_series(
        found.time_s,
        {
            "sun_elevation_deg": found.sun_elevation_deg,
            "sun_azimuth_deg": found.sun_azimuth_deg,
            "plate_irradiance_w_m2": found.plate_irradiance_w_m2,
            "plate_temp_c": found.plate_temp_k - 273.15,
            "air_temp_c": found.air_temp_k - 273.15,
        },
        event.place.timezone,
    )
    answer = setout_answer(
        event,
        found,
        units=options.units,
        members=draws,
        seed=options.seed,
        declination_deg=declination_at(event, event.opens_s).degrees,
        overcast=overcast,
    )
    answers, picture = [answer], None
    if files.sheet or files.calendar:
        answers += day_answers(event, options, without=("setout",))
    if files.plot:
        from drybox.reports.sheet.page import day_picture

        picture = day_picture({found.command: found for found in answers}, options.units)
    files.write(event, answers, picture)
    options.show(answer)
