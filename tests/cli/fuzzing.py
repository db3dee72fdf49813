"""Inputs put together at random, and what must hold of the answer to each.

Used by `test_fuzzed_inputs`, where hypothesis puts them together, and by
``tests/benchmarks/fuzz_inputs.py``, where coverage leads the way.
"""

from __future__ import annotations

import json
import os
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from unittest import mock

from drybox.inputs.event.box import BOX_KEYS, POWERED_KEYS
from drybox.inputs.event.event import EVENT_KEYS
from drybox.inputs.event.limits import KEYS as DRYING_KEYS
from drybox.inputs.event.place import OBSTACLE_KEYS, PLACE_KEYS
from drybox.inputs.weather.words import KEYS as WEATHER_KEYS
from drybox.units import DIMENSIONS
from tests.cli.bad_inputs import HERE, ask, contents, event_text, fault_of

LONGEST_S = 5.0
SECTIONS = {
    "place": PLACE_KEYS,
    "box": BOX_KEYS,
    "powered": POWERED_KEYS,
    "paper": ("stock", "size", "water", "dry_mass", "gelatin", "hardened", "thickness", "name"),
    "process": ("name", "temperature", "pace", "wash", "stage", "bath", "spare", "top_up"),
    "process.wash": ("prints", "water", "time", "target", "fixing", "wash_aid", "vessel"),
    "event": EVENT_KEYS,
    "drying": tuple(DRYING_KEYS),
    "weather": WEATHER_KEYS,
}
KEYS = [f"{section}.{key}" for section, keys in SECTIONS.items() for key in keys]
INNER_KEYS = (*OBSTACLE_KEYS, "at", "ticket", "promised", "prints", "sheet", "bath", "duration")
UNITS = sorted({unit for kind in DIMENSIONS.values() for unit in kind.units} | {"°C", "°F", "%"})
WORDS = (
    *("steel", "matt black paint", "acrylic", "none", "plywood", "grass", "village", "clear"),
    *("overcast", "hazy", "fibre double weight", "squeegeed", "direct positive", "turns", "fixed"),
    *("line in shade", "sun plate", "Europe/Vienna", "UTC", "2027-06-12", "10:00", "18:00", "N"),
    *("2027-06-13 01:30", "48°12'N", "48.2, 16.4", "4x5 in", "fixer", "developer", "keeping"),
)
NUMBERS = ("0", "-1", "3", "0.5", "1/8", "1 1/2", "3,5", "1e9", "1e999", "-0", "100", "8", "1,000")
CELLS = (
    *("time", "valid time (UTC)", "date", "hour", "start", "end", "air_temp_c", "Temp (°F)"),
    *("humidity_pct", "RH", "wind_m_s", "wind km/h", "cloud_oktas", "cloud cover (%)", "ghi"),
    *("dni", "dhi", "pressure", "", "nan", "inf", "-", "9999", "99.9", "1e400", "15", "15,5", "-3"),
    *("2027-06-12", "2027-06-12T06:00", "2027-06-12T20:00Z", "2027-06-12 24:00", "12:00"),
    *("2027-03-28T02:30", "2027-06-12T12:00+02:00", "1812794400", "# issued 2027-06-01", "#"),
    *("LOCATION", "utc_offset_h", '"', "'", "{", "x" * 300),
)
NOTED = (
    *("plate", "air in box", "sky", "laid", "dry", "weighed", "shadow", "tank", "promise", "undo"),
    *("list", "export", "import", "46C", "52 °F", "7", "squeegeed", "4.1g", "5 sheets", "kept"),
    *("broken cloud", "3/8", "45%", "3m/s", "fixer", "12", "came", "--at", "13:15", "--date"),
    *("2026-06-14", "--timezone", "UTC", "--way", "line", "--size", "4x5in", "--remark", "--all"),
    *("--event", "--box", "--kind", "--format", "json", "--force", "-h", "out.csv"),
)
ASKED = (
    *("--latitude", "--longitude", "--elevation", "--timezone", "--date", "--at", "--weather"),
    *("--sky", "--cloud", "--units", "--format", "--seed", "--series", "--force", "--prints"),
    *("--water", "--time", "--target", "--fixing", "--wash-aid", "--vessel", "--goal", "--sure"),
    *("--process", "--stock", "--size", "--sittings", "--pace", "--used", "--spare", "--spoilt"),
    *("--temperature", "--top-up", "--uncalibrated", "json", "csv", "us", "least-time", "a.csv"),
    *("fixer=3", "48.2", "16.4", "500 m", "fair.toml", "sky.csv", "--", "-", ""),
)


def literal(value: object) -> str:
    """Return a value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return "[" + ", ".join(map(literal, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{literal(k)} = {literal(v)}" for k, v in value.items()) + "}"
    return str(value).replace("e+", "e")


def event_of(values: Mapping[str, object]) -> str:
    """Return an event file with these values by dotted key, sound in all else."""
    return event_text({key: literal(value) for key, value in values.items()})


def answered(args: Sequence[str], files: Mapping[str, bytes] | None = None) -> str:
    """Return what is wrong with the answer to a command, or an empty text."""
    before_dir = os.getcwd()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        env = {"DRYBOX_NOTES": str(folder / "notes.sqlite"), "TZ": "UTC"}
        for file, content in (files or {}).items():
            (folder / file).write_bytes(content)
        before = contents(folder)
        began_s = time.process_time()
        os.chdir(folder)
        try:
            with mock.patch.dict(os.environ, env):
                status, out, err = ask(args)
        finally:
            os.chdir(before_dir)
        took_s = time.process_time() - began_s
        after = contents(folder)
    if took_s > LONGEST_S:
        return f"{took_s:.1f} s"
    harmed = [name for name, content in before.items() if after.get(name) != content]
    if harmed or (status and after.keys() - before.keys()):
        return f"status {status}, files {harmed} harmed, {after.keys() - before.keys()} made"
    return "" if "Usage: " in out + err else fault_of(status, out, err)


def event_fault(content: bytes) -> str:
    """Return what is wrong with the answers to an event file."""
    files = {"fair.toml": content}
    for args in (["check", "--format", "json"], ["wash"], ["baths", "--format", "csv"]):
        fault = answered([*args, "fair.toml"], files)
        if fault:
            return f"{args}: {fault}"
    return ""


def forecast_fault(content: bytes) -> str:
    """Return what is wrong with the answers to a weather file."""
    files = {"sky.csv": content}
    here = [*HERE, "--weather", "sky.csv", "--format", "json"]
    return answered(["check", *here], files) or answered(
        ["weather", "show", "sky.csv", "--format", "json"], files
    )


def note_fault(words: Sequence[str]) -> str:
    """Return what is wrong with the answer to a note."""
    return answered(["note", *words])


def option_fault(command: str, words: Sequence[str]) -> str:
    """Return what is wrong with the answer to options."""
    return answered([command, *words], {"fair.toml": event_text({}).encode()})
