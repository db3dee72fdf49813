from __future__ import annotations

import math
import struct
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pytest

from drybox.reports.pictures.day import day_figure, light_figure, print_figure
from drybox.reports.pictures.fit import plate_days_figure
from drybox.reports.pictures.plots import inline_svg, plot_content, svg_text
from drybox.reports.pictures.season import season_figure
from tests.reports.invented_day import HOSTILE, ZONE, at, setout

SVG = "{http://www.w3.org/2000/svg}"


def figure(name: str = "tower", units: str = "metric"):  # type: ignore[no-untyped-def]
    result = setout(name).result
    return day_figure(
        result["plate"],
        timezone=ZONE,
        units=units,
        shadows=result["blocked"],
        loads=[{"laid_on_at": row["at"], "minutes": row["minutes"]} for row in result["loads"]],
        marks={"set out": result["set_out_at"]},
        limit_c=50.0,
    )


def words(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{SVG}text")]


def test_text_stays_text_and_hours_are_local() -> None:
    said = words(svg_text(figure()))
    assert {"tower", "empty plate", "air", "°C", "10", "set out"} <= {text.strip() for text in said}


def test_us_units_reach_the_axis() -> None:
    assert "°F" in words(svg_text(figure(units="us")))


def test_the_same_figure_gives_the_same_bytes() -> None:
    assert svg_text(figure()) == svg_text(figure())
    assert plot_content(figure(), ".png") == plot_content(figure(), ".PNG")


def test_a_hostile_name_is_drawn_as_plain_text() -> None:
    svg = svg_text(figure(HOSTILE))
    assert "<script" not in svg
    assert any("<script>alert(1)" in text for text in words(svg))


def test_series_differ_without_colour() -> None:
    dashes = {line.get_linestyle() + str(line._dash_pattern) for line in figure().axes[0].lines[:3]}
    assert len(dashes) == 3


def test_a_png_is_wide_enough_to_print() -> None:
    content = plot_content(figure(), ".png")
    assert isinstance(content, bytes)
    assert content.startswith(b"\x89PNG")
    width, _ = struct.unpack(">II", content[16:24])
    assert width >= 800


def test_every_picture_can_be_drawn() -> None:
    time_at = np.arange(at(12), at(14), 60.0)
    wave = 40 + 5 * np.sin(time_at / 900)
    light = light_figure(time_at, {"turned": wave, "one aim": wave / 2}, ZONE)
    run = print_figure(
        time_at,
        {
            "plate_temp_c": wave,
            "sun_plate_print_temp_c": wave,
            "sun_plate_moisture_g_m2": np.where(time_at > at(13), wave, np.nan),
        },
        ZONE,
    )
    cells = [
        {"month": month, "hour": hour, "works_frac": hour / 24, "worth": month == 6}
        for month in range(1, 13)
        for hour in range(6, 20)
    ]
    season = season_figure(cells, 45.0)
    for made in (light, run, season):
        svg = svg_text(made)
        assert words(svg)
        assert "<image" not in svg  # a raster would not follow the page into the dark
    assert "13:00" in words(svg_text(run))


@pytest.mark.parametrize("name", ["a", "b"])
def test_an_inline_picture_keeps_its_identifiers_apart(name: str) -> None:
    svg = inline_svg(figure(), name, 'said "so"')
    ids = [value for element in ET.fromstring(svg).iter() if (value := element.get("id"))]
    assert ids
    assert all(found.startswith(f"{name}-") for found in ids)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("days", [1, 3, 6])
def test_the_plates_of_several_days_have_room_for_their_words(days: int) -> None:
    """Where they had none, the layout would warn, and a warning fails."""
    parts = {"p10": 44.0, "p50": 46.0, "p90": 49.0}
    rows = [
        [
            {"at": at(10) + 604800 * day + 600 * k}
            | {f"plate_temp_{when}_c": parts for when in ("before", "after")}
            for k in range(20)
        ]
        for day in range(days)
    ]
    read = [{"at": day[5]["at"], "measured_c": 45.0, "disagrees": False} for day in rows]
    made = plate_days_figure([{"rows": day} for day in rows], read, ZONE)
    svg_text(made)
    low, high = (axes.get_tightbbox() for axes in (made.axes[-1], made.axes[0]))
    assert low is not None
    assert high is not None
    assert days == 1 or low.y1 <= high.y0 + 1.0


NEVER = dict.fromkeys(("p10", "p50", "p90"), math.inf)


def day(**changed: Any) -> list[str]:
    result = setout().result
    said: dict[str, Any] = {
        "timezone": ZONE,
        "shadows": result["blocked"],
        "loads": [{"laid_on_at": row["at"], "minutes": row["minutes"]} for row in result["loads"]],
        "marks": {"set out": result["set_out_at"]},
    }
    return [
        text.strip() for text in words(svg_text(day_figure(result["plate"], **(said | changed))))
    ]


def test_a_day_is_drawn_without_what_it_lacks() -> None:
    whole = day()
    assert {"set out", "Upper Larkmead"} <= set(whole)
    assert "set out" not in day(marks={"set out": None})
    night = [{"from_at": at(1), "until_at": at(2), "name": "by night", "passed_frac": 0.0}]
    assert "by night" not in day(shadows=night)
    assert len(day(loads=[])) < len(whole)
    never = [{"laid_on_at": at(10), "minutes": NEVER}, {"laid_on_at": at(11), "minutes": NEVER}]
    assert "empty plate" in day(loads=never)


def test_a_print_that_hangs_is_drawn_without_a_plate_over_any_length_of_days() -> None:
    for days in (0.5, 9.0):
        time_at = np.linspace(at(10), at(10) + days * 86400, 500)
        columns = {
            "blotters_print_temp_c": np.full(time_at.shape, 20.0),
            "blotters_moisture_g_m2": np.linspace(200.0, 20.0, 500),
        }
        made = print_figure(time_at, columns, ZONE)
        assert "plate" not in words(svg_text(made))
        assert "print, blotters" in words(svg_text(made))
