"""Bad field notes, bad stores of them, and what cannot be learned."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable
from pathlib import Path

from tests.cli.bad_inputs import HERE, NOTE, Row, note, noted


def store_of(content: bytes) -> Callable[[Path], object]:
    def prepare(folder: Path) -> None:
        (folder / "notes.sqlite").write_bytes(content)

    return prepare


def _cut_store(folder: Path) -> None:
    noted("plate 46C")(folder)
    with (folder / "notes.sqlite").open("r+b") as stream:
        stream.truncate(5000)


def _told_store(command: str) -> Callable[[Path], object]:
    """Return a preparation that does something to a store of notes."""

    def prepare(folder: Path) -> None:
        noted("plate 46C")(folder)
        with contextlib.closing(sqlite3.connect(folder / "notes.sqlite")) as connection:
            connection.execute(command)
            connection.commit()

    return prepare


def _other_program(folder: Path) -> None:
    with contextlib.closing(sqlite3.connect(folder / "notes.sqlite")) as connection:
        connection.execute("CREATE TABLE note (x)")
        connection.commit()


def _locked(folder: Path) -> Callable[[], None]:
    noted("plate 46C")(folder)
    connection = sqlite3.connect(folder / "notes.sqlite", isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    return connection.close


HEADING = "kind,at,timezone,temp_c\n"
READING = ["plate", "46C", *NOTE]

ROWS = [
    *(
        note(f"40 {name}", what, args, 4, says, prepare=prepare)
        for args in (READING, ["list"], ["undo"], ["export"])
        for name, what, says, prepare in (
            (f"{args[0]} garbage", "no notes in it", "holds no field notes", store_of(b"x" * 4096)),
            (f"{args[0]} empty", "nothing in it", "damaged: the file is empty", store_of(b"")),
            (f"{args[0]} cut", "its end is missing", "are damaged", _cut_store),
            (f"{args[0]} other", "another program's", "holds no field notes", _other_program),
            (
                f"{args[0]} newer",
                "from a later version",
                "update drybox",
                _told_store("PRAGMA user_version = 99"),
            ),
        )
    ),
    note("40 locked", "in use", READING, 4, "another program is writing", prepare=_locked),
    note(
        "40 no folder",
        "its folder is not there",
        READING,
        4,
        "the folder for the field notes is not there",
        env={"DRYBOX_NOTES": "/nowhere/at/all/notes.sqlite"},
    ),
    note(
        "40 read-only",
        "a folder that takes no files",
        READING,
        4,
        "the field notes cannot be",
        env={"DRYBOX_NOTES": "/proc/notes.sqlite"},
    ),
    note("40 folder", "a folder", READING, 4, "is not a file", env={"DRYBOX_NOTES": "."}),
    *(
        note(f"41 {words}", "a reading not to be believed", [*words.split(), *NOTE], 2, says)
        for words, says in (
            ("plate 450C", "plate temperature 450 °C is outside -30 °C to 150 °C"),
            ("plate -80C", "is outside -30 °C to 150 °C"),
            ("plate 115", 'has no unit; write it like "115 °C"'),
            ("plate 115F x", "has a unit that is no temperature"),
            ("plate nanC", "is not a quantity"),
            ("plate 46C --at 13:15 --date 2099-06-12", "is still to come"),
            ("plate 46C --date 2026-06-12", "a date needs a time"),
        )
    ),
    note(
        "41 same minute",
        "two readings in a minute",
        ["plate", "47C", "--at", "13:15", "--date", "2026-06-14", *NOTE],
        0,
        "Another reading was noted for the same minute; both are kept.",
        prepare=noted("plate 46C --at 13:15 --date 2026-06-14"),
        makes=("notes.sqlite",),
    ),
    note("no kind", "no such kind", ["plaet", "46C", *NOTE], 2, "did you mean 'plate'?"),
    note("no words", "a kind alone", ["plate"], 2, "nothing given; write it like: note plate"),
    note("note zone", "no such zone", ["plate", "46C", "--timezone", "Mars/X"], 2, "is not known"),
    note("note sky", "no such sky", ["sky", "purple", *NOTE], 2, "sky 'purple' is not known"),
    note("note way", "no such way", ["laid", "7", "--way", "oven", *NOTE], 2, "way 'oven' is not"),
    note(
        "note mass", "a print of a ton", ["weighed", "dry", "900kg", *NOTE], 2, "mass 900000 g is"
    ),
    note("note state", "no such state", ["weighed", "soaked", "4.1g", *NOTE], 2, "'soaked' is not"),
    note(
        "note print mass",
        "a drying print of a ton",
        ["weighed", "7", "900g", *NOTE],
        2,
        "mass of one print 900 g is outside",
    ),
    note(
        "note not laid",
        "a drying print that was never laid on",
        ["weighed", "7", "5.1g", *NOTE],
        0,
        "No laying-on of 7 is noted before it",
        makes=("notes.sqlite",),
    ),
    note("note 0", "no sheets", ["weighed", "dry", "4g", "0", "sheets", *NOTE], 2, "sheets 0 is"),
    note("note size", "no such size", ["weighed", "dry", "4g", "--size", "4x", *NOTE], 2, "a size"),
    note(
        "note tank", "sheets past counting", ["tank", "fixer", "999999", *NOTE], 2, "outside 1 to"
    ),
    note(
        "note remark",
        "two remarks on a shadow",
        ["shadow", "came", "clock tower", "--remark", "early", *NOTE],
        0,
        '"clock tower; early"',
        makes=("notes.sqlite",),
    ),
    note("note promise", "half a promise", ["promise", "7", *NOTE], 2, "promise: '7' is not und"),
    note("note control", "a letter that rings", ["laid", "7\x07", *NOTE], 2, "control character"),
    note("note half", "half a letter", ["laid", "\udcff", *NOTE], 2, "control character U+DCFF"),
    note("note long", "a very long name", ["laid", "7" * 5000, *NOTE], 2, "longer than 100 char"),
    note("note wide", "a very long phrase", ["sky", "1" * 20_000 + "x", *NOTE], 2, "is not"),
    note("note option", "a mistyped option", ["plate", "46C", "--att", "1:00"], 2, "--att"),
    note("note TOML", "no such event", ["NO.TOML", "plate", "46C"], 4, "there is no file NO.TOML"),
    note("note event", "no such event", ["no.toml", "plate", "46C"], 4, "there is no file no.toml"),
    note("undo none", "nothing to take back", ["undo"], 2, "there is no note to take back"),
    note(
        "undo which",
        "no such note",
        ["undo", "zzz"],
        2,
        "note 'zzz' is",
        prepare=noted("plate 46C"),
    ),
    note("list none", "no notes yet", ["list"], 0, '"notes": []'),
    note("import none", "no such file", ["import", "no.csv"], 4, "no.csv"),
    note(
        "import page",
        "a web page",
        ["import", "n.csv"],
        2,
        "is a web page",
        files={"n.csv": "<html>"},
    ),
    note(
        "import other",
        "another table",
        ["import", "n.csv"],
        2,
        "no column 'kind'",
        files={"n.csv": "a,b\n1,2\n"},
    ),
    note(
        "import cell",
        "a word for a number",
        ["import", "n.csv"],
        2,
        "temp_c 'hot' is not a number",
        files={"n.csv": "kind,at,timezone,temp_c\nplate,2026-06-14T13:00,UTC,hot\n"},
    ),
    note(
        "import nan",
        "no number",
        ["import", "n.csv"],
        2,
        "not a finite number",
        files={"n.csv": "kind,at,timezone,temp_c\nplate,2026-06-14T13:00,UTC,nan\n"},
    ),
    note(
        "import late",
        "a note of tomorrow",
        ["import", "n.csv"],
        2,
        "is in the future",
        files={"n.csv": "kind,at,timezone,temp_c\nplate,2098-06-14T13:00,UTC,40\n"},
    ),
    note(
        "import year",
        "a year past all",
        ["import", "n.csv"],
        2,
        "is outside the years 2000",
        files={"n.csv": "kind,at,timezone,temp_c\nplate,9999-12-31T23:59-23:00,UTC,40\n"},
    ),
    note(
        "import short",
        "a row cut short",
        ["import", "n.csv"],
        2,
        "3 cells under 4",
        files={"n.csv": "kind,at,timezone,temp_c\nplate,2026-06-14T13:00,UTC\n"},
    ),
    note(
        "import quote",
        "a quote left open",
        ["import", "n.csv"],
        2,
        "the CSV is broken",
        files={"n.csv": 'kind,at,timezone,temp_c\n"plate,2026-06-14T13:00,UTC,1\n'},
    ),
    note(
        "import both",
        "one bad row of two",
        ["import", "n.csv"],
        2,
        "line 3",
        files={
            "n.csv": HEADING + "plate,2026-06-14T13:00,UTC,40\nplate,2026-06-14T13:00,UTC,400\n"
        },
    ),
    *(
        Row(f"40 {command} {name}", what, [command, *HERE], 4, says, prepare=prepare)
        for command in ("aim", "calibrate")
        for name, what, says, prepare in (
            ("garbage", "no notes in it", "this file holds no field notes", store_of(b"x" * 4096)),
            ("empty", "nothing in it", "damaged: the file is empty", store_of(b"")),
        )
    ),
]
