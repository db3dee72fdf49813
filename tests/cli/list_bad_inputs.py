"""Every bad input with its answer, as a list to read: ``python -m tests.cli.list_bad_inputs``."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.cli import (
    bad_days,
    bad_event_files,
    bad_notes,
    bad_options,
    bad_outputs,
    bad_weather_files,
)
from tests.cli.bad_inputs import put

PARTS = (bad_options, bad_event_files, bad_weather_files, bad_days, bad_notes, bad_outputs)
ROWS = [row for part in PARTS for row in part.ROWS]
WIDTH = 100


def main() -> None:
    """Print what is typed or written, the exit status and what is said."""
    for row in ROWS:
        with tempfile.TemporaryDirectory() as name:
            answer = put(row, Path(name))
        said = answer.err.strip() or f"drybox: (answers) {row.says}"
        said = said.replace(name, "FOLDER")
        print(f"[{row.id}] {row.what}: {' '.join(row.args)[:WIDTH]!r}")
        print(f"    {answer.status}  {said.removeprefix('drybox: ')[: 3 * WIDTH]}")


if __name__ == "__main__":
    main()
