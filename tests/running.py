"""Run commands in this process, each question once."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from unittest import mock

from drybox.cli import main
from drybox.cli.options import Options
from drybox.reports.text.answer import Answer
from drybox.tables import shipped_dir

(DEMO,) = (str(path) for path in shipped_dir("demo").glob("*.toml"))
GOLDEN = Path(__file__).parent / "cli" / "golden"


def pvlib_data(name: str) -> str:
    """Return the path of a weather file that pvlib ships."""
    import pvlib

    return str(Path(pvlib.__file__).parent / "data" / name)


def event_file(folder: Path, text: str) -> Path:
    """Return an event file with a text, in a folder."""
    path = folder / "fair.toml"
    path.write_text(text, encoding="utf-8")
    return path


def ran(*args: str, columns: int = 80) -> tuple[int, str, str]:
    """Return status, standard output and standard error of a command."""
    out, err = io.StringIO(), io.StringIO()
    with (
        mock.patch.dict(os.environ, COLUMNS=str(columns)),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        status = main(list(args))
    return status, out.getvalue(), err.getvalue()


def refused(*args: str, status: int = 2) -> str:
    """Return the one line in which a command says why it does nothing."""
    ended, out, err = ran(*args)
    assert (ended, out) == (status, ""), err
    assert err.startswith("drybox: ")
    assert err.count("\n") == 1
    return err


@cache
def _shown(*args: str, columns: int = 80) -> tuple[str, str]:
    """Return what a command that succeeds writes, and the same answer as JSON; of one run."""
    as_json = []
    show = Options.show

    def spy(options: Options, answer: Answer) -> None:
        as_json.append(replace(options, format="json").rendered(answer))
        show(options, answer)

    with mock.patch.object(Options, "show", spy):
        status, out, err = ran(*args, columns=columns)
    assert status == 0, err
    return out, as_json[0] if as_json else ""


def said(*args: str, columns: int = 80) -> str:
    """Return what a command that succeeds writes to standard output."""
    return _shown(*args, columns=columns)[0]


def plain(*args: str) -> str:
    """Return the text with each run of spaces and line ends as one space."""
    return " ".join(said(*args).split())


def record(*args: str) -> dict[str, Any]:
    """Return the JSON answer of a command, from the run that gave its text."""

    def refuse(name: str) -> None:
        raise AssertionError(f"{name} is no JSON")

    found: dict[str, Any] = json.loads(_shown(*args)[1], parse_constant=refuse)
    return found


def table(*args: str) -> list[dict[str, str]]:
    """Return the CSV answer of a command."""
    return list(csv.DictReader(io.StringIO(said(*args, "--format", "csv"))))


def golden(name: str, text: str) -> None:
    """Compare with a text kept beside the tests; run with ``DRYBOX_GOLDEN=1`` to write it anew."""
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("DRYBOX_GOLDEN"):
        path.write_text(text, "utf-8")
    assert text == path.read_text("utf-8")
