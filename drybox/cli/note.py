"""``drybox note``: write down what was measured, list it, take it back, carry it elsewhere."""

from __future__ import annotations

import dataclasses
import datetime
import functools
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.option_types import FILE, Completed, way_names
from drybox.cli.options import Options, answer_options, debug_option, force_option
from drybox.errors import InputError, did_you_mean
from drybox.inputs.notes.note import KINDS, NAMES, Note

if TYPE_CHECKING:
    from drybox.inputs.notes.phrases import EventDay
    from drybox.inputs.notes.store import NoteStore
    from drybox.inputs.wet.process import Process

EPILOG = """\b
Examples:
  drybox note plate 46C --at 13:15
  drybox note sky "broken cloud" 24C 45% 3m/s
  drybox note promised 7 15:40
  drybox note laid 7 on the line
  drybox note fair.toml touch 7 13:40
  drybox note weighed squeegeed 6.4g --size 4x5in
  drybox note weighed 7 5.1g at 13:40
  drybox note list
"""
COMPUTER = "this computer"
ZONE = "The time zone {} is this computer's; --timezone sets another, and later notes keep it."
NO_WAY = "Taken to lie on the sun plate, since no --way says otherwise."
MOST_LISTED = 500
LATER = ("curl", "flat")
"""Kinds that are seen after the event's day."""


class NoteGroup(click.Group):
    """The kinds of note and what can be done with notes; an event file may stand first."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of a working day."""
        return list(self.commands)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Hand an event file on to the command behind it."""
        event = args[:1] if len(args) > 1 and args[0].lower().endswith(".toml") else []
        args = args[len(event) :]
        if [word.lower() for word in args[:3]] == ["air", "in", "box"]:
            args = ["air-in-box", *args[3:]]
        if event and args[0].lower() in ({*KINDS, "list"} - {"undo"}):
            args = [args[0], "--event", *event, *args[1:]]
        return super().parse_args(ctx, args)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which name is near."""
        if args[0].lower() in self.commands:
            args = [args[0].lower(), *args[1:]]
        if args[0] not in self.commands and not args[0].startswith("-"):
            from drybox.inputs.weather.words import sky_words

            mend = did_you_mean(args[0], self.commands, "see 'drybox note --help'")
            if args[0].lower() in ("weather", *sky_words()):
                mend = f"write it like: note {KINDS['sky'].form}"
            raise click.UsageError(f"'{args[0]}' is no kind of note; {mend}")
        return super().resolve_command(ctx, args)


@click.group(cls=NoteGroup, epilog=EPILOG, subcommand_metavar="[EVENT.toml] COMMAND [ARGS]...")
@debug_option
def command() -> None:
    """Write down what was measured, one short line each.

    Notes are kept in one file (`drybox note where`), with the time and its zone. None is ever
    changed or lost; `drybox note undo` takes one back. With EVENT.toml a note knows its day,
    place, box and paper. A plate reading counts at once in that day's answers; `drybox calibrate`
    learns from all of them. A print laid on lies on the sun plate unless said otherwise. To try
    them out, `drybox init DIR --practice` writes a fair that is over.
    """


@dataclass(frozen=True)
class About:
    """Names and zone that a note gets when it does not say them, and where they came from."""

    names: dict[str, str] = field(default_factory=dict)
    timezone: str = ""
    size: str = ""
    source: str = ""
    day: EventDay | None = None
    process: Process | None = None


def _note_options(kind: str) -> list[Callable[[Any], Any]]:
    options = [
        click.option("--at", "at_clock", metavar="HH:MM", help="When it was seen; else now."),
        click.option(
            "--date",
            "day",
            metavar="YYYY-MM-DD",
            help="Day of --at; else that of a past event's file, or today.",
        ),
        click.option("--timezone", "zone_name", metavar="ZONE", help="Like Europe/Vienna."),
        click.option("--event", "event_name", metavar="NAME", help="Which event; or its file."),
        *(
            click.option(f"--{name}", f"{name}_name", metavar="NAME", help=f"Which {name}.")
            for name in NAMES
            if name != "event"
        ),
        click.option("--remark", metavar="TEXT", help="Anything else."),
    ]
    if "way" in KINDS[kind].may:
        other = "on the sun plate" if kind == "laid" else "as it was laid on"
        said = f"How it is dried, like line; else {other}."
        options.append(click.option("--way", type=Completed(way_names), metavar="WAY", help=said))
    if "width_m" in KINDS[kind].may:
        options.append(click.option("--size", metavar="SIZE", help="Of one sheet, like 4x5in."))
    return options


def _write(kind: str, options: Options, words: tuple[str, ...], **told: Any) -> None:
    """Write one note down and say so."""
    from drybox.inputs.notes.odd import doubts_about
    from drybox.inputs.notes.phrases import clock_apart, each_ticket, parse_phrase, parse_when
    from drybox.inputs.notes.store import NoteStore
    from drybox.inputs.text.dates import parse_zone
    from drybox.reports.answers.notes import noted_answer

    for word in words:
        if word.startswith("--"):
            raise click.NoSuchOption(word, ctx=click.get_current_context())
    store = NoteStore()
    about = _about(told.pop("event_name"), process=kind == "tank")
    given = {name: told.pop(f"{name}_name", None) for name in NAMES}
    names = {name: given[name] or about.names.get(name, "") for name in NAMES}
    zone_name, zone_source = _zone(told.pop("zone_name"), about, store)
    zone = parse_zone(zone_name, zone_source)
    now_at = time.time()
    at_clock = told.pop("at_clock") or ""
    spoken, at = clock_apart(words, at_clock, promise=kind in ("promised", "promise"))
    day = None if kind in LATER else about.day
    moment = parse_when(at, told.pop("day") or "", zone, now_at=now_at, event=day)
    if kind == "weighed" and not told.get("size"):
        told["size"] = about.size
    said = {name: text for name, text in told.items() if text}
    parsed = [
        parse_phrase([kind, *one], at_s=moment.time_at, timezone=zone.key, **names, **said)
        for one in each_ticket(kind, spoken)
    ]
    if about.process is not None:
        from drybox.inputs.wet.process import find_bath

        tanks = about.process
        parsed = [dataclasses.replace(n, bath=find_bath(tanks, n.bath).name) for n in parsed]
    ids = [note.id for note in store.add(parsed, now_at).notes]
    assumptions = [f"{moment.note[0].upper()}{moment.note[1:]}."] if moment.note else []
    assumptions += [ZONE.format(zone.key)] if zone_source == COMPUTER else []
    assumptions += [NO_WAY] if kind == "laid" and not parsed[0].way else []
    standing = store.read()
    notes = [note for note in standing if note.id in ids]
    rows = [("timezone", zone.key, zone_source)]
    for name in NAMES:
        if names[name]:
            source = f"option --{name}" if given[name] else about.source
            rows.append((name, getattr(notes[0], name), source))
    options.show(
        noted_answer(
            notes,
            [{"key": key, "value": value, "unit": "", "source": by} for key, value, by in rows],
            path=store.path,
            assumptions=assumptions,
            warnings=[doubt for note in notes for doubt in doubts_about(note, standing)],
            units=options.units,
        )
    )


def _about(event: str | None, process: bool = False) -> About:
    """Return what an event file says, with its process if asked for, or the event's name alone."""
    if not event:
        return About()
    if not event.lower().endswith(".toml"):
        return About({"event": event}, source="option --event")
    from drybox.inputs.event.box import read_box
    from drybox.inputs.event.event import TABLES
    from drybox.inputs.event.paper import read_paper
    from drybox.inputs.event.place import read_place
    from drybox.inputs.notes.phrases import EventDay
    from drybox.inputs.text.dates import parse_clock, parse_date
    from drybox.inputs.text.settings import Settings

    settings = Settings.read(Path(event), {})
    settings.check_tables(TABLES)
    section = settings.section("event")
    told, closes = section.raw("date"), section.raw("closes")
    date = parse_date(told, section.where("date")) if told else datetime.date.today()
    place = read_place(settings, date)
    paper = read_paper(settings)
    names = {"event": section.text("name", ""), "place": place.name, "paper": paper.name}
    names["box"] = read_box(settings).name
    size = f"{paper.width_m!r} m x {paper.height_m!r} m"
    tanks = None
    if process:
        from drybox.inputs.wet.process import read_process

        tanks = read_process(settings)
    return About(
        names=names,
        timezone=place.timezone,
        size=size,
        source=f"file {Path(event).name}",
        day=EventDay(date, closes and parse_clock(closes, "closes", section.where("closes"))),
        process=tanks,
    )


def _zone(option: str | None, about: About, store: NoteStore) -> tuple[str, str]:
    """Return the time zone to write in, and where it came from."""
    if option:
        return option, "option --timezone"
    if about.timezone:
        return about.timezone, about.source
    if store.exists():
        notes = store.read(everything=True)
        if notes:
            return notes[-1].timezone, "the last note"
    name = _system_zone()
    if not name:
        raise InputError("the time zone is not known", "", "add --timezone, like Europe/Vienna")
    return name, COMPUTER


def _system_zone() -> str:
    """Return the computer's time zone by name, empty where it does not tell."""
    from drybox.inputs.text.dates import parse_zone

    named = os.environ.get("TZ", "").removeprefix(":")
    _, _, linked = os.path.realpath("/etc/localtime").partition("zoneinfo/")
    try:
        return parse_zone(named or linked.removeprefix("posix/")).key
    except InputError:
        return ""


def _kind_command(kind: str) -> click.Command:
    from drybox.reports.answers.notes import kind_help

    function: Callable[..., Any] = functools.partial(_write, kind)
    functools.update_wrapper(function, _write)
    function = answer_options(function)
    for option in reversed(_note_options(kind)):
        function = option(function)
    function = click.argument("words", nargs=-1, metavar="WHAT...")(function)
    return click.command(
        name=kind, help=kind_help(kind), context_settings={"ignore_unknown_options": True}
    )(function)


for _kind in KINDS:
    if _kind != "undo":
        command.add_command(_kind_command(_kind))


@command.command("list")
@click.option("--all", "everything", is_flag=True, help="Also what was taken back.")
@click.option("--kind", type=click.Choice(list(KINDS)), help="Only this kind.")
@click.option("--event", "event_name", metavar="NAME", help="Only this event; or an event file.")
@click.option("--box", "box_name", metavar="NAME", help="Only this box.")
@answer_options
def list_notes(
    options: Options,
    everything: bool,
    kind: str | None,
    *,
    event_name: str | None,
    box_name: str | None,
) -> None:
    """List the notes in the order written."""
    from drybox.inputs.notes.store import NoteStore, standing
    from drybox.reports.answers.notes import list_answer

    names = {"event": _about(event_name).names.get("event"), "box": box_name}
    store = NoteStore()
    rows = store.read(everything=True)
    notes = rows if everything else store.read()
    undone = sum(row.kind != "undo" for row in rows) - len(standing(rows))
    for kind_of_name, name in names.items():
        _check_known(kind_of_name, name, notes)
    wanted = {of: value for of, value in {"kind": kind, **names}.items() if value}
    chosen = [n for n in notes if all(getattr(n, of) == value for of, value in wanted.items())]
    hidden = 0 if everything else undone
    most = MOST_LISTED if options.format == "text" else None
    options.show(list_answer(chosen, hidden, store.path, units=options.units, most=most))


def _check_known(kind: str, name: str | None, notes: Sequence[Note]) -> None:
    """Refuse a name that no note has, where another is nearly the same."""
    from drybox.inputs.text.near_names import near_name

    near = near_name(name or "", [getattr(note, kind) for note in notes])
    if near:
        where, mend = f"option --{kind}", f"did you mean '{near}'?"
        raise InputError(f"no note is of the {kind} '{name}'", where, mend)


@command.command("undo")
@click.argument("note_id", required=False, default="", metavar="[ID]")
@answer_options
def undo(options: Options, note_id: str) -> None:
    """Take back the last note, or the one with this id; nothing is deleted."""
    from drybox.inputs.notes.store import NoteStore
    from drybox.reports.answers.notes import undone_answer

    store = NoteStore()
    note, row = store.undo(note_id)
    options.show(undone_answer(note, row, store.path, units=options.units))


@command.command("import")
@click.argument("file", type=FILE, metavar="FILE.csv")
@answer_options
def import_notes(options: Options, file: str) -> None:
    """Add the notes of a CSV file, all or none; those there already are passed over."""
    from drybox.inputs.notes.csv_file import read_notes_csv
    from drybox.inputs.notes.store import NoteStore
    from drybox.reports.answers.notes import imported_answer

    store = NoteStore()
    added = store.add(read_notes_csv(Path(file), time.time()))
    options.show(imported_answer(added.notes, added.known, Path(file).name, path=store.path))


@command.command("export")
@click.argument("file", type=FILE, required=False, default="-", metavar="[FILE.csv]")
@force_option
@debug_option
def export_notes(file: str, force: bool) -> None:
    """Write every note as CSV, also those taken back; to standard output without FILE."""
    from drybox.cli import write_stdout
    from drybox.inputs.notes.csv_file import notes_to_csv
    from drybox.inputs.notes.store import NoteStore
    from drybox.reports.files.write import write_file

    notes = NoteStore().read(everything=True)
    text = notes_to_csv(notes)
    if file == "-":
        write_stdout(text)
        return
    write_file(file, text, force=force)
    click.echo(f"Wrote {len(notes)} rows to {file}.", err=True)


@command.command("where")
@debug_option
def where() -> None:
    """Print the path of the file the notes are kept in."""
    from drybox.cli import write_stdout
    from drybox.inputs.notes.store import NoteStore

    write_stdout(f"{NoteStore().path}\n")
