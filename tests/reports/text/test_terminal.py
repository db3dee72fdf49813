from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import printable
from drybox.reports.text.terminal import NARROWEST, render_text

NOON_S = 1812794400.0  # 2027-06-12 12:00 in Vienna
LONG = "the sun reaches the plate all afternoon and the wind is light"

ROWS = [
    {
        "way": "sun plate",
        "minutes": {"p10": 31.0, "p50": 38.2, "p90": 52.0},
        "dry_at": {"p10": NOON_S, "p50": NOON_S + 420, "p90": NOON_S + 1260},
        "plate_temp_c": 61.2,
        "prop_height_mm": 342.0,
        "why": LONG,
    },
    {
        "way": "line",
        "minutes": {"p10": 131.0, "p50": 138.0, "p90": float("inf")},
        "dry_at": None,
        "plate_temp_c": float("nan"),
        "prop_height_mm": 3.0,
        "why": "shade",
    },
]
PAGE = """\
Use the plate.
Pull it at 12:30.

Ways of drying
Way               Minutes               Dry at  Plate, °C  Prop, mm  Why
────────────────────────────────────────────────────────────────────────────────────────────────
sun plate      38 (31–52)  12:07 (12:00–12:21)         61       342  the sun reaches the plate
                                                                     all afternoon and the wind
                                                                     is light
line       138 (131–long)                    –          –         3  shade

Warning
  The plate passes 60 °C.

Take care
  Metal burns.

What this stands on
  A clear sky is assumed.
"""

COLUMNS = (
    Column("way", "Way"),
    Column("minutes", "Minutes"),
    Column("dry_at", "Dry at"),
    Column("plate_temp_c", "Plate"),
    Column("prop_height_mm", "Prop"),
    Column("why", "Why"),
)


def answer(rows: list[dict[str, object]] | None = None, lead: str = "Use the plate.") -> Answer:
    return Answer(
        command="dry",
        result={},
        lead=[lead, "Pull it at 12:30."],
        tables=[Table("Ways of drying", COLUMNS, ROWS if rows is None else rows)],
        assumptions=["A clear sky is assumed."],
        warnings=["The plate passes 60 °C."],
        cautions=["Metal burns."],
        timezone="Europe/Vienna",
    )


def test_the_page_as_a_whole() -> None:
    assert render_text(answer(), width=96) == PAGE


def test_us_units_reach_headings_and_cells() -> None:
    text = render_text(answer(), units="us", width=100)
    assert "Plate, °F" in text
    assert "142" in text
    assert "13 1/2" in text
    assert "0.12" in text


def test_a_long_reason_goes_below_a_table_it_does_not_fit() -> None:
    text = render_text(answer(), width=76)
    assert f"sun plate: {LONG[:40]}" in text
    assert "Why" not in text


@pytest.mark.parametrize("width", [1, 20, 27, 40, 66, 80, 132, 500])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_lost(width: int) -> None:
    text = render_text(answer(), width=width)
    assert max(map(len, text.splitlines())) <= max(width, NARROWEST)
    assert "…" not in text
    for word in (*LONG.split(), "38", "(31–52)", "342", "assumed."):
        assert word in text


def test_a_word_longer_than_the_terminal_is_folded_not_cut() -> None:
    text = render_text(answer(lead="x" * 50), width=20)
    assert re.sub(r"\s", "", text).startswith("x" * 50)


def test_an_ascii_terminal_gets_only_ascii() -> None:
    text = render_text(answer(lead="Köln – 20 °C ≥ 5 m²"), width=100, encoding="ascii")
    assert text.isascii()
    assert text.startswith("Koln - 20 deg C >= 5 m2\n")
    assert "-" * 100 in text
    assert "?" not in text


def test_only_a_terminal_that_takes_colour_gets_codes() -> None:
    assert "\x1b" not in render_text(answer())
    assert "\x1b[1m" in render_text(answer(), color=True)
    plain = re.sub(r"\x1b\[[\d;]*m", "", render_text(answer(), color=True))
    assert plain == render_text(answer())


def test_an_empty_table_says_so() -> None:
    assert "nothing to list" in render_text(answer(rows=[]))


def test_times_of_another_day_carry_their_date() -> None:
    columns = (Column("ticket", "Ticket"), Column("dry_at", "Dry at"))
    rows = [{"ticket": 1, "dry_at": NOON_S}, {"ticket": 2, "dry_at": NOON_S + 86400.0}]
    page = Answer("plan", {}, [], tables=[Table("", columns, rows)], timezone="Europe/Vienna")
    text = render_text(page)
    assert "       12:00" in text
    assert "06-13 12:00" in text


@given(st.text(max_size=60), st.integers(0, 120))
def test_no_text_can_break_out(name: str, width: int) -> None:
    row = ROWS[0] | {"way": name, "why": name}
    text = render_text(answer(rows=[row], lead=name), width=width)
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", text)
    text.encode("utf-8")


def test_markup_in_a_name_is_only_letters() -> None:
    assert "[red]x[/red] :smile:" in render_text(answer(lead="[red]x[/red] :smile:"))


@pytest.mark.parametrize(
    ("text", "ascii_text"),
    [
        (
            "343° by compass (348° true), tilted 28°, 50 °C.",
            "343 deg by compass (348 deg true), tilted 28 deg, 50 deg C.",
        ),
        ("66° up", "66 deg up"),
        ("at 22°", "at 22 deg"),
    ],
)
def test_degrees_in_ascii_leave_no_gap(text: str, ascii_text: str) -> None:
    assert printable(text, "ascii") == ascii_text


def test_what_it_stands_on_is_two_lines_and_how_to_ask_for_the_rest() -> None:
    long = "The ranges hold eight prints in ten, from draws of weather, hands and losses that vary."
    whole = replace(answer(), assumptions=["It is for noon.", long, "And a third."])
    text = render_text(whole, why=False)
    last = text.split("What this stands on\n")[1].splitlines()
    assert last[0] == "  It is for noon."
    assert last[1].endswith("…")
    assert last[1].strip(" …") in long
    assert last[2:] == ["  All of it, in full: add --why."]
    assert "And a third." in render_text(whole)
    assert render_text(answer(), why=False) == render_text(answer()), "nothing is left out"


def test_a_table_on_request_waits_to_be_asked_for() -> None:
    (table,) = answer().tables
    kept = replace(answer(), tables=[replace(table, on_request=True)])
    assert "Ways of drying" not in render_text(kept, why=False)
    assert "add --why" in render_text(kept, why=False)
    assert "Ways of drying" in render_text(kept)
