"""Typical years read from files, as an event reads them."""

from __future__ import annotations

from pathlib import Path

from drybox.inputs.text.file_text import read_file_text
from drybox.inputs.years.layouts import file_kind
from drybox.inputs.years.typical import TypicalYear, parse_typical_year


def read_typical_year(path: str | Path) -> TypicalYear:
    text = read_file_text(path)
    return parse_typical_year(text, file_kind(text), Path(path).name)
