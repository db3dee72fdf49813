"""What loading costs: help, completion and errors must not wait for numerical libraries."""

from __future__ import annotations

import json
import subprocess
import sys

HEAVY = (
    "numpy",
    "pandas",
    "pvlib",
    "scipy",
    "rich",
    "matplotlib",
    "jinja2",
    "icalendar",
    "requests",
)


def loaded_after(code: str) -> list[str]:
    script = (
        "import sys, io, json, contextlib\n"
        "quiet = io.StringIO()\n"
        "with contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):\n"
        + "".join(f"    {line}\n" for line in code.splitlines())
        + f"print(json.dumps([name for name in {HEAVY!r} if name in sys.modules]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    loaded = json.loads(done.stdout)
    assert isinstance(loaded, list)
    return loaded


def test_importing_the_package_is_light() -> None:
    assert loaded_after("import drybox") == []


def test_help_is_light() -> None:
    assert loaded_after("from drybox.cli import main\nmain(['--help'])") == []


def test_version_is_light() -> None:
    assert loaded_after("from drybox.cli import main\nmain(['--version'])") == []


def test_a_mistyped_command_or_option_is_light() -> None:
    code = "from drybox.cli import main\nmain(['drry'])\nmain(['check', '--no-such'])"
    assert loaded_after(code) == []


def test_the_help_of_every_command_is_light() -> None:
    code = (
        "from drybox.cli import group, main\n"
        "for name in group.list_commands(None):\n"
        "    main([name, '--help'])"
    )
    assert loaded_after(code) == []
