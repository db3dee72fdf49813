"""The wheel, unpacked away from the checkout, holds all that a user needs."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

pytestmark = pytest.mark.slow


def quietly(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that holds nothing but the installed wheel; the libraries are those of this run."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    isolation = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    build = [*pip, "wheel", "--no-deps", *isolation, "--wheel-dir", str(folder), str(ROOT)]
    quietly(*build)
    (wheel,) = folder.glob("drybox-*.whl")
    target = folder / "site"
    install = [*pip, "install", "--no-deps", "--target", str(target), str(wheel)]
    quietly(*install)
    return target


def run(installed: Path, folder: Path, *command: str) -> str:
    done = subprocess.run(
        command,
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_installed_package_is_the_one_that_runs(installed: Path, tmp_path: Path) -> None:
    where = run(installed, tmp_path, sys.executable, "-c", "import drybox; print(drybox.__file__)")
    assert Path(where.strip()).is_relative_to(installed)


@pytest.mark.parametrize("name", ["tables", "demo"])
def test_every_shipped_file_is_present(installed: Path, tmp_path: Path, name: str) -> None:
    code = (
        "from drybox.tables import shipped_dir\n"
        f"for path in sorted(shipped_dir({name!r}).iterdir()): print(path)"
    )
    paths = [
        Path(line) for line in run(installed, tmp_path, sys.executable, "-c", code).splitlines()
    ]
    assert all(path.is_relative_to(installed) for path in paths)
    in_checkout = sorted(path for path in (ROOT / "data" / name).iterdir() if path.is_file())
    assert in_checkout
    assert [path.name for path in paths] == [path.name for path in in_checkout]
    for path, original in zip(paths, in_checkout, strict=True):
        assert path.read_bytes() == original.read_bytes()


def test_the_sheet_is_laid_out_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    code = (
        "from drybox.reports.text.answer import Answer\n"
        "from drybox.reports.sheet.page import render_sheet\n"
        "print(render_sheet([Answer('wash', {'name': 'here'}, [], {}, ['Wash.'])]))"
    )
    page = run(installed, tmp_path, sys.executable, "-c", code)
    assert page.startswith("<!doctype html>")
    assert "@media print" in page


def test_nothing_but_the_package_is_installed(installed: Path) -> None:
    names = {path.name for path in installed.iterdir() if not path.name.endswith(".dist-info")}
    assert names == {"drybox", "bin"}


def test_the_command_starts_and_checks_the_demo(installed: Path, tmp_path: Path) -> None:
    drybox = (sys.executable, str(installed / "bin" / "drybox"))
    assert "Commands:" in run(installed, tmp_path, *drybox, "--help")
    run(installed, tmp_path, *drybox, "init", "fair")
    assert run(installed, tmp_path, *drybox, "check", "fair/fair.toml")
