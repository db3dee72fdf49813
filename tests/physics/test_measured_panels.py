"""Measured temperatures of a dark tilted panel, the nearest thing to a measured plate in a package.

Five winter days of a photovoltaic array on a roof of the National Renewable Energy Laboratory,
shipped as ``nrel_RSF_II.csv`` in the pvanalytics package: plane-of-array irradiance, air
temperature, wind and module temperature every 15 min.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from drybox.inputs.event import load_event
from drybox.physics.box_heat import PlateModel
from drybox.physics.box_state import BoxSystem
from drybox.physics.drying_run import run_empty
from drybox.physics.forcing import Forcing
from drybox.physics.radiation import sky_temp_k
from drybox.planning.models import sheet_model

pvanalytics = pytest.importorskip("pvanalytics")

EFFICIENCY, ABSORPTANCE, EMITTANCE = 0.15, 0.90, 0.84
"""Judgement: silicon behind glass, at its electrical load."""
HEAT_J_M2_K = 11_000.0
"""Judgement: 3 mm of glass, cells and back sheet, about 11 kg/m² at 1000 J/kgK."""
WIDTH_M, HEIGHT_M, TILT_DEG, BACK_W_M2_K = 1.0, 1.6, 10.0, 1.0
"""Judgement: one module among many, low over a flat roof with still air behind."""
PRESSURE_PA = 82_000.0
"""Golden, Colorado, about 1,750 m."""


def measured() -> pd.DataFrame:
    path = Path(pvanalytics.__file__).parent / "data" / "nrel_RSF_II.csv"
    frame = pd.read_csv(path, index_col=0)
    frame.index = pd.to_datetime(frame.index, format="%m/%d/%Y %H:%M")
    names = {
        "poa_irradiance__1055": "sun",
        "ambient_temp__1053": "air",
        "wind_speed__1051": "wind",
        "module_temp__1056": "module",
    }
    return frame.rename(columns=names)[list(names.values())].dropna()


def modelled(frame: pd.DataFrame) -> np.ndarray:
    air = frame["air"].to_numpy() + 273.15
    wind = frame["wind"].to_numpy()
    length = 4 * WIDTH_M * HEIGHT_M / (2 * (WIDTH_M + HEIGHT_M))
    plate = PlateModel(
        area_m2=WIDTH_M * HEIGHT_M,
        heat_capacity_j_m2_k=HEAT_J_M2_K,
        absorptance_frac=ABSORPTANCE * (1 - EFFICIENCY),
        emittance_frac=EMITTANCE,
        back_loss_w_m2_k=BACK_W_M2_K,
        length_m=length,
        natural_length_m=length / 4,
        height_m=HEIGHT_M,
        sheet_conduction_w_k=0.0,
    )
    paper = load_event(
        None, {"place.latitude": 39.7, "place.longitude": -105.2, "event.date": "2027-01-02"}
    ).paper
    hours = frame.index.hour.to_numpy() + frame.index.minute.to_numpy() / 60
    sky = sky_temp_k(air, air - 10.0, hours, 0.2, PRESSURE_PA)  # dry winter air
    forcing = Forcing.of(
        0.0,
        900.0,
        PRESSURE_PA,
        front_sun_w_m2=np.maximum(frame["sun"].to_numpy(), 0.0)[None, :],
        back_sun_w_m2=0.0,
        cover_sun_w_m2=0.0,
        air_temp_k=air,
        vapour_pressure_pa=300.0,
        wind_m_s=wind,
        front_radiant_temp_k=sky,
        back_radiant_temp_k=air,
        tilt_rad=np.deg2rad(TILT_DEG),
    )
    system = BoxSystem(plate, sheet_model(paper, "sun_plate"), 1, 0.0)
    one = np.zeros(1, dtype=np.intp)
    elapsed, temps = run_empty(system, forcing, one, np.zeros(1), 900.0 * (len(frame) - 1))
    return np.interp(900.0 * np.arange(len(frame)), elapsed, temps[:, 0]) - 273.15


def rms(error: np.ndarray) -> float:
    return float(np.sqrt(np.mean(error**2)))


def test_a_measured_panel_is_followed_with_nothing_fitted() -> None:
    frame = measured()
    snow = (frame.index.day == 6) | ((frame.index.day == 2) & (frame.index.hour < 12))
    lit = (frame["sun"].to_numpy() > 100) & ~snow
    error = modelled(frame) - frame["module"].to_numpy()
    rise = (frame["module"] - frame["air"]).to_numpy()[lit]
    plain = rms(rise - np.mean(rise))  # 'air plus the mean rise', which knows the answer's mean
    by_sun = frame["sun"].to_numpy()[lit]
    slope = float(by_sun @ rise / (by_sun @ by_sun))
    proportional = rms(rise - slope * by_sun)  # 'so much per watt', fitted to these very data
    print(
        f"panel, {lit.sum()} quarter hours over 100 W/m²: RMS error {rms(error[lit]):.2f} K,"
        f" bias {np.mean(error[lit]):+.2f} K; mean rise alone {plain:.2f} K,"
        f" fitted rise per watt {proportional:.2f} K"
    )
    assert rms(error[lit]) < proportional < plain  # better than a line fitted to these data
    assert abs(np.mean(error[lit])) < 3.0
