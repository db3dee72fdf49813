"""Every example in the help of a command runs as it is printed, in a folder made by ``init``."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import click
import pytest

from drybox.cli import COMMANDS, group, main
from tests.inputs.years.test_layouts import locationforecast, pvgis_tmy_json
from tests.inputs.years.test_typical import epw
from tests.loopback import Answer, serving
from tests.running import pvlib_data

STATION = "723170TYA.CSV"
TOUR = """name,latitude,longitude,elevation,date
Larkmead,46.95,13.4,1150 m,2027-06-12
Nirgends,-33.9,18.4,10 m,2027-12-12
"""
EVENING_S = 1_812_819_600.0
"""19:00 on the day of the starter event: what they note has been by then."""
PLATE_C = {"10:30": 31, "11:30": 38, "12:30": 44, "13:30": 46, "14:30": 45, "15:30": 40}


def commands() -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        assert command is not None
        yield name, command


def examples(text: str | None) -> list[str]:
    return re.findall(r"^  (drybox .+)$", text or "", re.MULTILINE)


@pytest.fixture
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stand in a folder with the starter event and the files that the examples name."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    monkeypatch.setattr("drybox.cli.note.time", SimpleNamespace(time=lambda: EVENING_S))
    for members in ("DRY_MEMBERS", "SET_OUT_MEMBERS", "PLAN_MEMBERS"):
        monkeypatch.setattr(f"drybox.api.{members}", 20)  # for speed
    assert main(["init", "."]) == 0
    shutil.copy("fair.toml", "market.toml")
    shutil.copy(pvlib_data(STATION), ".")
    Path("tmy.epw").write_text(epw(), encoding="utf-8")
    assert main(["weather", "convert", STATION, "larkmead.csv"]) == 0
    Path("summer.csv").write_text(TOUR, encoding="utf-8")


def run(line: str, *more: str) -> None:
    program, *words = shlex.split(line)
    assert (program, main([*words, *more])) == ("drybox", 0), line


@pytest.mark.usefixtures("_folder")
@pytest.mark.parametrize(
    "name",
    [
        pytest.param(
            each, marks=pytest.mark.slow if each in ("season", "plan", "calibrate") else ()
        )
        for each in COMMANDS
    ],
)
def test_the_examples_of_a_help_run(name: str) -> None:
    found = examples(dict(commands())[name].epilog)
    assert found, f"the help of drybox {name} has no example"
    assert any(line.split()[1] == name for line in found)
    if name == "check":
        assert main(["init", "fair"]) == 0
    if name == "calibrate":
        for clock, celsius in PLATE_C.items():
            run(f"drybox note fair.toml plate {celsius}C --at {clock} --date 2027-06-12")
    for line in found:
        if "weather fetch" not in line:
            run(line)
            continue
        # no service out there is asked: one on this machine answers
        Path(shlex.split(line)[3]).unlink(missing_ok=True)
        body = json.dumps(locationforecast()) if "--forecast" in line else pvgis_tmy_json()
        with serving(Answer(body)) as service:
            run(line, "--url", service.url)


@pytest.mark.usefixtures("_folder")
def test_the_examples_of_the_first_help_run() -> None:
    found = examples(group.epilog)
    assert found
    for line in found:
        run(line)
