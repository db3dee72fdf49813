"""The rules of the house that a tool can hold; what still breaks one is counted, and may only fall.

Lower a ceiling when its number has fallen. The formula files (flat in `drybox/physics`) are left
alone by the rules on arguments.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "drybox"
SOURCES = sorted(PACKAGE.rglob("*.py"))
FORMULAS = set((PACKAGE / "physics").glob("*.py"))
TREES = {path: ast.parse(path.read_text("utf-8")) for path in SOURCES}
FLAT = {"cli", "physics", "reports/answers"}
SUB_ROOMS = sorted(
    path.parent
    for path in PACKAGE.rglob("__init__.py")
    if path.parent != PACKAGE and str(path.parent.relative_to(PACKAGE)) not in FLAT
)
MOST_FILES, MOST_POSITIONAL, LONGEST_INIT = 10, 3, 8

INSTANTS = {
    *("arrive_s", "arrives_s", "begin_s", "begun_s", "closes_s", "day_end_s", "day_start_s"),
    *("dry_at_s", "dry_s", "end_s", "first_load_s", "from_s", "issued_s", "laid_on_s", "laid_s"),
    *("last_load_s", "mid_s", "moment_s", "now_s", "opens_s", "promise_s", "promised_s"),
    *("pull_before_s", "pull_from_s", "pulled_s", "ready_s", "sat_s", "set_out_s", "start_s"),
    *("sunrise_s", "sunset_s", "touch_dry_at_s", "touch_dry_s", "until_s", "wash_from_s"),
    *("washed_s", "wet_end_s"),
}
"""Names of moments that end as if they were durations.

``at_s`` and ``promised_at_s`` of a note and ``made_s`` of a fit are columns of the notes' file.
"""

ARRAYS = ("Array", "NDArray", "np.ndarray", "Floats", "Flags", "Index")

UNTESTED_NAMES_CEILING = 17


def where(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def modules_of(folder: Path) -> list[Path]:
    return [path for path in sorted(folder.glob("*.py")) if path.name != "__init__.py"]


@pytest.mark.parametrize("folder", SUB_ROOMS, ids=where)
def test_a_sub_room_has_at_most_ten_files_and_says_what_is_inside(folder: Path) -> None:
    files = modules_of(folder)
    assert len(files) <= MOST_FILES
    text = (folder / "__init__.py").read_text("utf-8")
    assert len(text.splitlines()) <= LONGEST_INIT
    assert [path.stem for path in files if f"`{path.stem}`" not in text] == []


def functions(tree: ast.AST) -> Iterator[tuple[ast.FunctionDef, bool]]:
    """Yield each function, and whether its first argument is the object or class itself."""
    for node in ast.walk(tree):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.FunctionDef):
                static = any(ast.unparse(one) == "staticmethod" for one in child.decorator_list)
                yield child, isinstance(node, ast.ClassDef) and not static


def many_by_position(tree: ast.AST) -> list[str]:
    return [
        f"{function.name}, line {function.lineno}"
        for function, own in functions(tree)
        if len(function.args.posonlyargs + function.args.args) - own > MOST_POSITIONAL
    ]


def test_functions_take_at_most_three_arguments_by_position() -> None:
    found = [
        f"{where(path)}: {name}"
        for path, tree in TREES.items()
        if path not in FORMULAS
        for name in many_by_position(tree)
    ]
    assert found == []


def records(tree: ast.AST) -> Iterator[ast.ClassDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef) and any(
            "dataclass" in ast.unparse(one) for one in node.decorator_list
        ):
            yield node


def fields_of(record: ast.ClassDef) -> list[ast.AnnAssign]:
    return [node for node in record.body if isinstance(node, ast.AnnAssign)]


LARGE = {
    record.name
    for tree in TREES.values()
    for record in records(tree)
    if len(fields_of(record)) > MOST_POSITIONAL
}


def made_by_position(tree: ast.AST, large: set[str]) -> list[str]:
    inside = {
        node
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
    }
    return [
        f"{ast.unparse(node.func)}, line {node.lineno}"
        for node in inside  # a table of records, a row each, may be by position
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in large
        and len(node.args) > MOST_POSITIONAL
    ]


def test_no_record_of_more_than_three_fields_is_made_by_position() -> None:
    found = [
        f"{where(path)}: {name}"
        for path, tree in TREES.items()
        if path not in FORMULAS
        for name in made_by_position(tree, LARGE)
    ]
    assert found == []


def named_as_durations(tree: ast.AST) -> list[str]:
    names = [ast.unparse(field.target) for record in records(tree) for field in fields_of(record)]
    for function, _ in functions(tree):
        given = function.args
        names += [one.arg for one in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    return [name for name in names if name in INSTANTS]


def test_no_instant_is_named_as_if_it_were_a_duration() -> None:
    found = [
        f"{where(path)}: {name}"
        for path, tree in TREES.items()
        if path not in FORMULAS
        for name in named_as_durations(tree)
    ]
    assert found == []


def compared_by_arrays(tree: ast.AST) -> list[str]:
    """Records with an array as a field whose `==` would compare arrays, and fail."""
    return [
        record.name
        for record in records(tree)
        if any(ast.unparse(field.annotation).startswith(ARRAYS) for field in fields_of(record))
        and not any("eq=False" in ast.unparse(one) for one in record.decorator_list)
    ]


def test_no_record_compares_arrays() -> None:
    found = [
        f"{where(path)}: {name}"
        for path, tree in TREES.items()
        if path not in FORMULAS
        for name in compared_by_arrays(tree)
    ]
    assert found == []


def test_regression_test_files_that_no_module_gives_its_name() -> None:
    found = []
    for folder in SUB_ROOMS:
        beside = ROOT / "tests" / folder.relative_to(PACKAGE)
        stems = {path.stem for path in modules_of(folder)}
        for test in sorted(beside.glob("test_*.py")):
            if test.stem.removeprefix("test_").removeprefix("published_") not in stems:
                found.append(test.relative_to(ROOT).as_posix())
    assert len(found) <= UNTESTED_NAMES_CEILING, found


CUTS = {"partition", "rpartition", "removeprefix", "removesuffix"}
OWN_WORDS = [
    path
    for path in SOURCES
    if where(path).startswith(("planning/", "reports/answers/", "reports/sheet/"))
    and path.name != "charts.py"  # it shortens the styles of a drawing
]


def words_cut(tree: ast.AST) -> list[str]:
    """Where a text is cut, or a table is known by its title."""
    calls = (
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and (node.func.attr in CUTS or ast.unparse(node.func.value) == "re")
    )
    titles = (
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Compare) and ast.unparse(node.left).endswith(".title")
    )
    return [f"{ast.unparse(node)}, line {node.lineno}" for node in (*calls, *titles)]


def test_planning_and_reports_carry_codes_and_cut_no_words() -> None:
    rows_of_days = 1  # `day_3` among the rows of a table
    found = [f"{where(path)}: {cut}" for path in OWN_WORDS for cut in words_cut(TREES[path])]
    assert len(found) <= rows_of_days, found


def test_what_breaks_a_rule_is_found() -> None:
    planted = ast.parse(
        "@dataclass(frozen=True)\n"
        "class Day:\n"
        "    a: Array\n"
        "    b: int\n"
        "    c: int\n"
        "    d: int\n"
        "    def plan(self, a, b, c): ...\n"
        "    def draw(self, a, b, c, opens_s): ...\n"
        "    def make(self): return Day(1, 2, 3, 4), Day(1, 2, c=3, d=4)\n"
        "FAIR = Day(1, 2, 3, 4)\n"
    )
    assert many_by_position(planted) == ["draw, line 8"]
    assert made_by_position(planted, {"Day"}) == ["Day, line 9"]
    assert named_as_durations(planted) == ["opens_s"]
    assert compared_by_arrays(planted) == ["Day"]
    cut = "word.partition(';')[0]\nre.sub('C', 'F', word)\nbring = table.title == 'Bring'\n"
    assert len(words_cut(ast.parse(cut))) == 3
