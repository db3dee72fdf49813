import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import InputError
from drybox.inputs.text.coordinates import (
    COMPASS_POINTS,
    parse_bearing,
    parse_coordinates,
    parse_latitude,
    parse_longitude,
)

LATITUDES = st.floats(-90, 90).map(lambda value: round(value, 6))
LONGITUDES = st.floats(-180, 180).map(lambda value: round(value, 6))


def dms(angle: float, letters: str) -> str:
    total = round(abs(angle) * 3600)
    letter = letters[1] if angle < 0 else letters[0]
    return f"{total // 3600}°{total % 3600 // 60}'{total % 60}\"{letter}"


@settings(deadline=None)
@given(LATITUDES, LONGITUDES)
def test_decimal_text_comes_back_as_it_went_in(latitude, longitude):
    assert parse_latitude(latitude) == latitude
    assert parse_longitude(f"{longitude:.6f}") == longitude
    assert parse_coordinates(f"{latitude:.6f}, {longitude:.6f}") == (latitude, longitude)


@settings(deadline=None)
@given(LATITUDES, LONGITUDES)
def test_degrees_minutes_seconds_come_back_to_half_a_second(latitude, longitude):
    pair = parse_coordinates(f"{dms(latitude, 'NS')} {dms(longitude, 'EW')}")
    assert pair == pytest.approx((latitude, longitude), abs=0.5001 / 3600)
    assert parse_coordinates(f"{dms(longitude, 'EW')}, {dms(latitude, 'NS')}") == pair


@settings(deadline=None)
@given(st.text(max_size=20))
def test_any_text_gives_a_finite_angle_in_range_or_an_input_error(text):
    for parse, limit in ((parse_latitude, 90), (parse_longitude, 180)):
        try:
            value = parse(text)
        except InputError:
            continue
        assert math.isfinite(value)
        assert abs(value) <= limit
    with contextlib.suppress(InputError):
        parse_coordinates(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("48.2082", 48.2082),
        ("48,2", 48.2),
        ("48°12'N", 48.2),
        ("48.2N", 48.2),
        ("S 33", -33.0),
        ("48° 12′ 30″ N", 48 + 12.5 / 60),
        ("48 12 30", 48 + 12.5 / 60),
        ("48°12.5'", 48 + 12.5 / 60),
        ("−0°30'", -0.5),
        ("90", 90.0),
        (-90, -90.0),
    ],
)
def test_latitudes_as_people_write_them(text, degrees):
    assert parse_latitude(text) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize("value", [190, 500, "-180.1", "200°E"])
def test_longitudes_are_never_wrapped(value):
    with pytest.raises(InputError, match="outside -180 to 180"):
        parse_longitude(value)


@pytest.mark.parametrize(
    "value",
    [
        *("", "N", "48°75'N", "48.5°12'", "48E", "-48 S", "N 48 N", "48°12'61\"", True, None),
        *([48], "4 8 1 2"),
        *(95, -91, 1e400, "95", "1e400", "nan", "inf", float("nan"), -float("inf"), 10**400),
    ],
)
def test_what_is_no_latitude_is_refused(value):
    with pytest.raises(InputError):
        parse_latitude(value)


@pytest.mark.parametrize(
    "text",
    [
        "48.2082, 16.3738",
        "48.2082,16.3738",
        "48.2082 16.3738",
        "(48.2082; 16.3738)",
        "48,2082; 16,3738",
        "48,2082, 16,3738",
        "48.2082N, 16.3738E",
        "N 48.2082 E 16.3738",
        "16.3738 E, 48.2082 N",
        "E16.3738 N48.2082",
    ],
)
def test_pasted_pairs(text):
    assert parse_coordinates(text) == (48.2082, 16.3738)


@pytest.mark.parametrize(
    "text", ["48,2", "48", "48.2, 16.4, 3", "48.2E 16.4", "north", "", 48.2, "190, 16"]
)
def test_what_is_no_pair_is_refused(text):
    with pytest.raises(InputError):
        parse_coordinates(text)


@settings(deadline=None)
@given(st.floats(0, 360).map(lambda value: round(value, 3)))
def test_bearings_come_back_as_they_went_in(degrees):
    for text in (f"{degrees:.3f} deg", f"{degrees:.3f}°", f"{degrees:.3f}° true"):
        assert parse_bearing(text, "aim") == degrees


def test_compass_points_stand_in_order():
    assert [parse_bearing(point, "aim") for point in COMPASS_POINTS] == [
        i * 22.5 for i in range(16)
    ]
    assert parse_bearing("south", "aim") == 180.0
    assert parse_bearing("sw", "aim") == 225.0


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (230, "has no unit"),
        ("230", "is not a bearing"),
        ("-90 deg", "outside 0 deg to 360 deg"),
        ("540°", "outside 0 deg to 360 deg"),
        ("230 deg magnetic", "is magnetic; give it from true north"),
        ("SSSW", "is not a bearing"),
        (None, "is no bearing"),
    ],
)
def test_refused_bearings(value, message):
    with pytest.raises(InputError, match=message):
        parse_bearing(value, "aim")
