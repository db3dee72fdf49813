"""An answer as one JSON object, for other programs."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from drybox import __version__
from drybox.reports.text.answer import SCHEMA_VERSION, Answer
from drybox.reports.text.phrases import iso_time, suffix_of


def plain_value(key: str, value: Any, timezone: str) -> Any:
    """Return a value as JSON holds it: None for a gap or a never, ISO text for a moment.

    >>> plain_value("dry_at", {"p10": 0.0, "p50": 60.0, "p90": float("inf")}, "UTC")["p50"]
    '1970-01-01T00:01:00+00:00'
    >>> plain_value("plate_temp_c", float("nan"), "UTC") is None
    True
    """
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Mapping):
        return {
            str(name): plain_value(key if name in ("p10", "p50", "p90") else name, item, timezone)
            for name, item in value.items()
        }
    if hasattr(value, "tolist"):
        return plain_value(key, value.tolist(), timezone)
    if isinstance(value, int | float):
        if not math.isfinite(value):
            return None
        return iso_time(float(value), timezone) if suffix_of(key) == "at" else value
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, Iterable):
        return [plain_value(key, item, timezone) for item in value]
    return str(value)


def render_json(answer: Answer, ascii_only: bool = False) -> str:
    """Return the answer as JSON, without NaN or Infinity, ending in a line feed."""
    record: dict[str, Any] = {
        "command": answer.command,
        "version": __version__,
        "schema_version": SCHEMA_VERSION,
        "place": answer.place,
        "inputs": answer.inputs,
        "result": answer.result,
        "assumptions": answer.assumptions,
        "warnings": answer.warnings,
        "cautions": answer.cautions,
    }
    plain = {name: plain_value(name, value, answer.timezone) for name, value in record.items()}
    return json.dumps(plain, indent=2, allow_nan=False, ensure_ascii=ascii_only) + "\n"
