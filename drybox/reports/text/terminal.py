"""An answer as text: what matters most first, then tables, warnings and what it stands on."""

from __future__ import annotations

import io
import math
from typing import Any, Literal

from rich.cells import cell_len, chop_cells

from drybox.reports.text.answer import Answer, Column, Table
from drybox.reports.text.phrases import figure, heading_of, listed, local_day, printable, suffix_of

NARROWEST = 20
WIDEST_PROSE = 84
LONG_CELL = 25
NARROWEST_CELL = 16
GAP, NARROW_GAP = 2, 1
DAY_S = 86400.0
STANDS_ON = "What this stands on"
SHORT_POINTS = 2
_BLANK = "    \n"
_RULED = _BLANK * 2 + " {0}{0} \n" + _BLANK * 5
_STYLES = {"bold": "\033[1m", "bold yellow": "\033[1;33m"}
_PLAIN = "\033[0m"


def render_text(
    answer: Answer,
    units: str = "metric",
    width: int = 80,
    *,
    color: bool = False,
    encoding: str = "utf-8",
    why: bool = True,
) -> str:
    """Return the answer laid out for people.

    At least 20 columns are used; for an ``encoding`` without UTF-8, rules and signs are ASCII.
    ``why`` gives the whole, every table and all that the answer stands on; else two lines of that.
    """
    page = _Page(max(NARROWEST, width), color, encoding)
    for number, sentence in enumerate(answer.lead):
        page.paragraph(sentence, style="bold" if number == 0 else "")
    kept_back = [table for table in answer.tables if table.on_request and not why]
    for table in answer.tables:
        if table not in kept_back:
            page.table(table, units, answer.timezone)
    page.points("Warning", answer.warnings, "bold yellow")
    page.points("Take care", answer.cautions, "bold")
    if why:
        page.points(STANDS_ON, answer.assumptions, "bold")
    else:
        page.first_points(answer.assumptions, more=bool(kept_back))
    return page.text()


class _Page:
    def __init__(self, width: int, color: bool, encoding: str) -> None:
        self.width, self.color, self.encoding = width, color, encoding
        self.ascii = self.plain("─") != "─"
        self.lines: list[str] = []

    def text(self) -> str:
        return "\n".join(line.rstrip() for line in self.lines).strip("\n") + "\n"

    def plain(self, text: str) -> str:
        return printable(text, self.encoding)

    def paragraph(self, text: str, style: str = "", indent: int = 0) -> None:
        room = min(self.width, WIDEST_PROSE) - indent
        for line in wrapped(self.plain(text), room):
            styled = f"{_STYLES[style]}{line}{_PLAIN}" if self.color and style else line
            self.lines.append(" " * indent + styled)

    def points(self, title: str, sentences: list[str], style: str) -> None:
        if not sentences:
            return
        self.lines.append("")
        self.paragraph(title, style)
        for sentence in sentences:
            self.paragraph(sentence, indent=2)

    def first_points(self, sentences: list[str], *, more: bool) -> None:
        """Write the first of what an answer stands on, a line each; and how to ask for all."""
        if not sentences and not more:
            return
        room = min(self.width, WIDEST_PROSE) - 2
        first = [self.plain(sentence) for sentence in sentences[:SHORT_POINTS]]
        lines = [shortened(sentence, room, self.plain("…")) for sentence in first]
        if more or len(sentences) > SHORT_POINTS or lines != first:
            lines.append("All of it, in full: add --why.")
        self.points(STANDS_ON, lines, "bold")

    def table(self, table: Table, units: str, timezone: str) -> None:
        self.lines.append("")
        if table.title:
            self.paragraph(table.title, "bold")
        if not table.rows:
            self.paragraph("nothing to list", indent=2)
            return
        columns = [c for c in table.columns if any(row.get(c.key) != "" for row in table.rows)]
        headings = [self.plain(heading_of(c, units)) for c in columns]
        days = _days(table, timezone)
        rows = [
            [
                self.plain(_cell(row.get(column.key), column, units, timezone=timezone, days=days))
                for column in columns
            ]
            for row in table.rows
        ]
        wordy = [any(isinstance(row.get(c.key), str) for row in table.rows) for c in columns]
        long = [
            number
            for number, is_words in enumerate(wordy)
            if number and is_words and max(len(cells[number]) for cells in rows) > LONG_CELL
        ]
        natural = [
            max(cell_len(text) for text in (heading, *(cells[number] for cells in rows)))
            for number, heading in enumerate(headings)
        ]
        kept = list(range(len(headings)))
        gap, widths = GAP, self._widths(natural, kept, long)
        if widths is None and len(long) == 1:
            kept = [number for number in kept if number not in long]
            widths = self._widths(natural, kept, [])
        if widths is None and not any(number in long for number in kept):
            gap, widths = NARROW_GAP, self._widths(natural, kept, [], gap=NARROW_GAP)
        if widths is None:
            self._stacked(headings, rows)
            return
        self._grid(
            [headings[number] for number in kept],
            [[cells[number] for number in kept] for cells in rows],
            wordy=[wordy[number] for number in kept],
            widths=widths,
            gap=gap,
        )
        if len(kept) < len(headings):
            said: dict[str, list[str]] = {}
            for cells in rows:
                said.setdefault("; ".join(filter(None, (cells[n] for n in long))), []).append(
                    cells[0]
                )
            for text, names in said.items():
                if text:
                    self.paragraph(f"{listed(names)}: {text}", indent=2)

    def _grid(
        self,
        headings: list[str],
        rows: list[list[str]],
        *,
        wordy: list[bool],
        widths: list[int],
        gap: int,
    ) -> None:
        from rich.box import Box
        from rich.console import Console
        from rich.table import Table as Grid
        from rich.text import Text

        grid = Grid(
            box=Box(_RULED.format("-" if self.ascii else "─"), ascii=self.ascii),
            show_edge=False,
            pad_edge=False,
            header_style="",
            padding=(0, gap - 1, 0, 0),
        )
        for heading, is_words, width in zip(headings, wordy, widths, strict=True):
            side: Literal["left", "right"] = "left" if is_words else "right"
            grid.add_column(Text(heading), justify=side, width=width, overflow="fold")
        for cells in rows:
            grid.add_row(*(Text(cell) for cell in cells))
        stream = io.StringIO()
        Console(file=stream, width=self.width, color_system=None, legacy_windows=False).print(grid)
        self.lines += stream.getvalue().splitlines()

    def _widths(
        self, natural: list[int], kept: list[int], long: list[int], *, gap: int = GAP
    ) -> list[int] | None:
        """Return each column's width, the long ones sharing what is left, or None if too few."""
        widths = {number: natural[number] for number in kept}
        room = self.width - gap * (len(kept) - 1)
        room -= sum(natural[number] for number in kept if number not in long)
        for left, number in enumerate(sorted(long, key=lambda n: natural[n])):
            widths[number] = min(natural[number], room // (len(long) - left))
            room -= widths[number]
            if widths[number] < min(natural[number], NARROWEST_CELL):
                return None
        return list(widths.values()) if room >= 0 else None

    def _stacked(self, headings: list[str], rows: list[list[str]]) -> None:
        for number, cells in enumerate(rows):
            if number:
                self.lines.append("")
            for heading, cell in zip(headings, cells, strict=True):
                if cell:
                    self.paragraph(f"{heading}: {cell}")


def wrapped(text: str, room: int) -> list[str]:
    """Return text in lines of so many columns, parted between words; a longer word is cut.

    >>> wrapped("The sun is up all day.", 10)
    ['The sun is', 'up all', 'day.']
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if cell_len(longer) <= room:
            lines[-1] = longer
        else:
            lines += chop_cells(word, room)
    return [line for line in lines if line]


def shortened(text: str, room: int, mark: str = "…") -> str:
    """Return text that fits into so many columns, its end left out between words.

    >>> shortened("The sun is up all day.", 40), shortened("The sun is up all day.", 15)
    ('The sun is up all day.', 'The sun is up…')
    """
    if cell_len(text) <= room:
        return text
    kept = text
    while " " in kept and cell_len(kept + mark) > room:
        kept = kept.rpartition(" ")[0]
    return kept.rstrip(",;:") + mark


def _days(table: Table, timezone: str) -> list[str]:
    moments = [
        float(row[column.key])
        for column in table.columns
        if suffix_of(column.key) == "at"
        for row in table.rows
        if isinstance(row.get(column.key), int | float) and math.isfinite(row[column.key])
    ]
    if not moments or max(moments) - min(moments) < DAY_S:  # no clock time comes twice
        return []
    return sorted({local_day(moment, timezone) for moment in moments})


def _cell(value: Any, column: Column, units: str, *, timezone: str, days: list[str]) -> str:
    text = figure(column.key, value, units, digits=column.digits, timezone=timezone)
    moment = suffix_of(column.key) == "at" and isinstance(value, int | float)
    if moment and len(days) > 1 and math.isfinite(value):
        day = local_day(float(value), timezone)
        return text if day == days[0] else f"{day[5:]} {text}"
    return text
