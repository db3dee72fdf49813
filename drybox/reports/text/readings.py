"""What an answer stands on: the weather, what was assumed, and the day's own readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drybox.inputs.event.event import Event
from drybox.inputs.notes.day_notes import sun_gone_spans, under_unknown_sun
from drybox.inputs.notes.note import Note
from drybox.planning.scenario.readings import Readings
from drybox.reports.text.phrases import clock, listed, say
from drybox.reports.text.weather_words import source_said
from drybox.units import celsius

READ = {"plate": "plate", "air-in-box": "air in the box"}
FEW, FEWER = 6, 3
"""More times, and more readings, than these are not named one by one."""


def stands_on(
    event: Event, *own: str, readings: Readings | None = None, note: str = ""
) -> list[str]:
    """Return what an answer about an event stands on, what matters most first.

    ``own`` is what the answer itself takes for granted, ``readings`` what it is conditioned on,
    ``note`` what had to be decided about the time.
    """
    taught = [] if readings is None else conditioned_on(event, readings)
    taught += event.assumptions[:1] if event.fit is not None else ()  # the fit's, by `use_fit`
    said = [note, source_said(event.weather.source), *taught, *own, *event.assumptions]
    return list(dict.fromkeys(text for text in said if text))


def echo_readings(event: Event, readings: Readings) -> list[dict[str, Any]]:
    """Return the readings to stand among the inputs, outliers too."""
    zone = event.place.timezone
    return [
        {
            "key": f"note.{note.id}.{note.kind.replace('-', '_')}_temp",
            "value": round(celsius(note.temp_k or 0.0), 3),
            "unit": "°C",
            "source": f"field note of {clock(note.at_s, zone)}",
        }
        for note in sorted((*readings.used, *readings.outliers), key=lambda note: note.at_s)
    ]


def conditioned_on(event: Event, readings: Readings) -> list[str]:
    """Return what the answer is conditioned on, and which readings did not enter it."""
    said, zone = [], event.place.timezone
    if readings.used:
        what = listed([READ[kind] for kind in READ if any(n.kind == kind for n in readings.used)])
        said.append(
            f"Held to what was read that day of the {what}, {_times(readings.used, zone)}, the "
            f"box out from {clock(readings.out_at, zone)}: drawn days that agree count, for all "
            "hours alike; --uncalibrated leaves this out."
        )
    left = [note for note in event.seen if note not in (*readings.used, *readings.outliers)]
    gone = sun_gone_spans(event.noted)
    shaded = [note for note in left if under_unknown_sun(gone, note.at_s)]
    left = [note for note in left if note not in shaded]
    if shaded:
        said.append(
            f"Left out: what was read at {_times(shaded, zone)}, the sun noted gone and not half "
            "an hour back."
        )
    if left:
        said.append(
            f"Left out: what was read at {_times(left, zone)}, before the box is taken to be out, "
            "after the hours followed here, or among very many."
        )
    return said


def outliers(event: Event, readings: Readings, units: str) -> list[str]:
    """Return a warning of readings that no drawn day explains."""
    if not readings.outliers:
        return []
    zone = event.place.timezone
    read = [
        f"{READ[note.kind]} {say('temp_c', celsius(note.temp_k or 0.0), units)} at "
        f"{clock(note.at_s, zone)}"
        for note in readings.outliers[:FEWER]
    ]
    if len(readings.outliers) > FEWER:
        read.append(f"{len(readings.outliers) - FEWER} more")
    return [
        "Not explained by box and weather as told, and counted for nothing: "
        f"{listed(read)}. Look at thermometer and aim, at the sky told, which holds for the whole "
        f"day, and at when the box was set out, here {clock(readings.out_at, zone)}."
    ]


def _times(notes: Sequence[Note], zone: str) -> str:
    clocks = list(dict.fromkeys(clock(note.at_s, zone) for note in notes))
    if len(clocks) > FEW:
        return f"{len(clocks)} times from {clocks[0]} to {clocks[-1]}"
    return ", ".join(clocks)
