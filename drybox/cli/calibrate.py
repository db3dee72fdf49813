"""``drybox calibrate``: learn box, hand and paper from the field notes, and keep the fit."""

from __future__ import annotations

import dataclasses
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drybox.cli.options import Options, event_options
from drybox.cli.sheets import Files, deliver, file_options
from drybox.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drybox.inputs.event.event import Event
    from drybox.inputs.notes.note import Note


@click.command(
    epilog="""\b
Examples:
  drybox calibrate fair.toml
  drybox calibrate fair.toml --with market.toml
  drybox calibrate fair.toml --dry-run --format json
  drybox dry fair.toml --at 13:20 --uncalibrated
"""
)
@event_options(idle=("--at", "--uncalibrated"))
@file_options("sheet", "table", "plot")
@click.option(
    "--with",
    "others",
    multiple=True,
    metavar="EVENT.toml",
    help="Another event with the same box and paper: its place, its day's weather.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be learned, keep nothing.")
@click.option("--forget", is_flag=True, help="Drop the fit kept for this box and paper.")
def command(
    options: Options, files: Files, others: tuple[str, ...], *, dry_run: bool, forget: bool
) -> None:
    """Learn box, hand and paper from the field notes, and keep what was learned.

    Every command then stands on it for that box and paper, and says so; --uncalibrated leaves it
    out. Notes are matched by the names of box, paper and place (`name` in the event file); a note
    that names none is about this one. A plate reading of the day itself counts at once, without it.
    """
    from drybox import api, details, said
    from drybox.cli.progress import working
    from drybox.inputs.notes.fits import FitStore
    from drybox.inputs.notes.store import NoteStore
    from drybox.reports.answers.calibrate import forgotten_answer
    from drybox.reports.files.fit_curves import curve_columns

    if forget and dry_run:
        raise InputError("both --forget and --dry-run are given", mend="keep one")
    options.refuse_time("calibrate takes each note at its own time")
    if options.uncalibrated:
        raise InputError("calibrate stands on no fit", "option --uncalibrated", "leave it out")
    store = NoteStore()
    notes = store.read()
    events = _events(options, others, notes)
    for event in events:
        options.check_series(event)
        files.check(event)
    now_at = time.time()
    if forget:
        was_there = FitStore().forget(events[0].box.name, events[0].paper.name, now_at)
        options.show(forgotten_answer(events[0], was_there))
        return
    with working("Fitting box and paper to the notes"):
        found = api.calibrate(events, notes, now_at=now_at, seed=options.seed)
        shown = None
        if found.fit is not None:
            shown = details.promise_shown(events[0], found.fit, seed=options.seed)
        drawn = options.format == "json" or options.series or files.sheet or files.plot
        curves = details.plate_curves(found) if drawn else []
    stored = found.fit is not None and not dry_run
    read = f"{len(notes)} notes in {store.path}"
    answer = said.answer(found, options.units, shown=shown, curves=curves, stored=stored, read=read)

    figure = None
    if files.plot:  # refused before the fit is kept
        from drybox.reports.sheet.fit import fit_figure

        figure = fit_figure(answer, options.units)
    if stored and found.fit is not None:
        FitStore().keep(found.fit)
    deliver(
        files,
        answer,
        event=events[0],
        series=lambda: curve_columns(curves),
        picture=lambda _: figure,
    )


def _events(options: Options, others: Sequence[str], notes: Sequence[Note]) -> list[Event]:
    """Return the events; without a file or a date the first is on the day of the last note."""
    from drybox.inputs.event.event import load_event
    from drybox.inputs.text.dates import parse_zone, unix_to_local

    overrides = dict(options.overrides)
    if options.event is None and "event.date" not in overrides and notes:
        last = notes[-1]
        day = unix_to_local(last.at_s, parse_zone(last.timezone)).date()
        overrides["event.date"] = day.isoformat()
    first = load_event(options.event, overrides)
    loaded = [first]
    for other in others:
        if "://" in other:
            raise InputError(f"{other} is a web address", "option --with", "save the file")
        loaded.append(load_event(Path(other)))
        for part in ("box", "paper"):
            own, theirs = (getattr(event, part).name for event in (first, loaded[-1]))
            if theirs not in (own, "default"):
                raise InputError(
                    f"{other} is about {part} '{theirs}', not '{own}'",
                    "option --with",
                    "give an event with the same box and paper",
                )
    return [dataclasses.replace(event, box=first.box, paper=first.paper) for event in loaded]
