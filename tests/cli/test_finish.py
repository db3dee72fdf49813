from __future__ import annotations

import re
from typing import Any

import pytest

from tests.running import DEMO, golden, plain, record, refused, said, table

ASKED = (DEMO, "--at", "13:40")
LINE = (*ASKED, "--dried", "line")


def ways(*args: str) -> dict[str, dict[str, Any]]:
    return {way["way"]: way for way in record("finish", *args)["result"]["ways"]}


def enclosed(*args: str) -> dict[str, dict[str, Any]]:
    return {one["in"]: one for one in record("finish", *args)["result"]["enclose"]}


def test_the_record_has_the_keys_promised() -> None:
    result = record("finish", *ASKED)["result"]
    assert {"ways", "choice", "enclose"} <= set(result)
    assert set(result["choice"]) == {"way", "why"}
    for way in result["ways"]:
        assert {"way", "minutes", "flat_at", "curl_mm", "feasible", "why"} <= set(way)
        assert way["feasible"] is (way["why"] == "")
        for part in ("minutes", "flat_at", "curl_mm", "curl_now_mm"):
            assert set(way[part]) == {"p10", "p50", "p90"}
            assert way[part]["p10"] <= way[part]["p50"] <= way[part]["p90"]
    assert all(set(one) == {"in", "from_at", "most_damp_frac", "why"} for one in result["enclose"])


def test_regression_what_a_print_off_the_plate_is_told() -> None:
    golden("finish", said("finish", *ASKED, "--pulled", "50%"))


def test_regression_what_damp_prints_off_the_line_are_told() -> None:
    golden(
        "finish_damp", said("finish", *LINE, "--prints", "10", "--boards", "2", "--pulled", "75%")
    )


def test_edges_below_zero_are_said_to_bow_outward() -> None:
    damp = ("--humidity", "78 %", "--air-temp", "31C", "--sky", "clear", "--date", "2027-06-12")
    text = plain("finish", "--latitude", "4", "--longitude", "103", *damp, "--at", "11:40")
    assert "how high edges then stand; below 0 bowed outward" in text
    assert re.search(r"-\d \(-\d to -?\d\)", text)
    assert "below 0" not in plain("finish", *ASKED)


def test_the_command_and_the_call_say_one_number() -> None:
    import drybox

    found = drybox.finish(DEMO, "13:40", dried="line", prints=3)
    ours = ways(*LINE, "--prints", "3")
    for way in found.ways:
        assert way.lift_home_m.p90 is not None
        assert ours[way.way]["curl_mm"]["p90"] == pytest.approx(1e3 * way.lift_home_m.p90)
    frame = drybox.to_frame(found)
    assert list(frame["way"]) == list(ours)
    assert str(frame["flat_at_p50"].dt.tz) == "Europe/Vienna"
    assert str(found) == drybox.answer(found).lead[0]


def test_a_press_is_offered_only_where_one_is_listed() -> None:
    assert ways(*ASKED)["press"]["why"] == "no press listed"


def test_blotters_as_damp_as_the_air_of_a_wet_day_are_refused() -> None:
    damp = (*LINE, "--blotter-humidity", "75%")
    assert "too damp" in ways(*damp)["blotters"]["why"]
    assert "warm them on the plate" in plain("finish", *damp)


def test_no_boards_leave_nothing_but_to_lay_it_down() -> None:
    result = record("finish", *LINE, "--boards", "0")["result"]
    assert result["choice"]["way"] == "none"


def test_plastic_is_refused_where_it_gets_hot_and_the_folder_is_not() -> None:
    hand, car = (enclosed(*ASKED, "--hottest", where) for where in ("in the hand", "parked-car"))
    assert hand["plastic"]["from_at"] is not None
    assert car["plastic"]["from_at"] is None
    assert "stick" in car["plastic"]["why"]
    assert car["folder"]["from_at"] is not None


def test_a_damp_print_goes_between_blotters_with_the_note_only() -> None:
    found = enclosed(*LINE, "--pulled", "72%", "--boards", "0")
    assert [name for name, one in found.items() if one["from_at"]] == ["blotters"]


def test_a_batch_goes_in_loads() -> None:
    few, many = (ways(*LINE, "--prints", n)["cold_boards"] for n in ("4", "5"))
    assert (few["loads"], many["loads"]) == (1, 2)
    assert many["flat_at"]["p50"] > few["flat_at"]["p50"]
    assert ways(*LINE, "--prints", "5", "--boards", "2")["cold_boards"]["loads"] == 1


def test_the_scale_says_ready_or_minutes_more() -> None:
    """A 4x5 of 3.56 g dry: 3.84 g at 0.60, 3.92 g at 0.75, 0.01 g is 0.01 to 0.03 (by hand)."""
    damp = record("finish", *LINE, "--weighed", "3.92g", "--sheet-mass", "3.775g")["result"]
    dry = record("finish", *LINE, "--weighed", "3.83g", "--sheet-mass", "3.775g")["result"]
    assert damp["weighed"]["damp_frac"] == pytest.approx(0.75, abs=0.02)
    assert 0.01 <= damp["weighed"]["doubt_frac"] <= 0.03
    assert not damp["weighed"]["ready"]
    assert damp["weighed"]["more_min"] > 0
    assert dry["weighed"]["ready"]
    assert dry["weighed"]["more_min"] == 0


def test_a_light_weight_a_dry_print_and_a_damp_one_are_warned_of() -> None:
    assert "leaves cockles" in plain("finish", *ASKED, "--weight", "200 g")
    assert "brittle" in plain("finish", *ASKED, "--pulled", "25%")
    assert "release sheet" in plain("finish", *LINE, "--pulled", "72%")


def test_the_first_table_is_the_ways() -> None:
    rows = table("finish", *ASKED)
    assert [row["way"] for row in rows][:1] == ["cold boards"]


@pytest.mark.parametrize(
    ("args", "point"),
    [
        (("--pulled", "60"), "has no unit"),
        (("--pulled", "5%"), "outside"),
        (("--dried", "oven"), "not known"),
        (("--dried", "line, plate"), "several"),
        (("--weighed", "3.9g"), "sheet of the same box"),
        (("--weighed", "3.9g", "--sheet-mass", "40g"), "no fibre double weight"),
        (("--weighed", "3.0g", "--sheet-mass", "3.8g"), "lighter"),
        (("--weighed", "40g", "--sheet-mass", "3.8g"), "damper than in air of 90 %"),
        (("--hottest", "sauna"), "choose one of"),
        (("--plate", "200C"), "outside"),
        (("--series", "a.csv"), "no time series"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_line(args: tuple[str, ...], point: str) -> None:
    assert point in refused("finish", *ASKED, *args)


def test_resin_coated_paper_lies_flat_and_is_handed_over(tmp_path: Any) -> None:
    event = tmp_path / "fair.toml"
    event.write_text(
        '[place]\nlatitude = 47.2\nlongitude = 12.3\n[event]\ndate = "2027-06-12"\n'
        '[paper]\nstock = "resin coated"\n[weather]\nsky = "clear"\n'
        '[finishing]\nstages = ["flatten", "trim", "sleeve"]\n'
    )
    text = plain("finish", str(event), "--at", "13:40")
    assert text.startswith("It lies flat: trim it and hand it over.")
    assert "Then trim and sleeve: it is done by 13:42." in text
    assert "smooth plastic sleeve" in text
    assert "two weeks" not in text
    assert "brittle" not in text.replace("is not brittle", "")
    assert record("finish", str(event), "--at", "13:40")["result"]["choice"]["way"] == "none"
