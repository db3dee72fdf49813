"""From a dry print to one that is flat and in its folder: every way, and the choice."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.errors import InputError
from drybox.inputs.event.event import Event
from drybox.inputs.event.ways import ON_PLATE, WAY
from drybox.inputs.finish.finishing import Finishing, Pulled, read_finishing
from drybox.inputs.text.settings import Resolved
from drybox.planning.finish.day import needed_stages
from drybox.planning.finish.hand_over import Enclosure, Weighed, enclosures, plastic_activity, weigh
from drybox.planning.finish.pull import Pull, pull
from drybox.planning.finish.queue import through_stages
from drybox.planning.finish.sheet import Curling, curling_law, drawn_curling
from drybox.planning.finish.taught import Taught, taught_curl
from drybox.planning.finish.ways import (
    WAYS,
    Bench,
    DryPrint,
    FinishWay,
    choose,
    finish_way,
    flat_enough_m,
    left_flat,
    mass_needed_kg,
)
from drybox.planning.scenario.conditions import conditions
from drybox.readable import Readable
from drybox.tables import load_table

WARNINGS = (
    *("cracks", "sticks", "gloss", "damp_blotters", "light_weight", "damp_air", "mould"),
    *("tears", "ink", "sleeve"),
)
PLATE_READ_S = 1800.0
"""A reading of the plate counts for a print pulled so long after it (judgement). [s]"""


@dataclass(frozen=True, eq=False, repr=False)
class FinishResult(Readable):
    """All ways for one print or a batch, the choice, and what it stands on.

    ``choice_why`` is a code of `drybox.planning.finish.ways.choose`, or ``lies_flat`` of
    resin-coated paper; ``warnings`` some of `WARNINGS`; ``plate_from`` says where the plate's
    temperature is from: ``told``, ``read``, ``usual``, or nothing where there is no plate.
    ``done_at`` is when the last print is through the stages that the event lists, in Unix seconds,
    None where it lists none.
    """

    state: DryPrint
    ways: tuple[FinishWay, ...]
    choice: FinishWay
    choice_why: str
    pull: Pull
    enclose: tuple[Enclosure, ...]
    weighed: Weighed | None
    flat_enough_m: float
    mass_needed_kg: float
    warnings: tuple[str, ...]
    finishing: Finishing
    plate_from: str
    resolved: tuple[Resolved, ...]
    taught: Taught
    done_at: float | None


def finish_prints(
    event: Event, at: float, asked: Pulled, *, members: int, seed: int
) -> FinishResult:
    """Return how a print pulled at an instant [s] is made flat, each way, and which to take.

    `InputError` if what is said of the print cannot be.
    """
    paper, limits = event.paper, event.limits
    settings = event.reread()
    finishing = read_finishing(settings, flatten_s=limits.flatten_s)
    finishing = replace(finishing, stages=needed_stages(event, finishing.stages))
    state, plate_from, weighed = _state(event, at, asked, finishing=finishing)
    law, dry = curling_law(paper), limits.dry_activity_frac
    if paper.resin_coated:  # nothing here has to flatten it
        choice, why = left_flat(state), "lies_flat"
        ways: tuple[FinishWay, ...] = (choice,)
        enough_m = needed_kg = 0.0
        taught = Taught(mean_log=0.0, deviation_log=0.0, notes_used=0)
        best = Pull(activity=dry, gain_m=0.0, hold_gain_m=0.0, hold_helps=False)
        warnings: tuple[str, ...] = ()
    else:
        taught = taught_curl(event)
        bench = Bench(
            paper=paper,
            finishing=finishing,
            curling=drawn_curling(paper, members, seed, factor_log=taught.factor_log),
            spread=np.random.default_rng(seed + 1).standard_normal(members),
        )
        ways = tuple(finish_way(bench, state, way) for way in WAYS)
        enough_m, needed_kg = flat_enough_m(bench.curling), mass_needed_kg(paper)
        choice, why = choose(ways, enough_m, dry)
        over_dry = limits.over_dry_activity_frac
        best = pull(bench, state, choice.way, dry_activity=dry, over_dry_activity=over_dry)
        warnings = _warnings(bench, law, state, choice=choice, needed_kg=needed_kg)
    return FinishResult(
        state=state,
        ways=ways,
        choice=choice,
        choice_why=why,
        pull=best,
        enclose=enclosures(law, state, choice, folder_activity=dry, hottest=finishing.hottest),
        weighed=weighed,
        flat_enough_m=enough_m,
        mass_needed_kg=needed_kg,
        warnings=(*warnings, *_hand_over_warnings(law, choice, finishing)),
        finishing=finishing,
        plate_from=plate_from,
        resolved=tuple(settings.resolved),
        taught=taught,
        done_at=_done_at(finishing, state, choice),
    )


def _done_at(finishing: Finishing, state: DryPrint, choice: FinishWay) -> float | None:
    """Return when the last print is through the stages that follow flattening."""
    after = tuple(stage for stage in finishing.stages if stage.name != "flatten")
    flat_at = choice.flat_at.p90 or state.pulled_at
    if not after:
        return flat_at if finishing.stages else None
    each = np.ones((1, state.prints))
    through = through_stages(flat_at * each, after, each, helpers=max(finishing.helpers, 1))
    return float(through.ready_at.max())


def _state(
    event: Event, at: float, asked: Pulled, *, finishing: Finishing
) -> tuple[DryPrint, str, Weighed | None]:
    """Return the print as pulled, where its plate's temperature is from, and what it weighed."""
    dried = asked.dried or (event.ways or ("sun_plate",))[0]
    told = conditions(event.weather, event.place, at, end_at=at + 60.0, step_s=60.0)
    air_k, humidity = float(told.air_temp_k[0]), float(told.humidity_frac[0])
    plate_k, plate_from = _plate(event, at, dried, told_k=asked.plate_k)
    pulled = asked.pulled_activity
    if asked.mass_kg is not None and pulled is None and asked.sheet_kg is None:
        raise InputError(
            "a print's mass says nothing without that of a sheet of the same box",
            "",
            'weigh one, and give it like sheet_mass "3.80 g"',
        )
    on_plate = WAY[dried].metal
    state = DryPrint(
        pulled_at=at,
        pulled_activity=event.limits.dry_activity_frac if pulled is None else pulled,
        dried=dried,
        flat=on_plate or dried == "blotters",
        held_k=plate_k if on_plate and plate_k is not None else air_k,
        plate_k=plate_k,
        air_k=air_k,
        air_activity=humidity,
        home_activity=finishing.home_activity,
        prints=asked.prints,
        cold_hold_s=event.limits.flatten_s,
    )
    if asked.mass_kg is None or asked.sheet_kg is None:
        return state, plate_from, None
    weighed = weigh(event.paper, state, mass_kg=asked.mass_kg, sheet_kg=asked.sheet_kg)
    if pulled is None:
        state = replace(state, pulled_activity=weighed.activity)
    return state, plate_from, weighed


def _plate(
    event: Event, at: float, dried: str, *, told_k: float | None
) -> tuple[float | None, str]:
    """Return the plate's temperature, and where it is from."""
    if told_k is not None:
        return told_k, "told"
    read = [
        note.temp_k
        for note in event.seen
        if note.kind == "plate" and 0 <= at - note.at_s <= PLATE_READ_S and note.temp_k
    ]
    if read:
        return read[-1], "read"
    if dried == "warm_plate" and event.powered is not None and event.powered.plate_temp_k:
        return event.powered.plate_temp_k, "told"
    if dried in ON_PLATE:
        return load_table("flattening")["plate"]["temp"].value, "usual"
    return None, ""


def _warnings(
    bench: Bench, law: Curling, state: DryPrint, *, choice: FinishWay, needed_kg: float
) -> tuple[str, ...]:
    """Return what is to be watched while it is flattened, codes of `WARNINGS`."""
    row, told = load_table("flattening"), bench.finishing
    damp = state.pulled_activity > row["press"]["wettest"].value
    softening_k = float(np.median(law.softening_k(choice.activity)))
    found = {
        "cracks": state.pulled_activity < row["press"]["driest"].value,
        "sticks": damp and choice.way != "none",
        "gloss": choice.way != "none" and choice.temp_k >= softening_k,
        "damp_blotters": bool(told.blotters)
        and bench.blotter_activity(state) >= row["blotter"]["too_damp"].value,
        "light_weight": choice.way in ("cold_boards", "warm_boards", "blotters")
        and told.board_mass_kg < needed_kg,
        "damp_air": state.air_activity >= row["enclose"]["folder"].value,
    }
    return tuple(name for name in WARNINGS if found.get(name))


def _hand_over_warnings(law: Curling, choice: FinishWay, told: Finishing) -> tuple[str, ...]:
    """Return what is to be watched once it is flat, of any paper."""
    listed = {stage.name for stage in told.stages}
    mould = load_table("flattening")["enclose"]["mould"].value
    found = {
        "mould": choice.activity > mould,
        "tears": "trim" in listed and choice.activity > mould,
        "ink": "stamp" in listed,
        "sleeve": "sleeve" in listed and choice.activity > plastic_activity(law, told.hottest),
    }
    return tuple(name for name in WARNINGS if found.get(name))
