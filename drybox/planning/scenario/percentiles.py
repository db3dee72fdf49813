"""Percentiles: what is told to a person as P10, P50 and P90, of draws some of which never end."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybox.arrays import Array

P90_SD = 1.2816
"""From the middle of a normal distribution to its tenth or ninetieth percentile. [sd]"""


@dataclass(frozen=True)
class Range:
    """Tenth, fiftieth and ninetieth percentile; None where it lies past what was followed."""

    p10: float | None
    p50: float | None
    p90: float | None

    def scaled(self, factor: float, offset: float = 0.0) -> Range:
        """Return the range times a factor plus an offset."""
        parts = (self.p10, self.p50, self.p90)
        return Range(*(None if part is None else part * factor + offset for part in parts))

    def within(self, most: float) -> Range:
        """Return the range with what passes a limit unknown.

        >>> Range(20.0, 30.0, 55.0).within(45.0)
        Range(p10=20.0, p50=30.0, p90=None)
        """
        parts = (self.p10, self.p50, self.p90)
        return Range(*(part if part is not None and part <= most else None for part in parts))

    def record(self, unknown: float | None = None) -> dict[str, Any]:
        """Return it by name, with what stands for a part that lies past what was followed."""
        parts = {"p10": self.p10, "p50": self.p50, "p90": self.p90}
        return {name: unknown if part is None else part for name, part in parts.items()}

    def minutes(self, unknown: float | None = None) -> dict[str, Any]:
        """Return a range of seconds as a record in minutes."""
        return self.scaled(1 / 60).record(unknown)


def or_never(value: float | None) -> float:
    """Return a part of a range to compare by: what was not reached is later than all else.

    >>> or_never(0.0), or_never(None)
    (0.0, inf)
    """
    return math.inf if value is None else value


UNKNOWN = Range(None, None, None)


def range_of(values: Array) -> Range:
    """Return the range of some values, of which infinite ones lie past the end.

    >>> range_of(np.array([1.0, 2.0, np.inf]))
    Range(p10=1.0, p50=2.0, p90=None)
    """
    ordered = np.quantile(values, [0.1, 0.5, 0.9], method="inverted_cdf")
    return Range(*(float(value) if np.isfinite(value) else None for value in ordered))


def quantiles_of_next(values: Array, *shares: float) -> Array:
    """Return, by column, what one more draw stays below with each chance.

    Of values (n, columns), infinite where it never comes to pass, NaN where there was nothing to
    come, it gives (shares, columns), NaN for a column of gaps.

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
