"""A fit in pictures: ranges before and after, plate and drying times measured and modelled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from drybox.reports.pictures.plots import FONT_PT, INKS, blank, clock_axis, head, style
from drybox.reports.text.phrases import figure, local_day, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_DAYS = 6
"""Days drawn, the last ones; the file of `--series` has them all."""

TICKS_MIN = (1, 2, 3, 5, 10, 15, 20, 25, 30, 45, 60, 90, 120, 180, 240, 360, 480, 720, 1440)
"""Round minutes; of those within the picture six at most are written, evenly. [min]"""

BEFORE: dict[str, Any] = {"color": INKS["air"], "linewidth": 1.6, "linestyle": (0, (4, 2))}
AFTER: dict[str, Any] = {"color": INKS["plate"], "linewidth": 2.2}
READ: dict[bool, dict[str, Any]] = {
    False: {"color": INKS["ink"], "linestyle": "none", "marker": "o", "markersize": 5},
    True: {"color": INKS["ink"], "linestyle": "none", "marker": "X", "markersize": 8},
}
"""How a reading is drawn, by whether it disagrees."""


def ranges_figure(rows: Sequence[Mapping[str, Any]]) -> Figure:
    """Return each quantity's range after the fit against that before.

    Rows hold ``name`` and the ranges ``before`` and ``after``.

    Each range before is drawn as wide as the next: from its P10 to its P90, its middle half way.
    """
    with style():
        made = blank(1.2 + 0.42 * len(rows))
        axes = made.subplots()
        for number, row in enumerate(rows):
            low, middle, high = (_placed(row["after"][p], row["before"]) for p in _ENDS)
            axes.hlines(number + 0.16, -1, 1, **BEFORE)
            axes.hlines(number - 0.12, low, high, color=INKS["band"], linewidth=8)
            axes.hlines(number - 0.12, low, high, color=INKS["plate"], linewidth=1.2)
            axes.plot(middle, number - 0.12, color=INKS["plate"], marker="o", markersize=5)
        axes.plot([], [], label="before", **BEFORE)
        axes.plot([], [], label="after", marker="o", markersize=5, **AFTER)
        axes.set_yticks(range(len(rows)), [_two_lines(str(row["name"])) for row in rows])
        axes.tick_params(axis="y", length=0, labelsize=FONT_PT - 1.5, pad=20)  # phones set wider
        for label in axes.get_yticklabels():
            label.set_multialignment("right")
        axes.set_ylim(len(rows) - 0.5, -0.6)
        axes.set_xticks([-1, 0, 1], ["P10", "middle", "P90"])
        axes.set_xlabel("of the range before")
        axes.grid(axis="x")
        made.legend(loc="outside upper right", ncols=2)
        return made


_ENDS = ("p10", "p50", "p90")


def _placed(value: float, before: Mapping[str, float]) -> float:
    """Return where a value lies in a range: -1 at its P10, 0 in its middle, 1 at its P90."""
    low, middle, high = (before[p] for p in _ENDS)
    side = high - middle if value > middle else middle - low
    return (value - middle) / side if side > 0 else 0.0


def _two_lines(name: str) -> str:
    words, half = name.split(), len(name) / 2
    if len(name) < 16:
        return name
    first: list[str] = []
    while len(" ".join(first)) < half - 2:
        first.append(words.pop(0))
    return "\n".join([" ".join(first), " ".join(words)]).strip()


def plate_days_figure(
    days: Sequence[Mapping[str, Any]],
    readings: Sequence[Mapping[str, Any]],
    timezone: str,
    *,
    units: str = "metric",
) -> Figure:
    """Return the plate of each day as modelled before and after, and as read.

    Rows of a day hold ``at`` and the ranges ``plate_temp_before_c`` and ``plate_temp_after_c``;
    readings ``at``, ``measured_c`` and ``disagrees``.
    """
    shown = list(days)[-MOST_DAYS:]
    with style():
        made = blank(0.5 + 2.0 * len(shown))
        every = made.subplots(len(shown), 1, squeeze=False)[:, 0]
        for axes, day in zip(every, shown, strict=True):
            _plate_day(axes, day["rows"], readings, timezone=timezone, units=units)
        head(every[0], unit_of("x_c", units))
        for axes in every[:-1]:
            axes.set_xlabel("")
        lines, names = every[0].get_legend_handles_labels()
        made.legend(
            lines,
            names,
            loc="outside upper right",
            ncols=3,
            handlelength=1.7,
        )
        return made


def _plate_day(
    axes: Axes,
    rows: Sequence[Mapping[str, Any]],
    readings: Sequence[Mapping[str, Any]],
    *,
    timezone: str,
    units: str,
) -> None:
    def line(when: str, part: str) -> list[float]:
        key = f"plate_temp_{when}_c"
        return [float(figure(key, row[key][part], units, digits=1)) for row in rows]

    at = [float(row["at"]) for row in rows]
    begin, end = at[0], at[-1]
    for part in ("p10", "p90"):
        axes.plot(at, line("before", part), color=INKS["air"], linewidth=0.8)
    axes.fill_between(
        at, line("after", "p10"), line("after", "p90"), facecolor=INKS["band"], linewidth=0
    )
    axes.plot(at, line("before", "p50"), label="before", **BEFORE)
    axes.plot(at, line("after", "p50"), label="after", **AFTER)
    for odd, look in READ.items():
        there = [r for r in readings if begin <= r["at"] <= end and bool(r["disagrees"]) is odd]
        axes.plot(
            [r["at"] for r in there],
            [float(figure("x_c", r["measured_c"], units, digits=1)) for r in there],
            clip_on=False,
            label="_odd" if odd else "read",
            **look,
        )
    axes.grid(axis="y")
    axes.set_title(local_day(begin, timezone), fontsize=FONT_PT, loc="left")
    clock_axis(axes, begin, end, timezone=timezone)
    for drawn in axes.lines:
        drawn.set_in_layout(False)  # a line without points has no place, and undoes the layout


def drying_figure(readings: Sequence[Mapping[str, Any]]) -> Figure:
    """Return drying times modelled, before and after, over those measured.

    Readings hold ``measured_minutes``, ``before_minutes``, ``after_minutes`` and ``disagrees``.
    """
    with style():
        made = blank(3.6)
        axes = made.subplots()
        measured = [float(row["measured_minutes"]) for row in readings]
        kinds = (("before", "^", "none", INKS["air"]), ("after", "o", INKS["plate"], INKS["plate"]))
        least, most = float("inf"), 0.0
        for when, marker, face, edge in kinds:
            modelled = [float(row[f"{when}_minutes"]) for row in readings]
            least, most = min(least, *measured, *modelled), max(most, *measured, *modelled)
            axes.plot(
                measured,
                modelled,
                marker=marker,
                markerfacecolor=face,
                markeredgecolor=edge,
                markersize=6,
                linestyle="none",
                label=when,
            )
        odd = [row for row in readings if row["disagrees"]]
        if odd:
            axes.plot(
                [row["measured_minutes"] for row in odd],
                [row["after_minutes"] for row in odd],
                color=INKS["ink"],
                marker="x",
                markersize=11,
                linestyle="none",
                label="disagrees",
            )
        ends = (least / 1.1, 1.1 * most)
        axes.plot(ends, ends, color=INKS["ink"], linewidth=1, linestyle=(0, (1, 2)))
        ticks = [tick for tick in TICKS_MIN if ends[0] <= tick <= ends[1]]
        ticks = ticks[:: 1 + len(ticks) // 7]
        for axis, scale in ((axes.xaxis, axes.set_xscale), (axes.yaxis, axes.set_yscale)):
            scale("log")
            axis.set_ticks(ticks, [str(tick) for tick in ticks])
            axis.set_ticks([], minor=True)
        axes.set_xlim(ends)
        axes.set_ylim(ends)
        axes.set_xlabel("measured, min")
        head(axes, "modelled,\nmin")
        axes.grid(True)
        axes.legend(loc="upper left", handletextpad=0.3)
        return made


def weighed_figure(readings: Sequence[Mapping[str, Any]], units: str = "metric") -> Figure:
    """Return the mass of prints over the minutes since they were laid on.

    Readings hold ``at``, ``laid_on_at``, ``measured_mass_g``, ``before_mass_g``, ``after_mass_g``
    and ``disagrees``.
    """
    with style():
        made = blank(3.0)
        axes = made.subplots()
        runs = sorted({float(row["laid_on_at"]) for row in readings})
        for number, laid_at in enumerate(runs):
            run = sorted(
                (row for row in readings if row["laid_on_at"] == laid_at), key=lambda r: r["at"]
            )
            minutes = [(float(row["at"]) - laid_at) / 60 for row in run]
            for when, look in (("before", BEFORE), ("after", AFTER)):
                axes.plot(minutes, _masses(run, when, units), label=_once(when, number), **look)
            for odd, look in READ.items():
                axes.plot(
                    [at for at, row in zip(minutes, run, strict=True) if row["disagrees"] is odd],
                    _masses([row for row in run if row["disagrees"] is odd], "measured", units),
                    label="_odd" if odd else _once("weighed", number),
                    **look,
                )
        axes.set_xlabel("minutes since laid on")
        head(axes, unit_of("x_mass_g", units))
        axes.grid(True)
        axes.legend(loc="upper right")
        return made


def _once(label: str, number: int) -> str:
    return f"_{label}" if number else label


def _masses(rows: Sequence[Mapping[str, Any]], when: str, units: str) -> list[float]:
    return [float(figure("x_mass_g", row[f"{when}_mass_g"], units, digits=2)) for row in rows]
