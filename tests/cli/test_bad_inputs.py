"""Whatever is typed or written, the answer is one line, and no file is harmed."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import icalendar
import pytest

from tests.cli.bad_inputs import HERE, NOTE, Row, ask, event_text, fault_of, put
from tests.cli.list_bad_inputs import ROWS

LONGEST_S = 5.0
pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes and devices are wanted")


@pytest.fixture(scope="module", autouse=True)
def _loaded() -> None:
    """Load what the commands load, so that no row pays for it."""
    import matplotlib.figure  # noqa: F401
    import pvlib  # noqa: F401


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_a_bad_input(row: Row, tmp_path: Path) -> None:
    answer = put(row, tmp_path)
    fault = fault_of(answer.status, "" if row.answers else answer.out, answer.err)
    assert (answer.status, fault) == (row.status, "")
    assert row.says in (answer.err if row.status else " ".join(answer.out.split()))
    assert answer.changed == set(row.makes)
    assert answer.took_s < LONGEST_S


def test_no_row_stands_twice_and_all_of_the_list_are_there() -> None:
    ids = [row.id for row in ROWS]
    assert len(ids) == len(set(ids))
    elsewhere = {26, 44, 45}  # below, and in test_door
    assert {int(name.split()[0]) for name in ids if name[0].isdigit()} == {
        *range(1, 47)
    } - elsewhere


NAMES = (
    "<script>alert(1)</script>",
    '"Ann" & Bob\'s',
    "=HYPERLINK(1)",
    "\U0001f600 \u202eabc",
    "עברית",
    "a;b,c\\n",
)


def test_names_of_signs_harm_no_file(tmp_path: Path) -> None:
    """Row 26: names come out escaped in HTML and calendar, and as no formula in a table."""
    sitters = ", ".join(
        f"{{name = {json.dumps(name, ensure_ascii=False)}, at = '12:0{number}'}}"
        for number, name in enumerate(NAMES)
    )
    changes = {"event.opens": "'12:00'", "event.closes": "'13:00'", "event.sitter": f"[{sitters}]"}
    (tmp_path / "fair.toml").write_text(event_text(changes), "utf-8")
    named = {name: str(tmp_path / f"day.{end}") for name, end in ENDS.items()}
    files = [word for name, path in named.items() for word in (f"--{name}", path)]
    few = ["--members", "20", "--no-what-if"]
    status, out, err = ask(["plan", str(tmp_path / "fair.toml"), *few, *files])
    assert (status, fault_of(status, out, err)) == (0, "")
    page = Path(named["sheet"]).read_text("utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    rows = csv.DictReader(Path(named["table"]).read_text("utf-8").splitlines())
    cells = [cell for row in rows for cell in row.values()]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]
    assert "'=HYPERLINK(1)" in cells
    calendar = icalendar.Calendar.from_ical(Path(named["calendar"]).read_bytes())
    assert all(event.get("summary") for event in calendar.walk("VEVENT"))
    assert "\u202e" not in page + out + Path(named["calendar"]).read_text("utf-8")


ENDS = {"sheet": "html", "calendar": "ics", "table": "csv"}
EVENT = ["check", *HERE]


def program(
    args: Sequence[str], folder: Path, *, without: Sequence[str] = (), **env: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the program in a process of its own."""
    kept = {name: value for name, value in os.environ.items() if name not in without}
    root = Path(__file__).parents[2]
    return subprocess.run(
        [sys.executable, "-m", "drybox", *args],
        env=kept | {"PYTHONPATH": str(root), "DRYBOX_NOTES": str(folder / "notes.sqlite")} | env,
        cwd=folder,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
        timeout=60,
    )


def test_a_bare_surrounding_is_enough(tmp_path: Path) -> None:
    """Row 44: no home, the C locale, 20 columns of ASCII."""
    plain = {"LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "COLUMNS": "20"}
    done = program(EVENT, tmp_path, without=["HOME", "LANG"], **plain)
    assert (done.returncode, done.stderr) == (0, b"")
    assert max(map(len, done.stdout.decode("ascii").splitlines())) <= 20


@pytest.mark.parametrize("closed", [0, 1, 2])
def test_a_closed_stream_gives_no_traceback(tmp_path: Path, closed: int) -> None:
    """Row 44: standard input, output or error is closed."""
    script = f"import os, sys; os.close({closed}); os.execv(sys.argv[1], sys.argv[1:])"
    words = [sys.executable, "-c", script, sys.executable, "-m", "drybox", *EVENT]
    root = Path(__file__).parents[2]
    done = subprocess.run(
        words, env=os.environ | {"PYTHONPATH": str(root)}, capture_output=True, check=False
    )
    assert done.returncode == (4 if closed == 1 else 0)
    assert b"Traceback" not in done.stderr


def test_two_runs_at_once_both_keep_their_note(tmp_path: Path) -> None:
    """Row 45: the later one waits."""
    readings = [["note", "plate", f"4{number}C", *NOTE] for number in range(4)]
    with ThreadPoolExecutor(4) as pool:
        done = list(pool.map(lambda args: program(args, tmp_path), readings))
    assert [(run.returncode, run.stderr) for run in done] == [(0, b"")] * 4
    listed = program(["note", "list", "--format", "json"], tmp_path)
    assert len(json.loads(listed.stdout)["result"]["notes"]) == 4
