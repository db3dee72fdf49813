"""Cloud that was not told is never guessed: the same event under a clear and under a closed sky."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from drybox.inputs.event.event import Event
from drybox.inputs.weather.weather import Weather
from drybox.readable import MetricText
from drybox.tables import load_table


def under_sky(weather: Weather, sky: str) -> Weather:
    """Return the same air and wind under another sky all day.

    ``sky`` is a word of the table ``skies``.
    """
    rows = load_table("skies")[sky]
    turbidity = rows["linke_turbidity"].value if "linke_turbidity" in rows else None
    return replace(
        weather,
        cloud_frac=np.full(weather.start_at.shape, rows["cloud"].value / 8),
        ghi_w_m2=None,
        dni_w_m2=None,
        dhi_w_m2=None,
        linke_turbidity=turbidity,
    )


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
