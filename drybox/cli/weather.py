"""``drybox weather``: look into a weather file, convert it, or fetch one."""

from __future__ import annotations

import datetime
import time
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from drybox.cli.option_types import FILE, Number
from drybox.cli.options import (
    EVENT_OPTIONS,
    Options,
    answer_options,
    debug_option,
    force_option,
    gathered,
    with_options,
)
from drybox.errors import InputError, StoreError

if TYPE_CHECKING:
    from drybox.inputs.event.place import Place
    from drybox.inputs.weather.look import WeatherFile

ANY_DATE = "2027-06-21"
ZONE = click.option("--timezone", metavar="ZONE", help="Of the place, like Europe/Vienna.")


def _place_options(function: Any) -> Any:
    told = ("--latitude", "--longitude", "--elevation")
    return with_options(function, {flag: EVENT_OPTIONS[flag] for flag in told})


@click.group(
    epilog="""\b
Examples:
  drybox weather show forecast.csv --latitude 46.95 --longitude 13.4
  drybox weather convert tmy.epw year.csv
  drybox weather fetch forecast.csv --forecast --event fair.toml --contact me@example.org
  drybox weather fetch year.csv --typical --latitude 46.95 --longitude 13.4
"""
)
def command() -> None:
    """Look into, convert or fetch a weather file."""


@command.command(short_help="What a file holds, a day of it drawn, what is doubtful.")
@click.argument("file", type=FILE, metavar="FILE")
@_place_options
@ZONE
@click.option("--date", metavar="YYYY-MM-DD", help="Day to draw.")
@answer_options
def show(options: Options, file: str) -> None:
    """Say what FILE holds, how it was understood, and what is doubtful; draw a day of it."""
    from drybox.inputs.text.dates import parse_date
    from drybox.reports.answers.weather import weather_answer
    from drybox.reports.text.answer import place_of

    said = options.overrides
    date, zone = said.get("event.date"), said.get("place.timezone")
    day = parse_date(date, "option --date") if date else None
    place = _place(None, said) if "place.latitude" in said else None
    found = _read(file, place.timezone if place else zone, day)
    if place is None and found.year is not None:
        year = found.year
        station = {
            "place.latitude": year.latitude_deg,
            "place.longitude": year.longitude_deg,
            "place.elevation": f"{max(-430.0, year.elevation_m)!r} m",
            "place.timezone": found.timezone,
            "place.name": year.name,
        }
        place = _place(None, station)
    hours = None
    if place is not None:
        from drybox.details import weather_hours

        hours = weather_hours(found, place)
    told = place_of(place) if place is not None else {"name": "not told"}
    options.show(weather_answer(found, hours, told, units=options.units))


def _read(file: str, timezone: object, day: datetime.date | None = None) -> WeatherFile:
    from drybox.inputs.text.dates import parse_zone
    from drybox.inputs.weather.look import read_weather_file

    zone = parse_zone(str(timezone), "option --timezone").key if timezone else None
    return read_weather_file(file, zone, day)


def _place(event: Path | None, said: Mapping[str, object]) -> Place:
    """Return the place of an event file with options over it; its weather is not looked at."""
    from drybox.inputs.event.place import read_place
    from drybox.inputs.text.dates import parse_date
    from drybox.inputs.text.settings import Settings

    return read_place(Settings.read(event, said), parse_date(ANY_DATE, "date"))


@command.command(short_help="Write a file as plain CSV.")
@click.argument("file", type=FILE, metavar="FILE")
@click.argument("out", type=FILE, metavar="OUT.csv")
@ZONE
@force_option
@debug_option
def convert(file: str, out: str, timezone: str | None, *, force: bool) -> None:
    """Write FILE as drybox's own plain CSV: units in the headings, one row an hour or instant."""
    from drybox.cli import write_stdout
    from drybox.inputs.weather.look import needs_zone
    from drybox.inputs.years.plain_csv import plain_forecast, plain_year
    from drybox.reports.files.write import check_file, write_file

    target = _csv(out)
    check_file(target, force=force, never=[Path(file)])
    found = _read(file, timezone)
    needs_zone(found)
    if found.year is not None:
        text = plain_year(found.year, f"{found.kind} file {found.name}")
    else:
        text = plain_forecast(found.weather, found.timezone, f"from {found.name}")
    write_file(target, text, force=force, never=[Path(file)])
    rows = text.count("\n") - text.count("\n#") - 2
    what = "hours of a typical year" if found.year else "rows of a forecast"
    write_stdout(f"Wrote {rows} {what} into {target}.\n")
    for doubt in found.weather.doubts:
        click.echo(f"drybox: {doubt}", err=True)


def _csv(out: str) -> Path:
    target = Path(out)
    if target.suffix.lower() != ".csv":
        raise InputError(f"{out} does not end in .csv", "OUT.csv")
    return target


@command.command(short_help="Fetch a forecast or a typical year.")
@click.argument("out", type=FILE, metavar="OUT.csv")
@click.option("--forecast", "what", flag_value="forecast", help="The coming days.")
@click.option("--typical", "what", flag_value="typical", help="A typical year.")
@click.option("--event", metavar="EVENT.toml", help="Take the place from it.")
@_place_options
@ZONE
@click.option(
    "--contact",
    metavar="MAIL|SITE",
    envvar="DRYBOX_CONTACT",
    help="Who asks; the forecast service wants to know. Also DRYBOX_CONTACT.",
)
@click.option(
    "--horizon", type=FILE, metavar="FILE.toml", help="Also write the hills as obstacles."
)
@click.option("--cached", is_flag=True, help="Take the copy kept where the service fails.")
@click.option("--timeout", type=Number(0.1, 300), default=20, help="Seconds to wait, 20.")
@click.option("--url", metavar="ADDRESS", help="Of another server that speaks the same format.")
@force_option
@debug_option
@gathered
def fetch(options: Options, out: str, what: str | None, *, horizon: str | None, **how: Any) -> None:
    """Fetch a forecast or a typical year into OUT.csv; nothing else goes over the network.

    The forecast is the Norwegian Meteorological Institute's, for any place on Earth. The typical
    year is PVGIS's; with --horizon the hills are left out of it and written as obstacles.
    """
    from drybox.cli import write_stdout
    from drybox.inputs.forecast.web import Manners, check_contact
    from drybox.reports.files.write import check_file, write_file

    if what is None:
        raise InputError("what to fetch is not said", mend="add --forecast or --typical")
    if horizon and what == "forecast":
        raise InputError("a forecast has no horizon", "option --horizon", "use it with --typical")
    if how["url"] and not how["url"].startswith(("http://", "https://")):
        raise InputError(f"'{how['url']}' is no web address", "option --url")
    files = [_csv(out), *([Path(horizon)] if horizon else [])]
    for file in files:
        check_file(file, force=options.force, never=[options.event] if options.event else [])
    place = _place(options.event, options.overrides)
    contact = check_contact(how["contact"]) if what == "forecast" else how["contact"] or ""
    manners = Manners(contact, timeout_s=how["timeout"])
    texts = (
        _forecast(place, manners, how["url"], cached=how["cached"])
        if what == "forecast"
        else _typical(place, manners, how["url"], horizon=horizon is not None)
    )
    *contents, said = texts
    for file, content in zip(files, contents, strict=True):
        write_file(file, content, force=options.force)
    write_stdout(f"{said} Written into {' and '.join(str(file) for file in files)}.\n")


def _forecast(place: Place, manners: Any, url: str | None, *, cached: bool) -> tuple[str, ...]:
    """Return the forecast as CSV, and what to say."""
    from drybox.inputs.forecast.csv_file import parse_forecast
    from drybox.inputs.forecast.fetch import SOURCES, default_cache, fetch_forecast
    from drybox.inputs.years.plain_csv import plain_forecast

    source = SOURCES["locationforecast"](url)
    found = fetch_forecast(source, place, manners, cache=default_cache(), use_kept=cached)
    try:
        weather = parse_forecast(found.table, place.timezone, None)
    except InputError as error:
        raise StoreError(f"the service's answer is of no use: {error.what}") from None
    if weather.issued_at is None:  # no older than when it was fetched
        weather = replace(weather, issued_at=time.time() - found.age_s)
    text = plain_forecast(weather, place.timezone, f"Forecast, {source.credit}")
    for note in found.notes:
        click.echo(f"drybox: {note}", err=True)
    age = f", fetched {found.age_s / 60:.0f} min ago" if found.age_s else ""
    return text, f"Forecast of {weather.start_at.size} instants ({source.credit}{age})."


def _typical(place: Place, manners: Any, url: str | None, *, horizon: bool) -> tuple[str, ...]:
    """Return the year as CSV, the obstacles where asked for, and what to say."""
    from drybox.inputs.years.fetch import (
        CREDIT,
        PVGIS_URL,
        fetch_horizon,
        fetch_typical_year,
        obstacle_lines,
    )
    from drybox.inputs.years.plain_csv import plain_year

    address = url or PVGIS_URL
    address = address if address.endswith("/") else address + "/"
    year = fetch_typical_year(place, manners, with_horizon=not horizon, url=address)
    text = plain_year(year, CREDIT)
    if not horizon:
        return text, f"Typical year ({CREDIT})."
    hills = fetch_horizon(place, manners, address)
    remark = f"horizon of {place.latitude_deg:g}, {place.longitude_deg:g} ({CREDIT})"
    return text, obstacle_lines(hills, remark), f"Typical year without hills, and hills ({CREDIT})."
