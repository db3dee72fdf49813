from __future__ import annotations

import pytest

from drybox.errors import InputError
from drybox.inputs.event.event import load_event
from drybox.inputs.finish.finishing import Finishing, read_finishing
from drybox.tables import load_table

PLACE = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}


def read(**told: object) -> Finishing:
    keys = {f"finishing.{key}": value for key, value in told.items()}
    return read_finishing(load_event(None, PLACE | keys).reread(), flatten_s=600.0)


def test_what_is_left_out_comes_from_the_table() -> None:
    found, table = read(), load_table("flattening")
    assert found.pairs == table["boards"]["pairs"].value
    assert found.board_mass_kg == table["boards"]["mass"].value
    assert (found.blotter_activity, found.press_w, found.hottest) == (None, None, "in the hand")


def test_what_is_told_is_taken() -> None:
    found = read(boards=2, weight="3 kg", press="600 W", hottest="parked_car")
    assert (found.pairs, found.board_mass_kg, found.press_w) == (2, 3.0, 600.0)
    assert found.hottest == "parked car"


@pytest.mark.parametrize(
    ("key", "value", "point"),
    [
        ("boards", "two", "whole number"),
        ("weight", "2", "no unit"),
        ("press_temp", "150 °C", "outside"),
        ("hottest", "sauna", "choose one of"),
        ("bords", 1, "did you mean 'boards'"),
    ],
)
def test_what_cannot_be_used_is_refused(key: str, value: object, point: str) -> None:
    with pytest.raises(InputError, match=point):
        read(**{key: value})
