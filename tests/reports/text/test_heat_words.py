"""What is said of hot metal, and of the parts that do not stand it, through the front door."""

from __future__ import annotations

import drybox
from drybox.inputs.event.event import Event, load_event
from drybox.reports.text.heat_words import metal_record, metal_said
from drybox.tables import load_table
from tests.planning.short_day import SHORT_DAY

THIN = {
    "box.cover": "acrylic",
    "box.back": "foam board",
    "box.plate_material": "aluminium",
    "box.plate_thickness": "1.5 mm",
}


def said(there: Event) -> str:
    return " ".join(metal_said(drybox.aim(there).metal_k, "metric", there.box))


def test_metal_that_foam_and_acrylic_do_not_stand_is_said_with_both() -> None:
    text = said(load_event(None, SHORT_DAY | THIN))
    assert "Metal today up to " in text
    assert "Foam board behind it stands about 75 °C" in text
    assert "Acrylic stands about 80 °C: keep the cover off the metal." in text


def test_an_open_steel_box_on_its_bin_has_no_such_line() -> None:
    there = load_event(None, SHORT_DAY)
    assert metal_record(there.box, drybox.aim(there).metal_k)["metal_too_hot_for"] == []


def test_a_better_back_in_the_event_file_silences_it() -> None:
    own = THIN | {"box.back_most_temp": "160 °C", "box.cover": "window glass"}
    text = said(load_event(None, SHORT_DAY | own))
    assert "behind it" not in text
    assert "keep the cover" not in text


def test_every_back_and_cover_has_what_it_stands() -> None:
    for table, column in (("backs", "back_most_temp"), ("covers", "most_temp")):
        for item, rows in load_table(table).items():
            assert rows[column].status in ("memory", "practice", "judgement"), item
            assert rows[column].value > 330.0, item
