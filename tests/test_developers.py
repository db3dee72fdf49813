"""The contributor guide's map: every file it names is there, and no formula's file is left out."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def test_every_file_that_the_guide_names_is_there() -> None:
    named = set(re.findall(r"`(\w+/[\w/*]*(?:\*|\.py))`", GUIDE))
    gone = [
        name
        for name in named
        if not any(list(folder.glob(name.rstrip("/"))) for folder in (ROOT, ROOT / "drybox"))
    ]
    assert len(named) > 60
    assert gone == []


def test_every_file_of_physics_stands_in_the_guide() -> None:
    folder = ROOT / "drybox" / "physics"
    files = [path for path in folder.rglob("*.py") if path.name[0] != "_"]
    names = [f"`physics/{path.relative_to(folder).as_posix()}`" for path in files]
    assert [name for name in names if name not in GUIDE] == []
