"""What is not known of the weather, the box and the prints, drawn by a seed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from drybox.planning.conditions import Conditions
from drybox.planning.models import PrintDraw
from drybox.tables import load_table

Array = NDArray[np.float64]

OVERCAST_SHARE = 0.25
"""Global light under a closed sky over that of the clear sky (Kasten and Czeplak 1980). [-]"""

LEAST_SUN, MOST_SUN = 0.005, 0.995
"""Share of time in sun is kept off the ends, where a normal score has none. [-]"""


@dataclass(frozen=True)
class Ensemble:
    """Members of a day: conditions (members, times), prints and shelter (members,)."""

    conditions: Conditions
    prints: PrintDraw
    shelter_factor: Array

    @property
    def members(self) -> int:
        """How many."""
        return int(self.shelter_factor.size)

    def prints_for(self, member: NDArray[np.intp]) -> PrintDraw:
        """Return the prints and boxes of some cases, one entry a case."""
        parts = {name: getattr(self.prints, name) for name in self.prints.__dataclass_fields__}
        return PrintDraw(
            **{name: part[member] if np.ndim(part) else part for name, part in parts.items()}
        )


def _scores(rng: np.random.Generator, members: int) -> Array:
    """Return standard normal scores, one from each of as many equal slices, shuffled.

    Stratified, so that percentiles of a few hundred members are steady from seed to seed.
    """
    slices = (rng.permutation(members) + rng.random(members)) / members
    return np.asarray(ndtri(slices))


def draw(
    base: Conditions, kind: str, members: int, seed: int, fits: PrintDraw | None = None
) -> Ensemble:
    """Return drawn weather, boxes and prints around the conditions told.

    Parameters
    ----------
    base : Conditions
        As told, (times,).
    kind : str
        ``assumed``, ``steady``, ``forecast`` or ``typical_year``: a row set of table ``spreads``.
    members : int
        How many.
    seed : int
        Same seed, same draws.
    fits : PrintDraw, optional
        Factors fitted to the user's own measurements, drawn elsewhere.

    Returns
    -------
    Ensemble
        Members.

    Notes
    -----
    Air temperature, humidity and wind are shifted for the whole day. The share of time in sun
    (direct over clear-sky direct) is shifted on the normal score; within it each minute is in full
    sun or in shade, by an Ornstein-Uhlenbeck process over a threshold, since a plate lives on
    minutes. Diffuse light goes with the member's own share of sun. Spreads: table ``spreads``.
    """
    spread, prints, box = (load_table("spreads")[name] for name in (kind, "print", "box"))
    rng = np.random.default_rng(seed)

    def column() -> Array:
        return _scores(rng, members)[:, None]

    air = base.air_temp_k + spread["air_temp"].value * column()
    humidity = np.clip(base.humidity_frac + spread["humidity"].value * column(), 0.03, 0.99)
    wind = base.wind_10m_m_s * np.exp(spread["wind_log"].value * column())
    shift = spread["cloud"].value * column()
    haze = np.exp(np.minimum(spread["beam_log"].value * column(), 0.1))

    clear = base.clear.dni_w_m2
    share = np.clip(base.dni_w_m2 / np.maximum(clear, 1.0), LEAST_SUN, MOST_SUN)
    share = np.where(clear > 1.0, share, MOST_SUN)
    own = np.clip(ndtr(ndtri(share) + shift), LEAST_SUN, MOST_SUN)
    lasts = load_table("spreads")["broken_cloud"]["lasts"].value
    in_sun = _sun_and_shade(rng, own, float(base.time_s[1] - base.time_s[0]), lasts)
    dni = in_sun * np.minimum(clear * haze, base.clear.dni_extra_w_m2)
    spare = np.maximum(base.clear.dhi_w_m2 - OVERCAST_SHARE * base.clear.ghi_w_m2, -base.dhi_w_m2)
    dhi = np.maximum(base.dhi_w_m2 + (own - share) * spare, 0.1 * base.clear.dhi_w_m2)
    up = np.maximum(np.sin(np.deg2rad(base.sun.elevation_deg)), 0.0)
    weather = replace(
        base,
        ghi_w_m2=dni * up + dhi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        air_temp_k=air,
        humidity_frac=humidity,
        wind_10m_m_s=wind,
        cloud_frac=np.clip(base.cloud_frac + (share - own), 0.0, 1.0),
    )

    def score() -> Array:
        return _scores(rng, members)

    sheets = fits or PrintDraw(
        water_factor=np.exp(prints["water_log"].value * score()),
        contact_factor=np.exp(prints["contact_log"].value * score()),
        resistance_factor=np.exp(prints["resistance_log"].value * score()),
        print_absorptance_shift=prints["absorptance"].value * score(),
        convection_factor=np.exp(box["convection_log"].value * score()),
        plate_absorptance_shift=box["absorptance"].value * score(),
    )
    shelter = np.exp(box["shelter_log"].value * score())
    return Ensemble(weather, sheets, shelter)


def _sun_and_shade(rng: np.random.Generator, share: Array, step_s: float, lasts_s: float) -> Array:
    """Return 1 in sun and 0 in shade, with the share of sun wanted at each minute."""
    keep = float(np.exp(-step_s / lasts_s))
    walk: Array = rng.standard_normal(share.shape[::-1])
    walk[1:] *= np.sqrt(1 - keep**2)
    for now in range(1, walk.shape[0]):
        walk[now] += keep * walk[now - 1]
    walk = walk.T
    return np.asarray(ndtr(walk) < share, dtype=float)


def as_told(base: Conditions) -> Ensemble:
    """Return the one member in which everything is as told."""

    def row(values: Array) -> Array:
        return np.asarray(values)[None, :]

    single = replace(
        base,
        ghi_w_m2=row(base.ghi_w_m2),
        dni_w_m2=row(base.dni_w_m2),
        dhi_w_m2=row(base.dhi_w_m2),
        air_temp_k=row(base.air_temp_k),
        humidity_frac=row(base.humidity_frac),
        wind_10m_m_s=row(base.wind_10m_m_s),
        cloud_frac=row(base.cloud_frac),
    )
    return Ensemble(single, PrintDraw(), np.ones(1))
