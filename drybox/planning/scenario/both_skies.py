"""Cloud that was not told is never guessed: the same event under a clear and under a closed sky."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from drybox.inputs.event.event import Event
from drybox.planning.one_print.lookups import under_sky
from drybox.readable import MetricText


class BothSkies(NamedTuple):
    """The event under each."""

    clear: Event
    overcast: Event


def both_skies(event: Event) -> BothSkies | None:
    """Return the event under a clear and under a closed sky; None where cloud or sun was told."""
    if event.weather.cloud_told:
        return None

    def under(sky: str, words: str) -> Event:
        weather = under_sky(event.weather, sky)
        source = MetricText(weather.source, f", under {words}")
        return replace(event, weather=replace(weather, cloud_told=True, source=source))

    return BothSkies(under("clear", "a clear sky"), under("overcast", "a closed sky"))
