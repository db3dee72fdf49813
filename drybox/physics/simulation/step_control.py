"""How long a step may be: as long as its error allows, and in time with the weather's table."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drybox.arrays import Array
from drybox.physics.simulation.state import BoxSystem, State

MOST_GROWTH, MOST_SHRINKING, SAFETY = 3.0, 0.2, 0.9
"""A step over the one before, at most and at least; and the share of what the error allows. [-]"""

SOON_S = 60.0
"""Counted as elapsed already when a print is laid on: none dries sooner. [s]"""

LEAST_SHARE = 0.1
"""Least error of water, where hardly any dries, over the most. [-]"""

BAND_SHARE = 0.01
"""Error estimate allowed of a heated plate's temperature over the band of its thermostat. [-]"""


@dataclass(frozen=True)
class StepControl:
    """How steps are chosen.

    Parameters
    ----------
    largest_s : float
        Longest step; none straddles a multiple of it after the weather table's start, so that
        the light is straight within a step when it is the table's own step. [s]
    temp_error_k, time_error_frac : float
        How far the steps of first and second order may be apart: in temperature; and in water,
        as a share of what the sheet binds, and of the time since laying on in which that much
        dries. [K], [-]
    first_s, shortest_s : float
        First step after laying on, and one that is taken whatever its error. [s]
    """

    largest_s: float = 60.0
    temp_error_k: float = 0.1
    time_error_frac: float = 0.001
    first_s: float = 1.0
    shortest_s: float = 0.05

    def under_cover(self) -> StepControl:
        """Return that of a covered box, whose dew ties nodes that a step takes one by one."""
        return replace(self.finer(1.5), largest_s=0.5 * min(self.largest_s, 60.0))

    def finer(self, times_ratio: float) -> StepControl:
        """Return one of steps so many times shorter; the error goes with their square."""
        square = times_ratio * times_ratio
        return StepControl(
            largest_s=self.largest_s / times_ratio,
            temp_error_k=self.temp_error_k / square,
            time_error_frac=self.time_error_frac / square,
            first_s=self.first_s / times_ratio,
            shortest_s=self.shortest_s / times_ratio,
        )

    def fitted_s(self, wanted_s: Array, clock_s: Array, left_s: Array) -> Array:
        """Return steps that end with the table's stretch and the run. [s]

        Parameters
        ----------
        wanted_s : array
            Steps that the error allows. [s]
        clock_s : array
            Time since the start of the weather's table. [s]
        left_s : array
            Time to the end of the run. [s]
        """
        into = np.mod(clock_s, self.largest_s)
        stretch = self.largest_s - into
        stretch = np.where(stretch < 1e-6, self.largest_s, stretch)
        fitted = stretch / np.ceil(stretch / np.minimum(wanted_s, stretch) - 1e-9)
        return np.asarray(np.minimum(fitted, left_s))

    def miss_ratio(
        self, error: State, water_kg_m2_s: Array, *, system: BoxSystem, elapsed_s: Array
    ) -> Array:
        """Return each case's error over what is allowed, (n,).

        Parameters
        ----------
        error : State
            Between the steps of first and second order.
        water_kg_m2_s : array
            What prints give off at the step's start, (n, slots). [kg/(m² s)]
        system : BoxSystem
            The box.
        elapsed_s : array
            Since laying on, (n,). [s]
        """
        per_kelvin = 1.0 / self.temp_error_k
        in_time = (self.time_error_frac * (elapsed_s + SOON_S))[:, None]
        bound = self.time_error_frac * system.sheet.sorption.saturated_kg_m2
        drying = np.abs(water_kg_m2_s) * in_time
        water = np.minimum(np.maximum(drying, LEAST_SHARE * bound), bound)
        sheet = np.maximum(
            np.abs(error.sheet_temp_k) * per_kelvin, np.abs(error.water_kg_m2) / water
        )
        slots = np.maximum(sheet, np.abs(error.patch_temp_k) * per_kelvin).max(axis=1)
        plate = np.abs(error.plate_temp_k) * per_kelvin
        if np.any(
            system.plate.heater_w_m2
        ):  # a thermostat turns an error of temperature into power
            plate = np.maximum(
                plate, np.abs(error.plate_temp_k) / (BAND_SHARE * system.plate.heater_band_k)
            )
        if system.plate.cover is not None:
            plate = np.maximum(plate, np.abs(error.cover_temp_k) * per_kelvin)
        return np.asarray(np.maximum(slots, plate))

    def next_s(self, taken_s: Array, wanted_s: Array, miss_ratio: Array) -> Array:
        """Return the next step that the error of the last one allows. [s]"""
        factor = SAFETY / np.sqrt(np.maximum(miss_ratio, 1e-6))
        factor = np.minimum(np.maximum(factor, MOST_SHRINKING), MOST_GROWTH)
        grown = np.maximum(taken_s * factor, np.where(factor > 1.0, wanted_s, 0.0))
        return np.minimum(np.maximum(grown, self.shortest_s), self.largest_s)


COARSE_STEPS = StepControl(temp_error_k=0.3, time_error_frac=0.004)
"""Moves a drying time by under 1 %, for tables read to the minute."""
