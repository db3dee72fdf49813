"""Bad weather files, of any name and kind."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.cli.bad_inputs import HEADING, HERE, Row, day, opt, sky, taken


def _sparse(folder: Path) -> None:
    with (folder / "sky.csv").open("wb") as stream:
        stream.truncate(2_000_000_000)


def _pipe(folder: Path) -> None:
    os.mkfifo(folder / "sky.csv")


def seconds_of_a_day() -> str:
    start = datetime.datetime(2027, 6, 12)
    times = (start + datetime.timedelta(seconds=second) for second in range(86400))
    return "time,air_temp_c\n" + "".join(f"{time.isoformat()},15\n" for time in times)


def weather(name: str, what: str, args: Sequence[str], status: int, says: str, **more: Any) -> Row:
    """Return a row of the command ``weather``, with a forecast beside it."""
    return Row(name, what, ["weather", *args], status, says, {"sky.csv": day()}, **more)


FORECAST = ["fetch", "o.csv", "--forecast"]
TYPICAL = ["fetch", "o.csv", "--typical", *HERE[:4]]
WHO = ["--contact", "me@example.org"]
ROWS = [
    opt("27 missing", "no such file", ["--weather", "no.csv"], 4, "cannot be opened: no such file"),
    opt("27 folder", "a folder", ["--weather", "."], 2, "is a folder, not a file"),
    sky("27 empty", "nothing in it", b"", 2, "'sky.csv' is empty"),
    sky("27 header", "a heading alone", HEADING, 2, "there is a heading but no row under it"),
    sky("28 page", "an error page", "<!DOCTYPE html><p>404</p>", 2, "is a web page, not data"),
    sky("28 binary", "a picture", b"\x89PNG\r\n\x1a\n\x00\x00", 2, "is not a text file"),
    sky("28 archive", "an archive", b"PK\x03\x04rest", 2, "is an archive; unpack it first"),
    sky("29 mark", "a byte order mark", "\ufeff" + day(), 0, '"kind": "forecast"'),
    sky("29 ends", "line ends of another system", day().replace("\n", "\r\n"), 0, "17 rows"),
    sky(
        "29 latin",
        "another encoding",
        day(heading="time,Temp (°C),humidity_pct,wind_m_s,cloud_oktas").encode("latin-1"),
        0,
        "Temp (°C)",
    ),
    sky("29 wide", "a third encoding", day().encode("utf-16"), 2, "is UTF-16 text; save it as"),
    sky("30 cut", "a row cut short", day("2027-06-12T21:00,15"), 2, "cut short (sky.csv, line 18)"),
    sky("30 no time", "no time column", "air_temp_c,wind_m_s\n15,2\n", 2, "no heading with a time"),
    sky("30 no weather", "times alone", "time,name\n2027-06-12T12:00,x\n", 2, "no heading with a"),
    sky("31 codes", "codes for missing", day("2027-06-12T12:00,99.9,999,99,99"), 0, "left out"),
    sky("31 sun", "a code for sun", day(heading="time,ghi,rh,w,c", rest=",9999,1,1,1"), 0, "GHI"),
    sky("32 dark", "sun below nothing", day(heading="time,ghi", rest=",-500"), 2, "outside 0 to"),
    sky("32 bright", "sun of another star", day(heading="time,ghi", rest=",5000"), 2, "outside 0"),
    sky("32 wet", "air beyond wet", day("2027-06-12T12:00,15,150,1,2"), 0, "1 value outside"),
    sky("32 hot", "air of an oven", day(rest=",80,60,1,2"), 2, "air temperature 80 and most"),
    sky(
        "33 twice",
        "two weathers at once",
        day("2027-06-12T12:00,15,60,1,2") + "2027-06-12T12:00,25,60,1,2\n",
        2,
        "give different weather for the same time",
    ),
    sky("33 again", "a row twice", day() + "2027-06-12T12:00,15,60,1,2\n", 0, "came twice"),
    sky(
        "33 unsorted",
        "rows out of order",
        day() + "2027-06-12T04:00,15,60,1,2\n",
        0,
        "were not in time order",
    ),
    sky(
        "33 gap",
        "hours missing",
        "\n".join(line for line in day().split("\n") if "T12" not in line and "T13" not in line),
        0,
        "2 rows missing between others",
    ),
    sky("33 naive", "times without a zone", day(), 0, "Europe/Vienna"),
    sky(
        "34",
        "semicolons and decimal commas",
        day(heading=HEADING.replace(",", ";"), rest=";15,5;60;1;2"),
        0,
        "columns split by ';'",
    ),
    sky("35 other day", "another day", day().replace("06-12", "06-20"), 2, "does not reach 2027-0"),
    sky("35 stale", "an old one", "# issued 2027-06-01T06:00\n" + day(), 0, "11 days before"),
    *(
        opt(f"36 {name}", "an address", ["--weather", name], 2, "is an address, not a file")
        for name in ("https://example.org/sky.csv", "file:///tmp/sky.csv")
    ),
    opt("37 large", "2 GB", ["--weather", "sky.csv"], 2, "larger than 50 MB", prepare=_sparse),
    opt("37 endless", "no end", ["--weather", "/dev/zero"], 2, "is a device or a pipe"),
    opt("37 pipe", "a pipe", ["--weather", "sky.csv"], 2, "is a device", prepare=_pipe),
    sky("dates", "days that are none", day("2027-06-12T25:00,1,1,1,1"), 2, "line 19"),
    sky("month", "months that are none", day().replace("2027-06-12", "2027-13-12"), 2, "line 2"),
    sky("words", "words for numbers", day("2027-06-12T12:00,warm,60,1,2"), 2, "'warm' in column"),
    sky("nan", "cells of nothing", day("2027-06-12T12:00,nan,,-,n/a"), 0, "empty cell"),
    sky(
        "unit in a cell",
        "a unit in a cell",
        day("2027-06-12T12:00,15 C,60,1,2"),
        2,
        "into the heading, like",
    ),
    sky("inf", "a number past all", day("2027-06-12T12:00,inf,60,1,2"), 2, "is not a number"),
    sky("cell power", "a power past all", day("2027-06-12T12:00,1e999,60,1,2"), 0, "value outside"),
    sky("all empty", "no value at all", day(rest=",,,,"), 0, "so the column is not used"),
    sky("wide row", "a row too long", day("2027-06-12T12:00,1,60,1,2,3,4"), 2, "line 9"),
    sky(
        "two columns",
        "a column twice",
        day(heading="time,air_temp_c,air_temp_c", rest=",1,2"),
        0,
        "not used: air_temp_c",
    ),
    sky(
        "unit",
        "no such unit",
        day(heading="time,temp (furlong)", rest=",1"),
        0,
        "names no unit; °C is assumed",
    ),
    sky("one row", "one hour", "time,air_temp_c\n2027-06-12T12:00,20\n", 0, "forecast ends at"),
    sky(
        "no ends",
        "one endless line",
        "time,air_temp_c," + "x," * 200_000,
        2,
        "no heading with a time",
    ),
    sky(
        "long",
        "seconds of a day",
        seconds_of_a_day(),
        2,
        "86400 rows are more than 12000; keep the d",
    ),
    sky("quote", "a quote left open", day('2027-06-12T12:00,"15,60,1,2'), 2, "line 9"),
    sky("json", "a table of another kind", '{"type": "Feature"}', 2, "sky.csv"),
    sky(
        "deep json",
        "brackets in brackets",
        '{"properties": {"timeseries": ' + "[" * 50_000,
        2,
        "sky.csv",
    ),
    sky("epw", "a year of one line", "LOCATION,a,b,c,d,1,2,3,4,5\n", 2, "sky.csv"),
    weather("show none", "no such file", ["show", "no.csv"], 4, "no such file or directory"),
    weather("show url", "an address", ["show", "https://x.org/a.csv"], 2, "an address, not a file"),
    weather("33 show", "times without a zone", ["show", "sky.csv"], 0, "no offset"),
    weather("show day", "a day not in it", ["show", "sky.csv", "--date", "2027-07-12"], 2, "reach"),
    weather("show zone", "no zone", ["show", "sky.csv", "--timezone", "Mars/X"], 2, "is not known"),
    weather("33 convert", "no zone", ["convert", "sky.csv", "o.csv"], 2, "have no offset from UTC"),
    weather("convert kind", "another kind", ["convert", "sky.csv", "o.epw"], 2, "not end in .csv"),
    weather(
        "38 convert self",
        "the file it reads",
        ["convert", "sky.csv", "sky.csv", "--force", "--timezone", "UTC"],
        4,
        "sky.csv is also read for this answer",
    ),
    weather(
        "38 convert exists",
        "a file that is there",
        ["convert", "sky.csv", "o.csv", "--timezone", "UTC"],
        4,
        "o.csv exists",
        prepare=taken("o.csv"),
    ),
    weather("fetch what", "neither", ["fetch", "o.csv"], 2, "add --forecast or --typical"),
    weather("fetch who", "nobody asks", [*FORECAST, *HERE[:4]], 2, "asks who fetches"),
    weather("fetch where", "nowhere", [*FORECAST, *WHO], 2, "the latitude is missing"),
    weather("36 fetch", "a file's address", [*TYPICAL, "--url", "file:///etc/x"], 2, "no web addr"),
    weather("46 wait", "no time to wait", [*TYPICAL, "--timeout", "0"], 2, "timeout 0 is outside"),
    weather("46 exists", "a file that is there", TYPICAL, 4, "exists", prepare=taken("o.csv")),
    weather(
        "46 offline",
        "nobody answers",
        [*FORECAST, *HERE[:4], *WHO, "--url", "http://127.0.0.1:9/"],
        4,
        "127.0.0.1 cannot be reached; check the connection",
    ),
]
