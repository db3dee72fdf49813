"""Weather and light at the box, tabulated once and read by every step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array
from drybox.errors import InputError


class Outside(NamedTuple):
    """What acts on the box at one instant, each (n,).

    ``front_sun_w_m2`` reaches plate and prints (after obstacles, walls and cover);
    ``back_sun_w_m2`` the back of a hanging print; ``cover_sun_w_m2`` is taken in by the cover.
    Wind is that at the surface. Radiant temperatures stand for sky, walls and ground together.
    """

    front_sun_w_m2: Array
    back_sun_w_m2: Array
    cover_sun_w_m2: Array
    air_temp_k: Array
    vapour_pressure_pa: Array
    wind_m_s: Array
    front_radiant_temp_k: Array
    back_radiant_temp_k: Array
    tilt_rad: Array
    pressure_pa: float

    def some(self, cases: NDArray[np.intp]) -> Outside:
        """Return what acts on some of the cases."""
        parts = (part[cases] if isinstance(part, np.ndarray) else part for part in self)
        return Outside._make(parts)


@dataclass(frozen=True, eq=False)
class Forcing:
    """A table of `Outside` over members and time.

    Parameters
    ----------
    start_at : float
        Unix time of the first column. [s]
    step_s : float
        Between columns. [s]
    values : array
        (9, members, times), fields in the order of `Outside`.
    pressure_pa : float
        Air pressure. [Pa]

    Attributes
    ----------
    instants : array
        The same as (members × times, 9), so that an instant lies in one piece.
    """

    start_at: float
    step_s: float
    values: Array
    pressure_pa: float
    instants: Array = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.values.ndim != 3 or self.values.shape[0] != 9 or self.values.shape[2] < 2:
            raise InputError("a forcing table needs nine fields and two times at least")
        if not np.isfinite(self.values).all():
            raise InputError("a forcing table has gaps")
        by_instant = np.ascontiguousarray(self.values.transpose(1, 2, 0))
        object.__setattr__(self, "instants", by_instant.reshape(-1, by_instant.shape[2]))

    @classmethod
    def of(
        cls, start_at: float, step_s: float, pressure_pa: float, **fields: Array | float
    ) -> Forcing:
        """Return a table from fields by name, broadcast to (members, times)."""
        names = Outside._fields[:-1]
        shape = np.broadcast_shapes(*(np.shape(fields[name]) for name in names))
        shape = (1,) * (2 - len(shape)) + tuple(shape)
        values = np.stack(
            [np.broadcast_to(np.asarray(fields[name], dtype=float), shape) for name in names], -1
        )
        return cls(start_at, step_s, values.transpose(2, 0, 1), pressure_pa)

    @classmethod
    def joined(cls, parts: Sequence[Forcing]) -> Forcing:
        """Return tables over the same times with their members one after the other."""
        values = np.concatenate([part.values for part in parts], axis=1)
        return cls(parts[0].start_at, parts[0].step_s, values, parts[0].pressure_pa)

    @property
    def members(self) -> int:
        """How many members the table holds."""
        return int(self.values.shape[1])

    def at(self, member: NDArray[np.intp], time_at: Array) -> Outside:
        """Return what acts at each case's time, linear between columns.

        Parameters
        ----------
        member : array of int
            Member of each case, (n,).
        time_at : array
            Unix time of each case, (n,); beyond the table's ends its end is held. [s]
        """
        times = self.values.shape[2]
        position = (time_at - self.start_at) / self.step_s
        position = np.minimum(np.maximum(position, 0.0), times - 1.0)
        left = np.minimum(position.astype(np.intp), times - 2)
        instant = member * times + left
        before = self.instants.take(instant, axis=0)
        after = self.instants.take(instant + 1, axis=0)
        mixed = before + (after - before) * (position - left)[:, None]
        return Outside._make((*mixed.T.copy(), self.pressure_pa))
