"""The first table of an answer as CSV, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from typing import Any

from drybox.reports.files.json_record import plain_value
from drybox.reports.text.answer import Answer, is_range
from drybox.reports.text.phrases import printable

FORMULA_STARTS = (*"=+-@|", *"＝＋－＠｜")
"""What a spreadsheet takes for the begin of a formula, in full width too."""

PERCENTILES = ("p10", "p50", "p90")


def safe_cell(value: Any) -> Any:
    """Return a cell that no spreadsheet takes for a formula: such text gets an apostrophe.

    >>> safe_cell("=1+1"), safe_cell("@home"), safe_cell(-3.5), safe_cell(None), safe_cell("Ann")
    ("'=1+1", "'@home", -3.5, '', 'Ann')
    >>> safe_cell("|calc"), safe_cell("＝1+1"), safe_cell("Ann" + chr(0x202E) + "moc.exe")
    ("'|calc", "'＝1+1", 'Ann moc.exe')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str):
        return value
    plain = printable(value)
    return "'" + plain if plain.lstrip().startswith(FORMULA_STARTS) else plain


def _cells(key: str, value: Any, timezone: str) -> dict[str, Any]:
    plain = plain_value(key, value, timezone)
    if is_range(value):
        return {f"{key}_{name}": plain[name] for name in PERCENTILES}
    if isinstance(plain, list | Mapping):
        items: Iterable[Any] = plain.values() if isinstance(plain, Mapping) else plain
        plain = "; ".join(str(item) for item in items)
    return {key: plain}


def render_csv(answer: Answer) -> str:
    """Return the first table: metric, headed by its keys, a range as three columns."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    if not answer.tables:
        writer.writerow(["answer"])
        writer.writerows([safe_cell(sentence)] for sentence in answer.lead)
        return text.getvalue()
    table = answer.tables[0]
    names: list[str] = []
    for column in table.columns:
        ranged = any(is_range(row.get(column.key)) for row in table.rows)
        names += [f"{column.key}_{p}" for p in PERCENTILES] if ranged else [column.key]
    writer.writerow(names)
    for row in table.rows:
        cells: dict[str, Any] = {}
        for column in table.columns:
            cells |= _cells(column.key, row.get(column.key), answer.timezone)
        writer.writerow([safe_cell(cells.get(name)) for name in names])
    return text.getvalue()
