"""Natural convection of a sloping plate's upper face, between the level and the upright form."""

from __future__ import annotations

import numpy as np

from drybox.physics.air_film import AirFilm
from drybox.physics.constants import Floats
from drybox.physics.nusselt import (
    hot_down_nusselt,
    hot_up_laminar_nusselt,
    hot_up_turbulent_nusselt,
    vertical_plate_nusselt,
)


def inclined_plate_w_m2_k(
    air: AirFilm,
    size_k: Floats,
    warm_frac: Floats,
    natural_length_m: Floats,
    height_m: Floats,
    tilt_rad: Floats,
) -> Floats:
    """Return the natural-convection coefficient of the upper face of a sloping plate.

    Parameters
    ----------
    air : AirFilm
        At the mean of surface and air.
    size_k : float or array
        Size of the temperature difference. [K]
    warm_frac : float or array
        1 where the face is warmer than the air, 0 where it is colder. [-]
    natural_length_m : float or array
        Area over perimeter. [m]
    height_m : float or array
        Length of the plate up the slope. [m]
    tilt_rad : float or array
        Slope from level, 0 (facing up) to 90°. [rad]

    Returns
    -------
    float or array
        Heat transfer coefficient. [W/(m² K)]

    Notes
    -----
    The larger of the vertical plate with ``g sin β`` and the level one with ``g cos β``: hot
    side up (larger of laminar and turbulent) where the face is warmer than the air, else hot
    side down by symmetry. At 0° and 90° it is each alone.

    References
    ----------
    G. D. Raithby and K. G. T. Hollands, in *Handbook of Heat Transfer* (1998), ch. 4. For the
    cold side they use the vertical form alone, which vanishes on a level plate.

    Examples
    --------
    A level plate 0.6 m square at 90 °C in air of 30 °C:

    >>> from drybox.physics.air_film import air_film
    >>> air = air_film(333.15, 101325.0)
    >>> round(float(inclined_plate_w_m2_k(air, 60.0, 1.0, 0.15, 0.6, 0.0)), 1)
    6.5
    """
    drive = air.rayleigh_per_k_m3 * size_k
    flat, steep = np.maximum(np.cos(tilt_rad), 0.0), np.sin(tilt_rad)
    level = drive * (natural_length_m * natural_length_m * natural_length_m * flat)
    upright = drive * (height_m * height_m * height_m * steep)
    hot_up = np.maximum(hot_up_laminar_nusselt(level), hot_up_turbulent_nusselt(level))
    hot_down = hot_down_nusselt(level)
    level_nusselt = hot_down + warm_frac * (hot_up - hot_down)
    upright_nusselt = vertical_plate_nusselt(upright, air.prandtl, air.upright_factor)
    larger: Floats = np.maximum(level_nusselt / natural_length_m, upright_nusselt / height_m)
    return larger * air.conductivity_w_m_k
