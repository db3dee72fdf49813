"""A tour of fairs: a table of names, places and dates, read from a CSV file."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from drybox.errors import InputError
from drybox.inputs.text.coordinates import parse_coordinates, parse_latitude, parse_longitude
from drybox.inputs.text.dates import parse_date
from drybox.inputs.text.file_text import read_rows

COLUMNS = (
    *("name", "event", "coordinates", "latitude", "longitude", "elevation", "timezone", "date"),
    "weather",
)
MOST_STOPS = 500
EXAMPLE = "its heading is like: name,event,date, or name;coordinates;date;weather"


@dataclass(frozen=True)
class Stop:
    """One fair: an event file or a position, a date, and what the row says beside it.

    ``overrides`` are laid over the event file, keyed as in an event.
    """

    name: str
    date: datetime.date | None
    event: Path | None
    overrides: dict[str, object]
    where: str


def read_tour(path: str | Path) -> tuple[Stop, ...]:
    """Return the stops of a tour in the order of the file.

    CSV with the columns ``name`` and ``date``, and ``event`` (a file beside it) or ``coordinates``
    or ``latitude`` and ``longitude``; also ``elevation``, ``timezone`` and ``weather`` (a file
    beside it). Split by commas or semicolons.
    """
    file = Path(path)
    rows = read_rows(file, COLUMNS, EXAMPLE)
    if not {"name"} < set(rows[0][1]) or not {"event", "coordinates", "latitude"} & set(rows[0][1]):
        raise InputError("a column is missing", file.name, EXAMPLE)
    stops = [_stop(row, where, file.parent) for where, row in rows]
    if len(stops) > MOST_STOPS:
        raise InputError(f"{len(stops)} fairs are more than {MOST_STOPS}", file.name)
    return tuple(stops)


def _stop(said: dict[str, str], where: str, folder: Path) -> Stop:
    date = parse_date(said["date"], f"date in {where}") if said.get("date") else None
    overrides: dict[str, object] = {}
    if said.get("coordinates"):
        pair = parse_coordinates(said["coordinates"], f"coordinates in {where}")
        overrides |= {"place.latitude": pair[0], "place.longitude": pair[1]}
    for name, parse in (("latitude", parse_latitude), ("longitude", parse_longitude)):
        if said.get(name):
            overrides[f"place.{name}"] = parse(said[name], f"{name} in {where}")
    for name in ("elevation", "timezone"):
        if said.get(name):
            overrides[f"place.{name}"] = said[name]
    if said.get("weather"):
        overrides["weather.file"] = _beside(said["weather"], folder)
    if date is not None:
        overrides["event.date"] = date.isoformat()
    if "://" in said.get("event", ""):
        raise InputError(f"{said['event']} is a web address", where, "save the file and name it")
    event = Path(_beside(said["event"], folder)) if said.get("event") else None
    if event is None and "place.latitude" not in overrides and "weather.file" not in overrides:
        raise InputError("the fair has neither an event file nor a position", where)
    if event is None and date is None:
        raise InputError("the fair has no date", where, "write it like 2027-06-12")
    return Stop(
        name=said["name"] or where, date=date, event=event, overrides=overrides, where=where
    )


def _beside(name: str, folder: Path) -> str:
    return name if "://" in name else str(folder / Path(name).expanduser())
