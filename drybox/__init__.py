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
    from drybox.inputs.calibrated_event import with_kept_fit as with_kept_fit
    from drybox.inputs.event import load_event as load_event
    from drybox.planning.calibration import calibrate as calibrate
    from drybox.planning.calls import aim as aim
    from drybox.planning.calls import dry as dry
    from drybox.planning.calls import set_out as set_out
    from drybox.planning.calls import wash as wash
    from drybox.planning.event_day import plan_day as plan_day
    from drybox.planning.frames import to_frame as to_frame
    from drybox.planning.season import season as season

__version__ = "0.1.0"

MODEL_VERSION = 3
"""Raised when the same inputs come to give other drying times; a fit stands on one of them."""

CALLS = {
    "load_event": "drybox.inputs.event",
    "with_kept_fit": "drybox.inputs.calibrated_event",
    "aim": "drybox.planning.calls",
    "set_out": "drybox.planning.calls",
    "dry": "drybox.planning.calls",
    "wash": "drybox.planning.calls",
    "plan_day": "drybox.planning.event_day",
    "season": "drybox.planning.season",
    "calibrate": "drybox.planning.calibration",
    "to_frame": "drybox.planning.frames",
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
