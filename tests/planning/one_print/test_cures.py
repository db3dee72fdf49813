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


def test_a_cure_is_cooler_by_a_degree_or_lets_the_print_dry_there() -> None:
    """A cloth had been told as cooler under a plate in a low sun, and kept it at the same 48 °C."""
    low_sun = {
        "place.latitude": 18.7,
        "place.longitude": -99.5,
        "place.elevation": "300 m",
        "event.date": "2027-06-22",
        "event.opens": "06:20",
        "event.closes": "08:20",
        "paper.water": "dripping",
        "box.back": "plywood",
        "box.plate_thickness": "1/8 in",
        "box.wall_depth": "0 mm",
        "box.wind_shelter": "100 %",
        "weather.sky": "partly cloudy",
        "weather.air_temp": "29.2 °C",
        "weather.humidity": "74 %",
        "weather.wind": "7.9 m/s",
    }
    for told, at in ((low_sun, "07:33"), (HAZY_COAST, "14:05")):
        found = drybox.dry(load_event(None, told), at, members=24, ways=("sun plate",))
        (plate,) = found.ways
        for cure in found.cures:
            cooler_k = plate.print_temp_kept_k - cure.print_temp_kept_k
            assert cooler_k > 1.0 or (plate.too_hot and cure.feasible)
