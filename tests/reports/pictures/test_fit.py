"""Pictures of a fit with what is rare in them."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

from drybox.reports.pictures.fit import drying_figure, ranges_figure
from drybox.reports.pictures.plots import svg_text


def texts(made: Any) -> list[str]:
    root = ET.fromstring(svg_text(made))
    return [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]


def test_a_reading_that_disagrees_is_marked_and_a_short_name_stays_on_one_line() -> None:
    reading = {"measured_minutes": 20.0, "before_minutes": 25.0, "after_minutes": 21.0}
    for odd in (True, False):
        said = texts(drying_figure([reading | {"disagrees": odd}]))
        assert ("disagrees" in said) == odd
    parts = {"p10": 0.8, "p50": 1.0, "p90": 1.3}
    rows = [{"name": name, "unit": "1", "before": parts, "after": parts} for name in
            ("paint", "falling-rate resistance factor")]  # fmt: skip
    said = texts(ranges_figure(rows))
    assert "paint" in said
    assert "falling-rate resistance factor" not in said  # too long for one line
