"""What a result is the answer to, and what its command says of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple, Protocol, TypeVar

from drybox.arguments import choice_of
from drybox.errors import NoAnswerError

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.weather.weather import Weather
    from drybox.inputs.wet.side import WetSide
    from drybox.inputs.wet.wash import WashSetup
    from drybox.planning.aim.event_aim import EventAim
    from drybox.planning.calibration.calibration import Calibration
    from drybox.planning.day.plan import DayPlan
    from drybox.planning.finish.finish import FinishResult
    from drybox.planning.one_print.set_out import SetOutResult
    from drybox.planning.one_print.ways import DryResult
    from drybox.planning.season.season import Season
    from drybox.planning.wet.baths import BathPlan
    from drybox.planning.wet.wash import WashPlan
    from drybox.planning.whole_day.moments import DayMoments
    from drybox.reports.text.answer import Answer

T = TypeVar("T")


def in_units(found: Answer, units: str) -> Answer:
    """Return an answer whose sentences from the inputs too are in the units shown."""
    from drybox.reports.text.phrases import retold

    told: dict[str, Any] = {
        part: [retold(text, units) for text in getattr(found, part)]
        for part in ("lead", "assumptions", "warnings")
    }
    return replace(found, **told)


class Asked(NamedTuple):
    """What a result is the answer to, kept with it so that it can say itself."""

    event: Event | None = None
    members: int = 0
    seed: int = 0
    wet: WetSide | None = None
    weather: Weather | None = None
    setup: WashSetup | None = None
    source: str = ""

    @property
    def the_event(self) -> Event:
        """The event, of an answer that has one."""
        assert self.event is not None
        return self.event


def with_question(result: T, asked: Asked) -> T:
    """Return the result, made to know what it is the answer to."""
    object.__setattr__(result, "_asked", asked)
    return result


class OfOneSky(Protocol):
    """A result that holds the one under the other sky."""

    __dataclass_fields__: ClassVar[dict[str, Any]]

    @property
    def other_sky(self) -> Any:
        """The same under the other sky, None where cloud or sun was told."""


S = TypeVar("S", bound=OfOneSky)


def under_skies(
    event: Event,
    found: Callable[[Event], S],
    without: Callable[[S, NoAnswerError], S] | None = None,
) -> S:
    """Return what is found for an event; under both skies where cloud and sun were not told.

    Where the closed sky has no answer, ``without`` keeps the reason in the result.
    """
    from drybox.planning.scenario.both_skies import both_skies

    skies = both_skies(event)
    if skies is None:
        return found(event)
    clear = found(skies.clear)
    try:
        both = replace(clear, other_sky=found(skies.overcast))
    except NoAnswerError as error:
        if without is None:
            raise
        both = without(clear, error)
    return with_question(both, asked_of(clear))


def asked_of(result: object) -> Asked:
    """Return what a result is the answer to: the event, under the sky that it is for, and so on.

    Raises
    ------
    TypeError
        If it is from no call of `drybox.api`.
    """
    asked = getattr(result, "_asked", None)
    if not isinstance(asked, Asked):
        raise TypeError(f"no answer is known for {type(result).__name__}")
    return asked


def answer(result: Any, units: str = "metric", **shown: Any) -> Answer:
    """Return what the command says of a result: sentences, tables, warnings.

    Parameters
    ----------
    result : DryResult, FinishResult, EventAim, SetOutResult, DayPlan, DayMoments and so on
        From a call of this module.
    units : str
        Units of the sentences, ``metric`` or ``us``.
    **shown
        What else the answer's function in `drybox.reports.answers` takes, such as ``note``.

    Raises
    ------
    TypeError
        If it is none of these.
    """
    asked, said_in = asked_of(result), choice_of(units, ("metric", "us"), "units") or "metric"
    return in_units(_ANSWERS[type(result).__name__](result, asked, units=said_in, **shown), said_in)


def _say_aim(found: EventAim, asked: Asked, *, turns: bool | None = None, **shown: Any) -> Answer:
    from drybox.reports.answers.aim import aim_answer

    listed = asked.the_event.box.aim_mode != "best" if turns is None else turns
    return aim_answer(asked.the_event, found, turns=listed, **shown)


def _say_set_out(found: SetOutResult, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.setout import setout_answer

    return setout_answer(asked.the_event, found, members=asked.members, seed=asked.seed, **shown)


def _say_dry(found: DryResult, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.dry import dry_answer

    return dry_answer(asked.the_event, found, members=asked.members, seed=asked.seed, **shown)


def _say_finish(found: FinishResult, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.finish import finish_answer

    return finish_answer(asked.the_event, found, members=asked.members, seed=asked.seed, **shown)


def _say_plan(found: DayPlan, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.plan import plan_answer

    return plan_answer(found, **shown)


def _say_day(found: DayMoments, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.day import day_answer

    return day_answer(found, **shown)


def said_of_wet(wet: WetSide, units: str) -> dict[str, Any]:
    """Return what an answer about the wet side says of place, inputs and assumptions."""
    from drybox.reports.text.answer import echo_inputs, place_of

    event = wet.event
    return {
        "place": place_of(event.place) if event else {},
        "inputs": echo_inputs([*(event.resolved if event else ()), *wet.settings.resolved]),
        "assumptions": list(wet.settings.assumptions),
        "timezone": event.place.timezone if event else "UTC",
        "units": units,
    }


def _with_air(answer: Answer, wet: WetSide, units: str) -> Answer:
    """Return an answer about water as warm as the air, with what is usual of that air."""
    from drybox.reports.text.weather_words import usual_said

    if wet.event is None or not wet.settings.water_as_air:
        return answer
    lead = [*answer.lead[:1], *usual_said(wet.event, units), *answer.lead[1:]]
    return replace(answer, lead=lead)


def _say_wash(found: WashPlan, asked: Asked, *, units: str) -> Answer:
    from drybox.reports.answers.wash import wash_answer

    assert asked.wet is not None
    assert asked.setup is not None
    said = wash_answer(asked.setup, found, **said_of_wet(asked.wet, units))
    return _with_air(said, asked.wet, units)


def _say_baths(found: BathPlan, asked: Asked, *, units: str) -> Answer:
    from drybox.reports.answers.baths import baths_answer

    assert asked.wet is not None
    assert asked.setup is not None
    said = said_of_wet(asked.wet, units)
    hours = asked.wet.day_s / 3600
    said["assumptions"].append(f"{found.sittings} sittings in {hours:.1f} hours ({asked.source}).")
    said["warnings"] = []
    if found.wash is None:
        said["warnings"].append(f"Wash water is not counted: {found.no_wash}.")
    else:
        prints, changes = found.wash.prints, found.wash.changes
        together = f"{prints} together" if prints > 1 else "one at a time"
        said["assumptions"].append(
            f"Prints are washed {together}, {changes} changes each, aim "
            f"'{asked.setup.target.name}'; see 'drybox wash' for ways that take less water."
        )
    return _with_air(baths_answer(asked.wet.process, found, **said), asked.wet, units)


def _say_season(found: Season, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.season import season_answer

    assert asked.weather is not None
    return season_answer(asked.the_event, found, asked.weather, **shown)


def _say_calibration(found: Calibration, asked: Asked, **shown: Any) -> Answer:
    from drybox.reports.answers.calibrate import calibrate_answer

    return calibrate_answer(asked.the_event, found, seed=asked.seed, **shown)


_ANSWERS: dict[str, Callable[..., Answer]] = {
    "EventAim": _say_aim,
    "SetOutResult": _say_set_out,
    "DryResult": _say_dry,
    "FinishResult": _say_finish,
    "DayPlan": _say_plan,
    "DayMoments": _say_day,
    "WashPlan": _say_wash,
    "BathPlan": _say_baths,
    "Season": _say_season,
    "Calibration": _say_calibration,
}
