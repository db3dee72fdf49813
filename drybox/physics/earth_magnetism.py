"""How far a compass points from true north: the World Magnetic Model 2025."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from pygeomag import GeoMag, GeoMagResult
from pygeomag.wmm.wmm_2025 import WMM_2025

FIRST_YEAR, LAST_YEAR = 2025.0, 2030.0

#: Horizontal field below which a compass is unreliable, and below which it is of no use. [nT]
CAUTION_ZONE_NT, BLACKOUT_ZONE_NT = 6000.0, 2000.0


@dataclass(frozen=True)
class Declination:
    """Magnetic declination, east positive: true bearing = compass bearing + declination.

    ``degrees`` and ``uncertainty_deg`` (one standard deviation) are None for a year outside the
    model. ``caution`` is a sentence for people wherever the figure is not to be trusted.
    """

    degrees: float | None
    uncertainty_deg: float | None
    caution: str | None


@cache
def _model() -> GeoMag:
    return GeoMag(coefficients_data=WMM_2025)


def declination_deg(
    latitude_deg: float, longitude_deg: float, elevation_m: float, decimal_year: float
) -> Declination:
    """Return the magnetic declination at a place and time.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        North and east positive. [deg]
    elevation_m : float
        Above sea level, −1 to 850 km. [m]
    decimal_year : float
        Such as 2026.5 for the middle of 2026. [year]

    Returns
    -------
    Declination
        East positive, with its uncertainty. [deg]

    Notes
    -----
    The model has the field of the core only: iron nearby, buried or in the box itself, is left
    out and may turn a needle by many degrees. Uncertainty: √(0.26² + (5417/H)²), with the
    horizontal field H in nT.

    References
    ----------
    A. Chulliat and others, The US/UK World Magnetic Model for 2025–2030, NOAA/NCEI and BGS.

    Examples
    --------
    Row declination-readme: 15.07° east.

    >>> found = declination_deg(47.6205, -122.3493, 0.0, 2025.25)
    >>> round(found.degrees, 2), round(found.uncertainty_deg, 1), found.caution
    (15.07, 0.4, None)
    >>> declination_deg(47.6205, -122.3493, 0.0, 2031.0).caution
    'no declination: the magnetic model holds from 2025 to 2029; aim by the sun, not the compass'
    """
    if not FIRST_YEAR <= decimal_year <= LAST_YEAR:
        return Declination(
            None,
            None,
            f"no declination: the magnetic model holds from {FIRST_YEAR:.0f} to "
            f"{LAST_YEAR - 1:.0f}; aim by the sun, not the compass",
        )
    field: GeoMagResult = _model().calculate(
        latitude_deg, longitude_deg, elevation_m / 1000.0, decimal_year
    )
    return Declination(
        float(field.d), float(field.calculate_uncertainty().d), _caution(float(field.h))
    )


def _caution(horizontal_nt: float) -> str | None:
    if horizontal_nt < BLACKOUT_ZONE_NT:
        return "so near a magnetic pole a compass is of no use; aim by the sun"
    if horizontal_nt < CAUTION_ZONE_NT:
        return "near a magnetic pole a compass may be degrees off; aim by the sun"
    return None
