"""What is not known of the weather, the box and the prints, drawn by a seed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from drybox.inputs.calibration_store import OWN, KeptFit
from drybox.planning.conditions import Conditions
from drybox.planning.models import PrintDraw
from drybox.tables import load_table

Array = NDArray[np.float64]

OVERCAST_SHARE = 0.25
"""Global light under a closed sky over that of the clear sky (Kasten and Czeplak 1980). [-]"""

SHIFTS = ("air_temp", "humidity", "wind_log", "cloud", "beam_log")
"""What a whole day is off by; columns of the table ``spreads``."""

LEAST_SUN, MOST_SUN = 0.005, 0.995
"""Share of time in sun is kept off the ends, where a normal score has none. [-]"""


@dataclass(frozen=True)
class Ensemble:
    """Members of a day: conditions (members, times), prints, shelter and line (members,).

    ``shelter_factor`` multiplies the share of the wind that reaches the plate, ``line_factor``
    that which reaches prints dried off the box.
    """

    conditions: Conditions
    prints: PrintDraw
    shelter_factor: Array
    line_factor: Array | float = 1.0

    @property
    def members(self) -> int:
        """How many."""
        return int(self.shelter_factor.size)

    def of_members(
        self, rows: NDArray[np.intp], weathers: NDArray[np.intp] | None = None
    ) -> Ensemble:
        """Return some members, in the order given, or their boxes and prints in other weathers."""
        of = rows if weathers is None else weathers
        day = self.conditions.changed(lambda column: column[of] if column.ndim == 2 else column)
        line = np.broadcast_to(self.line_factor, self.members)[rows]
        return Ensemble(day, self.prints.of(rows), self.shelter_factor[rows], line)

    def of_times(self, columns: slice) -> Ensemble:
        """Return the same members over some of the times."""
        day = self.conditions.changed(lambda column: column[..., columns])
        return replace(self, conditions=replace(day, time_s=day.time_s[columns]))


def normal_scores(rng: np.random.Generator, members: int) -> Array:
    """Return standard normal scores, one from each of as many equal slices, shuffled.

    Stratified, so that percentiles of a few hundred members are steady from seed to seed.
    """
    slices = (rng.permutation(members) + rng.random(members)) / members
    return np.asarray(ndtri(slices))


def draw(
    base: Conditions, kind: str, members: int, seed: int, fits: KeptFit | None = None
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
    fits : KeptFit, optional
        What the user's own notes say of box, hand and paper; without it they are drawn from the
        spreads of all boxes, hands and papers (item ``own``).

    Returns
    -------
    Ensemble
        Members.

    Notes
    -----
    Air temperature, humidity and wind are shifted for the whole day. The share of time in sun
    (direct over clear-sky direct) is shifted on the normal score; within it sun and shade change by
    the minute (`sun_and_shade`), since a plate lives on minutes. Diffuse light goes with the
    member's own share of sun. What differs from one print to
    the next (item ``print``) comes on top of what is one's own. Spreads: table ``spreads``; where
    it is known when a forecast was made they grow with its lead time, see `weather_spreads`.
    """
    table = load_table("spreads")
    rng = np.random.default_rng(seed)
    spread = weather_spreads(kind, base.time_s, base.issued_s)
    scores = {name: normal_scores(rng, members)[:, None] for name in SHIFTS}
    _, own_share = sun_shares(base, spread["cloud"] * scores["cloud"])
    lasts = table["broken_cloud"]["lasts"].value
    in_sun = sun_and_shade(rng, own_share, float(base.time_s[1] - base.time_s[0]), lasts)
    weather = shifted_day(base, spread, scores, in_sun)
    return Ensemble(weather, *draw_prints(prints_rng(seed), members, fits))


def weather_spreads(
    kind: str, time_s: Array, issued_s: float | None = None
) -> dict[str, Array | float]:
    """Return the standard deviation of each of `SHIFTS`, over the times where it grows.

    Parameters
    ----------
    kind : str
        As in `draw`.
    time_s : array
        Unix times. [s]
    issued_s : float, optional
        When the forecast was made; without it the spread is that of one day ahead. [s]

    Notes
    -----
    Table ``spreads`` times the factor of table ``lead_times``, linear between the days it gives
    and held past the last.
    """
    spread: dict[str, Array | float] = {
        name: row.value for name, row in load_table("spreads")[kind].items()
    }
    if kind != "forecast" or issued_s is None:
        return spread
    lead_days = np.maximum(time_s - issued_s, 0.0) / 86400.0
    for name, rows in load_table("lead_times").items():
        days = [float(row.removeprefix("day_")) for row in rows]
        factor = np.interp(lead_days, days, [row.value for row in rows.values()])
        spread[name] = spread[name] * factor
    return spread


def prints_rng(seed: int) -> np.random.Generator:
    """Return the generator of boxes and prints, so that every command draws the same ones."""
    return np.random.default_rng(seed).spawn(1)[0]


def draw_prints(
    rng: np.random.Generator, members: int, fits: KeptFit | None = None
) -> tuple[PrintDraw, Array, Array]:
    """Return as many prints, shelter factors and line factors, as in `draw`.

    They are the first print of every member's day, see `draw_tickets`.
    """
    own, prints = draw_tickets(rng, members, 1, fits)
    logs = {**own, **{name: own.get(name, 0.0) + value[:, 0] for name, value in prints.items()}}
    logs["absorptance"] = own["absorptance"]
    drawn = PrintDraw.from_logs(logs, prints["absorptance"][:, 0])
    return drawn, np.exp(own["shelter_log"]), np.exp(own["line_log"])


def draw_tickets(
    rng: np.random.Generator, members: int, tickets: int, fits: KeptFit | None = None
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Return what is one's own in each member, and what each of its prints differs by.

    Parameters
    ----------
    rng : Generator
        Draws them; print k of member m is the same however many are asked for.
    members, tickets : int
        How many.
    fits : KeptFit, optional
        As in `draw`.

    Returns
    -------
    own, prints : dict of str to array
        By the names of items ``own`` and ``print`` of table ``spreads``, (members,) and
        (members, tickets).
    """
    own_rng, sheets_rng = rng.spawn(2)
    spread = {name: row.value for name, row in load_table("spreads")["print"].items()}
    each = [
        {name: sd * normal_scores(sheet_rng, members) for name, sd in spread.items()}
        for sheet_rng in sheets_rng.spawn(max(tickets, 1))
    ]
    prints = {name: np.stack([sheet[name] for sheet in each], axis=1) for name in spread}
    return own_draws(fits, members, own_rng), prints


def own_draws(fits: KeptFit | None, members: int, rng: np.random.Generator) -> dict[str, Array]:
    """Return what is one's own in each member: from the fit's draws, else from all there are."""
    if fits is None:
        spread = load_table("spreads")["own"]
        return {name: spread[name].value * normal_scores(rng, members) for name in OWN}
    kept = next(iter(fits.draws.values())).size
    row = rng.permutation(members) * kept // members  # each draw as often as the next
    return {name: fits.draws[name][row] for name in OWN}


def sun_shares(base: Conditions, shift: Array) -> tuple[Array, Array]:
    """Return the share of time in sun as told, and shifted on its normal score."""
    clear = base.clear.dni_w_m2
    share = np.clip(base.dni_w_m2 / np.maximum(clear, 1.0), LEAST_SUN, MOST_SUN)
    share = np.where(clear > 1.0, share, MOST_SUN)
    return share, np.clip(ndtr(ndtri(share) + shift), LEAST_SUN, MOST_SUN)


def shifted_day(
    base: Conditions,
    spread: Mapping[str, Array | float],
    scores: Mapping[str, Array],
    in_sun: Array | None = None,
) -> Conditions:
    """Return the day moved by so many standard deviations.

    Parameters
    ----------
    base : Conditions
        As told, (times,).
    spread : mapping
        Standard deviation of each of `SHIFTS`, as `weather_spreads` gives them.
    scores : mapping
        How many of them, (members, 1); what is left out stays as told.
    in_sun : array, optional
        Share of each minute in full sun, (members, times); by default the share of sun.

    Returns
    -------
    Conditions
        (members, times).
    """

    def by(name: str) -> Array:
        return np.asarray(spread[name] * scores.get(name, np.zeros((1, 1))))

    share, own = sun_shares(base, by("cloud"))
    lit = own if in_sun is None else in_sun
    haze = np.exp(np.minimum(by("beam_log"), 0.1))
    dni = lit * np.minimum(base.clear.dni_w_m2 * haze, base.clear.dni_extra_w_m2)
    spare = np.maximum(base.clear.dhi_w_m2 - OVERCAST_SHARE * base.clear.ghi_w_m2, -base.dhi_w_m2)
    dhi = np.maximum(base.dhi_w_m2 + (own - share) * spare, 0.1 * base.clear.dhi_w_m2)
    up = np.maximum(np.sin(np.deg2rad(base.sun.elevation_deg)), 0.0)
    whole = np.broadcast_shapes(dni.shape, dhi.shape, by("air_temp").shape, by("wind_log").shape)

    def each(values: Array) -> Array:
        return np.broadcast_to(values, whole)

    return replace(
        base,
        ghi_w_m2=each(dni * up + dhi),
        dni_w_m2=each(dni),
        dhi_w_m2=each(dhi),
        air_temp_k=each(base.air_temp_k + by("air_temp")),
        humidity_frac=each(np.clip(base.humidity_frac + by("humidity"), 0.03, 0.99)),
        wind_10m_m_s=each(base.wind_10m_m_s * np.exp(by("wind_log"))),
        cloud_frac=each(np.clip(base.cloud_frac + (share - own), 0.0, 1.0)),
    )


def sun_and_shade(rng: np.random.Generator, share: Array, step_s: float, lasts_s: float) -> Array:
    """Return how much of the full sun there is at each minute, 0 in shade to 1.

    Parameters
    ----------
    rng : Generator
        Draws it.
    share : array
        Share of sun wanted at each time, (members, times). [-]
    step_s, lasts_s : float
        Between times, and how long sun or shade lasts. [s]

    Returns
    -------
    array
        (members, times). [-]

    Notes
    -----
    An Ornstein-Uhlenbeck process w past a threshold q with a soft edge d, since clouds have thin
    edges and holes: ``Phi((q - w)/d)``. With ``q = Phi^-1(share) sqrt(1 + d^2)`` its mean is the
    share for any d. The edge is the row ``broken_cloud/softness`` of table ``spreads``.
    """
    soft = load_table("spreads")["broken_cloud"]["softness"].value
    keep = float(np.exp(-step_s / lasts_s))
    walk: Array = rng.standard_normal(share.shape[::-1])
    walk[1:] *= np.sqrt(1 - keep**2)
    for now in range(1, walk.shape[0]):
        walk[now] += keep * walk[now - 1]
    edge = ndtri(share) * np.sqrt(1 + soft**2)
    return np.asarray(ndtr((edge - walk.T) / soft))


def as_told(base: Conditions, fits: KeptFit | None = None) -> Ensemble:
    """Return the one member in which everything is as told, and what is one's own in its middle."""

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
    middle = {name: float(np.median(fits.draws[name])) if fits else 0.0 for name in OWN}
    prints = PrintDraw.from_logs(middle)
    shelter, line = (np.exp([middle[name]]) for name in ("shelter_log", "line_log"))
    return Ensemble(single, prints, shelter, line)
