"""What the times of a table's rows mark, where no heading says it: light on the level shows it."""

from __future__ import annotations

import numpy as np

from drybox.arrays import Array
from drybox.inputs.event.place import Position
from drybox.inputs.weather.odd import sine_of_sun

SHORTEST_S, LONGEST_S = 1800.0, 10800.0
"""Rows of shorter steps are as good as instants; longer ones say too little (judgement). [s]"""

MOST_FACTOR, MOST_ADDED_W_M2 = 1.5, 20.0
"""Light near sunrise and sunset over that of a clear sky (judgement). [-], [W/m²]"""

PARTS = 12
"""Instants of a row at whose middles its light is reckoned."""


def marked_by_light(times_at: Array, ghi_w_m2: Array, place: Position, *, step_s: float) -> str:
    """Return what times mark: ``time`` for instants, else the ``start`` or ``end`` of a mean.

    Rows are instants unless some have more light than a clear sky gives at those, such as before
    sunrise, and only the means after them, or only those before them, may be so bright.
    ``times_at`` [s] and ``ghi_w_m2`` are (rows,).
    """
    if not SHORTEST_S <= step_s <= LONGEST_S:
        return "time"

    def possible(offsets_s: Array) -> bool:
        clear = clear_ghi_w_m2(sine_of_sun(times_at[:, None] + offsets_s, place)).mean(axis=1)
        return not np.any(ghi_w_m2 > MOST_FACTOR * clear + MOST_ADDED_W_M2)

    after = (np.arange(PARTS) + 0.5) * step_s / PARTS
    if possible(np.zeros(1)):
        return "time"
    able = [role for role, offsets_s in (("start", after), ("end", -after)) if possible(offsets_s)]
    return able[0] if len(able) == 1 else "time"


def clear_ghi_w_m2(sine: Array) -> Array:
    """Return the global irradiance of a clear sky at sines of the sun's height. [W/m²]

    ::

        GHI = 1098 sin h exp(-0.057 / sin h),  0 below the horizon

    Haurwitz, B. (1945), Insolation in relation to cloudiness and cloud density, J. Meteorology 2,
    154; from sea level, air of middle haze.

    >>> clear_ghi_w_m2(np.array([-0.1, 0.5, 1.0])).round().tolist()
    [0.0, 490.0, 1037.0]
    """
    up = np.maximum(sine, 1e-3)
    return np.asarray(np.where(sine > 0.0, 1098.0 * up * np.exp(-0.057 / up), 0.0))
