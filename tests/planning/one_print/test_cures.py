"""What keeps a print cooler: each cure brings something that the one before does not."""

from __future__ import annotations

import drybox
from drybox.inputs.event.event import load_event

HAZY_COAST = {
    "place.latitude": 4.2,
    "place.longitude": 103.4,
    "place.timezone": "Asia/Kuala_Lumpur",
    "event.date": "2027-09-12",
    "weather.sky": "hazy",
    "weather.air_temp": "31 °C",
    "weather.humidity": "78 %",
    "weather.wind": "2 m/s",
}


def test_off_the_sun_is_named_only_where_it_is_cooler_than_a_lighter_aim() -> None:
    """In hot air neither aim comes lower than the other: it was one advice given twice."""
    for told in (
        HAZY_COAST,
        HAZY_COAST | {"weather.air_temp": "18 °C", "weather.humidity": "45 %"},
    ):
        event = load_event(None, told)
        found = drybox.dry(event, "14:05", members=20, ways=("sun plate",))
        kept_k = {cure.cure: cure.print_temp_kept_k for cure in found.cures}
        if "off the sun" in kept_k:
            assert kept_k["off the sun"] < kept_k["lighter aim"] - 0.9
        warned = [text for text in drybox.answer(found).warnings if "--hold-below" in text]
        asked = [text.partition("--hold-below ")[2].partition("'")[0] for text in warned]
        assert len(set(asked)) == len(asked) > 0
