"""``drybox plan``: a table to work from, the record, and the same rows as CSV."""

from __future__ import annotations

import csv
import datetime
from pathlib import Path

import pytest

from tests.running import DEMO, event_file, golden, plain, ran, record, refused, said, table

QUICK = ("plan", DEMO, "--members", "20", "--every", "20 min")
FEW = (*QUICK, "--no-what-if")
SITTER = {
    *("ticket", "sitting_at", "wet_end_at", "washed_at", "way", "slot", "laid_on_at", "dry_at"),
    *("promise_at", "hand_over"),
}
KEYS = {"sitters", "last_dry_ticket", "bottleneck", "utilisation", "what_if", "bring"}


def own(tmp_path: Path, sitters: str) -> str:
    text = Path(DEMO).read_text("utf-8").replace('every = "16 min"', "#")
    path = event_file(tmp_path, text.replace("[weather]", f"{sitters}\n[weather]"))
    (tmp_path / "forecast.csv").write_bytes(Path(DEMO).with_name("forecast.csv").read_bytes())
    return str(path)


def over(tmp_path: Path, sitters: str) -> tuple[str, ...]:
    """Return the same on a clear day that is over, and what a note of it is given."""
    day = own(tmp_path, sitters)
    past = Path(day).read_text("utf-8").replace("2027-06-12", "2025-06-12")
    Path(day).write_text(past.replace("forecast = ", 'sky = "clear" #'), encoding="utf-8")
    return day, "--date", "2025-06-12", "--event", day


def test_the_record_has_the_keys_promised() -> None:
    found = record(*QUICK)
    result = found["result"]
    assert set(result) >= KEYS
    for sitter in result["sitters"]:
        assert set(sitter) >= SITTER
        assert sitter["hand_over"] in ("dry", "touch_dry", "pick_up", "damp", "mail")
        assert set(sitter["dry_at"]) == {"p10", "p50", "p90"}
        if sitter["promise_at"]:
            promise = datetime.datetime.fromisoformat(sitter["promise_at"])
            assert promise.minute % 5 == 0
            assert promise.utcoffset() == datetime.timedelta(hours=2)
    assert all(set(tried) >= {"change", "more_dry_prints"} for tried in result["what_if"])
    changes = {tried["change"] for tried in result["what_if"]}
    assert {"one more plate slot", "one more wash tray", "one more pair of hands"} <= changes
    assert {"a minute less per sitting", "a litre more for each wash"} <= changes
    assert result["bottleneck"] in result["utilisation"]
    assert all(set(item) == {"what", "amount", "unit"} for item in result["bring"])
    assert found["cautions"]


def test_the_last_dry_ticket_is_the_last_handed_over_dry() -> None:
    result = record(*FEW)["result"]
    dry = [sitter["ticket"] for sitter in result["sitters"] if sitter["hand_over"] == "dry"]
    assert result["last_dry_ticket"] == dry[-1]
    assert f"ticket {dry[-1]}: sits at" in plain(*FEW)


def test_csv_holds_the_same_rows_as_the_record() -> None:
    rows, sitters = table(*FEW), record(*FEW)["result"]["sitters"]
    assert len(rows) == len(sitters)
    for row, sitter in zip(rows, sitters, strict=True):
        assert row["ticket"] == sitter["ticket"]
        assert row["promise_at"] == (sitter["promise_at"] or "")
        assert row["dry_at_p90"] == (sitter["dry_at"]["p90"] or "")
        assert row["hand_over"] == sitter["hand_over"]
        assert row["slot"] == str(sitter["slot"] or "")


def test_the_text_fits_a_page_and_has_a_row_for_each_sitter() -> None:
    text = said(*QUICK)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.startswith("The last sitter to go home with a dry print is ticket ")
    lines = text.split("Sitters\n")[1].splitlines()
    assert lines[0].split() == [
        "No.",
        "sits",
        "fixed",
        "wash",
        "out",
        "on",
        "at",
        "where",
        "dry/touch",
        "promise",
    ]
    count = len(record(*QUICK)["result"]["sitters"])
    assert [line.split()[0] for line in lines[2 : 2 + count]] == [str(n + 1) for n in range(count)]
    for part in ("What one more would bring", "Bring", "Take home", "Take care", "add --why"):
        assert part in text
    assert "How busy" not in text
    assert "How busy" in said(*QUICK, "--why")


def test_cautions_are_where_the_user_meets_them() -> None:
    text = plain(*FEW)
    for words in ("eye protection", "used fixer", "gloves or tongs", "never into closed plastic"):
        assert words in text


def test_both_spots_are_told_and_where_the_day_breaks() -> None:
    result = record(*FEW)["result"]
    assert {(spot["spot"], spot["use"]) for spot in result["spots"]} == {
        ("market square", "box"),
        ("by the corn hall", "camera"),
    }
    tower = next(found for found in result["breaks"] if found["use"] == "box")
    begin, end = (datetime.datetime.fromisoformat(tower[key]) for key in ("from_at", "until_at"))
    assert datetime.timedelta(minutes=50) < end - begin < datetime.timedelta(minutes=70)
    assert "it is behind the clock tower" in plain(*FEW)
    assert "sun on the sitter from" in plain(*FEW)


def test_names_stand_in_the_table_and_it_still_fits(tmp_path: Path) -> None:
    name = 'Gráinne "Li" <b>&amp; =1+1'
    event = own(
        tmp_path,
        f"[[event.sitter]]\nname = '{name}'\nat = \"10:05\"\n"
        '[[event.sitter]]\nname = "אבי 🙂"\nat = "10:40"\nticket = "B7"\n',
    )
    text = said("plan", event, "--members", "20", "--no-what-if")
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "Gráinne" in text
    assert "B7" in text
    rows = table("plan", event, "--members", "20", "--no-what-if")
    assert rows[0]["name"] == name
    assert rows[1]["name"] == "אבי 🙂"


def test_an_empty_day_says_so(tmp_path: Path) -> None:
    event = own(tmp_path, "arrivals = []")
    assert said("plan", event, "--members", "20").startswith("Nobody comes")
    assert record("plan", event, "--members", "20")["result"]["sitters"] == []


def test_options_take_the_place_of_what_the_file_says_of_the_sitters(tmp_path: Path) -> None:
    event = own(tmp_path, 'arrivals = ["10:00"]')
    assert len(record("plan", event, "--members", "20", "--every", "1 h")["result"]["sitters"]) == 8
    assert len(record("plan", event, "--members", "20")["result"]["sitters"]) == 1


def test_the_table_and_the_series_are_files(tmp_path: Path) -> None:
    rows, series = tmp_path / "day.csv", tmp_path / "series.csv"
    said(*FEW, "--table", str(rows), "--series", str(series))
    with rows.open(encoding="utf-8") as stream:
        assert [row["ticket"] for row in csv.DictReader(stream)] == [
            sitter["ticket"] for sitter in record(*FEW)["result"]["sitters"]
        ]
    with series.open(encoding="utf-8") as stream:
        minutes = list(csv.DictReader(stream))
    assert len(minutes) > 480
    assert max(float(row["prints_on_plate"]) for row in minutes) > 0.3
    assert float(minutes[0]["prints_in_wash"]) == 0.0


def test_us_units_are_for_the_text_only() -> None:
    assert " gal" in plain(*FEW, "--units", "us")
    assert record(*FEW, "--units", "us")["result"] == record(*FEW)["result"]


def test_the_same_seed_gives_the_same_words_and_another_one_others() -> None:
    assert record(*FEW, "--seed", "3") != record(*FEW)
    assert said(*FEW, "--seed", "1") == said(*FEW)


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        (("--at", "13:00"), 2, "a plan is for the whole day"),
        (("--members", "3"), 2, "members 3 is outside 20 to 2000"),
        (("--operators", "0"), 2, "operators 0 is not a whole number from 1 to 100"),
        (("--every", "soon"), 2, "every 'soon' is not a quantity"),
        (("--every", "10"), 2, "has no unit"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: tuple[str, ...], status: int, words: str) -> None:
    assert words in refused("plan", DEMO, *args, status=status)


def test_strict_fails_where_a_promise_cannot_be_kept(tmp_path: Path) -> None:
    event = own(tmp_path, '[[event.sitter]]\nat = "10:05"\npromised = "10:20"\n')
    args = ("plan", event, "--members", "20", "--no-what-if")
    assert "was promised for 10:20, before it can be ready" in plain(*args)
    ended, out, err = ran(*args, "--strict")
    assert ended == 3
    assert "promises that cannot be kept: ticket 1" in err
    assert out.startswith(("No print", "The last"))


@pytest.mark.slow
def test_promises_are_kept_in_the_notes_and_shown_in_the_middle_of_the_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    day = own(tmp_path, 'arrivals = ["10:05", "10:20", "12:00"]')
    asked = ("plan", day, "--members", "20", "--no-what-if")
    assert "3 promises written into the notes" in plain(*asked, "--keep")
    now = record(*asked, "--now", "11:00")["result"]
    assert now["now_at"].endswith("T11:00:00+02:00")
    assert {row["ticket"] for row in now["promises_given"]} == {"1", "2", "3"}
    text = said(*asked, "--now", "11:00", columns=81)
    assert "Bring" not in text.splitlines(), "the bags are at the fair"
    assert text.index("Promises given") < text.index("Sitters")
    status, _, error = ran(*asked, "--now", "18:30")
    assert status == 3
    assert "the event is closed at 18:30" in error


def test_a_print_noted_dry_that_was_never_laid_on_moves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip of the number while other prints are noted laid on: doubted at once, then let be."""
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    day, *when = over(tmp_path, 'arrivals = ["10:00", "10:15", "10:30", "10:45"]')
    for kind, ticket, clock in (
        ("sat", "1", "10:02"),
        ("sat", "2", "10:17"),
        ("laid", "1", "10:40"),
    ):
        plain("note", kind, ticket, "--at", clock, *when)
    asked = ("plan", day, "--members", "20", "--no-what-if", "--now")
    before = record(*asked, "11:05")["result"]
    noted = plain("note", "dry", "4", "--at", "11:00", *when)
    assert "No laying-on of 4 is noted before it" in noted
    assert "drybox note undo if another print was meant" in noted
    after = record(*asked, "11:05:00")["result"]
    assert after == before
    assert "Noted dry, but not as laid on: ticket 4, taken to be wet still. If it is dry" in plain(
        *asked, "11:05"
    )
    plain("note", "laid", "4", "--at", "10:50", *when)
    rows = record(*asked, "11:05 ")["result"]["sitters"]
    assert {row["ticket"]: row["stage"] for row in rows}["4"] == "dry"


def test_a_print_noted_laid_on_without_a_way_lies_on_the_sun_plate(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the plan had for it; the note says so, and the plan made on and `note` agree."""
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    day, *when = over(tmp_path, 'arrivals = ["10:05", "10:20"]\nline_slots = 2')
    silent = plain("note", "laid", "1", "--at", "10:50", *when)
    assert "lie on the sun plate, since no --way says otherwise" in silent
    spoken = plain("note", "laid", "2", "--at", "11:02", "--way", "line", *when)
    assert "no --way" not in spoken
    asked = ("plan", day, "--members", "20", "--no-what-if", "--now", "11:05")
    result = record(*asked)["result"]
    for rows in (result["sitters"], result["noted"]):
        assert [row["way"] for row in rows] == ["sun_plate", "line_shade"]


NIGHT = """\
[place]
latitude = 47.2
longitude = 12.3
timezone = "Europe/Vienna"
[powered]
plate_power = "150 W"
[event]
date = "2027-10-{day}"
opens = "23:00"
closes = "2027-10-{next_day} 03:00"
every = "30 min"
[weather]
sky = "clear"
air_temp = "14 C"
humidity = "50 %"
"""


def test_a_night_market_fits_the_page_without_dates(tmp_path: Path) -> None:
    event = str(event_file(tmp_path, NIGHT.format(day=22, next_day=23)))
    text = said("plan", event, "--members", "20", "--no-what-if")
    assert "No.   sits  fixed   wash" in text
    assert "\n3    00:00  00:12  00:12" in text


def test_the_hour_that_comes_twice_is_marked_the_second_time(tmp_path: Path) -> None:
    """Clocks are set back at 03:00 on 31 October 2027 (Directive 2000/84/EC)."""
    event = str(event_file(tmp_path, NIGHT.format(day=30, next_day=31)))
    asked = ("plan", event, "--members", "20", "--no-what-if")
    text, rows = plain(*asked), record(*asked)["result"]["sitters"]
    assert "from 02:00* on, a time with a star is the second of that name" in text
    sits = {row["ticket"]: row["sitting_at"][11:] for row in rows}
    assert (sits["7"], sits["9"]) == ("02:00:00+02:00", "02:00:00+01:00")
    assert "7 02:00 02:" in text
    assert "9 02:00* 02:" in text


def test_regression_the_demo_reads_as_before() -> None:
    golden("plan_demo", said(*QUICK))
