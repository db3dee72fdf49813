import datetime as dt
import math
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import DryboxError, InputError
from drybox.inputs.event.box import BOX_KEYS, POWERED_KEYS
from drybox.inputs.event.event import EVENT_KEYS, load_event
from drybox.inputs.event.paper import PAPER_KEYS
from drybox.inputs.event.place import PLACE_KEYS
from drybox.tables import load_table, shipped_dir
from tests.running import event_file

HERE = {"place.latitude": "47.2", "place.longitude": "12.3", "event.date": "2027-06-12"}
START = '[place]\ncoordinates = "47.2, 12.3"\n[event]\ndate = "2027-06-12"\n'


def event_of(tmp_path, text, overrides=None):
    return load_event(event_file(tmp_path, text), overrides)


def refused(tmp_path, text, overrides=None):
    with pytest.raises(InputError) as error:
        event_of(tmp_path, text, overrides)
    message = str(error.value)
    assert "\n" not in message
    return message


def source_of(event, key):
    return {value.key: value for value in event.resolved}[key].source


# the whole event


def test_the_demo_event_is_read_whole():
    event = load_event(shipped_dir("demo") / "fair.toml")
    assert event.warnings == ()
    assert event.place.elevation_m == 1150
    assert [obstacle.name for obstacle in event.place.obstacles] == ["clock tower", "lime tree"]
    assert event.place.obstacles[0].elevation_deg == pytest.approx(math.degrees(math.atan(14 / 11)))
    assert event.box.plate_thickness_m == 0.003
    assert event.paper.water_kg_m2 == pytest.approx(0.22)
    assert event.powered.battery_j == 500 * 3600
    assert event.closes_at - event.opens_at == 8 * 3600


def test_options_alone_make_an_event_and_say_what_is_assumed():
    event = load_event(None, HERE)
    assert event.path is None
    assert event.place.timezone == "Europe/Vienna"
    said = " ".join(event.assumptions)
    for word in ("elevation", "time zone", "No box", "No paper", "No weather", "Hours"):
        assert word in said


@pytest.mark.parametrize("missing", sorted(set(HERE) - {"event.date"}))
def test_a_position_is_asked_for(missing):
    given_options = {key: value for key, value in HERE.items() if key != missing}
    with pytest.raises(InputError, match="is missing"):
        load_event(None, given_options)


def test_every_value_has_a_source(tmp_path):
    event = event_of(
        tmp_path,
        START + '[box]\nplate_thickness = "2 mm"\n[paper]\nwater = "drained"\n',
        {"event.date": "2027-06-13"},
    )
    assert source_of(event, "place.latitude") == "file fair.toml, line 2"
    assert source_of(event, "event.date") == "option --date"
    assert source_of(event, "box.plate_thickness") == "file fair.toml, line 6"
    assert source_of(event, "box.plate_density") == "table materials: steel (published)"
    assert source_of(event, "paper.water").startswith("file fair.toml, line 8; table papers")
    assert event.date == dt.date(2027, 6, 13)
    assert all(value.source for value in event.resolved)
    assert len({value.key for value in event.resolved}) == len(event.resolved)


def test_options_displace_what_the_file_says(tmp_path):
    text = START + '[box]\naim = "best"\n[weather]\ncloud = "3 oktas"\n'
    event = event_of(
        tmp_path,
        text,
        {
            "place.latitude": "-33.9",
            "place.longitude": "151.2",
            "box.bearing": "N",
            "box.tilt": "30 deg",
            "weather.sky": "clear",
        },
    )
    assert (event.place.latitude_deg, event.place.longitude_deg) == (-33.9, 151.2)
    assert (event.box.aim_mode, event.box.aim_bearing_deg) == ("fixed", 0)
    assert event.box.aim_tilt_deg == pytest.approx(30)
    assert event.weather.cloud_frac[0] == 0
    half = event_of(tmp_path, START, {"place.latitude": "10"})
    assert (half.place.latitude_deg, half.place.longitude_deg) == (10, 12.3)


def test_a_fault_in_a_file_called_weather_is_placed_in_that_file(tmp_path):
    rows = "time,air_temp_c\n2027-06-12T06:00,14\n2027-06-12T07:00,warm\n"
    (tmp_path / "weather.csv").write_text(rows, encoding="utf-8")
    message = refused(tmp_path, START + '[weather]\nforecast = "weather.csv"\n')
    assert message.endswith("(weather.csv, line 3)")


def test_an_event_can_be_read_again_for_its_other_tables(tmp_path):
    event = event_of(tmp_path, START + '[process]\nname = "direct positive"\n')
    again = event.reread()
    assert again.section("process").text("name", None) == "direct positive"
    assert len(again.resolved) == 1
    assert event.tables["process"] == {"name": "direct positive"}


# errors name file, line, option, and how to mend


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[box]\nplate_thickness = 3\n",
            'plate_thickness 3 has no unit; write it like "3 mm" '
            "(box.plate_thickness in fair.toml, line 6)",
        ),
        (
            '[box]\nplate_thicknes = "3 mm"\n',
            "did you mean 'plate_thickness'? (box.plate_thicknes in fair.toml, line 6)",
        ),
        ('[boxes]\na = "3 mm"\n', "did you mean 'box'? (boxes in fair.toml, line 5)"),
        ('[box]\nplate_thickness = "3 m"\n', "plate_thickness 3 m is outside 0.0001 m to 0.05 m"),
        ('[box]\nplate_thickness = "0 mm"\n', "plate_thickness 0 mm is outside 0.1 mm to 50 mm"),
        ('[box]\nplate_thickness = "-3 mm"\n', "plate_thickness -3 mm is outside"),
        ('[box]\nplate_thickness = "3 kg"\n', "is no length"),
        ('[box]\nplate_thickness = ["3 mm"]\n', "is not a quantity"),
        ("[box]\nplate_thickness = true\n", "is not a quantity"),
        ("[box]\nfinish = 3\n", "is not a text; put it in quotes"),
        ('[box]\nfinish = "mat black paint"\n', "did you mean 'matt black paint'?"),
        ('[box]\ncover_thickness = "3 mm"\n', "there is no cover"),
        ("[box]\nabsorptance = 0.93\n", 'absorptance 0.93 has no unit; write it like "93 %"'),
        ('[box]\nemittance = "90"\n', 'write it like "90 %"'),
        ('[box]\nair_exchange = "20 1/h"\n', "there is no cover"),
        ('[powered]\nplate_power = "9 W"\nair_temp = "50 °C"\n', "without air_power"),
        ('[box]\ncover = "acrylic"\ncover_emittance = "99 %"\n', "together exceed 100 %"),
        (
            '[box]\nplate_size = "40x50 cm"\nplate_width = "3 cm"\n',
            "keep one (box.plate_width in fair.toml, line 7)",
        ),
        ('[box]\nplate_size = "4x5 mm"\n', "outside 5 cm to 300 cm a side"),
        ('[box]\ntilt = "-5 deg"\nbearing = "S"\n', "tilt -5 deg is outside 0 deg to 90 deg"),
        ('[box]\ntilt = "95°"\nbearing = "S"\n', "outside 0 ° to 90 °"),
        ('[box]\ntilt = "40 deg"\n', "tilt is given without bearing"),
        ('[box]\naim = "fixed"\n', "needs bearing and tilt"),
        ('[box]\naim = "best"\ntilt = "40 deg"\nbearing = "S"\n', "are both given"),
        ('[box]\naim = "up"\n', "choose one of: turns"),
        ('[box]\nbearing = "230"\ntilt = "40 deg"\n', "from true north"),
        ('[paper]\nstock = "fibre triple weight"\n', "did you mean 'fibre"),
        ('[paper]\nsize = "4x5"\n', "is not a size"),
        ('[paper]\nwater = "wet"\n', "water 'wet' is not known; write one of dripping"),
        ('[paper]\nwater = "3 mm"\n', "is no areal mass"),
        ('[paper]\nwater = "2 kg/m2"\n', "outside 0 to 1000 g/m2"),
        ('[paper]\nhardened = "yes"\n', "neither true nor false"),
        ('[paper]\ngelatin = "50 g/m2"\ndry_mass = "60 g/m2"\n', "counts them in"),
        ('[powered]\nplate_temp = "50 °C"\n', "has no power; add plate_power"),
        ('[powered]\nplate_power = "150 W"\nplate_temp = "68"\n', "has no unit"),
        ('[weather]\nclud = "3 oktas"\n', "line 6"),
        ('[weather]\ncloud = "9 oktas"\n', "weather.cloud in fair.toml, line 6"),
        ("[[box]]\n", "box is not a table; write it as a table headed [box]"),
        ("[process]\n[weather]\nsky = 1\n", "line 7"),
    ],
)
def test_what_cannot_be_used_is_said_with_file_and_line(tmp_path, text, message):
    assert message in refused(tmp_path, START + text)


def test_a_table_written_as_a_value_is_refused(tmp_path):
    assert "is not a table" in refused(tmp_path, "box = 3\n" + START)
    text = '[place]\ncoordinates = "47.2, 12.3"\nobstacle = 3\n[event]\ndate = "2027-06-12"\n'
    assert "head each one [[place.obstacle]]" in refused(tmp_path, text)


@pytest.mark.parametrize(
    ("key", "value", "message"),
    [
        ("place.latitude", "95", "latitude 95 is outside -90 to 90 (option --latitude)"),
        ("place.longitude", "500", "outside -180 to 180 (option --longitude)"),
        (
            "place.elevation",
            "-500 m",
            "elevation -500 m is outside -430 m to 9000 m (option --elevation)",
        ),
        ("place.elevation", "9500 m", "outside"),
        ("place.elevation", "450", 'has no unit; write it like "450 m"'),
        ("event.date", "06/07/2026", "year first (option --date)"),
        ("place.timezone", "Mars/X", "(option --timezone)"),
        ("weather.cloud", "9 oktas", "(option --cloud)"),
        ("weather.sky", "brilliant", "(option --sky)"),
        ("weather.file", "nowhere.csv", "--weather"),
    ],
)
def test_an_option_that_cannot_be_used_is_named(key, value, message):
    with pytest.raises(DryboxError) as error:
        load_event(None, HERE | {key: value})
    assert message in str(error.value)


# place


def test_latitude_and_longitude_may_not_stand_beside_coordinates(tmp_path):
    text = '[place]\ncoordinates = "47.2, 12.3"\nlatitude = 3\n[event]\ndate = "2027-06-12"\n'
    assert "keep one (place.coordinates in fair.toml, line 2)" in refused(tmp_path, text)


@pytest.mark.parametrize(
    ("zone", "warned"), [("Asia/Tokyo", True), ("Europe/London", False), ("Etc/GMT+12", True)]
)
def test_a_zone_far_from_the_coordinates_is_warned_of(zone, warned):
    event = load_event(None, HERE | {"place.timezone": zone})
    assert any("swapped" in warning for warning in event.warnings) is warned
    assert event.place.timezone == zone


def test_swapped_coordinates_are_warned_of():
    swapped = {
        "place.latitude": "12.3",
        "place.longitude": "47.2",
        "place.timezone": "America/Lima",
    }
    assert load_event(None, HERE | swapped).warnings


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(90, 0), (-90, 0), (0, 180), (0, -180), (69.6, 18.9), (1.87, -157.4), (-44, -176.5)],
)
def test_ends_of_the_earth_work(latitude, longitude):
    event = load_event(None, HERE | {"place.latitude": latitude, "place.longitude": longitude})
    assert event.day_end_at - event.day_start_at == 86400
    assert event.day_start_at < event.opens_at < event.day_end_at


def test_obstacles_by_size_or_angle(tmp_path):
    obstacles = """
[[place.obstacle]]
from = "NW"
to = "20 deg"
height = "3 m"
distance = "3 m"
[[place.obstacle]]
name = "tree"
from = "90 deg"
to = "120 deg"
elevation_angle = "20 deg"
lets_through = "30 %"
"""
    event = event_of(tmp_path, START + obstacles)
    wall, tree = event.place.obstacles
    assert (wall.bearing_from_deg, wall.bearing_to_deg) == (315, 20)
    assert wall.elevation_deg == pytest.approx(45)
    assert (tree.elevation_deg, tree.transmittance_frac) == pytest.approx((20, 0.3))
    assert source_of(event, "place.obstacle.1.lets_through") == "file fair.toml, line 16"


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ('from = "S"', "no bearing 'to'"),
        ('from = "S"\nto = "S"\nelevation_angle = "3 deg"', "at one bearing"),
        ('from = "S"\nto = "W"', "has no height"),
        ('from = "S"\nto = "W"\nheight = "3 m"', "has no distance"),
        ('from = "S"\nto = "W"\nheight = "3 m"\nelevation_angle = "3 deg"', "keep one way"),
        ('from = "S"\nto = "W"\nhight = "3 m"', "did you mean 'height'?"),
        ('from = "S"\nto = "W"\nheight = "3 m"\ndistance = "0 m"', "outside"),
        ('from = "S"\nto = "W"\nelevation_angle = "91 deg"', "outside"),
        ('from = "S"\nto = "W"\nelevation_angle = "9 deg"\nlets_through = "130 %"', "outside"),
    ],
)
def test_refused_obstacles(tmp_path, keys, message):
    assert message in refused(tmp_path, f"{START}[[place.obstacle]]\n{keys}\n")


# box and paper


@pytest.mark.parametrize("cover", sorted(load_table("covers")))
@pytest.mark.parametrize("stock", sorted(load_table("papers")))
def test_every_cover_and_stock_makes_a_box_and_a_paper(cover, stock):
    event = load_event(None, HERE | {"box.cover": cover, "paper.stock": stock})
    assert event.box.cover is not None
    assert event.box.air_exchange_1_s == pytest.approx(30 / 3600)
    assert event.paper.resin_coated is (stock == "resin coated")


def test_a_given_property_takes_the_place_of_the_tables():
    given_options = {
        "box.absorptance": "93 %",
        "box.plate_conductivity": "50 W/mK",
        "paper.contact_dry": "80 W/m2K",
    }
    event = load_event(None, HERE | given_options)
    assert event.box.absorptance_frac == pytest.approx(0.93)
    assert event.box.plate_conductivity_w_m_k == 50
    assert event.paper.contact_dry_w_m2_k == 80
    assert event.box.emittance_frac == 0.9


@pytest.mark.parametrize("stock", ["Resin Coated", "resin-coated", "resin_coated"])
def test_table_names_are_known_in_any_case_and_with_hyphens(stock):
    event = load_event(None, HERE | {"paper.stock": stock, "box.cover": "None"})
    assert event.paper.stock == "resin coated"
    assert event.box.cover is None


@pytest.mark.parametrize(
    ("water", "kg_m2"),
    [
        ("squeegeed", 0.22),
        ("200 g/m2", 0.2),
        ("0,2 kg/m2", 0.2),
        ("2.6 g", 2.6e-3 / (0.1016 * 0.127)),
        ("2.6 grams", 2.6e-3 / (0.1016 * 0.127)),
    ],
)
def test_water_by_word_by_area_or_by_sheet(water, kg_m2):
    assert load_event(None, HERE | {"paper.water": water}).paper.water_kg_m2 == pytest.approx(kg_m2)


@pytest.mark.parametrize(
    ("size", "sides"),
    [("20x25 cm", (0.2, 0.25)), ("8 x 10 in", (0.2032, 0.254)), ("13,5x18 cm", (0.135, 0.18))],
)
def test_sizes(size, sides):
    paper = load_event(None, HERE | {"paper.size": size}).paper
    assert (paper.width_m, paper.height_m) == pytest.approx(sides)


def test_a_print_larger_than_the_plate_is_warned_of():
    event = load_event(None, HERE | {"paper.size": "60x80 cm"})
    assert "larger than the plate" in event.warnings[0]


@settings(deadline=None)
@given(st.floats(0.1, 50), st.sampled_from([("mm", 1e-3), ("in", 0.0254), ("cm", 1e-2)]))
def test_plate_thickness_in_any_unit(number, unit):
    name, factor = unit
    thickness_m = float(f"{number:.4f}") * factor
    options = HERE | {"box.plate_thickness": f"{number:.4f} {name}"}
    if 1e-4 <= thickness_m <= 0.05:
        assert load_event(None, options).box.plate_thickness_m == pytest.approx(thickness_m)
    else:
        with pytest.raises(InputError, match="outside"):
            load_event(None, options)


def test_a_powered_drier_by_plate_or_by_air():
    plate = load_event(None, HERE | {"powered.plate_power": "150 W"}).powered
    assert (plate.plate_temp_k, plate.air_power_w, plate.air_temp_k) == (323.15, 0, None)
    air = load_event(None, HERE | {"powered.air_power": "1 kW", "event.ways": ["warm air"]})
    assert (air.powered.plate_temp_k, air.powered.air_speed_m_s) == (None, 1.5)
    assert load_event(None, HERE).powered is None


# the event's hours and ways


def hours(event):
    return tuple((at - event.day_start_at) / 3600 for at in (event.opens_at, event.closes_at))


def test_hours_as_text_and_as_toml_times(tmp_path):
    for opens, closes in (
        ('"09:30"', '"17:00"'),
        ("09:30:00", "17:00:00"),
        ("2027-06-12T09:30:00", "17:00:00"),
    ):
        event = event_of(tmp_path, START + f"opens = {opens}\ncloses = {closes}\n")
        assert hours(event) == (9.5, 17)


def test_an_event_over_midnight_works_and_one_that_ends_before_it_starts_does_not(tmp_path):
    over = event_of(tmp_path, START + 'opens = "20:00"\ncloses = "2027-06-13 01:30"\n')
    assert hours(over) == (20, 25.5)
    message = refused(tmp_path, START + 'opens = "20:00"\ncloses = "01:30"\n')
    assert 'write closes = "2027-06-13 01:30" (event.closes in fair.toml, line 6)' in message
    assert "not on 2027-06-12" in refused(tmp_path, START + 'closes = "2027-06-15 01:30"\n')


def test_hours_in_a_gap_are_refused_and_in_a_fold_are_said():
    spring = HERE | {"event.date": "2027-03-28", "event.opens": "02:30"}
    with pytest.raises(InputError, match=r"use 01:59 or 03:00 \(option --opens\)"):
        load_event(None, spring)
    event = load_event(None, HERE | {"event.date": "2027-10-31", "event.opens": "02:30"})
    assert any("comes twice" in sentence for sentence in event.assumptions)


@pytest.mark.parametrize(
    ("ways", "message"),
    [
        ('["sun plate", "oven"]', "choose one of: sun plate"),
        ("[]", "no way is named"),
        ('"plate"', "is not a list"),
        ('["warm air"]', "needs power"),
    ],
)
def test_refused_ways(tmp_path, ways, message):
    assert message in refused(tmp_path, START + f"ways = {ways}\n")


def test_ways_are_kept_once_and_in_order(tmp_path):
    text = 'ways = ["line in sun", "sun plate", "line_sun", "Line-in-the-sun", "Screen in shade"]\n'
    assert event_of(tmp_path, START + text).ways == ("line_sun", "sun_plate", "screen_shade")


# names


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", 'A & B "C"', "🌞 Markt", "שוק"])
def test_names_are_kept_as_they_are(tmp_path, name):
    quoted = name.replace('"', '\\"')
    assert event_of(tmp_path, START + f'name = "{quoted}"\n').name == name


def test_names_with_line_breaks_are_refused(tmp_path):
    assert "line break" in refused(tmp_path, START + 'name = "a\\nb"\n')
    assert "line break" in refused(tmp_path, START + 'name = "a\\u2028b"\n')
    assert "is empty" in refused(tmp_path, START + 'name = " "\n')
    assert "longer than 200" in refused(tmp_path, START + f'name = "{"x" * 201}"\n')


def test_the_path_may_be_a_text(tmp_path):
    event_of(tmp_path, START)
    assert load_event(str(tmp_path / "fair.toml")).path == Path(tmp_path / "fair.toml")


# whatever is written, an event or one line


KEYS = [
    *(f"place.{key}" for key in PLACE_KEYS),
    *(f"box.{key}" for key in BOX_KEYS),
    *(f"paper.{key}" for key in PAPER_KEYS),
    *(f"powered.{key}" for key in POWERED_KEYS),
    *(f"event.{key}" for key in EVENT_KEYS),
]
WRITTEN = st.one_of(
    st.text(max_size=12),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.lists(st.text(max_size=4), max_size=2),
    st.dictionaries(st.sampled_from(["from", "to", "x"]), st.text(max_size=4), max_size=2),
    st.dates(),
    st.datetimes(timezones=st.none() | st.just(dt.UTC)),
    st.times(),
    st.sampled_from(["1e308 mm", "-0 %", "0x1 mm", "9" * 400 + " mm", "1/0 in", "1/3 in", "۳ mm"]),
)


def event_or_line(path, overrides=None):
    """Return the event, or the one line that says why there is none."""
    try:
        return load_event(path, overrides)
    except DryboxError as error:
        return str(error)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(st.sampled_from(KEYS), WRITTEN, min_size=1, max_size=3))
def test_any_value_for_any_key_gives_an_event_or_one_line(values):
    answer = event_or_line(None, HERE | values)
    if isinstance(answer, str):
        assert "\n" not in answer
        return
    assert answer.day_start_at < answer.day_end_at
    numbers = [value.value for value in answer.resolved if isinstance(value.value, float)]
    assert all(math.isfinite(number) for number in numbers)


DEMO = (shipped_dir("demo") / "fair.toml").read_text(encoding="utf-8").splitlines()


@settings(deadline=None)
@given(st.integers(0, len(DEMO) - 1), st.integers(0, 60), st.text(max_size=3))
def test_the_demo_with_a_slip_of_the_pen_gives_an_event_or_one_line(line, column, slip):
    lines = list(DEMO)
    lines[line] = lines[line][:column] + slip + lines[line][column + 1 :]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fair.toml"
        path.write_text("\n".join(lines), encoding="utf-8", newline="")
        shutil.copy(shipped_dir("demo") / "forecast.csv", folder)
        answer = event_or_line(path)
    assert not isinstance(answer, str) or "\n" not in answer


def test_a_prop_past_the_end_of_the_box_is_refused() -> None:
    with pytest.raises(InputError, match="the prop bears 2 m up a plate"):
        load_event(None, HERE | {"box.prop_distance": "2 m"})
    assert load_event(None, HERE | {"box.prop_distance": "60 cm"}).box.prop_distance_m == 0.6


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        ((8, 19), []),
        ((8, 12), ["ends at 13:00, before the closing at 18:00"]),
        ((11, 12), ["begins at 11:00, after the opening at 09:00", "ends at 13:00"]),
    ],
)
def test_a_forecast_that_leaves_out_open_hours_is_said_with_the_hours(tmp_path, hours, said):
    rows = [f"2027-06-12T{hour:02d}:00,600,20" for hour in range(hours[0], hours[1] + 1)]
    heading = "time (interval start),ghi,temp_air (C)"
    (tmp_path / "sky.csv").write_text("\n".join([heading, *rows]) + "\n")
    ask = {**HERE, "event.opens": "09:00", "event.closes": "18:00"}
    event = load_event(None, {**ask, "weather.file": str(tmp_path / "sky.csv")})
    found = [text for text in event.warnings if text.startswith("The forecast")]
    assert len(found) == len(said)
    for text, part in zip(found, said, strict=True):
        assert part in text
