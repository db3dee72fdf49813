"""What no event day can know beforehand, drawn by a seed: arrivals, hands, prints, weather."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.special import ndtri

from drybox.arrays import Array
from drybox.inputs.event.day import Day, DayInputs
from drybox.inputs.event.event import Event
from drybox.planning.scenario.conditions import Conditions
from drybox.planning.scenario.models import PrintDraw
from drybox.planning.scenario.readings import Pairs, Readings, candidates, pairs_seen, usable
from drybox.planning.scenario.samples import Ensemble, draw_on, draw_tickets, prints_rng
from drybox.planning.wet.baths import stage_times

QUICKEST = 0.3
"""No line is ever this much quicker, as a share of its usual time, over a whole day."""


@dataclass(frozen=True)
class Ticket:
    """One print to be made: its number as called out, whose it is, a promise already given.

    ``sitter`` is the number of the sitter's first print: 7 for 7 and for 7.2.
    ``promised_as`` is the state it was promised in: ``dry``, ``touch_dry`` or ``damp``.
    """

    label: str
    sitter: str
    name: str = ""
    promised_at: float | None = None
    promised_as: str = "dry"


@dataclass(frozen=True, eq=False)
class HandDraws:
    """Who comes when, and how long hands take; by ticket, (members, tickets).

    ``arrive_at`` is infinite for one who does not come.
    """

    tickets: tuple[Ticket, ...]
    arrive_at: Array
    sitting_factor: Array
    stage_factor: Array


@dataclass(frozen=True, eq=False)
class DayDraws(HandDraws):
    """Members of one event day; everything by ticket is (members, tickets).

    ``ensemble`` holds the weather and what is the same all day long; the factors hold what
    differs from print to print besides. ``readings`` are those of the day that they are conditioned
    on.
    """

    water_factor: Array
    contact_factor: Array
    absorptance_shift: Array
    ensemble: Ensemble
    readings: Readings = field(default_factory=Readings)

    def paired(self, pairs: Pairs) -> DayDraws:
        """Return some of the days, each with the weather of its pair."""
        columns: dict[str, Any] = {
            name: value[pairs.boxes]
            for name in self.__dataclass_fields__
            if isinstance(value := getattr(self, name), np.ndarray)
        }
        ensemble = self.ensemble.of_members(pairs.boxes, pairs.weathers)
        return replace(self, **columns, ensemble=ensemble, readings=pairs.readings)


def _tickets(sitter: str, prints: int, **told: Any) -> list[Ticket]:
    """Return a ticket for each print of a sitter: 7 and 7.2 of one with two prints."""
    labels = [sitter, *(f"{sitter}.{number}" for number in range(2, prints + 1))]
    return [Ticket(label, sitter, **told) for label in labels]


def _most_tickets(event: Event, inputs: DayInputs) -> int:
    """Return more tickets than the hands can serve in any draw of the day."""
    day, stages = inputs.day, stage_times(inputs.process)
    attended_s = sum(stage.duration_s for stage in stages if stage.attended)
    usual_s = QUICKEST * (day.sitting_s + attended_s + day.finishing_s)
    return int((event.closes_at - event.opens_at) * day.operators / usual_s) + 20


def draw_day(
    event: Event,
    inputs: DayInputs,
    told: Conditions,
    *,
    members: int,
    seed: int,
    most: int | None = None,
) -> DayDraws:
    """Return drawn days of the weather as told; the same seed gives the same days.

    Tickets beyond ``most`` are left out, by default what no hands could serve.

    Sittings and runs of stages are log-normal about their usual time (table ``day``). Water,
    contact and darkness differ from print to print (item ``print`` of table ``spreads``); box,
    paper and the hand's own way are one draw a day (item ``own``). Chance arrivals are Poisson.
    Boxes and weathers that disagree with what was read on the day are passed over (`pairs_seen`).
    """
    if usable(event, float(told.time_at[-1])):
        wide = _drawn(event, inputs, told, members=candidates(members), seed=seed, most=most)
        pairs = pairs_seen(event, told, wide.ensemble, members=members, seed=seed)
        if pairs is not None:
            return wide.paired(pairs)
    return _drawn(event, inputs, told, members=members, seed=seed, most=most)


def draw_hands(
    event: Event, inputs: DayInputs, members: int, *, seed: int, most: int | None = None
) -> HandDraws:
    """Return the arrivals and hands of drawn days, as `draw_day` without readings has them."""
    rng, day = np.random.default_rng([seed, 1]), inputs.day
    most = _most_tickets(event, inputs) if most is None else most
    tickets, arrive = _arrivals(event, day, members, most=most, rng=rng)

    def factor(spread_log: float) -> Array:
        """Return factors by normal scores, of each ticket one from each of as many slices."""
        slices = np.tile(np.arange(members, dtype=float)[:, None], (1, len(tickets)))
        shuffled = rng.permuted(slices, axis=0)
        scores = ndtri((shuffled + rng.random(slices.shape)) / members)
        return np.asarray(np.exp(spread_log * scores))

    return HandDraws(
        tickets=tickets,
        arrive_at=arrive,
        sitting_factor=factor(day.sitting_spread_log),
        stage_factor=factor(day.stage_spread_log),
    )


def _drawn(
    event: Event,
    inputs: DayInputs,
    told: Conditions,
    *,
    members: int,
    seed: int,
    most: int | None,
) -> DayDraws:
    weather = draw_on(event, told, members, seed=seed)
    hands = draw_hands(event, inputs, members, seed=seed, most=most)
    count = len(hands.tickets)
    own, prints = draw_tickets(prints_rng(seed), members, count, fits=event.fit)

    # what differs by the ticket is carried beside; the rest is that of the first print
    logs = {**own, "resistance_log": own["resistance_log"] + prints["resistance_log"][:, 0]}
    ensemble = replace(weather, prints=PrintDraw.from_logs(logs, np.zeros(members)))
    return DayDraws(
        **vars(hands),
        water_factor=np.exp(own["water_log"][:, None] + prints["water_log"][:, :count]),
        contact_factor=np.exp(own["contact_log"][:, None] + prints["contact_log"][:, :count]),
        absorptance_shift=prints["absorptance"][:, :count],
        ensemble=ensemble,
    )


def _arrivals(
    event: Event, day: Day, members: int, *, most: int, rng: np.random.Generator
) -> tuple[tuple[Ticket, ...], Array]:
    """Return the tickets and when each comes in each member; by chance where a rate is told."""
    if day.rate_1_s is None:
        tickets, arrive_at = [], []
        for one in day.sitters:
            own = _tickets(one.ticket, one.prints, name=one.name, promised_at=one.promised_at)
            tickets += own
            arrive_at += [float(one.at)] * len(own)
        return tuple(tickets[:most]), np.tile(arrive_at[:most], (members, 1))
    expected = day.rate_1_s * (event.closes_at - event.opens_at)
    sitters = min(int(expected + 5 * np.sqrt(expected)) + 5, most // day.prints + 1)
    gaps = rng.exponential(1 / day.rate_1_s, (members, sitters))
    arrive = event.opens_at + np.cumsum(gaps, axis=1)
    arrive[arrive >= event.closes_at] = np.inf
    tickets = [each for k in range(sitters) for each in _tickets(str(k + 1), day.prints)]
    return tuple(tickets), np.repeat(arrive, day.prints, axis=1)
