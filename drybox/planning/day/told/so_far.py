"""What has happened so far on the day itself: the notes of it, fixed in every drawn day."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from drybox.arrays import Array, Flags, Index
from drybox.inputs.event.day import LINES, DayInputs
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import LAID_ON
from drybox.inputs.notes.day_notes import sun_gone_spans
from drybox.inputs.notes.note import Note
from drybox.planning.day.plate_and_line import HANDS_EVERY_S, DayRun
from drybox.planning.day.samples import DayDraws, Ticket
from drybox.planning.day.stages import Resources, SetUp, WetDay, no_water, wet_day
from drybox.planning.day.told.sun_gone import without_gone_sun
from drybox.planning.scenario.conditions import SUNSHINE_W_M2
from drybox.planning.scenario.percentiles import UNKNOWN, Range, range_of
from drybox.tables import load_table

STAGES = ("sat", "laid", "touch", "dry", "handed")
FEWEST, FEWEST_FRAC = 5, 0.05
"""Where no more draws than that agree with a print still being wet, it is overdue: all count
(judgement)."""

PRINTS_LOG = 0.3
"""Spread of the drying times of a day's prints where fewer than two tell it (judgement)."""

LEAST_APART_FRAC = 0.25
"""Share of the draws that must count in effect after weighing (judgement)."""


@dataclass(frozen=True, eq=False)
class Now:
    """What was noted by an instant of each ticket, NaN where nothing was; (tickets,) each.

    ``kinds`` are the kinds of note written that day: of a kind that is written, a ticket without
    one has not come so far. ``ways`` is that of each print laid on, by column; ``sun`` when it was
    seen to be there or gone; ``strangers`` are tickets noted that are none of the day's, ``unlaid``
    those noted dry and not laid on though others are: taken for slips, ``left_out`` those not noted
    to have sat though a later one is: taken not to come. ``gone_s`` is from when until when the sun
    was noted gone, the last until infinity where it is not back; ``back_at`` is when it comes back
    then.
    """

    now_at: float
    noted_s: dict[str, Array]
    kinds: frozenset[str]
    ways: dict[int, str]
    sun: tuple[tuple[float, bool], ...]
    strangers: tuple[str, ...]
    unlaid: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    gone_s: tuple[tuple[float, float], ...] = ()
    back_at: Range = UNKNOWN

    def stage(self, column: int) -> str:
        """Return the last stage noted of a ticket, empty where there is none."""
        noted = [name for name in STAGES if np.isfinite(self.noted_s[name][column])]
        return noted[-1] if noted else ""

    @property
    def lies(self) -> Flags:
        """Which tickets lie there wet, as far as is noted, (tickets,)."""
        at = self.noted_s
        return np.asarray(np.isfinite(at["laid"]) & np.isnan(at["dry"]) & np.isnan(at["handed"]))

    @property
    def any(self) -> Flags:
        """Of which tickets anything is noted, (tickets,)."""
        return np.asarray(np.isfinite(np.stack([*self.noted_s.values()])).any(axis=0))


def is_slip(note: Note, unlaid: tuple[str, ...]) -> bool:
    """Return whether a note says dry of one of the prints that were never laid on."""
    return note.kind in ("touch", "dry") and note.ticket in unlaid


def so_far(event: Event, tickets: tuple[Ticket, ...], now_at: float) -> Now:
    """Return what the notes of the day say of its tickets; the last note of a kind counts.

    A print laid on anew is wet again. One noted dry and never laid on is not counted so where
    others are noted to be laid on, unless it is handed over.
    """
    column = {ticket.label: number for number, ticket in enumerate(tickets)}
    at = {name: np.full(len(tickets), np.nan) for name in STAGES}
    ways: dict[int, str] = {}
    for note in event.noted:
        if note.kind in STAGES and note.ticket in column:
            at[note.kind][column[note.ticket]] = note.at_s
            if note.kind == "laid":
                at["touch"][column[note.ticket]] = at["dry"][column[note.ticket]] = np.nan
            if note.way or note.kind == "laid":
                ways[column[note.ticket]] = note.way or LAID_ON
    dried = np.isfinite(np.fmin(at["touch"], at["dry"])) & np.isnan(at["handed"])
    slips = dried & np.isnan(at["laid"]) & any(note.kind == "laid" for note in event.noted)
    at["touch"][slips] = at["dry"][slips] = np.nan
    unlaid = tuple(tickets[place].label for place in np.flatnonzero(slips))
    strangers = {n.ticket for n in event.noted if n.ticket and n.ticket not in column}
    return Now(
        now_at=now_at,
        noted_s=at,
        kinds=frozenset(note.kind for note in event.noted if not is_slip(note, unlaid)),
        ways=ways,
        sun=tuple((n.at_s, n.state == "back") for n in event.noted if n.kind == "sun"),
        gone_s=sun_gone_spans(event.noted),
        strangers=tuple(sorted(strangers)),
        unlaid=unlaid,
    )


class Underway:
    """Drawn days whose past, up to an instant, is as noted in the event.

    Attributes
    ----------
    draws : DayDraws
        With those who have sat, and those still to come, at their times, and the sun as noted.
    sky : Conditions
        The weather as drawn before the sun was noted.
    now : Now
        What was noted.
    sat_at : array
        When each ticket sat, NaN where it has not, (tickets,). [s]
    """

    def __init__(
        self,
        event: Event,
        inputs: DayInputs,
        draws: DayDraws,
        *,
        resources: Resources,
        now_at: float,
    ) -> None:
        self.event, self.inputs, self.resources = event, inputs, resources
        self.now = so_far(event, draws.tickets, now_at)
        self.members, self.tickets = draws.arrive_at.shape
        self.sat_at = self._sat(draws)
        self.sky = draws.ensemble.conditions
        arrive_at = self._arrivals(draws)
        ensemble, back_at = without_gone_sun(draws.ensemble, self.now.gone_s, now_at)
        self.draws = replace(draws, arrive_at=arrive_at, ensemble=ensemble)
        if back_at is not None:
            self.now = replace(self.now, back_at=range_of(back_at))

    def _sat(self, draws: DayDraws) -> Array:
        """Return when tickets sat, as noted, or as the wet line usually takes before what is."""
        at = self.now.noted_s
        sat = at["sat"].copy()
        first = np.fmin.reduce([at[name] for name in STAGES[1:]])
        guess = np.isnan(sat) & np.isfinite(first)
        if guess.any():
            wet = wet_day(self.inputs, self.resources, draws, closes_at=self.event.closes_at)
            washed_at = np.where(np.isfinite(wet.wash.washed_at), wet.wash.washed_at, np.nan)
            took_s = washed_at + self.inputs.day.squeegee_s - wet.sat_at
            sat[guess] = first[guess] - np.nanmedian(took_s)
        return np.asarray(sat)

    def _arrivals(self, draws: DayDraws) -> Array:
        """Return when tickets come: those noted, by their sitting at the latest, others from now.

        Where sittings are noted, one not noted before another is taken not to come.
        """
        comes, now = draws.arrive_at.copy(), self.now.now_at
        sat = np.isfinite(self.sat_at)
        comes[:, sat] = np.minimum(comes[:, sat], self.sat_at[sat])
        if "sat" not in self.now.kinds:
            return comes
        labels = [ticket.label for ticket in draws.tickets]
        bases = {label for label, known in zip(labels, sat, strict=True) if known}
        more = np.array([ticket.sitter in bases for ticket in draws.tickets], dtype=bool)
        last = int(np.flatnonzero(sat).max(initial=-1))
        column = np.arange(sat.size)
        missed = (column <= last) & ~sat & ~more
        left = tuple(labels[place] for place in np.flatnonzero(missed))
        self.now = replace(self.now, left_out=left)
        comes[:, missed] = np.inf
        after = (column > last) & ~sat
        if self.inputs.day.rate_1_s is None:
            comes[:, after] = np.maximum(comes[:, after], now)
            return comes
        drawn, before = draws.arrive_at[:, after], draws.arrive_at[:, max(last, 0)][:, None]
        with np.errstate(invalid="ignore"):
            gaps = np.diff(drawn, axis=1, prepend=before)
        gaps = np.where(np.isfinite(gaps), gaps, np.inf)
        comes[:, after] = now + np.cumsum(gaps, axis=1)
        comes[comes >= self.event.closes_at] = np.inf
        return comes

    def wet(self) -> WetDay:
        """Return the wet part: sittings and laying-on as noted, the rest not before now."""
        squeegee_s, laid = self.inputs.day.squeegee_s, self.now.noted_s["laid"]
        comes = np.where(np.isfinite(self.sat_at), self.sat_at, self.draws.arrive_at)
        usual = wet_day(
            self.inputs,
            self.resources,
            replace(self.draws, arrive_at=comes),
            closes_at=self.event.closes_at,
            sat_at=self.sat_at,
        )
        washed = np.fmin(usual.wash.washed_at, laid - squeegee_s)
        wash = replace(
            usual.wash, begun_at=np.minimum(usual.wash.begun_at, washed), washed_at=washed
        )
        ready = usual.wash.washed_at + squeegee_s
        if "laid" in self.now.kinds:
            ready = np.maximum(ready, self.now.now_at)
        ready = np.where(np.isfinite(laid), laid, ready)
        short = no_water(self.resources, wash) & ~np.isfinite(laid)
        return replace(usual, wash=wash, lay_at=np.where(short, np.inf, ready), short=short)

    def ways(self) -> dict[int, str]:
        """Return the way of each print laid on, by column: as noted, else `LAID_ON`.

        One that takes no part in the day, or has no place, is left out, to be chosen.
        """
        found = {}
        for column in np.flatnonzero(np.isfinite(self.now.noted_s["laid"])):
            way = self.now.ways[int(column)]
            places = self.resources.slots
            if way in LINES and not places.get(way):  # another line than was planned
                way = next((line for line in LINES if places.get(line)), "")
            if places.get(way):
                found[int(column)] = way
        return found

    def leave_at(self) -> Array:
        """Return when each print left its place or must, (n, tickets). [s]"""
        at = self.now.noted_s
        left = np.fmin(np.fmin(at["dry"], at["handed"]), self.event.closes_at)
        return np.broadcast_to(left, (self.members, self.tickets))

    def with_hands(self, free: Flags, start_at: float) -> Flags:
        """Return when hands are free, with the minutes in which they noted to have been at work."""
        at = np.concatenate([self.now.noted_s[name] for name in STAGES[1:]])
        minutes = np.ceil((at[np.isfinite(at)] - start_at) / HANDS_EVERY_S).astype(int)
        free = free.copy()
        free[:, minutes[(minutes >= 0) & (minutes < free.shape[1])]] = True
        return free

    def fits(self, run: DayRun) -> Flags:
        """Return in which days a print is as wet now as its notes say, (n, tickets).

        One is noted dry when it is taken off, which waits for the hands.
        """
        at, now = self.now.noted_s, self.now.now_at
        fits = np.ones((self.members, self.tickets), dtype=bool)
        for name, when in (("touch", run.dried.touch_at), ("dry", run.dried.pulled_at)):
            still = self.now.lies & np.isnan(at[name]) & (name in self.now.kinds)
            fits &= (when > now) | ~still
        rare = fits.sum(axis=0) < max(FEWEST, FEWEST_FRAC * self.members)
        return np.asarray(fits | rare)

    def settled(self, run: DayRun) -> DayRun:
        """Return the run with every time that was noted in its place, and nothing else before now.

        A print that most days have dry by now, and that is not noted so, is due now.
        """
        at, now, kinds = self.now.noted_s, self.now.now_at, self.now.kinds
        dried = deepcopy(run.dried)
        with np.errstate(invalid="ignore"):
            finishing_s = run.ready_at - run.dried.pulled_at
        finishing_s = np.where(np.isfinite(finishing_s), finishing_s, run.lone_s)
        whens = {
            "laid": (dried.laid_at,),
            "touch": (dried.touch_at,),
            "dry": (dried.dry_at, dried.pulled_at, dried.left_at),
            "handed": (dried.left_at,),
        }
        for name in ("touch", "dry"):
            still = self.now.lies & np.isnan(at[name]) & (name in kinds)
            for when in whens[name]:
                when[:, still] = np.maximum(when[:, still], now)
        for name, each in whens.items():
            noted = np.isfinite(at[name])
            for when in each:
                when[:, noted] = at[name][noted]
        dried.touch_at[...] = np.minimum(dried.touch_at, dried.dry_at)
        return replace(run, dried=dried, ready_at=dried.pulled_at + finishing_s)

    def likely_rows(self, run: DayRun, seed: int) -> Index:
        """Return days in proportion to how well they agree with the sun and the drying noted.

        Each day's prints dried so far are set against the notes by the mean of the logarithms of
        the two durations: its error is the spread from print to print within a day over the root
        of their number, and that of feeling a print dry (``noted/dry_log`` of table ``spreads``).
        A print that still lies there wet says how long it took at least: its likelihood is the
        chance of that (a censored time). Since `fits` holds each ticket to its own print, one
        print's part of these is left out.
        A day whose sun stood otherwise when it was noted counts a twentieth (``noted/outlier``).
        The likelihood counts with a power below 1 where fewer than a quarter of the days would be
        left.
        """
        spreads = load_table("spreads")["noted"]
        log = self._drying_log(run, spreads["dry_log"].value)
        sky = self.sky
        for changed_at, there in self.now.sun:
            minute = int(np.clip(np.searchsorted(sky.time_at, changed_at), 0, sky.time_at.size - 1))
            beam = np.broadcast_to(sky.dni_w_m2, (self.members, sky.time_at.size))[:, minute]
            log += np.where((beam >= SUNSHINE_W_M2) == there, 0.0, np.log(spreads["outlier"].value))
        log -= log.max()
        power, least = 1.0, LEAST_APART_FRAC * self.members
        if np.ptp(log) == 0.0:
            return np.arange(self.members)
        share = _shares(log)
        while 1.0 / (share**2).sum() < least:
            power *= 0.7
            share = _shares(power * log)
        rng = np.random.default_rng([seed, 3])
        steps = (np.arange(self.members) + rng.random()) / self.members
        return np.asarray(np.searchsorted(np.cumsum(share), steps).clip(0, self.members - 1))

    def _drying_log(self, run: DayRun, felt_log: float) -> Array:
        """Return the log-likelihood of each day by the drying times noted, and not noted yet."""
        at = self.now.noted_s
        off = []
        for name, when in (("dry", run.dried.pulled_at), ("touch", run.dried.touch_at)):
            known = np.isfinite(at[name] - at["laid"]) & (at[name] > at["laid"])
            known &= np.isnan(at["dry"]) | (name == "dry")
            with np.errstate(invalid="ignore", divide="ignore"):
                took = np.log(np.maximum(when - run.dried.laid_at, 1.0))[:, known]
            seen = np.log((at[name] - at["laid"])[known])
            off.append(np.where(np.isfinite(took), seen - took, np.nan))
        apart = np.concatenate(off, axis=1)
        count = np.isfinite(apart).sum(axis=1)
        mean = np.nansum(apart, axis=1) / np.maximum(count, 1)
        within = PRINTS_LOG**2
        if np.isfinite(apart).sum() > 1:
            within = float(np.nanmean((apart - mean[:, None]) ** 2))
        still = self._still_wet_log(run, float(np.sqrt(within + felt_log**2)))
        if apart.shape[1] == 0:
            return still
        error_log = np.sqrt(within / np.maximum(count, 1) + felt_log**2)
        return still + np.where(count > 0, -0.5 * (mean / error_log) ** 2, -4.0)

    def _still_wet_log(self, run: DayRun, error_log: float) -> Array:
        """Return the log-likelihood of each day by the prints that are not noted dry yet."""
        laid = self.now.noted_s["laid"]
        lies = self.now.lies & ("dry" in self.now.kinds) & (laid < self.now.now_at)
        count = int(lies.sum())
        if count < 2:
            return np.zeros(self.members)
        with np.errstate(invalid="ignore"):
            took = np.log(np.maximum(run.dried.pulled_at - run.dried.laid_at, 1.0))[:, lies]
        longer = took - np.log((self.now.now_at - laid)[lies])
        chance = log_ndtr(np.where(np.isnan(longer), np.inf, longer) / error_log)
        return np.asarray(chance.sum(axis=1) * (count - 1) / count)


def _shares(log: Array) -> Array:
    share = np.exp(log - log.max())
    return np.asarray(share / share.sum())


def of_rows(run: DayRun, rows: Index) -> DayRun:
    """Return the run of some of its days, in the order given."""
    return replace(
        run,
        setup=SetUp(run.setup.resources, run.setup.wet.of(rows)),
        dried=run.dried.of(rows),
        ready_at=run.ready_at[rows],
        until_at=run.until_at[rows],
        energy_j=run.energy_j[rows],
        finishing_s=run.finishing_s[rows],
    )
