"""The season as a picture: months across, hours down, the darker the more often it works."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from drybox.reports.pictures.plots import FONT_PT, INKS, blank, head, style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LETTERS = "JFMAMJJASOND"


def season_figure(rows: Sequence[Mapping[str, Any]], wait_minutes: float) -> Figure:
    """Return the share of laying-ons that work, as numbers on a map of month and hour.

    Rows hold ``month``, ``hour``, ``works_frac`` and ``worth``; a print must be dry within
    ``wait_minutes``. [min]

    A cell that is worth carrying a plate for is framed, so that colour alone says nothing.
    """
    from matplotlib.patches import Rectangle

    hours = sorted({int(row["hour"]) for row in rows})
    first, last = hours[0], hours[-1]
    with style():
        made = blank(1.6 + 0.28 * (last - first + 1))
        axes = made.subplots()
        axes.set_xlim(0.5, 12.5)
        axes.set_ylim(last + 1.0, float(first))
        for row in rows:
            corner = (row["month"] - 0.5, row["hour"])
            share = float(row["works_frac"])
            axes.add_patch(
                Rectangle(corner, 1.0, 1.0, facecolor=INKS["band"], alpha=share, linewidth=0)
            )
            axes.text(
                row["month"],
                row["hour"] + 0.5,
                f"{100 * share:.0f}",
                ha="center",
                va="center",
                fontsize=FONT_PT - 3,
            )
            if row["worth"]:
                inner = (row["month"] - 0.46, row["hour"] + 0.06)
                axes.add_patch(
                    Rectangle(inner, 0.92, 0.88, fill=False, edgecolor=INKS["plate"], linewidth=1.4)
                )
        axes.set_xticks(range(1, 13), list(LETTERS))
        step = 1 if len(hours) <= 14 else 2
        axes.set_yticks(range(first, last + 2, step))
        head(axes, "hour")
        axes.set_xlabel(
            f"of 100 prints on the plate,\ndry within {wait_minutes:.0f} min;\nframed: worth it",
            fontsize=FONT_PT - 1,
        )
        axes.tick_params(length=0)
        for side in axes.spines.values():
            side.set_visible(False)
        return made
