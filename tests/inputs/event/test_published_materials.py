import math

import pytest

from drybox.inputs.event.box import Cover
from drybox.inputs.event.event import Event, load_event
from drybox.tables import load_table
from tests.reference import Row, rows

HERE = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
OURS = (
    "box_wind",
    "materials",
    "finishes",
    "covers",
    "backs",
    "papers",
    "grounds",
    "terrains",
    "boxes",
)


def normal_transmittance(cover: Cover) -> float:
    """Share of sun passed straight through a sheet, all inner reflections counted."""
    reflected = ((cover.refractive_index - 1) / (cover.refractive_index + 1)) ** 2
    passed = math.exp(-cover.extinction_1_m * cover.thickness_m)
    return passed * (1 - reflected) ** 2 / (1 - (reflected * passed) ** 2)


def of(event: Event, quantity: str):
    box, paper, place = event.box, event.paper, event.place
    if quantity == "plate_properties":
        return [
            box.plate_density_kg_m3,
            box.plate_specific_heat_j_kg_k,
            box.plate_conductivity_w_m_k,
        ]
    if quantity == "heat_capacity_kj_m2_k_mm":
        return box.plate_density_kg_m3 * box.plate_specific_heat_j_kg_k * 1e-6
    if quantity == "finish":
        return [box.absorptance_frac, box.emittance_frac]
    if quantity == "cover_index_and_transmittance":
        return [box.cover.refractive_index, normal_transmittance(box.cover)]
    if quantity == "dry_mass_and_thickness":
        return [paper.dry_mass_kg_m2, paper.thickness_m]
    return {"albedo": place.ground_albedo_frac, "roughness_length_m": place.roughness_length_m}[
        quantity
    ]


@pytest.mark.parametrize("row", rows("materials"))
def test_published_material(row: Row) -> None:
    row.check(of(load_event(None, HERE | row.inputs), row.quantity))


@pytest.mark.parametrize("name", OURS)
def test_every_row_lies_in_its_range_and_says_what_it_rests_on(name):
    for item, properties in load_table(name).items():
        for key, row in properties.items():
            at = f"{name}: {item}/{key}"
            if row.low is not None and row.high is not None:
                assert row.low <= row.value <= row.high, at
            assert (row.status == "judgement") is row.source.startswith("judgement: "), at
            assert row.status != "memory" or "from memory" in row.source or "weigh" in row.source, (
                at
            )


def test_water_left_falls_from_dripping_to_blotted():
    for stock, rows_ in load_table("papers").items():
        left = [
            rows_[f"water_{word}"].value for word in ("dripping", "drained", "squeegeed", "blotted")
        ]
        assert left == sorted(left, reverse=True), stock
