"""What is said of a calibration: how the promise narrowed, what each quantity became, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from drybox.inputs.event.event import Event
from drybox.inputs.notes.fitted_event import fit_name
from drybox.inputs.notes.note import Note
from drybox.planning.calibration.calibration import Calibration
from drybox.planning.calibration.curves import DayCurves, PromiseShown
from drybox.planning.calibration.promise_keeping import PromisesKept
from drybox.planning.calibration.said import Standing
from drybox.planning.scenario.percentiles import UNKNOWN, Range
from drybox.reports.answers.notes import note_text
from drybox.reports.files.fit_curves import curve_rows
from drybox.reports.text.answer import Answer, Column, Table, answer_for, echo_given, fields_of
from drybox.reports.text.phrases import clock, figure, lasting, local_day, say, sentence, the

MOST_NOTES = 8
"""Notes listed in the text, those that say most first; the record has them all."""

LITTLE = 0.02
COLUMNS = (
    Column("name", "Quantity"),
    Column("unit", "Unit"),
    Column("before", "before", None),
    Column("after", "after", None),
)
NOTE_COLUMNS = (
    Column("seen", "Seen"),
    Column("said", "Note"),
    Column("model", "model"),
    Column("off", "off"),
    Column("moved", "moved most"),
)
SHORT = {
    "plate absorptance": "paint",
    "forced convection factor": "convection",
    "wind that reaches the plate": "wind",
    "loss of the back": "back",
    "water left on a print": "water",
    "contact of a lifted print": "lifted print",
    "contact of a flat wet print": "flat contact",
    "moisture at which it lifts": "lift-off",
    "critical moisture factor": "critical",
    "falling-rate resistance factor": "resistance",
    "vapour film factor of a print": "vapour film",
    "wind factor off the box": "wind off box",
    "convection factor on a line": "line film",
}
UNITS = {"1": "", "frac": "", "deg": "°", "g/m2": "g/m²", "W/m2K": "W/m²K"}
WAYS = {"sun_plate": "on the sun plate", "line_shade": "on a line in the shade"}


def calibrate_answer(
    event: Event,
    found: Calibration,
    *,
    shown: PromiseShown | None = None,
    curves: Sequence[DayCurves] = (),
    stored: bool = False,
    units: str = "metric",
    seed: int = 1,
    read: str = "",
) -> Answer:
    """Return the answer of ``drybox calibrate``.

    The event is the first, standing on no fit; ``read`` tells which notes were read.
    """
    zone = event.place.timezone
    return answer_for(
        event,
        "calibrate",
        told=echo_given("calibrate", seed=seed),
        result={**_result(found, shown, stored), "plate": curve_rows(curves)},
        lead=_lead(found, shown, stored, zone=zone),
        tables=_tables(found, shown, units),
        assumptions=[*_stands_on(found), *([f"Read: {read}."] if read else [])],
        warnings=[*_warnings(found, units), *event.warnings],
    )


def _result(found: Calibration, shown: PromiseShown | None, stored: bool) -> dict[str, Any]:
    misfits = found.misfits
    return {
        **fields_of(found, "box", "paper"),
        "parameters": [
            fields_of(one, "name", "unit")
            | {"before": (one.before or UNKNOWN).record(), "after": (one.after or UNKNOWN).record()}
            for one in found.parameters
        ],
        **fields_of(found, "notes_used", "days", "days_without_weather"),
        "residual_rms": misfits.residual_rms[1],
        "residual_rms_before": misfits.residual_rms[0],
        "plate_temp_rms_k": _pair(misfits.plate_k),
        "drying_time_rms_log": _pair(misfits.drying_log),
        "weighed_rms_g_m2": _pair(misfits.weighed_kg_m2, 1e3),
        "effective_draws": found.effective_draws,
        "learned": not found.too_little,
        "why_not": found.too_little,
        "kept": stored,
        "fit": fit_name(found.fit) if found.fit is not None else None,
        "promise_shown": _promise_record(shown),
        "promises": {
            **fields_of(found.promises, "kept", "noted"),
            "share_frac": found.promises.share.record(),
            **fields_of(found.promises, "claimed_frac", "verdict"),
        },
        "readings": [_standing_record(one) for one in found.standings],
        "passed_over": [{"id": note.id, "why": why} for note, why in found.passed_over],
    }


def _pair(values: tuple[float, float] | None, factor: float = 1.0) -> dict[str, float] | None:
    if values is None:
        return None
    return {"before": values[0] * factor, "after": values[1] * factor}


def _promise_record(shown: PromiseShown | None) -> dict[str, Any] | None:
    if shown is None:
        return None
    return {
        **fields_of(shown, "way", "laid_on_at"),
        "minutes_before": shown.before_s.minutes(),
        "minutes_after": shown.after_s.minutes(),
        "minutes_floor": shown.floor_s.minutes(),
        "narrower_frac": shown.narrower_frac,
    }


def _standing_record(one: Standing) -> dict[str, Any]:
    key, factor, shift = _KEYS[one.reading.kind]
    values = fields_of(one, "measured", "before", "after")
    laid_on = {"laid_on_at": one.reading.laid_at} if one.reading.kind == "run_water" else {}
    return {
        "id": one.reading.note.id,
        "kind": one.reading.kind,
        "at": one.reading.note.at_s,
        **laid_on,
        **{f"{name}_{key}": value * factor + shift for name, value in values.items()},
        **fields_of(one, "off_sd", "weight_frac", "disagrees", "moved", "moved_sd"),
    }


# kind of reading: (unit ending, factor, shift)
_KEYS = {
    "plate": ("c", 1.0, -273.15),
    "air-in-box": ("c", 1.0, -273.15),
    "drying": ("minutes", 1 / 60, 0.0),
    "water": ("g_m2", 1e3, 0.0),
    "run_water": ("mass_g", 1e3, 0.0),
}


def _lead(found: Calibration, shown: PromiseShown | None, stored: bool, *, zone: str) -> list[str]:
    lead = []
    notes = f"{found.notes_used} note{'s'[: found.notes_used != 1]}"
    days = f"{found.days} day{'s'[: found.days != 1]}"
    if found.too_little:
        lead.append(
            f"Too little to learn box and paper from: {found.too_little}. The usual values stay."
        )
    elif shown is not None:
        before, after = (lasting(part.p10, part.p90) for part in (shown.before_s, shown.after_s))
        lead.append(
            f"A print {WAYS[shown.way]} from {clock(shown.laid_on_at, zone)} on "
            f"{local_day(shown.laid_on_at, zone)} dries in {after}, where it was {before} before "
            f"{notes} of {days} were used{_narrower(shown)}."
        )
        lead.append(
            "Weather, and one print against the next, leave open "
            f"{lasting(shown.floor_s.p10, shown.floor_s.p90)} however many notes of other days "
            "there are; a plate reading on the day itself narrows that too."
        )
    else:
        lead.append(f"Fitted to {notes} of {days}.")
    if found.fit is not None:
        what = f"box '{found.box}' and paper '{found.paper}'"
        lead.append(
            f"Kept for {what}: every command now stands on it; --uncalibrated leaves it out."
            if stored
            else f"Not kept (--dry-run): nothing changes for {what}."
        )
    if found.promises.noted:
        lead.append(_promises_said(found.promises))
    return lead


def _narrower(shown: PromiseShown) -> str:
    share = shown.narrower_frac
    if share is None:
        return ""
    if abs(share) < LITTLE:
        return ", a range as wide as before"
    word = "narrower" if share > 0 else "wider"
    return f", a range {abs(share) * 100:.0f} % {word}"


def _promises_said(promises: PromisesKept) -> str:
    low, high = (100 * (end or 0.0) for end in (promises.share.p10, promises.share.p90))
    percent = 100 * promises.kept / promises.noted
    said = {
        "fewer than claimed": "fewer than claimed, so promise later",
        "more than claimed": "more than that, so promises could be sooner",
        "too few to tell": "too few to tell",
    }.get(promises.verdict, "as far as that many can tell, as claimed")
    return (
        f"Promises kept: {promises.kept} of {promises.noted} ({percent:.0f} %, in the long run "
        f"{low:.0f} to {high:.0f} %), against {100 * promises.claimed_frac:.0f} % claimed: {said}."
    )


def _rounded(found: Range | None) -> Any:
    return found and {
        name: None if value is None else float(f"{value:.3g}")
        for name, value in found.record().items()
    }


def _tables(found: Calibration, shown: PromiseShown | None, units: str) -> list[Table]:
    rows = [] if shown is None or found.too_little else [_promise_row(shown)]
    rows += [
        {
            "name": one.name,
            "unit": UNITS.get(one.unit, one.unit),
            "before": _rounded(one.before),
            "after": _rounded(one.after),
        }
        for one in found.parameters
    ]
    title = "Before and after: middle (P10 to P90)"
    tables = [Table(title, COLUMNS, rows)] if found.fit is not None else []
    if found.standings:
        every = sorted(found.standings, key=lambda one: (not one.disagrees, -abs(one.moved_sd)))
        rows = [_note_row(one, units) for one in every[:MOST_NOTES]]
        some = "Notes that disagree (!) or move most"
        tables.append(Table("The notes" if len(rows) == len(every) else some, NOTE_COLUMNS, rows))
    return tables


def _promise_row(shown: PromiseShown) -> dict[str, Any]:
    before, after = (_rounded(part.scaled(1 / 60)) for part in (shown.before_s, shown.after_s))
    return {"name": f"drying {WAYS[shown.way]}", "unit": "min", "before": before, "after": after}


def _note_row(one: Standing, units: str) -> dict[str, Any]:
    key, factor, shift = _KEYS[one.reading.kind]

    digits = 2 if key == "mass_g" else 0
    named = f"x_{key}" if key != "minutes" else key

    def said(value: float) -> str:
        return say(named, value * factor + shift, units, digits=digits)

    note = one.reading.note
    words = note_text(replace(note, width_m=None, height_m=None), units)
    if one.reading.kind == "drying":
        words = f"{words}, after {said(one.measured)}"
    before, after = said(one.before), said(one.after)
    bare = figure(named, one.before * factor + shift, units, digits=digits)
    return {
        "seen": _seen(note)[5:],
        "said": words,
        "model": after if before == after else f"{bare} → {after}",
        "off": f"{one.off_sd:+.1f}{' !' if one.disagrees else ''}",
        "moved": f"{SHORT[one.moved]} {one.moved_sd:+.2f}",
    }


def _warnings(found: Calibration, units: str) -> list[str]:
    said = []
    odd = [one for one in found.standings if one.disagrees]
    if odd:
        listed = _notes_said([one.reading.note for one in odd], units)
        does = "disagrees with the rest and counts" if len(odd) == 1 else "disagree and count"
        said.append(
            f"{len(odd)} of {len(found.standings)} readings {does} less: {listed}. "
            "'drybox note undo ID' takes back a slip."
        )
    reasons = list(dict.fromkeys(why for _, why in found.passed_over))
    for why in reasons[:5]:
        notes = [note for note, reason in found.passed_over if reason == why]
        said.append(sentence(f"not used: {_notes_said(notes, units)}, because {why}"))
    if len(reasons) > 5:
        rest = sum(why in reasons[5:] for _, why in found.passed_over)
        said.append(f"Not used: {rest} more; --format json lists them.")
    if found.fit is not None and not found.too_little and found.effective_draws < 40:
        said.append(
            f"The draws are thin ({found.effective_draws:.0f} count): the range is rough here."
        )
    return said


def _seen(note: Note) -> str:
    """Return the day and the clock of a note, where it was written."""
    return f"{local_day(note.at_s, note.timezone)} {clock(note.at_s, note.timezone)}"


def _notes_said(notes: Sequence[Note], units: str) -> str:
    said = [f"{note_text(note, units)} ({_seen(note)}, {note.id})" for note in notes[:5]]
    return ", ".join(said) + (f" and {len(notes) - 5} more" if len(notes) > 5 else "")


def _stands_on(found: Calibration) -> list[str]:
    said = [
        "Off: the note less the model, in its usual errors (2 is rare, over 3 disagrees), after "
        "what the weather of its day may have done; moved most: in spreads of what was known "
        "before.",
        "Convection is the heat that the air carries off, contact that from plate to print; a "
        "drying print lifts between its magnets at the moisture told (water over fibre and "
        "gelatin), and below the critical moisture its face runs short; the falling-rate "
        "resistance is what the paper holds against its last water.",
        "Fitted by robust least squares that starts from the spreads of all boxes, hands and "
        "papers, through the same simulation as every answer; ranges by Laplace and importance "
        "resampling.",
        "The readings of one day share its weather, which may differ from what was noted; the "
        "plate's heat capacity is fixed by its mass.",
        "The box was aimed as the event file says, and stood out from half an hour before the "
        "opening; where notes begin before that, two hours before the first.",
    ]
    obstacles = found.fit.obstacles if found.fit is not None else ()
    said += [
        f"The shadows noted put {the(one.name)} between {one.bearing_from_deg:.0f}° and "
        f"{one.bearing_to_deg:.0f}°, {one.elevation_deg:.0f}° high, which moves the hours of sun."
        for one in obstacles
    ]
    if found.days_without_weather:
        days = found.days_without_weather
        which = "the one day" if found.days == 1 else f"{days} of {found.days} days"
        said.append(
            f"Little is learned without the weather, and none is known of {which}: a note like "
            "'drybox note sky clear 24C 45% 2m/s' on the day helps."
        )
    if found.promises.noted:
        said.append(
            "Range of the share kept: Jeffreys interval (Brown, Cai and DasGupta 2001, Statistical "
            "Science 16, 101)."
        )
    return said


def forgotten_answer(event: Event, was_there: bool) -> Answer:
    """Return the answer to ``drybox calibrate --forget``."""
    what = f"box '{event.box.name}' and paper '{event.paper.name}'"
    lead = f"Forgotten: the fit of {what}; the notes stay." if was_there else f"No fit of {what}."
    return answer_for(
        event,
        "calibrate",
        result={"forgotten": was_there, "box": event.box.name, "paper": event.paper.name},
        lead=[lead],
    )
