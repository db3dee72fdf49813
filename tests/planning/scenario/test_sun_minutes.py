"""Drawn sun and shade against direct irradiance measured by the minute and every five minutes.

Graz, 2017: a year of minutes, 839 whole hours of 1 to 7 oktas (eighths of the hour without sun; the
package sunpeek-exampledata). Golden, Colorado: two sets that the package pvanalytics ships: ten
winter days, of which 12 whole hours are of mixed sky (mean direct sun 10 to 90 % of the clear
sky's).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from drybox.physics.clear_sky import clear_sky
from drybox.physics.sun_position import sun_position
from drybox.planning.scenario.sun_minutes import sun_and_shade, sun_as_told
from tests.planning import graz

PER_HOUR = 12


@cache
def mixed_hours() -> np.ndarray:
    """Return measured direct sun over the clear sky's, (hours, 12)."""
    pvanalytics = pytest.importorskip("pvanalytics")

    folder = Path(pvanalytics.__file__).parent / "data"
    first = pd.read_csv(folder / "irradiance_RMIS_NREL.csv")
    clear = first["pvlib_clearsky_dni"].to_numpy()
    high = (first["pvlib_zenith"].to_numpy() < 80) & (clear > 200)
    ratios = [np.where(high, first["irradiance_dni__7982"] / np.maximum(clear, 1), np.nan)]
    second = pd.read_csv(folder / "rmis_weather_data.csv", index_col=0)
    index = pd.to_datetime(second.index, format="%m/%d/%Y %H:%M").tz_localize("Etc/GMT+7")
    times = np.array([moment.timestamp() for moment in index])
    sun = sun_position(times, 39.742, -105.18, 1829.0)
    sky = clear_sky(times, sun, 39.742, -105.18, 1829.0, 82_000.0)
    beam = second["Direct Normal"].to_numpy() / np.maximum(sky.dni_w_m2, 1)
    ratios.append(np.where(sun.elevation_deg > 10, beam, np.nan))
    whole = [ratio[: ratio.size // PER_HOUR * PER_HOUR].reshape(-1, PER_HOUR) for ratio in ratios]
    hours = np.clip(np.concatenate(whole), 0.0, 1.2)
    hours = hours[np.isfinite(hours).all(axis=1)]
    mean = hours.mean(axis=1)
    return np.asarray(hours[(mean > 0.1) & (mean < 0.9)])


def figures(hours: np.ndarray) -> np.ndarray:
    """Return partial sun, mean and 90th percentile of steps, crossings an hour, and spread."""
    steps = np.abs(np.diff(hours, axis=1))
    return np.array(
        [
            ((hours > 0.2) & (hours < 0.8)).mean(),
            steps.mean(),
            np.quantile(steps, 0.9),
            (np.diff((hours > 0.5).astype(int), axis=1) != 0).sum(axis=1).mean(),
            hours.std(axis=1).mean(),
        ]
    )


def test_ramps_at_golden_are_those_measured_within_their_uncertainty() -> None:
    """Partial sun is missed: 2.3 times its uncertainty too rare in these 12 winter hours.

    The edge that would mend it (softness 0.45) misses 26 of the 49 figures of 839 hours at Graz.
    """
    measured = mixed_hours()
    assert len(measured) == 12
    rng = np.random.default_rng(2)
    draws = [figures(measured[rng.integers(0, 12, 12)]) for _ in range(400)]
    uncertainty = np.std(draws, axis=0)
    share = np.repeat(np.clip(measured.mean(axis=1), 0.005, 0.995), 60 * 60).reshape(-1, 60)
    rows = np.zeros(60, dtype=int)
    minutes, _ = sun_and_shade(rng, share, 60.0, rows=rows)
    drawn = minutes.reshape(len(share), PER_HOUR, 5).mean(axis=2)
    difference = (figures(drawn) - figures(measured)) / uncertainty
    assert difference[1:] == pytest.approx(np.zeros(4), abs=2.0)
    assert -2.5 < difference[0] < -2.0


@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.9, 0.98])
@pytest.mark.parametrize("spread", [0.0, 0.7])
def test_the_mean_is_the_share_asked_for_and_all_lies_between_shade_and_sun(
    share: float, spread: float
) -> None:
    rng = np.random.default_rng(1)
    shift = spread * rng.standard_normal((8000, 1))
    drawn, slow = sun_and_shade(rng, np.full((8000, 30), share), 60.0, shift=shift, spread=spread)
    assert drawn.mean() == pytest.approx(share, abs=0.012)
    assert slow.mean() == pytest.approx(share, abs=0.012)
    assert drawn.min() >= 0.0
    assert drawn.max() <= 1.0


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 1.0])
def test_every_member_keeps_the_mean_of_the_hour_it_was_told(share: float) -> None:
    rng = np.random.default_rng(1)
    rows = np.repeat([0, 1, 2], [25, 60, 35])  # a window begins and ends within an hour
    drawn, _ = sun_and_shade(rng, np.full((200, 120), share), 60.0, rows=rows)
    for row in range(3):
        assert drawn[:, rows == row].mean(axis=1) == pytest.approx(np.full(200, share), abs=1e-4)


def test_the_step_of_the_table_does_not_change_the_picture() -> None:
    rng = np.random.default_rng(1)
    fine, _ = sun_and_shade(rng, np.full((3000, 60), 0.5), 60.0)
    coarse, _ = sun_and_shade(rng, np.full((3000, 12), 0.5), 300.0)
    assert figures(coarse) == pytest.approx(figures(fine[:, ::5]), rel=0.05)


def test_at_four_oktas_a_third_of_the_hours_are_wholly_sun_or_wholly_shade() -> None:
    # Graz, 41 days of 4 to 5 oktas: hours with under 5 % of sun 0.24, over 95 % 0.11; the mean and
    # the tenths are those wanted of a drawn hour
    rng = np.random.default_rng(3)
    drawn, _ = sun_and_shade(rng, np.full((4000, 480), 0.5), 60.0)
    hour = drawn.reshape(-1, 60).mean(axis=1)
    assert hour.mean() == pytest.approx(0.5, abs=0.02)
    assert np.quantile(hour, 0.1) < 0.05
    assert np.quantile(hour, 0.9) > 0.85
    wholly = ((hour < 0.1) | (hour > 0.9)).mean()
    assert 0.25 < wholly < 0.45


# Graz: mean sun of an hour over the day's brightest; standard deviation of its minutes, share of
# them under 0.3
TOLD = {0.15: (0.23, 0.83), 0.28: (0.30, 0.64), 0.43: (0.33, 0.39)}


@pytest.mark.parametrize("mean", list(TOLD))
def test_hours_told_by_their_mean_vary_and_are_in_shade_as_measured(mean: float) -> None:
    rng = np.random.default_rng(3)
    drawn, own = sun_as_told(rng, np.full((3000, 60), mean), 60.0, rows=np.zeros(60, dtype=int))
    assert own == pytest.approx(mean)
    assert drawn.mean(axis=1) == pytest.approx(np.full(3000, mean), abs=1e-4)
    spread, shade = TOLD[mean]
    assert (drawn - mean).std() == pytest.approx(spread, abs=0.05)
    assert (drawn < 0.3).mean() == pytest.approx(shade, abs=0.09)


@pytest.mark.parametrize(("before", "without_shade"), [(0.8, 0.94), (0.5, 0.53), (0.3, 0.33)])
def test_an_hour_like_its_neighbours_is_veiled_and_another_is_broken(
    before: float, without_shade: float
) -> None:
    # Graz: hours of 0.75 to 0.85 of the day's unclouded sun that have no shade, by the lower one of
    # the hours before and after
    rows, rng = np.repeat([0, 1, 2], 60), np.random.default_rng(3)
    share = np.tile(np.array([before, 0.8, 0.8])[rows], (2000, 1))
    drawn, _ = sun_as_told(rng, share, 60.0, rows=rows)
    hour = drawn[:, rows == 1]
    assert hour.mean(axis=1) == pytest.approx(np.full(2000, 0.8), abs=1e-4)
    assert (hour > 0.3).all(axis=1).mean() == pytest.approx(without_shade, abs=0.2)


LAGS = (1, 5, 20, 60, 120)


def test_sun_persists_for_hours_as_it_was_measured() -> None:
    # correlation about the class mean over 1, 5, 20, 60 and 120 min on days of 2 to 6 oktas, Graz
    rng = np.random.default_rng(3)
    drawn, _ = sun_and_shade(rng, np.full((4000, 480), 0.45), 60.0)
    apart = drawn - drawn.mean()
    found = [(apart[:, lag:] * apart[:, :-lag]).mean() / apart.var() for lag in LAGS]
    assert found == pytest.approx([0.95, 0.84, 0.68, 0.46, 0.27], abs=0.10)
    assert found[:2] == pytest.approx([0.95, 0.84], abs=0.05)


def within_hours(share: np.ndarray, least_share: np.ndarray) -> np.ndarray:
    """Return spread of minutes and of 20-min means, correlations, crossings and partial sun."""
    apart = share - share.mean(axis=1, keepdims=True)
    correlations = [(apart[:, lag:] * apart[:, :-lag]).mean() / apart.var() for lag in (1, 5, 20)]
    changes = (np.diff((share > least_share).astype(int), axis=1) != 0).sum(axis=1).mean()
    partial = ((share > 0.1) & (share < 0.9)).mean()
    thirds = apart.reshape(-1, 3, 20).mean(axis=2)
    return np.array([apart.std(), thirds.std(), *correlations, changes * 60 / 59, partial])


# Graz by the hour's oktas: spread of minutes, of 20-min means, correlation over 1, 5 and 20 min,
# crossings an hour, share of minutes between 0.1 and 0.9 of full sun
MEASURED = {
    1: (0.31, 0.18, 0.80, 0.32, -0.11, 5.0, 0.58),
    2: (0.35, 0.24, 0.85, 0.47, -0.15, 6.6, 0.55),
    3: (0.38, 0.27, 0.87, 0.54, -0.16, 6.8, 0.49),
    4: (0.33, 0.23, 0.86, 0.48, -0.13, 7.4, 0.48),
    5: (0.31, 0.21, 0.86, 0.46, -0.16, 7.2, 0.37),
    6: (0.24, 0.15, 0.83, 0.39, -0.16, 6.3, 0.29),
    7: (0.16, 0.08, 0.76, 0.20, -0.10, 4.7, 0.17),
}
TOLERANCE = np.array([0.05, 0.05, 0.05, 0.05, 0.05, 0.15, 0.05])
RELATIVE = np.array([False, False, False, False, False, True, False])


def test_the_hours_measured_are_those_of_the_tables() -> None:
    hours = graz.hours()
    for okta, row in MEASURED.items():
        here = hours.oktas == okta
        found = within_hours(hours.share[here], hours.least_share[here])
        assert found == pytest.approx(row, abs=0.025, rel=0.04)


def test_minutes_drawn_within_told_hours_are_those_measured() -> None:
    """14 of 49 figures lie outside the tolerances wanted, most at one okta; none at three times.

    At one okta sun and shade of an hour last too long (correlation over 5 min 0.46, not 0.32).
    """
    hours, rng = graz.hours(), np.random.default_rng(5)
    apart = []
    for okta, row in MEASURED.items():
        here = np.tile(np.flatnonzero(hours.oktas == okta), 8)
        share = np.broadcast_to(
            np.minimum(hours.share[here].mean(axis=1, keepdims=True), 0.999), (here.size, 60)
        )
        drawn, _ = sun_and_shade(rng, share, 60.0, rows=np.zeros(60, dtype=int))
        wide = np.where(RELATIVE, TOLERANCE * np.array(row), TOLERANCE)
        apart.append((within_hours(drawn, hours.least_share[here]) - row) / wide)
    assert np.abs(apart).max() < 3.0
    assert (np.abs(apart) > 1.0).sum() <= 14
    assert np.abs(np.mean(apart, axis=0)).max() < 1.0  # no figure is off in all classes
