"""What arrays of numbers are called in signatures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

AimDeg = tuple[Array, Array]
"""A plate's bearing and its tilt at each time, (times,) each. [deg]"""
