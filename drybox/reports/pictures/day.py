"""Pictures of an answer: the plate's day, the aims, one print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from drybox.reports.pictures.plots import FONT_PT, INKS, blank, clock_axis, head, style
from drybox.reports.text.phrases import cut, figure, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def day_figure(
    plate: Sequence[Mapping[str, Any]],
    *,
    timezone: str,
    units: str = "metric",
    shadows: Sequence[Mapping[str, Any]] = (),
    loads: Sequence[Mapping[str, Any]] = (),
    marks: Mapping[str, float | None] | None = None,
    limit_c: float | None = None,
    windows: Sequence[Mapping[str, Any]] = (),
) -> Figure:
    """Return the plate's curve against the day, and below it how long a print takes.

    Rows of the plate hold ``at``, ``plate_temp_c`` and ``air_temp_c``; shadows ``name``,
    ``from_at`` and ``until_at``; loads ``laid_on_at`` and the range ``minutes``; windows, of each
    print planned, ``lane``, ``laid_on_at``, ``p10``, ``p50`` and ``p90``. Marks are moments by what
    they are called; ``limit_c`` is what a wet emulsion bears.
    """
    with style():
        lanes = sorted({str(row["lane"]) for row in windows})
        tall = [3.2, *([1.9] if loads else []), *([0.5 + 0.17 * len(lanes)] if lanes else [])]
        made = blank(sum(tall) + 0.3)
        axes = made.subplots(len(tall), 1, sharex=True, squeeze=False, height_ratios=tall)[:, 0]
        at = [float(row["at"]) for row in plate]
        _curves(axes[0], at, plate, units=units, limit_c=limit_c)
        _shadows(axes[0], shadows)
        _marks(list(axes), marks or {})
        if loads:
            _waits(axes[1], loads)
        if lanes:
            _windows(axes[-1], windows, lanes)
        clock_axis(axes[-1], at[0], at[-1], timezone=timezone)
        return made


def _curves(
    axes: Axes,
    at: list[float],
    plate: Sequence[Mapping[str, Any]],
    *,
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
    head(axes, unit)
    low = min(air_temp)
    axes.set_ylim(low - 3, max(max(plate_temp), low + 20) * 1.12)
    _legend_above(axes)
    axes.grid(axis="y")


def _shadows(axes: Axes, shadows: Sequence[Mapping[str, Any]]) -> None:
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
            cut(str(row["name"]), 24),
            rotation=90,
            ha="center",
            va="bottom",
            fontsize=FONT_PT - 1.5,
            parse_math=False,
            bbox={"facecolor": INKS["paper"], "edgecolor": "none", "pad": 1.0},
        )
    axes.set_xlim(left, right)


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
    head(axes, "min\nto dry")
    axes.grid(axis="y")
    axes.legend(loc="upper left", handlelength=1.6)


def _windows(axes: Axes, windows: Sequence[Mapping[str, Any]], lanes: list[str]) -> None:
    """Draw each print from laying on, thick while it is to be pulled."""
    row = [lanes.index(str(found["lane"])) for found in windows]
    laid, low, likely, high = (
        [float(found[key]) for found in windows] for key in ("laid_on_at", "p10", "p50", "p90")
    )
    axes.hlines(row, laid, low, color=INKS["ink"], linewidth=1.2)
    axes.hlines(row, low, high, color=INKS["band"], linewidth=7)
    axes.plot(likely, row, color=INKS["plate"], marker="|", markersize=9, linestyle="none")
    axes.set_yticks(range(len(lanes)), lanes, fontsize=FONT_PT - 2.5)
    axes.set_ylim(len(lanes) - 0.4, -0.6)


def light_figure(time_at: Any, lines: Mapping[str, Any], timezone: str) -> Figure:
    """Return the light on the plate through the day, one line an aim.

    Each line is light on the plate [W/m²] by what it is called.
    """
    kinds: list[dict[str, Any]] = [
        {"color": INKS["plate"], "linewidth": 2.4},
        {"color": INKS["air"], "linewidth": 1.8, "linestyle": (0, (4, 2))},
        {"color": INKS["ink"], "linewidth": 1.2, "linestyle": (0, (1, 1.5))},
    ]
    with style():
        made = blank(3.4)
        axes = made.subplots()
        for (name, values), kind in zip(lines.items(), kinds, strict=False):
            axes.plot(time_at, values, label=name, **kind)
        axes.set_ylim(bottom=0)
        head(axes, "W/m²\non the\nplate")
        axes.grid(axis="y")
        _legend_above(axes)
        clock_axis(axes, float(time_at[0]), float(time_at[-1]), timezone=timezone)
        return made


def print_figure(
    time_at: Any, columns: Mapping[str, Any], timezone: str, *, units: str = "metric"
) -> Figure:
    """Return one print's run: temperatures above, its water below.

    Columns are the series of `drybox dry`, by their names with units.
    """
    ways = [key.removesuffix("_moisture_g_m2") for key in columns if key.endswith("_moisture_g_m2")]
    inks = [(INKS["plate"], "-"), (INKS["ink"], (0, (4, 2)))]
    with style():
        made = blank(5.0)
        top, below = made.subplots(2, 1, sharex=True, height_ratios=(3, 2))
        if "plate_temp_c" in columns:
            plate = _shown(columns["plate_temp_c"], units)
            top.plot(time_at, plate, color=INKS["air"], linestyle=(0, (1, 1.5)), label="plate")
        for way, (ink, dash) in zip(ways, inks, strict=False):
            said = f"print, {way.replace('_', ' ')}"
            temps = _shown(columns[f"{way}_print_temp_c"], units)
            top.plot(time_at, temps, color=ink, linestyle=dash, label=said)
            water = columns[f"{way}_moisture_g_m2"]
            below.plot(time_at, water, color=ink, linestyle=dash)
        head(top, unit_of("plate_temp_c", units))
        head(below, "g/m²\nwater")
        below.set_ylim(bottom=0)
        for axes in (top, below):
            axes.grid(axis="y")
        _legend_above(top)
        held = np.isfinite(np.vstack([columns[f"{way}_moisture_g_m2"] for way in ways])).any(axis=0)
        begin = max(float(time_at[0]), float(time_at[held.argmax()]) - 900.0)
        clock_axis(below, begin, float(time_at[-1]), timezone=timezone)
        return made


def _shown(temps_c: Any, units: str) -> Any:
    values = np.asarray(temps_c, dtype=float)
    return values * 1.8 + 32.0 if units == "us" else values


def _legend_above(axes: Axes) -> None:
    axes.legend(
        loc="lower center",
        fontsize=FONT_PT - 1.5,
        handlelength=1.7,
        ncols=3,
        columnspacing=0.8,
        handletextpad=0.5,
        bbox_to_anchor=(0.5, 1.0),
        borderpad=0.1,
    )
