from __future__ import annotations

import base64
import hashlib
import itertools
import json
import math
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from drybox.errors import NoAnswerError
from drybox.planning.one_print.lookups import SKIES
from drybox.reports.sheet.charts import without_styles
from drybox.reports.sheet.day_view import sun_at
from drybox.reports.sheet.drawings import Sun, day_strip, plan_view, plate_face, side_view
from drybox.reports.sheet.page import LARGEST_BYTES, day_picture, render_sheet
from drybox.reports.sheet.pocket import pocket_data
from drybox.reports.text.answer import Answer, Column, Table
from tests.reports.invented_day import (
    HOSTILE,
    ZONE,
    aim,
    at,
    baths,
    lookups,
    plan,
    setout,
    whole_day,
)

ORDER = ["next", "tickets", "pull", "aim", "thermometer", "day", "warnings", "cautions", "sources"]
ORDER += ["to-write", "evening"]
VOID = {"meta", "link", "input", "br"}


class Page(HTMLParser):
    """Checks that tags close in order, and collects what stands in them."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.sections: list[str] = []
        self.ids: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            self.attributes.append((tag, name, value or ""))
            if name == "id":
                self.ids.append(value or "")
                if tag == "section":
                    self.sections.append(value or "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"script", "style"} & set(self.open):
            self.words.append(data)


@pytest.fixture(scope="module")
def text() -> str:
    return render_sheet(whole_day(), title="Early summer fair")


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


def test_the_parts_stand_in_the_order_of_a_day(page: Page) -> None:
    assert page.sections == ORDER


def test_the_sheet_is_small_and_names_nothing_outside(text: str, page: Page) -> None:
    assert len(text.encode()) < LARGEST_BYTES
    assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", text).replace("http-equiv", "")
    named = {value for _, name, value in page.attributes if name in ("src", "href", "srcset")}
    assert all(value.startswith(("#", "data:,")) for value in named)


def test_the_policy_lets_only_our_script_and_style_stand(text: str) -> None:
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'")
    for tag, directive in (("script", "script-src"), ("style", "style-src")):
        (inside,) = re.findall(rf"<{tag}[^>]*>(.*?)</{tag}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{directive} 'sha256-{digest}'" in policy[1]
    assert "unsafe" not in policy[1]
    assert "http" not in policy[1]
    assert not re.search(r"\son\w+=", text)
    assert not re.search(r"<[^>]+\sstyle=", text)


def test_no_identifier_stands_twice(page: Page) -> None:
    assert len(page.ids) == len(set(page.ids))


def test_references_within_pictures_are_found(text: str, page: Page) -> None:
    used = re.findall(r"url\(#([\w-]+)\)", text) + re.findall(r'href="#([\w-]+)"', text)
    assert used
    assert set(used) <= set(page.ids)


def test_pictures_have_names_and_tables_have_captions(text: str) -> None:
    pictures = re.findall(r"<svg\b[^>]*>", text)
    assert len(pictures) == 4 * 3 + 3
    assert all('role="img"' in svg and re.search('aria-label="[^"]+"', svg) for svg in pictures)
    assert text.count("<table") == text.count("<caption>")
    assert not re.search(r"<th(?![^>]*scope)[ >]", text)


def test_colours_of_pictures_follow_the_page(text: str) -> None:
    charts = re.findall(r'<svg class="chart".*?</svg>', text, re.DOTALL)
    assert len(charts) == 2
    for plot in charts:
        assert not re.search(r"#[0-9a-f]{6}\b", plot)
        assert "<text" in plot
        ET.fromstring(plot.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1))


def test_the_next_thing_comes_first(page: Page) -> None:
    words = " ".join(" ".join(page.words).split())
    first = words.index(
        "Set the box out: face 117° by compass (ESE 122° true), tilt 35°, prop 287 mm"
    )
    assert words.index("Now and next") < first < words.index("Aim the box")
    assert "Change the fixer" in words
    assert "13:30" in words


def test_the_same_answers_give_the_same_bytes(text: str) -> None:
    assert render_sheet(whole_day(), title="Early summer fair") == text


def test_hostile_names_stay_text() -> None:
    text = render_sheet(whole_day(HOSTILE), title=HOSTILE)
    page = Page(text)
    assert "<script>alert" not in text
    assert text.count("<script>") == 1
    assert not {name for _, name, _ in page.attributes if name.startswith("on")}
    assert any(HOSTILE.replace("\u202e", " ") in words for words in page.words)
    assert "\u202e" not in text


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        ([setout()], {"next", "warnings", "day", "evening", "cautions", "sources"}),
        ([aim()], {"next", "warnings", "aim", "evening", "cautions", "sources"}),
        ([lookups()], {"warnings", "pull", "thermometer", "cautions", "sources"}),
        (
            [plan()],
            {"next", "warnings", "tickets", "to-write", "evening", "cautions", "sources"},
        ),
        ([baths()], {"warnings", "baths", "cautions", "sources"}),
    ],
)
def test_parts_without_an_answer_are_left_out(answers: list, expected: set[str]) -> None:  # type: ignore[type-arg]
    assert set(Page(render_sheet(answers)).sections) == expected


def test_units_of_the_sheet_are_those_asked_for() -> None:
    words = " ".join(Page(render_sheet(whole_day(), units="us")).words)
    assert "°F" in words
    assert " mm" not in words


def test_a_lookup_cell_says_when_to_pull_and_how_sure(text: str) -> None:
    part = text[text.index('id="pull"') : text.index('id="aim"')]

    def row(laid_on: str) -> str:
        found = re.search(
            rf'<th scope="row"><time[^>]*>{laid_on}</time></th>(.*?)</tr>', part, re.DOTALL
        )
        assert found is not None
        return found[1].replace("\u200b", "")  # where a narrow phone may break a range

    assert row("10:00").startswith("<td><b>10:12</b> <small>10–18</small></td>")
    assert "?</small>" in row("18:00")
    assert row("11:15").count('<span class="hot">▲</span>') == 5


@pytest.mark.parametrize("tilt", [0.0, 5.0, 30.0, 60.0, 90.0])
def test_drawings_stay_within_their_frame(tilt: float) -> None:
    for drawing in (
        *(
            side_view(tilt, "498 mm", 122.0, sun=Sun(height, 20.0))
            for height in (-5.0, 3.0, 40.0, 89.0)
        ),
        *(plan_view(122.0, tilt, Sun(40.0, azimuth)) for azimuth in (0.0, 95.0, 200.0)),
        plate_face(30.0, 7, "1500 mm to 7 o'clock"),
        plate_face(None, None, "no sun"),
        day_strip([{"laid_on_at": at(10), "minutes": {"p50": 12.0}}], ZONE),
    ):
        root = ET.fromstring(drawing)
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        for line in root.iter("line"):
            for name in ("x1", "x2"):
                assert 0.0 <= float(line.attrib[name]) <= width
            for name in ("y1", "y2"):
                assert 0.0 <= float(line.attrib[name]) <= height


def test_the_prop_is_drawn_as_high_as_the_tilt_asks() -> None:
    prop = re.search(
        r'class="prop" x1="[\d.]+" y1="([\d.]+)" x2="[\d.]+" y2="([\d.]+)"', side_view(30.0, "x")
    )
    assert prop is not None
    assert float(prop[1]) - float(prop[2]) == pytest.approx(0.92 * 78 * 0.5, abs=0.1)


def _luminance(colour: str) -> float:
    digits = colour.lstrip("#")
    digits = "".join(2 * sign for sign in digits) if len(digits) == 3 else digits
    parts = [int(digits[n : n + 2], 16) / 255 for n in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_that_of_the_standard() -> None:
    assert contrast("#000", "#fff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", [0, 1, 2], ids=["light", "dark", "paper"])
def test_every_colour_can_be_read_in_the_sun_and_told_apart_in_grey(text: str, scheme: int) -> None:
    root = re.findall(r":root\{(.*?)\}", text, re.DOTALL)[scheme]
    inks = dict(re.findall(r"--(\w+):(#[0-9a-f]+)", root))
    for ink in ("ink", "faint", "plate", "air"):
        assert contrast(inks[ink], inks["paper"]) >= 7.0, ink
    assert contrast(inks["ink"], inks["now"]) >= 7.0
    assert contrast(inks["ink"], inks["metal"]) >= 7.0
    assert contrast(inks["plate"], inks["band"]) >= 3.0
    assert contrast(inks["shade"], inks["paper"]) >= 3.0
    steps = [inks[f"d{step}"] for step in range(6)]
    assert all(contrast(a, b) >= 1.35 for a, b in itertools.pairwise(steps))


def _disc(drawing: str) -> tuple[float, float]:
    found = re.search(r'class="disc" cx="([\d.]+)" cy="([\d.]+)"', drawing)
    assert found is not None
    return float(found[1]), float(found[2])


def test_the_sun_is_drawn_where_it_stands() -> None:
    """Before the box to the right, behind it to the left; from above at its own bearing."""
    before, _ = _disc(side_view(30.0, "x", 180.0, sun=Sun(40.0, 180.0)))
    behind, _ = _disc(side_view(30.0, "x", 180.0, sun=Sun(40.0, 10.0)))
    assert before > 112.0 > behind
    across, down = _disc(plan_view(180.0, 30.0, Sun(40.0, 90.0)))
    assert across > 140.0
    assert down == pytest.approx(90.0, abs=0.1)
    assert "disc" not in side_view(30.0, "x", 180.0, sun=Sun(-2.0, 180.0))
    assert "disc" not in plan_view(180.0, 30.0, Sun(-2.0, 180.0))


@pytest.mark.parametrize("azimuth_deg", range(0, 360, 10))
def test_the_sun_lies_on_no_name_of_an_edge(azimuth_deg: int) -> None:
    """Seen from the middle of the compass a name and the sun's ray keep 35 degrees apart."""
    for bearing_deg in (0.0, 72.0, 180.0, 288.0):
        drawn = plan_view(bearing_deg, 28.0, Sun(40.0, azimuth_deg))
        for name in ("low", "raised"):
            found = re.search(rf'x="([\d.]+)" y="([\d.]+)"[^>]*>{name}<', drawn)
            assert found is not None
            x, y = float(found[1]) - 90.0, 90.0 - (float(found[2]) - 5.0)
            apart = abs((azimuth_deg - math.degrees(math.atan2(x, y)) + 180.0) % 360.0 - 180.0)
            assert apart > 35.0, (bearing_deg, name)


def test_the_sun_is_read_between_quarter_hours() -> None:
    known = lookups()
    seen = sun_at(known, at(13.2))
    assert seen is not None
    assert seen.elevation_deg == pytest.approx(66.0, abs=0.1)
    assert seen.azimuth_deg == pytest.approx(180.0, abs=0.1)
    assert sun_at(known, at(3.0)) is None


def test_the_first_screen_says_what_is_to_be_known_at_once(page: Page) -> None:
    words = " ".join(" ".join(page.words).split())
    first = words[words.index("Now and next") : words.index("Tickets and promises")]
    for said in (
        "Last sitter for a dry print 17:00 : ticket 29, promised for 18:15",
        "No sun on the box 16:00–17:00 : behind the Upper Larkmead: hang new prints on the line",
        "Sun on the sitter 17:00–18:00",
        "Break 13:00–13:30",
        "Last print on the plate 18:00",
        "Metal today up to 63 °C : burns in 10 s; gloves or tongs, children off",
        "Gusts over 11 m/s : lay the box flat or close it",
    ):
        assert said in first


def test_without_sun_the_sheet_names_the_way_the_plan_takes() -> None:
    """As ``drybox day`` does: the powered plate, the line, or none."""
    for way, said in (
        ("warm_plate", "dry new prints by the powered warm plate, or wait with them until 17:00"),
        ("line_sun", "hang new prints on the line, or wait with them until 17:00"),
        (None, "keep new prints wet until 17:00"),
    ):
        there = plan("the houses")
        there.result["off_plate_way"] = way
        words = " ".join(" ".join(Page(render_sheet([setout("the houses"), there])).words).split())
        assert f"behind the houses: {said}" in words
        assert "the the" not in words
        spent = setout("the houses")
        spent.result["last_load_at"] = at(15.75)
        words = " ".join(" ".join(Page(render_sheet([spent, there])).words).split())
        assert "wait with them" not in words, "no print laid on at 17:00 dries any more"
        assert "wet until" not in words


def test_places_on_the_powered_plate_are_told_apart_in_the_picture_of_the_day() -> None:
    there = plan()
    for number, row in enumerate(there.result["sitters"][:4]):
        row |= {"way": "warm_plate", "slot": 1 + number % 2}
    drawn = render_sheet([setout(), there])
    assert set(re.findall(r">(w\.[^<]*)</text>", drawn)) == {"w. plate 1", "w. plate 2"}


def test_a_box_that_lies_level_all_day_is_sighted_by_no_peg() -> None:
    level = aim()
    rows = [row for row in level.tables[0].rows if row["tilt_deg"] < 2.0]
    flat = replace(level, tables=[replace(level.tables[0], rows=rows)])
    words = " ".join(Page(render_sheet([flat, setout()])).words)
    assert "Never look at the sun." in words
    assert "lies in the ring" not in words
    assert "lies in the ring" in " ".join(Page(render_sheet([level, setout()])).words)


def test_cool_metal_and_a_flat_box_need_no_word_on_the_first_screen() -> None:
    calm = setout()
    calm.result["metal_temp_c"] = 40.0
    calm.result["wind"] = calm.result["wind"] | {"tilt_deg": 5.0}
    words = " ".join(Page(render_sheet([calm, plan()])).words)
    assert "Metal today" not in words
    assert "Gusts over" not in words


def test_the_page_to_write_on_has_blanks_and_a_strip(text: str) -> None:
    part = text[text.index('id="to-write"') : text.index('id="evening"')]
    assert part.count('<td class="blank"></td>') == 4 * 32
    assert part.count("No. <b>") == 32
    assert "promised <b>11:15 dry</b>" in part


def test_the_evening_page_says_what_to_charge() -> None:
    with_battery = plan()
    with_battery.inputs.append({"key": "powered.battery", "value": 500.0, "unit": "Wh"})
    with_battery.inputs.append({"key": "powered.plate_power", "value": 150.0, "unit": "W"})
    words = " ".join(Page(render_sheet([with_battery, baths()])).words)
    assert "500 Wh, full, enough for 200 min of 150 W" in words
    assert words.index("Mix") < words.index("Charge") < words.index("Pack")


def test_pictures_without_styles_hold_no_style() -> None:
    drawn = (
        '<svg viewBox="0 0 1 1"><defs><style type="text/css">*{a: b}</style></defs>'
        '<text style="font: 12px sans-serif; text-anchor: middle"/></svg>'
    )
    found = without_styles(drawn)
    assert "style" not in found
    assert 'font-size="12px" font-family="sans-serif" text-anchor="middle"' in found


def test_a_box_that_is_left_alone_has_one_aim_and_no_peg_picture() -> None:
    known = aim()
    turn = known.result["turns"][1]
    known.result.update(turn, from_at=turn["at"], raised_edge="north")
    alone = replace(known, tables=[])
    text = render_sheet([alone, lookups()])
    assert text.count('class="sketch"') == 2
    assert "under the north edge" in text


def test_a_day_of_sixty_tickets_stays_small() -> None:
    text = render_sheet([plan(sitters=60), setout(), aim(), lookups(), baths()])
    assert len(text.encode()) < LARGEST_BYTES


@pytest.mark.parametrize(
    "name", [HOSTILE, '"onload="alert(1)', "</section><script>", "&quot;'`{{x}}"]
)
def test_names_reach_the_pocket_as_data_only(name: str) -> None:
    text = render_sheet([plan(name), lookups(name)], title=name)
    (held,) = [v for _, key, v in Page(text).attributes if key == "data-pocket"]
    data = json.loads(held)
    assert held.isascii()
    assert data["tickets"][1]["name"] == name.replace("\u202e", " ")
    assert text.count("<script>") == 1
    assert not re.search(r"<[^>]*\son\w+=", text.replace("&#34;", ""))


def test_the_pocket_knows_the_lookups_as_they_are() -> None:
    data = json.loads(pocket_data(plan(), lookups(), units="metric"))
    skies = lookups().result["skies"]
    assert [sky["name"] for sky in data["skies"]] == [sky["sky"] for sky in skies]
    assert [sky["word"] for sky in data["skies"]][1:] == list(SKIES)
    for sky, told in zip(data["skies"], skies, strict=True):
        for ends, load in zip(sky["minutes"], told["loads"], strict=True):
            known = [load["minutes"][p] for p in ("p10", "p50", "p90")]
            assert ends == [round(m, 2) if math.isfinite(m) else None for m in known]
    assert data["tickets"][0]["minutes"] == [12.0, 18.0, 24.0]
    assert (
        data["tickets"][0]["flat"] == 15.0
    )  # what the plan says, of one that it does not see ready
    assert data["rules"] == [[at(10), at(18), 75.0, "dry"]]


def test_the_sheet_of_a_day_loads_no_plotting_library() -> None:
    code = (
        "import sys; from drybox.reports.sheet.page import render_sheet;"
        "from tests.reports.invented_day import whole_day; render_sheet(whole_day());"
        "sys.exit('matplotlib' in sys.modules)"
    )
    root = Path(__file__).resolve().parents[3]
    assert subprocess.run([sys.executable, "-c", code], cwd=root, check=False).returncode == 0


NEVER = dict.fromkeys(("p10", "p50", "p90"), math.inf)


def test_a_sheet_leaves_out_what_has_no_time_or_no_rows() -> None:
    whole = setout()
    part = replace(whole, result=whole.result | {"last_load_at": None, "sunset_at": None})
    for answer, there in ((whole, True), (part, False)):
        page = render_sheet([answer])
        assert ("Last print that is worth laying on" in page) == there
        assert ("Sunset" in page) == there
    tried = Table("What one more would bring", (Column("change", "What if"),), [{"more": "none"}])
    idle = replace(plan(), tables=[tried])
    assert "What one more would bring" in render_sheet([plan()])
    assert "What one more would bring" not in render_sheet([idle])


def test_a_tour_on_a_sheet_has_its_table_and_no_picture() -> None:
    columns = (Column("name", "Fair"),)
    table = Table("Fair by fair", columns, [{"name": "Sallow End"}])
    tour = Answer("season", {"stops": []}, ["Two fairs."], tables=[table])
    page = render_sheet([tour])
    assert "Sallow End" in page
    assert 'id="season-' not in page


def test_a_picture_of_a_day_without_daylight_is_refused() -> None:
    with pytest.raises(NoAnswerError, match="nothing to draw"):
        day_picture({"plan": plan()}, "metric")


def test_a_strip_of_hours_in_which_nothing_dries_says_so() -> None:
    loads = lookups().result["skies"][0]["loads"]
    assert "soonest laid on at" in day_strip(loads, ZONE)
    never = [load | {"minutes": NEVER} for load in loads]
    assert "hardly a print dries" in day_strip(never, ZONE)
