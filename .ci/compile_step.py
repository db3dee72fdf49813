"""Build the step in C beside its sources, if there is a C compiler; go on without, if not.

Run when the package is installed, and by hand after a change: python .ci/compile_step.py
"""

from __future__ import annotations

import os
import runpy
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
except ImportError:  # run by hand
    BuildHookInterface = object


def compile_step(root: Path) -> Path | None:
    """Return the library built from the sources under a folder, or None without a compiler.

    No ``-ffast-math``, which changes the whole process; no ``-march=native``, since what is
    built may be carried to another machine.
    """
    known = runpy.run_path(str(root / "drybox/physics/c_library.py"))
    sources, library, stamp = known["SOURCES"], known["LIBRARY"], known["stamp"]()
    compiler = shlex.split(os.environ.get("CC", "cc"))
    made = library.with_suffix(f".{os.getpid()}.tmp")
    how = ["-O3", "-fno-math-errno", "-std=c99", "-fPIC", "-shared", f'-DSOURCE="{stamp}"']
    try:
        built = [*compiler, *how, "-o", str(made), str(sources[-1]), "-lm"]
        subprocess.run(built, check=True, capture_output=True)
        made.replace(library)  # whole or not at all: others may be loading it
    except (OSError, subprocess.CalledProcessError):
        made.unlink(missing_ok=True)
        return None
    return library


class CompileStep(BuildHookInterface):
    """Ships the library in a wheel of its platform, or a pure wheel without it."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build before the wheel is packed; an editable install loads it where it is."""
        library = compile_step(Path(self.root))
        if library is None:
            return
        from packaging.tags import platform_tags

        build_data["artifacts"].append(library.relative_to(self.root).as_posix())
        build_data["pure_python"] = False
        build_data["tag"] = f"py3-none-{next(platform_tags())}"


if __name__ == "__main__":
    sys.exit(compile_step(Path(__file__).resolve().parents[1]) is None)
