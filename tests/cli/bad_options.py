"""Bad options and arguments of the commands that look at one time."""

from __future__ import annotations

from tests.cli.bad_inputs import AIM, HERE, Row, opt

WASH = ["wash"]

ROWS = [
    *(
        opt(f"1 {value} in an option", "a latitude off the globe", ["--latitude", value], 2, says)
        for value, says in (
            ("95", "latitude 95 is outside -90 to 90 (option --latitude)"),
            ("-91", "latitude -91 is outside -90 to 90"),
            ("nan", "latitude 'nan' is not understood"),
            ("inf", "not a finite number"),
            ("1e400", "latitude '1e400' is not understood"),
        )
    ),
    opt("2 190", "a longitude off the globe", ["--longitude", "190"], 2, "outside -180 to 180"),
    opt("4 option", "a decimal comma", ["--latitude", "48,2"], 0, '"latitude_deg": 48.2,'),
    opt("5 minutes", "degrees and minutes", ["--latitude", "48°12'N"], 0, '"latitude_deg": 48.2,'),
    opt("5 letter", "a letter behind", ["--latitude", "48.2N"], 0, '"latitude_deg": 48.2,'),
    opt("5 east", "the wrong letter", ["--latitude", "48.2E"], 2, "has the letter E"),
    opt("6 deep", "below every sea", ["--elevation", "-500 m"], 2, "elevation -500 m is outside"),
    opt("6 high", "above every peak", ["--elevation", "9500"], 2, "elevation 9500 m is outside"),
    *(
        opt(f"7 {value}", "a date that is none", ["--date", value], 2, says)
        for value, says in (
            ("2027-02-29", "date 2027-02-29 does not exist"),
            ("31.04.2027", "year first"),
            ("06/07/2026", "year first"),
            ("", "year first"),
            ("tomorrow", "year first"),
        )
    ),
    opt("8", "29 February of a leap year", ["--date", "2028-02-29"], 0, '"date": "2028-02-29"'),
    Row(
        "9 option",
        "a time that clocks skip",
        [*AIM, "--timezone", "Europe/Vienna", "--date", "2027-03-28", "--at", "02:30"],
        2,
        "use 01:59 or 03:00 (option --at)",
    ),
    opt(
        "11",
        "a half-hour change of clocks",
        ["--latitude", "-31.55", "--longitude", "159.08", "--date", "2027-10-03"],
        0,
        '"opens_at": "2027-10-03T10:00:00+11:00"',
    ),
    *(
        opt(f"12 '{value}'", "a zone that is none", ["--timezone", value], 2, says)
        for value, says in (
            ("CET+1", "time zone 'CET+1' is not known; near names: "),
            ("Mars/X", "time zone 'Mars/X' is not known"),
            ("", "is not a name"),
            ("../../etc/passwd", "is not known"),
            ("Europe", "is not known"),
        )
    ),
    opt("13", "a zone far away", ["--timezone", "America/Lima"], 0, "a sign lost?"),
    Row(
        "14 night",
        "no sun at all",
        ["setout", "--latitude", "69.65", "--longitude", "18.96", "--date", "2027-12-21"],
        3,
        "the sun does not rise",
    ),
    Row(
        "14 day",
        "no sunset",
        ["aim", "--latitude", "69.65", "--longitude", "18.96", "--date", "2027-06-21"],
        0,
        '"tilt_deg"',
    ),
    *(
        opt(
            f"15 {zone}",
            "beyond the date line",
            ["--latitude", latitude, "--longitude", longitude],
            0,
            f'"opens_at": "2027-06-12T10:00:00{offset}"',
        )
        for zone, latitude, longitude, offset in (
            ("Kiritimati", "1.87", "-157.4", "+14:00"),
            ("Apia", "-13.83", "-171.76", "+13:00"),
            ("Chatham", "-43.95", "-176.55", "+12:45"),
        )
    ),
    Row(
        "16 pole",
        "the pole itself",
        ["aim", "--latitude", "90", "--longitude", "0", "--date", "2027-06-12"],
        0,
        '"bearing_true_deg"',
    ),
    Row(
        "16 date line",
        "the date line itself",
        ["aim", "--latitude", "-16.8", "--longitude", "180", "--date", "2027-06-12"],
        0,
        '"bearing_true_deg"',
    ),
    opt("17 1800", "a year too early", ["--date", "1800-06-12"], 2, "year 1800 is outside"),
    opt("17 9999", "a year too late", ["--date", "9999-06-12"], 2, "year 9999 is outside"),
    Row(
        "17 2031",
        "past the magnetic model",
        [*AIM, "--date", "2031-06-12"],
        0,
        "No declination: the",
    ),
    Row("36 event", "an address", ["check", "https://example.org/x.toml"], 2, "is a web address"),
    Row("37 event", "no end", ["check", "/dev/zero"], 4, "/dev/zero is not a file"),
    Row("no command", "a mistyped command", ["plam"], 2, "is no command"),
    opt("no option", "a mistyped option", ["--tilt", "3"], 2, "no such option"),
    opt("no value", "an option without its value", ["--date"], 2, "requires an argument"),
    Row("two events", "two files", ["check", "a.toml", "b.toml"], 2, "unexpected extra argument"),
    opt("seed", "a seed of many digits", ["--seed", "9" * 40], 2, "is not a whole number"),
    opt("cloud words", "a word for a number", ["--cloud", "some"], 2, "cloud 'some' is not a num"),
    opt("cloud all", "cloud of nine eighths", ["--cloud", "9"], 2, "cloud 9 is outside 0 to 8"),
    opt(
        "option digits",
        "a number of many digits",
        ["--cloud", "1" * 5000],
        2,
        "longer than 100 char",
    ),
    opt("power", "a power past all", ["--cloud", "1e999"], 2, "cloud '1e999' is not a finite num"),
    opt("over nothing", "a fraction over nothing", ["--cloud", "1/0"], 2, "is not in eighths"),
    opt("sky", "no such sky", ["--sky", "x" * 3000], 2, "is not known"),
    opt("sign", "a letter that ends the line", ["--sky", "cle\nar\x1b[2J"], 2, "is not known"),
    opt("half a letter", "half a letter", ["--sky", "\udcff"], 2, "is not known"),
    opt("minus", "a file named as an option", ["--weather", "-"], 4, "cannot be opened"),
    opt("long file name", "a file name too long", ["--weather", "x" * 5000], 4, "name too long"),
    opt("elevation", "a height with two units", ["--elevation", "5 m 3 ft"], 2, "no length"),
    opt("pair", "a pair and a longitude", ["--latitude", "47.2, 12.3"], 2, "not understood"),
    Row("pole pair", "a pair alone", ["check", "--latitude", "95, 12", *HERE[4:]], 2, "-90 to 90"),
    opt("series", "a series of nothing", ["--series", "x.csv"], 2, "check has no time series"),
    Row("no event", "no such file", ["check", "no.toml"], 4, "'drybox init DIR' writes a starter"),
    Row("folder", "a folder for a file", ["check", "."], 4, "is not a file"),
    Row("no name", "no name at all", ["check", ""], 2, "the date is missing"),
    Row("event name", "a name too long", ["check", "x" * 5000], 4, "name too long"),
    Row(
        "event loop",
        "a link to itself",
        ["check", "fair.toml"],
        4,
        "fair.toml",
        prepare=lambda folder: (folder / "fair.toml").symlink_to(folder / "fair.toml"),
    ),
    Row("at", "no such time", [*AIM, "--at", "25:00"], 2, "is not between 00:00 and 23:59"),
    Row("at noon", "a word for a time", [*AIM, "--at", "noon"], 2, 'write it like "13:20"'),
    Row(
        "at am", "a half of the day too late", [*AIM, "--at", "13:20 pm"], 2, "is not a clock time"
    ),
    Row("at empty", "nothing for a time", [*AIM, "--at", ""], 2, "is not a clock time"),
    Row("at zone", "the wrong offset", [*AIM, "--at", "13:00+05:00"], 2, "does not fit"),
    Row(
        "backwards",
        "from after until",
        [*AIM, "--from", "15:00", "--until", "12:00"],
        2,
        "before it h",
    ),
    Row(
        "no stretch",
        "from is until",
        [*AIM, "--from", "12:00", "--until", "12:00"],
        2,
        "before it h",
    ),
    Row("share 0", "to keep nothing", [*AIM, "--share", "0"], 2, "share 0 % is outside 50 %"),
    Row("share 2", "to keep twice all", [*AIM, "--share", "200 %"], 2, "share 200 % is outside"),
    Row("cold hold", "a hold below the air", [*AIM, "--hold-below", "20C"], 3, "at every aim"),
    Row("hot hold", "a hold of an oven", [*AIM, "--hold-below", "500C"], 2, "is outside 20 °C to"),
    Row("bare hold", "a hold without a unit", [*AIM, "--hold-below", "55"], 2, "has no unit"),
    Row("peg", "no peg", [*AIM, "--peg", "0 mm"], 2, "peg 0 mm is outside 5 mm to 500 mm"),
    Row("members", "too few draws", ["setout", *HERE, "--members", "5"], 2, "outside 20 to 1000"),
    Row("wait", "no time at all", ["setout", *HERE, "--wait", "0"], 2, "wait 0 min is outside"),
    Row("dry way", "no such way", ["dry", *HERE, "--ways", "magic"], 2, "way 'magic' is not known"),
    Row("no way", "no way at all", ["dry", *HERE, "--ways", ","], 2, "no way is named"),
    Row("no power", "power from nowhere", ["dry", *HERE, "--ways", "warm plate"], 2, "needs power"),
    Row("topic", "no such topic", ["explain", "nothing"], 2, "topic 'nothing' is not known"),
    Row(
        "wash 0", "no prints", [*WASH, "--prints", "0"], 2, "prints 0 is not a whole number from 1"
    ),
    Row("wash many", "prints past counting", [*WASH, "--prints", "999999999"], 2, "prints 9999"),
    Row("wash dry", "no water", [*WASH, "--water", "0 l"], 2, "water 0 l is outside"),
    Row("wash unit", "no unit", [*WASH, "--water", "20"], 2, 'write it like "20 l"'),
    Row("wash drop", "too little water", [*WASH, "--water", "30 ml"], 3, "bring 200 ml or more"),
    Row("wash back", "time run back", [*WASH, "--time", "-5 min"], 2, "time -5 min is outside"),
    Row("wash aim", "to leave nothing", [*WASH, "--target", "0 g/m2"], 2, "target"),
    Row("wash word", "no such aim", [*WASH, "--target", "clean"], 2, "target 'clean' is not"),
    Row("wash hot", "water that boils", [*WASH, "--water-temperature", "99 °C"], 2, "outside"),
    Row("wash fixing", "no such fixing", [*WASH, "--fixing", "never"], 2, "write short or long"),
    Row("wash vessel", "a thimble", [*WASH, "--vessel", "1 ml"], 2, "vessel 1 ml is outside"),
    Row("wash goal", "no such goal", [*WASH, "--goal", "most"], 2, "is not one of"),
    Row("stock", "no such paper", [*WASH, "--stock", "bromide"], 2, "stock 'bromide' is not"),
    Row("size 0", "no sheet", [*WASH, "--size", "0x5 in"], 2, "size 0x5 in is outside"),
    Row(
        "size spaces",
        "a very long size",
        [*WASH, "--size", f"4{' ' * 9000}y"],
        2,
        "longer than 100",
    ),
    Row("process", "no such process", ["baths", "--process", "magic"], 2, "is not one of"),
    Row("pace 0", "no sittings", ["baths", "--pace", "0 /h"], 2, "pace 0 /h is outside"),
    Row("spoilt all", "every sheet spoilt", ["baths", "--spoilt", "1000 %"], 2, "spoilt 1000 % is"),
    Row("spare", "spare past all", ["baths", "--spare", "1000 %"], 2, "spare 1000 % is outside"),
    Row("used", "no such bath", ["baths", "--used", "soup=3"], 2, "no bath 'soup'"),
    Row(
        "used back",
        "sheets taken back",
        ["baths", "--used", "fixer=-3"],
        2,
        "write it like fixer=12",
    ),
    Row(
        "used word",
        "a word for a number",
        ["baths", "--used", "fixer"],
        2,
        "write it like fixer=12",
    ),
    Row("sittings", "past counting", ["baths", "--sittings", "999999999"], 2, "outside 0 to 10000"),
]
