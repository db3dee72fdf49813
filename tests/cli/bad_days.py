"""Bad days to plan, bad seasons and tours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tests.cli.bad_inputs import HERE, Row, event_text, noted

FEW = ["--members", "20", "--no-what-if"]
SHORT = {"event.opens": '"12:00"', "event.closes": '"13:00"', "event.every": '"20 min"'}
NIGHT = {
    "place.latitude": "69.65",
    "place.longitude": "18.96",
    "event.date": '"2027-12-21"',
}


def plan(
    name: str, what: str, changes: Mapping[str, str | None], status: int, says: str, *args: str
) -> Row:
    """Return a row of a day to plan, an hour long."""
    text = event_text(SHORT | changes)
    return Row(name, what, ["plan", "fair.toml", *FEW, *args], status, says, {"fair.toml": text})


def come(name: str, what: str, key: str, value: str, status: int, says: str, *args: str) -> Row:
    """Return a row of who comes."""
    return plan(name, what, {"event.every": None, f"event.{key}": value}, status, says, *args)


def tour(name: str, what: str, table: str, status: int, says: str, *args: str) -> Row:
    """Return a row of a table of fairs."""
    return Row(name, what, ["season", "--tour", "t.csv", *args], status, says, {"t.csv": table})


PROMISED = '[{ticket = "7", at = "12:05", promised = "12:06"}]'
MANY = "[" + '"12:05", ' * 500 + "]"
TOO_MANY = "[" + '"12:05", ' * 10_001 + "]"
TWICE = '[{ticket = "7", at = "12:05"}, {ticket = "7", at = "12:15"}]'
ROWS = [
    come("23 empty", "nobody comes", "arrivals", "[]", 0, '"sitters": []'),
    come(
        "23 crowd",
        "more come than can",
        "arrivals",
        MANY,
        0,
        "Sitters come faster than they can be served",
    ),
    come("23 many", "more than 10000", "arrivals", TOO_MANY, 2, "than 10000"),
    plan("23 none", "no copy", {"event.prints": "0"}, 2, "not a whole number from 1 to 20"),
    come("24", "a ticket twice", "sitter", TWICE, 2, "ticket '7' is there twice, first as event."),
    come("25", "a promise too early", "sitter", PROMISED, 0, "for 12:06, but it is not sure"),
    replace(
        come("25 strict", "the same", "sitter", PROMISED, 3, "be kept: ticket 7", "--strict"),
        answers=True,
    ),
    plan("both", "told twice", {"event.rate": '"4 /h"'}, 2, "both every and rate are given"),
    come("early", "before the opening", "arrivals", '["09:00"]', 2, "outside the event's hours"),
    come("word", "a word for a time", "arrivals", '["noon"]', 2, "'noon' is not a clock time"),
    come(
        "text of arrivals",
        "a text for a list",
        "arrivals",
        '"12:05"',
        2,
        "is not a list; write it like",
    ),
    come("no time", "a sitter of no time", "sitter", '[{ticket = "7"}]', 2, "has no time"),
    come("sitter text", "a text for a sitter", "sitter", '["Ann"]', 2, "is not a list of tables"),
    come(
        "ticket", "a long ticket", "sitter", f'[{{ticket = "{"7" * 50}", at = "12:05"}}]', 2, "12"
    ),
    plan("every", "a sitter a second", {}, 2, "outside 30 s to 86400 s", "--every", "1 s"),
    plan("rate", "nobody an hour", {"event.every": None}, 2, "rate 0 /h is out", "--rate", "0 /h"),
    plan("hands", "no hands", {}, 2, "operators 0 is not a whole number", "--operators", "0"),
    plan("hands many", "too many hands", {}, 2, "operators 99999 is", "--operators", "99999"),
    plan("slots", "nowhere to dry", {}, 0, "mail", "--plate-slots", "0", "--line-slots", "0"),
    plan("plan at", "one time of a day", {}, 2, "a plan is for the whole day", "--at", "13:00"),
    plan("plan members", "too few draws", {}, 2, "outside 20 to 2000", "--members", "1"),
    plan("break", "run back", {"event.breaks": '[["12:30", "12:10"]]'}, 2, "ends before it begins"),
    plan("break of one", "half", {"event.breaks": '["12:30"]'}, 2, "is not a list of pairs"),
    plan(
        "breaks",
        "one in another",
        {"event.breaks": '[["12:10", "12:30"], ["12:20", "12:40"]]'},
        2,
        "two breaks overlap; join them into one",
    ),
    plan(
        "vessels soup", "tanks of no bath", {"event.vessels": "{soup = 2}"}, 2, "is no bath 'soup'"
    ),
    plan("tank", "half a tank", {"event.vessels": "{developer = 1.5}"}, 2, "not a whole number"),
    plan("patience", "none", {}, 2, "wait_limit -5 min is outside", "--wait-limit", "-5 min"),
    plan("night", "no sun", NIGHT, 0, "mail"),
    Row("season at", "one time", ["season", *HERE, "--at", "12:00"], 2, "no single time"),
    Row(
        "setout at",
        "one time",
        ["setout", *HERE, "--at", "12:00"],
        2,
        "is for the whole day",
    ),
    Row("baths at", "one time", ["baths", "--at", "12:00"], 2, "not from one time"),
    Row("wash at", "one time", ["wash", "--at", "12:00"], 2, "(--series) begins at a time"),
    Row("calibrate at", "one time", ["calibrate", "--at", "12:00"], 2, "at its own time"),
    Row("season series", "no series", ["season", *HERE, "--series", "x.csv"], 2, "no time series"),
    Row("season wait", "no patience", ["season", *HERE, "--wait", "0"], 2, "wait 0 min is outside"),
    Row("tour none", "no such file", ["season", "--tour", "t.csv"], 4, "no such file or directory"),
    Row("tour url", "an address", ["season", "--tour", "https://x.org/t.csv"], 2, "a web address"),
    tour("tour head", "a heading alone", "name,date,coordinates\n", 2, "nothing under it"),
    tour("tour remark", "a remark alone", "# none\n", 2, "there is no heading"),
    tour("tour key", "a mistyped column", "name,dat\na,2027-06-12\n", 2, "column 'dat' is not"),
    tour("tour date", "a date", 'name,date,coordinates\na,12.6.27,"47.2, 12.3"\n', 2, "year first"),
    tour("tour cells", "a comma more", "name,event\na,b,c\n", 2, "more or fewer cells"),
    tour("tour quote", "a quote left open", 'name,event\n"a,b.toml\n', 2, "more or fewer cells"),
    tour("tour event", "no such file", "name,event\na,no.toml\n", 2, "there is no file no.toml"),
    tour("tour address", "an address", "name,event\na,https://x.org/a.toml\n", 2, "a web address"),
    tour("tour picture", "no picture", "name,event\na,b\n", 2, "no picture", "--plot", "a.svg"),
    tour("tour both", "an event too", "name,event\na,b\n", 2, "both an event and a tour", "x.toml"),
    Row("42 none", "no notes", ["calibrate", *HERE], 0, "there is no reading of this box"),
    Row(
        "42 one",
        "one reading",
        ["calibrate", *HERE],
        0,
        "there is only 1 reading; it takes 3 that differ",
        prepare=noted("plate 46C --at 13:15 --date 2026-06-14"),
    ),
    Row(
        "42 same",
        "one reading twice",
        ["calibrate", *HERE],
        0,
        "there is only 1 reading; it takes 3 that differ",
        prepare=noted(*["plate 46C --at 13:15 --date 2026-06-14"] * 2),
    ),
    Row(
        "42 two",
        "two readings of three differ",
        ["calibrate", *HERE[:4], "--date", "2026-06-14"],
        0,
        '"learned": false',
        prepare=noted(
            "plate 46C --at 13:15 --date 2026-06-14",
            "plate 140C --at 13:20 --date 2026-06-14",
            "plate 46C --at 13:25 --date 2026-06-14",
        ),
    ),
    Row(
        "calibrate url",
        "an address",
        ["calibrate", *HERE, "--with", "https://x.org/a.toml"],
        2,
        "is a web address",
        prepare=noted("plate 46C"),
    ),
    Row(
        "calibrate with",
        "no such event",
        ["calibrate", *HERE, "--with", "no.toml"],
        4,
        "there is no file no.toml",
        prepare=noted("plate 46C"),
    ),
    Row(
        "calibrate other box",
        "an event of another box",
        ["calibrate", *HERE, "--with", "fair.toml"],
        2,
        "fair.toml is about box 'tray', not 'default'; give an event with the same box",
        {"fair.toml": event_text({"box.name": '"tray"'})},
        prepare=noted("plate 46C"),
    ),
]
