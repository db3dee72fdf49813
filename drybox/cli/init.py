"""``drybox init``: a starter event to fill in."""

from __future__ import annotations

import datetime
import re
import shlex
from pathlib import Path

import click

from drybox.cli.option_types import FOLDER
from drybox.cli.options import debug_option
from drybox.errors import InputError, StoreError

STARTER_DAY = datetime.date(2027, 6, 12)


@click.command(
    epilog="""\b
Example:
  drybox init fair
  drybox init practice --practice
  drybox check fair/fair.toml
"""
)
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option(
    "--practice", is_flag=True, help="Put its day into the past, so that notes can be tried on it."
)
@debug_option
def command(folder: str, practice: bool) -> None:
    """Write a commented starter event and an invented forecast into DIR.

    DIR is made if it is not there. No file is replaced: if one of the names is taken,
    nothing is written. With --practice the fair is on its day of the year that is last past:
    field notes are refused for a time still to come.
    """
    from drybox.cli import write_stdout
    from drybox.reports.files.write import write_file
    from drybox.reports.text.phrases import printable
    from drybox.tables import shipped_dir

    if not folder.strip():
        raise InputError("no folder is named", "DIR", "write . for this one")
    target = Path(folder)
    if target.suffix.lower() == ".toml":
        raise InputError(f"{folder} is named like a file", "DIR", f"name a folder: {target.stem}")
    starters = sorted(path for path in shipped_dir("demo").iterdir() if path.is_file())
    taken = [path.name for path in starters if (target / path.name).exists()]
    if taken:
        raise StoreError(
            f"{target / taken[0]} exists", mend="choose another folder; nothing was written"
        )
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"cannot make folder {target}: {error.strerror}") from error
    day = _last_past()
    for starter in starters:
        text = starter.read_text(encoding="utf-8")
        write_file(target / starter.name, practised(text, day) if practice else text)
    where = "this folder" if target == Path() else target
    names = " and ".join(path.name for path in starters)
    (event,) = (path.name for path in starters if path.suffix == ".toml")
    said = (
        f"Wrote {names} into {where}.\nThe scenario is invented: put in your own place, box, day "
        f"and forecast, then run: drybox check {shlex.quote(str(target / event))}\n"
    )
    if practice:
        file = shlex.quote(str(target / event))
        said += f"It is a day for practice: drybox note {file} plate 46C --at 13:15\n"
    write_stdout("\n".join(map(printable, said.split("\n"))))


def _last_past() -> datetime.date:
    """Return the starter's day in the last year in which it is over."""
    today = datetime.date.today()
    day = STARTER_DAY.replace(year=today.year)
    return day if day < today else day.replace(year=today.year - 1)


def practised(text: str, day: datetime.date) -> str:
    """Return a starter's text with its days moved so that the fair is on another day.

    >>> practised("2027-06-12T06:00,11.8", datetime.date(2026, 6, 12))
    '2026-06-12T06:00,11.8'
    """
    moved = day - STARTER_DAY

    def anew(found: re.Match[str]) -> str:
        return (datetime.date.fromisoformat(found[0]) + moved).isoformat()

    return re.sub(rf"\b{STARTER_DAY.year}-\d\d-\d\d", anew, text)
