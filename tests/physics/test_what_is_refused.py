"""Tables and sheets that the simulation refuses, and prints with nothing left to do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drybox.errors import InputError
from drybox.physics.simulation.drying_times import drying_times_s
from drybox.physics.simulation.forcing import Forcing
from drybox.physics.sorption import GabIsotherm, SheetSorption
from tests.boxes import OPEN, steady


def test_a_weather_table_with_gaps_or_too_little_in_it_is_refused() -> None:
    sound = steady()
    gap = sound.values.copy()
    gap[3, 0, 1] = np.nan
    with pytest.raises(InputError, match="has gaps"):
        replace(sound, values=gap)
    for short in (sound.values[:8], sound.values[:, :, :1], sound.values[:, 0]):
        with pytest.raises(InputError, match="nine fields and two times"):
            Forcing(0.0, 60.0, short, 101325.0)


def test_a_sheet_that_takes_up_no_water_is_refused() -> None:
    with pytest.raises(InputError, match="no paper or gelatin"):
        SheetSorption([(GabIsotherm(0.05, 13.0, 0.7), 0.0)])


def test_prints_that_are_dry_as_they_are_laid_on_take_no_time() -> None:
    two = np.zeros(2)
    took = drying_times_s(
        OPEN,
        steady(),
        two.astype(np.intp),
        laid_on_at=two,
        plate_temp_k=two + 300.0,
        sheet_temp_k=two + 295.0,
        water_kg_m2=np.array([0.01, 0.02]),
        dry_kg_m2=0.05,
        ends_s=np.array([10.0, 20.0]),
    )
    assert took.tolist() == [0.0, 0.0]
