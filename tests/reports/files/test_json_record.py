from __future__ import annotations

import csv
import io
import json
import math
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox import __version__
from drybox.reports.files.csv_table import render_csv, safe_cell
from drybox.reports.files.json_record import render_json
from drybox.reports.files.series_csv import render_series
from drybox.reports.files.write import write_file
from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import figure

AUTUMN_S = 1824942600.0  # 2027-10-31 02:30, an hour that Vienna has twice


def answer(result: dict[str, Any], tables: list[Table] | None = None) -> Answer:
    place = {"name": "Köln"}
    return Answer("dry", result, ["Dry."], place, tables=tables or [], timezone="Europe/Vienna")


def record(result: dict[str, Any]) -> dict[str, Any]:
    text = render_json(answer(result))

    def refuse(token: str) -> None:
        raise AssertionError(token)

    whole = json.loads(text, parse_constant=refuse)
    assert isinstance(whole, dict)
    return whole


def test_json_has_the_agreed_keys_in_order() -> None:
    assert list(record({})) == [
        *("command", "version", "schema_version", "place", "inputs", "result"),
        *("assumptions", "warnings", "cautions"),
    ]
    assert record({})["version"] == __version__


def test_json_turns_moments_into_local_time_with_offset() -> None:
    said = record(
        {"pull_from": AUTUMN_S, "dry_at": {"p10": AUTUMN_S, "p50": AUTUMN_S + 3600, "p90": None}}
    )
    assert said["result"] == {
        "pull_from": "2027-10-31T02:30:00+02:00",
        "dry_at": {
            "p10": "2027-10-31T02:30:00+02:00",
            "p50": "2027-10-31T02:30:00+01:00",
            "p90": None,
        },
    }


def test_json_holds_no_nan_and_takes_arrays() -> None:
    said = record(
        {
            "plate_temp_c": np.array([20.5, np.nan, np.inf]),
            "sheets": np.int64(3),
            "feasible": np.bool_(True),
            "date": date(2027, 6, 12),
            "ways": ({"way": "line", "minutes": math.inf},),
        }
    )
    assert said["result"] == {
        "plate_temp_c": [20.5, None, None],
        "sheets": 3,
        "feasible": True,
        "date": "2027-06-12",
        "ways": [{"way": "line", "minutes": None}],
    }


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_csv_spreads_a_range_over_three_columns() -> None:
    columns = (Column("ticket", "Ticket"), Column("minutes", "Minutes"), Column("laid_on_at", "On"))
    rows = [
        {
            "ticket": "7",
            "minutes": {"p10": 31.0, "p50": 38.0, "p90": math.inf},
            "laid_on_at": AUTUMN_S,
        },
        {"ticket": "8", "minutes": None, "laid_on_at": None},
    ]
    assert rows_of(render_csv(answer({}, [Table("", columns, rows)]))) == [
        ["ticket", "minutes_p10", "minutes_p50", "minutes_p90", "laid_on_at"],
        ["7", "31.0", "38.0", "", "2027-10-31T02:30:00+02:00"],
        ["8", "", "", "", ""],
    ]


def test_csv_without_a_table_is_the_sentences() -> None:
    assert rows_of(render_csv(answer({}))) == [["answer"], ["Dry."]]


@pytest.mark.parametrize("text", ["=1+1", "+49 1", "-cmd", "@sum", "\t=1", " =1", "\r=1"])
def test_a_cell_is_never_a_formula(text: str) -> None:
    assert str(safe_cell(text)).startswith("'")


def test_a_number_stays_a_number() -> None:
    assert safe_cell(-3.5) == -3.5
    assert safe_cell("Ann") == "Ann"


@given(st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc", "Cf", "Zl", "Zp"]))))
def test_csv_gives_back_every_name(names: list[str]) -> None:
    table = Table(
        "", (Column("n", "No."), Column("name", "Name")), [{"n": 1, "name": n} for n in names]
    )
    back = rows_of(render_csv(answer({}, [table])))[1:]
    assert [row[1].removeprefix("'") for row in back] == [n.removeprefix("'") for n in names]


def test_the_series_has_local_time_and_gaps_as_empty_cells() -> None:
    text = render_series(
        np.array([AUTUMN_S, AUTUMN_S + 3600]),
        {"plate_temp_c": np.array([20.123456789, np.nan]), "moisture_frac": [0.5, 0.25]},
        "Europe/Vienna",
    )
    assert rows_of(text) == [
        ["at", "unix_s", "plate_temp_c", "moisture_frac"],
        ["2027-10-31T02:30:00+02:00", "1824942600", "20.12346", "0.5"],
        ["2027-10-31T02:30:00+01:00", "1824946200", "", "0.25"],
    ]


def test_a_series_of_unequal_columns_is_a_fault() -> None:
    with pytest.raises(ValueError, match="shorter"):
        render_series([0.0, 60.0], {"plate_temp_c": [1.0]}, "UTC")


def test_a_series_is_written_whole(tmp_path: Path) -> None:
    text = render_series([0.0], {"plate_temp_c": [20.0]}, "UTC")
    path = write_file(tmp_path / "run.csv", text)
    assert path.read_bytes() == b"at,unix_s,plate_temp_c\n1970-01-01T00:00:00+00:00,0,20\n"


def test_a_list_is_one_cell_and_an_unknown_thing_is_its_name() -> None:
    row = {"hours": [9, 10], "said": {"a": 1, "b": 2}}
    columns = (Column("hours", "Hours"), Column("said", "Said"))
    answer = Answer("dry", {"file": Path("day.csv")}, [], tables=[Table("T", columns, [row])])
    (cells,) = csv.DictReader(io.StringIO(render_csv(answer)))
    assert cells == {"hours": "9; 10", "said": "1; 2"}
    assert json.loads(render_json(answer))["result"]["file"] == "day.csv"
    assert figure("plate_temp_c", [41.2, 50.0]) == "41, 50"
