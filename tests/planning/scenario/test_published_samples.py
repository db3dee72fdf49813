"""How often prints dry within what was promised for the air that is usual at a place.

Truth is the same print dried in the air of a typical-year file at its own place, box and hand drawn
by another seed. The files are among those by which the air that is usual was judged.
"""

from __future__ import annotations

import datetime
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from drybox.inputs.event.event import Event, load_event
from drybox.inputs.weather.usual_air import usual_values
from drybox.inputs.years.typical import for_date
from drybox.physics.simulation.step_control import StepControl
from drybox.planning.one_print.drying import LARGEST_STEP_S
from drybox.planning.one_print.lay_print import lay_print
from drybox.planning.scenario.conditions import conditions
from drybox.planning.scenario.models import free_sheet_system
from drybox.planning.scenario.outside import sheet_forcing
from drybox.planning.scenario.samples import draw_on, usual_spreads
from tests.running import pvlib_data
from tests.weather_years import read_typical_year

FILES = ("723170TYA.CSV", "703165TY.csv", "12839.tm2")
MONTHS = (1, 4, 7, 10)
HORIZON_S = 10 * 3600.0
COLUMNS = ("air_temp_k", "humidity_frac", "wind_10m_m_s")


def touch_dry_after_s(event: Event, members: int, seed: int, kind: str = "") -> NDArray[np.float64]:
    """Return when prints hung in the shade an hour after the opening are touch dry, (members,)."""
    hung = event.opens_at + 3600.0
    weather = event.weather
    if kind:
        object.__setattr__(weather, "kind", kind)
    day = conditions(weather, event.place, hung - 600.0, end_at=hung + HORIZON_S)
    ensemble = draw_on(event, day, members, seed=seed)
    forcing = sheet_forcing(ensemble, event.place, "line_shade", facing_deg=180.0)
    each = np.arange(members)
    run = lay_print(
        event,
        free_sheet_system(event.paper, "line_shade", ensemble.prints),
        forcing,
        member=each,
        prints=ensemble.prints,
        laid_on_at=np.full(members, hung),
        plate_temp_k=forcing.at(each, np.full(members, hung)).air_temp_k,
        horizon_s=HORIZON_S,
        blotter_kg_m2=0.0,
        control=StepControl(largest_s=LARGEST_STEP_S),
    )
    return np.asarray(run.touch_dry_after_s)


def day_of(file: str, month: int) -> tuple[dict[str, object], str]:
    year = read_typical_year(pvlib_data(file))
    where = {"place.latitude": year.latitude_deg, "place.longitude": year.longitude_deg}
    where |= {"place.elevation": f"{year.elevation_m} m", "event.date": f"2027-{month:02d}-15"}
    return where, pvlib_data(file)


@cache
def coverage() -> tuple[float, float]:
    """Return how many per cent lie within P10 to P90 and how many by P90, over the files."""
    inside, by_p90, count = 0.0, 0.0, 0
    lines = []
    for file in FILES:
        own = []
        for month in MONTHS:
            where, path = day_of(file, month)
            promised = touch_dry_after_s(load_event(None, {**where, "weather.cloud": "4"}), 40, 1)
            true = touch_dry_after_s(
                load_event(None, {**where, "weather.file": path}), 10, 2, "measured"
            )
            low, high = np.quantile(promised, [0.1, 0.9], method="inverted_cdf")
            own.append((np.mean((true >= low) & (true <= high)), np.mean(true <= high)))
        held, early = (100 * float(np.mean(part)) for part in zip(*own, strict=True))
        lines.append(f"{file}: {held:.0f} % within P10 to P90, {early:.0f} % by P90")
        inside, by_p90, count = inside + held, by_p90 + early, count + 1
    print("\n".join(lines))
    return inside / count, by_p90 / count


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_what_the_usual_air_promises_is_not_too_narrow() -> None:
    # eight in ten are wanted within and nine in ten by the end, of twelve days: a tenth is chance
    inside, by_p90 = coverage()
    assert inside >= 70
    assert by_p90 >= 80


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.xfail(reason="wider than wanted: 96 % of twelve days, tests/records/usual_air.md")
def test_what_the_usual_air_promises_is_not_too_wide() -> None:
    inside, _ = coverage()
    assert inside < 95


@pytest.mark.parametrize("file", FILES)
def test_days_lie_within_the_spread_of_the_usual_air(file: str) -> None:
    year = read_typical_year(pvlib_data(file))
    within = {"air_temp_k": [], "wind_10m_m_s": []}  # type: dict[str, list[bool]]
    spread = usual_spreads(COLUMNS, year.latitude_deg)
    for number in range(0, 365, 5):
        date = datetime.date(2027, 1, 1) + datetime.timedelta(days=number)
        usual = usual_values(year, date).values
        weather = for_date(year, date, days=0)
        noon = datetime.datetime(2027, 1, 1, 12, tzinfo=datetime.UTC).timestamp()
        noon += 86400.0 * number - 3600.0 * year.utc_offset_h
        hours = (weather.mid_at > noon - 2 * 3600) & (weather.mid_at < noon + 5 * 3600)
        off = float(weather.air_temp_k[hours].mean()) - usual["air_temp_k"]
        within["air_temp_k"].append(abs(off) < 1.2816 * spread["air_temp"])
        log = np.log(max(float(weather.wind_10m_m_s[hours].mean()), 0.1) / usual["wind_10m_m_s"])
        within["wind_10m_m_s"].append(abs(log) < 1.2816 * spread["wind_log"])
    share = {name: float(np.mean(flags)) for name, flags in within.items()}
    print(file, share)
    # eight in ten, of 73 days that come in spells (about 20 of their own): two errors are 18 points
    assert 0.62 < share["air_temp_k"] <= 1.0
    assert 0.62 < share["wind_10m_m_s"] <= 1.0
