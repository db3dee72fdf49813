"""Solar drying box and print finishing estimator.

inputs → physics → planning → reports: data flows, and imports point, in that order;
`drybox.cli` is the door. Importing `drybox` loads nothing heavy; the calls below load what
they need when they are first used.

Examples
--------
::

    import drybox

    event = drybox.load_event("fair.toml")
    result = drybox.dry(event, "13:20")
    print(result.choice, drybox.to_frame(result, event))
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drybox.api import aim as aim
    from drybox.api import dry as dry
    from drybox.api import set_out as set_out
    from drybox.api import wash as wash
    from drybox.frames import to_frame as to_frame
    from drybox.inputs.event.event import load_event as load_event
    from drybox.inputs.notes.fitted_event import with_kept_fit as with_kept_fit
    from drybox.planning.calibration.calibration import calibrate as calibrate
    from drybox.planning.day.plan import plan_day as plan_day
    from drybox.planning.season.season import season as season

__version__ = "0.1.0"

MODEL_VERSION = 3
"""Raised when the same inputs come to give other drying times; a fit stands on one of them."""

CALLS = {
    "load_event": "drybox.inputs.event.event",
    "with_kept_fit": "drybox.inputs.notes.fitted_event",
    "aim": "drybox.api",
    "set_out": "drybox.api",
    "dry": "drybox.api",
    "wash": "drybox.api",
    "plan_day": "drybox.planning.day.plan",
    "season": "drybox.planning.season.season",
    "calibrate": "drybox.planning.calibration.calibration",
    "to_frame": "drybox.frames",
}
"""Public call → the module that holds it."""


def __getattr__(name: str) -> Any:
    if name not in CALLS:
        raise AttributeError(f"module 'drybox' has no attribute '{name}'")
    import importlib

    found = getattr(importlib.import_module(CALLS[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *CALLS})
