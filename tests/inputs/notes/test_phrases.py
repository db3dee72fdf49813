"""The short phrases in which notes are typed, and what is refused with the right form."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.errors import InputError
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.phrases import parse_phrase, parse_when

NOW_S = 1_781_435_700  # 2026-06-14 13:15 in Vienna
VIENNA = ZoneInfo("Europe/Vienna")


def phrase(text: str, **about: str) -> Note:
    return parse_phrase(text.split(), at_s=NOW_S, timezone="Europe/Vienna", **about)


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("plate 46C", {"kind": "plate", "temp_k": 319.15}),
        ("plate 46.5 °C", {"temp_k": 319.65}),
        ("plate 46,5C", {"temp_k": 319.65}),
        ("plate 115F", {"temp_k": 319.261111}),
        ("plate -5C", {"temp_k": 268.15}),
        ("plate −5℃", {"temp_k": 268.15}),
        ("air-in-box 52C", {"kind": "air-in-box", "temp_k": 325.15}),
        ("air in box 52C", {"kind": "air-in-box", "temp_k": 325.15}),
        ("laid 7", {"kind": "laid", "ticket": "7"}),
        ("touch 7", {"kind": "touch", "ticket": "7"}),
        ("touch dry 7", {"kind": "touch", "ticket": "7"}),
        ("sat 7", {"kind": "sat", "ticket": "7"}),
        ("sat down 7", {"kind": "sat", "ticket": "7"}),
        ("handed over 7", {"kind": "handed", "ticket": "7"}),
        ("handed 7", {"kind": "handed", "ticket": "7"}),
        ("sun gone", {"kind": "sun", "state": "gone"}),
        ("promised 7 15:40", {"kind": "promised", "promised_at_s": NOW_S + 8700}),
        ("promised 7 by 3:40pm", {"ticket": "7", "promised_at_s": NOW_S + 8700}),
        ("promised A.2 at 15:40", {"ticket": "A.2", "promised_at_s": NOW_S + 8700}),
        ("promise 7 15:40", {"kind": "promised", "promised_at_s": NOW_S + 8700}),
        ("promised 7 15:40 touch dry", {"promised_at_s": NOW_S + 8700, "state": "touch"}),
        ("promised 7 13:00", {"promised_at_s": NOW_S - 900}),
        ("promised 7 00:30", {"promised_at_s": NOW_S + 40500}),
        ("promised 7 2026-06-15 09:00", {"promised_at_s": NOW_S + 71100}),
        ("dry 7b", {"kind": "dry", "ticket": "7b"}),
        ("weighed squeegeed 4.1g", {"kind": "weighed", "state": "squeegeed", "mass_kg": 0.0041}),
        ("weighed 7 Dry 2.4 g", {"ticket": "7", "state": "dry", "mass_kg": 0.0024}),
        ("weighed blotted 0.7oz", {"state": "blotted", "mass_kg": 0.019844666}),
        ("weighed drained 21g 5 sheets", {"state": "drained", "mass_kg": 0.021, "sheets": 5}),
        ("weighed 7 5.1g", {"ticket": "7", "state": "", "mass_kg": 0.0051}),
        ("weighed 7b 5,1 g", {"ticket": "7b", "state": "", "mass_kg": 0.0051}),
        ("weighed 7 3.6g dry", {"ticket": "7", "state": "dry", "mass_kg": 0.0036}),
        ("weighed 7 3.6 g Dry", {"ticket": "7", "state": "dry", "mass_kg": 0.0036}),
        ("sky broken cloud", {"kind": "sky", "sky": "broken cloud"}),
        ("sky Broken Clouds", {"sky": "broken cloud"}),
        ("sky 5/8 24C 45% 3m/s", {"cloud_frac": 0.625, "temp_k": 297.15, "humidity_frac": 0.45}),
        ("sky overcast, air -2 °C, wind 10 km/h", {"sky": "overcast", "wind_m_s": 2.777778}),
        ("sky 3 oktas", {"cloud_frac": 0.375, "sky": ""}),
        ("shadow came", {"kind": "shadow", "state": "came"}),
        ("shadow went the oak", {"state": "went", "remark": "the oak"}),
        ("tank fixer 31", {"kind": "tank", "bath": "fixer", "sheets": 31}),
        ("tank second fixer 31 sheets", {"bath": "second fixer", "sheets": 31}),
        ("promise 7 kept", {"kind": "promise", "ticket": "7", "state": "kept"}),
        ("promise 7 Missed", {"state": "missed"}),
        ("promise no. 7 missed", {"ticket": "7", "state": "missed"}),
        ("promise 7 missed by 10 minutes", {"state": "missed", "remark": "by 10 minutes"}),
        ("promise missed 7 by 10 min", {"ticket": "7", "remark": "by 10 min"}),
        ("laid no. 2", {"ticket": "2"}),
        ("handed no 2", {"ticket": "2"}),
        ("sat Nos. 12", {"ticket": "12"}),
        ("sat Nora", {"ticket": "Nora"}),
        ("promised no. 7 15:40", {"ticket": "7", "kind": "promised"}),
        ("dry ticket 2", {"ticket": "2"}),
        ("weighed no. 7 5.1g", {"ticket": "7", "mass_kg": 0.0051}),
        ("promise Kept 7", {"ticket": "7", "state": "kept"}),
    ],
)
def test_a_phrase_is_understood(text: str, fields: dict[str, object]) -> None:
    note = phrase(text)
    assert {name: getattr(note, name) for name in fields} == fields
    assert (note.at_s, note.timezone) == (NOW_S, "Europe/Vienna")


def test_options_add_names_way_remark_and_size() -> None:
    note = phrase("weighed dry 2.4g", size="4x5 in", paper="matt", event="", remark="scale B")
    assert (note.width_m, note.height_m, note.paper) == (0.1016, 0.127, "matt")
    assert (note.event, note.remark) == ("default", "scale B")


@pytest.mark.parametrize(
    ("said", "way"),
    [
        ("line", "line_shade"),
        ("line in sun", "line_sun"),
        ("Sun plate", "sun_plate"),
        ("plate", "sun_plate"),
        ("screen-shade", "screen_shade"),
        ("line in the shade", "line_shade"),
        ("line-in-the-shade", "line_shade"),
        ("line shade", "line_shade"),
        ("blotters", "blotters"),
        ("Blotter book", "blotters"),
        ("powered warm plate", "warm_plate"),
        ("warm_air", "warm_air"),
    ],
)
def test_a_way_is_known_by_its_short_name(said: str, way: str) -> None:
    assert phrase("laid 7", way=said).way == way


def test_a_way_that_is_not_known_is_refused() -> None:
    with pytest.raises(InputError, match="way 'oven' is not known; choose one of: sun plate, line"):
        phrase("laid 7", way="oven")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("plate 450C", "plate temperature 450 °C is outside"),
        ("plate -80C", "plate temperature -80 °C is outside"),
        ("plate 46", 'has no unit; write it like "46 °C"'),
        ("plate 46kg", "unit that is no temperature"),
        ("plate nanC", "not a quantity"),
        ("plate", "nothing given; write it like: note plate 46C"),
        ("air-in-box 130C", "outside"),
        ("plat 46C", "did you mean 'plate'"),
        ("undo", "note 'undo' is not known"),
        ("", "use one of: plate"),
        ("laid 7 8", "is more than a ticket"),
        ("laid 7,8", "is more than a ticket; .* each print by itself"),
        ("dry fair.toml", "is an event file, no ticket"),
        ("laid 7 13:20", "13:20 is a time; write --at 13:20"),
        ("laid 7 13.20", "13.20 is a time; write --at 13.20"),
        ("plate 46C 1pm", "1pm is a time; write --at 1pm"),
        ("laid --wya", "is more than a ticket"),
        ("weighed 4.1g", "is not understood; write it like: note weighed squeegeed 6.4g"),
        ("weighed wet 4.1g", "print weighed 'wet' is not known; use one of: dry, drained"),
        ("weighed 7 4.1", "has no unit"),
        ("weighed 7 5.1g soaked", "has a unit that is no mass"),
        ("weighed 7 900g", "of one print 900 g is outside 0.1 to 500 g"),
        ("weighed 7 5.1g 13:20", "13:20 is a time; write --at 13:20"),
        ("weighed dry 4.1", 'has no unit; write it like "4.1 g"'),
        ("weighed dry 40kg", "mass 40000 g is outside 0.05 to 5000 g"),
        ("weighed dry 0.00002g", "mass 0.00002 g is outside"),
        ("weighed dry 900g", 'of one print 900 g is outside 0.1 to 500 g; .*like "5 sheets"'),
        ("sky brokn cloud", "did you mean 'broken cloud'"),
        ("sky 24", "each number with its unit"),
        ("sky 9/8", "cloud 9 oktas is outside"),
        ("sky 120%", "humidity 120 % is outside"),
        ("sky 80C", "air temperature 80 °C is outside"),
        ("shadow fell", "use one of: came, went"),
        ("tank fixer", "write it like: note tank fixer 31"),
        ("tank fixer 0", "sheets 0 is outside"),
        ("promise 7", "write it like: note promise 7 kept"),
        ("promise 7 broken", "use one of: kept, missed"),
        ("dry \x1b[2J", "control character"),
    ],
)
def test_a_phrase_that_cannot_be_is_refused(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said.replace("(", r"\(")) as fault:
        phrase(text)
    assert "\n" not in str(fault.value)


@given(st.text(max_size=40))
def test_any_text_is_a_note_or_refused_in_one_line(text: str) -> None:
    try:
        note = parse_phrase([text], at_s=NOW_S, timezone="UTC")
    except InputError as fault:
        assert "\n" not in str(fault)  # noqa: PT017 - either outcome is right
    else:
        assert note.kind


def test_a_mass_is_believed_by_the_size_of_the_print() -> None:
    assert phrase("weighed drained 21g 5 sheets", size="4x5in").sheets == 5
    for text in ("weighed drained 21g", "weighed squeegeed 41g", "weighed dry 0.41 g"):
        with pytest.raises(InputError, match="mass of one print of 102 x 127 mm"):
            phrase(text, size="4x5in")


def test_a_size_belongs_to_a_weighing() -> None:
    with pytest.raises(InputError, match="does not belong to it"):
        phrase("plate 46C", size="4x5in")


def test_when_is_now_or_today_or_the_day_that_is_named() -> None:
    assert parse_when("", "", VIENNA, now_at=NOW_S).time_at == NOW_S
    assert parse_when("13:10", "", VIENNA, now_at=NOW_S).time_at == NOW_S - 300
    assert parse_when("13:15", "2026-06-13", VIENNA, now_at=NOW_S).time_at == NOW_S - 86400
    assert parse_when("2026-06-13 13:15", "", VIENNA, now_at=NOW_S).time_at == NOW_S - 86400
    assert parse_when("13:16", "", VIENNA, now_at=NOW_S).time_at == NOW_S + 60


@pytest.mark.parametrize(
    ("at", "date", "said"),
    [
        ("13:30", "", "2026-06-14 13:30 is still to come: it is 2026-06-14 13:15 in Europe/Vienna"),
        ("13:00", "2027-06-14", "give the day it was with --date"),
        ("", "2026-06-13", "a date needs a time"),
        ("2026-06-13 13:00", "2026-06-13", "given twice"),
        ("25:00", "", "not between"),
        ("02:30", "2026-03-29", "does not exist on 2026-03-29"),
    ],
)
def test_a_time_that_cannot_be_is_refused(at: str, date: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_when(at, date, VIENNA, now_at=NOW_S)


def test_a_time_that_comes_twice_says_which_was_taken() -> None:
    moment = parse_when("02:30", "2025-10-26", VIENNA, now_at=NOW_S)
    assert moment.note is not None
    assert "the earlier is taken" in moment.note
