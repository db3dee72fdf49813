"""Wind on the box at its tilt: when it lets go, what holds it, how steep it may stand today."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.box import Box
from drybox.inputs.event.event import Event
from drybox.inputs.weather.weather import Weather
from drybox.inputs.weather.wind import BOX_HEIGHT_M
from drybox.physics.wind_on_box import (
    PropStand,
    gust_over_mean,
    holding_mass_kg,
    sliding_gust_m_s,
    tipping_gust_m_s,
)
from drybox.planning.aim.search import AimPlan
from drybox.tables import load_table

Stretch = tuple[float, float]

LEAST_TILT_DEG = 10.0
"""A box tilted less is as good as flat on the ground: wind does not get beneath
(judgement). [deg]"""

EVERY_S = 600.0

LEAST_SHARE = 0.1
"""A plate sheltered from more of the wind than the rest tells nothing of it (judgement). [-]"""

AT_CAP_DEG = 0.5
"""A tilt this close to the steepest that stands is held back by it (judgement). [deg]"""


@dataclass(frozen=True)
class WindOnBox:
    """What gusts at the box do to it at one tilt; ``gust_m_s`` is None where no wind was told.

    ``ballast_kg`` is what it lacks to stand the gusts reckoned, ``steeper_kg`` what would let it be
    tilted as steep as a prop allows, where they keep it from being so; flat under `LEAST_TILT_DEG`.
    """

    tilt_deg: float
    tips_m_s: float
    slides_m_s: float
    gust_m_s: float | None
    ballast_kg: float
    steeper_kg: float = 0.0

    @property
    def flat(self) -> bool:
        """Whether it lies flat, as good as safe from tipping."""
        return self.tilt_deg < LEAST_TILT_DEG

    @property
    def lets_go_m_s(self) -> float:
        """The gust at which it tips or slides, whichever comes first. [m/s]"""
        return min(self.tips_m_s, self.slides_m_s)

    @property
    def stands(self) -> bool:
        """Whether it stands the gusts reckoned; also where none are."""
        return self.flat or self.gust_m_s is None or self.gust_m_s <= self.lets_go_m_s


def prop_stand(box: Box) -> PropStand:
    """Return the box on its prop, with the coefficients by which is warned."""
    table = load_table("box_wind")
    return PropStand(
        mass_kg=box.mass_kg + box.ballast_kg,
        area_m2=box.wind_area_m2,
        pressure_coeff=table["pressure"]["warning"].value,
        push_frac=table["pressure"]["push"].value,
        friction_coeff=table["friction"]["ground"].value,
        air_density_kg_m3=table["air"]["density"].value,
    )


def gust_at_box_m_s(event: Event, stretch: Stretch) -> float | None:
    """Return the strongest gust at the box in a stretch; None where no wind was told. [m/s]

    Reckoned from gusts told at 10 m; else from the mean wind there, in any terrain, or from that
    felt at the plate and its turbulence on such ground: rows ``gust`` of table ``box_wind``.
    """
    rows = load_table("box_wind")["gust"]
    weather = event.weather
    if weather.gust_10m_m_s is not None:
        return _strongest(weather, weather.gust_10m_m_s, stretch) * rows["below_gust"].value
    if not weather.wind_told:
        return None
    if weather.felt_wind_m_s is not None:
        factor = gust_over_mean(
            BOX_HEIGHT_M,
            event.place.roughness_length_m,
            peak_factor=rows["peak_factor"].value,
            most_turbulence_frac=rows["most_turbulence"].value,
        )
        return factor * weather.felt_wind_m_s / max(event.box.wind_shelter_frac, LEAST_SHARE)
    if not np.isfinite(weather.wind_10m_m_s).any():
        return None
    return _strongest(weather, weather.wind_10m_m_s, stretch) * rows["near_ground"].value


def _strongest(weather: Weather, speed_m_s: Array, stretch: Stretch) -> float:
    """Return the highest value of a column in a stretch, between the middles of its rows. [m/s]"""
    known = np.isfinite(speed_m_s)
    moments = np.append(np.arange(stretch[0], stretch[1], EVERY_S), stretch[1])
    return float(np.interp(moments, weather.mid_at[known], speed_m_s[known]).max())


def wind_on_box(event: Event, tilt_deg: float, stretch: Stretch) -> WindOnBox:
    """Return what the wind of a stretch does to the box at a tilt."""
    stand, gust = prop_stand(event.box), gust_at_box_m_s(event, stretch)
    lacks = 0.0
    if gust is not None:
        lacks = max(float(mass) for mass in holding_mass_kg(stand, tilt_deg, gust)) - stand.mass_kg
    return WindOnBox(
        tilt_deg=tilt_deg,
        tips_m_s=float(tipping_gust_m_s(stand, tilt_deg)),
        slides_m_s=float(sliding_gust_m_s(stand, tilt_deg)),
        gust_m_s=gust,
        ballast_kg=max(lacks, 0.0),
    )


def most_tilt_in_wind_deg(event: Event, stretch: Stretch) -> float:
    """Return how steep the box may stand: as a prop holds, and as the gusts reckoned let it. [deg]

    0 where the gusts would take it at any tilt.
    """
    most = event.box.most_tilt_deg
    gust = gust_at_box_m_s(event, stretch)
    if gust is None:
        return most
    stand = prop_stand(event.box)
    tilts = np.append(np.arange(LEAST_TILT_DEG, most, 1.0), most)
    let_go = np.minimum(tipping_gust_m_s(stand, tilts), sliding_gust_m_s(stand, tilts))
    held = tilts[(let_go >= gust) & (tilts <= most)]
    return float(held.max()) if held.size else 0.0


def day_wind(event: Event, plan: AimPlan | None) -> WindOnBox | None:
    """Return what the wind does to the box at the steepest of its aims, None where unknown.

    A fixed aim is as steep as it was told, whatever the wind lets stand.
    """
    box = event.box
    if box.aim_tilt_deg is not None:
        return wind_on_box(event, box.aim_tilt_deg, (event.aimed_from_s, event.closes_at))
    if plan is None:
        return None
    aims = plan.aims(box.aim_mode)
    tilt, stretch = max(aim.tilt_deg for aim in aims), (aims[0].from_at, aims[-1].until_at)
    found = wind_on_box(event, tilt, stretch)
    if plan.most_tilt_deg >= box.most_tilt_deg or tilt < plan.most_tilt_deg - AT_CAP_DEG:
        return found  # the light asks for no more
    return replace(found, steeper_kg=wind_on_box(event, box.most_tilt_deg, stretch).ballast_kg)
