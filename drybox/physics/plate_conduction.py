"""Heat that flows along the plate from the bare metal towards cold prints."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drybox.arrays import Array


def lateral_conductance_w_k(
    width_m: float, height_m: float, sheet_conduction_w_k: float, loss_w_m2_k: float, reach_m: float
) -> float:
    """Return the conductance along the plate from a print's patch to the bare plate.

    Parameters
    ----------
    width_m, height_m : float
        The patch. [m]
    sheet_conduction_w_k : float
        Plate conductivity times thickness. [W/K]
    loss_w_m2_k : float
        What the bare plate loses per kelvin, which sets how far the cold spreads. [W/(m² K)]
    reach_m : float
        The most it can spread: half the bare width beside the patch. [m]

    Returns
    -------
    float
        Mean of patch to mean of bare plate. [W/K]

    Notes
    -----
    Perimeter times ``k d / (L_in + L_out)``. Inside, a uniformly cooled rectangle has its mean
    a third of its half width, ``w/6``, from its edge (``w`` the short side); outside, the
    plate is a fin of length ``1/m``, ``m = sqrt(U / (k d))``, or ``reach/3`` where that is
    shorter. Steady state; corners are left out.

    References
    ----------
    Incropera, F. P. and DeWitt, D. P., *Fundamentals of Heat and Mass Transfer*, section 3.6
    (fins), section 3.5 (plane wall with generation).
    """
    inside = min(width_m, height_m) / 6
    outside = min(np.sqrt(sheet_conduction_w_k / max(loss_w_m2_k, 1e-6)), max(reach_m, 1e-3) / 3)
    return float(2 * (width_m + height_m) * sheet_conduction_w_k / (inside + outside))


def shade_felt_frac(
    plate_m: tuple[float, float], sheet_conduction_w_k: float, loss_w_m2_k: float
) -> float:
    """Return how much of a shadow along the walls is felt in the middle of the plate. [-]

    Parameters
    ----------
    plate_m : tuple of float
        Width and height. [m]
    sheet_conduction_w_k : float
        Plate conductivity times thickness. [W/K]
    loss_w_m2_k : float
        Loss of the plate. [W/(m² K)]

    Notes
    -----
    A strip at one edge that gets no sun cools the middle of a plate of length L by
    ``(m L/2) / sinh(m L/2)`` of what it would if the plate were one temperature, with
    ``m = sqrt(U / (k d))``: the fin with insulated ends. The mean over both ways.

    References
    ----------
    Incropera, F. P. and DeWitt, D. P., *Fundamentals of Heat and Mass Transfer*, section 3.6.

    Examples
    --------
    >>> round(shade_felt_frac((0.40, 0.50), 60.5 * 0.003, 15.0), 2)
    0.54
    """
    length_1_m = np.sqrt(loss_w_m2_k / max(sheet_conduction_w_k, 1e-9))
    halves = np.minimum(0.5 * length_1_m * np.array(plate_m), 50.0)
    return float(np.mean(halves / np.sinh(halves)))


@dataclass(frozen=True, eq=False)
class PlateConduction:
    """Conductance from each print's patch to the bare plate, by where it lies and what else does.

    Parameters
    ----------
    lone_w_k : float
        Of a print with open plate all round it. [W/K]
    full_w_k : float
        Of each print on a plate whose places are all taken. [W/K]
    inner_frac : array
        Share of each place's rim that does not face an edge of the plate close by, in the order
        in which places are taken: the middle first. [-]

    Notes
    -----
    A print draws heat over the part of its rim that faces open plate. Once every place is taken,
    the bare plate is the lanes between prints, and each draws on those beside it. Against
    conduction in two dimensions within 30 % from one print to nine.

    Examples
    --------
    One print in the middle; one in a corner; the plate full:

    >>> plate = PlateConduction(1.2, 1.6, np.array([1.0, 0.5]))
    >>> plate.w_k(np.array([[True, False], [False, True], [True, True]]))
    array([[1.2, 0.6],
           [1.2, 0.6],
           [1.6, 1.6]])
    """

    lone_w_k: float
    full_w_k: float
    inner_frac: Array

    def w_k(self, occupied: NDArray[np.bool_]) -> Array:
        """Return the conductance of every place, (n, slots), from which places are taken. [W/K]"""
        slots, most = occupied.shape[1], self.inner_frac.size
        alone = self.lone_w_k * self.inner_frac[np.minimum(np.arange(slots), most - 1)]
        if slots < max(most, 2):
            return np.broadcast_to(alone, occupied.shape)
        full = occupied.sum(axis=1) >= most
        return np.where(full[:, None], self.full_w_k, alone)

    @classmethod
    def none(cls) -> PlateConduction:
        """Return that of a print with no plate around it."""
        return cls.of_one(0.0)

    @classmethod
    def of_one(cls, w_k: float) -> PlateConduction:
        """Return that of a plate on which every place has the same. [W/K]"""
        return cls(w_k, w_k, np.ones(1))


def grid_of_places(
    plate_m: tuple[float, float], print_m: tuple[float, float], gap_m: float
) -> tuple[int, int]:
    """Return how many prints fit across and up a plate, the way round in which more do.

    Examples
    --------
    >>> grid_of_places((0.40, 0.50), (0.1016, 0.127), 0.01)
    (3, 3)
    """

    def fit(width_m: float, height_m: float) -> tuple[int, int]:
        return (
            int((plate_m[0] + gap_m) / (width_m + gap_m) + 1e-9),
            int((plate_m[1] + gap_m) / (height_m + gap_m) + 1e-9),
        )

    upright, across = fit(*print_m), fit(print_m[1], print_m[0])
    return upright if upright[0] * upright[1] >= across[0] * across[1] else across


def plate_conduction(
    plate_m: tuple[float, float],
    print_m: tuple[float, float],
    gap_m: float,
    sheet_conduction_w_k: float,
    loss_w_m2_k: float,
) -> PlateConduction:
    """Return the conduction towards prints on a plate, laid from the middle outwards.

    Parameters
    ----------
    plate_m, print_m : tuple of float
        Width and height of each. [m]
    gap_m : float
        Least room between prints. [m]
    sheet_conduction_w_k : float
        Plate conductivity times thickness. [W/K]
    loss_w_m2_k : float
        Loss of the bare plate. [W/(m² K)]

    Notes
    -----
    `lateral_conductance_w_k`, with half the bare width beside a print alone, and when all share
    the plate evenly.

    Examples
    --------
    A print 4 by 5 in on 3 mm of steel, 40 by 50 cm; by conduction in two dimensions 1.24 W/K alone
    in the middle, 3.0 to 3.2 the mean of nine:

    >>> steel = plate_conduction((0.40, 0.50), (0.1016, 0.127), 0.01, 60.5 * 0.003, 15.0)
    >>> round(steel.lone_w_k, 2), round(steel.full_w_k, 2)
    (1.14, 3.63)
    """
    across, up = (max(count, 1) for count in grid_of_places(plate_m, print_m, gap_m))
    area, print_area = plate_m[0] * plate_m[1], print_m[0] * print_m[1]

    def shared_by(prints: int) -> float:
        reach = 0.5 * (np.sqrt(area / prints) - np.sqrt(print_area))
        return lateral_conductance_w_k(*print_m, sheet_conduction_w_k, loss_w_m2_k, reach)

    return PlateConduction(shared_by(1), shared_by(across * up), _inner_frac(across, up, print_m))


def _inner_frac(across: int, up: int, print_m: tuple[float, float]) -> Array:
    """Return the share of each place's rim away from the plate's edges, the middle first."""
    rows, columns = np.divmod(np.arange(across * up), across)
    off = np.hypot(
        (columns - (across - 1) / 2) / max(across, 1), (rows - (up - 1) / 2) / max(up, 1)
    )
    beside = (columns == 0).astype(float) + (columns == across - 1) if across > 1 else 0.0 * columns
    above = (rows == 0).astype(float) + (rows == up - 1) if up > 1 else 0.0 * rows
    width, height = print_m
    facing = (beside * height + above * width) / (2 * (width + height))
    inner = 1.0 - facing[np.argsort(off, kind="stable")]
    inner[0] = 1.0  # a lone print is laid in the middle of the plate, whatever the grid
    return np.asarray(inner)
