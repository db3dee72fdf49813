"""What is odd about a field note among the others: said at once, while it can be mended."""

from __future__ import annotations

from collections.abc import Sequence

from drybox.inputs.finish.curls import LONGEST_S
from drybox.inputs.notes.note import NAMES, Note
from drybox.inputs.text.near_names import near_name
from drybox.tables import load_table
from drybox.units import KELVIN_AT_0_C

DAY_S = 86400.0
_MEND = "if that is meant, take this back with 'drybox note undo' and write it again"


def doubts_about(added: Note, notes: Sequence[Note]) -> list[str]:
    """Return sentences on what is odd about a note just added; none if nothing is."""
    others = [note for note in notes if note.id != added.id]
    twice = ["Another reading was noted for the same minute; both are kept."]
    return [
        *(twice if added.flag else []),
        *_hot(added),
        *_name_doubts(added, others),
        *_tank_doubts(added, others),
        *_print_doubts(added, others),
    ]


def _hot(added: Note) -> list[str]:
    """Doubt a plate hotter than the sun makes one; in °F the same figure may be right."""
    limit_k = load_table("limits")["sun_plate_reading"]["most"].value
    if added.kind != "plate" or added.temp_k is None or added.temp_k <= limit_k:
        return []
    read, most = (kelvin - KELVIN_AT_0_C for kelvin in (added.temp_k, limit_k))
    return [
        f"A plate in the sun hardly passes {most:.0f} °C: if it was read in Fahrenheit, take this "
        f"back with 'drybox note undo' and write: drybox note plate {read:.0f}F"
    ]


def _name_doubts(added: Note, others: Sequence[Note]) -> list[str]:
    found = []
    for kind in NAMES:
        name = getattr(added, kind)
        known = ["default", *(getattr(note, kind) for note in others)]
        if not name or name in known:
            continue
        known += list(load_table("papers")) if kind == "paper" else []
        near = near_name(name, known)
        if near:
            found.append(f"The {kind} '{name}' is new; '{near}' is known: {_MEND}.")
    return found


def _tank_doubts(added: Note, others: Sequence[Note]) -> list[str]:
    if added.kind != "tank":
        return []
    from drybox.inputs.wet.process import tank_names

    known = [*tank_names(), *(note.bath for note in others if note.kind == "tank")]
    if added.bath in known:
        return []
    near = near_name(added.bath, known)
    if near:
        return [f"The tank '{added.bath}' is new; '{near}' is known: {_MEND}."]
    return [f"The tank '{added.bath}' is new; usual ones are {', '.join(tank_names())}."]


def _print_doubts(added: Note, others: Sequence[Note]) -> list[str]:
    if added.kind in ("curl", "flat"):
        return _curled(added, others)
    ticket, keys = added.ticket, (added.ticket, added.event, added.box, added.paper)
    same = [
        note
        for note in others
        if note.kind in ("laid", "dry")
        and (note.ticket, note.event, note.box, note.paper) == keys
        and 0 <= added.at_s - note.at_s < DAY_S
    ]
    last = max(same, key=lambda note: note.at_s).kind if same else ""
    none = f"No laying-on of {ticket} is noted before it that day for the same event, box and paper"
    again = f"drybox note laid {ticket} --at HH:MM"
    if added.kind in ("dry", "touch") and not any(note.kind == "laid" for note in same):
        return [
            f"{none}, so its drying time is not known: {again}, or drybox note undo if another "
            "print was meant"
        ]
    if added.kind == "laid" and last == "laid":
        return [
            f"{ticket} was laid on before and is not noted dry since: the last laying-on counts."
        ]
    if added.kind == "weighed" and not added.state and last == "dry":
        return [
            f"{ticket} was noted dry before it, so nothing is learned of it; a dry print's own "
            f"mass is written like: drybox note weighed {ticket} 3.6g dry"
        ]
    if added.kind == "weighed" and not added.state and not last:
        return [f"{none}, so nothing is learned of it: {again}"]
    return []


def _curled(added: Note, others: Sequence[Note]) -> list[str]:
    """Say it where nobody noted how a print dried, on which its curl rests."""
    if any(
        note.kind == "laid"
        and (note.ticket, note.paper) == (added.ticket, added.paper)
        and 0 <= added.at_s - note.at_s <= LONGEST_S
        for note in others
    ):
        return []
    return [
        f"No laying-on of {added.ticket} is noted in the two weeks before it, so it is taken for "
        f"one that hung free: drybox note laid {added.ticket} --way plate --at HH:MM"
    ]
