"""Where physics leaves no choice: the simulation must end up there, whatever its numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.inputs.event.box import Box
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.event.paper import Paper
from drybox.inputs.event.place import Obstacle
from drybox.physics.plate_irradiance import plate_light
from drybox.physics.shading import sky_grid
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.simulation.run import run_empty, run_print
from drybox.physics.sun_position import sun_events, sun_position
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import box_system, dry_targets, free_sheet_system

psychrolib.SetUnitSystem(psychrolib.SI)

ONE = np.zeros(1, dtype=np.intp)
PRESSURE_PA = 95_000.0


def still_event(**overrides: object) -> Event:
    place = {"place.latitude": 47.0, "place.longitude": 13.0, "event.date": "2027-06-21"}
    return load_event(None, {**place, **overrides})


@pytest.fixture(scope="module")
def event() -> Event:
    return still_event()


def air(
    sun_w_m2: float, temp_k: float = 293.15, humidity: float = 0.5, wind_m_s: float = 0.6
) -> Forcing:
    """Steady surroundings, everything around at air temperature."""
    vapour = humidity * 2339.3 * np.exp(17.3 * (1 - 293.15 / temp_k))  # near enough for a limit
    return Forcing.of(
        0.0,
        60.0,
        PRESSURE_PA,
        front_sun_w_m2=np.full((1, 2), sun_w_m2),
        back_sun_w_m2=0.0,
        cover_sun_w_m2=0.0,
        air_temp_k=temp_k,
        vapour_pressure_pa=vapour,
        wind_m_s=wind_m_s,
        front_radiant_temp_k=temp_k,
        back_radiant_temp_k=temp_k,
        tilt_rad=0.6,
    )


def dry_after_s(event: Event, forcing: Forcing, plate_k: float, box: Box | None = None) -> float:
    system = box_system(box or event.box, event.paper)
    targets = dry_targets(event.paper, event.limits)
    start = np.array([plate_k])
    run = run_print(
        system,
        forcing,
        ONE,
        laid_on_at=np.zeros(1),
        plate_temp_k=start,
        sheet_temp_k=np.array([293.15]),
        water_kg_m2=np.array([event.paper.water_kg_m2]),
        dry_kg_m2=targets.dry_kg_m2,
        over_dry_kg_m2=targets.over_dry_kg_m2,
        horizon_s=12 * 3600.0,
    )
    return float(run.dry_after_s[0])


def test_with_no_sun_and_no_heat_a_hanging_print_goes_to_its_wet_bulb(event: Event) -> None:
    # a breeze, so that long wave from things at air temperature warms it little
    forcing = air(0.0, wind_m_s=6.0)
    system = free_sheet_system(event.paper, "line_shade")
    start = np.array([293.15])
    water = np.array([0.4])
    run = run_print(
        system,
        forcing,
        ONE,
        laid_on_at=np.zeros(1),
        plate_temp_k=start,
        sheet_temp_k=start,
        water_kg_m2=water,
        dry_kg_m2=0.39,
        over_dry_kg_m2=0.385,
        horizon_s=600.0,
        record=True,
    )
    vapour = float(forcing.values[4, 0, 0])
    settled = float(run.series["sheet_temp_k"][-1, 0])
    thermodynamic = 273.15 + psychrolib.GetTWetBulbFromRelHum(20.0, vapour / 2339.3, PRESSURE_PA)
    # mass transfer runs up to 0.7 K below adiabatic saturation (Lewis factor under 1, trap T8);
    # long wave from around warms it by about as much
    assert settled == pytest.approx(thermodynamic, abs=1.0)
    assert settled < 293.15 - 5.0


def test_a_dry_plate_ends_where_loss_equals_sun(event: Event) -> None:
    forcing = air(800.0)
    system = box_system(event.box, event.paper)
    _, temps, _ = run_empty(system, forcing, ONE, start_at=np.zeros(1), horizon_s=6 * 3600.0)
    # settled: no more than a hundredth of a kelvin in the last half hour
    assert temps[-1, 0] - temps[-31, 0] == pytest.approx(0.0, abs=0.01)
    assert temps[-1, 0] > 293.15 + 20


@settings(max_examples=15, deadline=None)
@given(
    sun=st.floats(0.0, 900.0),
    wind=st.floats(0.1, 6.0),
    humid=st.floats(0.1, 0.7),
    more=st.floats(0.02, 0.25),
)
def test_damper_air_never_dries_faster(sun: float, wind: float, humid: float, more: float) -> None:
    event = still_event()
    dry = dry_after_s(event, air(sun, humidity=humid, wind_m_s=wind), 310.0)
    damp = dry_after_s(event, air(sun, humidity=humid + more, wind_m_s=wind), 310.0)
    assert damp >= dry * 0.999


@settings(max_examples=15, deadline=None)
@given(sun=st.floats(0.0, 900.0), more=st.floats(1.0, 200.0), wind=st.floats(0.1, 6.0))
def test_more_sun_never_cools_the_plate_nor_slows_the_print(
    sun: float, more: float, wind: float
) -> None:
    event = still_event()
    system = box_system(event.box, event.paper)
    ends = [
        run_empty(system, air(light, wind_m_s=wind), ONE, start_at=np.zeros(1), horizon_s=7200.0)[
            1
        ][-1, 0]
        for light in (sun, sun + more)
    ]
    assert ends[1] >= ends[0]
    slow, quick = (
        dry_after_s(event, air(light, wind_m_s=wind), float(end))
        for light, end in zip((sun, sun + more), ends, strict=True)
    )
    assert quick <= slow * 1.001


def test_a_thicker_plate_never_warms_faster(event: Event) -> None:
    rises = []
    for thickness in (0.001, 0.003, 0.006):
        box = replace(event.box, plate_thickness_m=thickness)
        _, temps, _ = run_empty(
            box_system(box, event.paper), air(800.0), ONE, start_at=np.zeros(1), horizon_s=900.0
        )
        rises.append(temps[-1, 0])
    assert rises[0] > rises[1] > rises[2]


def test_a_wetter_print_never_dries_sooner(event: Event) -> None:
    times = []
    for water in (0.10, 0.18, 0.26):
        wetter: Paper = replace(event.paper, water_kg_m2=water)
        times.append(dry_after_s(replace(event, paper=wetter), air(600.0), 320.0))
    assert times == sorted(times)


@settings(max_examples=20, deadline=None)
@given(
    turn=st.floats(0.0, 360.0),
    azimuth=st.floats(0.0, 360.0),
    elevation=st.floats(5.0, 85.0),
    tilt=st.floats(0.0, 90.0),
)
def test_turning_place_and_box_together_changes_nothing(
    turn: float, azimuth: float, elevation: float, tilt: float
) -> None:
    event = still_event()
    day = conditions(event.weather, event.place, event.opens_at, end_at=event.opens_at + 600.0)
    base = day.sky
    wall = Obstacle("wall", azimuth, (azimuth + 40.0) % 360.0, 30.0)

    def light(by: float) -> float:
        sky = replace(
            base,
            sun_elevation_deg=np.array([elevation]),
            sun_azimuth_deg=np.array([(azimuth - 20.0 + by) % 360.0]),
            **{
                name: getattr(base, name)[:1]
                for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "dni_extra_w_m2", "airmass")
            },
        )
        around = replace(
            wall,
            bearing_from_deg=(wall.bearing_from_deg + by) % 360.0,
            bearing_to_deg=(wall.bearing_to_deg + by) % 360.0,
        )
        facing = (azimuth + 10 + by) % 360.0
        seen = plate_light(sky, tilt, facing, 0.2, (around,), sky_grid((around,)))
        return float(seen.plate_irradiance_w_m2[0])

    # the sky is cut into patches of 3 degrees, so an obstacle's edge may fall otherwise
    assert light(turn) == pytest.approx(light(0.0), rel=0.01, abs=1.0)


def test_southern_hemisphere_mirrors_the_northern() -> None:
    # at the equinox the two hemispheres see mirrored suns; on the day nearest to it
    equinox = np.arange(1_805_500_000.0, 1_805_586_400.0, 3600.0)  # 20 March 2027
    north, south = (sun_position(equinox, latitude, 0.0) for latitude in (40.0, -40.0))
    high = north.elevation_deg > 10
    assert north.elevation_deg[high] == pytest.approx(south.elevation_deg[high], abs=1.0)
    mirrored = (180.0 - south.azimuth_deg[high]) % 360.0
    gap = (north.azimuth_deg[high] - mirrored + 180) % 360 - 180
    assert gap == pytest.approx(np.zeros(gap.shape), abs=2.0)


@pytest.mark.parametrize(
    ("date", "status"), [("2027-06-21", "up_all_day"), ("2027-12-21", "down_all_day")]
)
def test_polar_day_and_night(date: str, status: str) -> None:
    event = still_event(**{"place.latitude": 78.2, "place.longitude": 15.6, "event.date": date})
    sun = sun_events(event.day_start_at, event.day_end_at, 78.2, 15.6)
    assert sun.status == status
    day = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
    assert np.isfinite(day.ghi_w_m2).all()
    if status == "down_all_day":
        assert day.dni_w_m2.max() == 0.0


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (1.87, -157.4, "Pacific/Kiritimati"),
        (-13.8, -171.8, "Pacific/Apia"),
        (-43.9, -176.5, "Pacific/Chatham"),
    ],
)
def test_beyond_the_date_line_noon_is_on_the_local_day(
    latitude: float, longitude: float, zone: str
) -> None:
    event = still_event(
        **{"place.latitude": latitude, "place.longitude": longitude, "place.timezone": zone}
    )
    sun = sun_events(event.day_start_at, event.day_end_at, latitude, longitude)
    assert sun.sunrise_at is not None
    assert sun.sunset_at is not None
    noon = 0.5 * (sun.sunrise_at + sun.sunset_at)
    assert 10.5 < (noon - event.day_start_at) / 3600 < 14.5
    height = sun_position(noon, latitude, longitude).elevation_deg
    assert height > 15.0


@pytest.mark.parametrize(("date", "hours"), [("2027-03-28", 23), ("2027-10-31", 25)])
def test_days_of_clock_changes_have_their_length(date: str, hours: int) -> None:
    event = still_event(**{"event.date": date, "place.timezone": "Europe/Vienna"})
    day = conditions(event.weather, event.place, event.day_start_at, end_at=event.day_end_at)
    assert day.time_at.size == hours * 60 + 1
