"""What a weather file says: how it was understood, one day of it drawn, and what is doubtful."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from drybox.reports.text.answer import Answer, Column, Table, echo_given
from drybox.reports.text.phrases import coordinates, iso_time, local_day, say

if TYPE_CHECKING:
    from drybox.inputs.weather.look import WeatherFile

BAR_LENGTH = 20
FULL_SUN_W_M2 = 1000.0
_FILE_COLUMNS = {
    "air_temp_k": "air_temp_c",
    "humidity_frac": "humidity_frac",
    "wind_10m_m_s": "wind_m_s",
    "cloud_frac": "cloud_frac",
    "ghi_w_m2": "ghi_w_m2",
}


def weather_answer(
    found: WeatherFile,
    hours: Sequence[Mapping[str, float]] | None,
    place: dict[str, Any],
    *,
    units: str = "metric",
) -> Answer:
    """Return the answer of ``drybox weather show``.

    The hours are those of `drybox.planning.scenario.weather_day.day_hours`, where the place is
    known.
    """
    weather = found.weather
    rows = _file_rows(found) if hours is None else _reached(found, hours)
    warnings = list(weather.doubts)
    if not found.zone_told:
        warnings.insert(
            0,
            "The times have no offset from UTC and no zone was given, so they are taken as UTC: "
            "add --timezone, or the coordinates.",
        )
    span = [float(weather.start_at[0]), float(weather.end_at[-1])]
    return Answer(
        command="weather",
        place=place,
        inputs=echo_given("weather", "argument", file=found.name),
        result={
            "file": found.name,
            "kind": weather.kind,
            "format": found.kind,
            "understood": list(weather.understood),
            "issued_at": weather.issued_at,
            "first_at": span[0],
            "last_at": span[1],
            "rows": rows,
        },
        lead=_lead(found, span, rows, units=units),
        tables=[_table(found, rows, drawn_sun=hours is not None)],
        assumptions=list(weather.assumptions),
        warnings=warnings,
        timezone=found.timezone,
    )


def _reached(found: WeatherFile, hours: Sequence[Mapping[str, float]]) -> list[dict[str, Any]]:
    """Return the hours that the file reaches; what lies outside is only held from its ends."""
    first, last = float(found.weather.start_at[0]), float(found.weather.end_at[-1])
    return [dict(row) for row in hours if first - 3599.0 <= row["at"] <= last]


def _file_rows(found: WeatherFile) -> list[dict[str, Any]]:
    """Return the file's own rows of the day, where no place is known for the sun."""
    weather, rows = found.weather, []
    for number, at in enumerate(weather.mid_at):
        if local_day(float(at), found.timezone) != found.day.isoformat():
            continue
        row: dict[str, Any] = {"at": float(at)}
        for name, shown in _FILE_COLUMNS.items():
            column = getattr(weather, name)
            if column is not None and math.isfinite(column[number]):
                value = float(column[number])
                row[shown] = value - 273.15 if name == "air_temp_k" else value
        rows.append(row)
    return rows


def _lead(
    found: WeatherFile, span: Sequence[float], rows: Sequence[Mapping[str, Any]], *, units: str
) -> list[str]:
    weather = found.weather
    if found.year is not None:
        where = coordinates(found.year.latitude_deg, found.year.longitude_deg)
        height = say("elevation_m", found.year.elevation_m, units)
        lead = [
            f"{found.name}: a {found.kind} file of {found.year.name}, {where}, {height} above the "
            "sea: what is usual, not a forecast."
        ]
    else:
        first, last = (iso_time(at, found.timezone)[:16].replace("T", " ") for at in span)
        lead = [f"{found.name}: a {found.kind} from {first} to {last} ({found.timezone})."]
        if weather.issued_at is not None:
            lead[0] += f" Issued {iso_time(weather.issued_at, found.timezone)[:16]}."
    lead.append("Understood: " + "; ".join(weather.understood) + ".")
    temps = [row["air_temp_c"] for row in rows if "air_temp_c" in row]
    if temps:
        low, high = (say("air_temp_c", value, units) for value in (min(temps), max(temps)))
        sun = sum(row.get("ghi_w_m2", 0.0) for row in rows) / 1000
        told = f", {sun:.1f} kWh/m² of sun on the level" if sun and len(rows) >= 23 else ""
        lead.append(f"{found.day.isoformat()}: air {low} to {high}{told}.")
    return lead


def _table(found: WeatherFile, rows: Sequence[Mapping[str, Any]], drawn_sun: bool) -> Table:
    """Return the day as a table whose last column draws the sun, or else the cloud."""
    columns = [
        Column("at", "Hour"),
        Column("air_temp_c", "air", 1),
        Column("humidity_frac", "RH"),
        Column("wind_m_s", "wind", 1),
        Column("cloud_frac", "cloud"),
        Column("ghi_w_m2", "sun"),
    ]
    present = {key for row in rows for key in row}
    kept = tuple(column for column in columns if column.key in present)
    by_sun = "ghi_w_m2" in present
    heading = "# open sky"
    scale = ""
    if by_sun:
        heading = "# sun, . clear" if drawn_sun else "# sun"
        scale = f"; a mark is {FULL_SUN_W_M2 / BAR_LENGTH:.0f} W/m²"
    drawn = [{**row, "bar": sun_bar(row) if by_sun else sky_bar(row)} for row in rows]
    title = f"{found.day.isoformat()}, {found.timezone}{scale}"
    return Table(title, (*kept, Column("bar", heading)), drawn)


def sun_bar(row: Mapping[str, float]) -> str:
    """Return the sun of an hour as a bar, and what a clear sky would add as dots.

    >>> sun_bar({"ghi_w_m2": 250.0, "clear_ghi_w_m2": 500.0})
    '#####.....'
    """
    sun = _length(row.get("ghi_w_m2", 0.0) / FULL_SUN_W_M2)
    clear = _length(row.get("clear_ghi_w_m2", 0.0) / FULL_SUN_W_M2)
    return "#" * sun + "." * max(0, clear - sun)


def sky_bar(row: Mapping[str, float]) -> str:
    """Return the share of open sky as a bar."""
    cloud = row.get("cloud_frac")
    return "" if cloud is None else "#" * _length(1.0 - cloud)


def _length(share: float) -> int:
    return round(BAR_LENGTH * min(max(share, 0.0), 1.2))
