"""A plate and its prints through a whole day, every case with a load of its own.

`PlateDay` keeps the state between steps, so that prints may be laid on and taken off while the
others go on drying. It moves on by `drybox.physics.simulation.step.step` like every other run.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array, Flags, Index
from drybox.physics.air_film import vapour_coeff_kg_m2_s_pa
from drybox.physics.box_heat import BoxAir, CoverModel
from drybox.physics.constants import WATER_SPECIFIC_HEAT_J_KG_K
from drybox.physics.print_drying import SheetAir, SheetModel, sheet_rates
from drybox.physics.simulation.balance import rates
from drybox.physics.simulation.forcing import Forcing, Outside
from drybox.physics.simulation.state import BoxSystem, State
from drybox.physics.simulation.step import Stepper, Tried, crossing_s

ROUGH_K, SHORT_STEPS, DEEPEST = 15.0, 4, 4
"""A step whose error estimate of a sheet's temperature is above this is taken again in so many
short ones, and those again where they need it, so deep at most (judgement): a sheet nearly dry on a
hot plate overshoots in a step of a minute, a wet one on a plate of 150 °C in four seconds. [K]"""

OF_EACH_PRINT = ("absorptance_frac", "contact_wet_w_m2_k", "contact_dry_w_m2_k")
"""Parameters of `SheetModel` that each print laid on has of its own."""

NEWTON_STEPS = 2
"""From the mixed temperature to a print's balance; a third moves a drying time by under 0.1 %."""


class PlateDay:
    """A box through a day, in many cases side by side; empty and at air temperature at first.

    Parameters
    ----------
    system : BoxSystem
        The box with as many slots as the day may need; its sheet's scalars hold for every print.
        Slots that no case has used yet are left to the bare plate.
    forcing : Forcing
        Weather and light.
    member : array of int
        Row of the forcing for each case, (n,).
    start_at : float or array
        Unix time of setting out, one for all or (n,). [s]
    marks_kg_m2 : tuple of float
        Waters at which a print is of note, such as touch dry and dry. [kg/m²]

    Attributes
    ----------
    time_at : float or array
        Unix time now, as the start was given. [s]
    state : State
        Temperatures and water, (n, slots in use so far).
    occupied : array of bool
        Which slots hold a print, (n, slots in use so far).
    heater_j : array
        What a powered plate has taken so far, (n,). [J]
    """

    def __init__(
        self,
        system: BoxSystem,
        forcing: Forcing,
        member: Index,
        *,
        start_at: Array | float,
        marks_kg_m2: tuple[float, ...],
    ) -> None:
        self._whole, self._forcing, self._member = system, forcing, member
        self._marks, self._plate = marks_kg_m2, system.plate
        self._cases = member.size
        self.time_at = start_at
        self._by_time = None if np.ndim(start_at) else _by_time(forcing, member)
        self._outside = self._outside_at(start_at)
        self.state = replace(system, slots=1).start(self._outside.air_temp_k)
        self.occupied = np.zeros((self._cases, 1), dtype=bool)
        usual = (np.asarray(getattr(system.sheet, name), dtype=float) for name in OF_EACH_PRINT)
        columns = [np.broadcast_to(value, (self._cases, 1)).copy() for value in usual]
        self._of_each = dict(zip(OF_EACH_PRINT, columns, strict=True))
        self._make()
        self._box: BoxAir | None = None
        self.heater_j = np.zeros(self._cases)

    @property
    def cover(self) -> CoverModel | None:
        """That of the box, if it has one."""
        return self._whole.plate.cover

    @property
    def sheet(self) -> SheetModel:
        """The prints as they usually are."""
        return self._whole.sheet

    @property
    def air_temp_k(self) -> Array:
        """The outdoor air now, (n,). [K]"""
        return self._outside.air_temp_k

    @property
    def slots(self) -> int:
        """Slots in use so far."""
        return int(self.occupied.shape[1])

    def _outside_at(self, time_at: Array | float) -> Outside:
        """Return what acts on each case; from rows side by side where all share one time."""
        if self._by_time is None:
            return self._forcing.at(self._member, self._by_case(time_at))
        last = self._by_time.shape[0] - 1
        place = min(
            max((float(time_at) - self._forcing.start_at) / self._forcing.step_s, 0.0), last
        )
        left = min(int(place), last - 1)
        before, after = self._by_time[left], self._by_time[left + 1]
        mixed: list[Array] = list(before + (after - before) * (place - left))
        return Outside._make([*mixed, self._forcing.pressure_pa])

    def heat(self, on: NDArray[np.bool_]) -> None:
        """Switch a powered plate on in some cases, (n,), and off in the others."""
        full = np.asarray(self._whole.plate.heater_w_m2)
        self._plate = replace(self._whole.plate, heater_w_m2=np.where(on, full, 0.0))
        self._make()

    def _by_case(self, value: Array | float) -> Array:
        return np.broadcast_to(np.asarray(value, dtype=float), (self._cases,))

    def _make(self) -> None:
        """Make the system of the slots in use and of what each of their prints is like."""
        sheet = replace(self._whole.sheet, **self._of_each)  # type: ignore[arg-type]
        self._system = replace(self._whole, plate=self._plate, sheet=sheet, slots=self.slots)
        self._stepper = Stepper(self._system, self._cases)

    def _add_slot(self) -> None:
        """Take one more slot out of the bare plate, at the bare plate's temperature."""
        bare = self.state.plate_temp_k[:, None]
        state = self.state
        self.state = State(
            state.plate_temp_k,
            np.concatenate([state.patch_temp_k, bare], axis=1),
            np.concatenate([state.sheet_temp_k, bare], axis=1),
            np.concatenate([state.water_kg_m2, np.zeros_like(bare)], axis=1),
            state.cover_temp_k,
        )
        empty = np.zeros((self._cases, 1), dtype=bool)
        self.occupied = np.concatenate([self.occupied, empty], axis=1)
        for name, held in self._of_each.items():
            self._of_each[name] = np.concatenate([held, held[:, :1]], axis=1)
        self._make()

    def lay_on(
        self,
        cases: Index,
        slot: Index,
        temp_k: Array | float,
        *,
        water_kg_m2: Array,
        **of_each: Array,
    ) -> None:
        """Lay one print on in each of some cases, and let it warm to where it stays for a while.

        Parameters
        ----------
        cases, slot : array of int
            Which cases, and where.
        temp_k : float or array
            The print as it comes. [K]
        water_kg_m2 : array
            Water on and in it. [kg/m²]
        **of_each : array
            `OF_EACH_PRINT`: its solar absorptance, and contact with the plate. [-], [W/(m² K)]

        Notes
        -----
        A wet print on a hot plate comes to the balance of contact, sun and evaporation within
        seconds. It is set there at once, with the heat that takes out of its patch, so that a step
        of half a minute may follow. What it gives off too much by that is added to its water: the
        difference of the two rates times the time constant of its warming.
        """
        while slot.max() >= self.slots:
            self._add_slot()
        for name in OF_EACH_PRINT:
            self._of_each[name][cases, slot] = of_each[name]  # the system holds these arrays
        usual = self._whole.sheet
        laid = replace(
            usual,
            **of_each,  # type: ignore[arg-type]
            vapour_resistance_m2_s_pa_kg=_picked(usual.vapour_resistance_m2_s_pa_kg, cases),
            critical_water_kg_m2=_picked(usual.critical_water_kg_m2, cases),
            lifts_at_moisture=_picked(usual.lifts_at_moisture, cases),
            lone_film_factor=_picked(usual.lone_film_factor, cases),
        )
        patch_k = self.state.patch_temp_k[cases, slot]
        air = self._air_at(cases, slot, 0.5 * (patch_k + self._outside.air_temp_k[cases]))
        sheet_k, patch_k, kept = self._settled(
            laid, air, temp_k, patch_k=patch_k, water=water_kg_m2
        )
        state = State(*(values.copy() for values in self.state))
        state.sheet_temp_k[cases, slot], state.patch_temp_k[cases, slot] = sheet_k, patch_k
        state.water_kg_m2[cases, slot] = water_kg_m2 + kept
        self.state = state
        self.occupied[cases, slot] = True

    def _air_at(self, cases: Index, slot: Index, film_temp_k: Array) -> SheetAir:
        """Return the air at some slots, moving over them as it did a step ago."""
        box, outside = self._box, self._outside
        if box is None or box.sheet_coeff_w_m2_k.shape[1] != self.slots:
            box = rates(self._system, self.state, outside, occupied=self.occupied).box
            self._box = box
        transfer, vapour = box.sheet_coeff_w_m2_k[cases, slot], outside.vapour_pressure_pa[cases]
        return SheetAir(
            front_sun_w_m2=outside.front_sun_w_m2[cases],
            back_sun_w_m2=outside.back_sun_w_m2[cases],
            air_temp_k=box.air_temp_k[cases],
            vapour_pressure_pa=vapour,
            front_radiant_temp_k=box.radiant_temp_k[cases],
            back_radiant_temp_k=outside.back_radiant_temp_k[cases],
            transfer_coeff_w_m2_k=transfer,
            mass_coeff_kg_m2_s_pa=vapour_coeff_kg_m2_s_pa(
                transfer,
                film_temp_k,
                vapour,
                outside.pressure_pa,
                self._whole.sheet.lewis_factor,
            )
            * _picked(self._whole.sheet.own_film_factor(self.occupied), cases),
            radiant_share_frac=_picked(box.radiant_share_frac, cases),
        )

    def _settled(
        self,
        sheet: SheetModel,
        air: SheetAir,
        temp_k: Array | float,
        *,
        patch_k: Array,
        water: Array,
    ) -> tuple[Array, Array, Array]:
        """Return prints' and patches' temperatures in balance, and water not yet given off."""
        pressure = self._forcing.pressure_pa
        own = sheet.dry_heat_j_m2_k + water * WATER_SPECIFIC_HEAT_J_KG_K
        contact, _ = sheet.contact_w_m2_k(water)
        share = np.where(contact > 0, own / self._whole.plate.heat_capacity_j_m2_k, 0.0)
        mixed = (share * temp_k + patch_k) / (1.0 + share)
        mixed = np.where(contact > 0, mixed, temp_k)
        cold = sheet_rates(sheet, np.zeros_like(mixed) + temp_k, water, air, pressure)
        here = mixed
        for _ in range(NEWTON_STEPS):
            gains = sheet_rates(sheet, here, water, air, pressure)
            slope = gains.heat_slope_w_m2_k + contact * (1.0 + share)
            patch_now = mixed + share * (mixed - here)
            heat = gains.heat_w_m2 + contact * (patch_now - here)
            here = here + heat / slope
        kept = (gains.water_kg_m2_s - cold.water_kg_m2_s) * own / slope
        return here, np.where(contact > 0, mixed + share * (mixed - here), patch_k), kept

    def take_off(self, which: NDArray[np.bool_]) -> None:
        """Take prints off, (n, slots in use so far).

        The patch keeps its temperature and stands in the sun again.
        """
        self.occupied &= ~which
        water = np.where(which, 0.0, self.state.water_kg_m2)
        sheet = np.where(which, self.state.patch_temp_k, self.state.sheet_temp_k)
        self.state = self.state._replace(water_kg_m2=water, sheet_temp_k=sheet)

    def give_back_slots(self) -> None:
        """Give the last slots back to the bare plate while no case holds a print in them.

        Plate and patch are mixed, so that their heat is kept.
        """
        while self.slots > 1 and not self.occupied[:, -1].any():
            state, area = self.state, self._whole.sheet.area_m2
            bare = self._system.bare_area_m2
            mixed = bare * state.plate_temp_k + area * state.patch_temp_k[:, -1]
            self.state = State(
                mixed / (bare + area),
                state.patch_temp_k[:, :-1],
                state.sheet_temp_k[:, :-1],
                state.water_kg_m2[:, :-1],
                state.cover_temp_k,
            )
            self.occupied = self.occupied[:, :-1]
            self._of_each = {name: held[:, :-1].copy() for name, held in self._of_each.items()}
            self._make()
            self._box = None

    def advance(self, step_s: float) -> Array:
        """Move on by one step.

        Parameters
        ----------
        step_s : float
            Step. [s]

        Returns
        -------
        array
            When each print fell through each mark within the step, else infinite, (marks, n, slots
            so far). [s]
        """
        later = self._outside_at(self.time_at + step_s)
        before = self.state
        ends, occupied = (self._outside, later), self.occupied
        with np.errstate(over="ignore", invalid="ignore"):  # what overflows is taken again
            tried = self._stepper(before, *ends, occupied=occupied, step_s=step_s)
            _mend(tried, self._system, before, ends=ends, occupied=occupied, step_s=step_s)
        self.state, self._box, self._outside = tried.moved, tried.box, later
        self.heater_j += tried.heater_w_m2 * self._system.plate.area_m2 * step_s
        was, left = before.water_kg_m2, self.state.water_kg_m2
        begun = self._by_case(self.time_at)[:, None]
        self.time_at = self.time_at + step_s
        return np.array(  # a slot without a print holds no water that could fall
            [crossing_s(mark, was, left, start_at=begun, length_s=step_s) for mark in self._marks]
        )


def _mend(
    tried: Tried,
    system: BoxSystem,
    before: State,
    *,
    ends: tuple[Outside, Outside],
    occupied: Flags,
    step_s: float,
    deep: int = 0,
) -> None:
    """Take the cases that a step served badly again in short ones, in place."""
    off_k = (np.abs(tried.error.sheet_temp_k) * occupied).max(axis=1)
    rows = np.flatnonzero(~(off_k <= ROUGH_K))
    if deep == DEEPEST or rows.size == 0:
        return
    some = system.some(rows, off_k.size)
    stepper, short_s = Stepper(some, rows.size), step_s / SHORT_STEPS
    lies, state = occupied[rows], State(*(part[rows] for part in before))
    first, last = (each.some(rows) for each in ends)
    for number in range(SHORT_STEPS):
        at, then = (_between(first, last, (number + k) / SHORT_STEPS) for k in (0, 1))
        part = stepper(state, at, then, occupied=lies, step_s=short_s)
        _mend(part, some, state, ends=(at, then), occupied=lies, step_s=short_s, deep=deep + 1)
        state = part.moved
    for whole, mended in zip(tried.moved, state, strict=True):
        whole[rows] = mended


def _between(first: Outside, last: Outside, share: float) -> Outside:
    """Return what acts part of the way from one instant to another."""
    *before, pressure_pa = first
    mixed = [a + (b - a) * share for a, b in zip(before, last[:-1], strict=True)]
    return Outside._make([*mixed, pressure_pa])


def _by_time(forcing: Forcing, member: Index) -> Array:
    """Return a forcing's table as (times, fields, cases), so that an instant lies in one piece."""
    return np.ascontiguousarray(np.moveaxis(forcing.values[:, member], 2, 0))


def _picked(value: Array | float, cases: Index) -> Array | float:
    """Return the cases of a value by case, (n,) or (n, 1), or the scalar it is."""
    array = np.asarray(value)
    return float(array) if array.ndim == 0 else array.reshape(array.shape[0], -1)[cases, 0]
