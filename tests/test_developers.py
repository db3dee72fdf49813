"""The contributor guide: every file it names is there, none is left out, and its walks are true."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drybox.inputs.event.event import load_event
from drybox.planning.scenario.models import box_system
from drybox.units import parse_quantity
from tests.running import plain

ROOT = Path(__file__).resolve().parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
WALK = GUIDE[GUIDE.index("## One number, and one wish") : GUIDE.index("## The step")]
FAIR = ROOT / "data" / "demo" / "fair.toml"
FILE = re.compile(r"`([\w/]+\.py)`")


def test_the_guide_is_short() -> None:
    assert len(GUIDE.splitlines()) <= 150


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


def walks() -> list[list[str]]:
    """Return the files of each walk, in order."""
    parts = re.split(r"\n(?=`[^`]+`[^\n]* becomes )", WALK)[1:]
    return [[name for name in FILE.findall(part) if "test" not in name] for part in parts]


def test_a_walk_takes_at_most_twelve_files_and_comes_to_none_twice() -> None:
    assert len(walks()) == 2
    for files in walks():
        assert 5 < len(files) <= 12
        assert len(files) == len(set(files))


def test_the_walk_of_the_plate_is_what_happens() -> None:
    event = load_event(FAIR)
    assert 'plate_thickness = "3 mm"' in FAIR.read_text("utf-8")
    assert event.box.plate_thickness_m == parse_quantity("3 mm", "length", "plate")
    system = box_system(event.box, event.paper)
    assert system.plate.heat_capacity_j_m2_k == pytest.approx(10.2e3, rel=0.005)
    said = re.search(r"becomes `(dry in [^`]+)`", WALK)
    assert said
    assert said[1] in " ".join(plain("dry", str(FAIR), "--at", "13:20").split())


def test_the_walk_of_the_wish_is_what_happens() -> None:
    said = re.search(r"`--hold-below 45C` becomes `([^`]+)`", WALK)
    assert said
    found = " ".join(plain("aim", str(FAIR), "--hold-below", "45C").split())
    assert said[1] in found
