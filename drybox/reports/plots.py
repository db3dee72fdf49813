"""Pictures of an answer: drawn once, for the sheet, for a file, in light or dark.

Every series differs by dash, marker or hatching as well as by colour, so that the pictures
hold in grey and for the colour-blind; text stays text. Colours are names of `INKS`, which the
sheet replaces by its own so that dark mode reaches into the pictures.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from drybox.reports.phrases import figure, printable, unit_of

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
    "hatch.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
}


def day_figure(
    plate: Sequence[Mapping[str, Any]],
    *,
    timezone: str,
    units: str = "metric",
    shadows: Sequence[Mapping[str, Any]] = (),
    loads: Sequence[Mapping[str, Any]] = (),
    marks: Mapping[str, float | None] | None = None,
    limit_c: float | None = None,
) -> Figure:
    """Return the plate's curve against the day, and below it how long a print takes.

    Parameters
    ----------
    plate : sequence of mapping
        ``at``, ``plate_temp_c`` and ``air_temp_c``.
    timezone, units : str
        For the labels.
    shadows : sequence of mapping
        ``name``, ``from_at`` and ``until_at`` of what stands before the sun.
    loads : sequence of mapping
        ``laid_on_at`` and the range ``minutes``.
    marks : mapping of str to float
        Moments to mark by a line, by what they are called.
    limit_c : float, optional
        What a wet emulsion bears.
    """
    with _style():
        tall = (3.2, 1.9) if loads else (3.2,)
        made = _figure(sum(tall) + 0.3)
        axes = made.subplots(len(tall), 1, sharex=True, squeeze=False, height_ratios=tall)[:, 0]
        at = [float(row["at"]) for row in plate]
        _curves(axes[0], at, plate, units, limit_c)
        _shadows(axes[0], shadows, timezone)
        _marks(list(axes), marks or {})
        if loads:
            _waits(axes[1], loads)
        _clock_axis(axes[-1], at[0], at[-1], timezone)
        return made


def _curves(
    axes: Axes,
    at: list[float],
    plate: Sequence[Mapping[str, Any]],
    units: str,
    limit_c: float | None,
) -> None:
    def shown(key: str) -> list[float]:
        return [float(figure(key, row[key], units, digits=1)) for row in plate]

    plate_temp, air_temp = shown("plate_temp_c"), shown("air_temp_c")
    unit = unit_of("plate_temp_c", units)
    axes.plot(at, plate_temp, color=INKS["plate"], linewidth=2.2, label="empty plate")
    axes.plot(at, air_temp, color=INKS["air"], linewidth=1.8, linestyle=(0, (4, 2)), label="air")
    if limit_c is not None:
        limit = float(figure("plate_temp_c", limit_c, units, digits=1))
        axes.axhline(
            limit, color=INKS["ink"], linewidth=1, linestyle=(0, (1, 2)), label="wet print's limit"
        )
    axes.set_ylabel(unit, rotation=0, ha="right", va="top", y=1.0)
    low = min(air_temp)
    axes.set_ylim(low - 3, max(max(plate_temp), low + 20) * 1.12)
    axes.legend(
        loc="lower center",
        frameon=False,
        fontsize=FONT_PT - 1,
        handlelength=2.2,
        ncols=3,
        columnspacing=1.0,
        bbox_to_anchor=(0.5, 1.0),
        borderpad=0.1,
    )
    axes.grid(axis="y", color=INKS["hair"], linewidth=0.6)


def _shadows(axes: Axes, shadows: Sequence[Mapping[str, Any]], timezone: str) -> None:
    left, right = axes.get_xlim()
    for row in shadows:
        start, end = max(float(row["from_at"]), left), min(float(row["until_at"]), right)
        if end <= start:
            continue
        axes.axvspan(
            start, end, facecolor="none", edgecolor=INKS["shade"], hatch="////", linewidth=0
        )
        axes.text(
            (start + end) / 2,
            axes.get_ylim()[0] + 0.03 * (axes.get_ylim()[1] - axes.get_ylim()[0]),
            _short(str(row["name"]), 24),
            rotation=90,
            ha="center",
            va="bottom",
            fontsize=FONT_PT - 1.5,
            parse_math=False,
            bbox={"facecolor": INKS["paper"], "edgecolor": "none", "pad": 1.0},
        )
    axes.set_xlim(left, right)


def _short(text: str, most: int) -> str:
    words = " ".join(printable(text).split())
    return words if len(words) <= most else words[: most - 1] + "…"


def _marks(axes: Sequence[Axes], marks: Mapping[str, float | None]) -> None:
    for name, moment in marks.items():
        if moment is None:
            continue
        for each in axes:
            each.axvline(moment, color=INKS["ink"], linewidth=1.0, linestyle=(0, (6, 2, 1, 2)))
        top = axes[0].get_ylim()[1]
        axes[0].text(
            moment, top, f" {name}", ha="left", va="top", fontsize=FONT_PT - 1.5, rotation=90
        )


def _waits(axes: Axes, loads: Sequence[Mapping[str, Any]]) -> None:
    known = [row for row in loads if row["minutes"]["p50"] < float("inf")]
    if not known:
        return
    at = [float(row["laid_on_at"]) for row in known]
    low, likely = ([row["minutes"][p] for row in known] for p in ("p10", "p50"))
    most = 2.0 * max(likely)
    high = [min(row["minutes"]["p90"], most) for row in known]
    axes.fill_between(
        at,
        low,
        high,
        facecolor=INKS["band"],
        edgecolor=INKS["plate"],
        linewidth=0.5,
        label="8 in 10",
    )
    axes.plot(
        at, likely, color=INKS["plate"], linewidth=2, marker="o", markersize=3, label="likely"
    )
    axes.set_ylim(bottom=0)
    axes.set_ylabel("min\nto dry", rotation=0, ha="right", va="top", y=1.0)
    axes.grid(axis="y", color=INKS["hair"], linewidth=0.6)
    axes.legend(loc="upper left", frameon=False, fontsize=FONT_PT - 1, handlelength=1.6)


def _clock_axis(axes: Axes, start_s: float, end_s: float, timezone: str) -> None:
    """Label full local hours, as many as have room."""
    zone = ZoneInfo(timezone)
    hours = [
        moment
        for moment in range(int(start_s // 900) * 900, int(end_s) + 1, 900)
        if moment >= start_s and datetime.fromtimestamp(moment, zone).minute == 0
    ]
    every = -(-len(hours) // 8)
    ticks = [h for h in hours if datetime.fromtimestamp(h, zone).hour % max(every, 1) == 0]
    axes.set_xticks(ticks, [str(datetime.fromtimestamp(h, zone).hour) for h in ticks])
    axes.set_xlabel("o'clock")
    axes.set_xlim(start_s, end_s)


def thermometer_figure(pairs: Sequence[Mapping[str, Any]], units: str = "metric") -> Figure:
    """Return minutes to dry over the plate's reading, one line for each dampness of the air.

    Parameters
    ----------
    pairs : sequence of mapping
        ``humidity_frac``, ``plate_temp_c`` and the range ``minutes``.
    units : str
        Of the readings.
    """
    with _style():
        made = _figure(3.4)
        axes = made.subplots()
        damp = sorted({row["humidity_frac"] for row in pairs})
        shown = [damp[0], damp[len(damp) // 2], damp[-1]]
        dashes: list[Any] = ["-", (0, (5, 2)), (0, (1, 1.5))]
        for share, dash, marker in zip(shown, dashes, "os^", strict=True):
            rows = [r for r in pairs if r["humidity_frac"] == share]
            rows = [r for r in rows if r["minutes"]["p50"] < float("inf")]
            at = [float(figure("plate_temp_c", r["plate_temp_c"], units, 1)) for r in rows]
            axes.plot(
                at,
                [r["minutes"]["p50"] for r in rows],
                color=INKS["plate"] if share == shown[0] else INKS["ink"],
                linestyle=dash,
                marker=marker,
                markersize=4,
                label=f"{100 * share:.0f} % damp",
            )
        axes.set_ylim(0, 90)
        axes.set_ylabel("min\nto dry", rotation=0, ha="right", va="top", y=1.0)
        axes.set_xlabel(f"the plate reads, {unit_of('plate_temp_c', units)}")
        axes.grid(color=INKS["hair"], linewidth=0.6)
        axes.legend(frameon=False, fontsize=FONT_PT - 1, handlelength=3)
        return made


@contextmanager
def _style() -> Iterator[None]:
    """Draw in our style, and let a name hold signs that the font lacks."""
    import matplotlib

    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def _figure(height_in: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH_IN, height_in), layout="constrained")


def svg_text(made: Figure, title: str = "") -> str:
    """Return a figure as SVG, the same bytes for the same figure."""
    stream = io.StringIO()
    with _style():
        made.savefig(stream, format="svg", metadata={"Date": None, "Creator": None, "Title": title})
    return stream.getvalue()


def png_bytes(made: Figure) -> bytes:
    """Return a figure as PNG, 200 dots an inch."""
    stream = io.BytesIO()
    with _style():
        made.savefig(stream, format="png", dpi=200, metadata={"Software": None})
    return stream.getvalue()


_WASTE = re.compile(r"<metadata>.*?</metadata>\s*|<!--.*?-->\s*|<title>.*?</title>\s*", re.DOTALL)


def inline_svg(made: Figure, name: str, label: str) -> str:
    """Return a figure as SVG to stand inside a page.

    Parameters
    ----------
    made : Figure
        The figure.
    name : str
        Prefix of every id in it, so that two pictures of a page do not meet.
    label : str
        What a screen reader says of it.
    """
    from html import escape

    text = _WASTE.sub("", svg_text(made))
    text = text[text.index("<svg") :]
    used = set(re.findall(r'(?:url\(#|href="#)([\w-]+)', text))
    text = re.sub(r' id="([\w-]+)"', lambda m: f' id="{name}-{m[1]}"' if m[1] in used else "", text)
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
