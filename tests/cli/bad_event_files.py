"""Bad event files."""

from __future__ import annotations

from tests.cli.bad_inputs import event_text, file, toml

ROWS = [
    *(
        toml(f"1 {value} in a file", "a latitude off the globe", {"place.latitude": value}, 2, says)
        for value, says in (
            ("95", "latitude 95 is outside -90 to 90 (place.latitude in fair.toml, line 1)"),
            ("nan", "latitude nan is not a finite number"),
            ("-inf", "latitude -inf is not a finite number"),
            ("1e400", "latitude inf is not a finite number"),
        )
    ),
    toml("2 500", "the same in a file", {"place.longitude": "500"}, 2, "place.longitude in fair"),
    toml(
        "3",
        "latitude and longitude swapped",
        {"place.latitude": "12.3", "place.longitude": "47.2"},
        0,
        "are latitude and longitude swapped",
    ),
    toml("4 file", "the same in a file", {"place.latitude": '"48,2"'}, 0, '"latitude_deg": 48.2,'),
    toml("4 bare", "the same without quotes", {"place.latitude": "48,2"}, 2, "not valid TOML"),
    toml("6 file", "the same in a file", {"place.elevation": '"-500 m"'}, 2, "place.elevation in"),
    toml("7 bare", "a bare date of no day", {"event.date": "2027-02-29"}, 2, "not valid TOML"),
    toml(
        "9 file",
        "the same in a file",
        {"event.date": '"2027-03-28"', "event.opens": '"02:30"'},
        2,
        "use 01:59 or 03:00 (event.opens in fair.toml, line 6)",
    ),
    toml(
        "10",
        "a time that comes twice",
        {"event.date": '"2027-10-31"', "event.opens": '"02:30"'},
        0,
        "the earlier is taken (02:30+02:00; the later is 02:30+01:00)",
    ),
    toml("18 ends first", "it ends before it opens", {"event.closes": '"09:00"'}, 2, "line 7"),
    toml(
        "18 over midnight",
        "it ends the day after",
        {"event.closes": '"2027-06-13 01:30"'},
        0,
        '"closes_at": "2027-06-13T01:30:00+02:00"',
    ),
    *(
        toml(
            f"19 tilt {value}",
            "no such tilt",
            {"box.bearing": '"S"', "box.tilt": f'"{value}"'},
            2,
            f"tilt {value} is outside 0 deg to 90 deg",
        )
        for value in ("-5 deg", "95 deg")
    ),
    *(
        toml(
            f"19 bearing {value}",
            "a bearing past the circle",
            {"box.bearing": f'"{value} deg"', "box.tilt": '"40 deg"'},
            status,
            says,
        )
        for value, status, says in (
            ("-90", 2, "bearing -90 deg is outside 0 deg to 360 deg"),
            ("540", 2, "bearing 540 deg is outside 0 deg to 360 deg"),
            ("360", 0, '"key": "box.bearing", "value": 0.0,'),
        )
    ),
    toml(
        "20 north",
        "north, of which kind?",
        {"box.bearing": '"N"', "box.tilt": '"40 deg"'},
        0,
        "Bearings are read from true north",
    ),
    toml(
        "20 magnetic",
        "a bearing off the compass",
        {"box.bearing": '"180° magnetic"', "box.tilt": '"40 deg"'},
        2,
        "is magnetic; give it from true north",
    ),
    *(
        toml(f"21 {value}", "no such plate", {"box.plate_thickness": value}, 2, says)
        for value, says in (
            ('"0 mm"', "plate_thickness 0 mm is outside 0.1 mm to 50 mm"),
            ('"-3 mm"', "plate_thickness -3 mm is outside"),
            ('"3 m"', "plate_thickness 3 m is outside 0.0001 m to 0.05 m"),
            ("3", 'has no unit; write it like "3 mm"'),
            ('"3 kg"', "has a unit that is no length"),
        )
    ),
    toml("22 comma", "a decimal comma", {"box.plate_thickness": '"3,5 mm"'}, 0, "0.0035"),
    toml("22 eighth", "an eighth of an inch", {"box.plate_thickness": '"1/8 in"'}, 0, "0.003175"),
    toml("22 size", "one unit for two sides", {"box.plate_size": '"20x25 cm"'}, 0, "0.2 x 0.25"),
    toml("22 68F", "degrees without a space", {"weather.air_temp": '"68F"'}, 0, "20 °C"),
    toml("22 thousands", "which comma?", {"place.elevation": '"1,150 m"'}, 2, "read two ways"),
    *(
        toml(f"unit {value}", "a unit of the wrong size", {key: value}, 2, says)
        for key, value, says in (
            ("box.plate_thickness", '"1/8"', 'has no unit; write it like "1/8 in"'),
            ("box.ballast", "5", 'has no unit; write it like "5 kg"'),
            ("place.elevation", '"sea level"', 'is not a quantity; write it like "12 m"'),
        )
    ),
    toml("far key", "a key like no other", {"process.zzz": "1"}, 2, "known are: bath, "),
    toml(
        "tank key",
        "a tank as a key",
        {"process.fixer": '"1 l"'},
        2,
        "write it under [[process.bath",
    ),
    file(
        "43 bare", "no quotes", "[box]\nwall_depth = 4 in\n", 2, "text and quantities need quotes"
    ),
    file("43 broken", "not TOML", "[place\nname = 3", 2, "not valid TOML: "),
    file("43 no value", "a value left out", "[place]\nname =\n", 2, "(fair.toml, line 2)"),
    toml("43 key", "an unknown key", {"place.elevatoin": '"5 m"'}, 2, "did you mean 'elevation'?"),
    toml("43 table", "an unknown table", {"wether.sky": '"clear"'}, 2, "did you mean 'weather'?"),
    toml("43 type", "a number for a text", {"place.name": "7"}, 2, "name 7 is not a text"),
    toml("43 flag", "a text for a flag", {"paper.hardened": '"yes"'}, 2, "neither true nor false"),
    toml("43 hardening", "no hardening", {"paper.hardening": '"soft"'}, 2, "choose one of: in man"),
    toml("43 turns", "half a turn", {"drying.most_turns": "2.5"}, 2, "not a whole number from 0"),
    toml("43 tilt", "over the top", {"box.most_tilt": '"95 deg"'}, 2, "is outside 0 deg to 90 deg"),
    toml("43 set out", "too late", {"event.set_out": '"23:30"'}, 2, "is not before the closing"),
    file("empty", "an empty file", "", 2, "the latitude is missing"),
    file("no table", "no table", "sunny day", 2, "not valid TOML"),
    file("key twice", "a key twice", "[place]\nname = 'a'\nname = 'b'\n", 2, "line 3"),
    file("wide", "another encoding", event_text({}).encode("utf-16"), 2, "is not UTF-8 text"),
    file("latin", "another encoding", "[place]\nname = 'Köln'".encode("latin-1"), 2, "UTF-8"),
    file("binary", "a picture", b"\x89PNG\r\n\x1a\n\x00\x00", 2, "is not UTF-8 text"),
    file("nothing", "letters of nothing", b"\x00" * 100, 2, "not valid TOML"),
    file("large", "more than 1 MB", "# nothing\n" * 120_000, 2, "is larger than 1 MB"),
    file("deep", "brackets in brackets", "a = " + "[" * 50_000, 2, "nested too deeply"),
    file("deep tables", "tables in tables", f"[{'a.' * 5000}a]\n", 2, "nested more than"),
    file(
        "digits",
        "a number of many digits",
        f"[place]\nlatitude = {'1' * 9000}",
        2,
        "too many digits",
    ),
    file("key parts", "a key of many parts", f"{'a.' * 100_000}a = 1\n", 2, "nested more than 20"),
    file(
        "key parts within",
        "a key of many parts in a line",
        f"place = {{{'a.' * 100_000}a = 1}}\n",
        2,
        "nested more than 20",
    ),
    file(
        "obstacles",
        "a forest of obstacles",
        "[event]\ndate=2027-06-12\n[place]\nlatitude='47'\nlongitude='12'\n"
        + "[[place.obstacle]]\nfrom='1 deg'\nto='2 deg'\nelevation_angle='3 deg'\n" * 12_000,
        2,
        "12000 tables [[place.obstacle]] are too many",
    ),
    toml("vessels", "no text for vessels", {"event.vessels": '""'}, 2, "is not a table"),
    file("names", "a very long name", f"{'x' * 100_000} = 1", 2, "table 'xxxx"),
    file(
        "not a table",
        "a number for a table",
        "place = 3\nevent.date = 2027-06-12\n",
        2,
        "write it as a table headed",
    ),
    file(
        "list of tables",
        "tables for a table",
        "event.date = 2027-06-12\n[[place]]\n",
        2,
        "place is not a table",
    ),
    toml("large number", "a number past all", {"box.plate_width": "1" + "0" * 400}, 2, "plate_w"),
    toml("large depth", "a power past all", {"box.wall_depth": '"1e999 mm"'}, 2, "not a finite"),
    toml("quantity nan", "no number", {"place.ground_albedo": "nan"}, 2, "not a finite number"),
    toml("truth", "a truth for a number", {"place.latitude": "true"}, 2, "True is not an angle"),
    toml("list", "a list for a number", {"place.latitude": "[47.2]"}, 2, "is not an angle"),
    toml("table", "a table for a text", {"place.name": "{a = 1}"}, 2, "is not a text"),
    toml("spaces", "nothing but spaces", {"place.name": '"   "'}, 2, "is empty or has"),
    toml("line break", "a name of two lines", {"place.name": r'"a\nb"'}, 2, "has a line break"),
    toml("long name", "a very long name", {"place.name": f'"{"x" * 5000}"'}, 2, "than 200 char"),
    toml("long size", "a very long size", {"paper.size": f'"4{" " * 50_000}y"'}, 2, "than 100"),
    toml("long length", "a very long unit", {"box.wall_depth": f'"4 {"m " * 9000}"'}, 2, "wall"),
    toml("long angle", "many digits", {"place.latitude": f'"{"1" * 9000}x"'}, 2, "latitude"),
    toml("two ways", "a place told twice", {"place.coordinates": '"47, 12"'}, 2, "keep one"),
    toml("no zone", "a number for a zone", {"place.timezone": "2"}, 2, "time zone 2 is not a"),
    toml(
        "skipped day",
        "a day left out",
        _SKIPPED := {
            "place.latitude": "-13.8",
            "place.longitude": "-171.8",
            "place.timezone": '"Pacific/Apia"',
            "event.date": '"2011-12-30"',
        },
        2,
        "the day was skipped",
    ),
    toml("date type", "a number for a date", {"event.date": "20270612"}, 2, "is not a date"),
    toml("time type", "a number for a time", {"event.opens": "10"}, 2, "is not a clock time"),
    toml("far close", "a day too far", {"event.closes": '"2027-06-19 12:00"'}, 2, "the day beside"),
    toml("way type", "a text for a list", {"event.ways": '"line"'}, 2, "is not a list"),
    toml("way", "no such way", {"event.ways": '["magic"]'}, 2, "way 'magic' is not known"),
    toml(
        "way coated",
        "only a blotter book for resin-coated paper",
        {"event.ways": '["blotter book"]', "paper.stock": '"resin coated"'},
        2,
        "no way is left for resin-coated paper",
    ),
    toml("way kinds", "lists in a list", {"event.ways": '[["line"], 3]'}, 2, "is not known"),
    toml("material", "no such plate", {"box.plate_material": '"wood"'}, 2, "plate_material 'wood'"),
    toml("absorptance", "more than all light", {"box.absorptance": '"150 %"'}, 2, "150 % is out"),
    toml("mirror", "no light at all", {"box.absorptance": '"0 %"'}, 2, "outside 1 % to 100 %"),
    toml("bare share", "a share without %", {"box.absorptance": "0.9"}, 2, 'write it like "90 %"'),
    toml("plate size", "half a size", {"box.plate_size": '"40 x"'}, 2, "is not a size"),
    toml(
        "two sizes",
        "a size told twice",
        {"box.plate_size": '"4x5 in"', "box.plate_width": '"9 cm"'},
        2,
        "keep one",
    ),
    toml(
        "cover part", "part of no cover", {"box.cover_emittance": '"9 %"'}, 2, "there is no cover"
    ),
    toml("aim", "no such aim", {"box.aim": '"up"'}, 2, "aim 'up' is not known"),
    toml("aim list", "a list for an aim", {"box.aim": '["turns"]'}, 2, "is not known"),
    toml("half aim", "a bearing alone", {"box.bearing": '"S"'}, 2, "bearing is given without tilt"),
    toml("no obstacle", "a text for obstacles", {"place.obstacle": '"tower"'}, 2, "list of tables"),
    toml(
        "obstacle key",
        "a mistyped key",
        {"place.obstacle": '[{name = "a", hight = "3 m"}]'},
        2,
        "did you mean 'height'?",
    ),
    toml(
        "obstacle point",
        "an obstacle of no width",
        {"place.obstacle": '[{from = "S", to = "S", elevation_angle = "9 deg"}]'},
        2,
        "at one bearing",
    ),
    toml(
        "obstacle at hand",
        "an obstacle at the box",
        {"place.obstacle": '[{from = "S", to = "W", height = "3 m", distance = "0 m"}]'},
        2,
        "distance 0 m is outside",
    ),
    toml(
        "obstacle above",
        "an obstacle past the top",
        {"place.obstacle": '[{from = "S", to = "W", elevation_angle = "100 deg"}]'},
        2,
        "elevation_angle 100 deg is outside",
    ),
    toml("paper water", "more water than any", {"paper.water": '"9 kg/m2"'}, 2, "is outside"),
    toml("paper word", "no such word", {"paper.water": '"soaking"'}, 2, "water 'soaking' is not"),
    toml("paper list", "a list for a word", {"paper.water": '["drained"]'}, 2, "is not known"),
    toml("paper mass", "more gelatin than sheet", {"paper.gelatin": '"300 g/m2"'}, 2, "gelatin"),
    toml(
        "drying", "over-dry wetter than dry", {"drying.dry": '"25 %"'}, 2, "over_dry is not drier"
    ),
    toml("powered", "power from nowhere", {"powered.battery": '"500 Wh"'}, 2, "has no power"),
    toml("spot", "no such spot", {"event.box_spot": '"roof"'}, 2, "the place has no spot 'roof'"),
    toml("weather key", "a mistyped key", {"weather.clouds": "3"}, 2, "did you mean 'cloud'?"),
    toml(
        "weather twice",
        "weather told twice",
        {"weather.cloud": "3", "weather.sky": '"clear"'},
        2,
        "both sky and cloud are given",
    ),
    toml("weather bare", "a temperature without a unit", {"weather.air_temp": "22"}, 2, "has no u"),
    toml(
        "weather wet", "air beyond wet", {"weather.humidity": '"150 %"'}, 2, "humidity 150 is out"
    ),
    toml("weather wind", "wind run back", {"weather.wind": '"-3 m/s"'}, 2, "wind -3 is outside"),
    toml("weather cloud", "a truth for cloud", {"weather.cloud": "true"}, 2, "is not a quantity"),
    toml("weather file", "a number for a file", {"weather.file": "3"}, 2, "is not a file name"),
    toml("weather name", "a name of no file", {"weather.file": r'"a\u0000b"'}, 2, "is not a file"),
    toml("weather self", "the event for weather", {"weather.file": '"fair.toml"'}, 2, "no heading"),
]
