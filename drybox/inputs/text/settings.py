"""Take values out of an event's tables: checked, with unit, place and source recorded.

A `Settings` is one event file with the command's options laid over it; a `Section` is one of
its tables. Every error names the file and line, or the option; a key that is not known is
refused with the nearest one that is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar
from unicodedata import category

from drybox.errors import InputError, did_you_mean, out_of_range
from drybox.inputs.text.near_names import plain_words
from drybox.inputs.text.ranges import Ranges
from drybox.inputs.text.toml_lines import TomlFile, read_toml
from drybox.readable import Figure, MetricText
from drybox.tables import TableValue, load_table, look_up
from drybox.units import (
    DIMENSIONS,
    celsius,
    parse_quantity,
    parse_size,
    plain_number,
    with_unit,
    written_unit,
)


@dataclass(frozen=True)
class Resolved:
    """One value in use: its key, its value in the unit shown, and where it came from."""

    key: str
    value: float | str | bool | None
    unit: str
    source: str


# dimension → unit shown, SI → shown factor, offset
SHOWN_UNITS: dict[str, tuple[str, float, float]] = {
    "mass": ("kg", 1.0, 0.0),
    "area": ("m2", 1.0, 0.0),
    "length": ("m", 1.0, 0.0),
    "temperature": ("°C", 1.0, -273.15),
    "angle": ("deg", 57.29577951308232, 0.0),
    "speed": ("m/s", 1.0, 0.0),
    "fraction": ("frac", 1.0, 0.0),
    "areal_mass": ("kg/m2", 1.0, 0.0),
    "density": ("kg/m3", 1.0, 0.0),
    "specific_heat": ("J/kgK", 1.0, 0.0),
    "conductivity": ("W/mK", 1.0, 0.0),
    "heat_transfer_coeff": ("W/m2K", 1.0, 0.0),
    "vapour_resistance": ("m2sPa/kg", 1.0, 0.0),
    "power": ("W", 1.0, 0.0),
    "energy": ("Wh", 1 / 3600, 0.0),
    "duration": ("min", 1 / 60, 0.0),
    "volume": ("ml", 1e6, 0.0),
    "area_per_volume": ("m2/l", 1e-3, 0.0),
    "rate": ("1/h", 3600.0, 0.0),
    "extinction": ("1/m", 1.0, 0.0),
    "number": ("", 1.0, 0.0),
}


ENDINGS = {
    "m": "length", "m_s": "speed", "1_m": "extinction", "1_s": "rate", "k": "temperature",
    "frac": "fraction", "kg_m2": "areal_mass", "kg_m3": "density", "j_kg_k": "specific_heat",
    "w_m_k": "conductivity", "w_m2_k": "heat_transfer_coeff", "m2_s_pa_kg": "vapour_resistance",
}  # fmt: skip
"""Ending of a record's field → dimension of its quantity; a field without one is a number."""

# an option takes away what the file says otherwise about the same thing
DISPLACED: dict[str, tuple[str, ...]] = {
    "place.coordinates": ("place.latitude", "place.longitude"),
    "box.aim": ("box.bearing", "box.tilt"),
    "box.bearing": ("box.aim",),
    "box.tilt": ("box.aim",),
    "weather.file": ("weather.forecast",),
    "weather.forecast": ("weather.file",),
    "weather.sky": ("weather.cloud",),
    "weather.cloud": ("weather.sky",),
    "weather.wind": ("weather.wind_at_plate",),
    "weather.wind_at_plate": ("weather.wind",),
    "event.every": ("event.rate", "event.arrivals", "event.sitter", "event.sitters"),
    "event.rate": ("event.every", "event.arrivals", "event.sitter", "event.sitters"),
}
OPTION_NAMES = {"weather.file": "--weather", "weather.forecast": "--weather"}


LONGEST_TEXT, MOST_ENTRIES = 200, 500
_BREAKS = ("Cc", "Zl", "Zp")  # control characters, line and paragraph separators
Words = TypeVar("Words", bound=str | None)
Number = TypeVar("Number", bound=float | None)


class Settings:
    """An event file (or none) with options laid over it, and a record of all that was used."""

    def __init__(self, file: TomlFile | None, overrides: Mapping[str, object]) -> None:
        self.file = file
        self.tables: dict[str, Any] = deepcopy(file.tables) if file else {}
        self.options = {key: value for key, value in overrides.items() if value is not None}
        self.resolved: list[Resolved] = []
        self.assumptions: list[str] = []
        self.of_print: list[str] = []
        """Those of the assumptions that are about the print and its figures."""
        self.warnings: list[str] = []
        self.air_temp_k: float | None = None
        """Of the event's hours, for water that was not told how warm; None without an event."""
        self.water_as_air = False
        """Whether any water took that temperature."""
        for key in self.options:
            for displaced in DISPLACED.get(key, ()):
                if displaced not in self.options:
                    _take_away(self.tables, displaced)
        for key, value in self.options.items():
            _lay_over(self.tables, key, value)

    @classmethod
    def read(cls, path: Path | None, overrides: Mapping[str, object]) -> Settings:
        """Return the settings of a file and options."""
        return cls(read_toml(path) if path else None, overrides)

    def where(self, key: str) -> str:
        """Return where a key stands: its file and line, or its option."""
        if key in self.options:
            return f"option {option_name(key)}"
        if self.file is None:
            return f"{key}, {option_name(key)}" if "." in key else key
        return f"{key} in {self._line(key)}"

    def source(self, key: str) -> str:
        """Return whence a value came: ``file fair.toml, line 12`` or ``option --date``."""
        if key in self.options:
            return f"option {option_name(key)}"
        return f"file {self._line(key)}"

    def _line(self, key: str) -> str:
        """Return the file's name, with the line of the key where it has one."""
        line = self.file.line_of(key) if self.file else None
        name = self.file.path.name if self.file else ""
        return f"{name}, line {line}" if line else name

    def section(self, name: str) -> Section:
        """Return a table of the event, empty when it is left out."""
        table = self.tables.get(name, {})
        if not isinstance(table, dict):
            mend = f"write it as a table headed [{name}]"
            raise InputError(f"{name} is not a table", self.where(name), mend)
        return Section(self, name, table)

    def check_tables(self, known: Sequence[str]) -> None:
        """Refuse a top-level table or key that is not known."""
        for name in self.tables:
            if name not in known:
                raise _unknown("table", name, known, where=self.where(name))

    def assume(self, text: str, *, of_print: bool = False) -> None:
        """Note an assumption once, as a sentence; some are about the print alone."""
        if text not in self.assumptions:
            self.assumptions.append(text)
        if of_print:
            self.of_print.append(text)

    def record(self, key: str, value: float | str | bool | None, unit: str, *, source: str) -> None:
        """Note a value in use."""
        self.resolved.append(Resolved(key=key, value=value, unit=unit, source=source))


class Section:
    """One table of the event, or one entry of an array of tables."""

    def __init__(self, settings: Settings, name: str, table: Mapping[str, Any]) -> None:
        self.settings = settings
        self.name = name
        self.table = table

    def __contains__(self, key: str) -> bool:
        """Return whether the user gave the key."""
        return key in self.table

    def only(self, *known: str) -> None:
        """Refuse a key that is not known."""
        for key in self.table:
            if key not in known:
                raise _unknown("key", key, known, where=self.where(key))

    def where(self, key: str) -> str:
        """Return where a key of this table stands."""
        return self.settings.where(f"{self.name}.{key}")

    def error(self, key: str, what: str, mend: str = "") -> InputError:
        """Return an error that says where the key stands."""
        return InputError(what, self.where(key), mend)

    def raw(self, key: str) -> Any:
        """Return the value as it was given, or None; it is not recorded."""
        return self.table.get(key)

    def record(
        self, key: str, value: float | str | bool | None, unit: str = "", *, source: str = ""
    ) -> None:
        """Note a value in use; without ``source`` it is one the user gave."""
        full = f"{self.name}.{key}"
        self.settings.record(full, value, unit, source=source or self.settings.source(full))

    def text(self, key: str, default: Words, source: str = "default") -> str | Words:
        """Return a text, or the default."""
        value = self.raw(key)
        if value is None:
            self.record(key, default, "", source=source)
            return default
        if not isinstance(value, str):
            mend = 'put it in quotes, like "..."'
            raise self.error(key, f"{key} {_shown(value)} is not a text", mend)
        text = value.strip()
        if not text or any(category(letter) in _BREAKS for letter in text):
            what = f"{key} {value!r} is empty or has a line break or control character"
            raise self.error(key, what)
        if len(text) > LONGEST_TEXT:
            raise self.error(key, f"{key} is longer than {LONGEST_TEXT} characters")
        self.record(key, text)
        return text

    def choice(self, key: str, table: str, default: str, *, source: str = "default") -> str:
        """Return the name of an item of a shipped table.

        Small and capital letters are the same, and so are hyphens and spaces.
        """
        name, items = self.text(key, default, source).lower(), load_table(table)
        if name not in items:
            same = (item for item in items if plain_words(item) == plain_words(name))
            name = next(same, name)
        look_up(table, name, key, where=self.where(key))  # refuses what is not there
        return name

    def flag(self, key: str, default: bool, source: str = "default") -> bool:
        """Return true or false."""
        value = self.raw(key)
        if value is None:
            self.record(key, default, "", source=source)
            return default
        if not isinstance(value, bool):
            what = f"{key} {_shown(value)} is neither true nor false"
            raise self.error(key, what, "write true or false, without quotes")
        self.record(key, value)
        return value

    def quantity(
        self,
        key: str,
        dimension: str,
        limits: tuple[float, float],
        *,
        default: Number,
        source: str = "default",
        usual_unit: str = "",
    ) -> float | Number:
        """Return a quantity in SI, checked against its limits, or the default.

        Ranges and default are in SI; ``usual_unit`` is the one offered when none was written.
        """
        value = self.raw(key)
        unit, factor, offset = SHOWN_UNITS[dimension]
        if value is None:
            shown = None if default is None else default * factor + offset
            self.record(key, shown, unit, source=source)
            return default
        try:
            si = parse_quantity(value, dimension, key, where=self.where(key))
        except InputError as error:
            bare = error.what.endswith("has no unit")
            if not bare and not (usual_unit and error.mend.startswith("write it like")):
                raise
            example = _with_unit(str(value) if bare else "12", dimension, usual_unit)
            raise self.error(key, error.what, f'write it like "{example}"') from None
        if not limits[0] <= si <= limits[1]:
            low, high = (_in_unit(limit, dimension, value) for limit in limits)
            raise out_of_range(key, str(value).strip(), (low, high), where=self.where(key))
        self.record(key, si * factor + offset, unit)
        return si

    def whole_number(
        self, key: str, limits: tuple[int, int], default: int, *, source: str, mend: str = ""
    ) -> int:
        """Return a count given under a key, or the default."""
        value = self.raw(key)
        if value is None:
            self.record(key, default, "", source=source)
            return default
        low, high = limits
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            what = f"{key} {_shown(value)} is not a whole number from {low} to {high}"
            raise self.error(key, what, mend or f"write {key} = {default}")
        self.record(key, value)
        return value

    def count(self, key: str, limits: tuple[int, int], *, row: tuple[str, ...]) -> int:
        """Return a count given here, else a shipped row, named as for `property`."""
        usual, source = _in_table(key, row)
        return self.whole_number(key, limits, int(usual.value), source=source)

    def size(self, key: str, limits: tuple[float, float], default: str = "") -> tuple[float, float]:
        """Return the two sides of a size such as ``"40 x 50 cm"``, or the default. [m]"""
        given = self.raw(key)
        size = default if given is None else given
        sides = parse_size(size, key, self.where(key))
        if not all(limits[0] <= side_m <= limits[1] for side_m in sides):
            ends = f"{limits[0] * 100:g} cm to {limits[1] * 100:g} cm"
            raise self.error(key, f"{key} {size} is outside {ends} a side")
        shown = f"{sides[0]:.6g} x {sides[1]:.6g}"
        self.record(key, shown, "m", source="default" if given is None else "")
        return sides

    def property(
        self, key: str, dimension: str, limits: tuple[float, float], *, row: tuple[str, ...]
    ) -> float:
        """Return a quantity given here, else a shipped row: table, item, column if another."""
        usual, source = _in_table(key, row)
        return self.quantity(key, dimension, limits, default=usual.value, source=source)

    def field(self, name: str, limits: Ranges, *row: str, of: str = "") -> float:
        """Return the quantity of a record's field such as ``wall_depth_m``, given as `wall_depth`.

        Else it is that of a shipped row: table, item, column if another. ``of`` stands before the
        key alone, as in ``cover_thickness`` of the row's ``thickness``.
        """
        endings = [ending for ending in ENDINGS if name.endswith(f"_{ending}")]
        ending = max(endings, key=len, default="")
        key, dimension = name.removesuffix(f"_{ending}"), ENDINGS.get(ending, "number")
        columns = (key,) if of else ()
        return self.property(of + key, dimension, limits[name], row=(*row, *columns))

    def water_temperature(
        self, key: str, limits: tuple[float, float], *, row: tuple[str, ...]
    ) -> float:
        """Return how warm water is: as told, else as the air of the event, else by a table. [K]"""
        air_k = self.settings.air_temp_k
        if key in self or air_k is None:
            if key not in self:
                usual, _ = _in_table(key, row)
                self.settings.assume(
                    "Neither the water's temperature nor a place was told, so it is at "
                    f"{usual.text}."
                )
            return self.property(key, "temperature", limits, row=row)
        process = self.settings.tables.get("process", {})
        what = "the washes" if "temperature" in process else "baths and water"
        if "water_temperature" in process.get("wash", {}):
            what = "the baths"
        self.settings.assume(
            MetricText(
                f"How warm {what} are was not told, so they are as warm as the air of the "
                "event's hours, ",
                Figure("temp_c", celsius(air_k), f"{celsius(air_k):z.0f} °C"),
                ".",
            )
        )
        self.settings.water_as_air = True
        kept = min(max(air_k, limits[0]), limits[1])
        return self.quantity(
            key, "temperature", limits, default=kept, source="the air's (judgement)"
        )

    def entries(self, key: str) -> list[Section]:
        """Return an array of tables as sections."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            raise self.error(
                key, f"{key} is not a list of tables", f"head each one [[{self.name}.{key}]]"
            )
        if len(value) > MOST_ENTRIES:
            mend = f"keep the {MOST_ENTRIES} that matter most"
            raise self.error(key, f"{len(value)} tables [[{self.name}.{key}]] are too many", mend)
        return [
            Section(self.settings, f"{self.name}.{key}.{i}", entry) for i, entry in enumerate(value)
        ]


def option_name(key: str) -> str:
    """Return the command-line option of a key: ``place.latitude`` → ``--latitude``.

    >>> option_name("place.latitude"), option_name("box.wall_depth"), option_name("weather.file")
    ('--latitude', '--wall-depth', '--weather')
    """
    if key in OPTION_NAMES:
        return OPTION_NAMES[key]
    return "--" + key.rpartition(".")[2].replace("_", "-")


class RowSource(str):
    """How a table row is named as a source, and how well its figure is founded."""

    status: str

    def __new__(cls, text: str, status: str = "") -> RowSource:
        """Keep the status of the row beside its name."""
        made = super().__new__(cls, text)
        made.status = status
        return made


def row_source(table: str, item: str, row: TableValue) -> RowSource:
    """Return how a table row is named as a source."""
    return RowSource(f"table {table}: {item} ({row.status})", row.status)


def _in_table(key: str, row: tuple[str, ...]) -> tuple[TableValue, RowSource]:
    """Return a row named by table, item and column, which is the key if left out; its source."""
    table, item, *column = row
    found = load_table(table)[item][column[0] if column else key]
    return found, row_source(table, item, found)


def _with_unit(number: str, dimension: str, usual_unit: str) -> str:
    """Return a bare number as it should have been written."""
    if dimension == "fraction" and re.fullmatch(r"(0|1|0?[.,]\d+)", number.strip()):
        return f"{float(number.replace(',', '.')) * 100:g} %"
    return with_unit(number, dimension, usual_unit)


def _in_unit(si: float, dimension: str, like: object) -> str:
    """Return an SI limit in the unit that the user wrote."""
    kind = DIMENSIONS[dimension]
    unit = written_unit(like) if isinstance(like, str) else ""
    at_0, at_1 = (
        parse_quantity(f"{n} {unit}" if unit else float(n), kind.name, "limit") for n in (0, 1)
    )
    number = (si - at_0) / (at_1 - at_0)
    return f"{plain_number(number)} {unit}".strip()


def _shown(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _unknown(kind: str, name: str, known: Sequence[str], *, where: str) -> InputError:
    mend = did_you_mean(name, known, "known are: " + ", ".join(sorted(set(known))))
    return InputError(f"{kind} '{name}' is not known", where, mend)


def _lay_over(tables: dict[str, Any], key: str, value: object) -> None:
    *parents, last = key.split(".")
    for parent in parents:
        tables = tables.setdefault(parent, {})
        if not isinstance(tables, dict):
            raise InputError(f"{parent} is not a table", f"option {option_name(key)}")
    tables[last] = value


def _take_away(tables: dict[str, Any], key: str) -> None:
    *parents, last = key.split(".")
    for parent in parents:
        inner = tables.get(parent)
        if not isinstance(inner, dict):
            return
        tables = inner
    tables.pop(last, None)
