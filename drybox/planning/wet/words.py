"""Volumes, minutes and thiosulfate in the few words that a reason needs."""

from __future__ import annotations


def litres(volume_m3: float) -> str:
    """Return a volume as people say it.

    >>> litres(0.00035), litres(0.0035)
    ('350 ml', '3.5 L')
    """
    return f"{volume_m3 * 1e6:.0f} ml" if volume_m3 < 0.9995e-3 else f"{volume_m3 * 1e3:.1f} L"


def minutes(seconds: float) -> str:
    """Return a time in minutes as people say it.

    >>> minutes(270.0), minutes(300.0)
    ('4 min 30 s', '5 min')
    """
    whole, rest = divmod(round(seconds), 60)
    return f"{whole} min" + (f" {rest} s" if rest else "")


def grams(areal_kg_m2: float) -> str:
    """Return thiosulfate per area to two figures, in g/m².

    >>> grams(3.96e-5)
    '0.04 g/m²'
    """
    return f"{areal_kg_m2 * 1e3:.2g} g/m²"
