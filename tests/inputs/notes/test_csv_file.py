"""Field notes as CSV: out and in again the same, twice in adds nothing, hostile cells are safe."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import InputError, StoreError
from drybox.inputs.event.ways import WAYS
from drybox.inputs.notes.csv_file import notes_from_csv, notes_to_csv, read_notes_csv
from drybox.inputs.notes.note import KINDS, Note, check_note
from drybox.inputs.notes.store import NoteStore
from drybox.inputs.weather.words import sky_words

NOW_S = 1_781_435_700
HEAD = "kind,at,timezone,temp_c"
ROW = "plate,2026-06-14T13:15:00+02:00,Europe/Vienna,46"
TURNS = "".join(map(chr, (*range(0x202A, 0x202F), *range(0x2066, 0x206A))))
HOSTILE = [
    "|calc",
    "＝1+1",
    '=HYPERLINK("http://example.invalid")',
    "+1",
    "-2+3",
    "@SUM(A1)",
    "'quoted",
    "''=",
    "'",
    'comma, "quote"; semicolon',
    "<script>alert(1)</script> & co",
    "Ölberg ☀ עברית",
]

texts = st.one_of(
    st.sampled_from(HOSTILE),
    st.text(
        st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters=TURNS),
        max_size=25,
    ),
)
names = texts.filter(str.strip)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def a_note(draw: st.DrawFn) -> Note:
    kind = draw(st.sampled_from([name for name in KINDS if name != "undo"]))
    rules = KINDS[kind]
    low, high = rules.temp_range_c
    makers = {
        "temp_k": between(low + 273.15, high + 273.15),
        "mass_kg": between(0.05e-3, 5.0),
        "width_m": between(0.01, 3.0),
        "height_m": between(0.01, 0.5 if kind == "curl" else 3.0),
        "cloud_frac": between(0, 1),
        "humidity_frac": between(0, 1),
        "wind_m_s": between(0, 60),
        "sheets": st.integers(1, 100_000),
        "promised_at_s": st.integers(1_000_000_000, 2_000_000_000),
        "state": st.sampled_from(rules.states or ("",)),
        "ticket": names,
        "bath": names,
        "sky": st.sampled_from(sorted(sky_words())),
        "way": st.sampled_from(["", *WAYS]),
    }
    may = draw(st.sets(st.sampled_from(rules.may))) if rules.may else set[str]()
    if ("width_m" in may) != ("height_m" in may):
        may -= {"width_m", "height_m"}
    if kind == "sky":
        may |= {"sky"}
    if kind == "weighed" and "state" not in may:
        may |= {"ticket"}
    values = {name: draw(makers[name]) for name in {*rules.needs, *may}}
    values |= {name: draw(texts) for name in ("event", "place", "box", "paper", "remark")}
    zone = draw(st.sampled_from(["Europe/Vienna", "Pacific/Chatham", "Australia/Lord_Howe", "UTC"]))
    at_s = draw(st.integers(946_684_800, NOW_S))
    return check_note(Note(kind=kind, at_s=at_s, timezone=zone, **values))  # type: ignore[arg-type]


@settings(max_examples=60, deadline=None)
@given(st.lists(a_note(), max_size=6))
def test_notes_go_out_and_in_again_unchanged(
    tmp_path_factory: pytest.TempPathFactory, notes: list[Note]
) -> None:
    folder = tmp_path_factory.mktemp("notes")
    first, second = NoteStore(folder / "one.sqlite"), NoteStore(folder / "two.sqlite")
    first.add([*notes, check_note(Note(kind="dry", at_s=NOW_S, timezone="UTC", ticket="7"))])
    first.undo(now_at=NOW_S)
    text = notes_to_csv(first.read(everything=True))
    second.add(notes_from_csv(text, "notes.csv", NOW_S))
    assert second.read(everything=True) == first.read(everything=True)
    assert notes_to_csv(second.read(everything=True)) == text
    assert second.add(notes_from_csv(text, "notes.csv", NOW_S)).notes == ()


@given(texts)
def test_no_cell_begins_like_a_formula(text: str) -> None:
    note = check_note(Note(kind="dry", at_s=NOW_S, timezone="UTC", ticket="7", remark=text))
    cells = next(csv.DictReader(io.StringIO(notes_to_csv([note]), newline="")))
    assert not cells["remark"].startswith(("=", "+", "-", "@", "\t", "\r"))
    (back,) = notes_from_csv(notes_to_csv([note]), "notes.csv", NOW_S)
    assert back.remark == note.remark


def test_both_passes_of_an_hour_that_comes_twice_survive() -> None:
    notes = [
        Note(kind="dry", at_s=at_s, timezone="Europe/Vienna", ticket="7", id=str(at_s))
        for at_s in (1_761_440_400, 1_761_444_000)  # 2025-10-26 03:00 summer, 02:00 UTC+1
    ]
    text = notes_to_csv(notes)
    assert [note.at_s for note in notes_from_csv(text, "n.csv", NOW_S)] == [n.at_s for n in notes]


def test_a_file_written_by_hand_is_taken_once(tmp_path: Path) -> None:
    path = tmp_path / "hand.csv"
    rows = "plate,2026-06-14 13:10,Europe/Vienna,-3.5\n"
    path.write_text(f"\ufeff{HEAD}\n{ROW}\n{ROW}\n\n{rows}", encoding="utf-8")
    store = NoteStore(tmp_path / "notes.sqlite")
    assert len(store.add(read_notes_csv(path, NOW_S)).notes) == 3
    assert store.add(read_notes_csv(path, NOW_S)).known == 3
    assert [note.flag for note in store.read()] == ["same minute", "same minute", ""]
    assert store.read()[2].temp_k == 269.65
    assert store.read()[2].at_s == NOW_S - 300


def test_semicolons_and_windows_line_ends_are_read() -> None:
    text = f"{HEAD}\r\n{ROW}\r\n".replace(",", ";")
    assert notes_from_csv(text, "n.csv", NOW_S)[0].temp_k == 319.15


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "there is no column 'kind'.*n.csv, line 1"),
        ("kind,at\n", "there is no column 'timezone'"),
        (f"{HEAD},temp\n", "column 'temp' is not known; did you mean 'temp_c'"),
        (f"{HEAD},kind\n", "column 'kind' is there twice"),
        (f"{HEAD}\n{ROW},1\n", r"5 cells under 4 column names \(n.csv, line 2"),
        (f"{HEAD}\n{ROW}\nplate,13:15,UTC,46\n", r"at '13:15' is not a time.*n.csv, line 3"),
        (f"{HEAD}\n{ROW[:-2]}450\n", r"450 °C is outside .*n.csv, line 2"),
        (f"{HEAD}\n{ROW[:-2]}-80\n", "outside"),
        (f"{HEAD}\n{ROW}C\n", "temp_c '46C' is not a number"),
        (f'{HEAD}\n{ROW[:-2]}"46,5"\n', "temp_c '46,5' is not a number"),
        (f"{HEAD}\n{ROW[:-2]}nan\n", "not a finite number"),
        (f"{HEAD}\n{ROW[:-2]}\n", "no temperature given"),
        (f"{HEAD}\n{ROW.replace('plate', 'oven')}\n", "note 'oven' is not known"),
        (f"{HEAD}\n{ROW.replace('Europe/Vienna', 'Mars/X')}\n", "time zone 'Mars/X' is not known"),
        (f"{HEAD}\n{ROW.replace('2026', '2027')}\n", "is in the future.*n.csv, line 2"),
        (f"{HEAD}\n{ROW.replace('2026', '1926')}\n", "outside the years"),
        (f"{HEAD},mass_g\n{ROW},4\n", "mass does not belong to it"),
        (f"{HEAD},way\n{ROW},shelf\n", r"way 'shelf' is not known; choose .*n.csv, line 2"),
        (f"{HEAD},sheets\n{ROW},-4\n", "sheets '-4' is not a whole number"),
        (f'{HEAD},remark\n{ROW},"open\n', r"the CSV is broken"),
        (f"{HEAD},remark\n{ROW},\x1b[2J\n", r"control character U\+001B"),
        (f"{HEAD},remark\n{ROW},a\u202ecod.exe\n", r"control character U\+202E"),
        (f"{HEAD}\n" + f"{ROW}\n" * 10_001, "more than 10000 notes; cut it in parts"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_by_line(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as fault:
        notes_from_csv(text, "n.csv", NOW_S)
    assert "\n" not in str(fault.value)


def test_a_refused_import_adds_no_row(tmp_path: Path) -> None:
    store = NoteStore(tmp_path / "notes.sqlite")
    (kept,) = store.add(
        [check_note(Note(kind="dry", at_s=NOW_S, timezone="UTC", ticket="7"))]
    ).notes
    text = notes_to_csv([kept]).replace(",dry,", ",laid,")
    new = notes_from_csv(f"{HEAD}\n{ROW}\n", "n.csv", NOW_S)
    with pytest.raises(InputError, match=re.escape(f"note {kept.id} differs")):
        store.add([*new, *notes_from_csv(text, "n.csv", NOW_S)])
    assert store.read() == [kept]


def test_a_missing_or_binary_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened"):
        read_notes_csv(tmp_path / "none.csv", NOW_S)
    (tmp_path / "store.csv").write_bytes(b"SQLite format 3\x00\x10\x00")
    with pytest.raises(InputError, match="not a text file"):
        read_notes_csv(tmp_path / "store.csv", NOW_S)
