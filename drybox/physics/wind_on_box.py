"""Wind on a box that is tilted on a prop: when it tips or slides, and the ballast that holds it."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drybox.physics.constants import GRAVITY_M_S2

FloatArray = NDArray[np.float64]


class PropStand(NamedTuple):
    """A box on its prop, lower edge on the ground.

    ``mass_kg`` lies at the middle; ``area_m2`` is seen square on; ``pressure_coeff`` is the force
    over the wind's pressure on that area; ``push_frac`` is where on the slope it acts, from the
    lower edge; ``friction_coeff`` that of the ground. [kg], [m²], [-]
    """

    mass_kg: float
    area_m2: float
    pressure_coeff: float
    push_frac: float = 0.75
    friction_coeff: float = 0.5
    air_density_kg_m3: float = 1.2


def gust_over_mean(
    height_m: float, roughness_length_m: float, *, peak_factor: float, most_turbulence_frac: float
) -> float:
    """Return the gust near the ground over the mean wind at the same place. [-]

    Parameters
    ----------
    height_m, roughness_length_m : float
        Height over the ground, and the ground's roughness length. [m]
    peak_factor : float
        Standard deviations that a gust stands above the mean.
    most_turbulence_frac : float
        Standard deviation over the mean where obstacles stand higher than the box.

    Notes
    -----
    1 + g I, with I = 1 / ln(1 + z/z0) of the neutral profile whose foot is on the ground (standard
    deviation 2.5 friction velocities), up to the most. Between obstacles higher than z the profile
    does not hold, and the most does.

    References
    ----------
    H. A. Panofsky and J. A. Dutton, Atmospheric Turbulence (1984): 2.4 friction velocities, from
    memory.

    Examples
    --------
    A box 0.8 m over grass, and between houses:

    >>> round(gust_over_mean(0.8, 0.03, peak_factor=3.0, most_turbulence_frac=0.5), 2)
    1.9
    >>> gust_over_mean(0.8, 1.0, peak_factor=3.0, most_turbulence_frac=0.5)
    2.5
    """
    turbulence = 1.0 / math.log1p(height_m / roughness_length_m)
    return 1.0 + peak_factor * min(turbulence, most_turbulence_frac)


def wind_force_n(stand: PropStand, gust_m_s: ArrayLike) -> FloatArray:
    """Return the force of a gust square to the box. [N]

    Notes
    -----
    N = ½ ρ V² C A, with V the gust at the box.

    References
    ----------
    EN 1991-1-4, Actions on structures: Wind actions, 5.3 and 7.3 (canopies).

    Examples
    --------
    A gust of 15 m/s on 0.2 m² at a coefficient of 1.8:

    >>> round(float(wind_force_n(PropStand(4.7, 0.2, 1.8), 15.0)), 1)
    48.6
    """
    gust = np.asarray(gust_m_s, dtype=float)
    pressure = 0.5 * stand.air_density_kg_m3 * gust**2
    return np.asarray(pressure * stand.pressure_coeff * stand.area_m2)


def tipping_gust_m_s(stand: PropStand, tilt_deg: ArrayLike) -> FloatArray:
    """Return the gust from behind at which the box tips over its lower edge. [m/s]

    Parameters
    ----------
    stand : PropStand
        The box.
    tilt_deg : array_like
        Slope of the box, 0 to 75. [deg]

    Notes
    -----
    V = sqrt(m g cos β / (p ρ C A)), p where the force acts, as a share of the slope: the weight's
    moment about the lower edge, m g (L/2) cos β, against N p L. Level, it lies on the ground and
    the wind does not get beneath, so for slopes under some 10° it is a lower bound.

    References
    ----------
    Statics; coefficients see `PropStand` and table ``box_wind``.
    """
    tilt = np.deg2rad(np.asarray(tilt_deg, dtype=float))
    drag = stand.push_frac * stand.air_density_kg_m3 * stand.pressure_coeff * stand.area_m2
    return np.asarray(np.sqrt(stand.mass_kg * GRAVITY_M_S2 * np.cos(tilt) / drag))


def sliding_gust_m_s(stand: PropStand, tilt_deg: ArrayLike) -> FloatArray:
    """Return the gust from behind at which the box slides. [m/s]

    Parameters
    ----------
    stand : PropStand
        The box.
    tilt_deg : array_like
        Slope of the box, 0 to 75. [deg]

    Notes
    -----
    V = sqrt(2 μ m g / (ρ C A (sin β + μ cos β))): the force pushes the box along the ground with
    N sin β, and takes N cos β off its weight.

    References
    ----------
    Statics; coefficients see `PropStand` and table ``box_wind``.
    """
    tilt = np.deg2rad(np.asarray(tilt_deg, dtype=float))
    grip = stand.friction_coeff
    drag = stand.air_density_kg_m3 * stand.pressure_coeff * stand.area_m2
    along = np.sin(tilt) + grip * np.cos(tilt)
    return np.asarray(np.sqrt(2 * grip * stand.mass_kg * GRAVITY_M_S2 / (drag * along)))


def holding_mass_kg(
    stand: PropStand, tilt_deg: ArrayLike, gust_m_s: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return the masses at the middle of the box that keep it from tipping and from sliding. [kg]

    Parameters
    ----------
    stand : PropStand
        The box; its own mass does not matter.
    tilt_deg : array_like
        Slope of the box, 0 to 75. [deg]
    gust_m_s : array_like
        Gust from behind, at the box. [m/s]

    Notes
    -----
    Against tipping 2 p N / (g cos β), against sliding N (sin β + μ cos β) / (μ g).

    Examples
    --------
    >>> [round(float(mass), 1) for mass in holding_mass_kg(PropStand(4.7, 0.2, 1.8), 45.0, 15.0)]
    [10.5, 10.5]
    """
    tilt = np.deg2rad(np.asarray(tilt_deg, dtype=float))
    force, grip = wind_force_n(stand, gust_m_s), stand.friction_coeff
    tips = 2 * stand.push_frac * force / (GRAVITY_M_S2 * np.cos(tilt))
    slides = force * (np.sin(tilt) + grip * np.cos(tilt)) / (grip * GRAVITY_M_S2)
    return np.asarray(tips), np.asarray(slides)
