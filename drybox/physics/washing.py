"""How thiosulfate leaves a print in still baths: dilution by carry-over, diffusion, slow tail."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Number = float | Floats


def carry_over_share_frac(carry_over_m3: Number, water_m3: Number) -> Number:
    """Return the share of the thiosulfate that prints keep at full equilibrium with a bath.

    Parameters
    ----------
    carry_over_m3 : float or array
        Liquid that the prints bring along, in and on them. [m³]
    water_m3 : float or array
        Fresh water in the tray. [m³]

    Returns
    -------
    float or array
        Share left, 0 to 1. [frac]

    Notes
    -----
    ``r = v / (V + v)``: one concentration throughout. Limit for much water: 0. Adsorption on
    fibre and baryta is left out here; the slow tail of `wash_in_changes` stands for it.

    References
    ----------
    Dilution law, by mass balance; any textbook on washing or extraction.

    Examples
    --------
    4 mL into 400 mL (reference row WD1, about 1 %):

    >>> round(carry_over_share_frac(4e-6, 400e-6), 4)
    0.0099
    """
    return carry_over_m3 / (water_m3 + carry_over_m3)


def washing_time_constant_s(
    reference_s: Number,
    dry_mass_kg_m2: Number,
    water_temp_k: Number,
    *,
    reference_dry_mass_kg_m2: float,
    mass_exponent: float,
    reference_temp_k: float,
    rate_per_10_k: float,
) -> Number:
    """Return the time constant for a weight of paper and a water temperature.

    Parameters
    ----------
    reference_s : float or array
        Time constant at the reference weight and temperature. [s]
    dry_mass_kg_m2, reference_dry_mass_kg_m2 : float or array
        Dry mass of the sheet, and of the reference sheet. [kg/m²]
    water_temp_k, reference_temp_k : float or array
        Water temperatures. [K]
    mass_exponent : float
        Power of the weight; 2 would be pure diffusion through the thickness. [1]
    rate_per_10_k : float
        Factor by which 10 K more speeds the wash. [1]

    Returns
    -------
    float or array
        Time constant. [s]

    Notes
    -----
    ``tau = tau_ref (m/m_ref)^n q^((T_ref - T)/10 K)``, for 0.1-0.4 kg/m² and 5-30 °C.

    References
    ----------
    Empirical; the figures and their status are in ``data/tables/washing.csv``.

    Examples
    --------
    Half as heavy again, and 10 K colder (reference row WC1):

    >>> paper = {"reference_dry_mass_kg_m2": 0.24, "mass_exponent": 2}
    >>> water = {"reference_temp_k": 293.15, "rate_per_10_k": 1.5}
    >>> round(washing_time_constant_s(480.0, 0.36, 283.15, **paper, **water))
    1620
    """
    weight = (dry_mass_kg_m2 / reference_dry_mass_kg_m2) ** mass_exponent
    warmth = rate_per_10_k ** ((reference_temp_k - water_temp_k) / 10.0)
    return reference_s * weight * warmth


def left_frac(share_frac: Number, soak_s: Number, time_constant_s: Number) -> Number:
    """Return the share of thiosulfate left in the print after one still bath.

    Parameters
    ----------
    share_frac : float or array
        Share kept at equilibrium; 0 is the limit of running water. [frac]
    soak_s : float or array
        Time in the bath. [s]
    time_constant_s : float or array
        Time constant of diffusion out of the sheet. [s]

    Returns
    -------
    float or array
        Share left, from ``share_frac`` to 1. [frac]

    Notes
    -----
    ``left = r + (1 - r) exp(-t/tau)``: first-order approach to equilibrium. Range: the print
    moves freely and is drained between baths; stagnant stacks are slower.

    References
    ----------
    First-order washing law; time constants in ``data/tables/washing.csv``.

    Examples
    --------
    Twelve changes of 5 min in plenty of water at 8 min (reference row WT1):

    >>> round(float(left_frac(0.0, 300.0, 480.0)) ** 12, 5)
    0.00055
    """
    return share_frac + (1.0 - share_frac) * np.exp(-np.asarray(soak_s) / time_constant_s)


@dataclass(frozen=True)
class WashHistory:
    """What is in the print after each bath, and what each bath took; baths on the last axis."""

    free_kg_m2: Floats
    bound_kg_m2: Floats
    removed_kg_m2: Floats

    @property
    def print_kg_m2(self) -> Floats:
        """Thiosulfate in the print after each bath, in kg/m²."""
        return self.free_kg_m2 + self.bound_kg_m2


def wash_in_changes(
    load_kg_m2: Number,
    bound_frac: Number,
    share_frac: Number | Sequence[Number],
    soak_s: Number | Sequence[Number],
    free_time_constant_s: Number | Sequence[Number],
    bound_time_constant_s: Number | Sequence[Number],
) -> WashHistory:
    """Return what successive still baths leave in the print and carry off.

    Parameters
    ----------
    load_kg_m2 : float or array
        Thiosulfate in the print at the start. [kg/m²]
    bound_frac : float or array
        Share of it that is held by fibre and baryta and leaves slowly. [frac]
    share_frac, soak_s, free_time_constant_s, bound_time_constant_s : array_like
        One value for each bath on the last axis, or one for all. [frac, s, s, s]

    Returns
    -------
    WashHistory
        Free and bound thiosulfate after each bath, and what the bath took. [kg/m²]

    Notes
    -----
    Two pools, each by `left_frac`. One exponential alone would be optimistic: measured curves
    flatten. What the free pool releases into a bath does not hold back the bound pool beyond
    its equilibrium share. The bath is thrown away after each change.

    Examples
    --------
    >>> history = wash_in_changes(0.022, 0.005, 0.01, [300.0, 300.0], 510.0, 2400.0)
    >>> bool(np.isclose(history.print_kg_m2[-1] + history.removed_kg_m2.sum(), 0.022, rtol=1e-14))
    True
    """
    share, soak, free_tau, bound_tau = np.broadcast_arrays(
        np.asarray(share_frac, dtype=float),
        np.asarray(soak_s, dtype=float),
        np.asarray(free_time_constant_s, dtype=float),
        np.asarray(bound_time_constant_s, dtype=float),
    )
    start = np.asarray(load_kg_m2, dtype=float)[..., np.newaxis]
    bound = np.asarray(bound_frac, dtype=float)[..., np.newaxis]
    after, removed = [], np.zeros(1)
    for pool, tau in ((start * (1.0 - bound), free_tau), (start * bound, bound_tau)):
        left = pool * np.cumprod(np.asarray(left_frac(share, soak, tau)), axis=-1)
        before = np.concatenate([np.broadcast_to(pool, left[..., :1].shape), left[..., :-1]], -1)
        removed = removed + before * (1.0 - share) * -np.expm1(-soak / tau)
        after.append(left)
    return WashHistory(after[0], after[1], removed)
