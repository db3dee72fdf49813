"""How pictures are drawn: once, for the sheet and for a file, in light, dark and grey.

Every series differs by dash, marker or hatching as well as by colour, so that the pictures
hold in grey and for the colour-blind; text stays text. Colours are names of `INKS`, which the
sheet replaces by its own so that dark mode reaches into the pictures.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INKS = {
    "ink": "#111110",
    "faint": "#595958",
    "hair": "#c9c9c8",
    "paper": "#fffffe",
    "plate": "#8c2a00",
    "air": "#00528c",
    "band": "#e9c9a8",
    "shade": "#8f8f8e",
}
"""Colour names and what each is on white; a sheet may set them otherwise."""

WIDTH_IN, FONT_PT = 4.2, 12.0
MOST_TICKS = 6
_STYLE: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "drybox",
    "font.family": "sans-serif",
    "font.size": FONT_PT,
    "axes.edgecolor": INKS["ink"],
    "axes.labelcolor": INKS["ink"],
    "axes.facecolor": INKS["paper"],
    "figure.facecolor": INKS["paper"],
    "text.color": INKS["ink"],
    "xtick.color": INKS["ink"],
    "ytick.color": INKS["ink"],
    "grid.color": INKS["hair"],
    "grid.linewidth": 0.6,
    "hatch.linewidth": 0.7,
    "legend.fontsize": FONT_PT - 1,
    "legend.frameon": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
}


def head(axes: Axes, words: str) -> None:
    """Write what the heights are, upright beside the top."""
    axes.set_ylabel(words, rotation=0, ha="right", va="top", y=1.0)


def clock_axis(axes: Axes, start_at: float, end_at: float, *, timezone: str) -> None:
    """Label local clock times, as close as they have room."""
    zone = ZoneInfo(timezone)
    for step in (5, 15, 30, 60, 120, 180, 360):
        first = -(-int(start_at) // 300) * 300
        ticks = [
            moment
            for moment in range(first, int(end_at) + 1, 300)
            if _minute_of_day(moment, zone) % step == 0
        ]
        if len(ticks) <= MOST_TICKS:
            break
    labels = [f"{_minute_of_day(t, zone) // 60}:{_minute_of_day(t, zone) % 60:02}" for t in ticks]
    if step >= 60:
        labels = [label.removesuffix(":00") for label in labels]
    axes.set_xticks(ticks, labels)
    axes.set_xlabel("o'clock")
    axes.set_xlim(start_at, end_at)


def _minute_of_day(moment_at: int, zone: ZoneInfo) -> int:
    local = datetime.fromtimestamp(moment_at, zone)
    return local.hour * 60 + local.minute


@contextmanager
def style() -> Iterator[None]:
    """Draw in our style, and let a name hold signs that the font lacks."""
    import matplotlib

    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def blank(height_in: float) -> Figure:
    """Return an empty figure as wide as a phone."""
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH_IN, height_in), layout="constrained")


def svg_text(made: Figure) -> str:
    """Return a figure as SVG, the same bytes for the same figure."""
    stream = io.StringIO()
    with style():
        made.savefig(stream, format="svg", metadata={"Date": None, "Creator": None, "Title": ""})
    return stream.getvalue()


def png_bytes(made: Figure) -> bytes:
    """Return a figure as PNG, 200 dots an inch."""
    stream = io.BytesIO()
    with style():
        made.savefig(stream, format="png", dpi=200, metadata={"Software": None})
    return stream.getvalue()


def plot_content(made: Figure, ending: str) -> str | bytes:
    """Return a figure as the content of a file ending in ``.svg`` or ``.png``."""
    return svg_text(made) if ending.lower() == ".svg" else png_bytes(made)


_WASTE = re.compile(r"<metadata>.*?</metadata>\s*|<!--.*?-->\s*|<title>.*?</title>\s*", re.DOTALL)


def inline_svg(made: Figure, name: str, label: str) -> str:
    """Return a figure as SVG to stand inside a page.

    ``name`` begins every id in it, so that two pictures of a page do not meet; ``label`` is what a
    screen reader says of it.
    """
    from html import escape

    text = _WASTE.sub("", svg_text(made))
    text = text[text.index("<svg") :]
    used = set(re.findall(r'(?:url\(#|href="#)([\w-]+)', text))
    text = re.sub(r' id="([^"]*)"', lambda m: f' id="{name}-{m[1]}"' if m[1] in used else "", text)
    text = re.sub(r"url\(#", f"url(#{name}-", text)
    text = re.sub(r'href="#', f'href="#{name}-', text)
    for ink, value in INKS.items():
        text = text.replace(value, f"var(--{ink})")
    text = re.sub(r"'DejaVu Sans'[^;\"]*sans-serif", "sans-serif", text)
    text = re.sub(r"(\d+\.\d\d)\d+", r"\1", text)
    head = re.match(r"<svg[^>]*>", text)
    assert head is not None
    box = re.search(r'viewBox="[^"]*"', head[0])
    assert box is not None
    opening = f'<svg class="plot" {box[0]} role="img" aria-label="{escape(label)}">'
    return opening + text[head.end() :].replace("xlink:href", "href").strip()
