"""Fetch a typical year and the horizon of a place from PVGIS, by pvlib's functions."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from typing import TypeVar
from urllib.parse import urlsplit

from drybox.errors import InputError, StoreError
from drybox.inputs.event.place import Obstacle
from drybox.inputs.forecast.web import Manners, retried
from drybox.inputs.weather.weather import Site
from drybox.inputs.years.formats import pvgis_rows
from drybox.inputs.years.typical import TypicalYear, year_of_rows

PVGIS_URL = "https://re.jrc.ec.europa.eu/api/"
CREDIT = "PVGIS, European Commission, Joint Research Centre"
LEAST_ELEVATION_DEG = 1.0
T = TypeVar("T")


def fetch_typical_year(
    place: Site, manners: Manners, *, with_horizon: bool = True, url: str = PVGIS_URL
) -> TypicalYear:
    """Return the typical year of a place.

    ``with_horizon`` lets hills cut the sunlight in it; without them they can be given as obstacles,
    which cut the beam minute by minute.
    """
    from pvlib.iotools import get_pvgis_tmy

    def ask() -> TypicalYear:
        frame, meta = get_pvgis_tmy(
            place.latitude_deg,
            place.longitude_deg,
            outputformat="json",
            usehorizon=with_horizon,
            coerce_year=None,
            url=url,
            timeout=manners.timeout_s,
        )
        return year_of_rows(pvgis_rows(frame, meta), "pvgis", "the typical year")

    return _useful(ask, url, manners)


def fetch_horizon(place: Site, manners: Manners, url: str = PVGIS_URL) -> tuple[Obstacle, ...]:
    """Return the hills around a place as obstacles, those under 1 degree left out."""
    from pvlib.iotools import get_pvgis_horizon

    def ask() -> tuple[Obstacle, ...]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pvlib's own use of pandas
            profile, _ = get_pvgis_horizon(
                place.latitude_deg, place.longitude_deg, url=url, timeout=manners.timeout_s
            )
        return horizon_obstacles(
            [float(azimuth) for azimuth in profile.index], [float(each) for each in profile]
        )

    return _useful(ask, url, manners)


def _useful(ask: Callable[[], T], url: str, manners: Manners) -> T:
    """Return what is asked of a service, or say why its answer is of no use."""
    host = urlsplit(url).hostname or url

    def asked() -> T:
        try:
            return ask()
        except (ValueError, KeyError, TypeError, AttributeError, InputError) as error:
            why = f"no {error}" if isinstance(error, KeyError) else str(error).split("\n")[0]
            what = f"the answer of {host} is of no use: {why[:120]}"
            raise StoreError(what, mend="try again later") from None

    return retried(asked, host, manners)


def horizon_obstacles(
    azimuth_deg: Sequence[float], elevation_deg: Sequence[float]
) -> tuple[Obstacle, ...]:
    """Return a horizon profile as obstacles, each reaching half-way to its neighbours.

    Azimuths are evenly spaced, clockwise from true north, rising. [deg]

    Rounded to whole degrees; neighbours of one height are made one obstacle.

    >>> hills = horizon_obstacles([0, 90, 180, 270], [5.2, 0.3, 2.1, 4.9])
    >>> [(hill.bearing_from_deg, hill.bearing_to_deg, hill.elevation_deg) for hill in hills]
    [(135.0, 225.0, 2.0), (225.0, 45.0, 5.0)]
    """
    count = len(azimuth_deg)
    if count < 4 or any(not 0 <= height <= 90 for height in elevation_deg):
        raise InputError("the horizon profile has impossible heights")
    half = 180.0 / count
    heights = [float(round(height)) for height in elevation_deg]
    first = next((n for n in range(count) if heights[n] != heights[n - 1]), None)
    if first is None:
        if heights[0] < LEAST_ELEVATION_DEG:
            return ()
        return (
            Obstacle(
                name="horizon", bearing_from_deg=0.0, bearing_to_deg=360.0, elevation_deg=heights[0]
            ),
        )
    found: list[Obstacle] = []
    begin = first
    for number in range(first + 1, first + count + 1):
        if number < first + count and heights[number % count] == heights[begin % count]:
            continue
        height = heights[begin % count]
        if height >= LEAST_ELEVATION_DEG:
            start = (azimuth_deg[begin % count] - half) % 360.0
            end = (azimuth_deg[(number - 1) % count] + half) % 360.0
            found.append(
                Obstacle(
                    name="horizon", bearing_from_deg=start, bearing_to_deg=end, elevation_deg=height
                )
            )
        begin = number
    return tuple(sorted(found, key=lambda hill: hill.bearing_from_deg))


def obstacle_lines(obstacles: Sequence[Obstacle], remark: str = "") -> str:
    """Return obstacles as lines for an event file.

    >>> print(obstacle_lines([Obstacle("horizon", 225.0, 247.5, 5.0)]), end="")
    [[place.obstacle]]
    name = "horizon"
    from = "225 deg"
    to = "247.5 deg"
    elevation_angle = "5 deg"
    """
    blocks = [f"# {remark}\n"] if remark else []
    blocks += [
        "[[place.obstacle]]\n"
        f'name = "{hill.name}"\n'
        f'from = "{hill.bearing_from_deg:g} deg"\n'
        f'to = "{hill.bearing_to_deg:g} deg"\n'
        f'elevation_angle = "{hill.elevation_deg:g} deg"\n'
        for hill in obstacles
    ]
    return "\n".join(blocks)
