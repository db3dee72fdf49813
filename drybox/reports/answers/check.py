"""What ``drybox check`` says: what was understood, what is doubtful, what is assumed."""

from __future__ import annotations

from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import Event, unsourced_figures, unsourced_said
from drybox.inputs.finish.finishing import read_finishing
from drybox.inputs.text.settings import Resolved
from drybox.readable import Figure, MetricText
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_inputs
from drybox.reports.text.phrases import clock, coordinates, say
from drybox.reports.text.weather_words import source_said
from drybox.units import plain_number

COLUMNS = (
    Column("key", "Value"),
    Column("value", "is", digits=None),
    Column("unit", "unit"),
    Column("source", "from"),
)
SHOWN_AS = {
    "W/m2K": ("loss_w_m2_k", 1.0),
    "kg/m2": ("mass_g_m2", 1e3),
    "frac": ("share_frac", 1.0),
    "deg": ("tilt_deg", 1.0),
    "m": ("length_mm", 1e3),
    "°C": ("temp_c", 1.0),
}
"""How figures of a unit are said: by what key, and times what."""


def check_answer(event: Event) -> Answer:
    """Return every resolved value with its source, and the doubts."""
    day, finishing = read_day_inputs(event), event.reread()
    read_finishing(finishing, flatten_s=event.limits.flatten_s)
    inputs = echo_inputs([*event.resolved, *day.resolved, *finishing.resolved])
    given = sum(item["source"].startswith(("file ", "option ")) for item in inputs)
    weather = event.weather
    unsourced = unsourced_figures(event.resolved)
    assumed = dict.fromkeys([*event.assumptions, *day.assumptions])
    return answer_for(
        event,
        "check",
        told=inputs[len(event.resolved) :],
        result={
            "event": event.name,
            "date": event.date,
            "opens_at": event.opens_at,
            "closes_at": event.closes_at,
            "weather": {"kind": weather.kind, "source": weather.source},
            "understood": list(weather.understood),
            "values_given": given,
            "values_assumed": len(inputs) - given,
        },
        lead=_lead(event, unsourced, given=given, assumed=len(inputs) - given),
        tables=[Table("Every value in use", COLUMNS, inputs)],
        assumptions=[said for said in assumed if said != unsourced_said(unsourced)],  # listed
        warnings=[*event.warnings, *day.warnings],
    )


def _lead(event: Event, unsourced: list[Resolved], *, given: int, assumed: int) -> list[str]:
    name = event.path.name if event.path else "The options"
    place, zone = event.place, event.place.timezone
    where = coordinates(place.latitude_deg, place.longitude_deg)
    hours = f"{clock(event.opens_at, zone)} to {clock(event.closes_at, zone)}"
    lead = [
        f"{name} can be used: {given} values are given, {assumed} come from tables and defaults.",
        f"Event: {event.name}, {event.date.isoformat()}, {hours} ({zone}), at {where}.",
        source_said(event.weather.source),
    ]
    if event.weather.understood:
        lead.append("Understood: " + "; ".join(event.weather.understood) + ".")
    if unsourced:
        words: list[str | Figure] = [
            "Of box and paper from memory, common practice or judgement, until your own figures "
            "stand in the event file: "
        ]
        for left, value in zip(range(len(unsourced) - 1, -1, -1), unsourced, strict=True):
            words += [_figure_said(value), ", " if left > 1 else " and " if left else "."]
        lead.append(MetricText(*words))
    return lead


def _figure_said(value: Resolved) -> MetricText:
    """Return a value with its key and unit.

    >>> _figure_said(Resolved("box.back_loss", 5.0, "W/m2K", "table backs: plywood (judgement)"))
    'box.back_loss 5 W/m²K'
    >>> _figure_said(Resolved("paper.gap", 0.0008, "m", "table stocks (judgement)"))
    'paper.gap 0.8 mm'
    """
    if not isinstance(value.value, float | int):
        return MetricText(f"{value.key} {value.value} {value.unit}".strip())
    key, scale = SHOWN_AS.get(value.unit, ("", 1.0))
    number = round(value.value * scale, 9)
    text = say(key, number, digits=None) if key else f"{plain_number(number)} {value.unit}".strip()
    if key in ("temp_c", "length_mm"):
        return MetricText(f"{value.key} ", Figure(key, number, text))
    return MetricText(f"{value.key} {text}")
