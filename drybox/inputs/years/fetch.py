"""Fetch a typical year and the horizon of a place from PVGIS, by pvlib's functions."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from itertools import groupby
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
        return horizon_obstacles(list(map(float, profile.index)), list(map(float, profile)))

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
        spans = [(0.0, 360.0, heights[0])]
    else:  # from where the height changes, once round
        turned = [*range(first, count), *range(first)]
        runs = [(height, [*run]) for height, run in groupby(turned, key=heights.__getitem__)]
        spans = [
            ((azimuth_deg[run[0]] - half) % 360.0, (azimuth_deg[run[-1]] + half) % 360.0, height)
            for height, run in runs
        ]
    return tuple(
        Obstacle(name="horizon", bearing_from_deg=begin, bearing_to_deg=end, elevation_deg=height)
        for begin, end, height in sorted(spans)
        if height >= LEAST_ELEVATION_DEG
    )


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
