"""What a season says: how often the plate works, month by hour, and when it is worth carrying."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from drybox.inputs.weather import words as weather_words
from drybox.planning.scenario.rain import stopping_spells
from drybox.readable import MetricText, counted
from drybox.reports.text.answer import Answer, Column, Table, answer_for, fields_of
from drybox.reports.text.cautions import cautions
from drybox.reports.text.phrases import compass_point, figure, listed, say, span
from drybox.reports.text.weather_words import source_said

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.weather.weather import Weather
    from drybox.planning.scenario.percentiles import Range
    from drybox.planning.season.season import Season, SeasonCell, SeasonMonth
    from drybox.planning.season.tour import TourStop

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
AIR_KEYS = {
    "air_temp": "air_temp_k",
    "humidity": "humidity_frac",
    "wind": "wind_10m_m_s",
    "wind_at_plate": "felt_wind_m_s",
}
ROW_COLUMNS = (
    Column("month", "month"),
    Column("hour", "hour"),
    Column("minutes", "plate"),
    Column("works_frac", "works"),
    Column("line_minutes", "line"),
    Column("line_works_frac", "line works"),
    Column("gain_frac", "only the plate"),
    Column("worth", "worth carrying"),
    Column("plate_temp_c", "plate at laying on"),
    Column("held_frac", "turned off the sun"),
    Column("laid_on", "laying-ons"),
)


def season_answer(
    event: Event,
    found: Season,
    weather: Weather,
    *,
    units: str = "metric",
    rows_first: bool = False,
) -> Answer:
    """Return the answer of ``drybox season``.

    ``weather`` is the year it was worked out under; ``rows_first`` puts every month and hour into
    one table, for CSV, instead of pages for people.
    """
    rows = [_row(cell) for cell in found.cells]
    months = [_month_row(month) for month in found.months]
    own, doubts = set(event.weather.assumptions), set(event.weather.doubts)
    return answer_for(
        event,
        "season",
        result={
            "rows": rows,
            "months": months,
            "wait_minutes": found.wait_s / 60,
            "works_hours": found.works_h,
            "daylight_hours": found.daylight_h,
            "weather": {"kind": weather.kind, "source": weather.source},
            "aimed": found.aim_words,
        },
        lead=_lead(event, found, weather),
        tables=[Table("Every month and hour", ROW_COLUMNS, rows)]
        if rows_first
        else _tables(found, months),
        assumptions=[
            *(text for text in event.assumptions if text not in own),
            *weather.assumptions,
            *_stands_on(found, weather),
        ],
        warnings=[*(text for text in event.warnings if text not in doubts), *weather.doubts],
        cautions=cautions("hot_metal", "estimate"),
    )


def _row(cell: SeasonCell) -> dict[str, Any]:
    return {
        **fields_of(cell, "month", "hour"),
        "minutes": cell.duration_s.minutes(math.inf),
        "works_frac": cell.works_frac,
        "line_minutes": cell.line_duration_s.minutes(math.inf),
        **fields_of(cell, "line_works_frac", "gain_frac", "worth"),
        "plate_temp_c": cell.plate_temp_k.scaled(1.0, -273.15).record(),
        **fields_of(cell, "held_frac", "laid_on"),
    }


def _month_row(month: SeasonMonth) -> dict[str, Any]:
    aim = month.aim
    return {
        "month": aim.month,
        "bearing_true_deg": aim.bearing_deg,
        **fields_of(aim, "tilt_deg", "plate_irradiance_w_m2", "kept_frac"),
        **fields_of(month, "days_frac", "works_frac"),
        "minutes": month.duration_s.minutes(math.inf),
        "line_works_frac": month.line_works_frac,
        "line_minutes": month.line_duration_s.minutes(math.inf),
        "worth_hours": list(month.worth_hours),
    }


def hour_runs(hours: Iterable[int]) -> str:
    """Return hours of the day as the stretches they make.

    >>> hour_runs([8, 9, 10, 15]), hour_runs([])
    ('8–11, 15–16', 'none')
    """
    runs: list[list[int]] = []
    for hour in hours:
        if runs and runs[-1][1] == hour:
            runs[-1][1] = hour + 1
        else:
            runs.append([hour, hour + 1])
    return ", ".join(f"{first}–{last}" for first, last in runs) or "none"


def _lead(event: Event, found: Season, weather: Weather) -> list[str]:
    wait = say("minutes", found.wait_s / 60)
    share = say("works_frac", found.works_h / max(found.daylight_h, 1e-9))
    sky = "in a typical year" if weather.kind == "typical_year" else f"under {_sky(weather)}"
    lead = [
        f"A print laid on the plate is dry within {wait} in {found.works_h:.0f} of the "
        f"{found.daylight_h:.0f} hours of daylight {sky} ({share})."
    ]
    if weather.usual:
        lead.append("Air, humidity or wind were not told: those usual here on each day are taken.")
    lead += _air_said(event)
    if weather.kind != "typical_year" and stopping_spells(
        event.weather, event.opens_at, event.closes_at
    ):
        lead.append("The rain told for the fair is left out: no year has it every day.")
    hours = span(event.opens_at, event.closes_at, event.place.timezone)
    ordered = sorted(found.months, key=lambda month: -month.works_frac)
    best, worst = ordered[0], ordered[-1]
    most, least = (say("works_frac", month.works_frac) for month in (best, worst))
    if best.works_frac > 0 and most == least:
        lead.append(f"From {hours} {most} of all laying-ons work in every month.")
    elif best.works_frac > 0:
        lead.append(
            f"Best month for a fair from {hours}: {MONTHS[best.aim.month - 1]}, where "
            f"{most} of all laying-ons work; least: {MONTHS[worst.aim.month - 1]}, {least}."
        )
    carried = [
        f"{MONTHS[month.aim.month - 1]} {hour_runs(month.worth_hours)}"
        for month in found.months
        if month.worth_hours
    ]
    if not carried:
        return [*lead, "In no hour is a plate worth carrying rather than a line."]
    return [*lead, f"Worth carrying a plate rather than a line: {'; '.join(carried)} o'clock."]


def _air_said(event: Event) -> list[MetricText]:
    """Return the line on air that was told for the fair and is taken all year; none without."""
    weather, told = event.weather, event.tables.get("weather") or {}
    values = {
        name: float(np.ravel(getattr(weather, name))[0])
        for key, name in AIR_KEYS.items()
        if key in told
    }
    if not values:
        return []
    said = weather_words.say(values)
    return [MetricText("In every month the air is as told for the fair: ", said, ".")]


def _sky(weather: Weather) -> str:
    cloud = 0.0 if weather.cloud_frac is None else float(weather.cloud_frac[0])
    return weather_words.say({"cloud_frac": cloud})


def _tables(found: Season, months: Sequence[dict[str, Any]]) -> list[Table]:
    wait = say("minutes", found.wait_s / 60)

    def likely(duration: Range, horizon_s: float) -> str:
        late = f">{horizon_s / 3600:.0f}h"
        return f"{late if duration.p50 is None else figure('minutes', duration.p50 / 60):>3}"

    return [
        Table(
            "Month by month, over the fair's hours: minutes to dry (8 of 10 lie within)",
            on_request=True,
            columns=(
                Column("month_name", "Month"),
                Column("minutes", "plate"),
                Column("works_frac", "works"),
                Column("line_minutes", "line"),
                Column("aim", "best one aim"),
                Column("worth_text", "worth carrying"),
            ),
            rows=[
                row
                | {
                    "month_name": MONTHS[row["month"] - 1],
                    "aim": _aim(row),
                    "worth_text": hour_runs(row["worth_hours"]),
                }
                for row in months
            ],
        ),
        _matrix(
            found,
            f"Of 100 laying-ons on the plate, dry within {wait}",
            lambda cell: f"{100 * cell.works_frac:3.0f}",
        ),
        _matrix(
            found,
            "Minutes on the plate, likely",
            on_request=True,
            value=lambda cell: likely(cell.duration_s, found.plate_horizon_s),
        ),
        _matrix(
            found,
            "Minutes on a line in the shade, likely",
            on_request=True,
            value=lambda cell: likely(cell.line_duration_s, found.line_horizon_s),
        ),
    ]


def _aim(row: dict[str, Any]) -> str:
    if not row["kept_frac"]:
        return "no light"
    if row["tilt_deg"] < 3:
        return "level"
    return f"{compass_point(row['bearing_true_deg'])} {row['tilt_deg']:.0f}°"


def _matrix(
    found: Season, title: str, value: Callable[[SeasonCell], str], *, on_request: bool = False
) -> Table:
    said = {(cell.hour, cell.month): value(cell) for cell in found.cells}
    columns = (Column("hour_name", "Hour"), *(Column(name.lower(), name) for name in MONTHS))
    rows = [
        {"hour_name": f"{hour}"}
        | {name.lower(): said.get((hour, n), "  –") for n, name in enumerate(MONTHS, start=1)}
        for hour in sorted({hour for hour, _ in said})
    ]
    return Table(title, columns, rows, on_request=on_request)


def _stands_on(found: Season, weather: Weather) -> list[str]:
    plate_h, line_h = found.plate_horizon_s / 3600, found.line_horizon_s / 3600
    typical = weather.kind == "typical_year"
    held = any(cell.held_frac > 0.0 for cell in found.cells)
    held_said = ", but off the sun where the plate would pass what was asked for" if held else ""
    return [
        *([source_said(weather.source, "The year")] if typical else []),
        f"One print is laid on every 10 minutes of daylight and one an hour hung in the shade; a "
        f"range holds 8 in 10 of a month's days. What is not dry on the plate after {plate_h:.0f} "
        f"h, or on the line after {line_h:.0f} h, is given as long.",
        f"The box stands out from sunrise, {_AIMED[found.aim_words]}{held_said}. A print "
        "kept over its limit of heat counts as long too.",
        "An hour is worth the carriage if on half of the days the plate dries a print in time and "
        "the line does not (a judgement).",
    ]


_AIMED = {
    "fixed": "with one fixed aim all year",
    "best by month": "at each month's best aim",
    "turned every hour": "turned every hour to face the sun",
}


def tour_answer(stops: Sequence[TourStop], *, wait_s: float, table_name: str) -> Answer:
    """Return the answer of ``drybox season --tour``: each fair at its place and time of year.

    ``wait_s`` is the longest a sitter waits, where no event says otherwise. [s]
    """
    rows = [_stop_row(stop) for stop in stops]
    good = [row for row in rows if not row["failed"]]
    best = sorted(good, key=lambda row: -row["works_frac"])
    fairs = counted(len(rows), "fair")
    lead = [f"{fairs} of {table_name}, each in the month of its date."]
    if best:
        lead.insert(0, _most_and_least(best, say("minutes", wait_s / 60)))
    weak = [row["name"] for row in good if row["works_frac"] < 0.5]
    if weak:
        lead.append(f"Bring another way of drying to {listed(weak)}.")
    return Answer(
        command="season",
        place={"name": f"a tour of {fairs}"},
        inputs=[{"key": "tour", "value": table_name, "unit": "", "source": "option --tour"}],
        result={"stops": rows, "wait_minutes": wait_s / 60},
        lead=lead,
        tables=[Table("Fair by fair, over its hours", _STOP_COLUMNS, rows)],
        assumptions=sorted({text for stop in stops for text in stop.assumptions}),
        warnings=[f"{row['name']}: {row['failed']}" for row in rows if row["failed"]],
        cautions=cautions("hot_metal", "estimate"),
    )


def _most_and_least(best: Sequence[dict[str, Any]], wait: str) -> str:
    """Return where the plate works most and least, of fairs in that order."""
    most, least = (say("works_frac", best[end]["works_frac"]) for end in (0, -1))
    if len(best) > 1 and most == least:
        return f"The plate works alike at every fair: {most} of laying-ons dry in {wait}."
    text = f"The plate works most at {best[0]['name']} ({most} of laying-ons dry in {wait})"
    return text + (f", least at {best[-1]['name']} ({least})." if len(best) > 1 else ".")


_STOP_COLUMNS = (
    Column("name", "Fair"),
    Column("date", "date"),
    Column("minutes", "plate"),
    Column("works_frac", "works"),
    Column("line_minutes", "line"),
    Column("aim", "best one aim"),
)


def _stop_row(stop: TourStop) -> dict[str, Any]:
    if stop.month is None:
        return fields_of(stop, "name", "date", "failed")
    row = _month_row(stop.month)
    return {
        **fields_of(stop, "name", "date", "latitude_deg", "longitude_deg"),
        "aim": _aim(row),
        "weather": stop.weather,
        **row,
        "failed": "",
    }
