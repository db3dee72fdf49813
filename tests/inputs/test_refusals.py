"""What a record refuses when it is made from Python, and odd ways of writing that are read."""

from __future__ import annotations

import datetime as dt
import math
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from drybox.errors import InputError, StoreError
from drybox.inputs.event.box import Cover, PoweredDrier
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.event.limits import WET_ROWS
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.inputs.notes.csv_file import notes_from_csv
from drybox.inputs.notes.note import Note, check_note
from drybox.inputs.text.coordinates import parse_bearing
from drybox.inputs.text.dates import day_bounds_s, local_to_unix
from drybox.inputs.text.file_text import read_file_text
from drybox.inputs.text.settings import Settings
from drybox.tables import load_table
from tests.running import event_file

NOW_S = 1_781_435_700


def event(**told: object) -> Event:
    base = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
    return load_event(None, base | {key.replace("__", "."): v for key, v in told.items()})


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda e: Cover(1.5, 5.0, 1e-4, 0.6, 0.6), "together exceed 100 %"),
        (lambda e: replace(e.box, aim_mode="spin"), "aim 'spin' is not one of"),
        (lambda e: replace(e.box, aim_mode="fixed"), "a fixed aim needs both"),
        (lambda e: replace(e.box, aim_bearing_deg=180.0, aim_tilt_deg=9.0), "no other aim has"),
        (lambda e: replace(e.box, wall_depth_m=math.nan), "nan is not a finite number"),
        (lambda e: PoweredDrier(0.0, None, 0.0, None, 1.0, None), "neither plate power nor air"),
        (lambda e: replace(e.paper, gelatin_kg_m2=0.04, mineral_kg_m2=0.1, dry_mass_kg_m2=0.1),
         "weigh as much as the whole"),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_is_not_made(make: Callable[[Event], object], why: str) -> None:
    with pytest.raises(InputError, match=why):
        make(event())


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"kind": "plate", "temp_k": math.inf}, "temp_k inf is not a finite number"),
        ({"kind": "sky"}, "weather seen: nothing given"),
        ({"kind": "weighed", "state": "dry", "mass_kg": 0.003, "width_m": 0.1}, "one side only"),
        ({"kind": "laid", "ticket": "7", "written_s": 7}, "time of writing is outside"),
        ({"kind": "laid", "ticket": "7", "at_s": 7}, "note's time is outside"),
    ],
)
def test_a_note_that_cannot_be_is_not_kept(said: dict[str, object], why: str) -> None:
    with pytest.raises(InputError, match=why):
        check_note(Note(**({"at_s": NOW_S, "timezone": "UTC"} | said)))  # type: ignore[arg-type]


def test_a_local_day_that_begins_within_a_skipped_hour_begins_at_its_end() -> None:
    # Toronto's clocks went from 23:30 on 30 March 1919 to 00:30 on the 31st
    start_at, end_at = day_bounds_s(dt.date(1919, 3, 31), ZoneInfo("America/Toronto"))
    assert (end_at - start_at) / 3600 == 23.5


def test_a_time_skipped_over_midnight_names_both_days() -> None:
    zone = ZoneInfo("America/Sao_Paulo")  # 4 November 2018 began at 01:00
    with pytest.raises(InputError, match="use 2018-11-03 23:59 or 2018-11-04 01:00"):
        local_to_unix(dt.date(2018, 11, 4), dt.time(0, 30), zone)


def test_a_bearing_as_long_as_a_page_is_none() -> None:
    with pytest.raises(InputError, match="is not a bearing"):
        parse_bearing("1" * 500 + " deg", "aim")


def test_an_offset_of_whole_hours_may_be_written_short() -> None:
    long, short = (
        parse_forecast(f"time,temp_c\n2027-06-12T10:00{zone},20\n", "UTC", None).start_at[0]
        for zone in ("+02:00", "+02")
    )
    assert short == long


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="no file here that fails to read")
def test_a_file_that_opens_and_cannot_be_read_is_one_line() -> None:
    with pytest.raises(StoreError, match="'/proc/self/mem' cannot be read: ") as caught:
        read_file_text("/proc/self/mem")  # nothing is mapped at its beginning
    assert "\n" not in str(caught.value)


def test_a_hardened_emulsion_may_get_warmer() -> None:
    rows = load_table("limits")
    for hardening, row in WET_ROWS.items():
        found = event(paper__hardening=hardening).limits
        assert found.wet_most_k == rows[row]["most"].value
        assert found.wet_careful_k == min(318.15, found.wet_most_k - 15.0)
    assert event().paper.hardening == "in manufacture"
    assert event(paper__hardened=True).paper.hardening == "alum"  # as older files say it
    assert event(paper__hardened=False).paper.hardening == "in manufacture"
    assert event(paper__hardening="hand-coated").paper.hardening == "none"
    bleached = {"process__name": "direct positive with bleach"}
    assert event(**bleached).paper.hardening == "bleached"
    assert event(**bleached, paper__hardening="alum").paper.hardening == "alum"
    coated = event(paper__resin_coated=True).limits
    assert coated.print_limit_k == (338.15, 338.15)
    assert event(drying__wet_most="52 °C").limits.wet_most_k == 325.15


def test_a_test_sheet_cannot_be_silenced() -> None:
    assert event(drying__wet_careful="70 °C", drying__wet_most="85 °C").limits.wet_careful_k == (
        pytest.approx(318.15)
    )
    assert event(drying__wet_careful="38 °C").limits.wet_careful_k == pytest.approx(311.15)


def test_a_fixed_aim_too_steep_to_stand_is_left_and_warned_of() -> None:
    steep = event(box__bearing="180 deg", box__tilt="75 deg")
    assert steep.box.aim_tilt_deg == pytest.approx(75.0)
    assert any("60° is what stands on a prop" in text for text in steep.warnings)
    own = {"box__bearing": "180 deg", "box__tilt": "75 deg", "box__most_tilt": "80 deg"}
    assert not any("prop" in text for text in event(**own).warnings)


def test_an_option_cannot_go_into_what_is_no_table(tmp_path: Path) -> None:
    path = event_file(tmp_path, 'place = "on the green"\n')
    with pytest.raises(InputError, match=r"place is not a table \(option --latitude\)"):
        load_event(path, {"place.latitude": 47.2})


def test_an_assumption_is_said_once() -> None:
    settings = Settings(None, {})
    for text in ("One.", "Two.", "One."):
        settings.assume(text)
    assert settings.assumptions == ["One.", "Two."]


def test_a_year_that_is_unpacked_needs_room_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    from drybox.inputs.years.formats import read_rows
    from tests.running import pvlib_data

    text = Path(pvlib_data("12839.tm2")).read_text("ascii")
    monkeypatch.setattr(tempfile, "tempdir", "/nowhere/at/all")
    with pytest.raises(StoreError, match="no room to unpack"):
        read_rows(text, "tmy2", "miami.tm2")


def test_a_time_of_writing_needs_its_offset_since_a_note_s_zone_is_not_the_writer_s() -> None:
    head = "kind,at,timezone,ticket,written_at\nlaid,2026-06-14 13:15,Europe/Vienna,7,"
    (note,) = notes_from_csv(head + "2026-06-14T13:20:00+02:00\n", "n.csv", NOW_S + 3600)
    assert note.written_s == NOW_S + 300
    with pytest.raises(InputError, match="written_at '2026-06-14 13:20' is not a time"):
        notes_from_csv(head + "2026-06-14 13:20\n", "n.csv", NOW_S + 3600)


def test_an_event_whose_every_figure_is_given_stands_on_no_memory() -> None:
    def unsourced(found: Event) -> dict[str, object]:
        return {
            value.key: f"{value.value} {value.unit}".strip()
            for value in found.resolved
            if any(f"({word})" in value.source for word in ("memory", "practice", "judgement"))
            and value.key.startswith(("box.", "paper."))
        }

    told = unsourced(event())
    assert len(told) > 5
    given = event(**told)
    assert unsourced(given) == {}
    assert any("are from memory" in text for text in event().assumptions)
    assert not any("are from memory" in text for text in given.assumptions)
