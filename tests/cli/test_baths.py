from __future__ import annotations

import pytest

from tests.running import DEMO, golden, record, refused, said

KEYS = {
    "bath",
    "volume_ml",
    "sheets_capacity",
    "sheets_used",
    "change_after_sheet",
    "strength_frac",
    "limit",
}


def test_the_record_has_the_keys_promised() -> None:
    result = record("baths", DEMO, "--sittings", "30", "--used", "fixer=12")["result"]
    for bath in result["baths"]:
        assert set(bath) >= KEYS
        assert bath["limit"] in ("area", "dilution", "level", "life", "none")
    fixer = next(bath for bath in result["baths"] if bath["bath"] == "fixer")
    assert (fixer["sheets_capacity"], fixer["sheets_used"]) == (32, 12)
    for supply in (*result["bring"], *result["take_home"]):
        assert set(supply) == {"what", "amount", "unit"}
    assert any("silver-bearing" in supply["what"] for supply in result["take_home"])


def test_sittings_are_the_event_s_or_come_from_the_pace_told() -> None:
    slow = record("baths", DEMO, "--pace", "2 /h")
    values = {item["key"]: item for item in slow["inputs"]}
    assert values["sittings"]["value"] == 16
    assert values["sittings"]["source"] == "pace and hours"


def test_baths_and_plan_pack_the_same_list() -> None:
    baths = record("baths", DEMO)["result"]
    more = ("--members", "200", "--no-what-if", "--plate-slots", "0", "--line-slots", "0")
    planned = record("plan", DEMO, *more)["result"]
    for supply in baths["bring"]:
        assert supply in planned["bring"]
    assert baths["take_home"] == planned["take_home"]


def test_the_wash_water_of_the_day_is_brought_and_its_first_part_goes_home() -> None:
    few, many = (record("baths", "--sittings", n)["result"] for n in ("4", "40"))
    for part in ("bring", "take_home"):
        less, more = (
            sum(s["amount"] for s in result[part] if "wash" in s["what"]) for result in (few, many)
        )
        assert 0 < less < more


def test_the_text_says_first_which_tank_goes() -> None:
    out = said("baths", "--sittings", "40")
    assert out.startswith("The fixer goes first: it takes 32 sheets more")
    assert "Top the developer up with about" in out
    assert "sheets left" in out
    assert "Carry all used fixer" in out
    assert said("baths", "--sittings", "4").startswith("Every tank lasts the day of 5 sheets")


@pytest.mark.parametrize("name", ["direct positive", "paper negative and copy", "bleach reversal"])
def test_every_shipped_process_is_planned(name: str) -> None:
    result = record("baths", "--process", name)["result"]
    assert result["stages"]
    assert all(stage["minutes"] > 0 for stage in result["stages"])


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--used", "fixer"], "write it like fixer=12"),
        (["--used", "fixer=99999999999"], "is not a bath and a count; write it like fixer=12 (op"),
        (["--used", "tea=3"], "has no bath 'tea'"),
        (["--used", "fixer=12", "--used", "Fixer=13"], "used 'Fixer' is given twice; keep one"),
        (["--series", "x.csv"], "baths have no time series"),
        (["--process", "wet plate"], "'wet plate' is not one of"),
        (["--temperature", "99 °C"], "is outside"),
        (["--sittings", "-3"], "whole number"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(args: list[str], said: str) -> None:
    assert said in refused("baths", *args)


@pytest.mark.parametrize("args", [(DEMO,), ("--sittings", "10")], ids=["event", "bare"])
def test_what_the_wash_stands_on_is_listed_once(args: tuple[str, ...]) -> None:
    keys = [row["key"] for row in record("baths", *args)["inputs"]]
    assert keys.count("process.wash.load") == keys.count("process.wash.water_temperature") == 1


def test_regression_the_demo_reads_as_before() -> None:
    golden("baths_demo", said("baths", DEMO))
