"""The rules of the house, kept by tools: rooms, unit names, length, style and types."""

from __future__ import annotations

import ast
import graphlib
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCES = sorted((ROOT / "drybox").rglob("*.py"))
LONGEST_FILE = 500
LONGEST_FUNCTION = 60
UNIT_ENDINGS = {
    *("k", "c", "pa", "m", "m2", "m3", "s", "kg", "w", "j", "wh", "deg", "rad", "frac"),
    *("hour", "year", "at"),  # "at": an instant, s since the Unix epoch
}
PURE_ENDINGS = {
    *("activity", "emissivity", "emittance", "exponent", "factor", "index", "number", "ratio"),
    *("prandtl", "rayleigh", "reynolds", "schmidt"),
}
PURE_NUMBERS = {
    "airmass",
    "airmass_absolute",
    "aspect",
    "linke_turbidity",
    "occupied",  # a mask of slots
    "per_slot",  # any quantity that can be summed
    "sheets",  # a count
    "sun_across",  # direction cosines
    "sun_normal",
    "sun_upslope",
    "variable",  # of any table
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


Function = ast.FunctionDef | ast.AsyncFunctionDef


def lines_below_docstring(function: Function) -> int:
    first, *rest = function.body
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and rest:
        first = rest[0]
    assert function.end_lineno is not None
    return function.end_lineno - first.lineno + 1


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_function_is_too_long(path: Path) -> None:
    long = [
        f"{node.name}, line {node.lineno}"
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, Function) and lines_below_docstring(node) > LONGEST_FUNCTION
    ]
    assert not long


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def imports(body: list[ast.stmt], modules: set[str]) -> Iterator[str]:
    """Yield the modules that a body imports, in its functions too, but not for types alone."""
    for node in body:
        if isinstance(node, ast.ImportFrom) and node.module:
            for name in node.names:
                inner = f"{node.module}.{name.name}"
                yield from {inner if inner in modules else node.module} & modules
        elif not (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
            for field in ("body", "orelse", "finalbody", "handlers"):
                yield from imports(getattr(node, field, []), modules)


def test_no_module_imports_itself_by_way_of_others() -> None:
    modules = {module_name(path): path for path in SOURCES}
    found = {
        name: set(imports(ast.parse(path.read_text("utf-8")).body, set(modules))) - {name}
        for name, path in modules.items()
        if path.name != "__init__.py"
    }
    graphlib.TopologicalSorter(found).prepare()  # names the loop, if there is one


def has_unit(name: str) -> bool:
    rest, _, ending = name.rpartition("_")
    unit = bool(rest) and ending in UNIT_ENDINGS
    return unit or ending in PURE_ENDINGS or name in PURE_NUMBERS


def nameless_numbers(tree: ast.Module) -> list[str]:
    """Numbers taken by public functions and methods without a unit in their name."""
    bodies = [tree.body]
    bodies += [node.body for node in tree.body if isinstance(node, ast.ClassDef)]
    return [
        f"{node.name}: {argument.arg}"
        for body in bodies
        for node in body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        for argument in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
        if argument.annotation is not None
        and NUMERIC.search(ast.unparse(argument.annotation))
        and not has_unit(argument.arg)
    ]


@pytest.mark.parametrize(
    "path", sorted((ROOT / "drybox" / "physics").rglob("*.py")), ids=lambda path: path.stem
)
def test_every_number_in_physics_ends_in_its_unit(path: Path) -> None:
    assert nameless_numbers(ast.parse(path.read_text("utf-8"))) == []


def test_a_number_without_a_unit_is_caught() -> None:
    planted = ast.parse("def loss(temp: float, wind_m_s: Array, wet: bool) -> float: ...")
    assert nameless_numbers(planted) == ["loss: temp"]
