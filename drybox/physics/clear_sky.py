"""Sunlight under a clear sky, what cloud leaves of it, and its split into beam and diffuse."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import ArrayLike, NDArray

from drybox.physics.sun_position import SunPosition, earth_sun_distance_au

FloatArray = NDArray[np.float64]

SOLAR_CONSTANT_W_M2 = 1366.1
"""ASTM E490."""
#: Least cosine of the zenith angle used in a clearness index (zenith 86.3°).
MIN_COS_ZENITH = 0.065


@dataclass(frozen=True)
class ClearSky:
    """Irradiance of a cloudless sky; all zero with the sun down, except the last three."""

    ghi_w_m2: FloatArray
    dni_w_m2: FloatArray
    dhi_w_m2: FloatArray
    dni_extra_w_m2: FloatArray
    airmass: FloatArray
    """Relative optical air mass; that of the horizon with the sun down."""
    linke_turbidity: FloatArray


def _utc_days(time_s: ArrayLike) -> NDArray[np.datetime64]:
    return np.asarray(time_s, dtype=float).astype("datetime64[s]").astype("datetime64[D]")


def extraterrestrial_w_m2(time_s: ArrayLike) -> FloatArray:
    """Return the irradiance normal to the sun outside the atmosphere [W/m2].

    Notes
    -----
    Solar constant 1366.1 W/m2 (ASTM E490) over the square of the distance in au.

    Examples
    --------
    21 January (row extra-01):

    >>> round(float(extraterrestrial_w_m2(1737460800)))
    1410
    """
    return np.asarray(SOLAR_CONSTANT_W_M2 / earth_sun_distance_au(time_s) ** 2)


def relative_airmass(sun_elevation_deg: ArrayLike) -> FloatArray:
    """Return the relative optical air mass; below the horizon that of the horizon. [-].

    Parameters
    ----------
    sun_elevation_deg : array_like
        Apparent elevation. [deg]

    References
    ----------
    F. Kasten and A. T. Young, Revised optical air mass tables and approximation formula,
    Applied Optics 28 (1989) 4735.

    Examples
    --------
    Row airmass-60: 1.9943.

    >>> round(float(relative_airmass(30.0)), 4)
    1.9943
    """
    zenith = np.clip(90.0 - np.asarray(sun_elevation_deg, dtype=float), 0.0, 90.0)
    return np.asarray(pvlib.atmosphere.get_relative_airmass(zenith), dtype=float)


def linke_climatology(time_s: ArrayLike, latitude_deg: float, longitude_deg: float) -> FloatArray:
    """Return the Linke turbidity usual at a place and time of year. [-].

    Parameters
    ----------
    time_s : array_like
        Instants; their UTC day counts. [unix s]
    latitude_deg, longitude_deg : float
        The place. [deg]

    Notes
    -----
    Monthly means of many years on a grid of 5′, as shipped with pvlib, interpolated by day. A
    given day may well be clearer (2) or hazier (6).

    Examples
    --------
    Tucson, 24 June (row linke-tucson-2014-0624):

    >>> round(float(linke_climatology(1403611200, 32.125, -110.875)), 6)
    3.118033
    """
    day = _utc_days(time_s)
    month = day.astype("datetime64[M]")
    lengths = [(month + k + 1).astype("datetime64[D]") - (month + k) for k in (-1, 0, 1)]
    before, here, after = (length.astype(float) for length in lengths)
    past_middle = (day - month).astype(float) + 1.0 - here / 2.0
    monthly = _monthly_linke(latitude_deg, longitude_deg)
    number = month.astype(np.int64) % 12
    other = np.where(past_middle < 0, number - 1, number + 1) % 12
    gap = np.where(past_middle < 0, before + here, here + after) / 2.0
    weight = np.abs(past_middle) / gap
    return np.asarray(monthly[number] * (1.0 - weight) + monthly[other] * weight)


@lru_cache(maxsize=256)
def _monthly_linke(latitude_deg: float, longitude_deg: float) -> FloatArray:
    months = pd.DatetimeIndex(np.arange("2001-01", "2002-01", dtype="datetime64[M]"))
    found = pvlib.clearsky.lookup_linke_turbidity(
        months, latitude_deg, longitude_deg, interp_turbidity=False
    )
    return np.asarray(found, dtype=float)


def ineichen(
    sun_elevation_deg: ArrayLike,
    airmass_absolute: ArrayLike,
    linke_turbidity: ArrayLike,
    elevation_m: ArrayLike = 0.0,
    dni_extra_w_m2: ArrayLike = 1364.0,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return clear-sky global, direct-normal and diffuse irradiance; zero with the sun down.

    Parameters
    ----------
    sun_elevation_deg : array_like
        Apparent elevation. [deg]
    airmass_absolute : array_like
        Relative air mass × pressure / 101325 Pa. [-]
    linke_turbidity : array_like
        About 2 (very clear) to 7 (very hazy). [-]
    elevation_m : array_like
        Height of the place, up to about 4000 m. [m]
    dni_extra_w_m2 : array_like
        Irradiance outside the atmosphere. [W/m2]

    Returns
    -------
    tuple of ndarray
        Global horizontal, direct normal, diffuse horizontal. [W/m2]

    References
    ----------
    P. Ineichen and R. Perez, A new airmass independent formulation for the Linke turbidity
    coefficient, Solar Energy 73 (2002) 151.

    Examples
    --------
    Row ineichen-10-1-3:

    >>> [round(float(each), 3) for each in ineichen(80.0, 1.0, 3.0)]
    [1038.159, 942.208, 110.265]
    """
    zenith = np.clip(90.0 - np.asarray(sun_elevation_deg, dtype=float), 0.0, 90.0)
    with np.errstate(divide="ignore"):
        found = pvlib.clearsky.ineichen(
            zenith,
            np.asarray(airmass_absolute, dtype=float),
            np.asarray(linke_turbidity, dtype=float),
            np.asarray(elevation_m, dtype=float),
            np.asarray(dni_extra_w_m2, dtype=float),
        )
    up = zenith < 90.0
    ghi, dni, dhi = (np.where(up, found[name], 0.0) for name in ("ghi", "dni", "dhi"))
    return ghi, dni, dhi


def clear_sky(
    time_s: ArrayLike,
    sun: SunPosition,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    pressure_pa: ArrayLike,
    linke_turbidity: ArrayLike | None = None,
) -> ClearSky:
    """Return the irradiance under a cloudless sky.

    Parameters
    ----------
    time_s : array_like
        Instants, of the shape of ``sun``. [unix s]
    sun : SunPosition
        Where the sun then is.
    latitude_deg, longitude_deg, elevation_m : float
        The place. [deg], [deg], [m]
    pressure_pa : array_like
        Air pressure at the place. [Pa]
    linke_turbidity : array_like, optional
        Haze; by default `linke_climatology`. [-]

    Returns
    -------
    ClearSky
        Finite everywhere. [W/m2]
    """
    if linke_turbidity is None:
        linke = linke_climatology(time_s, latitude_deg, longitude_deg)
    else:
        linke = np.broadcast_to(np.asarray(linke_turbidity, dtype=float), np.shape(time_s))
    airmass = relative_airmass(sun.elevation_deg)
    extra = extraterrestrial_w_m2(time_s)
    absolute = airmass * np.asarray(pressure_pa, dtype=float) / 101_325.0
    ghi, dni, dhi = ineichen(sun.elevation_deg, absolute, linke, elevation_m, extra)
    return ClearSky(ghi, dni, dhi, extra, airmass, np.asarray(linke))


def brightest_w_m2(
    dni_extra_w_m2: ArrayLike, sun_elevation_deg: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return GHI, DNI and DHI that a sky hardly ever passes in a minute, edges of cloud included.

    Parameters
    ----------
    dni_extra_w_m2 : array
        Irradiance normal to the sun outside the atmosphere. [W/m2]
    sun_elevation_deg : array
        Of the sun; below the horizon as at it. [deg]

    Returns
    -------
    tuple of array
        Global horizontal, direct normal, diffuse horizontal irradiance. [W/m2]

    Notes
    -----
    ``a S sin(h)^b + c`` with a, b, c of 1.2, 1.2, 50 (global), 0.95, 0.2, 10 (direct) and 0.75,
    1.2, 30 (diffuse): the extremely rare limits of Long, C. N. and Dutton, E. G. (2002), BSRN
    Global Network recommended QC tests, V2.0 (from memory).

    Examples
    --------
    >>> [round(float(most)) for most in brightest_w_m2(1361.0, 90.0)]
    [1683, 1303, 1051]
    """
    high = np.maximum(np.sin(np.deg2rad(sun_elevation_deg)), 0.0)
    extra = np.asarray(dni_extra_w_m2)
    ghi = 1.2 * extra * high**1.2 + 50.0
    dni = 0.95 * extra * high**0.2 + 10.0
    dhi = 0.75 * extra * high**1.2 + 30.0
    return np.asarray(ghi), np.asarray(dni), np.asarray(dhi)


def decompose_dirint(
    ghi_w_m2: ArrayLike, sun_elevation_deg: ArrayLike, time_s: ArrayLike, pressure_pa: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Split a series of global irradiance into direct normal and diffuse horizontal.

    Parameters
    ----------
    ghi_w_m2 : array_like
        Global horizontal irradiance of rows in time order, not negative; NaN is a gap. [W/m2]
    sun_elevation_deg : array_like
        Apparent elevation (of an hourly mean: see `sun_position.mid_sunlit`). [deg]
    time_s : array_like
        Of each row. [unix s]
    pressure_pa : array_like
        Air pressure at the place. [Pa]

    Returns
    -------
    tuple of ndarray
        Direct normal and diffuse horizontal; direct × sine + diffuse = global always. With the sun
        under 3° all is diffuse. [W/m2]

    Notes
    -----
    Clearness, sun, and how steady the clearness is from row to row choose a correction of the
    Maxwell model. Against a year of hourly means at Graz it errs by less than the rule of Erbs with
    the clear sky's beam as its cap.

    References
    ----------
    R. Perez, P. Ineichen, E. Maxwell, R. Seals and A. Zelenka, Dynamic global-to-direct irradiance
    conversion models, ASHRAE Transactions 98 (1992) 354.

    Examples
    --------
    Half of the light that a high sun can give, hour after hour, is mostly diffuse:

    >>> dni, dhi = decompose_dirint([500.0] * 3, [55.0] * 3, [0.0, 3600.0, 7200.0], 101325.0)
    >>> bool(dhi[1] > dni[1])
    True
    """
    ghi = np.asarray(ghi_w_m2, dtype=float)
    up = np.maximum(np.sin(np.radians(np.asarray(sun_elevation_deg, dtype=float))), 0.0)
    zenith = 90.0 - np.asarray(sun_elevation_deg, dtype=float)
    times = pd.DatetimeIndex(np.asarray(time_s, dtype=float).astype("datetime64[s]"), tz="UTC")
    with warnings.catch_warnings():  # of pandas, to pvlib
        warnings.simplefilter("ignore", DeprecationWarning)
        found = pvlib.irradiance.dirint(ghi, zenith, times, pressure_pa)
    dni = np.maximum(np.nan_to_num(np.asarray(found, dtype=float)), 0.0)
    most = np.divide(ghi, up, out=np.zeros_like(ghi), where=up > MIN_COS_ZENITH)
    dni = np.where(np.isnan(ghi), np.nan, np.minimum(dni, most))
    return np.asarray(dni), np.asarray(ghi - dni * up)


def cloudy_sky(
    clear: ClearSky,
    sun: SunPosition,
    cloud_frac: ArrayLike,
    beam_shares_frac: ArrayLike,
    global_shares_frac: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return global, direct-normal and diffuse irradiance under a stated cloud cover.

    Parameters
    ----------
    clear : ClearSky
        The same sky without cloud.
    sun : SunPosition
        Where the sun is.
    cloud_frac : array_like
        Share of the sky covered, 0 to 1. [-]
    beam_shares_frac, global_shares_frac : array_like
        Mean direct and global irradiance over those of the clear sky at 0 to 8 oktas, (9,);
        linear between. The beam's share may not be the larger one. [-]

    Returns
    -------
    tuple of ndarray
        Global horizontal, direct normal, diffuse horizontal; `clear` itself where the shares are 1.
        [W/m2]

    Notes
    -----
    Diffuse is what is left of global. A mean over sun and cloud shadow, not one moment's sun. The
    beam goes with the hours of sunshine at that cloud, after J. Doorenbos and W. O. Pruitt, Crop
    water requirements, FAO Irrigation and Drainage Paper 24 (1977); no rule of the total light
    gives it.
    """
    oktas = 8.0 * np.asarray(cloud_frac, dtype=float)
    steps = np.arange(9.0)
    dni = np.interp(oktas, steps, np.asarray(beam_shares_frac)) * clear.dni_w_m2
    ghi = np.interp(oktas, steps, np.asarray(global_shares_frac)) * clear.ghi_w_m2
    beam = dni * np.maximum(np.sin(np.radians(sun.elevation_deg)), 0.0)
    dhi = np.maximum(ghi - beam, 0.0)
    return np.asarray(beam + dhi), np.asarray(dni), np.asarray(dhi)
