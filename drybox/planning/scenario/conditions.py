"""The day minute by minute: sun, light, air and wind at the place, from the weather told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any

import numpy as np

from drybox.arrays import Array, Flags
from drybox.inputs.event.place import Obstacle, Place
from drybox.inputs.weather.weather import Weather
from drybox.inputs.weather.wind import near_ground_share
from drybox.physics.air import dew_point_k, standard_atmosphere_pressure_pa, vapour_pressure_pa
from drybox.physics.clear_sky import (
    ClearSky,
    clear_sky,
    cloudy_sky,
    decompose_dirint,
    linke_climatology,
)
from drybox.physics.plate_irradiance import SkyLight
from drybox.physics.radiation import sky_temp_k
from drybox.physics.shading import obstacle_transmittance
from drybox.physics.sun_position import SunPosition, mid_sunlit, sun_position
from drybox.readable import Readable
from drybox.tables import load_table

STEP_S = 60.0
"""Step of the tabulated day. [s]"""

OKTAS = np.arange(9.0)
"""Cloud amounts of the table ``cloud_light``."""

MOST_CLEARER = 3.0
"""How many times the clear sky's beam a row may bring: clean air where the climatology is hazy, and
a low sun. [-]"""

MOST_BRIGHTER = 8.0
"""How many times the clear sky's diffuse light a row may bring (bright cloud). [-]"""

HALF_LIT = 0.5
"""Share of the beam that must come past obstacles for the sun to count as seen. [-]"""

SUNSHINE_W_M2 = 120.0
"""Direct light above which the sun shines: WMO-No. 8, Guide to Instruments, sunshine. [W/m²]"""


@dataclass(frozen=True, eq=False, repr=False)
class Conditions(Readable):
    """Air, sky and sun at each minute, (times,) or (members, times) where drawn.

    ``clear`` is the same sky without cloud; ``wind_10m_m_s`` is over open ground; ``issued_at`` is
    when a forecast was made, where that is known. ``row_s`` is how long the rows of told
    irradiance last, counted from ``row_from_at``; 0 where only cloud is told. ``usual`` are the
    columns that nobody told and that are what is usual at ``latitude_deg``.
    """

    time_at: Array
    sun: SunPosition
    clear: ClearSky
    ghi_w_m2: Array
    dni_w_m2: Array
    dhi_w_m2: Array
    air_temp_k: Array
    humidity_frac: Array
    wind_10m_m_s: Array
    cloud_frac: Array
    pressure_pa: float
    solar_hour: Array
    issued_at: float | None = None
    row_s: float = 0.0
    row_from_at: float = 0.0
    usual: tuple[str, ...] = ()
    latitude_deg: float = 0.0

    def changed(self, change: Callable[[Array], Array]) -> Conditions:
        """Return the day with every array but the times changed."""
        parts: dict[str, Any] = {
            name: change(value)
            for name in self.__dataclass_fields__
            if name != "time_at" and isinstance(value := getattr(self, name), np.ndarray)
        }
        for name in ("sun", "clear"):
            part: Any = getattr(self, name)
            columns = {n: change(np.asarray(getattr(part, n))) for n in part.__dataclass_fields__}
            parts[name] = replace(part, **columns)
        return replace(self, **parts)

    def stretches(self, flags: Flags) -> tuple[tuple[float, float], ...]:
        """Return from when until when flags of the times stand, one stretch after the other. [s]"""
        edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
        edges_at = self.time_at[np.minimum(edges, self.time_at.size - 1)].tolist()
        return tuple(zip(edges_at[::2], edges_at[1::2], strict=True))

    def row_at(self, at: float) -> int:
        """Return which of the times is nearest to an instant. [s]"""
        return int(np.argmin(np.abs(self.time_at - at)))

    def in_sun(self, obstacles: Sequence[Obstacle]) -> Flags:
        """Return at which times the sun is up and not behind an obstacle, whatever the cloud."""
        return sun_seen(self.sun, obstacles)

    def shone_on(self, obstacles: Sequence[Obstacle]) -> Flags:
        """Return at which times the sun shines (`SUNSHINE_W_M2`) and no obstacle hides it."""
        return self.in_sun(obstacles) & (self.dni_w_m2 > SUNSHINE_W_M2)

    @cached_property
    def sky(self) -> SkyLight:
        """Sun and sky as the plate's light needs them."""
        return SkyLight(
            sun_elevation_deg=self.sun.elevation_deg,
            sun_azimuth_deg=self.sun.azimuth_deg,
            ghi_w_m2=self.ghi_w_m2,
            dni_w_m2=self.dni_w_m2,
            dhi_w_m2=self.dhi_w_m2,
            dni_extra_w_m2=self.clear.dni_extra_w_m2,
            airmass=self.clear.airmass,
        )

    @cached_property
    def vapour_pressure_pa(self) -> Array:
        """Of the outdoor air. [Pa]"""
        return np.asarray(vapour_pressure_pa(self.air_temp_k, self.humidity_frac))

    @cached_property
    def sky_temp_k(self) -> Array:
        """Long-wave temperature of the open sky. [K]"""
        vapour = np.maximum(self.vapour_pressure_pa, 20.0)
        dew = dew_point_k(vapour)
        return np.asarray(
            sky_temp_k(self.air_temp_k, dew, self.solar_hour, self.cloud_frac, self.pressure_pa)
        )

    def wind_at_m_s(self, height_m: float, roughness_length_m: float) -> Array:
        """Return the wind at a height over the place's ground. [m/s]"""
        share = near_ground_share(height_m, roughness_length_m)
        return self.wind_10m_m_s * share


def sun_seen(sun: SunPosition, obstacles: Sequence[Obstacle]) -> Flags:
    """Return where the sun is up, and obstacles let `HALF_LIT` of it or more through."""
    up = sun.elevation_deg > 0.0
    if not obstacles:
        return up
    passed = obstacle_transmittance(list(obstacles), sun.azimuth_deg, sun.elevation_deg)
    return np.asarray(up & (passed >= HALF_LIT))


@cache
def cloud_light(name: str) -> Array:
    """Return a column of the table ``cloud_light`` by oktas, (9,)."""
    table = load_table("cloud_light")
    return np.array([table[f"okta_{okta:.0f}"][name].value for okta in OKTAS])


def _rows(weather: Weather) -> tuple[float, float]:
    """Return how long a row of told irradiance lasts, and a time at which one begins. [s]

    Rows that are instants stand for the time about them.
    """
    if weather.ghi_w_m2 is None and (weather.dni_w_m2 is None or weather.dhi_w_m2 is None):
        return 0.0, 0.0
    start_at, length = weather.start_at, float(np.median(weather.end_at - weather.start_at))
    if length > 0.0:
        return length, float(start_at[0])
    length = float(np.median(np.diff(start_at))) if start_at.size > 1 else 3600.0
    return length, float(start_at[0]) - 0.5 * length


def _issued_at(weather: Weather, begin_at: float) -> float | None:
    """Return since when a forecast was made: as it says, or its first row if over a day before. [s]

    A forecast is no younger than its first row; one that begins on the day itself may have been
    cut out of an older one.
    """
    first_at = float(weather.start_at[0])
    old = weather.kind == "forecast" and first_at < begin_at - 86400.0
    return first_at if weather.issued_at is None and old else weather.issued_at


def _filled(rows_at: Array, values: Array | None, time_at: Array, *, default: float) -> Array:
    """Return a column at the times wanted, linear between rows, over gaps, held at the ends."""
    if values is None or not np.isfinite(values).any():
        return np.full(time_at.shape, default)
    known = np.isfinite(values)
    return np.interp(time_at, rows_at[known], values[known])


def _row_ratio(weather: Weather, time_at: Array, row: Array, *, clear: Array) -> Array:
    """Return a measured column over the clear sky's, as a function of time.

    Rows that span an interval keep their mean: the ratio is that of means and holds within the
    row. Rows that are instants are joined by straight lines, but bring no more than the brighter of
    the two tells, nor than the lesser ratio makes of the clear sky: at a low sun, whose clear sky
    is faint, a row may lie many times over it. In the dark the neighbours' ratio is carried over.
    """
    spans = weather.end_at > weather.start_at
    known = np.isfinite(row)
    if spans.all():
        index = np.searchsorted(weather.start_at, time_at, side="right") - 1
        inside = (index >= 0) & (time_at < weather.end_at[np.clip(index, 0, None)])
        total = np.bincount(index[inside], weights=clear[inside], minlength=row.size)
        count = np.bincount(index[inside], minlength=row.size)
        mean = total / np.maximum(count, 1)
        bright = known & (mean > 5.0) & (count > 0)
        ratio = np.where(bright, row / np.where(bright, mean, 1.0), np.nan)
        if not bright.any():
            return np.zeros(time_at.shape)
        mid = weather.mid_at
        held = np.interp(mid, mid[bright], ratio[bright])
        return np.asarray(held[np.clip(index, 0, row.size - 1)])
    at_rows = np.interp(weather.mid_at, time_at, clear)
    bright = known & (at_rows > 5.0)
    if not bright.any():
        return np.zeros(time_at.shape)
    rows_s, told, ratio = weather.mid_at[bright], row[bright], row[bright] / at_rows[bright]
    place = np.searchsorted(rows_s, time_at)
    before, after = np.maximum(place - 1, 0), np.minimum(place, rows_s.size - 1)
    most = np.maximum(told[before], told[after]) / np.maximum(clear, 1.0)
    most = np.maximum(most, np.minimum(ratio[before], ratio[after]))
    return np.asarray(np.minimum(np.interp(time_at, rows_s, ratio), most))


def _light(
    weather: Weather, place: Place, time_at: Array, *, sun: SunPosition, clear: ClearSky
) -> tuple[Array, Array, Array, Array]:
    """Return global, direct, diffuse and cloud share at each minute, from what is known."""
    up = np.maximum(np.sin(np.deg2rad(sun.elevation_deg)), 0.0)
    dni_row, dhi_row = weather.dni_w_m2, weather.dhi_w_m2
    if weather.ghi_w_m2 is not None and (dni_row is None or dhi_row is None):
        mid, _ = mid_sunlit(
            weather.start_at, weather.end_at, place.latitude_deg, place.longitude_deg
        )
        middle = sun_position(mid, place.latitude_deg, place.longitude_deg, place.elevation_m)
        ghi = np.maximum(weather.ghi_w_m2, 0.0)
        pressure = standard_atmosphere_pressure_pa(place.elevation_m)
        dni_row, dhi_row = decompose_dirint(ghi, middle.elevation_deg, mid, pressure)
    if dni_row is not None and dhi_row is not None:
        direct = _row_ratio(weather, time_at, dni_row, clear=clear.dni_w_m2)
        diffuse = _row_ratio(weather, time_at, dhi_row, clear=clear.dhi_w_m2)
        dni = np.clip(direct, 0.0, MOST_CLEARER) * clear.dni_w_m2
        dni = np.minimum(dni, clear.dni_extra_w_m2)
        dhi = np.clip(diffuse, 0.0, MOST_BRIGHTER) * clear.dhi_w_m2
        ghi = dni * up + dhi
        rows_at, cloud = weather.mid_at, weather.cloud_frac
        if cloud is None:  # reckoned from the sun by day
            share = ghi / np.maximum(clear.ghi_w_m2, 1.0)
            reckoned = np.interp(-share, -cloud_light("global_share"), OKTAS / 8.0)
            rows_at, cloud = time_at, np.where(clear.ghi_w_m2 > 20.0, reckoned, np.nan)
        return ghi, dni, dhi, _filled(rows_at, cloud, time_at, default=0.5)
    cloud = np.clip(_filled(weather.mid_at, weather.cloud_frac, time_at, default=0.0), 0.0, 1.0)
    shares = cloud_light("beam_share"), cloud_light("global_share")
    ghi, dni, dhi = cloudy_sky(clear, sun, cloud, *shares)
    return ghi, dni, dhi, cloud


def _linke_turbidity(weather: Weather, place: Place, time_at: Array) -> Array | float:
    """Return the haze told, or that of a cloudless hour at the place and season. [-]

    The climatology is of all days and of years with more dust and smoke than now: of what it has
    above clean air a cloudless hour has a part, item ``clear_sky`` of table ``cloud_light``.
    """
    if weather.linke_turbidity is not None:
        return weather.linke_turbidity
    share = load_table("cloud_light")["clear_sky"]["haze_share"].value
    clean = load_table("skies")["clean"]["linke_turbidity"].value
    usual = linke_climatology(time_at, place.latitude_deg, place.longitude_deg)
    return np.asarray(usual - (1.0 - share) * np.maximum(usual - clean, 0.0))


def conditions(
    weather: Weather, place: Place, start_at: float, *, end_at: float, step_s: float = STEP_S
) -> Conditions:
    """Return the conditions from one time to another.

    At every ``step_s`` from and until Unix times. [s]

    Irradiance is carried as its ratio to the clear sky, so that a row's mean is kept while the sun
    moves within it. Air, humidity and wind are linear between the middles of rows and held at the
    ends.
    """
    time_at = np.arange(start_at, end_at + 0.5 * step_s, step_s)
    pressure = float(standard_atmosphere_pressure_pa(place.elevation_m))
    if weather.pressure_pa is not None and np.isfinite(weather.pressure_pa).any():
        pressure = float(np.nanmean(weather.pressure_pa))
    # clear-sky ratios of hourly rows need the whole row, also where it reaches past the window
    wide = np.arange(time_at[0] - 3600.0, time_at[-1] + 3600.0 + 0.5 * step_s, step_s)
    sun = sun_position(wide, place.latitude_deg, place.longitude_deg, place.elevation_m, pressure)
    clear = clear_sky(
        wide,
        sun,
        place.latitude_deg,
        place.longitude_deg,
        place.elevation_m,
        pressure,
        _linke_turbidity(weather, place, wide),
    )
    ghi, dni, dhi, cloud = _light(weather, place, wide, sun=sun, clear=clear)
    air = _filled(weather.mid_at, weather.air_temp_k, wide, default=293.15)
    humidity = _filled(weather.mid_at, weather.humidity_frac, wide, default=0.5)
    wind = _filled(weather.mid_at, weather.wind_10m_m_s, wide, default=2.0)
    row_s, row_from_at = _rows(weather)
    whole = Conditions(
        time_at=wide,
        sun=sun,
        clear=clear,
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        air_temp_k=air,
        humidity_frac=np.clip(humidity, 0.02, 1.0),
        wind_10m_m_s=np.maximum(wind, 0.0),
        cloud_frac=np.clip(cloud, 0.0, 1.0),
        pressure_pa=pressure,
        solar_hour=(wide / 3600.0 + place.longitude_deg / 15.0) % 24.0,
        issued_at=_issued_at(weather, start_at),
        row_s=row_s,
        row_from_at=row_from_at,
        usual=weather.usual,
        latitude_deg=place.latitude_deg,
    )
    before = round(3600.0 / step_s)
    inner = whole.changed(lambda column: column[before : before + time_at.size])
    return replace(inner, time_at=time_at)
