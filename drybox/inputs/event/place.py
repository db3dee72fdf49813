"""Where the box stands: position, clock, ground, wind exposure and what stands around it."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Protocol
from zoneinfo import ZoneInfo

from drybox.inputs.text.coordinates import (
    parse_bearing,
    parse_coordinates,
    parse_latitude,
    parse_longitude,
)
from drybox.inputs.text.dates import parse_zone
from drybox.inputs.text.ranges import check_ranges
from drybox.inputs.text.settings import Section, Settings

OBSTACLE_LIMITS = {
    "bearing_from_deg": (0.0, 360.0),
    "bearing_to_deg": (0.0, 360.0),
    "elevation_deg": (0.0, 90.0),
    "transmittance_frac": (0.0, 1.0),
}
PLACE_KEYS = (
    *("name", "coordinates", "latitude", "longitude", "elevation", "timezone", "ground"),
    *("ground_albedo", "terrain", "roughness_length", "obstacle", "spot"),
)
OBSTACLE_KEYS = ("name", "from", "to", "height", "distance", "elevation_angle", "lets_through")
DEFAULT_GROUND = "grass"
DEFAULT_TERRAIN = "field with bushes"
LARGEST_ZONE_MISFIT_H = 2.0
USUAL_ZONE_MISFIT_H = 1.0
STATION_SOURCE = "the weather file's station"
PLACE_LIMITS = {
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "elevation_m": (-430.0, 9000.0),
    "ground_albedo_frac": (0.0, 1.0),
    "roughness_length_m": (1e-5, 3.0),
}


@dataclass(frozen=True)
class Obstacle:
    """Something between the box and part of the sky.

    It fills the sky from the horizon up to ``elevation_deg`` between two bearings, clockwise
    from true north, that may wrap over 360. ``transmittance_frac`` is the share of light let
    through: 0 for a wall, more for a tree.
    """

    name: str
    bearing_from_deg: float
    bearing_to_deg: float
    elevation_deg: float
    transmittance_frac: float = 0.0

    def __post_init__(self) -> None:
        check_ranges(self, OBSTACLE_LIMITS)


@dataclass(frozen=True)
class Place:
    """Where the box stands."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    timezone: str
    ground_albedo_frac: float
    roughness_length_m: float
    obstacles: tuple[Obstacle, ...] = ()

    def __post_init__(self) -> None:
        check_ranges(self, PLACE_LIMITS)


class Position(Protocol):
    """Anything that stands somewhere."""

    @property
    def latitude_deg(self) -> float: ...  # noqa: D102
    @property
    def longitude_deg(self) -> float: ...  # noqa: D102
    @property
    def elevation_m(self) -> float: ...  # noqa: D102


class Station(Position, Protocol):
    """A weather file's own place, taken where the event names none."""

    @property
    def name(self) -> str: ...  # noqa: D102


def has_position(settings: Settings) -> bool:
    """Return whether file or options say anything of where the box stands."""
    section = settings.section("place")
    return any(key in section for key in ("coordinates", "latitude", "longitude"))


def read_place(settings: Settings, date: datetime.date, station: Station | None = None) -> Place:
    """Return the place of the table ``[place]``.

    The date only serves to compare time zone and coordinates; the station stands in for a position,
    elevation and name that are not given.
    """
    section = settings.section("place")
    section.only(*PLACE_KEYS)
    if station is None:
        latitude_deg, longitude_deg = _read_position(section)
    else:
        latitude_deg, longitude_deg = _station_position(section, station)
    zone = _read_zone(section, latitude_deg, longitude_deg, date=date)
    elevation_m = section.quantity(
        "elevation",
        "length",
        PLACE_LIMITS["elevation_m"],
        default=station.elevation_m if station else 0.0,
        source=STATION_SOURCE if station else "default (judgement: sea level)",
        usual_unit="m",
    )
    if "elevation" not in section and station is None:
        settings.assume(
            "The elevation was not given, so the place is taken to lie at sea level (0 m); "
            'higher places have thinner air and stronger sun: write it like elevation = "450 m".'
        )
    why = "default (judgement: fairs stand on grass)"
    ground = section.choice("ground", "grounds", DEFAULT_GROUND, source=why)
    why = "default (judgement: a field with some obstacles)"
    terrain = section.choice("terrain", "terrains", DEFAULT_TERRAIN, source=why)
    return Place(
        name=section.text(
            "name",
            station.name if station else "unnamed place",
            STATION_SOURCE if station else "default",
        ),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
        timezone=zone.key,
        ground_albedo_frac=section.field(
            "ground_albedo_frac", PLACE_LIMITS, "grounds", ground, "albedo"
        ),
        roughness_length_m=section.field("roughness_length_m", PLACE_LIMITS, "terrains", terrain),
        obstacles=tuple(read_obstacle(entry) for entry in section.entries("obstacle")),
    )


def _station_position(section: Section, station: Station) -> tuple[float, float]:
    """Return the latitude and longitude of a weather file's station [deg]."""
    section.record("latitude", station.latitude_deg, "deg", source=STATION_SOURCE)
    section.record("longitude", station.longitude_deg, "deg", source=STATION_SOURCE)
    section.settings.assume(
        f"No place was given, so the weather file's own is taken: {station.name}, "
        f"{station.latitude_deg:.4g}, {station.longitude_deg:.5g}, "
        f"{station.elevation_m:.0f} m above the sea."
    )
    return station.latitude_deg, station.longitude_deg


def _read_position(section: Section) -> tuple[float, float]:
    """Return latitude and longitude; an option displaces what the file says [deg]."""
    options = section.settings.options
    pair = section.raw("coordinates")
    single = [key for key in ("latitude", "longitude") if key in section]
    clash = [
        key for key in single if (f"place.{key}" in options) == ("place.coordinates" in options)
    ]
    if pair is not None and clash:
        raise section.error("coordinates", f"both coordinates and {clash[0]} are given", "keep one")
    found: dict[str, tuple[float, str]] = {}
    if pair is not None:
        both = parse_coordinates(pair, section.where("coordinates"))
        source = section.settings.source("place.coordinates")
        found = {"latitude": (both[0], source), "longitude": (both[1], source)}
    for key, parse in (("latitude", parse_latitude), ("longitude", parse_longitude)):
        if key in single:
            value = parse(section.raw(key), section.where(key))
            found[key] = (value, section.settings.source(f"place.{key}"))
        elif key not in found:
            mend = 'give coordinates = "48.2082, 16.3738" or both angles'
            raise section.error(key, f"the {key} is missing", mend)
        section.record(key, found[key][0], "deg", source=found[key][1])
    return found["latitude"][0], found["longitude"][0]


def _read_zone(
    section: Section, latitude_deg: float, longitude_deg: float, *, date: datetime.date
) -> ZoneInfo:
    """Return the time zone given, else the one the coordinates lie in."""
    given = section.raw("timezone")
    if given is None:
        here = ZoneInfo(zone_at(latitude_deg, longitude_deg))
        section.record("timezone", here.key, "", source="looked up from the coordinates")
        section.settings.assume(f"The time zone {here.key} was looked up from the coordinates.")
        return here
    zone = parse_zone(given, section.where("timezone"))
    section.record("timezone", zone.key)
    doubt = _doubt_zone(zone, latitude_deg, longitude_deg, date=date)
    if doubt:
        section.settings.warnings.append(f"{doubt} ({section.where('timezone')})")
    return zone


def _doubt_zone(
    zone: ZoneInfo, latitude_deg: float, longitude_deg: float, *, date: datetime.date
) -> str:
    """Return what is odd about a zone at a position, empty where nothing is.

    The map of zones is only loaded where the clock is far from the sun's.
    """
    noon = datetime.datetime.combine(date, datetime.time(12), zone)
    standard = (noon.utcoffset() or datetime.timedelta()) - (noon.dst() or datetime.timedelta())
    if abs(standard.total_seconds() / 3600 - longitude_deg / 15) <= USUAL_ZONE_MISFIT_H:
        return ""
    here = ZoneInfo(zone_at(latitude_deg, longitude_deg))
    there = noon.replace(tzinfo=here).utcoffset() or datetime.timedelta()
    apart_h = abs((noon.utcoffset() or datetime.timedelta()) - there).total_seconds() / 3600
    turned = zone_at(longitude_deg, latitude_deg) if abs(longitude_deg) <= 90 else ""
    swapped = apart_h > 0 and zone.key == turned
    if apart_h <= LARGEST_ZONE_MISFIT_H and not swapped:
        return ""
    return (
        f"The time zone {zone.key} is {apart_h:g} h away from {here.key}, where "
        f"{latitude_deg:g}, {longitude_deg:g} lies: are latitude and longitude swapped, or a "
        "sign lost?"
    )


def zone_at(latitude_deg: float, longitude_deg: float) -> str:
    """Return the name of the time zone at a position (a nautical zone at sea).

    >>> zone_at(-13.8, -171.8)
    'Pacific/Apia'
    """
    import tzfpy

    name: str = tzfpy.get_tz(longitude_deg, latitude_deg)
    return name or "UTC"


def read_obstacle(section: Section) -> Obstacle:
    """Return one obstacle of ``[[place.obstacle]]`` or of a spot."""
    section.only(*OBSTACLE_KEYS)
    name = section.text("name", "obstacle")
    bearings = []
    for key in ("from", "to"):
        if key not in section:
            mend = f'write it like {key} = "230 deg"'
            raise section.error(key, f"obstacle '{name}' has no bearing '{key}'", mend)
        bearings.append(parse_bearing(section.raw(key), key, section.where(key)))
        section.record(key, bearings[-1], "deg")
    if bearings[0] == bearings[1]:
        mend = 'all round is from "0 deg" to "360 deg"'
        raise section.error("to", f"obstacle '{name}' begins and ends at one bearing", mend)
    let_through_frac = section.quantity(
        "lets_through", "fraction", (0.0, 1.0), default=0.0, source="default (opaque)"
    )
    return Obstacle(
        name=name,
        bearing_from_deg=bearings[0],
        bearing_to_deg=bearings[1],
        elevation_deg=_elevation_angle_deg(section, name),
        transmittance_frac=let_through_frac,
    )


def _elevation_angle_deg(section: Section, name: str) -> float:
    """Return how high the obstacle stands, from its angle, or height and distance [deg]."""
    by_angle = "elevation_angle" in section
    by_size = [key for key in ("height", "distance") if key in section]
    if by_angle and by_size:
        what = f"obstacle '{name}' has both an elevation angle and a {by_size[0]}"
        raise section.error("elevation_angle", what, "keep one way")
    if by_angle:
        limits = (0.0, math.pi / 2)
        return math.degrees(section.quantity("elevation_angle", "angle", limits, default=0.0))
    if len(by_size) < 2:
        key = "distance" if by_size == ["height"] else "height"
        mend = 'give height above the plate and distance, or elevation_angle = "20 deg"'
        raise section.error(key, f"obstacle '{name}' has no {key}", mend)
    sizes = {"height": (0.0, 9000.0), "distance": (0.05, 200e3)}
    height_m, distance_m = (
        section.quantity(key, "length", limits, default=0.0, usual_unit="m")
        for key, limits in sizes.items()
    )
    return math.degrees(math.atan2(height_m, distance_m))
