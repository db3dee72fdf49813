"""Drawn sun and shade against direct irradiance measured every five minutes at Golden, Colorado.

The data are two sets that the package pvanalytics ships: ten winter days, of which 12
whole hours are of mixed sky (mean direct sun 10 to 90 % of the clear sky's).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from drybox.physics.clear_sky import clear_sky
from drybox.physics.sun_position import sun_position
from drybox.planning.draws import sun_and_shade
from drybox.tables import load_table

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


def test_ramps_and_share_of_sun_are_those_measured_within_their_uncertainty() -> None:
    measured = mixed_hours()
    assert len(measured) == 12
    rng = np.random.default_rng(2)
    draws = [figures(measured[rng.integers(0, 12, 12)]) for _ in range(400)]
    uncertainty = np.std(draws, axis=0)
    share = np.repeat(np.clip(measured.mean(axis=1), 0.005, 0.995), 60 * 60).reshape(-1, 60)
    lasts = load_table("spreads")["broken_cloud"]["lasts"].value
    drawn = sun_and_shade(rng, share, 60.0, lasts).reshape(len(share), PER_HOUR, 5).mean(axis=2)
    difference = (figures(drawn) - figures(measured)) / uncertainty
    assert difference == pytest.approx(np.zeros(5), abs=2.0)
    assert np.sqrt(np.mean(difference**2)) < 1.0


@pytest.mark.parametrize("share", [0.005, 0.1, 0.5, 0.9, 0.995])
def test_the_mean_is_the_share_asked_for_and_all_lies_between_shade_and_sun(share: float) -> None:
    rng = np.random.default_rng(1)
    drawn = sun_and_shade(rng, np.full((4000, 30), share), 60.0, 240.0)
    assert drawn.mean() == pytest.approx(share, abs=0.01)
    assert drawn.min() >= 0.0
    assert drawn.max() <= 1.0


def test_the_step_of_the_table_does_not_change_the_picture() -> None:
    rng = np.random.default_rng(1)
    fine = sun_and_shade(rng, np.full((3000, 60), 0.5), 60.0, 240.0)[:, ::5]
    coarse = sun_and_shade(rng, np.full((3000, 12), 0.5), 300.0, 240.0)
    assert figures(coarse) == pytest.approx(figures(fine), rel=0.05)
