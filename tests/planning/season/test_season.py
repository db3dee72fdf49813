"""A year at Greensboro and at Sand Point (TMY3) against days simulated one by one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drybox.errors import NoAnswerError
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.weather import Weather, steady_weather
from drybox.inputs.years.typical import for_date
from drybox.physics.simulation.run import run_empty, run_print
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import (
    box_system,
    dry_targets,
    free_sheet_system,
    laid_on_water_kg_m2,
)
from drybox.planning.scenario.outside import plate_forcing, sheet_forcing
from drybox.planning.scenario.samples import Ensemble, draw_prints
from drybox.planning.scenario.sun_minutes import rows_of, sun_as_told, told_sun
from drybox.planning.season.aim import hourly_aims
from drybox.planning.season.season import Season, season, summary
from drybox.planning.season.times import YearTimes, year_starts, year_times
from drybox.planning.season.weather import year_weather
from drybox.planning.season.year import STEP_S, local_midnights_s
from tests.weather_years import read_typical_year

STATIONS = {"Greensboro": "723170TYA.CSV", "Sand Point": "703165TY.csv"}
YEAR = 2027
HELD = {"drying.hold_below": "50 degC"}


@cache
def station(name: str) -> tuple[Weather, dict[str, object]]:
    import pvlib

    year = read_typical_year(Path(pvlib.__file__).parent / "data" / STATIONS[name])
    place: dict[str, object] = {
        "place.latitude": year.latitude_deg,
        "place.longitude": year.longitude_deg,
        "place.elevation": f"{year.elevation_m} m",
        "event.date": f"{YEAR}-06-12",
    }
    return for_date(year, date(YEAR, 1, 1), days=366), place


def event_of(name: str, **more: object) -> Event:
    return load_event(None, station(name)[1] | more)


@cache
def times_of(name: str) -> YearTimes:
    return year_times(event_of(name), station(name)[0])


@cache
def season_of(name: str) -> Season:
    return season(event_of(name), station(name)[0])


HOURS_S = (11 * 3600.0, 13 * 3600.0, 15 * 3600.0)
MEMBERS = 20
WAIT_S = 2700.0


def day_drawn(name: str, day: int) -> tuple[Ensemble, float]:
    """Return members of one day by the minute, told as the file tells it, and its midnight."""
    event, weather = event_of(name), station(name)[0]
    midnight = local_midnights_s(YEAR, event.place.timezone)[day]
    rng = np.random.default_rng(day)
    from_at, until_at = midnight + HOURS_S[0] - 4 * 3600.0, midnight + HOURS_S[-1] + 4 * 3600.0
    told = conditions(weather, event.place, from_at, end_at=until_at)
    light = told_sun(told)
    minutes, _ = sun_as_told(rng, np.tile(light.share, (MEMBERS, 1)), 60.0, rows=rows_of(told))
    sun = minutes * light.clearness * told.clear.dni_w_m2
    up = np.maximum(np.sin(np.deg2rad(told.sun.elevation_deg)), 0.0)
    whole: dict[str, Any] = {
        part: np.tile(getattr(told, part), (MEMBERS, 1))
        for part in ("dhi_w_m2", "air_temp_k", "humidity_frac", "wind_10m_m_s", "cloud_frac")
    }
    sky = replace(told, dni_w_m2=sun, ghi_w_m2=sun * up + told.dhi_w_m2, **whole)
    return Ensemble(sky, *draw_prints(rng, MEMBERS)), midnight


def direct(name: str, day: int) -> tuple[np.ndarray, np.ndarray]:
    """Return drying times on plate and line at `HOURS_S`, each (hours, members), in fine steps."""
    event = event_of(name)
    ensemble, midnight = day_drawn(name, day)
    clock_s = ensemble.conditions.time_at
    month = times_of(name).table.month[day] - 1
    column = ((clock_s - midnight) // STEP_S).astype(int)
    hourly = hourly_aims(times_of(name).table, (), event.box.most_tilt_deg)
    bearing, tilt = (aim[month][column] for aim in hourly)
    forcing = plate_forcing(ensemble, event.place, event.box, aim_deg=(bearing, tilt))
    shade = sheet_forcing(ensemble, event.place, "line_shade", facing_deg=0.0)
    every = np.arange(MEMBERS)
    out = np.full(MEMBERS, clock_s[0])
    system = box_system(event.box, event.paper, ensemble.prints)
    _, temps, _ = run_empty(
        system, forcing, every, start_at=out, horizon_s=HOURS_S[-1] + midnight - clock_s[0]
    )
    member = np.tile(every, len(HOURS_S))
    laid = midnight + np.repeat(HOURS_S, MEMBERS)
    plate_k = temps[((laid - clock_s[0]) / 60.0).astype(int), member]
    air = forcing.at(member, laid).air_temp_k
    prints = ensemble.prints.of(member)
    water = np.broadcast_to(laid_on_water_kg_m2(event.paper, prints), member.shape)
    dry = dry_targets(event.paper, event.limits).dry_kg_m2
    system = box_system(event.box, event.paper, prints)
    sheet = free_sheet_system(event.paper, "line_shade", prints)
    found = [
        run_print(
            which,
            weather,
            member,
            laid_on_at=laid,
            plate_temp_k=under,
            sheet_temp_k=air,
            water_kg_m2=water,
            dry_kg_m2=dry,
            over_dry_kg_m2=dry,
            horizon_s=3 * WAIT_S,
            limit_k=event.limits.print_limit_k,
        )
        for which, weather, under in ((system, forcing, plate_k), (sheet, shade, air))
    ]
    plate, line = (
        np.where(run.over_limit_k > 0.0, np.inf, run.dry_after_s).reshape(len(HOURS_S), MEMBERS)
        for run in found
    )
    return plate, line


@pytest.mark.slow
@pytest.mark.parametrize("name", STATIONS)
def test_the_year_agrees_with_days_simulated_one_by_one(name: str) -> None:
    """One day of every month at three hours, drawn 20 times over by the minute."""
    times = times_of(name)
    rng = np.random.default_rng(3)
    ours: list[list[float]] = []
    theirs: list[list[float]] = []
    for month in range(1, 13):
        day = int(rng.choice(np.flatnonzero(times.table.month == month)))
        plate, line = direct(name, day)
        for row, at_s in enumerate(HOURS_S):
            near = (times.day == day) & (np.abs(times.at - at_s) <= 1800.0)
            lined = times.line_s[near & ~np.isnan(times.line_s)]
            ours.append([np.mean(times.plate_s[near] <= WAIT_S), np.mean(lined <= 2 * WAIT_S)])
            theirs.append([np.mean(plate[row] <= WAIT_S), np.mean(line[row] <= 2 * WAIT_S)])
    difference = np.array(ours) - np.array(theirs)
    assert difference.mean(axis=0) == pytest.approx([0.0, 0.0], abs=0.06)
    assert np.abs(difference).mean(axis=0).max() < 0.16  # one drawn day against forty


@pytest.mark.slow
@pytest.mark.parametrize("name", STATIONS)
def test_long_steps_give_the_times_of_fine_steps(name: str) -> None:
    starts = year_starts(event_of(name), station(name)[0], seed=1)
    times = year_times(event_of(name), station(name)[0])
    rng = np.random.default_rng(1)
    some = np.sort(rng.choice(starts.day.size, 300, replace=False))
    prints = starts.draws.of(some)
    system = box_system(starts.event.box, starts.event.paper, prints)
    water = np.broadcast_to(laid_on_water_kg_m2(starts.event.paper, prints), some.shape)
    dry = dry_targets(starts.event.paper, starts.event.limits).dry_kg_m2
    fine = run_print(
        system,
        starts.forcing,
        starts.day[some],
        laid_on_at=starts.at[some],
        plate_temp_k=starts.plate_temp_k[some],
        sheet_temp_k=starts.forcing.at(starts.day[some], starts.at[some]).air_temp_k,
        water_kg_m2=water,
        dry_kg_m2=dry,
        over_dry_kg_m2=dry,
        horizon_s=3 * 3600.0,
    ).dry_after_s
    both = np.isfinite(fine) & np.isfinite(times.plate_s[some])
    assert both.sum() > 50
    error = np.abs(times.plate_s[some][both] / fine[both] - 1)
    assert np.quantile(error, 0.5) < 0.006
    assert np.quantile(error, 0.9) < 0.025
    assert (np.isfinite(fine) == np.isfinite(times.plate_s[some])).mean() > 0.98


def test_the_held_plate_stays_near_its_limit() -> None:
    event = event_of("Greensboro", **HELD)
    assert event.limits.hold_below_k is not None
    starts = year_starts(event, station("Greensboro")[0], seed=1)
    assert starts.plate_temp_k.max() <= event.limits.hold_below_k + 0.01
    days, first = np.unique(starts.day, return_index=True)
    own = starts.draws.of(first)
    out = np.full(days.size, 4 * 3600.0)
    system = box_system(event.box, event.paper, own)
    _, temps, _ = run_empty(
        system, starts.forcing, days, start_at=out, horizon_s=16 * 3600.0, step_s=300.0
    )
    row = np.rint((starts.at - 4 * 3600.0) / 300.0).astype(int)
    there = starts.held & (row >= 0) & (row < temps.shape[0])
    stepped = temps[row[there], starts.day[there]] - starts.plate_temp_k[there]
    assert abs(np.median(stepped)) < 1.0
    assert np.abs(np.quantile(stepped, [0.05, 0.95])).max() < 6.0
    assert (temps - event.limits.hold_below_k).max() < 12.0
    held = starts.held.mean()
    assert 0.2 < held < 0.6


@pytest.mark.parametrize("name", STATIONS)
def test_cells_hold_every_laying_on_of_their_hour(name: str) -> None:
    found = season_of(name)
    assert {cell.month for cell in found.cells} == set(range(1, 13))
    for cell in found.cells:
        assert 0.3 * 28 * 6 <= cell.laid_on <= 31 * 6
        assert 0 <= cell.works_frac <= 1
        assert cell.gain_frac <= cell.works_frac + 0.35
        known = [part for part in vars(cell.duration_s).values() if part is not None]
        assert known == sorted(known)
    noon = next(cell for cell in found.cells if (cell.month, cell.hour) == (6, 13))
    dawn = next(cell for cell in found.cells if (cell.month, cell.hour) == (6, 7))
    assert noon.works_frac > dawn.works_frac
    assert found.works_h <= found.daylight_h
    assert found.daylight_h == pytest.approx(4400, abs=100)


def test_more_sun_and_longer_waits_work_more_often() -> None:
    sunny, dull = season_of("Greensboro"), season_of("Sand Point")
    assert sunny.works_h > 1.5 * dull.works_h
    times = times_of("Greensboro")
    short, long = (
        summary(event_of("Greensboro", **{"drying.wait": wait}), times)
        for wait in ("20 min", "90 min")
    )
    for one, other in zip(short.cells, long.cells, strict=True):
        assert one.works_frac <= other.works_frac
    assert short.works_h < long.works_h


def test_the_same_seed_gives_the_same_season_in_any_number_of_threads() -> None:
    event, weather = event_of("Sand Point"), station("Sand Point")[0]
    assert season(event, weather, threads=1) == season_of("Sand Point")


def test_the_dark_hours_of_a_fair_at_dawn_count_as_misses() -> None:
    times = times_of("Greensboro")
    dawn = {"event.opens": "06:00", "event.closes": "11:00"}
    found = summary(event_of("Greensboro", **dawn), times)
    for month in found.months:
        days = int((times.table.month == month.aim.month).sum())
        cells = [c for c in found.cells if c.month == month.aim.month and 6 <= c.hour < 11]
        works = sum(cell.works_frac * cell.laid_on for cell in cells)
        assert month.works_frac == pytest.approx(works / (days * 30), abs=0.01)
    june, december = found.months[5], found.months[11]
    assert june.works_frac > december.works_frac + 0.1
    assert june.line_works_frac > 0.0


def test_a_wind_felt_at_the_plate_is_the_same_wind_all_year() -> None:
    there = event_of("Greensboro", **{"weather.sky": "clear", "weather.wind_at_plate": "1.5 m/s"})
    year = year_weather(there)
    assert year.wind_10m_m_s[0] == pytest.approx(there.weather.wind_10m_m_s[0])
    assert year.felt_wind_m_s == 1.5


@pytest.mark.slow
def test_another_seed_gives_a_near_season() -> None:
    other = season(event_of("Sand Point"), station("Sand Point")[0], seed=2)
    assert other != season_of("Sand Point")
    assert other.works_h == pytest.approx(season_of("Sand Point").works_h, rel=0.05)


def test_best_aims_face_the_noon_sun_in_both_hemispheres() -> None:
    north = season_of("Greensboro")
    for month in north.months:
        assert 160 < month.aim.bearing_deg < 220 or month.aim.tilt_deg < 20
    assert north.months[11].aim.tilt_deg > north.months[5].aim.tilt_deg + 30
    noon = {"event.opens": "11:00", "event.closes": "15:00", "event.date": "2027-06-12"}
    south = load_event(None, noon | {"place.latitude": -34.0, "place.longitude": 151.0})
    found = season(south, steady_weather({"cloud_frac": 0.0}, south.day_start_at))
    june = found.months[5].aim
    assert june.bearing_deg > 330 or june.bearing_deg < 30
    assert june.tilt_deg == pytest.approx(57, abs=8)  # the noon sun's, a little flatter for the sky
    assert 0.8 < june.kept_frac <= 1.0


@pytest.mark.slow
def test_aim_modes_of_the_box_are_followed() -> None:
    weather = station("Greensboro")[0]
    turned = season_of("Greensboro")
    best = season(event_of("Greensboro", **{"box.aim": "best"}), weather)
    north = season(event_of("Greensboro", **{"box.bearing": "N", "box.tilt": "60 deg"}), weather)
    assert (turned.aim_words, best.aim_words, north.aim_words) == (
        "turned every hour",
        "best by month",
        "fixed",
    )
    assert turned.works_h > best.works_h > north.works_h


def test_polar_night_and_no_sun_at_all() -> None:
    arctic = load_event(
        None, {"place.latitude": 69.65, "place.longitude": 18.96, "event.date": "2027-06-12"}
    )
    found = season(arctic, steady_weather({"cloud_frac": 0.0}, arctic.day_start_at))
    months = {cell.month for cell in found.cells}
    assert 12 not in months
    assert found.months[11].aim.kept_frac == 0.0
    assert {cell.hour for cell in found.cells if cell.month == 6} == set(range(24))


def test_hours_are_those_of_the_clock_on_both_sides_of_a_change() -> None:
    midnights = local_midnights_s(2027, "America/New_York")
    assert midnights.size == 365
    steps = np.diff(midnights)
    assert set(np.unique(steps)) == {82800.0, 86400.0, 90000.0}
    assert local_midnights_s(2028, "UTC").size == 366


def test_no_sun_ever_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    from drybox.planning.season import year as season_year

    event = event_of("Greensboro")
    monkeypatch.setattr(
        season_year.YearTable, "sun_up", property(lambda self: np.zeros((365, 385), dtype=bool))
    )
    with pytest.raises(NoAnswerError, match="never rises"):
        season(event, station("Greensboro")[0])


def test_the_python_call_takes_the_events_own_year_and_gives_a_table() -> None:
    import pvlib

    import drybox

    file = str(Path(pvlib.__file__).parent / "data" / STATIONS["Sand Point"])
    event = drybox.load_event(None, station("Sand Point")[1] | {"weather.file": file})
    found = drybox.season(event)
    assert found == season_of("Sand Point")
    table = drybox.to_frame(found)
    assert len(table) == len(found.cells)
    assert {"month", "hour", "duration_s_p50", "works_frac"} <= set(table.columns)
