"""Answers of an invented day, without computing it: what sheet, calendar and pictures are fed."""

from __future__ import annotations

import math
from typing import Any

from drybox.reports.text.answer import Answer, Column, Table

ZONE = "Europe/Vienna"
MIDNIGHT_S = 1812751200.0  # 2027-06-12 00:00 there
HOSTILE = "<script>alert(1)</script> \"Ann\" & 'Bo' 🎪 \u202eمرحبا $x_1$"
HOUR_S = 3600.0


def at(hour: float) -> float:
    return MIDNIGHT_S + hour * HOUR_S


def minutes(likely: float) -> dict[str, float]:
    return {"p10": 0.8 * likely, "p50": likely, "p90": 1.5 * likely}


def _answer(command: str, result: dict[str, Any], name: str, **more: Any) -> Answer:
    place = {
        "name": name,
        "latitude_deg": 46.95,
        "longitude_deg": 13.4,
        "elevation_m": 1150.0,
        "timezone": ZONE,
    }
    said = {
        "lead": [f"{command} first of {name}.", "Then this.", "Kept: 90 %.", "Peg."],
        "assumptions": [f"{command} assumes {name}."],
        "warnings": [f"{command} warns of {name}."],
        "cautions": ["Bare metal burns."],
    }
    return Answer(command, place=place, result=result, timezone=ZONE, **(said | more))


def setout(name: str = "Upper Larkmead") -> Answer:
    hours = [8.5 + 0.25 * n for n in range(52)]
    plate = [
        {
            "at": at(hour),
            "plate_irradiance_w_m2": 600.0,
            "plate_temp_c": 20.0 + 30.0 * math.sin((hour - 8.5) / 13.0 * math.pi),
            "air_temp_c": 18.0 + 0.4 * (hour - 8.5),
        }
        for hour in hours
    ]
    result = {
        "sunrise_at": at(5.2),
        "sunset_at": at(21.0),
        "set_out_at": at(9.5),
        "first_load_at": at(10.0),
        "sure": True,
        "last_load_at": at(18.0),
        "metal_temp_c": 63.0,
        "wind": {"tilt_deg": 35.0, "tips_m_s": 12.0, "slides_m_s": 11.4, "gust_m_s": 4.0},
        "plate": plate,
        "loads": [{"at": at(10 + 0.25 * n), "minutes": minutes(15 + n)} for n in range(33)],
        "blocked": [
            {"from_at": at(16), "until_at": at(17), "name": name, "passed_frac": 0.0},
        ],
    }
    columns = (Column("at", "At"), Column("plate_temp_c", "empty plate"))
    return _answer("setout", result, name, tables=[Table("Through the day", columns, plate[::4])])


def aim(name: str = "Upper Larkmead") -> Answer:
    turns = [
        {
            "at": at(hour),
            "bearing_true_deg": bearing,
            "bearing_magnetic_deg": bearing - 4.6,
            "tilt_deg": tilt,
            "prop_height_mm": 500 * math.sin(math.radians(tilt)),
            "plate_irradiance_w_m2": 600.0,
        }
        for hour, bearing, tilt in ((10, 122, 35), (13.25, 180, 25), (15.25, 235, 85), (17, 270, 0))
    ]
    seen = [
        {"shadow_mm": 14.0, "shadow_points_to": "4 o'clock", "shadow_hour": 4},
        {"shadow_mm": 0.0, "shadow_points_to": "12 o'clock", "shadow_hour": 12},
        {"shadow_mm": 400.0, "shadow_points_to": "7 o'clock", "shadow_hour": 7},
        {"shadow_mm": None, "shadow_points_to": "no sun"},
    ]
    rows = [turn | shadow for turn, shadow in zip(turns, seen, strict=True)]
    peg = [{"key": "aim.peg", "value": 50.0, "unit": "mm", "source": "default"}]
    return _answer(
        "aim",
        {"at": at(10), "turns": turns},
        name,
        inputs=peg,
        tables=[Table("Turn the box", (Column("at", "from"),), rows)],
    )


def lookups(name: str = "Upper Larkmead") -> Answer:
    names = ["forecast", "clear sun", "thin cloud", "broken cloud", "overcast"]
    words = ["", "clear", "thin cloud", "broken cloud", "overcast"]
    skies = [
        {"sky": sky, "word": words[n], "loads": _loads(12.0 + 14.0 * n)}
        for n, sky in enumerate(names)
    ]
    pairs = [
        {
            "humidity_frac": damp,
            "plate_temp_c": reading,
            "minutes": minutes((30 + 60 * damp) * (45 / reading) ** 2)
            if damp < 0.9 or reading > 30
            else dict.fromkeys(("p10", "p50", "p90"), math.inf),
            "too_hot": reading > 58,
        }
        for damp in (0.3, 0.5, 0.7, 0.9)
        for reading in (30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0)
    ]
    result = {
        "skies": skies,
        "thermometer": pairs,
        "wet_limit_c": 50.0,
        "air_temp_c": 22.0,
        "wind_m_s": 0.5,
        "quarters": [
            {
                "at": at(8 + 0.25 * n),
                "sun_elevation_deg": 66.0 - 1.6 * (8 + 0.25 * n - 13.2) ** 2,
                "sun_azimuth_true_deg": 180.0 + 18.0 * (8 + 0.25 * n - 13.2),
                "humidity_frac": 0.6 - 0.02 * n / 4,
            }
            for n in range(44)
        ],
    }
    return _answer("lookups", result, name, lead=[], tables=[])


def _loads(likely: float) -> list[dict[str, Any]]:
    found = []
    for number in range(33):
        laid = at(10 + 0.25 * number)
        wait = minutes(likely + number % 7)
        if number == 32 and likely > 60:
            wait["p90"] = math.inf
        pull = {name: laid + 60 * value for name, value in wait.items()}
        found.append({"laid_on_at": laid, "minutes": wait, "pull_at": pull, "too_hot": number == 5})
    return found


def plan(name: str = "Upper Larkmead", sitters: int = 32) -> Answer:
    rows = [
        {
            "ticket": f"{number + 1}",
            "name": name if number == 1 else "",
            "sitting_at": at(10) + 900.0 * number,
            "laid_on_at": at(10.5) + 900.0 * number,
            "dry_at": {
                p: at(10.7 + 0.1 * late) + 900.0 * number if number < 29 else None
                for late, p in enumerate(("p10", "p50", "p90"))
            },
            "promise_at": at(11.25) + 900.0 * number,
            "way": "sun_plate" if number < 29 else None,
            "slot": 1 + number % 3 if number < 29 else None,
            "hand_over": "mail" if number > 28 else "damp" if number == 20 else "dry",
        }
        for number in range(sitters)
    ]
    result = {
        "sitters": rows,
        "dry_to_ready_minutes": 15.0,
        "sit_now": [
            {
                "from_at": at(10),
                "until_at": at(18),
                "promise_after_min": 75.0,
                "hand_over": "dry",
            }
        ],
        "last_dry_ticket": "29" if sitters > 28 else None,
        "slots": {"plate": 3, "line": 8},
        "off_plate_way": "line_shade",
        "breaks": [
            {"spot": name, "use": "box", "from_at": at(16), "until_at": at(17), "cause": name},
            {"spot": name, "use": "camera", "from_at": at(17), "until_at": at(18), "cause": ""},
        ],
        "pauses": [{"from_at": at(13), "until_at": at(13.5)}],
        "tank_changes": [{"at": at(13.5), "what": "Change the fixer"}],
    }
    goods = (Column("what", "What"), Column("amount", "amount"))
    bring = [{"what": "Wash water", "amount": "38 L"}, {"what": name, "amount": "1 set"}]
    tried = (Column("change", "What if"), Column("more", "dry prints"))
    tables = [
        Table("Sitters", (Column("ticket", "No."),), rows, name="sitters"),
        Table("What one more would bring", tried, [{"change": "one tray", "more": "+0.9"}]),
        Table("Bring", goods, bring, name="bring"),
    ]
    return _answer("plan", result, name, tables=tables)


def baths(name: str = "Upper Larkmead") -> Answer:
    columns = (Column("bath", "Bath"), Column("sheets_left", "sheets left"), Column("limit", "by"))
    rows = [
        {"bath": bath, "sheets_left": left, "limit": "carry-over"}
        for bath, left in (("developer", 30), ("stop", 60), ("fixer", 24))
    ]
    return _answer("baths", {"bring": []}, name, tables=[Table("The baths", columns, rows)])


def whole_day(name: str = "Upper Larkmead") -> list[Answer]:
    return [part(name) for part in (plan, setout, aim, lookups, baths)]


def touch_dry_day() -> list[Answer]:
    """Return the day, its first print promised touch dry."""
    found = whole_day()
    first = found[0].result["sitters"][0]
    touch = {p: at(10.6 + 0.1 * late) for late, p in enumerate(("p10", "p50", "p90"))}
    first |= {"hand_over": "touch_dry", "touch_dry_at": touch}
    return found


def crowded_day(sitters: int = 60) -> list[Answer]:
    """Return the day with more tickets than one page of paper takes."""
    return [plan(sitters=sitters), *whole_day()[1:]]
