"""A process and a wash as told: shipped, changed, of one's own, and what cannot be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drybox.errors import InputError
from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import load_event
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.process import Process, find_bath, read_process
from drybox.inputs.wet.wash import Diffusion, WashSetup, read_wash
from drybox.tables import load_table
from tests.running import event_file


def settings(tmp_path: Path, text: str) -> Settings:
    return Settings.read(event_file(tmp_path, text), {})


def process(tmp_path: Path, text: str) -> Process:
    return read_process(settings(tmp_path, text))


def wash(read: Settings, **over: Any) -> WashSetup:
    sheet: dict[str, Any] = {
        "sheet_area_m2": 0.0129,
        "dry_mass_kg_m2": 0.255,
        "resin_coated": False,
        "fixing_s": 60.0,
    }
    return read_wash(read, **(sheet | over))


TWO_SHEETS = '[process]\nname = "paper negative and copy"\n'


def total_min(made: Process) -> float:
    return sum(stage.duration_s + stage.drain_s for stage in made.stages) / 60


@pytest.mark.parametrize(
    ("name", "sheets", "low", "high"),
    [
        ("direct positive", ("print",), 4, 7),
        ("paper negative and copy", ("negative", "copy"), 5, 15),
        ("bleach reversal", ("print",), 8, 18),
    ],
)
def test_shipped_processes_take_the_wet_time_the_trade_reports(
    name: str, sheets: tuple[str, ...], low: float, high: float
) -> None:
    made = read_process(Settings(None, {"process.name": name}))
    assert made.sheets == sheets
    assert low <= total_min(made) <= high


def test_every_figure_of_a_shipped_process_is_recorded_with_its_status() -> None:
    read = Settings(None, {})
    read_process(read)
    found = {item.key: item for item in read.resolved}
    assert found["process.stage.developer.duration"].value == pytest.approx(2.0)
    assert found["process.stage.developer.duration"].unit == "min"
    assert "(memory)" in found["process.stage.developer.duration"].source
    assert "(published)" in found["process.bath.fixer.capacity"].source
    assert found["process.name"].source.startswith("default")


def test_reversal_is_done_in_open_trays_and_keeps_its_bleach_apart() -> None:
    made = read_process(Settings(None, {"process.name": "bleach_reversal"}))
    assert {stage.vessel for stage in made.stages if stage.bath} == {"open tray"}
    assert find_bath(made, "bleach").hazardous
    assert made.enters_dry("first developer")
    assert not made.enters_dry("second developer")


def test_a_negative_may_be_copied_wet_or_dried_first(tmp_path: Path) -> None:
    wet, dry = (process(tmp_path, TWO_SHEETS + more) for more in ("", "copied_wet = false\n"))
    assert "negative dry" not in [stage.name for stage in wet.stages]
    drying = next(stage for stage in dry.stages if stage.name == "negative dry")
    assert not drying.attended
    assert drying.shares_vessel
    assert drying.bath is None
    assert wet.resin_coated_sheets == {"negative"}
    assert wet.passes("developer") == ("negative", "copy")


def test_any_figure_can_be_overridden_and_says_so(tmp_path: Path) -> None:
    text = """
[process]
temperature = "25 °C"
top_up = false
spoilt = "0 %"
[[process.stage]]
name = "fixer"
duration = "5 min"
attended = false
shares_vessel = true
vessel = "open tray"
[[process.bath]]
name = "fixer"
kind = "alkaline fixer"
volume = "1 L"
life = "3 d"
"""
    read = settings(tmp_path, text)
    made = read_process(read)
    fixer = next(stage for stage in made.stages if stage.name == "fixer")
    assert (fixer.duration_s, fixer.attended, fixer.shares_vessel) == (300.0, False, True)
    bath = find_bath(made, "fixer")
    assert bath.volume_m3 == pytest.approx(1e-3)
    assert bath.capacity_m2_m3 == pytest.approx(1290.32)
    assert bath.life_s == 3 * 86400
    assert made.temp_k == pytest.approx(298.15)
    assert not made.top_up
    sources = {item.key: item.source for item in read.resolved}
    assert sources["process.stage.0.duration"] == "file fair.toml, line 8"
    assert made.fixing_s == 300.0


def test_a_process_of_ones_own_is_written_stage_by_stage(tmp_path: Path) -> None:
    text = """
[process]
name = "monobath"
[[process.stage]]
name = "monobath"
bath = "monobath"
duration = "6 min"
volume = "300 ml"
[[process.stage]]
name = "look"
duration = "1 min"
vessel = "none"
[[process.bath]]
name = "monobath"
capacity = "0.8 m2/l"
silver_bearing = true
"""
    made = process(tmp_path, text)
    assert made.name == "monobath"
    assert [stage.bath for stage in made.stages] == ["monobath", None]
    bath = find_bath(made, "monobath")
    assert bath.capacity_m2_m3 == pytest.approx(800.0)
    assert bath.volume_m3 == pytest.approx(300e-6)
    assert bath.silver_bearing


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[process]\nname = "wet plat"\n', "process 'wet plat' is not known"),
        ("[process]\nspeed = 3\n", "key 'speed' is not known"),
        ('[process]\ntemperature = "80 °C"\n', "is outside"),
        ("[process]\nspare = 20\n", "no unit|is outside|more than"),
        ('[[process.stage]]\nname = "fix"\n', "stage 'fix' is not in the process direct positive"),
        ('[[process.stage]]\nduration = "2 min"\n', "name is missing"),
        ('[[process.stage]]\nname = "fixer"\nduration = "2"\n', "no unit"),
        ('[[process.stage]]\nname = "fixer"\nduration = "-2 min"\n', "outside"),
        ('[[process.stage]]\nname = "fixer"\nattended = "yes"\n', "neither true nor false"),
        ('[[process.stage]]\nname = "fixer"\nvessel = "bucket"\n', "vessel 'bucket' is not known"),
        ('[[process.stage]]\nname = "fixer"\nvessel = "none"\n', "both a bath and a vessel"),
        ('[[process.bath]]\nname = "tea"\n', "bath 'tea' is used by no stage"),
        ('[[process.bath]]\nname = "fixer"\nkind = "fixr"\n', "did you mean 'fixer'"),
        ('[process]\nname = "own"\n[[process.stage]]\nname = "x"\n', "no duration"),
        ("[process]\nstage = 4\n", "not a list of tables"),
        ("process = 4\n", "process is not a table"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line_with_its_place(
    tmp_path: Path, text: str, said: str
) -> None:
    with pytest.raises(InputError, match=said) as caught:
        process(tmp_path, text)
    assert "\n" not in str(caught.value)
    assert "fair.toml" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            'target = "museum"',
            "target 'museum' is not known; choose one of: everyday, film limit, keeping",
        ),
        ("target = 3", "not a text"),
        ('target = "0.03"', "no unit"),
        ('target = "-1 g/m2"', "outside"),
        ('fixing = "medium"', "write short or long"),
        ("prints = 0", "whole number"),
        ("prints = true", "whole number"),
        ('water = "0 l"', "outside"),
        ('water_temperature = "60 °C"', "outside"),
        ('longest_soak = "1 min"\nshortest_soak = "2 min"', "shorter than"),
        ("sope = 1", "key 'sope' is not known"),
    ],
)
def test_a_wash_that_cannot_be_is_refused(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        wash(settings(tmp_path, f"[process.wash]\n{text}\n"))
    assert "fair.toml, line" in str(caught.value)


def test_the_fixers_time_decides_how_hard_the_wash_will_be() -> None:
    assert wash(Settings(None, {}), fixing_s=60.0).fixing == "short"
    assert wash(Settings(None, {}), fixing_s=300.0).fixing == "long"
    told = Settings(None, {"process.wash.fixing": "short"})
    assert wash(told, fixing_s=300.0).fixing == "short"


def test_targets_are_named_by_purpose_and_own_ones_are_taken() -> None:
    keeping = wash(Settings(None, {"process.wash.target": "keeping"})).target
    assert keeping.residual_kg_m2 == pytest.approx(0.015e-3)
    assert "no published limit for paper" in keeping.source
    own = wash(Settings(None, {"process.wash.target": "0.03 g/m2"})).target
    assert own.residual_kg_m2 == pytest.approx(0.03e-3)


def test_paper_targets_from_memory_say_so_and_the_published_limit_is_for_film() -> None:
    rows = {item: row["residual"] for item, row in load_table("wash_targets").items()}
    assert rows["film_limit"].status == "published"
    assert "film" in rows["film_limit"].source
    assert {rows[item].status for item in ("keeping", "everyday")} == {"memory"}


def stage(name: str, more: str) -> str:
    return f'[[process.stage]]\nname = "{name}"\n{more}\n'


@pytest.mark.parametrize(
    ("text", "coated"),
    [
        ("", {"negative"}),
        (stage("copy fixer", 'sheet = "copy"\nresin_coated = true'), {"negative", "copy"}),
        (stage("negative fixer", 'sheet = "negative"\nresin_coated = false'), set()),
    ],
)
def test_a_stage_says_whether_its_sheet_is_resin_coated(
    tmp_path: Path, text: str, coated: set[str]
) -> None:
    assert process(tmp_path, TWO_SHEETS + text).resin_coated_sheets == coated


def test_resin_coated_needs_to_know_of_which_sheet(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="resin_coated needs its sheet"):
        process(tmp_path, TWO_SHEETS + stage("copy fixer", "resin_coated = true"))
    one = process(tmp_path, stage("fixer", "resin_coated = true"))
    assert one.resin_coated_sheets == set(one.sheets)


def test_a_wash_that_is_no_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="wash is not a table"):
        wash(settings(tmp_path, "[process]\nwash = 3\n"))


def test_a_time_constant_of_ones_own_stands_before_and_after_the_wash_aid(tmp_path: Path) -> None:
    own = wash(settings(tmp_path, '[process.wash]\ntime_constant = "90 s"\n'))
    usual = wash(Settings(None, {}))
    assert own.free == Diffusion(90.0, 90.0)
    assert usual.bound.before_aid_s > usual.bound.after_aid_s


def test_prints_washed_together_are_as_the_wash_says_or_as_is_usual() -> None:
    place = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
    usual, own = (
        read_day_inputs(load_event(None, place | more)).wash.prints
        for more in ({}, {"process.wash.prints": 7})
    )
    assert own == 7
    assert usual > 1
