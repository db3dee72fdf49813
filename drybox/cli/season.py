"""``drybox season``: month by hour, how often the plate works and how long it takes."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drybox.cli.option_types import FILE, Quantity
from drybox.cli.options import Options, event_options, written
from drybox.cli.sheets import Files, deliver, file_options
from drybox.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drybox.inputs.event.event import Event
    from drybox.reports.text.answer import Answer

ANY_DATE = "2027-06-21"


@click.command(
    epilog="""\b
Examples:
  drybox season --weather 723170TYA.CSV
  drybox season fair.toml --weather larkmead.csv --wait 30min --sheet season.html
  drybox season --latitude 48.2 --longitude 16.4
  drybox season --tour summer.csv
"""
)
@event_options(idle=("--at", "--series"))
@file_options("sheet", "plot")
@click.option(
    "--wait",
    type=Quantity("duration", "1 min", "24 h", bare="min"),
    metavar="TIME",
    help="How long a sitter waits, like 30min; 45 min when left out.",
)
@click.option(
    "--tour",
    type=FILE,
    metavar="FILE.csv",
    help="A table of fairs instead: name, event file or coordinates, date.",
)
def command(options: Options, files: Files, wait: float | None, *, tour: str | None) -> None:
    """Say how often the plate dries a print in the time a sitter waits, month by hour.

    With a typical year (--weather FILE: EPW, TMY3, TMY2, PVGIS, NSRDB) that is what is usual;
    without one it is what the sun can do under a clear sky. Also: the best single aim of each
    month, and the hours in which a plate is worth its carriage.
    """
    options.refuse_time("a season has no single time")
    options.refuse_series("a season has", "use --format csv")
    options = options.told({"drying.wait": written(wait, "s")})
    if tour is not None:
        if "://" in tour:
            raise InputError(f"{tour} is a web address", "option --tour", "save the file")
        _tour(options, files, Path(tour))
        return
    from drybox import api, details, said
    from drybox.cli.progress import working

    event = _load(options)
    if event.weather.kind == "forecast" and options.overrides.get("weather.file"):
        what, mend = "a forecast of days is no year", "name a typical year (EPW, TMY, PVGIS)"
        raise InputError(what, "option --weather", mend)
    files.check(event)
    weather = details.season_weather(event)
    with working("Drying a print every ten minutes of the year"):
        found = api.season(event, weather, seed=options.seed)

    def picture(answers: Sequence[Answer]) -> object:
        from drybox.reports.pictures.season import season_figure

        result = answers[0].result
        return season_figure(result["rows"], result["wait_minutes"])

    rows = said.answer(found, options.units, rows_first=True) if options.format == "csv" else None
    answer = said.answer(found, options.units)
    deliver(files, answer, event=event, shown=rows, picture=picture)


def _load(options: Options) -> Event:
    """Return the event; a season needs no date, and any year's sun will do."""
    from drybox.inputs.text.settings import Settings

    settings = Settings.read(options.event, options.overrides)
    dated = "date" in settings.section("event")
    return options.told({"event.date": None if dated else ANY_DATE}).load()


def _tour(options: Options, files: Files, path: Path) -> None:
    from drybox import api
    from drybox.cli.progress import working
    from drybox.inputs.event.tour import read_tour
    from drybox.reports.answers.season import tour_answer
    from drybox.tables import load_table

    if options.event is not None:
        raise InputError("both an event and a tour are given", "option --tour", "keep one")
    if files.plot is not None:
        raise InputError("a tour has no picture", "option --plot", "leave it out")
    files.check()
    stops = [
        dataclasses.replace(stop, overrides={**options.overrides, **stop.overrides})
        for stop in read_tour(path)
    ]
    with working(f"Working out {len(stops)} fairs", len(stops)) as tick:
        found = api.tour(stops, seed=options.seed, tick=tick)
    if all(stop.failed for stop in found):
        raise InputError(f"no fair could be worked out: {found[0].failed}", "option --tour")
    from drybox.units import parse_quantity

    told = options.overrides.get("drying.wait")
    usual = load_table("limits")["useful"]["wait"].value
    wait_s = parse_quantity(told, "duration", "wait") if told else usual
    deliver(files, tour_answer(found, wait_s=wait_s, table_name=path.name))
