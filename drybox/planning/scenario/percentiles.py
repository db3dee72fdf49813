"""Ranges: what is told to a person as P10, P50 and P90."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


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

    def as_dict(self) -> dict[str, float | None]:
        """Return it as the JSON object of the design."""
        return {"p10": self.p10, "p50": self.p50, "p90": self.p90}


def range_of(values: NDArray[np.float64]) -> Range:
    """Return the range of some values, of which infinite ones lie past the end.

    Examples
    --------
    >>> range_of(np.array([1.0, 2.0, np.inf]))
    Range(p10=1.0, p50=2.0, p90=None)
    """
    ordered = np.quantile(values, [0.1, 0.5, 0.9], method="inverted_cdf")
    return Range(*(float(value) if np.isfinite(value) else None for value in ordered))
