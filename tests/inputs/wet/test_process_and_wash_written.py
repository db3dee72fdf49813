"""What a process or a wash of one's own says of its sheet and its water."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybox.errors import InputError
from drybox.inputs.event.day import read_day_inputs
from drybox.inputs.event.event import load_event
from drybox.inputs.text.settings import Settings
from drybox.inputs.wet.process import read_process
from drybox.inputs.wet.wash import Diffusion, WashSetup, read_wash
from tests.running import event_file

TWO_SHEETS = '[process]\nname = "paper negative and copy"\n'


def settings(tmp_path: Path, text: str) -> Settings:
    return Settings.read(event_file(tmp_path, text), {})


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
    assert read_process(settings(tmp_path, TWO_SHEETS + text)).resin_coated_sheets == coated


def test_resin_coated_needs_to_know_of_which_sheet(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="resin_coated needs its sheet"):
        read_process(settings(tmp_path, TWO_SHEETS + stage("copy fixer", "resin_coated = true")))
    one = read_process(settings(tmp_path, stage("fixer", "resin_coated = true")))
    assert one.resin_coated_sheets == set(one.sheets)


def wash(tmp_path: Path, text: str) -> WashSetup:
    read = settings(tmp_path, text)
    return read_wash(
        read, sheet_area_m2=0.0129, dry_mass_kg_m2=0.255, resin_coated=False, fixing_s=60.0
    )


def test_a_wash_that_is_no_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="wash is not a table"):
        wash(tmp_path, "[process]\nwash = 3\n")


def test_a_time_constant_of_ones_own_stands_before_and_after_the_wash_aid(tmp_path: Path) -> None:
    own = wash(tmp_path, '[process.wash]\ntime_constant = "90 s"\n')
    usual = wash(tmp_path, "")
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
