"""The wind at the plate: the less the rougher the ground, and one felt there as it is told."""

from __future__ import annotations

import numpy as np
import pytest

from drybox.errors import InputError
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.wind import BOX_HEIGHT_M, near_ground_share
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.outside import plate_forcing
from drybox.planning.scenario.samples import draw
from drybox.tables import load_table

TERRAINS = {name: rows["roughness_length"].value for name, rows in load_table("terrains").items()}


def event(terrain: str = "open field", **weather: object) -> Event:
    return load_event(
        None,
        {
            "place.latitude": 40.0,
            "place.longitude": -105.0,
            "event.date": "2027-06-21",
            "place.terrain": terrain,
            **{f"weather.{key}": value for key, value in weather.items()},
        },
    )


@pytest.mark.parametrize("height_m", [0.3, 0.8, 1.2, 2.0])
def test_no_rougher_ground_brings_more_wind(height_m: float) -> None:
    rough = sorted(TERRAINS.values())
    shares = [near_ground_share(height_m, each) for each in rough]
    assert all(np.diff(shares) < 0.0)
    assert all(0.0 < share <= 1.0 for share in shares)


def test_over_open_country_it_is_the_neutral_profile() -> None:
    # R. G. Allen et al., FAO Irrigation and Drainage Paper 56 (1998), eq. 47: 0.748 at 2 m
    assert near_ground_share(2.0, 0.03) == pytest.approx(0.748, abs=0.03)
    assert near_ground_share(10.0, 0.03) == pytest.approx(1.0)


def drawn_at_plate(there: Event) -> tuple[np.ndarray, np.ndarray]:
    """Return the wind at the plate and what the draws make of wind and shelter, (members,)."""
    noon = there.day_start_at + 12 * 3600.0
    told = conditions(there.weather, there.place, noon, end_at=noon + 600.0)
    drawn = draw(told, "steady", 200, seed=1)
    still = np.zeros(told.time_at.shape)
    forcing = plate_forcing(drawn, there.place, there.box, aim_deg=(still, still))
    member = np.arange(200)
    wind = forcing.at(member, np.full(200, noon)).wind_m_s
    return wind, drawn.conditions.wind_10m_m_s[:, 0] / told.wind_10m_m_s[0] * drawn.shelter_factor


@pytest.mark.parametrize("terrain", ["open field", "town centre"])
def test_a_wind_felt_at_the_plate_is_that_wind_times_what_is_drawn(terrain: str) -> None:
    there = event(wind_at_plate="2 m/s", terrain=terrain)
    wind, factor = drawn_at_plate(there)
    less = wind < 1.999 * factor  # what is drawn lets no more through than blows in the open
    assert wind[~less] == pytest.approx(2.0 * factor[~less])
    assert less.mean() < 0.05


def test_the_answer_names_the_wind_it_used() -> None:
    there = event(wind="2 m/s")
    reaches = there.box.wind_shelter_frac * near_ground_share(
        BOX_HEIGHT_M, there.place.roughness_length_m
    )
    sentence = f"Wind 2 m/s is taken at 10 m; about {2 * reaches:.1f} m/s reaches the plate."
    assert any(line.startswith(sentence) for line in there.assumptions)
    assert any("felt at the plate" in line for line in event(wind_at_plate="1 m/s").assumptions)


def test_both_winds_are_refused_and_so_is_a_gale_at_the_plate() -> None:
    with pytest.raises(InputError, match="both wind and wind_at_plate"):
        event(wind="2 m/s", wind_at_plate="1 m/s")
    with pytest.raises(InputError, match="wind at the plate"):
        event(wind_at_plate="60 m/s")
