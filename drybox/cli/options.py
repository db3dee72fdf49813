"""Options that the commands share, and how they become an event and an answer on the screen.

::

    @click.command()
    @event_options()
    def command(options: Options) -> None:
        event = options.load()
        ...
        options.show(answer)
"""

from __future__ import annotations

import dataclasses
import functools
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.option_types import FILE, Completed, Count, Oktas, Quantity
from drybox.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from drybox.inputs.event.event import Event
    from drybox.inputs.text.dates import Moment
    from drybox.reports.text.answer import Answer

DEFAULT_SEED = 1
FEWEST_MEMBERS = 20
SIZE_WITHOUT_TERMINAL = (80, 24)


@dataclass(frozen=True)
class Options:
    """What the shared options said."""

    event: Path | None = None
    overrides: Mapping[str, object] = field(default_factory=dict)
    at: str | None = None
    units: str = "metric"
    format: str = "text"
    seed: int = DEFAULT_SEED
    series: Path | None = None
    force: bool = False
    uncalibrated: bool = False
    why: bool = True

    def told(self, values: Mapping[str, object]) -> Options:
        """Return these options with a command's own laid over them, by key of an event file."""
        given = {key: value for key, value in values.items() if value is not None}
        return dataclasses.replace(self, overrides={**self.overrides, **given})

    def load(self, fitted: bool = True) -> Event:
        """Return the event of file and options, each value with where it came from.

        It stands on the fit kept for its box and paper, unless ``--uncalibrated`` was given or
        ``fitted`` is false, for what a fit does not touch.
        """
        from drybox.inputs.event.event import load_event

        event = load_event(self.event, self.overrides)
        self.check_series(event)
        if not fitted:
            return event
        from drybox.inputs.notes.fitted_event import with_kept_fit

        return with_kept_fit(event, calibrated=not self.uncalibrated)

    def check_series(self, event: Event) -> None:
        """Refuse a file for the time series that could not be written, before the work."""
        if self.series is None:
            return
        from drybox.reports.files.write import check_file

        if self.series.suffix.lower() != ".csv":
            raise InputError(f"{self.series} does not end in .csv", "option --series")
        check_file(self.series, force=self.force, never=event.files)

    def moment(self, event: Event) -> Moment | None:
        """Return the instant of ``--at`` on the event's day, or None without ``--at``."""
        return self.instant(event, self.at, "time", where="option --at")

    def instant(self, event: Event, text: str | None, name: str, *, where: str) -> Moment | None:
        """Return the instant of a clock time on the event's day, or None for None."""
        from drybox.inputs.text.dates import moment_on, parse_zone, unix_to_local

        if text is None:
            return None
        zone = parse_zone(event.place.timezone)
        found = moment_on(event.date, text, zone, name=name, where=where)
        if abs(unix_to_local(found.time_at, zone).date() - event.date).days > 1:
            what = f"{name} {text.strip()} is nowhere near the day of the event, {event.date}"
            raise InputError(what, where, "give the day with --date")
        return found

    def refuse_time(self, why: str) -> None:
        """Refuse ``--at`` where an answer is for no single time, with the reason."""
        if self.at is not None:
            raise InputError(why, "option --at", "leave it out")

    def refuse_series(self, what: str, mend: str = "leave it out") -> None:
        """Refuse ``--series`` where an answer has none."""
        if self.series is not None:
            raise InputError(f"{what} no time series", "option --series", mend)

    def moment_or_usual(self, event: Event, usual: str = "noon") -> tuple[Moment, str]:
        """Return the instant of ``--at``, or a usual one and the sentence that says which.

        Without ``--at`` it is now where the event is today, else noon or the opening.
        """
        import datetime

        from drybox.inputs.text.dates import Moment, local_to_unix, parse_zone

        given = self.moment(event)
        if given is not None:
            note = given.note
            return given, f"{note[0].upper()}{note[1:]}." if note else ""
        now_at = time.time()
        if event.day_start_at <= now_at < event.day_end_at:
            return Moment(now_at), "No time was given (--at), so it is for now."
        zone = parse_zone(event.place.timezone)
        noon = local_to_unix(event.date, datetime.time(12), zone)
        if usual == "noon" and event.opens_at <= noon.time_at <= event.closes_at:
            return noon, "No time was given (--at), so it is for noon."
        return Moment(event.opens_at), "No time was given (--at), so it is for the opening."

    def show(self, answer: Answer) -> None:
        """Write the answer to standard output in the format asked for."""
        from drybox.cli import write_stdout

        encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
        write_stdout(self.rendered(answer, encoding))

    def rendered(self, answer: Answer, encoding: str = "utf-8") -> str:
        """Return the answer in the format asked for."""
        if self.format == "json":
            from drybox.reports.files.json_record import render_json

            return render_json(answer, ascii_only=not encoding.lower().startswith("utf"))
        if self.format == "csv":
            from drybox.reports.files.csv_table import render_csv

            return render_csv(answer)
        import shutil

        from drybox.reports.text.terminal import render_text

        width = shutil.get_terminal_size(SIZE_WITHOUT_TERMINAL).columns
        context = click.get_current_context(silent=True)
        color = bool(context and context.color)
        return render_text(answer, self.units, width, color=color, encoding=encoding, why=self.why)

    def write_series(self, time_at: Any, columns: Mapping[str, Any], timezone: str) -> None:
        """Write the time series behind the answer, where ``--series`` named a file."""
        if self.series is None:
            return
        from drybox.reports.files.series_csv import render_series
        from drybox.reports.files.write import write_file

        write_file(self.series, render_series(time_at, columns, timezone), force=self.force)


def _sky_words() -> Iterable[str]:
    from drybox.inputs.weather.words import sky_words

    return sky_words()


EVENT_OPTIONS: dict[str, dict[str, Any]] = {
    "--latitude": {"metavar": "DEG", "help": 'Like 48.2, "48°12\'N", or a pair "48.2, 16.4".'},
    "--longitude": {"metavar": "DEG", "help": "East is positive."},
    "--elevation": {
        "type": Quantity("length", "-430 m", "9000 m", bare="m"),
        "metavar": "LENGTH",
        "help": "Of the ground above the sea, like 200 m or 650 ft.",
    },
    "--timezone": {"metavar": "ZONE", "help": "Like Europe/Vienna; else by the coordinates."},
    "--date": {"metavar": "YYYY-MM-DD", "help": "Day of the event; today when left out."},
    "--at": {"metavar": "HH:MM", "help": "Local clock time the question is about."},
    "--weather": {
        "type": FILE,
        "metavar": "FILE",
        "help": "Forecast (CSV) or typical year (EPW, TMY).",
    },
    "--sky": {
        "type": Completed(_sky_words),
        "metavar": "TEXT",
        "help": "Like sunny, hazy, thin cloud, partly cloudy, overcast, fog.",
    },
    "--cloud": {
        "type": Oktas(0, 8),
        "metavar": "OKTAS",
        "help": "Cloud cover in eighths, 0 to 8, like 3 or 3/8.",
    },
    "--air-temp": {"metavar": "TEMP", "help": "Of the air in the shade, like 24C or 75F."},
    "--humidity": {"metavar": "SHARE", "help": "Of the air, like 45 %."},
    "--rain": {"metavar": "RAIN", "help": "All day: a chance like 40 %, 0.5 mm/h, yes or no."},
    "--wind": {"metavar": "SPEED", "help": "At 10 m over open ground, like 3 m/s or 7 mph."},
}
_ANSWER_OPTIONS: dict[str, dict[str, Any]] = {
    "--units": {
        "type": click.Choice(["metric", "us"]),
        "default": "metric",
        "help": "Units of the text; JSON and CSV stay metric.",
    },
    "--format": {
        "type": click.Choice(["text", "json", "csv"]),
        "default": "text",
        "help": "How the answer is written; csv gives its first table.",
    },
}
_RUN_OPTIONS: dict[str, dict[str, Any]] = {
    "--why": {"is_flag": True, "help": "Also say all that the answer stands on, and every table."},
    "--seed": {
        "type": Count(),
        "default": DEFAULT_SEED,
        "show_default": True,
        "help": "Of the draws behind each range; the same seed gives the same answer.",
    },
    "--uncalibrated": {"is_flag": True, "help": "Leave out what the field notes taught."},
    "--series": {
        "type": FILE,
        "metavar": "FILE.csv",
        "help": "Also write the time series behind the answer.",
    },
    "--force": {"is_flag": True, "help": "Replace files that are there."},
}

Command = Callable[..., Any]

debug_option = click.option(
    "--debug", is_flag=True, expose_value=False, help="Show where a fault arose."
)
force_option = click.option("--force", is_flag=True, help="Replace a file that is there.")


def written(value: float | None, unit: str) -> str | None:
    """Return a quantity that an option gave in SI as a call takes it, with its unit."""
    return None if value is None else f"{value!r} {unit}"


def event_options(*, idle: Sequence[str] = ()) -> Callable[[Command], Command]:
    """Give a command the EVENT argument and every shared option, as one `Options`.

    Those that would do nothing there are kept out of its help; it refuses them with a reason.
    """

    def decorate(function: Command) -> Command:
        wrapped = debug_option(gathered(function))
        for flags in (_RUN_OPTIONS, _ANSWER_OPTIONS, EVENT_OPTIONS):
            shown = {flag: how | {"hidden": flag in idle} for flag, how in flags.items()}
            wrapped = with_options(wrapped, shown)
        return click.argument("event", type=FILE, required=False, metavar="[EVENT.toml]")(wrapped)

    return decorate


def answer_options(function: Command) -> Command:
    """Give a command without an event only ``--units``, ``--format`` and ``--debug``."""
    return with_options(debug_option(gathered(function)), _ANSWER_OPTIONS)


def members_option(usual: int, most: int = 2000) -> Callable[[Command], Command]:
    """Give a command ``--members``: how many draws stand behind its ranges; None is the usual."""
    return click.option(
        "--members",
        type=Count(FEWEST_MEMBERS, most),
        help=f"Draws behind each range, {FEWEST_MEMBERS} to {most}; {usual} when left out.",
    )


hold_below_option = click.option(
    "--hold-below",
    type=Quantity("temperature", "20 °C", "120 °C"),
    metavar="TEMP",
    help="Aim the plate off the sun to stay under this, like 55C.",
)
"""Give a command ``--hold-below``, in kelvin."""


def with_options(function: Command, flags: dict[str, dict[str, Any]]) -> Command:
    """Give a command options, each with its settings."""
    for flag, settings in reversed(flags.items()):
        function = click.option(flag, **settings)(function)
    return function


def gathered(function: Command) -> Command:
    """Give a command what its options said of the event as one `Options`, and the rest as is."""

    @functools.wraps(function)
    def command(**given: Any) -> Any:
        said = {
            name: given.pop(name)
            for name in ("at", "units", "format", "seed", "force", "uncalibrated", "why")
            if name in given
        }
        event, series = given.pop("event", None), given.pop("series", None)
        if event and "://" in event:
            raise InputError(f"{event} is a web address", "EVENT", "save the file and name it")
        options = Options(
            event=path_of(event), overrides=_overrides(given), series=path_of(series), **said
        )
        return function(options, **given)

    return command


def path_of(name: str | None) -> Path | None:
    """Return the file that an option named, or None."""
    if not name:
        return None
    from pathlib import Path  # not above: an error would wait for it

    return Path(name)


def _overrides(given: dict[str, Any]) -> dict[str, object]:
    """Take the event's options out of ``given``, under the keys of an event file."""
    latitude, longitude = given.pop("latitude", None), given.pop("longitude", None)
    if latitude is not None and longitude is None:
        latitude, longitude = _pair(latitude)
    elevation_m, cloud = given.pop("elevation", None), given.pop("cloud", None)
    weather, sky = given.pop("weather", None), given.pop("sky", None)
    if sky is not None and cloud is not None:
        raise InputError("both --sky and --cloud are given", mend="keep one")
    if weather and "://" not in weather:
        weather = str(path_of(weather).absolute())  # type: ignore[union-attr]
    said = {
        "place.latitude": latitude,
        "place.longitude": longitude,
        "place.elevation": None if elevation_m is None else f"{elevation_m!r} m",
        "place.timezone": given.pop("timezone", None),
        "event.date": given.pop("date", None),
        "weather.file": weather,
        "weather.sky": sky,
        "weather.cloud": None if cloud is None else f"{cloud!r} oktas",
        "weather.air_temp": given.pop("air_temp", None),
        "weather.humidity": given.pop("humidity", None),
        "weather.wind": given.pop("wind", None),
        "weather.rain": given.pop("rain", None),
    }
    return {key: value for key, value in said.items() if value is not None}


def _pair(text: str) -> tuple[str, str | None]:
    """Return latitude and longitude where one option holds both, pasted from a map."""
    from drybox.inputs.text.coordinates import parse_coordinates, parse_latitude

    try:
        parse_latitude(text)
    except InputError as not_one:
        try:
            pair = parse_coordinates(text, "option --latitude")
        except InputError as not_two:
            raise (not_one if "not a pair" in str(not_two) else not_two) from None
        return repr(pair[0]), repr(pair[1])
    return text, None
