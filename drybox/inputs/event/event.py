"""Everything one day's question needs, with where each value came from."""

from __future__ import annotations

import datetime
import os
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from drybox.errors import DryboxError
from drybox.inputs.event.box import Box, PoweredDrier, read_box, read_powered
from drybox.inputs.event.day import DAY_KEYS
from drybox.inputs.event.limits import Limits, read_limits
from drybox.inputs.event.paper import Paper, read_paper
from drybox.inputs.event.place import Place, has_position, read_place
from drybox.inputs.event.spots import place_of_box
from drybox.inputs.event.ways import WAY, parse_way
from drybox.inputs.text.dates import clock_text, day_bounds_s, moment_on, parse_date, unix_to_local
from drybox.inputs.text.settings import Resolved, RowSource, Section, Settings
from drybox.inputs.weather.wind import plate_wind_frac
from drybox.readable import Figure, MetricText, Readable
from drybox.units import KELVIN_AT_0_C, celsius

if TYPE_CHECKING:
    from drybox.inputs.finish.curls import NotedCurl
    from drybox.inputs.notes.fits import KeptFit
    from drybox.inputs.notes.note import Note
    from drybox.inputs.weather.weather import Weather
    from drybox.inputs.years.typical import TypicalYear

__all__ = ["Event", "Resolved", "load_event"]

TABLES = (
    *("place", "box", "paper", "process", "event", "weather", "powered", "drying"),
    "finishing",
)
EVENT_KEYS = ("name", "date", "opens", "closes", "set_out", "ways", *DAY_KEYS)
DEFAULT_HOURS = {"opens": "10:00", "closes": "18:00"}
DRIES_ON_S = 4 * 3600.0
"""How long after the closing times are still told (judgement). [s]"""
USUAL_KEYS = {
    "air_temp_k": ("air_temp", "K"),
    "humidity_frac": ("humidity", "frac"),
    "wind_10m_m_s": ("wind", "m/s"),
}
USUAL_SOURCE = "usual for this place in this month (judgement)"
PUBLISHED = "published"


@dataclass(frozen=True, eq=False, repr=False)
class Event(Readable):
    """One day at one place with one box and one paper.

    ``day_start_at`` and ``day_end_at`` are local midnight and the next [s since the Unix epoch];
    ``opens_at`` and ``closes_at`` are the fair's hours; ``set_out_at`` is when the box is set out,
    None where it was not told; ``curled`` are the lifts noted of its paper. ``ways`` are some of
    `WAYS`, or None where all are to be looked at. ``tables`` is the event file with the options
    laid over it; further tables are read from a fresh `reread`. ``fit`` is what the field notes
    taught of box and paper, where `drybox.inputs.notes.fitted_event.use_fit` put it in; ``seen``
    are the readings noted of its plate, or of the air under its cover, on that day, in order of
    time; ``noted`` is what was noted that day of sitters, prints and sun.
    """

    name: str
    place: Place
    box: Box
    paper: Paper
    weather: Weather
    powered: PoweredDrier | None
    limits: Limits
    date: datetime.date
    day_start_at: float
    day_end_at: float
    opens_at: float
    closes_at: float
    set_out_at: float | None
    ways: tuple[str, ...] | None
    path: Path | None
    resolved: tuple[Resolved, ...]
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]
    settings: Settings = field(repr=False, compare=False)
    curled: tuple[NotedCurl, ...] = field(default=(), repr=False, compare=False)
    fit: KeptFit | None = field(default=None, repr=False, compare=False)
    seen: tuple[Note, ...] = field(default=(), repr=False, compare=False)
    noted: tuple[Note, ...] = field(default=(), repr=False, compare=False)

    @property
    def tables(self) -> dict[str, Any]:
        """The tables of the event file with the options laid over them."""
        return self.settings.tables

    @property
    def files(self) -> tuple[Path, ...]:
        """The files it was read from: the event's own, its weather's and its sitters'."""
        own = () if self.path is None else (self.path,)
        weather = self.tables.get("weather", {})
        sitters = self.tables.get("event", {}).get("sitters")
        named = (*(weather.get(key) for key in ("file", "forecast")), sitters)
        folder = _folder(self.settings)
        return (*own, *(folder / os.path.expanduser(name) for name in named if name))

    @property
    def aimed_from_s(self) -> float:
        """When the first aim of the day begins: the opening, or the setting out told later."""
        return self.opens_at if self.set_out_at is None else max(self.opens_at, self.set_out_at)

    def reread(self) -> Settings:
        """Return settings with nothing recorded yet, to read another table of the event."""
        settings = Settings(self.settings.file, self.settings.options)
        settings.air_temp_k = self.weather.mean_air_temp_k(self.opens_at, self.closes_at)
        return settings


def load_event(
    path: str | Path | None = None, overrides: Mapping[str, object] | None = None
) -> Event:
    """Return the event of a file with options laid over it.

    Everything is checked, in SI, each value recorded with its source. Options come by dotted key;
    None values are left out.

    >>> place = {"place.latitude": 47.2, "place.longitude": 12.3}
    >>> event = load_event(None, place | {"event.date": "2027-06-12"})
    >>> event.place.timezone, event.box.plate_thickness_m, event.paper.stock
    ('Europe/Vienna', 0.003, 'fibre double weight')
    """
    settings = Settings.read(Path(path) if path is not None else None, overrides or {})
    settings.check_tables(TABLES)
    return _read_event(settings)


def _read_event(settings: Settings) -> Event:
    section = settings.section("event")
    told = _read_date(section)
    date = told or _today(ZoneInfo("UTC"))
    name = section.text("name", "unnamed event")
    station = None if has_position(settings) else _read_station(settings)
    place = place_of_box(settings, read_place(settings, date, station))
    zone = ZoneInfo(place.timezone)
    if told is None:
        date = _today(zone)
        section.record("date", date.isoformat(), "", source="today")
        settings.assume(f"No date was given, so it is for today, {date}.")
    day_start_at, day_end_at = day_bounds_s(date, zone, section.where("date"))
    opens_at, closes_at = _read_hours(section, date, zone)
    set_out_at = _read_set_out(section, date, zone, closes_at=closes_at)
    box = read_box(settings)
    process = settings.section("process").table.get("name")
    paper = read_paper(settings, bleached="bleach" in str(process))
    _compare_sizes(settings, box, paper)
    powered = read_powered(settings)
    ways = _read_ways(section, powered, coated=paper.resin_coated)
    limits = read_limits(settings, hardening=paper.hardening, resin_coated=paper.resin_coated)
    weather = _read_weather(settings, place, box, day_start_at=day_start_at)
    _say_set_back(settings, opens_at, closes_at, zone=zone)
    _say_span(settings, weather, opens_at, closes_at=closes_at, zone=zone)
    _say_frost(settings, weather.mean_air_temp_k(opens_at, closes_at))
    _say_unsourced(settings)
    return Event(
        name=name,
        place=place,
        box=box,
        paper=paper,
        weather=weather,
        powered=powered,
        limits=limits,
        date=date,
        day_start_at=day_start_at,
        day_end_at=day_end_at,
        opens_at=opens_at,
        closes_at=closes_at,
        set_out_at=set_out_at,
        ways=ways,
        path=settings.file.path if settings.file else None,
        resolved=tuple(settings.resolved),
        assumptions=tuple(settings.assumptions),
        warnings=tuple(settings.warnings),
        settings=settings,
    )


def _read_date(section: Section) -> datetime.date | None:
    """Return the date told, or None where it is for today."""
    section.only(*EVENT_KEYS)
    given = section.raw("date")
    if given is None:
        return None
    date = parse_date(given, section.where("date"))
    section.record("date", date.isoformat())
    return date


def _today(zone: ZoneInfo) -> datetime.date:
    return datetime.datetime.fromtimestamp(time.time(), zone).date()


def _read_hours(section: Section, date: datetime.date, zone: ZoneInfo) -> tuple[float, float]:
    """Return the opening and closing time [s since the Unix epoch]."""
    moments: list[float] = []
    for key, default in DEFAULT_HOURS.items():
        given = section.raw(key)
        said = default if given is None else given
        moment = moment_on(date, said, zone, name=key, where=section.where(key))
        moments.append(moment.time_at)
        local = unix_to_local(moment.time_at, zone)
        section.record(key, local.isoformat(), "", source="" if given is not None else "default")
        if moment.note:
            section.settings.assume(f"{moment.note[0].upper()}{moment.note[1:]}.")
        if abs((local.date() - date).days) > 1:
            raise section.error(key, f"{key} {given} is not on {date} or the day beside it")
    missing = [f"{key} at {hour}" for key, hour in DEFAULT_HOURS.items() if key not in section]
    if missing:
        section.settings.assume(f"Hours not given: the event {' and '.join(missing)}.")
    if moments[1] <= moments[0]:
        key = "closes" if "closes" in section else "opens"
        next_day = date + datetime.timedelta(days=1)
        mend = f'if it closes after midnight, write closes = "{next_day} 01:30"'
        raise section.error(key, "the event closes before it opens", mend)
    return moments[0], moments[1]


def _read_set_out(
    section: Section, date: datetime.date, zone: ZoneInfo, *, closes_at: float
) -> float | None:
    """Return when the box is set out [s since the Unix epoch], or None where it was not told."""
    given = section.raw("set_out")
    if given is None:
        section.record("set_out", None, "", source="default: half an hour before the opening")
        return None
    moment = moment_on(date, given, zone, name="set_out", where=section.where("set_out"))
    local = unix_to_local(moment.time_at, zone)
    if abs((local.date() - date).days) > 1 or moment.time_at >= closes_at:
        raise section.error("set_out", f"set_out {given} is not before the closing of {date}")
    section.record("set_out", local.isoformat())
    return moment.time_at


def _read_ways(
    section: Section, powered: PoweredDrier | None, *, coated: bool
) -> tuple[str, ...] | None:
    given = section.raw("ways")
    if given is None:
        section.record("ways", "all", "", source="default")
        return None
    if not isinstance(given, list) or not given:
        form = 'write it like ways = ["sun plate", "screen in the shade"]'
        what = "no way is named" if given == [] else f"ways {given!r} is not a list"
        raise section.error("ways", what, form)
    ways: list[str] = []
    for written in given:
        way = parse_way(str(written), section.where("ways"))
        power = WAY[way].power
        if power and not getattr(powered, f"{power}_w", 0.0):
            mend = f'give {power} = "150 W" in [powered]'
            raise section.error("ways", f"way '{written}' needs power", mend)
        if way not in ways:
            ways.append(way)
    if coated and ways == ["blotters"]:
        what = "no way is left for resin-coated paper: it sticks in a blotter book"
        raise section.error("ways", what, 'add one, like "line in the shade"')
    section.record("ways", ", ".join(ways))
    return tuple(ways)


def _compare_sizes(settings: Settings, box: Box, paper: Paper) -> None:
    short, long = sorted((paper.width_m, paper.height_m))
    plate_short, plate_long = sorted((box.plate_width_m, box.plate_height_m))
    if short > plate_short or long > plate_long:
        settings.warnings.append("The print is larger than the plate and cannot lie on it whole.")


def _folder(settings: Settings) -> Path:
    """Return the folder that file names in the event are relative to."""
    return settings.file.path.parent if settings.file else Path()


@contextmanager
def _weather_errors_placed(section: Section) -> Iterator[None]:
    """Place an error of the weather at the event file's line, or at the option."""
    try:
        yield
    except DryboxError as error:
        table, _, key = error.where.partition(".")
        if table != "weather" or key not in section:
            raise
        raise type(error)(error.what, section.where(key), error.mend) from None


def _read_station(settings: Settings) -> TypicalYear | None:
    """Return the typical year named as weather, whose place stands in for one not given."""
    from drybox.inputs.weather.event_weather import weather_site

    section = settings.section("weather")
    with _weather_errors_placed(section):
        return weather_site(section.table, _folder(settings))


def _read_weather(settings: Settings, place: Place, box: Box, *, day_start_at: float) -> Weather:
    """Return the weather; a wind felt at the plate as that which at 10 m brings it about."""
    from drybox.inputs.weather.event_weather import load_weather
    from drybox.inputs.weather.words import bare_number

    section = settings.section("weather")
    reaches = plate_wind_frac(box.wind_shelter_frac, place.roughness_length_m)
    with _weather_errors_placed(section):
        weather = load_weather(
            section.table,
            _folder(settings),
            place,
            day_start_at=day_start_at,
            plate_wind_frac=reaches,
        )
    told = float(weather.wind_10m_m_s[0])
    humidity = section.table.get("humidity")
    if bare_number(humidity) is not None:
        share = float(weather.humidity_frac[0])
        settings.assume(f"Humidity {humidity} has no unit and is taken as {100 * share:.3g} %.")
    if "wind_at_plate" in section:
        settings.assume(
            MetricText(
                "Wind ",
                Figure("wind_m_s", told * reaches, f"{told * reaches:.2g} m/s"),
                " is that felt at the plate: as with ",
                Figure("wind_m_s", told, f"{told:.2g} m/s"),
                " at 10 m over open country.",
            )
        )
    if "wind" in section:
        settings.assume(
            MetricText(
                "Wind ",
                Figure("wind_m_s", told, f"{told:.2g} m/s"),
                " is taken at 10 m; about ",
                Figure("wind_m_s", told * reaches, f"{told * reaches:.1f} m/s"),
                " reaches the plate. Felt it at the plate? Write wind_at_plate.",
            )
        )
    for key_given, value in section.table.items():
        section.record(key_given, value if isinstance(value, float | int) else str(value))
    for column in weather.usual:
        key, unit = USUAL_KEYS[column]
        section.record(key, round(float(getattr(weather, column)[0]), 3), unit, source=USUAL_SOURCE)
    for sentence in weather.assumptions:
        settings.assume(sentence)
    settings.warnings.extend(weather.doubts)
    return weather


def unsourced_figures(resolved: Sequence[Resolved]) -> list[Resolved]:
    """Return the values of box, paper and powered drier that rest on no published figure."""
    return [
        value
        for value in resolved
        if isinstance(value.source, RowSource)
        and value.source.status != PUBLISHED
        and value.key.startswith(("box.", "paper.", "powered."))
    ]


def _say_set_back(settings: Settings, opens_at: float, closes_at: float, *, zone: ZoneInfo) -> None:
    """Say how the second of two clock times is marked, where clocks are set back in the event."""
    until_at = closes_at + DRIES_ON_S
    before, after = (unix_to_local(at, zone) for at in (opens_at - 3600.0, until_at))
    if before.utcoffset() == after.utcoffset():  # a time comes again within the hour
        return
    minutes = range(int(opens_at), int(until_at), 60)
    again = next((local for at in minutes if (local := unix_to_local(at, zone)).fold), None)
    if again is not None:
        settings.warnings.append(
            f"Clocks are set back during the event: from {clock_text(again)} on, a time with a "
            "star is the second of that name."
        )


def _say_span(
    settings: Settings, weather: Weather, opens_at: float, *, closes_at: float, zone: ZoneInfo
) -> None:
    """Warn where a forecast starts after the opening or ends before the closing."""
    if weather.kind != "forecast":
        return
    first, last = float(weather.start_at[0]), float(weather.end_at[-1])
    starts = weather.start_at
    row_s = float((starts[1:] - starts[:-1]).min()) if starts.size > 1 else 3600.0

    def clock(at: float) -> str:
        return clock_text(unix_to_local(at, zone))

    if first > opens_at + row_s / 2:
        settings.warnings.append(
            f"The forecast begins at {clock(first)}, after the opening at {clock(opens_at)}: "
            "before it the weather is taken to be that of its first row."
        )
    if last < closes_at - row_s / 2:
        settings.warnings.append(
            f"The forecast ends at {clock(last)}, before the closing at {clock(closes_at)}: "
            "what is said of later holds only if the weather stays as in its last row."
        )


def _say_frost(settings: Settings, air_temp_k: float) -> None:
    """Warn of ice, which nothing here reckons with, where the air of the hours is below 0 °C."""
    if air_temp_k < KELVIN_AT_0_C:
        air_c = celsius(air_temp_k)
        settings.warnings.append(
            MetricText(
                "In air of ",
                Figure("temp_c", air_c, f"{air_c:z.0f} °C"),
                " baths, wash water and wet prints freeze, and no time here reckons with ice: keep "
                "tanks, water and prints in the warm.",
            )
        )


def unsourced_said(figures: Sequence[Resolved]) -> str:
    """Return how many figures rest on no published one, for answers that do not list them."""
    return (
        f"{len(figures)} figures of box and paper are from memory, common practice or judgement: "
        "'drybox check' lists them, and your own in the event file take their place."
    )


def _say_unsourced(settings: Settings) -> None:
    figures = unsourced_figures(settings.resolved)
    if figures:
        settings.assume(unsourced_said(figures), of_print=True)
