"""Facts of the trade as ranges; each is common practice, no source."""

from __future__ import annotations

import numpy as np

from drybox.inputs.event import Event, load_event
from drybox.physics.air import vapour_pressure_pa
from drybox.physics.drying_run import run_empty, run_print
from drybox.physics.forcing import Forcing
from drybox.planning.conditions import conditions
from drybox.planning.day_aim import aim_schedule
from drybox.planning.draws import as_told
from drybox.planning.exposure import plate_forcing
from drybox.planning.models import box_system, dry_targets, free_sheet_system

ONE = np.zeros(1, dtype=np.intp)
HIGH_PLAIN = {
    "place.latitude": 39.7,
    "place.longitude": -105.0,
    "place.elevation": "1600 m",
    "event.date": "2027-06-12",
    "weather.sky": "clear",
    "weather.air_temp": "22 °C",
    "weather.humidity": "35 %",
    "weather.wind": "2 m/s",
}


def event(**more: object) -> Event:
    return load_event(None, {**HIGH_PLAIN, **more})


def test_r1_a_plate_in_clear_sun_passes_38_degrees_within_20_minutes() -> None:
    # R1, common practice, no source: 38 °C within 15 to 20 min; 46 °C after about 15 min was read
    # in the air beside the plate, so the plate itself may be hotter than that, never colder.
    there = event()
    for clock in (10.0, 12.0, 15.0):
        start = there.day_start_s + clock * 3600
        day = conditions(there.weather, there.place, start, start + 3600.0)
        bearing, tilt, _ = aim_schedule(there, day, start, start + 3600.0)
        forcing = plate_forcing(as_told(day), there.place, there.box, bearing, tilt)
        system = box_system(there.box, there.paper)
        elapsed, temps = run_empty(system, forcing, ONE, np.array([start]), 1800.0)
        plate_c = temps[:, 0] - 273.15
        assert elapsed[np.argmax(plate_c > 38.0)] <= 20 * 60
        assert np.interp(15 * 60, elapsed, plate_c) >= 46.0  # 52 to 62 °C in this model


def test_r3_the_same_print_in_still_indoor_air_takes_hours() -> None:
    # R3, common practice, no source: hours, not minutes; overnight is usual
    there = event()
    system = free_sheet_system(there.paper, "screen_shade")
    for temp_c, humidity in ((20.0, 0.5), (22.0, 0.45)):
        temp_k = temp_c + 273.15
        room = Forcing.of(
            0.0,
            60.0,
            95_000.0,
            front_sun_w_m2=np.zeros((1, 2)),
            back_sun_w_m2=0.0,
            cover_sun_w_m2=0.0,
            air_temp_k=temp_k,
            vapour_pressure_pa=float(vapour_pressure_pa(temp_k, humidity)),
            wind_m_s=0.03,
            front_radiant_temp_k=temp_k,
            back_radiant_temp_k=temp_k,
            tilt_rad=0.0,
        )
        targets = dry_targets(there.paper, there.limits)
        start = np.array([temp_k])
        water = np.array([there.paper.water_kg_m2])
        run = run_print(
            system,
            room,
            ONE,
            np.zeros(1),
            start,
            start,
            water,
            targets.dry_kg_m2,
            targets.over_dry_kg_m2,
            24 * 3600.0,
        )
        assert 2.0 < run.dry_after_s[0] / 3600 < 16.0
