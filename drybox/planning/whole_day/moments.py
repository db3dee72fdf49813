"""The moments of an event day in order, out of what plan, aim and setting out have found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drybox.errors import NoAnswerError
from drybox.inputs.event.day import plate_left_out
from drybox.inputs.event.event import Event
from drybox.planning.aim.event_aim import EventAim, plan_event_aim
from drybox.planning.aim.off_sun import FACING, OffSun
from drybox.planning.aim.search import Turn
from drybox.planning.aim.wind import WindOnBox
from drybox.planning.day.drying_table import PLATE
from drybox.planning.day.plan import DayPlan, plan_day
from drybox.planning.day.promises import TicketPlan
from drybox.planning.day.supplies import water_l
from drybox.planning.one_print.hot_metal import hottest_of_k
from drybox.planning.one_print.set_out import SetOutResult, plan_set_out
from drybox.planning.scenario.outside import box_out_s
from drybox.readable import Readable

CODES = (
    *("set_out", "no_box", "first_sitter", "first_load", "break", "turn"),
    *("camera_in_sun", "box_in_shade", "last_load", "last_likely_load", "last_dry", "pack_up"),
)
"""What a moment may be; those at one time stand in this order."""

MOST_SHADES = 3
"""The longest stretches of shade on the box that are listed."""


@dataclass(frozen=True)
class Moment:
    """One thing to do or to know at a time; ``code`` is one of `CODES`.

    ``end_at`` goes with a stretch; ``turn`` and ``off_sun`` with an aim; ``ticket`` with a sitter,
    ``promise_at`` with what is promised and ``hand_over`` how it goes then; ``cause`` is what hides
    the sun, ``no_box`` why there can be no box and ``unused``, a code of `_unused`, why one has no
    use; ``instead`` the way to dry by where the plate has no sun (it may be the plate, by the light
    of the sky), empty where there is none. [s]
    """

    code: str
    begin_at: float
    end_at: float | None = None
    turn: Turn | None = None
    off_sun: OffSun = FACING
    ticket: str = ""
    promise_at: float | None = None
    hand_over: str = ""
    spot: str = ""
    cause: str = ""
    no_box: NoAnswerError | None = None
    unused: str = ""
    instead: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class DayMoments(Readable):
    """The day in order, and what of it is hot, heavy or missing.

    ``metal_k`` is how hot the sun plate may get, ``water_m3`` what water is to be carried,
    ``lacks_kg`` the ballast that gusts reckoned ask for. ``aim`` and ``set_out`` are None where the
    box stays at home, for the reason ``no_box``. ``other_sky`` is the same under a closed sky,
    where no cloud was told.
    """

    event: Event
    moments: tuple[Moment, ...]
    plan: DayPlan
    aim: EventAim | None
    set_out: SetOutResult | None
    no_box: NoAnswerError | None
    metal_k: float | None
    water_m3: float
    wind: WindOnBox | None
    other_sky: DayMoments | None = None

    @property
    def hottest_k(self) -> float | None:
        """How hot the metal of the plates in use may get; None where none is. [K]"""
        return hottest_of_k(self.metal_k, self.plan.powered_metal_k)

    @property
    def lacks_kg(self) -> float:
        """Ballast that the box lacks in the gusts reckoned. [kg]"""
        return 0.0 if self.wind is None else max(self.wind.ballast_kg, self.wind.steeper_kg)

    def of(self, code: str) -> tuple[Moment, ...]:
        """Return the moments of a code."""
        return tuple(moment for moment in self.moments if moment.code == code)


def plan_moments(event: Event, *, members: int, set_out_members: int, seed: int = 1) -> DayMoments:
    """Return the moments of an event day.

    The draws behind the setting out are as many as those of `plan_set_out`, so that both say the
    same.
    """
    plan = plan_day(event, members=members, seed=seed, what_if=False)
    aim, out, no_box = None, None, plan.no_plate
    if no_box is None and plan.plate_slots:
        try:
            aim = plan_event_aim(event, event.opens_at)
            out = plan_set_out(event, members=set_out_members, seed=seed)
        except NoAnswerError as error:
            aim, out, no_box = None, None, error
    unused = _unused(plan, out)
    used = None if unused else out
    found = [*_of_people(plan), Moment(code="pack_up", begin_at=event.closes_at)]
    if used is not None:
        found += _of_box(plan, aim, used)
    else:
        found.append(
            Moment(
                code="no_box",
                begin_at=event.opens_at,
                no_box=no_box,
                unused=unused,
                instead=plan.off_plate_way,
            )
        )
    found.sort(key=lambda moment: (moment.begin_at, CODES.index(moment.code)))
    return DayMoments(
        event=event,
        moments=tuple(found),
        plan=plan,
        aim=aim,
        set_out=out,
        no_box=no_box,
        metal_k=None if used is None else plan.metal_k,
        water_m3=water_l(plan.bring) * 1e-3,
        wind=None if used is None else used.wind,
    )


def _unused(plan: DayPlan, out: SetOutResult | None) -> str:
    """Return why no print needs the plate; nothing where one lies on it.

    ``not_listed`` or ``no_place`` where the event has no use for it; too few prints dry on it in
    time (``too_slow``), it is ``too_hot`` for a print, none is washed soon enough
    (``none_washed``), or those of the plan dry elsewhere (``none_lies``).
    """
    if any(ticket.way == PLATE for ticket in plan.tickets):
        return ""
    left_out = plate_left_out(plan.event)
    if left_out or out is None:
        return left_out
    if plan.tickets and plan.too_hot_s:
        return "too_hot"
    if out.first_load_at is None:
        return "too_slow"
    if plan.tickets and not any(ticket.way for ticket in plan.tickets):
        return "none_washed"
    return "none_lies" if plan.tickets else ""


def _of_box(plan: DayPlan, aim: EventAim | None, out: SetOutResult) -> Iterator[Moment]:
    """Yield setting out, turns, first and last laying-on, and the hours without sun between."""
    mode = plan.event.box.aim_mode
    turns = aim.plan.turns if aim is not None and mode != "best" else ()
    first = None if aim is None else (turns[0] if turns else aim.plan.single)
    yield Moment(
        code="set_out",
        begin_at=box_out_s(plan.event),
        turn=None if mode == "track" else first,
        off_sun=out.off_sun,
    )
    for turn in turns[1:] if mode == "turns" else ():
        yield Moment(code="turn", begin_at=turn.from_at, turn=turn)
    if out.first_load_at is not None:
        yield Moment(code="first_load", begin_at=out.first_load_at)
    if out.sure:
        yield Moment(code="last_load", begin_at=out.sure[-1])
    if out.last_load_at is not None and (not out.sure or out.sure[-1] < out.last_load_at):
        yield Moment(code="last_likely_load", begin_at=out.last_load_at)
    shades = [shown for shown in plan.spots.breaks if shown.use == "box"]
    longest = sorted(shades, key=lambda shown: shown.from_at - shown.until_at)[:MOST_SHADES]
    for shown in longest:
        yield Moment(
            code="box_in_shade",
            begin_at=shown.from_at,
            end_at=shown.until_at,
            spot=shown.spot,
            cause=shown.cause,
            instead=plan.way_between(shown.from_at, shown.until_at),
        )


def _of_people(plan: DayPlan) -> Iterator[Moment]:
    """Yield sun on the camera, first sitter, breaks, and the last who takes a dry print along."""
    for shown in plan.spots.breaks:
        if shown.use == "camera":
            yield Moment(
                code="camera_in_sun", begin_at=shown.from_at, end_at=shown.until_at, spot=shown.spot
            )
    if plan.tickets:
        yield _of_ticket("first_sitter", plan.tickets[0])
    for begins, ends in plan.inputs.day.breaks_s:
        yield Moment(code="break", begin_at=begins, end_at=ends)
    dry = [ticket for ticket in plan.tickets if ticket.hand_over == "dry"]
    if dry:
        yield _of_ticket("last_dry", dry[-1])


def _of_ticket(code: str, ticket: TicketPlan) -> Moment:
    return Moment(
        code=code,
        begin_at=ticket.sitting_at,
        ticket=ticket.ticket,
        promise_at=ticket.promise_at,
        hand_over=ticket.hand_over,
    )
