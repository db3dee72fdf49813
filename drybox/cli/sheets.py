"""Files that a day's answer can be written to: sheet, calendar, table and picture.

::

    @click.command()
    @event_options()
    @file_options("sheet", "plot")
    def command(options: Options, files: Files) -> None:
        event = options.load()
        files.check(event)
        ...
        deliver(files, answer, event=event, beside=lambda: day_answers(event, options))
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drybox.cli.option_types import FILE
from drybox.cli.options import Options, path_of, with_options
from drybox.errors import InputError, NoAnswerError

if TYPE_CHECKING:
    from pathlib import Path

    from drybox.inputs.event.event import Event
    from drybox.planning.day.plan import DayPlan
    from drybox.reports.text.answer import Answer

_OPTIONS = {
    "sheet": ("FILE.html", "Also write the day's sheet, to print or carry.", (".html", ".htm")),
    "calendar": ("FILE.ics", "Also write the day's moments, with alarms.", (".ics",)),
    "table": ("FILE.csv", "Also write the first table, for a spreadsheet.", (".csv",)),
    "plot": ("FILE.png|svg", "Also draw the answer.", (".png", ".svg")),
}
"""Option → how its value is shown, its help, and the endings of such a file."""


@dataclass(frozen=True)
class Files:
    """Where to write what, of a command's shared options; None where it was not asked for."""

    options: Options
    sheet: Path | None = None
    calendar: Path | None = None
    table: Path | None = None
    plot: Path | None = None

    def check(self, event: Event | None = None) -> None:
        """Refuse a file that could not be written, before the work.

        Refused is a name with another ending than what is written to it, one given twice, a file
        that is there without ``--force``, and one that cannot be made.
        """
        from drybox.reports.files.write import check_file

        series, force = self.options.series, self.options.force
        seen = {series.resolve()} if series is not None else set()
        for name, (_, _, endings) in _OPTIONS.items():
            path = getattr(self, name)
            if path is None:
                continue
            if path.suffix.lower() not in endings:
                told = " or ".join(endings)
                raise InputError(f"{path} does not end in {told}", f"option --{name}")
            check_file(path, force=force, never=event.files if event else ())
            if path.resolve() in seen:
                raise InputError(f"{path} is named twice", f"option --{name}", "keep them apart")
            seen.add(path.resolve())

    def write(self, event: Event | None, answers: Sequence[Answer], picture: Any = None) -> None:
        """Write what was asked for.

        The command's own answer is the first of ``answers``; the event's files are never replaced.
        """
        from drybox.reports.files.write import write_file

        units, read = self.options.units, event.files if event else ()
        keep: dict[str, Any] = {"force": self.options.force, "never": read}
        title = event.name if event is not None and event.path is not None else ""
        if self.sheet is not None:
            from drybox.reports.sheet.page import render_sheet

            page = render_sheet(answers, units=units, title=title)
            write_file(self.sheet, page, **keep)
        if self.calendar is not None:
            from drybox.reports.files.calendar_file import render_calendar

            days = render_calendar(answers, title=title, units=units)
            write_file(self.calendar, days, **keep)
        if self.table is not None:
            from drybox.reports.files.csv_table import render_csv

            write_file(self.table, render_csv(answers[0]), **keep)
        if self.plot is not None and picture is not None:
            from drybox.reports.pictures.plots import plot_content

            write_file(self.plot, plot_content(picture, self.plot.suffix), **keep)


def file_options(*names: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command options that name files, gathered as `Files`, below `event_options`."""

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def command(options: Options, **given: Any) -> Any:
            named = {name: path_of(given.pop(name)) for name in names}
            return function(options, files=Files(options, **named), **given)

        options = {
            f"--{name}": {"type": FILE, "metavar": metavar, "help": said}
            for name, (metavar, said, _) in _OPTIONS.items()
            if name in names
        }
        return with_options(command, options)

    return decorate


def day_answers(
    event: Event, options: Options, *, hold_k: float | None = None, without: Sequence[str] = ()
) -> list[Answer]:
    """Return setting out, aims and lookups of the event's day, for the sheet.

    There are none where no daylight reaches the plate. ``without`` names commands whose answer is
    there already.
    """
    from drybox import api, details, said
    from drybox.cli.progress import working
    from drybox.reports.answers.lookups import lookups_answer

    try:
        with working("Working out the day's sheet", details.SHEET_STEPS) as tick:
            day = details.sheet_day(
                event, event.opens_at, hold_k=hold_k, seed=options.seed, tick=tick
            )
    except NoAnswerError:
        return []
    asked = said.Asked(event, api.SET_OUT_MEMBERS, options.seed)
    turns = event.box.aim_mode in ("turns", "track")
    found = [
        said.answer(said.with_question(day.set_out, asked), options.units),
        said.answer(said.with_question(day.aim, asked), options.units, turns=turns),
        lookups_answer(event, day.lay_on, day.thermometer, day=day.aim.day),
    ]
    return [answer for answer in found if answer.command not in without]


def day_picture(answers: Sequence[Answer], options: Options) -> Any:
    """Draw the day of some answers."""
    from drybox.reports.sheet.page import day_picture as drawn

    return drawn({found.command: found for found in answers}, options.units)


def deliver(
    files: Files,
    answer: Answer,
    *,
    event: Event | None = None,
    shown: Answer | None = None,
    series: Callable[[], tuple[Any, Mapping[str, Any]]] | None = None,
    beside: Callable[[], Sequence[Answer]] | None = None,
    picture: Callable[[Sequence[Answer]], Any] | None = None,
    picture_of_all: bool = False,
) -> None:
    """Write the files asked for, then the answer to standard output.

    ``shown`` is printed, where that is another than goes into the files; ``series``, ``beside`` and
    ``picture`` make what ``--series``, sheet and calendar, and ``--plot`` hold besides.
    """
    options = files.options
    if options.series is not None and series is not None and event is not None:
        options.write_series(*series(), event.place.timezone)
    answers = [answer]
    wanted = files.sheet or files.calendar or (files.plot and picture_of_all)
    if beside is not None and wanted:
        answers += beside()
    files.write(event, answers, picture(answers) if picture is not None and files.plot else None)
    options.show(answer if shown is None else shown)


def wet_side_answers(plan: DayPlan, options: Options) -> list[Answer]:
    """Return the baths and the wash that a day's plan counts on, for its sheet."""
    from drybox.reports.answers.baths import baths_answer
    from drybox.reports.answers.wash import wash_answer
    from drybox.reports.text.answer import place_of

    place = plan.event.place
    said: dict[str, Any] = {"place": place_of(place), "timezone": place.timezone}
    said |= {"inputs": [], "units": options.units}
    return [
        baths_answer(plan.inputs.process, plan.baths, **said),
        wash_answer(plan.inputs.wash, plan.wash, **said),
    ]
