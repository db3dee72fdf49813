"""An answer as text: what matters most first, then tables, warnings and what it stands on."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Any

from rich.box import Box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from drybox.reports.answer import Answer, Column, Table
from drybox.reports.phrases import figure, local_day, printable, suffix_of, unit_of

NARROWEST = 20
WIDEST_PROSE = 84
LONG_CELL = 24
_BLANK = "    \n"
_RULE = Box(_BLANK * 2 + " ── \n" + _BLANK * 5)
_ASCII_RULE = Box(_BLANK * 2 + " -- \n" + _BLANK * 5, ascii=True)


def render_text(
    answer: Answer,
    units: str = "metric",
    width: int = 80,
    color: bool = False,
    encoding: str = "utf-8",
) -> str:
    """Return the answer laid out for people.

    Parameters
    ----------
    answer : Answer
        What to say.
    units : str
        ``"metric"`` or ``"us"``.
    width : int
        Columns of the terminal; at least 20 are used.
    color : bool
        Whether to write colour codes.
    encoding : str
        What the terminal can take; without UTF-8, rules and signs are written in ASCII.

    Returns
    -------
    str
        Text ending in a line feed.
    """
    page = _Page(max(NARROWEST, width), color, encoding)
    for number, sentence in enumerate(answer.lead):
        page.paragraph(sentence, style="bold" if number == 0 else "")
    for table in answer.tables:
        page.table(table, units, answer.timezone)
    page.points("Warning", answer.warnings, "bold yellow")
    page.points("Take care", answer.cautions, "bold")
    page.points("What this stands on", answer.assumptions, "bold")
    return page.text()


class _Page:
    def __init__(self, width: int, color: bool, encoding: str) -> None:
        self.encoding = encoding
        self.ascii = printable("─", encoding) != "─"
        self.stream = io.StringIO()
        self.width = width
        self.console = Console(
            file=self.stream,
            width=width,
            color_system="standard" if color else None,
            force_terminal=color,
            no_color=not color,
            legacy_windows=False,
            markup=False,
            highlight=False,
            emoji=False,
        )

    def text(self) -> str:
        lines = [line.rstrip() for line in self.stream.getvalue().splitlines()]
        return "\n".join(lines).strip("\n") + "\n"

    def plain(self, text: str) -> str:
        return printable(text, self.encoding)

    def paragraph(self, text: str, style: str = "", indent: int = 0) -> None:
        body = Text(self.plain(text), style=style)
        narrow = min(self.width, WIDEST_PROSE)
        self.console.print(Padding(body, (0, 0, 0, indent)), width=narrow)

    def points(self, title: str, sentences: list[str], style: str) -> None:
        if not sentences:
            return
        self.console.print()
        self.paragraph(title, style)
        for sentence in sentences:
            self.paragraph(sentence, indent=2)

    def table(self, table: Table, units: str, timezone: str) -> None:
        self.console.print()
        if table.title:
            self.paragraph(table.title, "bold")
        if not table.rows:
            self.paragraph("nothing to list", indent=2)
            return
        headings = [self.plain(_heading(c.heading, c.key, units)) for c in table.columns]
        days = _days(table, timezone)
        rows = [
            [
                self.plain(_cell(row.get(column.key), column, units, timezone, days))
                for column in table.columns
            ]
            for row in table.rows
        ]
        wordy = [any(isinstance(row.get(c.key), str) for row in table.rows) for c in table.columns]
        long = [
            number
            for number, is_words in enumerate(wordy)
            if number and is_words and max(len(cells[number]) for cells in rows) > LONG_CELL
        ]
        whole = self._grid(headings, rows, wordy, wrapped=long)
        bare = self._grid(headings, rows, wordy, left_out=long)
        if self._fits(whole):
            self.console.print(whole)
        elif self._fits(bare):
            self.console.print(bare)
            for cells in rows:
                self.paragraph(f"{cells[0]}: {'; '.join(cells[n] for n in long)}", indent=2)
        else:
            self._stacked(headings, rows)

    def _fits(self, grid: Grid) -> bool:
        unbound = self.console.options.update(width=10_000)
        return self.console.measure(grid, options=unbound).minimum <= self.width

    def _grid(
        self,
        headings: list[str],
        rows: list[list[str]],
        wordy: list[bool],
        wrapped: Sequence[int] = (),
        left_out: Sequence[int] = (),
    ) -> Grid:
        rule = _ASCII_RULE if self.ascii else _RULE
        grid = Grid(
            box=rule, show_edge=False, pad_edge=False, header_style="", padding=(0, 1, 0, 0)
        )
        kept = [number for number in range(len(headings)) if number not in left_out]
        for number in kept:
            wraps = number in wrapped
            grid.add_column(
                Text(headings[number]),
                justify="left" if wordy[number] else "right",
                no_wrap=not wraps,
                min_width=LONG_CELL if wraps else None,
            )
        for cells in rows:
            grid.add_row(*(Text(cells[number]) for number in kept))
        return grid

    def _stacked(self, headings: list[str], rows: list[list[str]]) -> None:
        for number, cells in enumerate(rows):
            if number:
                self.console.print()
            for heading, cell in zip(headings, cells, strict=True):
                self.paragraph(f"{heading}: {cell}")


def _heading(heading: str, key: str, units: str) -> str:
    unit = unit_of(key, units)
    return f"{heading}, {unit}" if unit and heading else heading or unit


def _days(table: Table, timezone: str) -> list[str]:
    moments = [
        float(row[column.key])
        for column in table.columns
        if suffix_of(column.key) == "at"
        for row in table.rows
        if isinstance(row.get(column.key), int | float) and math.isfinite(row[column.key])
    ]
    return sorted({local_day(moment, timezone) for moment in moments})


def _cell(value: Any, column: Column, units: str, timezone: str, days: list[str]) -> str:
    text = figure(column.key, value, units, column.digits, timezone)
    moment = suffix_of(column.key) == "at" and isinstance(value, int | float)
    if moment and len(days) > 1 and math.isfinite(value):
        day = local_day(float(value), timezone)
        return text if day == days[0] else f"{day[5:]} {text}"
    return text
