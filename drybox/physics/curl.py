"""How far gelatin bends the paper it lies on: humidity, strain, curvature, lift of an edge.

The gelatin side shrinks more than the paper as the air dries, from the humidity at which the
sheet was last flat and free of stress; the two together bend like a bimetal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drybox.arrays import Array
from drybox.physics.sorption import GabIsotherm

GLASS_OF_WATER_K = 136.0
"""Glass transition of water, as in the usual accounts of plasticised polymers. [K]"""

WATER_KG_M3 = 1000.0
"""Density of the water that swells gelatin. [kg/m³]"""


@dataclass(frozen=True)
class Strains:
    """How far gelatin and paper change their length per unit of relative humidity. [-]

    Gelatin has two slopes, above and below ``bend_activity``.
    """

    gelatin_damp: float
    gelatin_dry: float
    bend_activity: float
    paper: float


def bilayer_curvature(
    strain_frac: ArrayLike, layer_m: ArrayLike, base_m: ArrayLike, modulus_ratio: ArrayLike
) -> Array:
    """Return the curvature of two bonded layers of which one shrinks more. [1/m]

    Parameters
    ----------
    strain_frac : array_like
        Shrinkage of the layer less that of the base. [-]
    layer_m, base_m : array_like
        Their thicknesses. [m]
    modulus_ratio : array_like
        Young's modulus of the layer over that of the base. [-]

    Returns
    -------
    array
        Positive towards the layer. [1/m]

    Notes
    -----
    With m = layer / base, n the ratio of moduli and h both thicknesses together,
    ``k = 6 e (1 + m)² / (h (3 (1 + m)² + (1 + m n)(m² + 1/(m n))))``: elastic, narrow strip, no
    weight. A wide sheet bends about one axis alone; then both moduli stand for the plane-strain
    ones and the ratio is the same.

    References
    ----------
    Timoshenko, S. (1925), Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11, 233.

    Examples
    --------
    Layers of 0.05 in, 12e-6 /°F apart, 400 °F, over a span of 10 in: the middle rises by 0.90 in
    (row FC1 of ``data/reference/finishing.csv``):

    >>> k = bilayer_curvature(12e-6 * 400, 0.05, 0.05, 1.0)
    >>> round(float(k * 10**2 / 8), 2)
    0.9
    """
    thin = np.asarray(layer_m, dtype=float) / np.asarray(base_m, dtype=float)
    stiff = thin * np.asarray(modulus_ratio, dtype=float)
    height_m = np.asarray(layer_m) + np.asarray(base_m)
    square = (1 + thin) ** 2
    whole = 3 * square + (1 + stiff) * (thin**2 + 1 / stiff)
    return np.asarray(6 * np.asarray(strain_frac) * square / (height_m * whole))


def humidity_strain_frac(strains: Strains, flat_activity: ArrayLike, activity: ArrayLike) -> Array:
    """Return how much more the gelatin has shrunk than the paper. [-]

    Parameters
    ----------
    strains : Strains
        Of the two layers.
    flat_activity, activity : array_like
        Humidity at which the sheet was last flat and free of stress, and the one it is in balance
        with. [-]

    Returns
    -------
    array
        Negative in air damper than that in which it was flat. [-]

    References
    ----------
    Calhoun, J. M. (1944), J. SMPE 43, 260, Table 5: a stripped emulsion shrinks by 0.8 % from 70
    to 50 % relative humidity and by 1.8 % to 20 %.

    Examples
    --------
    The stripped emulsion (row FC6 of ``data/reference/finishing.csv``):

    >>> emulsion = Strains(0.040, 0.033, 0.5, 0.0)
    >>> humidity_strain_frac(emulsion, 0.7, [0.5, 0.2]).round(3)
    array([0.008, 0.018])
    """

    def length(at: ArrayLike) -> Array:
        over = np.asarray(at, dtype=float) - strains.bend_activity
        slope = np.where(over > 0, strains.gelatin_damp, strains.gelatin_dry) - strains.paper
        return np.asarray(slope * over)

    return length(flat_activity) - length(activity)


def gelatin_thickness_m(
    gelatin_kg_m2: float, moisture_frac: ArrayLike, gelatin_kg_m3: float
) -> Array:
    """Return how thick the gelatin is with its water, volumes added. [m]

    Parameters
    ----------
    gelatin_kg_m2 : float
        Dry gelatin. [kg/m²]
    moisture_frac : array_like
        Its water, dry basis. [kg/kg]
    gelatin_kg_m3 : float
        Density of dry gelatin. [kg/m³]
    """
    return np.asarray(
        gelatin_kg_m2 / gelatin_kg_m3 + gelatin_kg_m2 * np.asarray(moisture_frac) / WATER_KG_M3
    )


def edge_lift_m(curvature_1_m: ArrayLike, arc_m: ArrayLike) -> Array:
    """Return how high the edges of a curled sheet stand over its middle. [m]

    Parameters
    ----------
    curvature_1_m : array_like
        Positive or negative. [1/m]
    arc_m : array_like
        Length of the side that is bent. [m]

    Returns
    -------
    array
        With the sign of the curvature; no more than the diameter of the roll. [m]

    Notes
    -----
    ``H = (1 - cos(k L / 2)) / k``, about ``k L² / 8`` while small; a roll past half a turn stands
    as high as it is wide. The sheet's weight is left out: it is measured standing on edge.

    Examples
    --------
    >>> edge_lift_m([0.0, 3.9, -3.9], 0.127).round(4)
    array([ 0.    ,  0.0078, -0.0078])
    """
    curvature = np.asarray(curvature_1_m, dtype=float)
    half = np.minimum(np.abs(curvature) * np.asarray(arc_m) / 2, np.pi)
    safe = np.where(curvature == 0, 1.0, curvature)
    # 1 - cos by its half angle, which keeps its digits where the sheet is nearly flat
    return np.asarray(np.where(curvature == 0, 0.0, 2 * np.sin(half / 2) ** 2 / safe))


def curvature_of_lift(lift_m: float, arc_m: float) -> float:
    """Return the curvature of a sheet whose edges stand so high, along the arc. [1/m]

    Parameters
    ----------
    lift_m, arc_m : float
        Height of the edges over the middle, and length of the side. [m]

    Returns
    -------
    float
        With the sign of the lift, found by Newton's rule up to where the lift is greatest, a
        little past two thirds of a half turn. [1/m]

    Examples
    --------
    An arc of 34.98 mm that rises by 0.20 in (row FC5 of ``data/reference/finishing.csv``):

    >>> round(curvature_of_lift(0.2 * 0.0254, 0.03498), 1)
    34.2
    """
    rise = min(abs(lift_m) / arc_m, HIGHEST_RISE)
    if rise < 1e-6:  # the chord's form is as good, and loses no digits
        return 8 * lift_m / arc_m**2
    half = 4 * rise
    for _ in range(30):
        up = 2 * np.sin(half / 2) ** 2
        miss, slope = up / (2 * half) - rise, (half * np.sin(half) - up) / (2 * half**2)
        half = float(np.clip(half - miss / max(slope, 1e-3), 1e-6, HIGHEST_HALF_RAD))
    return float(np.copysign(2 * half / arc_m, lift_m))


HIGHEST_HALF_RAD = 2.331
"""Half the turn at which an arc of given length stands highest: ``x sin x = 1 - cos x``. [rad]"""

HIGHEST_RISE = 0.3623
"""Greatest rise of an arc over its length, there. [-]"""


def softening_temp_k(
    moisture_frac: ArrayLike, dry_k: float, plasticiser_factor: ArrayLike
) -> Array:
    """Return the temperature at which gelatin with so much water softens. [K]

    Parameters
    ----------
    moisture_frac : array_like
        Its water, dry basis. [kg/kg]
    dry_k : float
        Where dry gelatin softens. [K]
    plasticiser_factor : array_like
        Weight of the water's own glass transition. [-]

    Notes
    -----
    Gordon and Taylor's rule: with w = X / (1 + X),
    ``T = ((1 - w) T_dry + K w 136) / ((1 - w) + K w)``. Known to about 20 K.

    References
    ----------
    Gordon, M. and Taylor, J. S. (1952), J. Appl. Chem. 2, 493. Gelatin of 25 ± 3 % water softens
    at room temperature: Polymer 46 (2005) 12577; dry gelatin at 200 °C: Pinhas and others (1996).

    Examples
    --------
    Row FC8 of ``data/reference/finishing.csv``:

    >>> round(float(softening_temp_k(0.25, 473.0, 4.3)) - 273.15, 1)
    25.3
    """
    moisture = np.asarray(moisture_frac, dtype=float)
    water = np.asarray(plasticiser_factor, dtype=float) * moisture
    return np.asarray((dry_k + water * GLASS_OF_WATER_K) / (1 + water))


def softening_activity(
    isotherm: GabIsotherm, temp_k: ArrayLike, dry_k: float, plasticiser_factor: ArrayLike
) -> Array:
    """Return the humidity, at 25 °C, at which gelatin softens at a temperature. [-]

    Parameters
    ----------
    isotherm : GabIsotherm
        Of gelatin.
    temp_k : array_like
        Temperature. [K]
    dry_k, plasticiser_factor : float, array_like
        As in `softening_temp_k`.

    Returns
    -------
    array
        That at which a print left free sets: from there on its gelatin pulls. [-]

    Examples
    --------
    >>> gelatin = GabIsotherm(0.0905, 27.2, 0.859)
    >>> softening_activity(gelatin, [283.15, 298.15, 323.15], 473.0, 4.3).round(2)
    array([0.82, 0.75, 0.62])
    """
    temp = np.asarray(temp_k, dtype=float)
    factor = np.asarray(plasticiser_factor, dtype=float)
    moisture = (dry_k - temp) / ((temp - GLASS_OF_WATER_K) * factor)
    return activity_of_moisture(isotherm, np.maximum(moisture, 1e-9))


def activity_of_moisture(isotherm: GabIsotherm, moisture_frac: ArrayLike) -> Array:
    """Return the activity at which a layer holds so much water, by its isotherm. [-]

    Parameters
    ----------
    isotherm : GabIsotherm
        The layer's.
    moisture_frac : array_like
        Water, dry basis, above zero. [kg/kg]

    Returns
    -------
    array
        At most 1, where free water begins. [-]
    """
    moisture = np.asarray(moisture_frac, dtype=float)
    square = (isotherm.c - 1) * moisture
    line = isotherm.monolayer_frac * isotherm.c - (isotherm.c - 2) * moisture
    root = (-line + np.sqrt(line**2 + 4 * square * moisture)) / (2 * square)
    return np.asarray(np.minimum(root / isotherm.k, 1.0))
