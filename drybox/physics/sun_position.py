"""Where the sun is, and when it rises, culminates and sets, at any place and instant.

Times are seconds since 1970-01-01 00:00 UTC. The position is that of the Solar Position
Algorithm as carried by pvlib; for many instants its slow series (the sun seen from the earth's
centre) are worked out every 6 hours and interpolated. Events are roots of our own elevation
curve: pvlib's event function is a day's drift off wherever the local day spans two UTC dates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pvlib import spa

FloatArray = NDArray[np.float64]

#: Geometric elevation of the sun's centre at rise and set: 34′ refraction, 16′ radius. [deg]
HORIZON_DEG = -50.0 / 60.0
#: Refraction at the horizon that tells where the algorithm stops correcting. [deg]
HORIZON_REFRACTION_DEG = 0.5667

_DAY_S = 86_400.0
_NODES_A_DAY = 4
_NODE_S = _DAY_S / _NODES_A_DAY
_STEP_S = 600.0


@dataclass(frozen=True)
class SunPosition:
    """Sun angles; arrays of one shape. Azimuth is clockwise from true north. [deg]."""

    elevation_deg: FloatArray
    """Apparent (refracted) elevation of the centre."""
    geometric_elevation_deg: FloatArray
    """Elevation without an atmosphere."""
    azimuth_deg: FloatArray


@dataclass(frozen=True)
class SunEvents:
    """What the sun does within one stretch of time; times in unix seconds.

    ``status`` is ``rises_or_sets``, ``up_all_day`` (polar day) or ``down_all_day`` (polar
    night). ``sunlit`` lists the stretches with some of the disc above a level horizon.
    """

    status: str
    rises_s: tuple[float, ...]
    sets_s: tuple[float, ...]
    sunlit: tuple[tuple[float, float], ...]

    @property
    def sunrise_at(self) -> float | None:
        """First rise, or None."""
        return self.rises_s[0] if self.rises_s else None

    @property
    def sunset_at(self) -> float | None:
        """Last set, or None."""
        return self.sets_s[-1] if self.sets_s else None


def terrestrial_time_offset_s(time_s: ArrayLike) -> FloatArray:
    """Return ΔT, terrestrial time less universal time, by the polynomials pvlib carries. [s].

    Notes
    -----
    For the 2020s they run about 6 s high; 6 s of ΔT move the sun by under 0.0001°.
    """
    months = np.asarray(time_s, dtype=float).astype("datetime64[s]").astype("datetime64[M]")
    count = months.astype(np.int64)
    return np.asarray(spa.calculate_deltat(1970 + count // 12, count % 12 + 1), dtype=float)


def sun_position(
    time_s: ArrayLike,
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    elevation_m: ArrayLike = 0.0,
    pressure_pa: ArrayLike = 101_325.0,
    temp_c: ArrayLike = 12.0,
    delta_t_s: float | None = None,
) -> SunPosition:
    """Return the topocentric position of the sun.

    Parameters
    ----------
    time_s : array_like
        Instants, of any shape. [unix s]
    latitude_deg, longitude_deg : array_like
        North and east positive; broadcast with ``time_s``. [deg]
    elevation_m : array_like
        Height of the place above sea level. [m]
    pressure_pa, temp_c : array_like
        Of the air, for refraction only. [Pa], [°C]
    delta_t_s : float, optional
        Terrestrial less universal time; by default `terrestrial_time_offset_s`. [s]

    Returns
    -------
    SunPosition
        Arrays of the broadcast shape. [deg]

    Notes
    -----
    Good to 0.0003° from the year −2000 to 6000. Refraction is applied while the upper limb is
    above the horizon, and not below it. A level horizon is meant.

    References
    ----------
    I. Reda and A. Andreas, Solar position algorithm for solar radiation applications,
    Solar Energy 76 (2004) 577; NREL/TP-560-34302.

    Examples
    --------
    The report's own example (row sun-nrel-position): zenith 50.11162°, azimuth 194.34024°.

    >>> sun = sun_position(1066419030, 39.742476, -105.1786, 1830.14, 82000.0, 11.0, 67.0)
    >>> [round(float(angle), 4) for angle in vars(sun).values()]
    [39.8884, 39.872, 194.3402]
    """
    time = np.asarray(time_s, dtype=float)
    sun = _geocentric_sun(time, delta_t_s)
    latitude = np.asarray(latitude_deg, dtype=float)
    height = np.asarray(elevation_m, dtype=float)
    hour_angle = spa.local_hour_angle(
        sun.sidereal_time_deg, np.asarray(longitude_deg, dtype=float), sun.right_ascension_deg
    )
    parallax = spa.equatorial_horizontal_parallax(sun.radius_au)
    u = spa.uterm(latitude)
    x, y = spa.xterm(u, latitude, height), spa.yterm(u, latitude, height)
    shift = spa.parallax_sun_right_ascension(x, parallax, hour_angle, sun.declination_deg)
    declination = spa.topocentric_sun_declination(
        sun.declination_deg, x, y, parallax, shift, hour_angle
    )
    hour_angle = spa.topocentric_local_hour_angle(hour_angle, shift)
    geometric = spa.topocentric_elevation_angle_without_atmosphere(
        latitude, declination, hour_angle
    )
    refraction = spa.atmospheric_refraction_correction(
        np.asarray(pressure_pa, dtype=float) / 100.0,
        np.asarray(temp_c, dtype=float),
        geometric,
        HORIZON_REFRACTION_DEG,
    )
    azimuth = spa.topocentric_azimuth_angle(
        spa.topocentric_astronomers_azimuth(hour_angle, declination, latitude)
    )
    found = np.broadcast_arrays(geometric + refraction, geometric, azimuth)
    return SunPosition(*(np.array(each, dtype=float) for each in found))


def earth_sun_distance_au(time_s: ArrayLike, delta_t_s: float | None = None) -> FloatArray:
    """Return the distance between earth and sun [au].

    Parameters
    ----------
    time_s : array_like
        Instants. [unix s]
    delta_t_s : float, optional
        As in `sun_position`. [s]

    Examples
    --------
    Row sun-distance-0102:

    >>> round(float(earth_sun_distance_au(1420182000.0)), 8)
    0.9832892
    """
    return _geocentric_sun(np.asarray(time_s, dtype=float), delta_t_s).radius_au


@dataclass(frozen=True)
class _GeocentricSun:
    """The apparent sun from the earth's centre, and the sidereal time at Greenwich."""

    right_ascension_deg: FloatArray
    declination_deg: FloatArray
    radius_au: FloatArray
    sidereal_time_deg: FloatArray


def _geocentric_sun(time: FloatArray, delta_t_s: float | None) -> _GeocentricSun:
    """Return the sun by the full series, or by nodes and cubics where those are fewer."""
    flat = time.ravel()
    first = last = 0
    if flat.size:
        first = int(flat.min() // _DAY_S) * _NODES_A_DAY - 1
        last = int(flat.max() // _DAY_S + 1) * _NODES_A_DAY + 1
    if last - first >= max(flat.size, 4 * _NODES_A_DAY):
        right_ascension, declination, radius, nutation = _series(flat, delta_t_s)
    else:
        table = _node_table(first, last, delta_t_s)
        place = flat / _NODE_S - first
        node = np.floor(place).astype(np.intp)
        f = place - node
        weights = (
            -f * (f - 1.0) * (f - 2.0) / 6.0,
            (f + 1.0) * (f - 1.0) * (f - 2.0) / 2.0,
            -(f + 1.0) * f * (f - 2.0) / 2.0,
            (f + 1.0) * f * (f - 1.0) / 6.0,
        )
        right_ascension, declination, radius, nutation = (
            np.asarray(sum(w * column[node + k] for k, w in enumerate(weights, start=-1)))
            for column in table
        )
    julian_day = spa.julian_day(flat)
    sidereal = spa.mean_sidereal_time(julian_day, spa.julian_century(julian_day)) + nutation
    columns = (right_ascension, declination, radius, sidereal)
    return _GeocentricSun(*(np.asarray(column).reshape(time.shape) for column in columns))


@lru_cache(maxsize=64)
def _node_table(first: int, last: int, delta_t_s: float | None) -> tuple[FloatArray, ...]:
    return _series(np.arange(first, last + 1, dtype=np.float64) * _NODE_S, delta_t_s)


def _series(time: FloatArray, delta_t_s: float | None) -> tuple[FloatArray, ...]:
    """Return right ascension, declination, distance and nutation in right ascension."""
    delta_t = terrestrial_time_offset_s(time) if delta_t_s is None else delta_t_s
    unused = (0.0, 0.0, 0.0, 0.0, 0.0, delta_t, HORIZON_REFRACTION_DEG, 1)
    sidereal, right_ascension, declination = spa.solar_position_numpy(time, *unused, sst=True)
    (radius,) = spa.solar_position_numpy(time, *unused, esd=True)
    julian_day = spa.julian_day(time)
    mean = spa.mean_sidereal_time(julian_day, spa.julian_century(julian_day))
    nutation = (sidereal - mean + 180.0) % 360.0 - 180.0
    return np.unwrap(right_ascension, period=360.0), declination, radius, nutation


def sun_events(
    start_s: float,
    end_s: float,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float = 0.0,
) -> SunEvents:
    """Return rises and sets from ``start_s`` (included) to ``end_s`` (not).

    Parameters
    ----------
    start_s, end_s : float
        Usually a local day, be it of 23, 24 or 25 hours. [unix s]
    latitude_deg, longitude_deg, elevation_m : float
        The place; its elevation changes parallax only. [deg], [deg], [m]

    Returns
    -------
    SunEvents
        There may be no, one or several of each.

    Notes
    -----
    Rise and set: the sun's centre at −50′ without an atmosphere, as in published tables; hills
    and the dip of the horizon are left out. Extremes of elevation are searched for too, so
    that a sun which shows for a minute is found.

    Examples
    --------
    36°57′N 112°31′W, 1 January 2023, UTC−7 (row sun-usno-0101): 07:43 and 17:24, to the minute.

    >>> day = sun_events(1672556400.0, 1672642800.0, 36.95, -112.5166667)
    >>> [round(time - 1672556400) for time in (day.sunrise_at, day.sunset_at)]
    [27794, 62650]
    """

    def above(time_s: FloatArray) -> FloatArray:
        sun = sun_position(time_s, latitude_deg, longitude_deg, elevation_m)
        return np.asarray(sun.geometric_elevation_deg - HORIZON_DEG)

    grid = np.linspace(start_s, end_s, max(2, int(np.ceil((end_s - start_s) / _STEP_S)) + 1))
    grid = np.unique(np.concatenate([grid, _extremes(above, grid)]))
    crossings = _roots(above, grid)
    rises = tuple(t for t, rising in crossings if rising)
    sets = tuple(t for t, rising in crossings if not rising)
    up_at_start = bool(above(grid[:1])[0] > 0)
    edges = [start_s] * up_at_start + [t for t, _ in crossings]
    edges += [end_s] * (len(edges) % 2)
    status = "rises_or_sets" if crossings else "up_all_day" if up_at_start else "down_all_day"
    sunlit = tuple(zip(edges[::2], edges[1::2], strict=True))
    return SunEvents(status, rises, sets, sunlit)


def _roots(
    function: Callable[[FloatArray], FloatArray], grid: FloatArray
) -> list[tuple[float, bool]]:
    """Return where a function crosses zero on a grid, and whether it rises there.

    Each step with a change of sign is cut in 64; the last piece is taken as straight.
    """
    up = function(grid) > 0
    change = np.flatnonzero(up[1:] != up[:-1])
    shares = np.linspace(0.0, 1.0, 65)
    fine = grid[change, None] + (grid[change + 1] - grid[change])[:, None] * shares
    found = []
    for time, value in zip(fine, function(fine), strict=True):
        k = int(np.argmax((value[1:] > 0) != (value[:-1] > 0)))
        share = value[k] / (value[k] - value[k + 1])
        root = time[k] + share * (time[k + 1] - time[k])
        found.append((float(root), bool(value[k + 1] > 0)))
    return found


def _extremes(function: Callable[[FloatArray], FloatArray], grid: FloatArray) -> FloatArray:
    """Return the tops and bottoms of a function between grid points, by parabolas."""
    y = function(grid)
    before, here, after = y[:-2], y[1:-1], y[2:]
    turns = (here - before) * (after - here) <= 0
    bend = (before - 2 * here + after)[turns]
    slope = (after - before)[turns] / 2
    step = grid[1] - grid[0]
    shift = np.divide(-slope, bend, out=np.zeros_like(bend), where=bend != 0)
    return np.asarray(grid[1:-1][turns] + step * np.clip(shift, -1, 1))


def mid_sunlit(
    start_s: ArrayLike,
    end_s: ArrayLike,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Return the middle of each interval's sunlit part, and the share of it that is sunlit.

    Parameters
    ----------
    start_s, end_s : array_like
        Bounds of the intervals (an hour or so each); an instant may have both the same. [unix s]
    latitude_deg, longitude_deg, elevation_m : float
        The place. [deg], [deg], [m]

    Returns
    -------
    tuple of ndarray
        Instant at which to take the sun [unix s], and sunlit share [0 to 1]. An interval
        without sun has its own middle and 0.

    Notes
    -----
    A mean over an hour belongs to the sun at the middle of the hour, or of what part of it had
    sun. The sun counts from its centre at an apparent elevation of zero. Sampled at 16 points
    per interval, so the share is good to 1/16 and the middle to 1/32 of the interval.
    """
    start = np.asarray(start_s, dtype=float)
    length = np.asarray(end_s, dtype=float) - start
    shares = (np.arange(16) + 0.5) / 16
    time = start[..., None] + length[..., None] * shares
    up = sun_position(time, latitude_deg, longitude_deg, elevation_m).elevation_deg > 0
    count = up.sum(axis=-1)
    mean_share = (up * shares).sum(axis=-1) / np.maximum(count, 1)
    middle = start + length * np.where(count > 0, mean_share, 0.5)
    return np.asarray(middle), np.asarray(count / 16.0)
