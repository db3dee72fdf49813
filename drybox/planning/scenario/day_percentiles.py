"""Percentiles that the next day keeps, of draws some of which lie past the end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def quantiles_of_next(values: Array, *shares: float) -> Array:
    """Return, by column, what one more draw stays below with each chance.

    Parameters
    ----------
    values : array
        (n, columns): infinite where it never comes to pass, NaN where there was nothing to come.
    shares : float
        Chances between 0 and 1.

    Returns
    -------
    array
        (shares, columns); NaN for a column of gaps.

    Notes
    -----
    The value of rank ``share (n + 1)``, linear between ranks: with n draws from any continuous
    distribution one more lies below it with that chance. A plain percentile of the draws
    falls short of it by up to 1/n.

    References
    ----------
    Hyndman, R. J. and Fan, Y. (1996), Sample quantiles in statistical packages, The American
    Statistician 50, 361 (their definition 6, after Weibull).

    Examples
    --------
    >>> quantiles_of_next(np.array([[1.0, 1.0], [2.0, np.inf], [3.0, np.nan]]), 0.5)
    array([[ 2., inf]])
    """
    ordered = np.sort(values, axis=0)
    count = np.isfinite(values).sum(axis=0) + np.isinf(values).sum(axis=0)
    column = np.arange(values.shape[1])
    found = np.full((len(shares), column.size), np.nan)
    for row, share in enumerate(shares):
        rank = np.clip(share * (count + 1) - 1, 0, np.maximum(count - 1, 0))
        left = rank.astype(np.intp)
        low = ordered[left, column]
        high = ordered[np.minimum(left + 1, np.maximum(count - 1, 0)), column]
        part = rank - left
        with np.errstate(invalid="ignore"):
            mixed = np.where(part > 1e-9, low + (high - low) * part, low)
        mixed = np.where(np.isinf(high) & (part > 1e-9), np.inf, mixed)
        found[row] = np.where(count > 0, mixed, np.nan)
    return found
