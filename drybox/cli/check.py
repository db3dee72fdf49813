"""``drybox check``: read everything, compute nothing long."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import click

from drybox.cli.options import Options, event_options_but

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.text.settings import Resolved
    from drybox.readable import MetricText
    from drybox.reports.text.answer import Answer

SHOWN_AS = {
    "W/m2K": ("loss_w_m2_k", 1.0),
    "kg/m2": ("mass_g_m2", 1e3),
    "frac": ("share_frac", 1.0),
    "deg": ("tilt_deg", 1.0),
    "m": ("length_mm", 1e3),
    "°C": ("temp_c", 1.0),
}
"""How figures of a unit are said: by what key, and times what."""


@click.command(
    epilog="""\b
Examples:
  drybox check fair/fair.toml
  drybox check fair/fair.toml --values
  drybox check --latitude 48.2 --longitude 16.4 --date 2027-06-12
"""
)
@event_options_but("--at", "--series", "--seed", "--force", "--why")
@click.option("--values", is_flag=True, help="Also list every value in use.")
def command(options: Options, values: bool) -> None:
    """Say what EVENT.toml and the options mean, what is doubtful and what is assumed.

    With --values every value is listed with its unit and where it came from: a line of the
    file, an option, a shipped table or a default. CSV and JSON always have them.
    """
    from drybox.said import in_units

    options.refuse_time("check is for the whole day")
    options.refuse_series("check has")
    answer = answer_of(options.load())
    if options.format == "text" and not values:
        answer = dataclasses.replace(answer, tables=[])
    shown = in_units(answer, options.units)
    dataclasses.replace(options, why=True).show(shown)


def answer_of(event: Event) -> Answer:
    """Return every resolved value with its source, and the doubts."""
    from drybox.inputs.event.day import read_day_inputs
    from drybox.inputs.finish.finishing import read_finishing
    from drybox.reports.text.answer import Answer, Column, Table, echo_inputs, place_of

    day, finishing = read_day_inputs(event), event.reread()
    read_finishing(finishing, flatten_s=event.limits.flatten_s)
    inputs = echo_inputs([*event.resolved, *day.resolved, *finishing.resolved])
    columns = (
        Column("key", "Value"),
        Column("value", "is", digits=None),
        Column("unit", "unit"),
        Column("source", "from"),
    )
    weather = event.weather
    return Answer(
        command="check",
        place=place_of(event.place),
        inputs=inputs,
        result={
            "event": event.name,
            "date": event.date,
            "opens_at": event.opens_at,
            "closes_at": event.closes_at,
            "weather": {"kind": weather.kind, "source": weather.source},
            "understood": list(weather.understood),
            "values_given": sum(_is_given(item["source"]) for item in inputs),
            "values_assumed": sum(not _is_given(item["source"]) for item in inputs),
        },
        lead=_lead(event, inputs),
        tables=[Table("Every value in use", columns, inputs)],
        assumptions=[
            said
            for said in dict.fromkeys([*event.assumptions, *day.assumptions])
            if "'drybox check' lists them" not in said  # as the lead does
        ],
        warnings=[*event.warnings, *day.warnings],
        timezone=event.place.timezone,
    )


def _is_given(source: str) -> bool:
    return source.startswith(("file ", "option "))


def _lead(event: Event, inputs: list[dict[str, str]]) -> list[str]:
    from drybox.inputs.event.event import unsourced_figures
    from drybox.readable import Figure, MetricText
    from drybox.reports.text.phrases import clock, coordinates
    from drybox.reports.text.weather_words import source_said

    given = sum(_is_given(item["source"]) for item in inputs)
    name = event.path.name if event.path else "The options"
    place, zone = event.place, event.place.timezone
    where = coordinates(place.latitude_deg, place.longitude_deg)
    hours = f"{clock(event.opens_at, zone)} to {clock(event.closes_at, zone)}"
    lead = [
        f"{name} can be used: {given} values are given, {len(inputs) - given} come from tables "
        "and defaults.",
        f"Event: {event.name}, {event.date.isoformat()}, {hours} ({zone}), at {where}.",
        source_said(event.weather.source),
    ]
    if event.weather.understood:
        lead.append("Understood: " + "; ".join(event.weather.understood) + ".")
    unsourced = [_figure_said(value) for value in unsourced_figures(event.resolved)]
    if unsourced:
        words: list[str | Figure] = [
            "Of box and paper from memory, common practice or judgement, until your own figures "
            "stand in the event file: "
        ]
        for left, figure in zip(range(len(unsourced) - 1, -1, -1), unsourced, strict=True):
            words += [figure, ", " if left > 1 else " and " if left else "."]
        lead.append(MetricText(*words))
    return lead


def _figure_said(value: Resolved) -> MetricText:
    """Return a value with its key and unit.

    >>> from drybox.inputs.text.settings import Resolved
    >>> _figure_said(Resolved("box.back_loss", 5.0, "W/m2K", "table backs: plywood (judgement)"))
    'box.back_loss 5 W/m²K'
    >>> _figure_said(Resolved("paper.gap", 0.0008, "m", "table stocks (judgement)"))
    'paper.gap 0.8 mm'
    """
    from drybox.readable import Figure, MetricText
    from drybox.reports.text.phrases import say
    from drybox.units import plain_number

    if not isinstance(value.value, float | int):
        return MetricText(f"{value.key} {value.value} {value.unit}".strip())
    key, scale = SHOWN_AS.get(value.unit, ("", 1.0))
    number = round(value.value * scale, 9)
    text = say(key, number, digits=None) if key else f"{plain_number(number)} {value.unit}".strip()
    if key in ("temp_c", "length_mm"):
        return MetricText(f"{value.key} ", Figure(key, number, text))
    return MetricText(f"{value.key} {text}")
