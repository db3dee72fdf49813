"""``drybox init``: a starter event to fill in."""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from drybox.cli.option_types import FOLDER
from drybox.errors import InputError, StoreError


@click.command(
    epilog="""\b
Example:
  drybox init fair
  drybox check fair/fair.toml
"""
)
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option("--debug", is_flag=True, expose_value=False, help="Show where a fault arose.")
def command(folder: str) -> None:
    """Write a commented starter event and an invented forecast into DIR.

    DIR is made if it is not there. No file is replaced: if one of the names is taken,
    nothing is written.
    """
    from drybox.cli import write_stdout
    from drybox.reports.files.write import write_file
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
    for starter in starters:
        write_file(target / starter.name, starter.read_bytes())
    where = "this folder" if target == Path() else target
    names = " and ".join(path.name for path in starters)
    (event,) = (path.name for path in starters if path.suffix == ".toml")
    write_stdout(
        f"Wrote {names} into {where}.\nThe scenario is invented: put in your own place, box, day "
        f"and forecast, then run: drybox check {shlex.quote(str(target / event))}\n"
    )
