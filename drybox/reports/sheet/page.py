"""The day sheet: one HTML file that needs nothing else, for a phone, a printer and a wall."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybox import __version__
from drybox.errors import NoAnswerError
from drybox.reports.files.write import write_file
from drybox.reports.sheet.fit import fit_pictures, fit_ranges_svg
from drybox.reports.sheet.parts import (
    agenda,
    day_of,
    gathered,
    grid,
    long_day,
    packing,
    pull_rows,
    pull_windows,
    thermometer_rows,
    tickets,
    turn_cards,
)
from drybox.reports.text.answer import Answer
from drybox.reports.text.phrases import coordinates, printable, say

if TYPE_CHECKING:
    from jinja2 import Environment

LARGEST_BYTES = 300_000
ON_PAPER = ("What one more would bring", "Sun and shade in the open hours")
"""Tables of the plan that are printed."""


def write_sheet(
    answers: Sequence[Answer],
    path: str | Path,
    force: bool = False,
    *,
    units: str = "metric",
    title: str = "",
    never: Iterable[Path] = (),
) -> Path:
    """Write the answers of a day as one HTML file.

    Parameters
    ----------
    answers : sequence of Answer
        Of any commands; the sheet has a part for each, in its own order.
    path : str or Path
        The file to make.
    force : bool
        Replace a file that is there.
    units : str
        ``"metric"`` or ``"us"``.
    title : str
        Of the event; else the place's name.
    never : iterable of Path
        Files that must not be replaced.

    Raises
    ------
    StoreError
        If the file cannot be made, or exists and ``force`` is false.
    """
    return write_file(
        path, render_sheet(answers, units=units, title=title), force=force, never=never
    )


def render_sheet(answers: Sequence[Answer], *, units: str = "metric", title: str = "") -> str:
    """Return the sheet: the same text for the same answers."""
    script = _resource("sheet.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    parts = _parts(answers, units, title)
    page: str = (
        _environment()
        .get_template("sheet.html")
        .render(
            **parts,
            script=script,
            style=_resource("sheet.css"),
            script_digest=digest,
            version=__version__,
        )
    )
    return page


def _shown(value: Any) -> Any:
    """Return text without the signs that turn the reading direction of what follows them."""
    from markupsafe import Markup

    return printable(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("drybox.reports.sheet", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def _resource(name: str) -> str:
    from importlib.resources import files

    return (files("drybox.reports.sheet") / "templates" / name).read_text(encoding="utf-8")


def _parts(answers: Sequence[Answer], units: str, title: str) -> dict[str, Any]:
    """Return what the template names, empty where no answer has it."""
    by_command = {answer.command: answer for answer in answers}
    first = answers[0]
    zone, place = first.timezone, first.place
    at = day_of(answers)
    aim, lookups, plan = (by_command.get(name) for name in ("aim", "lookups", "plan"))
    cards = turn_cards(aim, units) if aim else []
    steps = agenda(by_command, cards) if by_command.keys() & {"setout", "aim", "plan"} else []
    more = _plan_tables(plan, units)
    return {
        "title": title or place.get("name") or "The day's sheet",
        "place": place.get("name") or "",
        "position": coordinates(place["latitude_deg"], place["longitude_deg"])
        if place.get("latitude_deg") is not None
        else "",
        "timezone": zone,
        "day": long_day(at, zone) if at is not None else "",
        "steps": steps,
        "cards": cards,
        "aim_said": _aim_said(aim),
        "peg": _peg(aim, units),
        "curve": _curve(by_command, units),
        "strip": _strip(lookups),
        "pull": _pull(lookups, units),
        "thermometer": _thermometer(lookups, units),
        "tickets": tickets(plan, units) if plan else None,
        "plan_said": plan.lead if plan else [],
        "plan_tables": [found for title, found in more.items() if title in ON_PAPER],
        "busy": more.get("How busy"),
        "others": _others(answers, units),
        "packing": packing(by_command),
        "warnings": gathered(answers, "warnings"),
        "cautions": gathered(answers, "cautions"),
        "assumptions": gathered(answers, "assumptions"),
    }


def _aim_said(aim: Answer | None) -> list[str]:
    """Return what the aim keeps; how to sight it by the peg is said by the page itself."""
    return aim.lead[2:-1] if aim else []


def _peg(aim: Answer | None, units: str) -> str:
    given = aim.inputs if aim else []
    return next((say("peg_mm", i["value"], units) for i in given if i["key"] == "aim.peg"), "")


def _curve(by_command: Mapping[str, Answer], units: str) -> dict[str, Any] | None:
    """Return the plate's day as picture and table."""
    setout = by_command.get("setout")
    if setout is None or not setout.result.get("plate"):
        return None
    from drybox.reports.pictures.plots import inline_svg

    made = day_picture(by_command, units)
    plate = setout.result["plate"]
    hottest = max(plate, key=lambda row: float(row["plate_temp_c"]))
    label = (
        f"The empty plate through the day, at most {say('t_c', hottest['plate_temp_c'], units)}; "
        "below it how long a print takes. The table below says the same."
    )
    return {
        "svg": inline_svg(made, "day", label),
        "table": grid(setout.tables[0], units, setout.timezone),
    }


def day_picture(by_command: Mapping[str, Answer], units: str) -> Any:
    """Return the figure of the plate's day.

    Raises
    ------
    NoAnswerError
        If the box is not set out, for want of daylight.
    """
    if "setout" not in by_command:
        raise NoAnswerError("there is nothing to draw: no daylight reaches the plate")
    from drybox.reports.pictures.day import day_figure

    setout, lookups = by_command["setout"], by_command.get("lookups")
    result = setout.result
    loads = [{"laid_on_at": row["at"], "minutes": row["minutes"]} for row in result["loads"]]
    begin = result.get("set_out_at") or result["plate"][0]["at"]
    ends = [row["at"] for row in result["loads"]] or [result["plate"][-1]["at"]]
    end = min(result["plate"][-1]["at"], max(*ends, begin) + 3600.0)
    return day_figure(
        [row for row in result["plate"] if begin - 1800.0 <= row["at"] <= end],
        timezone=setout.timezone,
        units=units,
        shadows=result["blocked"],
        loads=loads,
        marks={"set out": result.get("set_out_at")},
        limit_c=lookups.result["wet_limit_c"] if lookups else None,
        windows=pull_windows(by_command["plan"]) if "plan" in by_command else (),
    )


def _strip(lookups: Answer | None) -> str:
    from drybox.reports.sheet.drawings import day_strip

    if lookups is None or not lookups.result["skies"]:
        return ""
    return day_strip(lookups.result["skies"][0]["loads"], lookups.timezone)


def _pull(lookups: Answer | None, units: str) -> dict[str, Any] | None:
    if lookups is None or not lookups.result["skies"]:
        return None
    rows = pull_rows(lookups)
    return {
        "skies": [sky["sky"] for sky in lookups.result["skies"]],
        "rows": rows,
        "any_hot": any(cell["hot"] for row in rows for cell in row["cells"]),
        "limit": say("limit_c", lookups.result["wet_limit_c"], units),
    }


def _thermometer(lookups: Answer | None, units: str) -> dict[str, Any] | None:
    if lookups is None or not lookups.result["thermometer"]:
        return None
    from drybox.reports.pictures.day import thermometer_figure
    from drybox.reports.pictures.plots import inline_svg

    made = thermometer_figure(lookups.result["thermometer"], units)
    label = "Minutes to dry fall as the plate's reading rises; the table below says the same."
    return thermometer_rows(lookups, units) | {
        "svg": inline_svg(made, "meter", label),
        "air": say("air_temp_c", lookups.result["air_temp_c"], units),
        "wind": say("wind_m_s", lookups.result["wind_m_s"], units, digits=1),
        "limit": say("limit_c", lookups.result["wet_limit_c"], units),
    }


OWN_PLACE = ("setout", "aim", "lookups", "plan")
TITLES = {
    "dry": "One print, way by way",
    "wash": "Wash",
    "baths": "Baths",
    "season": "The season",
    "calibrate": "What the measurements say",
}


def _plan_tables(plan: Answer | None, units: str) -> dict[str, dict[str, Any]]:
    """Return the plan's tables besides the tickets, by title; of changes those that help."""
    found = {}
    for table in plan.tables if plan else ():
        rows = [row for row in table.rows if row.get("more") != "none"]
        if rows and plan is not None:
            found[table.title] = grid(replace(table, rows=rows), units, plan.timezone)
    return found


def _svg(answer: Answer) -> str:
    """Return the picture above an answer's tables, if it has one."""
    if answer.command == "calibrate":
        return fit_ranges_svg(answer)
    return _season_svg(answer) if answer.command == "season" else ""


def _season_svg(season: Answer) -> str:
    """Return the picture of a season, or nothing for a tour of fairs."""
    rows = season.result.get("rows")
    if not rows:
        return ""
    from drybox.reports.pictures.plots import inline_svg
    from drybox.reports.pictures.season import season_figure

    made = season_figure(rows, season.result["wait_minutes"])
    label = "How often the plate works, month by hour; the tables below say the same."
    return inline_svg(made, "season", label)


def _others(answers: Sequence[Answer], units: str) -> list[dict[str, Any]]:
    """Return the answers that have no place of their own: what they say, and their tables."""
    return [
        {
            "command": answer.command,
            "title": TITLES.get(answer.command, answer.command),
            "said": answer.lead,
            "svg": _svg(answer),
            "tables": [
                grid(table, units, answer.timezone)
                for table in answer.tables
                if table.rows and table.title != "Bring"
            ],
            "pictures": fit_pictures(answer, units) if answer.command == "calibrate" else [],
        }
        for answer in answers
        if answer.command not in OWN_PLACE
    ]
