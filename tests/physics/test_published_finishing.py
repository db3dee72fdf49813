"""Curl and flattening against published and hand-worked values, and the limits they must keep.

No measured curl of baryta paper against humidity was found: the film of 1944 stands in.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybox.inputs.event.event import load_event
from drybox.inputs.event.paper import Paper
from drybox.physics.curl import (
    Strains,
    bilayer_curvature,
    curvature_of_lift,
    edge_lift_m,
    humidity_strain_frac,
    softening_temp_k,
)
from drybox.physics.flattening import (
    HeldStep,
    cockle_pressure_pa,
    cooling_time_constant_s,
    rigidity_n_m,
    stack_activity,
)
from drybox.physics.sorption import SheetSorption
from drybox.planning.finish.sheet import Curling, curling_law
from drybox.planning.scenario.models import isotherm, sheet_model, sheet_sorption
from drybox.tables import load_table
from tests.reference import Row, rows

PLACE = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
INCH_M = 0.0254
CURL, FLAT = load_table("curl"), load_table("flattening")
BASE_PA = CURL["paper"]["modulus"].value


@cache
def paper(stock: str = "fibre double weight", **told: object) -> Paper:
    keys = {f"paper.{key}": value for key, value in told.items()}
    return load_event(None, PLACE | {"paper.stock": stock} | keys).paper


@cache
def law(stock: str = "fibre double weight", **told: object) -> Curling:
    return curling_law(paper(stock, **told))


def sag_over_span(span_m: float, **layers: Any) -> float:
    return float(bilayer_curvature(**layers) * span_m**2 / 8)


def tip_of_cantilever_m(length_m: float, **layers: Any) -> float:
    return float(bilayer_curvature(**layers) * length_m**2 / 2)


def curvature_by_strain(modulus_ratio: list[float]) -> Any:
    return bilayer_curvature(1.0, 0.5, 0.5, modulus_ratio)


def film_over_measured(arc_m: float, rise_in: list[float], **film: Any) -> Any:
    measured = [curvature_of_lift(rise * INCH_M, arc_m) for rise in rise_in]
    ratio = film.pop("stiffness_ratio") / (film["layer_m"] / film["base_m"])
    ours = bilayer_curvature(modulus_ratio=ratio, **film)
    return ours / (np.array(measured[1:]) - measured[0])


def slope_by_paper(stock: list[str]) -> list[float]:
    """From the lift of each sheet between 0.70 and 0.60, as a photographer would measure it."""
    found = []
    for each in stock:
        sheet = law(each)
        lift_m = float(sheet.lift_m(0.70, 0.60)[0])
        found.append(curvature_of_lift(lift_m, sheet.arc_m) / 10)
    return found


def held(minutes: float, temp_c: float, begin: float, end: float, flat: float) -> float:
    size = 200
    edges = np.linspace(begin, end, size + 1)
    steps = [
        HeldStep(minutes * 60 / size, temp_c + 273.15, a, b) for a, b in itertools.pairwise(edges)
    ]
    return float(law().held(steps, np.array([flat]))[0])


def forgotten(minutes: list[float], temp_c: list[float], activity: list[float]) -> list[float]:
    """By how much of a step of 0.1 is gone, held flat at one humidity."""
    return [
        1 - (held(m, t, a, a, a + 0.1) - a) / 0.1
        for m, t, a in zip(minutes, temp_c, activity, strict=True)
    ]


def settled(print_activity: list[float], blotter_activity: float) -> list[float]:
    sheet = sheet_sorption(paper())
    blotter = SheetSorption([(isotherm("fibre"), FLAT["blotter"]["mass"].value)])
    return [stack_activity(sheet, blotter, a, blotter_activity) for a in print_activity]


def sheet_cooling_s() -> float:
    return cooling_time_constant_s(sheet_model(paper(), "sun_plate").dry_heat_j_m2_k, 2 * 12.0)


def board_cooling_min() -> float:
    row = FLAT["boards"]
    heat = row["thickness"].value * row["density"].value * row["specific_heat"].value
    return cooling_time_constant_s(heat, row["loss"].value) / 60


def pressure_on_cockle(amplitude_m: float, wave_m: list[float]) -> list[float]:
    stiff = rigidity_n_m(BASE_PA, paper().thickness_m)
    return [cockle_pressure_pa(stiff, amplitude_m, wave) for wave in wave_m]


VALUES: dict[str, Callable[..., Any]] = {
    "sag_over_span": sag_over_span,
    "tip_of_cantilever_m": tip_of_cantilever_m,
    "curvature_by_strain": curvature_by_strain,
    "curvature_of_rise": curvature_of_lift,
    "emulsion_shrinkage_frac": lambda flat_activity, activity: humidity_strain_frac(
        Strains(
            gelatin_damp=CURL["gelatin"]["strain_damp"].value,
            gelatin_dry=CURL["gelatin"]["strain_dry"].value,
            bend_activity=CURL["gelatin"]["bend_at"].value,
            paper=0.0,
        ),
        flat_activity,
        activity,
    ),
    "softening_c": lambda moisture_frac: (
        softening_temp_k(
            moisture_frac,
            CURL["gelatin"]["dry_softening"].value,
            CURL["gelatin"]["plasticiser"].value,
        )
        - 273.15
    ),
    "softening_by_humidity_c": lambda activity: law().softening_k(activity) - 273.15,
    "slope_by_paper": slope_by_paper,
    "free_flat_activity": lambda temp_c: [float(law().left_free(t + 273.15)[0]) for t in temp_c],
    "forgotten_frac": forgotten,
    "flat_after_hold": lambda minutes, temp_c, begin_activity, end_activity, flat_activity: held(
        minutes, temp_c, begin_activity, end_activity, flat_activity
    ),
    "flat_after_drying": lambda minutes, temp_c, begin_activity, end_activity, flat_activity: held(
        minutes, temp_c, begin_activity, end_activity, flat_activity
    ),
    "stack_activity": settled,
    "sheet_cooling_s": sheet_cooling_s,
    "cockle_pressure_pa": pressure_on_cockle,
}
RANGES: dict[str, Callable[..., Any]] = {
    "film_over_measured": film_over_measured,
    "gelatin_stress_pa": lambda activity: (
        CURL["gelatin"]["modulus"].value
        * humidity_strain_frac(law().strains, law().left_free(298.15), np.array(activity))
    ),
    "board_cooling_min": board_cooling_min,
}


@pytest.mark.parametrize("row", rows("finishing", *VALUES))
def test_published_finishing(row: Row) -> None:
    row.check(VALUES[row.quantity](**row.inputs))


@pytest.mark.parametrize("row", rows("finishing", *RANGES))
def test_finishing_lies_in_the_range_known(row: Row) -> None:
    row.check_between(RANGES[row.quantity](**row.inputs))


def test_every_row_is_tried() -> None:
    assert {row.values[0].quantity for row in rows("finishing")} == {*VALUES, *RANGES}


activities = st.floats(0.1, 0.9)
sheets = st.sampled_from(["fibre double weight", "fibre medium weight", "fibre single weight"])


@given(flat=activities, stock=sheets)
def test_a_sheet_lies_flat_in_the_air_in_which_it_was_flat(flat: float, stock: str) -> None:
    assert law(stock).lift_m(flat, flat)[0] == 0.0


@given(flat=st.floats(0.5, 0.85), air=st.floats(0.15, 0.8), step=st.floats(0.01, 0.1))
def test_drier_air_curls_more_and_inward(flat: float, air: float, step: float) -> None:
    sheet = law()
    assert sheet.lift_m(flat, air - step)[0] > sheet.lift_m(flat, air)[0]
    assert np.sign(sheet.lift_m(flat, air)[0]) == np.sign(flat - air)


@given(dry=st.floats(0.2, 0.7), thin=st.floats(0.14, 0.3), more=st.floats(0.01, 0.2))
def test_a_thicker_base_curls_less(dry: float, thin: float, more: float) -> None:
    lifts = [
        curling_law(replace(paper(), thickness_m=mm / 1e3)).lift_m(0.75, dry)[0]
        for mm in (thin, thin + more)
    ]
    assert lifts[1] < lifts[0]


@given(ratio=st.floats(0.01, 100.0), thin=st.floats(1e-6, 1e-3), base=st.floats(1e-5, 1e-3))
def test_layers_that_move_alike_do_not_bend(ratio: float, thin: float, base: float) -> None:
    alike = Strains(0.02, 0.02, 0.5, 0.02)
    strain = humidity_strain_frac(alike, 0.8, 0.3)
    assert bilayer_curvature(strain, thin, base, ratio) == pytest.approx(0.0, abs=1e-12)


def test_paper_without_gelatin_does_not_bend() -> None:
    assert law(gelatin="0 g/m2").lift_m(0.75, 0.3)[0] == 0.0


@given(ratio=st.floats(0.05, 20.0), thin=st.floats(0.01, 1.0))
def test_the_law_is_the_same_seen_from_either_layer(ratio: float, thin: float) -> None:
    ours = bilayer_curvature(0.01, thin, 1.0, ratio)
    theirs = bilayer_curvature(0.01, 1.0, thin, 1 / ratio)
    assert ours == pytest.approx(theirs, rel=1e-9)


@given(lift_mm=st.floats(-44.0, 44.0), arc_m=st.floats(0.126, 0.6))
def test_a_lift_and_its_curvature_say_the_same(lift_mm: float, arc_m: float) -> None:
    curvature = curvature_of_lift(lift_mm / 1e3, arc_m)
    assert edge_lift_m(curvature, arc_m) == pytest.approx(lift_mm / 1e3, abs=1e-6)


@given(minutes=st.floats(1.0, 300.0), temp_c=st.floats(5.0, 90.0), damp=st.floats(0.3, 0.7))
def test_longer_and_warmer_holds_set_more(minutes: float, temp_c: float, damp: float) -> None:
    def left(m: float, t: float) -> float:
        return held(m, t, damp, damp, damp + 0.1) - damp

    kept = left(minutes, temp_c)
    assert 0.0 <= left(minutes * 1.5, temp_c) <= kept <= 0.1 + 1e-12
    assert left(minutes, temp_c + 5.0) <= kept + 1e-12
    assert left(1e-12, temp_c) == pytest.approx(0.1, abs=1e-3)


@given(sheet=activities, blotter=activities)
def test_print_and_blotter_keep_their_water(sheet: float, blotter: float) -> None:
    both = sheet_sorption(paper()), SheetSorption([(isotherm("fibre"), 0.25)])
    found = stack_activity(*both, sheet, blotter)
    before = both[0].water_kg_m2(sheet) + both[1].water_kg_m2(blotter)
    assert both[0].water_kg_m2(found) + both[1].water_kg_m2(found) == pytest.approx(
        before, rel=1e-6
    )
