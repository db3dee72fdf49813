"""Percentiles that are compared."""

from __future__ import annotations

from drybox.planning.scenario.percentiles import Range, or_never


def test_at_once_is_sooner_than_all_else_and_never_later() -> None:
    """A print that is laid on dry is dry after 0 s, which is not the same as never."""
    at_once, late, never = Range(0.0, 0.0, 0.0), Range(1.0, 2.0, 3.0), Range(1.0, None, None)
    ordered = sorted((never, late, at_once), key=lambda found: or_never(found.p90))
    assert ordered == [at_once, late, never]
