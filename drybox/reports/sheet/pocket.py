"""What the pocket page works from: tickets, lookups and names, as numbers for its script."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from drybox.inputs.notes.note import NAMES
from drybox.reports.sheet.parts import finite_time, meter, place_of_print
from drybox.reports.text.answer import Answer
from drybox.reports.text.phrases import local_day, printable
from drybox.reports.text.promise_words import IF_LUCKY, IN_SHORT

LYING = ("laid", "touch")
"""The last note of a print that lies somewhere still."""

READING_KEPT_MIN = 20.0
"""How long a plate reading stands for prints laid on after it (judgement). [min]"""


def pocket_data(plan: Answer, lookups: Answer | None, *, units: str, title: str = "") -> str:
    """Return what the script reads, as JSON in plain ASCII.

    ``lookups`` has minutes to dry by the clock under each sky, and by the thermometer; ``units``
    are those of thermometer readings typed, ``title`` the event's.
    """
    sitters = plan.result.get("sitters", ())
    told = {row["key"]: row["value"] for row in plan.inputs}
    names = {name: printable(str(told.get(f"{name}.name") or "")) for name in NAMES}
    names["event"] = names["event"] or printable(title)
    names["place"] = names["place"] or printable(str(plan.place.get("name") or ""))
    begin = min((float(row["sitting_at"]) for row in sitters), default=0.0)
    data = {
        "day": local_day(begin, plan.timezone),
        "zone": plan.timezone,
        "us": units == "us",
        "names": names,
        "keptMin": READING_KEPT_MIN,
        "made": _whole(plan.result.get("now_at")),
        "noted": [
            {"id": note["id"], "kind": note["kind"], "at": note["noted_at"]}
            | {name: printable(note[name]) for name in ("ticket", "way", "state") if note[name]}
            for note in plan.result.get("noted") or ()
        ],
        "tickets": [_ticket(row, float(plan.result["dry_to_ready_minutes"])) for row in sitters],
        "rules": [
            [
                _whole(rule["from_at"]),
                _whole(rule["until_at"]),
                rule["promise_after_min"],
                f"it {IF_LUCKY}," if rule.get("why") == "if_lucky" else _how(rule),
            ]
            for rule in plan.result.get("sit_now") or ()
            if finite_time(rule.get("promise_after_min"))
        ],
        **(_lookups(lookups) if lookups else {"skies": [], "starts": [], "meter": None}),
    }
    return json.dumps(data, separators=(",", ":"), allow_nan=False)


def _ticket(row: Mapping[str, Any], flat_min: float) -> dict[str, Any]:
    """Return a ticket; one that the plan does not see ready is so ``flat_min`` after it is dry."""
    way = row.get("way")
    on, dry, ready = row.get("laid_on_at"), row.get("dry_at") or {}, row.get("ready_at") or {}
    ends = [_after(dry.get(p), on) for p in ("p10", "p50", "p90")]
    flat = _after(ready.get("p50"), dry.get("p50"))
    return {
        "ticket": printable(str(row["ticket"])),
        "name": printable(str(row.get("name") or "")),
        "sits": _whole(row["sitting_at"]),
        "on": _whole(on) if way else None,
        "way": way or "",
        "where": place_of_print(row) or "",
        "minutes": ends,
        "noted": row.get("stage") in LYING,
        "touch": _after((row.get("touch_dry_at") or {}).get("p50"), on),
        "flat": flat_min if flat is None or flat < 0.0 else flat,
        "by": _whole(row.get("promise_at")),
        "after": row.get("promise_after_min") if finite_time(row.get("promise_at")) else None,
        "how": _how(row),
        "atTouch": "touch_dry" in (row.get("hand_over"), row.get("ready_as")),
    }


def _how(row: Mapping[str, Any]) -> str:
    return IN_SHORT[row.get("hand_over") or "dry"]


def _whole(at: Any) -> int | None:
    return round(at) if finite_time(at) else None


def _after(later: Any, sooner: Any) -> float | None:
    if not (finite_time(later) and finite_time(sooner)):
        return None
    return round((later - sooner) / 60.0, 2)


def _ends(minutes: Mapping[str, float]) -> list[float | None]:
    return [
        round(minutes[p], 2) if finite_time(minutes[p]) else None for p in ("p10", "p50", "p90")
    ]


def _lookups(lookups: Answer) -> dict[str, Any]:
    skies: Sequence[Mapping[str, Any]] = lookups.result["skies"]
    return {
        "starts": [_whole(load["laid_on_at"]) for load in skies[0]["loads"]],
        "skies": [
            {
                "name": sky["sky"],
                "word": sky.get("word", ""),
                "minutes": [_ends(load["minutes"]) for load in sky["loads"]],
                "hot": [int(load["too_hot"]) for load in sky["loads"]],
            }
            for sky in skies
        ],
        "meter": _meter(lookups.result["thermometer"]),
        "damp": [
            [_whole(row["at"]), round(row["humidity_frac"], 2)]
            for row in lookups.result.get("quarters", ())[::4]
        ],
    }


def _meter(pairs: Sequence[Mapping[str, Any]]) -> dict[str, Any] | None:
    if not pairs:
        return None
    readings, damp, found = meter(pairs)
    return {
        "readings": [round(reading, 2) for reading in readings],
        "damp": damp,
        "hot": [int(found[damp[0], reading]["too_hot"]) for reading in readings],
        "minutes": [
            [_ends(found[share, reading]["minutes"]) for reading in readings] for share in damp
        ],
    }
