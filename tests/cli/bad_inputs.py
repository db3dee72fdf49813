"""Bad inputs: what a row of them is, and how one is put to the command line.

The rows stand beside this file by what is bad: `bad_options`, `bad_event_files`,
`bad_weather_files`, `bad_days`, `bad_notes`, `bad_outputs`. An id that begins with a number is
the row of that number in the list of bad inputs that this project was designed against; the
others were met or thought of since. Each row runs in a folder of its own.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

from drybox.cli import main
from drybox.inputs.notes import database as field_note_file

HERE = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12"]
PLACE = {"place.latitude": "47.2", "place.longitude": "12.3"}
BASE = PLACE | {
    "place.elevation": '"500 m"',
    "place.timezone": '"Europe/Vienna"',
    "event.date": '"2027-06-12"',
    "event.opens": '"10:00"',
    "event.closes": '"18:00"',
}
AIM = ["aim", *HERE]
NOTE = ["--timezone", "Europe/Vienna"]
HEADING = "time,air_temp_c,humidity_pct,wind_m_s,cloud_oktas"
LONGEST_LINE = 1000


@dataclass(frozen=True)
class Row:
    """One bad input.

    ``says`` is part of the one line on standard error, or of the answer where ``status`` is 0.
    ``makes`` names the files that may come to be or grow. ``prepare`` sets the folder up and may
    return what is to be done in the end. ``answers`` tells that a failure gives its answer too.
    """

    id: str
    what: str
    args: Sequence[str]
    status: int
    says: str
    files: Mapping[str, str | bytes] = field(default_factory=dict)
    prepare: Callable[[Path], object] | None = None
    env: Mapping[str, str] = field(default_factory=dict)
    makes: tuple[str, ...] = ()
    answers: bool = False


def event_text(changes: Mapping[str, str | None]) -> str:
    """Return an event file that is sound but for the changes; None leaves a key out."""
    values = BASE | changes
    return "".join(f"{key} = {value}\n" for key, value in values.items() if value is not None)


def opt(name: str, what: str, args: Sequence[str], status: int, says: str, **more: object) -> Row:
    """Return a row of options on ``check``, which come after a sound place and day."""
    return Row(name, what, ["check", *HERE, *args], status, says, **more)  # type: ignore[arg-type]


def toml(
    name: str, what: str, changes: Mapping[str, str | None], status: int, says: str, *args: str
) -> Row:
    """Return a row of an event file, read by ``check`` unless other arguments are given."""
    words = list(args or ("check", "fair.toml"))
    return Row(name, what, words, status, says, {"fair.toml": event_text(changes)})


def file(name: str, what: str, content: str | bytes, status: int, says: str) -> Row:
    """Return a row of an event file given as a whole."""
    return Row(name, what, ["check", "fair.toml"], status, says, {"fair.toml": content})


def sky(name: str, what: str, content: str | bytes, status: int, says: str) -> Row:
    """Return a row of a weather file."""
    args = ["check", *HERE, "--weather", "sky.csv"]
    return Row(name, what, args, status, says, {"sky.csv": content})


def day(*lines: str, heading: str = HEADING, rest: str = ",15,60,1,2") -> str:
    """Return a forecast of a whole day, the lines given standing in for the hours they begin with.

    A line is put where its own time (its first 13 letters) stands, else at the end.
    """
    rows = {f"2027-06-12T{hour:02d}": f"2027-06-12T{hour:02d}:00{rest}" for hour in range(5, 22)}
    rows |= {line[:13]: line for line in lines}
    return "\n".join([heading, *rows.values()]) + "\n"


def note(name: str, what: str, args: Sequence[str], status: int, says: str, **more: object) -> Row:
    """Return a row of a field note."""
    return Row(name, what, ["note", *args], status, says, **more)  # type: ignore[arg-type]


def ask(args: Sequence[str]) -> tuple[int, str, str]:
    """Return status, standard output and standard error of a command, as a terminal gets them."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(args)
    return (status, *(stream.buffer.getvalue().decode("utf-8") for stream in (out, err)))  # type: ignore[attr-defined, return-value]


@dataclass(frozen=True)
class Answer:
    """What a row led to; ``changed`` are the files made, changed or gone."""

    status: int
    out: str
    err: str
    changed: set[str]
    took_s: float


def put(row: Row, folder: Path) -> Answer:
    """Put a row to the command line in an empty folder."""
    env = {"DRYBOX_NOTES": str(folder / "notes.sqlite"), "XDG_CACHE_HOME": str(folder), **row.env}
    with contextlib.chdir(folder), mock.patch.dict(os.environ, env):
        for name, content in row.files.items():
            raw = content if isinstance(content, bytes) else content.encode("utf-8")
            Path(name).write_bytes(raw)
        tidy = row.prepare(folder) if row.prepare else None
        before = contents(folder)
        began_s = time.process_time()
        with mock.patch.object(field_note_file, "WAIT_S", 0.1):
            said = ask([*row.args, *(["--format", "json"] if row.status == 0 else [])])
        took_s = time.process_time() - began_s
        after = contents(folder)
        if callable(tidy):
            tidy()
    changed = {name for name in before | after if before.get(name, "") != after.get(name, "")}
    return Answer(*said, changed, took_s)


def fault_of(status: int, out: str, err: str) -> str:
    """Return what is wrong with an answer that may be an error but must be a decent one."""
    if "Traceback" in out + err:
        return "a traceback"
    if status not in (0, 2, 3, 4):
        return f"status {status}: {err}"
    if status and out:
        return f"standard output of a failure: {out[:200]}"
    lines = err.splitlines()
    if status and (len(lines) != 1 or not lines[0].startswith("drybox: ")):
        return f"not one line: {err!r}"
    if any(len(line) > LONGEST_LINE for line in lines):
        return f"a line of {max(map(len, lines))} letters"
    if out.startswith("{"):
        try:
            json.loads(out, parse_constant=lambda name: int(f"no {name}"))
        except ValueError as error:
            return f"no JSON: {error}"
    return ""


def contents(folder: Path) -> dict[str, bytes | None]:
    """Return what is in every file under a folder; None for what is no ordinary file."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        if path.is_file() and not path.is_symlink() and path.stat().st_size < 10_000_000
        else None
        for path in folder.rglob("*")
    }


def taken(*names: str) -> Callable[[Path], object]:
    def prepare(folder: Path) -> None:
        for name in names:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text("mine\n", "utf-8")

    return prepare


def noted(*lines: str) -> Callable[[Path], object]:
    """Return a preparation that writes notes down."""

    def prepare(folder: Path) -> None:
        for line in lines:
            status, _, err = ask(["note", *line.split(), *NOTE])
            assert status == 0, err

    return prepare
