"""What a topic of `drybox explain` is made of."""

from __future__ import annotations

import re
from dataclasses import dataclass

from drybox.tables import load_table

FIGURE = re.compile(r"\[\[([^/\]]+)/([^/\]]+)/([^/\]!]+)(!?)\]\]")
SHOWN = {
    "degC": "°C",
    "g/m2": "g/m²",
    "W/m2K": "W/m²K",
    "J/kgK": "J/kg K",
    "m2sPa/kg": "m² s Pa/kg",
    "m2/l": "m²/L",
}
STATUS = {
    "published": "published",
    "memory": "from memory",
    "practice": "common practice",
    "judgement": "judgement",
}


@dataclass(frozen=True)
class Topic:
    """Title, paragraphs, equations as (what, equation), sources, and what is left out.

    ``second`` heads what stands beside each ``what``: an equation, or what to type.
    ``[[table/item/property]]`` stands for that row of a shipped table with its unit; with ``!``
    before the brackets close, its status is said too.
    """

    title: str
    words: tuple[str, ...]
    equations: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    left_out: tuple[str, ...]
    second: str = "in an equation"


def filled(text: str) -> str:
    """Return a text with its table rows put in.

    >>> filled("above [[limits/wet_emulsion/careful!]]")
    'above 45 °C (judgement)'
    """

    def figure(found: re.Match[str]) -> str:
        table, item, key, with_status = found.groups()
        row = load_table(table)[item][key]
        number, unit = row.printed, "" if row.unit == "1" else row.unit
        if unit == "frac":
            number, unit = f"{float(number) * 100:g}", "%"
        said = f"{number} {SHOWN.get(unit, unit)}".strip()
        return f"{said} ({STATUS[row.status]})" if with_status else said

    return FIGURE.sub(figure, text)
