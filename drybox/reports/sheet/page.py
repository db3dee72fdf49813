"""The day sheet: one HTML file that needs nothing else, for a phone, a printer and a wall."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

from drybox import __version__
from drybox.errors import NoAnswerError
from drybox.planning.one_print.lay_ons import LONGEST_S
from drybox.reports.sheet import parts
from drybox.reports.sheet.charts import day_chart, thermometer_chart, without_styles
from drybox.reports.sheet.day_view import evening, facts
from drybox.reports.sheet.drawings import day_strip
from drybox.reports.sheet.fit import fit_pictures, fit_ranges_svg
from drybox.reports.sheet.pocket import pocket_data
from drybox.reports.text.answer import Answer
from drybox.reports.text.phrases import coordinates, printable, say, unit_of

if TYPE_CHECKING:
    from jinja2 import Environment

LARGEST_BYTES = 200_000
SCRIPTS = ("sheet.js", "pocket.js")
STYLES = ("sheet.css", "paper.css")


def render_sheet(answers: Sequence[Answer], *, units: str = "metric", title: str = "") -> str:
    """Return the sheet: the same text for the same answers."""
    script, style = ("".join(map(_resource, names)) for names in (SCRIPTS, STYLES))
    page: str = (
        _environment()
        .get_template("sheet.html")
        .render(
            **_parts(answers, units, title),
            script=script,
            style=style,
            script_digest=_digest(script),
            style_digest=_digest(style),
            version=__version__,
        )
    )
    return page


def _digest(text: str) -> str:
    """Return what a Content-Security-Policy names a script or a style by."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


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
    at = parts.day_of(answers)
    aim, lookups, plan = (by_command.get(name) for name in ("aim", "lookups", "plan"))
    cards = parts.turn_cards(aim, units, lookups) if aim else []
    whole = bool(by_command.keys() & {"setout", "aim", "plan"})
    goods = parts.packing(by_command)
    others = _others(answers, units)
    listed = parts.tickets(plan) if plan else None
    return {
        "title": title or place.get("name") or "The day's sheet",
        "place": place.get("name") or "",
        "position": coordinates(place["latitude_deg"], place["longitude_deg"])
        if place.get("latitude_deg") is not None
        else "",
        "timezone": zone,
        "day": parts.long_day(at, zone) if at is not None else "",
        "steps": parts.agenda(by_command, cards) if whole else [],
        "facts": facts(by_command, units) if whole else [],
        "cards": cards,
        "aim_said": aim.beside if aim else [],
        "peg": say("peg_mm", parts.peg_of(aim), units) if aim else "",
        "curve": _curve(by_command, units),
        "strip": day_strip(lookups.result["skies"][0]["loads"], zone) if lookups else "",
        "pull": _pull(lookups, units) if lookups else None,
        "thermometer": _thermometer(lookups, units),
        "tickets": listed,
        "to_write": parts.to_write(listed["rows"]) if listed else [],
        "pocket": pocket_data(plan, lookups, units=units, title=title)
        if plan and plan.result.get("sitters")
        else "",
        "unit": unit_of("plate_temp_c", units),
        "plan_said": plan.lead if plan else [],
        "plan_tables": _plan_tables(plan, units),
        "others": [part for part in others if not (goods and part["command"] == "baths")],
        "baths": [part for part in others if goods and part["command"] == "baths"],
        "evening": evening(by_command, units, goods) if goods else None,
        "warnings": parts.gathered(answers, "warnings"),
        "cautions": parts.gathered(answers, "cautions"),
        "assumptions": parts.gathered(answers, "assumptions"),
    }


def _curve(by_command: Mapping[str, Answer], units: str) -> dict[str, Any] | None:
    setout = by_command.get("setout")
    if setout is None or not setout.result.get("plate"):
        return None
    hottest = max(setout.result["plate"], key=lambda row: float(row["plate_temp_c"]))
    label = (
        "The empty plate through the day, at most "
        f"{say('t_c', hottest['plate_temp_c'], units)}. The table below says the same."
    )
    svg = day_chart(**_drawn(setout, by_command, units), label=label)
    return {"svg": svg, "table": parts.grid(setout.tables[0], units, setout.timezone)}


def _drawn(setout: Answer, by_command: Mapping[str, Answer], units: str) -> dict[str, Any]:
    lookups, plan = by_command.get("lookups"), by_command.get("plan")
    return {
        "plate": _plate_hours(setout.result),
        "timezone": setout.timezone,
        "units": units,
        "shadows": setout.result.get("blocked", ()),
        "limit_c": lookups.result["wet_limit_c"] if lookups else None,
        "windows": parts.pull_windows(plan) if plan else (),
    }


def _plate_hours(result: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the plate from half an hour before setting out to an hour after the last laying-on."""
    plate: list[Mapping[str, Any]] = result["plate"]
    begin = result.get("set_out_at") or plate[0]["at"]
    ends = [row["at"] for row in result["loads"]] or [plate[-1]["at"]]
    end = min(plate[-1]["at"], max(*ends, begin) + 3600.0)
    return [row for row in plate if begin - 1800.0 <= row["at"] <= end]


def day_picture(by_command: Mapping[str, Answer], units: str) -> Any:
    """Return the figure of the plate's day."""
    if "setout" not in by_command:
        raise NoAnswerError("there is nothing to draw: no daylight reaches the plate")
    from drybox.reports.pictures.day import day_figure

    setout = by_command["setout"]
    rows = setout.result["loads"]
    return day_figure(
        **_drawn(setout, by_command, units),
        loads=[{"laid_on_at": row["at"], "minutes": row["minutes"]} for row in rows],
        marks={"set out": setout.result.get("set_out_at")},
    )


def _pull(lookups: Answer, units: str) -> dict[str, Any]:
    rows = parts.pull_rows(lookups)
    return {
        "skies": [sky["sky"] for sky in lookups.result["skies"]],
        "rows": rows,
        "any_hot": any(cell["hot"] for row in rows for cell in row["cells"]),
        "longest": f"{LONGEST_S / 3600:.0f} h",
        "any_no": any(cell["likely"] == parts.NEVER for row in rows for cell in row["cells"]),
        "any_open": any(cell["range"].endswith("?") for row in rows for cell in row["cells"]),
        "limit": say("limit_c", lookups.result["wet_limit_c"], units),
    }


def _thermometer(lookups: Answer | None, units: str) -> dict[str, Any] | None:
    if lookups is None or not lookups.result["thermometer"]:
        return None
    label = "Minutes to dry fall as the plate's reading rises; the table below says the same."
    return parts.thermometer_rows(lookups, units) | {
        "svg": thermometer_chart(lookups.result["thermometer"], units, label),
        "air": say("air_temp_c", lookups.result["air_temp_c"], units),
        "wind": say("wind_m_s", lookups.result["wind_m_s"], units, digits=1),
        "limit": say("limit_c", lookups.result["wet_limit_c"], units),
    }


NOT_AGAIN = ("sitters", "bring")
OWN_PLACE = ("setout", "aim", "lookups", "plan")
TITLES = {
    "dry": "One print, way by way",
    "wash": "Wash",
    "baths": "Baths",
    "season": "The season",
    "calibrate": "What the measurements say",
}


def _plan_tables(plan: Answer | None, units: str) -> list[dict[str, Any]]:
    """Return the plan's tables besides the tickets and the goods; of changes those that help."""
    found = []
    for table in plan.tables if plan else ():
        rows = [row for row in table.rows if row.get("more") != "none"]
        if rows and plan is not None and table.name not in NOT_AGAIN:
            found.append(parts.grid(replace(table, rows=rows), units, plan.timezone))
    return found


def _svg(answer: Answer) -> str:
    """Return the picture above an answer's tables; a tour of fairs, say, has none."""
    if answer.command == "calibrate":
        return fit_ranges_svg(answer)
    if answer.command != "season" or not answer.result.get("rows"):
        return ""
    from drybox.reports.pictures.plots import inline_svg
    from drybox.reports.pictures.season import season_figure

    made = season_figure(answer.result["rows"], answer.result["wait_minutes"])
    label = "How often the plate works, month by hour; the tables below say the same."
    return without_styles(inline_svg(made, "season", label))


def _others(answers: Sequence[Answer], units: str) -> list[dict[str, Any]]:
    """Return the answers that have no place of their own: what they say, and their tables."""
    return [
        {
            "command": answer.command,
            "title": TITLES.get(answer.command, answer.command),
            "said": answer.lead,
            "svg": _svg(answer),
            "tables": [
                parts.grid(table, units, answer.timezone)
                for table in answer.tables
                if table.rows and table.name != "bring"
            ],
            "pictures": fit_pictures(answer, units) if answer.command == "calibrate" else [],
        }
        for answer in answers
        if answer.command not in OWN_PLACE
    ]
