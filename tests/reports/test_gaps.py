"""Records, pictures and sheets of answers that lack something."""

from __future__ import annotations

import csv
import io
import json
import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drybox import tables
from drybox.errors import InputError, NoAnswerError
from drybox.reports.files.calendar_file import render_calendar
from drybox.reports.files.csv_table import render_csv
from drybox.reports.files.json_record import render_json
from drybox.reports.pictures.day import day_figure, print_figure
from drybox.reports.pictures.fit import drying_figure, ranges_figure
from drybox.reports.pictures.plots import svg_text
from drybox.reports.sheet.drawings import day_strip
from drybox.reports.sheet.page import day_picture, render_sheet
from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import figure
from tests.reports.invented_day import ZONE, at, lookups, plan, setout

NEVER = dict.fromkeys(("p10", "p50", "p90"), math.inf)


def texts(made: Any) -> list[str]:
    root = ET.fromstring(svg_text(made))
    return [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]


def test_a_list_is_one_cell_and_an_unknown_thing_is_its_name() -> None:
    row = {"hours": [9, 10], "said": {"a": 1, "b": 2}}
    columns = (Column("hours", "Hours"), Column("said", "Said"))
    answer = Answer("dry", {"file": Path("day.csv")}, [], tables=[Table("T", columns, [row])])
    (cells,) = csv.DictReader(io.StringIO(render_csv(answer)))
    assert cells == {"hours": "9; 10", "said": "1; 2"}
    assert json.loads(render_json(answer))["result"]["file"] == "day.csv"
    assert figure("plate_temp_c", [41.2, 50.0]) == "41, 50"


def day(**changed: Any) -> list[str]:
    result = setout().result
    said: dict[str, Any] = {
        "timezone": ZONE,
        "shadows": result["blocked"],
        "loads": [{"laid_on_at": row["at"], "minutes": row["minutes"]} for row in result["loads"]],
        "marks": {"set out": result["set_out_at"]},
    }
    return [text.strip() for text in texts(day_figure(result["plate"], **(said | changed)))]


def test_a_day_is_drawn_without_what_it_lacks() -> None:
    whole = day()
    assert {"set out", "Upper Larkmead"} <= set(whole)
    assert "set out" not in day(marks={"set out": None})
    night = [{"from_at": at(1), "until_at": at(2), "name": "by night", "passed_frac": 0.0}]
    assert "by night" not in day(shadows=night)
    assert len(day(loads=[])) < len(whole)
    never = [{"laid_on_at": at(10), "minutes": NEVER}, {"laid_on_at": at(11), "minutes": NEVER}]
    assert "empty plate" in day(loads=never)


def test_a_print_that_hangs_is_drawn_without_a_plate_over_any_length_of_days() -> None:
    for days in (0.5, 9.0):
        time_at = np.linspace(at(10), at(10) + days * 86400, 500)
        columns = {
            "blotters_print_temp_c": np.full(time_at.shape, 20.0),
            "blotters_moisture_g_m2": np.linspace(200.0, 20.0, 500),
        }
        made = print_figure(time_at, columns, ZONE)
        assert "plate" not in texts(made)
        assert "print, blotters" in texts(made)


def test_a_reading_that_disagrees_is_marked_and_a_short_name_stays_on_one_line() -> None:
    reading = {"measured_minutes": 20.0, "before_minutes": 25.0, "after_minutes": 21.0}
    for odd in (True, False):
        said = texts(drying_figure([reading | {"disagrees": odd}]))
        assert ("disagrees" in said) == odd
    parts = {"p10": 0.8, "p50": 1.0, "p90": 1.3}
    rows = [{"name": name, "unit": "1", "before": parts, "after": parts} for name in
            ("paint", "falling-rate resistance factor")]  # fmt: skip
    said = texts(ranges_figure(rows))
    assert "paint" in said
    assert "falling-rate resistance factor" not in said  # too long for one line


def calendar(*answers: Answer) -> str:
    return render_calendar(answers).replace(b"\r\n ", b"").decode()


def test_a_calendar_leaves_out_what_has_no_time() -> None:
    whole = setout()
    never = replace(whole, result=whole.result | {"last_load_at": None})
    assert "Last print worth" in calendar(whole)
    assert "Last print worth" not in calendar(never)
    spent = plan()
    change = {"at": math.nan, "what": "Change the fixer"}
    timeless = replace(spent, result=spent.result | {"tank_changes": [change]})
    assert "Change the fixer" in calendar(spent)
    assert "Change the fixer" not in calendar(timeless)


def test_a_sheet_leaves_out_what_has_no_time_or_no_rows() -> None:
    whole = setout()
    part = replace(whole, result=whole.result | {"last_load_at": None, "sunset_at": None})
    for answer, there in ((whole, True), (part, False)):
        page = render_sheet([answer])
        assert ("Last print that is worth laying on" in page) == there
        assert ("Sunset" in page) == there
    tried = Table("What one more would bring", (Column("change", "What if"),), [{"more": "none"}])
    idle = replace(plan(), tables=[tried])
    assert "What one more would bring" in render_sheet([plan()])
    assert "What one more would bring" not in render_sheet([idle])


def test_a_tour_on_a_sheet_has_its_table_and_no_picture() -> None:
    columns = (Column("name", "Fair"),)
    table = Table("Fair by fair", columns, [{"name": "Sallow End"}])
    tour = Answer("season", {"stops": []}, ["Two fairs."], tables=[table])
    page = render_sheet([tour])
    assert "Sallow End" in page
    assert 'id="season-' not in page


def test_a_picture_of_a_day_without_daylight_is_refused() -> None:
    with pytest.raises(NoAnswerError, match="nothing to draw"):
        day_picture({"plan": plan()}, "metric")


def test_a_strip_of_hours_in_which_nothing_dries_says_so() -> None:
    loads = lookups().result["skies"][0]["loads"]
    assert "soonest laid on at" in day_strip(loads, ZONE)
    never = [load | {"minutes": NEVER} for load in loads]
    assert "hardly a print dries" in day_strip(never, ZONE)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("paint,shine,1,W,,,guess,somewhere", "paint/shine lacks status, source or unit"),
        ("paint,shine,1,W,,,judgement,", "lacks status, source or unit"),
        ("paint,shine,1,furlong,,,judgement,somewhere", "unit 'furlong' is not known"),
    ],
)
def test_a_shipped_table_with_a_row_of_unknown_worth_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, row: str, why: str
) -> None:
    (tmp_path / "odd.csv").write_text(f"{','.join(tables.COLUMNS)}\n{row}\n", encoding="utf-8")
    monkeypatch.setattr(tables, "shipped_dir", lambda _: tmp_path)
    with pytest.raises(InputError, match=why):
        tables.load_table.__wrapped__("odd")
