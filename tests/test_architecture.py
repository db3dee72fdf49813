"""The rules of the house, kept by tools: rooms, unit names, length, style and types."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCES = sorted((ROOT / "drybox").rglob("*.py"))
LONGEST_FILE = 400
UNIT_ENDINGS = set("k c pa m m2 m3 s kg w j wh deg rad frac".split())  # noqa: SIM905
PURE_NUMBERS = {
    "air_mass",
    "airmass",
    "airmass_absolute",
    "aspect",
    "clearness_index",
    "decimal_year",
    "extinction_path",
    "lewis_factor",
    "linke_turbidity",
    "mass_exponent",
    "prandtl",
    "ratio",
    "rayleigh",
    "refractive_index",
    "reynolds",
    "schmidt",
}
NUMERIC = re.compile(r"\b(float|Floats|Array|ArrayLike|Number|NDArray\[np\.float64\])(?![\w\[])")


def run(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_rooms_import_only_from_the_rooms_before_them() -> None:
    run("-c", "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())")


def test_style_is_clean() -> None:
    run("-m", "ruff", "check", ".")


def test_layout_is_clean() -> None:
    run("-m", "ruff", "format", "--check", ".")


def test_types_are_strict() -> None:
    run("-m", "mypy")


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_is_too_long(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= LONGEST_FILE


def has_unit(name: str) -> bool:
    return name in PURE_NUMBERS or ("_" in name and name.rsplit("_", 1)[1] in UNIT_ENDINGS)


def nameless_numbers(tree: ast.Module) -> list[str]:
    """Numbers taken by public functions, or kept by public classes, without a unit in the name."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            pairs = [(a.arg, a.annotation) for a in arguments if a.arg not in ("self", "cls")]
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            pairs = [
                (line.target.id, line.annotation)
                for line in node.body
                if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
            ]
        else:
            continue
        found += [
            f"{node.name}: {name}"
            for name, kind in pairs
            if kind is not None and NUMERIC.search(ast.unparse(kind)) and not has_unit(name)
        ]
    return found


@pytest.mark.parametrize(
    "path", sorted((ROOT / "drybox" / "physics").glob("*.py")), ids=lambda path: path.stem
)
def test_every_number_in_physics_ends_in_its_unit(path: Path) -> None:
    assert nameless_numbers(ast.parse(path.read_text("utf-8"))) == []


def test_a_number_without_a_unit_is_caught() -> None:
    planted = ast.parse("def loss(temp: float, wind_m_s: Array, wet: bool) -> float: ...")
    assert nameless_numbers(planted) == ["loss: temp"]
