"""Two invented days of field notes, written by the command, and the event they are about."""

from __future__ import annotations

from pathlib import Path

from drybox.cli import main
from tests.running import event_file

NOW_S = 1_813_312_800.0  # 2027-06-18 14:00 in Vienna

FAIR = """\
[place]
name = "Green at Sallow End"
latitude = 47.2
longitude = 12.3
elevation = "500 m"
timezone = "Europe/Vienna"

[box]
name = "steel box"
bearing = "180 deg"
tilt = "35 deg"

[event]
name = "Midsummer fair"
date = "2027-06-19"
opens = "10:00"
closes = "16:00"

[weather]
sky = "clear"
air_temp = "24 C"
humidity = "50 %"
wind = "2.5 m/s"
"""

DAYS = {
    "2027-06-12": """\
        10:00 sky clear 22C 50% 2m/s
        11:00 plate 51C
        12:00 plate 57C
        13:00 plate 60C
        14:00 plate 28C
        11:30 weighed squeegeed 5.9g
        11:35 laid A1
        11:50 dry A1
        12:30 laid A2
        12:42 dry A2
        12:30 laid A3 --way line
        13:20 dry A3
        13:00 promise A1 kept
        15:00 promise A3 missed""",
    "2027-06-13": """\
        10:00 sky clear 25C 45% 1.5m/s
        11:00 plate 55C
        12:00 plate 62C
        13:00 plate 66C
        11:40 weighed squeegeed 5.7g
        11:45 laid B1
        11:57 dry B1
        13:10 laid B2
        13:19 dry B2
        13:30 dry B3""",
}
"""One slip, the plate at 14:00, and a print felt dry that was never laid on. All invented."""


def write_event(folder: Path) -> Path:
    return event_file(folder, FAIR)


def write_notes(event: Path) -> None:
    """Write the notes down with the command, into the file that DRYBOX_NOTES names."""
    for date, lines in DAYS.items():
        for line in lines.splitlines():
            at, *words = line.split()
            when = ["--at", at, "--date", date, "--event", str(event)]
            assert main(["note", *words, *when]) == 0
